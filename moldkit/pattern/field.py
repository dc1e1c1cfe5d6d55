"""The signed distance to a mesh, sampled in cells that are small near the surface and large far from it.

Cells sit on a lattice turned out of line with everything, so that no flat face of a made part lies along it: a
lattice in line with a box repeats one rounding error over a whole face (measured: 0.5 % of a skin instead of
0.05 %). A pattern on its base is unfolded by a mirror in the base plane: above the plane the mirror image is
never nearer than the pattern, so half the field of the two is the field above the plane, with nothing to clip.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldkit.pattern.surface import MeasuredSurface

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Progress = Callable[[float], None]

# All lengths in this file are shares of the mesh's longest side.
REACH = 0.5
COARSEST = 0.12
# A cell is split while the surface is nearer to its centre than so many of its sides, between these two, each cell
# by a number of its own: were it one number, all cells would change size at one distance and leave a step there.
SPLIT_WITHIN = (1.75, 3.25)
# No splitting makes more cells than this, for a pattern without its mirror image; four times as many where cells
# would else be coarser than half the pattern's mean wall, V / A.
MOST_CELLS = 75_000
MOST_LEVELS = 7

_HALF_DIAGONAL = 0.8660254
_SCATTER = np.array([5.518, 4.166, 5.988])
_OCTANTS = np.array([[x, y, z] for x in (-1.0, 1.0) for y in (-1.0, 1.0) for z in (-1.0, 1.0)])


def _turn() -> Floats:
    """Return a rotation about a skew axis, made from a quaternion of no round numbers."""
    w, x, y, z = np.array([0.7315, 0.2718, 0.5772, 0.1618]) / np.linalg.norm([0.7315, 0.2718, 0.5772, 0.1618])
    return np.array(
        [
            [1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)],
            [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)],
            [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)],
        ]
    )


_TURN = _turn()
_TURNED_OCTANTS = _OCTANTS @ _TURN.T


@dataclass(frozen=True, eq=False)
class Cells:
    """Cells of one size; lengths as shares of the longest side.

    side: edge of a cell; distance: signed distance at each centre, negative inside, shape (n,);
    rise: change of distance from the centre to the middles of a cell's eight octants, shape (n, 8);
    covering: how many times each centre is enclosed, shape (n,).
    """

    side: float
    distance: Floats
    rise: Floats
    covering: Integers


@dataclass(frozen=True, eq=False)
class Field:
    """A sampled distance field.

    levels: the cells of each size, coarsest first; share: of their volume counts, a half where a mirror image is
    among them.
    """

    levels: tuple[Cells, ...]
    share: float

    def covered_again(self) -> float:
        """Return the volume that is enclosed more than once, each time but the first, less what is inside out."""
        again = sum(c.side**3 * float((c.covering - (c.covering > 0)).sum()) for c in self.levels)
        return self.share * again


def sample_field(surface: MeasuredSurface, progress: Progress | None = None) -> Field:
    """Sample the distance field of a closed surface, as far as REACH outside it and all through its inside.

    surface: facing outwards; progress: called with the finished share, 0 to 1. Returns the field.
    """
    share = 0.5 if surface.mirrored else 1.0
    points, side = _lattice(*surface.box()), COARSEST
    covering, known = np.zeros(len(points), dtype=np.int64), np.zeros(len(points), dtype=bool)
    at_most = np.full(len(points), np.inf)
    levels: list[Cells] = []
    for level in range(MOST_LEVELS):
        distance, away = surface.distances(points, at_most)
        # No point inside is further from the surface than half the longest side, so these are outside.
        beyond = distance - _HALF_DIAGONAL * side > REACH
        ask = ~known & ~beyond
        covering[ask] = surface.covering(points[ask])
        split = (distance < _split_within(points, side)) & ~beyond
        most = MOST_CELLS * (4 if side > surface.half_wall else 1)
        if 8 * share * int(split.sum()) > most or level == MOST_LEVELS - 1:
            split[:] = False
        leaf = ~beyond & ~split
        signed = np.where(covering > 0, -1.0, 1.0)[leaf]
        rise = (away[leaf] @ _TURNED_OCTANTS.T) * (signed * side / 4.0)[:, None]
        levels.append(Cells(side, distance[leaf] * signed, rise, covering[leaf]))
        if progress is not None:
            progress(1.0 - 0.4 ** (level + 1))
        if not split.any():
            break
        points = (points[split][:, None] + _TURNED_OCTANTS * (side / 4.0)).reshape(-1, 3)
        # Where no surface lies between a parent's centre and its child's, the child is on the same side.
        to_child = _HALF_DIAGONAL / 2.0 * side
        known = np.repeat(distance[split] > to_child, 8)
        covering = np.repeat(covering[split], 8)
        at_most = np.repeat(distance[split] + to_child, 8)
        side /= 2.0
    return Field(tuple(levels), share)


def _split_within(points: Floats, side: float) -> Floats:
    """Return the distance within which each cell is split, scattered from cell to cell but the same every time."""
    scatter = np.abs(points @ _SCATTER) / side % 1.0
    result: Floats = side * (SPLIT_WITHIN[0] + (SPLIT_WITHIN[1] - SPLIT_WITHIN[0]) * scatter)
    return result


def _lattice(low: Floats, high: Floats) -> Floats:
    """Return the centres of the coarsest cells round a box and REACH beyond it, shape (n, 3)."""
    middle, half = (low + high) / 2.0, (high - low) / 2.0
    counts = np.ceil(2.0 * (np.abs(_TURN.T) @ (half + REACH)) / COARSEST).astype(int)
    axes = [(np.arange(n) - (n - 1) / 2.0) * COARSEST for n in counts]
    offsets = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3) @ _TURN.T
    from_box = np.linalg.norm(np.maximum(np.abs(offsets) - half, 0.0), axis=1)
    near = from_box <= REACH + _HALF_DIAGONAL * COARSEST
    result: Floats = offsets[near] + middle
    return result
