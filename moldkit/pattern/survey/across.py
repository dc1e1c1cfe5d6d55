"""How far it is across a pattern and across its hollows, straight in and straight out from its surface.

One ray a point, square to the surface, not a cone of them: it measures a plate, a tube and a ball exactly, and close
to a square edge still the whole body, where slanted rays would meet the next face and take every edge for thin.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldkit.pattern.mesh import Mesh
from moldkit.pattern.survey.rays import Rays
from moldkit.pattern.survey.samples import LIFT
from moldkit.pattern.triangles import area_vectors

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

# Two faces are sides of one wall, or of one gap, where they meet, if they go on, at less than 60 degrees (cosine), and
# all but parallel sides at less than 30: the edge of a leaf is thin and frail, that of a tetrahedron is an edge.
OPPOSITE, PARALLEL = 0.5, 0.866
# Bodies that overlap are crossed from one into the next at most so often.
_MOST_BODIES = 8


@dataclass(frozen=True, eq=False)
class Distances:
    """What rays found, each of shape (n,).

    thickness: of the wall, infinite where no face lies opposite [m]; wall: the same where its sides are all but
    parallel, else infinite [m]; through: as far as the surface straight behind, opposite or not, infinite for none
    [m]; gap: free distance to a face opposite, infinite for none [m]; groove: the same where the sides are all but
    parallel, else infinite [m]; hidden: points that lie within another body.
    """

    thickness: Floats
    wall: Floats
    through: Floats
    gap: Floats
    groove: Floats
    hidden: Flags


class Across:
    """A mesh made ready to be measured across."""

    def __init__(self, mesh: Mesh, rays: Rays | None = None) -> None:
        """Prepare a closed mesh; rays: of this mesh, if there are some already."""
        self._mesh, self._rays = mesh, rays or Rays(mesh)
        self._lift = LIFT * float(np.ptp(mesh.vertices, axis=0).max())

    def measure(self, points: Floats, normals: Floats) -> Distances:
        """Measure in and out from points on the surface.

        points: shape (n, 3) [m]; normals: outward, unit, shape (n, 3).
        """
        through, behind = self._inward(points, normals)
        free, ahead = self._outward(points, normals)
        return Distances(
            thickness=np.where(behind >= OPPOSITE, through, np.inf),
            wall=np.where(behind >= PARALLEL, through, np.inf),
            through=through,
            gap=np.where(ahead <= -OPPOSITE, free, np.inf),
            groove=np.where(ahead <= -PARALLEL, free, np.inf),
            hidden=ahead > 0.0,
        )

    def thickness(self, points: Floats, normals: Floats) -> Floats:
        """Return the thickness of the wall under points, infinite where no face lies opposite [m]; as measure()."""
        through, behind = self._inward(points, normals)
        result: Floats = np.where(behind >= OPPOSITE, through, np.inf)
        return result

    def gap(self, points: Floats, normals: Floats) -> Floats:
        """Return the free distance over points to a face opposite, infinite for none [m]; as measure()."""
        free, ahead = self._outward(points, normals)
        result: Floats = np.where(ahead <= -OPPOSITE, free, np.inf)
        return result

    def _inward(self, points: Floats, normals: Floats) -> tuple[Floats, Floats]:
        """Return the distance to where each ray leaves the solid [m], and how far the face there looks along it."""
        through, behind = np.full(len(points), np.inf), np.zeros(len(points))
        depth, gone = np.ones(len(points), dtype=np.int64), np.full(len(points), self._lift)
        on_way = np.arange(len(points))
        for _ in range(_MOST_BODIES):
            origins = points[on_way] - gone[on_way, None] * normals[on_way]
            facing, distance = self._first(origins, -normals[on_way])
            met = np.isfinite(distance)
            on_way, facing = on_way[met], facing[met]
            # Out of a body, or into another that it overlaps.
            depth[on_way] += np.where(facing > 0.0, -1, 1)
            gone[on_way] += distance[met]
            is_out = depth[on_way] == 0
            through[on_way[is_out]], behind[on_way[is_out]] = gone[on_way[is_out]], facing[is_out]
            on_way = on_way[~is_out]
            gone[on_way] += self._lift
            if not len(on_way):
                break
        return through, behind

    def _outward(self, points: Floats, normals: Floats) -> tuple[Floats, Floats]:
        """Return the free distance over each point [m], and how far the face there looks along the ray."""
        facing, distance = self._first(points + self._lift * normals, normals)
        return distance + self._lift, facing

    def _first(self, origins: Floats, directions: Floats) -> tuple[Floats, Floats]:
        """Return how far the first face on each ray looks along it, from 1 to -1, and the distance [m].

        Where there is none: 0 and infinite.
        """
        face, distance = self._rays.first(origins, directions)
        hit = face >= 0
        vectors = area_vectors(self._mesh.vertices[self._mesh.faces[face[hit]]])
        size = np.linalg.norm(vectors, axis=1)
        facing = np.zeros(len(face))
        facing[hit] = np.einsum("ij,ij->i", vectors, directions[hit]) / np.where(size > 0.0, size, 1.0)
        return facing, distance
