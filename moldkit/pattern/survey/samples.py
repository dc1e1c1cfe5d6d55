"""Points spread evenly over a pattern's molded surface, the same every time."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldkit.pattern.mesh import Mesh

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

# A ray starts so far off the surface, as a share of the longest side, so that it doesn't meet its own face.
LIFT = 1e-5
_SEED = 20_240_601


@dataclass(frozen=True, eq=False)
class Samples:
    """Points on the surface, each standing for the same area.

    points: shape (n, 3) [m]; normals: outward, unit, shape (n, 3); faces: number of the face each lies in, shape
    (n,); area: that each stands for [m2]; lift: distance to start a ray off the surface [m].
    """

    points: Floats
    normals: Floats
    faces: Integers
    area: float
    lift: float

    def lifted(self) -> Floats:
        """Return the points moved a hair off the surface, shape (n, 3) [m]."""
        return self.points + self.lift * self.normals

    def chosen(self, which: Integers) -> Samples:
        """Return some of the points, by number, each standing for the same area as before."""
        return Samples(self.points[which], self.normals[which], self.faces[which], self.area, self.lift)

    def every(self, step: int) -> Samples:
        """Return every so many-th point, still spread over the whole surface; each stands for more."""
        some = slice(None, None, step)
        area = self.area * len(self.points) / len(self.points[some])
        return Samples(self.points[some], self.normals[some], self.faces[some], area, self.lift)


def surface_samples(mesh: Mesh, count: int, *, stands_on_base: bool) -> Samples:
    """Return points spread over the molded surface, stratified by area.

    mesh: closed [m]; count: of points; stands_on_base: leave the base out. Returns the same points every time.
    """
    vectors = mesh.area_vectors()
    areas = np.linalg.norm(vectors, axis=1)
    if stands_on_base:
        areas = np.where(mesh.base_faces(), 0.0, areas)
    draw = np.random.default_rng(_SEED)
    total = np.cumsum(areas)
    at = (np.arange(count) + draw.random(count)) * (total[-1] / count)
    faces = np.minimum(np.searchsorted(total, at, side="right"), len(areas) - 1)
    first, second = np.sqrt(draw.random(count)), draw.random(count)
    weights = np.stack([1.0 - first, first * (1.0 - second), first * second], axis=1)
    points: Floats = np.einsum("ij,ijk->ik", weights, mesh.vertices[mesh.faces[faces]])
    normals: Floats = vectors[faces] / areas[faces][:, None]
    longest = float(np.ptp(mesh.vertices, axis=0).max())
    return Samples(points, normals, faces, float(total[-1]) / count, LIFT * longest)
