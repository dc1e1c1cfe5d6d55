"""A pattern cut into level sections along the axis that its skin leaves along."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from moldkit.pattern.mesh import Mesh
from moldkit.pattern.survey.bottlenecks import narrowest_runs
from moldkit.pattern.survey.branches import Branches, branches
from moldkit.pattern.survey.loops import Loops, cut_loops
from moldkit.pattern.survey.results import Neck, Point
from moldkit.pattern.survey.sections import Sections, girths, middles, reaches, solid_sections

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

LEVELS = 200
# The first and the last level lie so close to the ends.
_END = 1e-3
# An end that isn't cut flat, such as that of a ball, gives a band of no length; there the skin is opened, by trimming
# or by a slit, over this share of the way.
OPENED = 0.05
# An end is flat where its points within the first of these shares of the way span so much of those within the second.
_FLAT_WITHIN, _SPANNED_WITHIN, _FLAT = 1e-3, 1e-2, 0.7
# Levels are added where the pattern reaches out between two levels, and round necks: so many between two levels.
_FINER, _MOST_FINER = 6, 40
_BULGE = 1.02
_ROUGH_DIRECTIONS = 16


@dataclass(frozen=True, eq=False)
class View:
    """A pattern seen against the axis that its skin leaves along.

    axis: unit vector; start: coordinate of the opened end along it [m]; height: of each vertex above that end, shape
    (n,) [m]; flat: its place in the plane across the axis, shape (n, 2) [m]; frame: directions of that plane's two
    coordinates and of the axis, shape (3, 3).
    """

    axis: Point
    start: float
    height: Floats
    flat: Floats
    frame: Floats

    @classmethod
    def of(cls, mesh: Mesh, along: int, way: int) -> View:
        """Return the view for a skin that leaves along coordinate `along`, upwards for a way of 1, downwards for -1."""
        frame = np.zeros((3, 3))
        right, up = ((along + turn) % 3 for turn in ((1, 2) if way > 0 else (2, 1)))
        frame[0, right] = frame[1, up] = 1.0
        frame[2, along] = way
        height = mesh.vertices[:, along] * way
        start = float(height.min())
        flat = np.stack([mesh.vertices[:, right], mesh.vertices[:, up]], axis=1)
        return cls(_point(frame[2]), start, height - start, flat, frame)

    def turned(self) -> View:
        """Return the view from the other end, its plane seen from behind."""
        tall, frame = self.tall(), self.frame * [[1.0], [1.0], [-1.0]]
        return View(_point(frame[2]), -(self.start + tall), tall - self.height, self.flat, frame)

    def tall(self) -> float:
        """Return the length of the pattern along the axis [m]."""
        return float(self.height.max())

    def middle(self) -> Floats:
        """Return the middle of the places in the plane, shape (2,) [m]."""
        result: Floats = (self.flat.min(axis=0) + self.flat.max(axis=0)) / 2.0
        return result

    def levels(self, *, opened_above: bool) -> Floats:
        """Return levels evenly spaced over the height, and those where either end is opened, shape (k,) [m]."""
        even = np.concatenate([[_END], (np.arange(LEVELS) + 0.5) / LEVELS, [1.0 - _END]])
        opened = self.opened() / self.tall()
        if opened_above:
            levels = np.sort(np.concatenate([even, np.array([OPENED, 1.0 - OPENED])]))
        else:
            levels = np.concatenate([np.array([opened]), even[even > opened]]) if opened else even
        result: Floats = levels * self.tall()
        return result

    def opened(self) -> float:
        """Return the height as far as which the skin is opened: 0 for an end that is cut flat [m]."""
        ends = (self.flat[self.height <= share * self.tall()] for share in (_FLAT_WITHIN, _SPANNED_WITHIN))
        narrow, wide = (_girth(points) for points in ends)
        return 0.0 if narrow > _FLAT * wide else OPENED * self.tall()

    def point(self, flat: Floats, height: float) -> Point:
        """Return the place in space of a place in the plane at a height."""
        return _point(np.append(flat, self.start + height) @ self.frame)


def _point(place: Floats) -> Point:
    x, y, z = (place + 0.0).tolist()
    return (x, y, z)


def _girth(points: Floats) -> float:
    return float(girths(reaches(points - points[0], np.array([0]), _ROUGH_DIRECTIONS))[0])


@dataclass(frozen=True, eq=False)
class Cut:
    """A view cut by levels into loops and solid sections."""

    view: View
    levels: Floats
    loops: Loops
    sections: Sections
    on_board: bool

    @classmethod
    def at(cls, view: View, faces: Integers, levels: Floats, *, on_board: bool = False) -> Cut:
        """Cut a view; faces: of the mesh; levels: heights, rising [m]; on_board: it stands on a board at height 0."""
        # About the middle, so that a mesh far from the origin loses no digits.
        loops = cut_loops(view.height, view.flat - view.middle(), faces, levels)
        return cls(view, levels, loops, solid_sections(loops), on_board)

    def turned(self) -> Cut:
        """Return the same cut seen from the other end."""
        levels = self.view.tall() - self.levels[::-1]
        return replace(self, view=self.view.turned(), levels=levels, sections=self.sections.turned(len(levels)))

    def opened(self) -> Cut:
        """Return the cut without the levels below which the skin is opened."""
        first = int(np.searchsorted(self.levels, self.view.opened() * (1.0 - 1e-9)))
        return replace(self, levels=self.levels[first:], sections=self.sections.from_level(first))

    @cached_property
    def tree(self) -> Branches:
        """Return the sections from the opened end outwards."""
        return branches(self.sections, on_board=self.on_board)

    def necks(self) -> tuple[Neck, ...]:
        """Return the necks, the worst first."""
        found = [self._neck(rows) for rows in narrowest_runs(self.tree)] if len(self.sections.level) else []
        return tuple(sorted(found, key=lambda neck: -neck.stretch))

    def _neck(self, rows: Integers) -> Neck:
        tree = self.tree
        heights = self.levels[tree.level[rows]]
        middle = rows[int(np.argmin(np.abs(heights - (heights.min() + heights.max()) / 2.0)))]
        height = float(self.levels[tree.level[middle]])
        at = self.view.point(middles(tree.reach[middle]) + self.view.middle(), height)
        least = rows[int(np.argmin(tree.girth[rows]))]
        return Neck(at, height, float(tree.girth[least]), float(tree.passes[least]))

    def finer_levels(self) -> Floats:
        """Return the levels with more of them round necks and where something reaches out between two levels."""
        bulges = self._bulges()
        worth = np.where(bulges > _BULGE, bulges, 0.0)
        for nth, rows in enumerate(narrowest_runs(self.tree)):
            at = int(self.tree.level[rows[int(np.argmin(self.tree.girth[rows]))]])
            worth[at : at + 2] += max(_MOST_FINER - nth, 1.0)
        chosen = np.argsort(-worth, kind="stable")[:_MOST_FINER]
        chosen = chosen[worth[chosen] > 0.0]
        # Below the lowest level the skin is open.
        ends = np.concatenate([self.levels[:1], self.levels, [self.view.tall()]])
        share = (np.arange(_FINER) + 0.5) / _FINER
        added = ends[chosen, None] + share * (ends[chosen + 1] - ends[chosen])[:, None]
        return np.unique(np.concatenate([self.levels, added.ravel()]))

    def _bulges(self) -> Floats:
        """Return how much longer a band round all of a slab is than one round the sections below and above it.

        Of the slabs between two levels the largest, shape (k + 1,).
        """
        sections, rough = self.sections, len(self.sections.reach[0]) // _ROUGH_DIRECTIONS
        order = np.argsort(sections.slab, kind="stable")
        slabs, firsts = np.unique(sections.slab[order], return_index=True)
        whole = reaches(self.view.flat[order] - self.view.middle(), firsts, _ROUGH_DIRECTIONS)
        ends = np.full_like(whole, -np.inf)
        between = np.zeros(len(slabs), dtype=np.int64)
        for beside, above in ((sections.below, 0), (sections.above, 1)):
            at = np.minimum(np.searchsorted(slabs, beside), len(slabs) - 1)
            known = np.flatnonzero(slabs[at] == beside)
            np.maximum.at(ends, at[known], sections.reach[known][:, ::rough])
            between[at[known]] = sections.level[known] + above
        result = np.zeros(len(self.levels) + 1)
        bound = np.isfinite(ends[:, 0])
        longer = girths(np.maximum(whole, ends)[bound]) / np.maximum(girths(ends[bound]), 1e-300)
        np.maximum.at(result, between[bound], longer)
        return result
