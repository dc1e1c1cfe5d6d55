"""The solid sections of a pattern at many levels: how they hang together, and a band stretched round each."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from moldkit.pattern.survey.loops import Loops, components

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]

# A band round a section is known by how far it reaches in so many directions; its length to 0.04 %.
DIRECTIONS = 96
# At this share of a step the directions measure a rectangle in line with the axes exactly (the second Bernoulli
# polynomial is zero there).
_OFFSET = 0.2113
_STEP = 2.0 * np.pi / DIRECTIONS
_ANGLES = (np.arange(DIRECTIONS) + _OFFSET) * _STEP
_TOWARDS = np.stack([np.cos(_ANGLES), np.sin(_ANGLES)])


@dataclass(frozen=True, eq=False)
class Sections:
    """The solid sections of a pattern, and how they hang together.

    level: of each section, rising, shape (q,); below, above: numbers of the solid slabs that it borders, shape (q,);
    reach: how far the section reaches in each of DIRECTIONS directions, shape (q, DIRECTIONS) [m]; slab: number of
    the solid slab that each vertex of the mesh lies in, shape (n,); floor: number of the stretch of the board and of
    the surface that each loop of the lowest level borders from above, shape (l0,), one number for one stretch.
    """

    level: Integers
    below: Integers
    above: Integers
    reach: Floats
    slab: Integers
    floor: Integers

    def turned(self, levels: int) -> Sections:
        """Return the sections counted from the other end of so many levels, without a floor."""
        level = levels - 1 - self.level[::-1]
        return Sections(level, self.above[::-1], self.below[::-1], self.reach[::-1], self.slab, self.floor[:0])

    def from_level(self, first: int) -> Sections:
        """Return the sections from a level on, counted from there; the floor is that of the lowest level still."""
        kept = self.level >= first
        level = self.level[kept] - first
        return Sections(level, self.below[kept], self.above[kept], self.reach[kept], self.slab, self.floor)


def solid_sections(loops: Loops) -> Sections:
    """Put the loops round one solid section together, those of its holes too.

    Bodies that overlap count as one section where a body's leftmost point lies in the other.
    """
    count = len(loops.level)
    areas = _areas(loops)
    # In one body only holes and islands on the board have to look for what surrounds them.
    asked = (areas < 0.0) | (loops.level == 0) | _of_several_bodies(loops)
    left, in_solid = _left_neighbours(loops, asked)
    joined = np.flatnonzero((left >= 0) & in_solid)
    section = components(np.stack([joined, left[joined]]), count)
    solid = np.bincount(section, weights=areas) > 0.0
    _, at, section = np.unique(section, return_index=True, return_inverse=True)
    stretches = int(max(loops.stretch.max(initial=0), loops.below.max(initial=0), loops.above.max(initial=0))) + 1
    lower, upper = stretches + 2 * section, stretches + 2 * section + 1
    sides = np.hstack([np.stack([lower, loops.below]), np.stack([upper, loops.above])])
    slab = components(sides, stretches + 2 * len(at))
    order = np.argsort(loops.level[at], kind="stable")
    order = order[solid[order]]
    reach = _reaches(loops, section, len(at))[order]
    below, above = slab[stretches:].reshape(-1, 2)[order].T
    lowest = np.flatnonzero(loops.level == 0)
    in_air = lowest[~in_solid[lowest]]
    # All that can be reached over the board without crossing the pattern is one floor; -1, the open board, is last.
    floor = components(np.stack([in_air, np.where(left[in_air] < 0, count, left[in_air])]), count + 1)[lowest]
    return Sections(loops.level[at][order], below, above, reach, slab[loops.stretch], floor)


def _areas(loops: Loops) -> Floats:
    """Return the area within each loop, negative for a hole, shape (l,) [m2]."""
    a, b = loops.start, loops.end
    return np.bincount(loops.loop, weights=a[:, 0] * b[:, 1] - b[:, 0] * a[:, 1], minlength=len(loops.level)) / 2.0


def _of_several_bodies(loops: Loops) -> bool:
    """Return whether the loops belong to more than one body."""
    ends, end = np.unique(np.stack([loops.below, loops.above]), return_inverse=True)
    return bool(components(end.reshape(2, -1), len(ends)).any())


def _left_neighbours(loops: Loops, asked: Flags) -> tuple[Integers, Flags]:
    """Return the loop next to the left of each loop's leftmost point, -1 for none, and whether solid lies between.

    asked: which loops are asked about, shape (l,); of the others nothing is known.
    """
    count = len(loops.level)
    left, in_solid = np.full(count, -1), np.zeros(count, dtype=bool)
    at_loop = np.searchsorted(loops.loop, np.arange(count + 1))
    of_level = np.searchsorted(loops.level, np.arange(loops.level.max(initial=-1) + 2))
    for a, b in pairwise(of_level.tolist()):
        low, high = at_loop[a], at_loop[b]
        for loop in (a + np.flatnonzero(asked[a:b])).tolist() if b - a > 1 else ():
            own = loops.start[at_loop[loop] : at_loop[loop + 1]]
            (x0, y0), (x1, y1), (x2, y2) = own[own[:, 0].argmin()], loops.start[low:high].T, loops.end[low:high].T
            across = np.flatnonzero(((y1 <= y0) != (y2 <= y0)) & (loops.loop[low:high] != loop))
            at = x1[across] + (y0 - y1[across]) / (y2 - y1)[across] * (x2 - x1)[across]
            at[at > x0] = -np.inf
            if len(at) and np.isfinite(at.max()):
                hit = across[int(at.argmax())]
                left[loop], in_solid[loop] = loops.loop[low + hit], y2[hit] < y1[hit]
    return left, in_solid


def _reaches(loops: Loops, section: Integers, count: int) -> Floats:
    """Return how far each section reaches in each direction, shape (count, DIRECTIONS) [m]."""
    of_point = section[loops.loop]
    order = np.argsort(of_point, kind="stable")
    return reaches(loops.start[order], np.searchsorted(of_point[order], np.arange(count)), DIRECTIONS)


def reaches(flat: Floats, firsts: Integers, directions: int) -> Floats:
    """Return how far each group of points reaches in each direction, shape (g, directions) [m].

    flat: points, group by group, shape (p, 2) [m]; firsts: number of each group's first point, shape (g,);
    directions: how many, a divisor of DIRECTIONS.
    """
    result = np.empty((len(firsts), directions))
    for nth, (x, y) in enumerate(_TOWARDS[:, :: DIRECTIONS // directions].T):
        result[:, nth] = np.maximum.reduceat(flat[:, 0] * x + flat[:, 1] * y, firsts)
    return result


def girths(reach: Floats) -> Floats:
    """Return the length of a band stretched round what reaches so far, shape (...) [m].

    Cauchy's formula: the perimeter of a convex outline is the integral of its reach over all directions.
    reach: shape (..., directions) [m].
    """
    result: Floats = reach.sum(axis=-1) * (2.0 * np.pi / reach.shape[-1])
    return result


def middles(reach: Floats) -> Floats:
    """Return the Steiner points of outlines that reach so far, shape (..., 2) [m]; reach: (..., DIRECTIONS) [m]."""
    result: Floats = reach @ _TOWARDS.T * (2.0 / DIRECTIONS)
    return result
