"""How far a hidden point must move across the pull before its line out is free."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldkit.pattern.survey.directions import across
from moldkit.pattern.survey.rays import Rays

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Integers = NDArray[np.int64]

# Sideways steps, as shares of the longest side, begin with this and grow by this factor.
_FIRST_STEP, _GROWTH = 0.002, 1.6
# The projected normal of a face that looks along the pull to within this tells no way sideways.
_NO_WAY = 0.05


@dataclass(frozen=True, eq=False)
class Draw:
    """A pull that is asked about.

    rays: of the pattern; ways: that the rubber may leave by, unit vectors along one axis, shape (w, 3), w = 1 or 2;
    size: longest side of the pattern [m]; floor: height of the plane it stands on, None where it is free [m];
    lift: distance at which a ray starts off the surface [m].
    """

    rays: Rays
    ways: Floats
    size: float
    floor: float | None
    lift: float

    @property
    def axis(self) -> Floats:
        """The axis of the pull, unit vector."""
        return np.asarray(self.ways[0])

    def open_at(self, starts: Floats) -> Flags:
        """Return from which points a line out along one of the ways meets nothing, shape (n,)."""
        result = np.zeros(len(starts), dtype=bool)
        for way in self.ways:
            left = np.flatnonzero(~result)
            face, _ = self.rays.first(starts[left], np.broadcast_to(way, (len(left), 3)))
            result[left] = face < 0
        return result

    def clear(self, starts: Floats, directions: Floats) -> Floats:
        """Return the distance to the pattern, or to the plane it stands on, shape (n,) [m]."""
        return np.minimum(self.rays.first(starts, directions)[1], self.to_floor(starts, directions))

    def to_floor(self, starts: Floats, directions: Floats) -> Floats:
        """Return the distance to the plane that the pattern stands on, infinite without one, shape (n,) [m]."""
        if self.floor is None:
            return np.full(len(starts), np.inf)
        height = np.maximum(starts[:, 2] - self.floor, 0.0)
        falls = directions[:, 2] < -1e-9
        return np.where(falls, height / np.where(falls, -directions[:, 2], 1.0), np.inf)


@dataclass(frozen=True, eq=False)
class Escape:
    """The shortest ways sideways; distance: infinite where there is none, shape (n,) [m]; along: unit, (n, 3)."""

    distance: Floats
    along: Floats


def fan(normals: Floats, axis: Floats, count: int) -> Floats:
    """Return so many directions across the axis for each normal, the first straight off the wall, (n, count, 3)."""
    right, _ = across(axis)
    off = normals - (normals @ axis)[:, None] * axis
    size = np.linalg.norm(off, axis=1, keepdims=True)
    off = np.where(size > _NO_WAY, off / np.maximum(size, _NO_WAY), right)
    beside = np.cross(axis, off)
    angle = np.arange(count) * (2.0 * math.pi / count)
    result: Floats = np.cos(angle)[:, None] * off[:, None, :] + np.sin(angle)[:, None] * beside[:, None, :]
    return result


def shortest_escape(
    draw: Draw, starts: Floats, normals: Floats, *, reach: float, spread: int = 12, halvings: int = 4,
    through: bool = False,
) -> Escape:  # fmt: skip
    """Return the least sideways distance from each point to where its line out is free, and the way there.

    Whatever lies in the way sideways stops it, unless `through`. Within 4 % with 12 directions and 4 halvings.
    starts: points lifted off the surface, shape (n, 3) [m]; normals: unit, shape (n, 3); reach: furthest distance
    looked at [m]; spread: directions tried for each point; halvings: of the last step.
    """
    ways = fan(normals, draw.axis, spread)
    repeated = np.repeat(starts, spread, axis=0)
    room = (draw.to_floor if through else draw.clear)(repeated, ways.reshape(-1, 3)).reshape(len(starts), spread)
    distance, along = np.full(len(starts), np.inf), ways[:, 0].copy()
    shorter, step = 0.0, min(_FIRST_STEP * draw.size, reach)
    left = np.arange(len(starts))
    while len(left) and shorter < reach:
        # A step goes no further than to what lies in its way, and the last one to the very reach.
        furthest = np.minimum(room[left] - draw.lift, min(step, reach))
        row, way = np.nonzero(furthest > shorter)
        point, opened = left[row], furthest[row, way]
        opens = draw.open_at(starts[point] + opened[:, None] * ways[point, way])
        point, way, opened = point[opens], way[opens], opened[opens]
        narrowed = _narrowed(draw, starts[point], ways[point, way], (shorter, opened), halvings)
        # Written in falling order, the least distance of each point is the one that stays.
        order = np.argsort(-narrowed, kind="stable")
        distance[point[order]] = narrowed[order]
        along[point[order]] = ways[point[order], way[order]]
        left = left[~np.isfinite(distance[left])]
        shorter, step = step, step * _GROWTH
    return Escape(distance, along)


def _narrowed(draw: Draw, starts: Floats, ways: Floats, between: tuple[float, Floats], halvings: int) -> Floats:
    """Return where between two distances each way opens, by halving, shape (n,) [m]."""
    low, high = np.full(len(starts), between[0]), between[1]
    for _ in range(halvings if len(starts) else 0):
        middle = (low + high) / 2.0
        opens = draw.open_at(starts + middle[:, None] * ways)
        low, high = np.where(opens, low, middle), np.where(opens, middle, high)
    result: Floats = (low + high) / 2.0
    return result
