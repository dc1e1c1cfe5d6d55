"""What of a pattern's surface a rigid piece of a mold frees when it is drawn off straight."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moldkit.pattern.survey.rays import Rays
from moldkit.pattern.survey.samples import Samples

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

# A wall that leans back from the pull by no more than this (sine of the angle) may yet be upright but for rounding,
# as of faces in a file: its line out is tried, a hair off the wall, and a wall that does lean back stops it.
PARALLEL = 0.02
_RAYS_AT_ONCE = 200_000


def freed(rays: Rays, samples: Samples, directions: Floats) -> Flags:
    """Return which points a piece frees that leaves along each direction, shape (k, n).

    The surface must not face away from the direction, and the line out from the point must meet nothing.
    samples: n points; directions: unit vectors, shape (k, 3).
    """
    result = directions @ samples.normals.T >= -PARALLEL
    starts = samples.lifted()
    batch = max(1, _RAYS_AT_ONCE // max(1, len(starts)))
    for first in range(0, len(directions), batch):
        way, point = np.nonzero(result[first : first + batch])
        face, _ = rays.first(starts[point], directions[first + way])
        result[first + way, point] = face < 0
    return result


def seen_from_any(rays: Rays, samples: Samples, directions: Floats) -> Flags:
    """Return which points at least one direction frees, shape (n,); the most useful directions should stand first."""
    seen = np.zeros(len(samples.points), dtype=bool)
    for first in range(0, len(directions), 12):
        left = np.flatnonzero(~seen)
        if not len(left):
            break
        seen[left] = freed(rays, samples.chosen(left), directions[first : first + 12]).any(axis=0)
    return seen
