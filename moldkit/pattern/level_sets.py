"""From the cells of a distance field to the volume under each distance, smooth and without the lattice's noise."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldkit.pattern.field import Cells, Field

Floats = NDArray[np.float64]

# All lengths in this file are shares of the mesh's longest side.
STEPS_PER_CELL = 8
KNOTS = 12
# Each knot is read from a cubic fitted over this share of its distance to either side: a convex body's volume
# is a cubic, so that the fit takes noise off and adds no error.
FIT_WITHIN = 0.4


@dataclass(frozen=True, eq=False)
class Table:
    """Volume where the signed distance is below each step.

    distance: evenly spaced, shape (n,); volume: below it, the surface in each cell taken as flat, shape (n,);
    scatter: s2 / 24, s the side of the cells there (see `fitted_knots`), shape (n,); finest: side of the smallest
    cells; deepest: depth of the deepest cell.
    """

    distance: Floats
    volume: Floats
    scatter: Floats
    finest: float
    deepest: float

    def outward(self, solid: float) -> tuple[Floats, Floats, Floats]:
        """Return distance >= 0, volume outside within it, scatter; solid: the volume inside the surface."""
        kept = self.distance > -1e-12
        return self.distance[kept], self.volume[kept] - solid, self.scatter[kept]

    def inward(self, solid: float) -> tuple[Floats, Floats, Floats]:
        """Return depth >= 0, volume inside within it, scatter; solid: the volume inside the surface."""
        kept = self.distance < 1e-12
        return -self.distance[kept][::-1], (solid - self.volume[kept])[::-1], self.scatter[kept][::-1]


@dataclass(frozen=True, eq=False)
class Knots:
    """Volume within each distance of the surface, and its slope, the area there; each of shape (n,)."""

    distance: Floats
    volume: Floats
    area: Floats


def volume_below(field: Field, reach: float) -> Table:
    """Add up the cells of a field by signed distance.

    Each cell is eight octants at their own distances, and each octant is spread evenly over half a cell's side:
    together they scatter about the centre as a cube's points do along any direction, s2 / 12.
    field: as sampled; reach: the largest distance wanted. Returns the table.
    """
    finest = field.levels[-1].side
    step = finest / STEPS_PER_CELL
    deepest = max([step, *(-float(c.distance.min()) for c in field.levels if len(c.distance))])
    first = -int(deepest / step) - int(2.0 * field.levels[0].side / step)
    count = int(reach / step) + 2 * STEPS_PER_CELL - first
    parts = np.array([field.share * _ramps(cells, first, count, step) for cells in field.levels])
    areas = np.gradient(parts, axis=1)
    squares = np.array([cells.side**2 / 24.0 for cells in field.levels], dtype=np.float64)
    scatter: Floats = squares @ areas / np.maximum(areas.sum(axis=0), 1e-300)
    distance = np.arange(first, first + count, dtype=np.float64) * step
    return Table(distance, parts.sum(axis=0), scatter, finest, deepest)


def _ramps(cells: Cells, first: int, count: int, step: float) -> Floats:
    """Return the volume of one size of cells below each step: a ramp half a side wide for each octant."""
    start = (cells.distance[:, None] + cells.rise - cells.side / 4.0).ravel() / step - first
    start = start[start < count - 2]
    whole = start.astype(np.int64)
    part = start - whole
    # Each start is shared between its two steps, so that the ramp is exact from the second of them on.
    late = np.bincount(whole, part, count)
    starts = np.bincount(whole, minlength=count) - late
    starts[1:] += late[:-1]
    climbed = np.concatenate([[0.0], np.cumsum(np.cumsum(starts))[:-1]])
    width = round(cells.side / 2.0 / step)
    levelled = np.concatenate([np.zeros(width), climbed])[:count]
    result: Floats = (climbed - levelled) * (cells.side**3 / 8.0 / width)
    return result


def fitted_knots(
    distance: Floats, volume: Floats, scatter: Floats, *, first: float, last: float, slope: float | None
) -> Knots:
    """Return volume and area at a few distances, corrected for the curvature that flat cells don't have.

    To second order a cell's points lie further from the surface than flat ones by s2 / 24 x the Laplacian of the
    distance, which is the sum of the curvatures of the surface at that distance. Averaged over that surface it is
    A' / A, also where the surface has creases, by Gauss's theorem; so the volume falls by s2 / 24 x A'.
    distance, volume, scatter: as from Table, shape (n,); first, last: nearest and furthest knot past zero; slope:
    area of the surface itself, or None to read it off. Returns the knots, zero included.
    """
    at = np.geomspace(min(first, last / 2.0), last, KNOTS)
    bend = np.zeros_like(distance)
    for _ in range(3):
        values, slopes, bends = _local_cubics(distance, volume - scatter * bend, at)
        bend = np.interp(distance, at, bends)
    if slope is None:
        slope = max(2.0 * values[0] / at[0] - slopes[0], slopes[0] / 2.0)
    rising = np.maximum.accumulate(np.maximum(values, 0.0))
    return Knots(np.append(0.0, at), np.append(0.0, rising), np.append(slope, slopes))


def _local_cubics(distance: Floats, volume: Floats, at: Floats) -> tuple[Floats, Floats, Floats]:
    """Return value, slope and second derivative at each knot of a cubic fitted to the steps round it."""
    step = distance[1] - distance[0]
    found = []
    for knot in at:
        within = max(FIT_WITHIN * knot, STEPS_PER_CELL / 2 * step)
        low = max(min(knot - within, at[-1] - 2.0 * within), 0.0)
        high = min(knot + within, at[-1])
        chosen = slice(*np.searchsorted(distance, [low - 1e-9, high + 1e-9]))
        u = (distance[chosen] - knot) / within
        powers = np.stack([np.ones_like(u), u, u * u, u**3], axis=1)
        c = np.linalg.lstsq(powers, volume[chosen], rcond=None)[0]
        found.append((c[0], c[1] / within, 2.0 * c[2] / within**2))
    values, slopes, bends = np.array(found).T
    return values, slopes, bends
