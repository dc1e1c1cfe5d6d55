"""Sums over single triangles that need no mesh round them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def area_vectors(corners: Floats) -> Floats:
    """Return the normal of each triangle, as long as its area.

    corners: shape (m, 3, 3) [m]. Returns shape (m, 3) [m2].
    """
    result: Floats = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]) / 2.0
    return result


def cone_volumes(corners: Floats) -> Floats:
    """Return the signed volume between each triangle and the origin; over a closed surface they sum to its volume.

    corners: shape (m, 3, 3) [m]. Returns shape (m,) [m3].
    """
    result: Floats = np.einsum("ij,ij->i", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) / 6.0
    return result
