"""Where straight lines first meet a mesh."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moldkit.pattern.mesh import Mesh

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

# libigl leaves out, without a word, a face whose area x cosine to the ray is below a fixed number of some 1e-6: at
# metres that is every face of a fine scan. So the mesh is measured with its longest side this long.
_LONGEST = 1e6


class Rays:
    """A mesh made ready to be asked for the first face on many lines."""

    def __init__(self, mesh: Mesh) -> None:
        """Prepare a mesh; the first use builds a tree over its faces."""
        import igl

        self._corner = mesh.vertices.min(axis=0)
        self._scale = _LONGEST / float(np.ptp(mesh.vertices, axis=0).max())
        self._vertices = np.ascontiguousarray((mesh.vertices - self._corner) * self._scale)
        self._faces = np.ascontiguousarray(mesh.faces)
        self._tree = igl.AABB()
        self._tree.init(self._vertices, self._faces)

    def first(self, origins: Floats, directions: Floats) -> tuple[Integers, Floats]:
        """Return the first face on each ray, -1 for none, and the distance to it [m], infinite for none.

        origins: shape (n, 3) [m]; directions: unit vectors, shape (n, 3). A face seen from behind counts too.
        """
        starts = np.ascontiguousarray((origins - self._corner) * self._scale)
        face, distance, _ = self._tree.intersect_ray_first(
            self._vertices, self._faces, starts, np.ascontiguousarray(directions), np.inf
        )
        return np.asarray(face, dtype=np.int64), np.where(face < 0, np.inf, distance / self._scale)
