"""How far points lie from a pattern's surface and on which side of it, for many points and however fine the mesh.

Far from a fine triangle its corners serve in its stead, which are found four times as fast. Let p be nearest to f
among all points of the surface, and v a corner of the face, edge or corner that f lies within: p - f is square to
f - v, so that |p - v|2 = d2 + |f - v|2. With s the root mean square of a triangle's edges, |f - v|2 is at most
2 / 3 s2 for the corner v nearest to f, and the nearest corner never lies more than s2 / (3 d) further off than the
surface.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moldkit.pattern.mesh import Mesh
from moldkit.pattern.triangles import area_vectors, cone_volumes

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

# All lengths in this file are shares of the mesh's longest side.
# The size of a triangle is the root mean square of its edges. Fine is one that is no larger than this and than all
# but the largest few; where those are fewer than half, none is.
FINEST, MOST_ARE_FINE, LEAST_ARE_FINE = 0.02, 0.97, 0.5
# Corners serve from so many times the size of the largest fine triangle.
CORNERS_FROM = 5.0
# By so many squares of the size d2 is less than it is to the corners: in the mean 5 / 36 over flat ground (triangles
# of equal sides), next to nothing over rough ground, where the corners are what stands out. So the half of it:
# measured, the volume within any distance changes by less than 0.04 %.
CORNERS_BEYOND = 0.09
# Some of the faces are arranged by themselves if they are less than this share of all.
FEW = 0.25


class MeasuredSurface:
    """A mesh with its longest side as one and its lower corner at the origin.

    mirrored: it stands on its base, which is no molded surface, and points below are asked in the mirror; area: of
    the molded surface; volume: enclosed, a part covered twice counted twice; half_wall: volume over whole area, half
    of what a wall of that volume and area measures from face to face.
    """

    def __init__(self, mesh: Mesh, *, stands_on_base: bool) -> None:
        """Prepare a closed mesh, facing outwards; stands_on_base: its base is no molded surface."""
        import igl

        low = mesh.vertices.min(axis=0)
        vertices = np.ascontiguousarray((mesh.vertices - low) / np.ptp(mesh.vertices, axis=0).max())
        molded = ~mesh.base_faces() if stands_on_base else np.ones(len(mesh.faces), dtype=bool)
        corners = vertices[mesh.faces]
        areas = np.sqrt(_squares(area_vectors(corners)))
        self.mirrored = stands_on_base
        self.extents: Floats = vertices.max(axis=0)
        self.area = float(areas[molded].sum())
        self.volume = float(cone_volumes(corners).sum())
        self.half_wall = self.volume / float(areas.sum())
        sizes = _sizes(corners)[molded]
        del corners
        self._nearest = _Nearest(vertices, mesh.faces[molded], sizes)
        self._winding = igl.FastWindingNumberBVH()
        self._winding.init(vertices, np.ascontiguousarray(mesh.faces))

    def box(self) -> tuple[Floats, Floats]:
        """Return the lower and upper corner of the box round it and its mirror image."""
        low = np.zeros(3)
        if self.mirrored:
            low[2] = -self.extents[2]
        return low, self.extents

    def distances(self, points: Floats, at_most: Floats) -> tuple[Floats, Floats]:
        """Return the distance of each point, (n,), and the unit vector towards it from the nearest point, (n, 3).

        at_most: what each distance is known not to exceed, shape (n,).
        """
        folded = self._folded(points)
        distance, away = self._nearest.distances(folded, at_most)
        if self.mirrored:
            away[:, 2] = np.where(points[:, 2] < 0.0, -away[:, 2], away[:, 2])
        return distance, away

    def covering(self, points: Floats) -> Integers:
        """Return how many times each point is enclosed, shape (n,)."""
        # Whole numbers are told apart with the coarsest approximation, four times as fast as the usual one.
        winding: Floats = self._winding.winding_number(self._folded(points), 1.0)
        return np.rint(winding).astype(np.int64)

    def _folded(self, points: Floats) -> Floats:
        if not self.mirrored:
            return points
        folded = points.copy()
        folded[:, 2] = np.abs(folded[:, 2])
        return folded


def _sizes(corners: Floats) -> Floats:
    """Return the size of each triangle, shape (m,); corners: shape (m, 3, 3)."""
    squares = np.zeros(len(corners))
    for corner in range(3):
        squares += _squares(corners[:, corner] - corners[:, corner - 1])
    result: Floats = np.sqrt(squares / 3.0)
    return result


def _squares(vectors: Floats) -> Floats:
    """Return the squared length of each vector, shape (n,); vectors: shape (n, 3)."""
    result: Floats = np.einsum("ij,ij->i", vectors, vectors)
    return result


class _Nearest:
    """The distance to faces: from afar to the corners of the fine ones, else to the faces themselves."""

    def __init__(self, vertices: Floats, faces: Integers, sizes: Floats) -> None:
        """Prepare faces; sizes: of each, shape (m,)."""
        limit = min(FINEST, float(np.quantile(sizes, MOST_ARE_FINE)))
        fine = sizes <= limit
        if fine.mean() < LEAST_ARE_FINE:
            limit, fine = 0.0, np.zeros(len(faces), dtype=bool)
        self._vertices, self._faces, self._coarse = vertices, faces, ~fine
        size = _means_at_corners(faces[fine], sizes[fine], len(vertices))
        corners = np.flatnonzero(size)
        # A corner takes its place among the faces as a triangle of no size.
        self._seen = np.vstack([np.repeat(corners[:, None], 3, axis=1), faces[~fine]])
        self._beyond = CORNERS_BEYOND * np.append(size[corners], np.zeros(len(self._seen) - len(corners))) ** 2
        self._afar, self._from_afar = CORNERS_FROM * limit, _Tree(vertices, self._seen)
        self._whole: _Tree | None = None

    def distances(self, points: Floats, at_most: Floats) -> tuple[Floats, Floats]:
        """Return the distance of each point and the unit vector towards it from the nearest point."""
        distance, away = np.zeros(len(points)), np.zeros((len(points), 3))
        close = at_most < self._afar if self._whole else np.zeros(len(points), dtype=bool)
        rest = np.flatnonzero(~close)
        to_corner, away[rest], seen = self._from_afar.distances(points[rest])
        close[rest] = to_corner < self._afar
        distance[rest] = np.sqrt(np.maximum(to_corner**2 - self._beyond[seen], 0.0))
        if close.any():
            tree = self._faces_at(self._seen[seen[to_corner < self._afar]])
            distance[close], away[close], _ = tree.distances(points[close])
        return distance, away

    def _faces_at(self, corners: Integers) -> _Tree:
        """Return all coarse faces and those that meet in some corners, or all faces unless these are much fewer."""
        met = np.zeros(len(self._vertices), dtype=bool)
        met[corners] = True
        wanted = self._coarse.copy()
        for corner in self._faces.T:
            wanted |= met[corner]
        if self._whole is None and wanted.mean() < FEW:
            return _Tree(self._vertices, self._faces[wanted])
        self._whole = self._whole or _Tree(self._vertices, self._faces)
        return self._whole


def _means_at_corners(faces: Integers, values: Floats, count: int) -> Floats:
    """Return the mean over the faces that meet in each of so many vertices, 0 where none does, shape (count,)."""
    meeting, total = np.zeros(count, dtype=np.int64), np.zeros(count)
    for corner in faces.T:
        meeting += np.bincount(corner, minlength=count)
        total += np.bincount(corner, values, count)
    return total / np.maximum(meeting, 1)


class _Tree:
    """Triangles arranged by place."""

    def __init__(self, vertices: Floats, faces: Integers) -> None:
        import igl

        self._vertices, self._faces = vertices, np.ascontiguousarray(faces)
        self._tree = igl.AABB()
        self._tree.init(self._vertices, self._faces)

    def distances(self, points: Floats) -> tuple[Floats, Floats, Integers]:
        """Return distance, unit vector from the nearest point to each point, and the triangle that it lies on."""
        squared, face, nearest = self._tree.squared_distance(self._vertices, self._faces, np.ascontiguousarray(points))
        distance: Floats = np.sqrt(squared)
        return distance, (points - nearest) / np.maximum(distance, 1e-12)[:, None], face
