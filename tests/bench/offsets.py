"""The volume of one skin round a free pattern, by the functions that general mesh libraries have for it."""

from __future__ import annotations

import importlib.util
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from moldkit.pattern.mesh import Mesh

# An even grid for signed distances has cells of this share of the longest side, one for a distance transform this.
GRID_CELL, VOXEL = 1 / 64, 1 / 160
RESAMPLED_CELL = 1 / 64
# Minkowski's sum of a body that isn't convex takes some milliseconds a triangle.
MOST_FOR_MINKOWSKI = 1_000


@dataclass(frozen=True)
class Way:
    """A way to the volume within t outside a mesh.

    name; needs: modules that must be installed; skin: from the mesh and t [m] to the volume [m3]; most: triangles it
    is asked to bear.
    """

    name: str
    needs: tuple[str, ...]
    skin: Callable[[Mesh, float], float]
    most: int = 10_000_000

    def missing(self) -> list[str]:
        """Return the modules that aren't installed."""
        return [module for module in self.needs if importlib.util.find_spec(module) is None]


def _shape(mesh: Mesh) -> Any:
    import trimesh

    return trimesh.Trimesh(mesh.vertices, mesh.faces, process=False)


def _signed_distances(mesh: Mesh, t: float) -> float:
    import igl

    low, high = mesh.vertices.min(axis=0) - t, mesh.vertices.max(axis=0) + t
    cell = GRID_CELL * float(np.ptp(mesh.vertices, axis=0).max())
    axes = [np.arange(a + cell / 2.0, b + cell / 2.0, cell) for a, b in zip(low, high, strict=True)]
    points = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)
    by_winding: Any = igl.SIGNED_DISTANCE_TYPE_FAST_WINDING_NUMBER
    distance = igl.signed_distance(points, mesh.vertices, mesh.faces, sign_type=by_winding)[0]
    return float(((distance > 0.0) & (distance <= t)).sum()) * cell**3


def _voxels(mesh: Mesh, t: float) -> float:
    from scipy.ndimage import distance_transform_edt

    cell = VOXEL * float(np.ptp(mesh.vertices, axis=0).max())
    solid: Any = _shape(mesh).voxelized(cell).fill().matrix
    outside = np.pad(~solid, int(np.ceil(t / cell)) + 1, constant_values=True)
    # From centre to centre: the surface lies half a cell nearer.
    distance = (distance_transform_edt(outside) - 0.5) * cell
    return float((outside & (distance <= t)).sum()) * cell**3


def _resampled(mesh: Mesh, t: float) -> float:
    import pymeshlab

    meshes: Any = pymeshlab.MeshSet()
    meshes.add_mesh(pymeshlab.Mesh(mesh.vertices, mesh.faces))
    cell = pymeshlab.PureValue(RESAMPLED_CELL * float(np.ptp(mesh.vertices, axis=0).max()))
    meshes.generate_resampled_uniform_mesh(cellsize=cell, offset=pymeshlab.PureValue(t), multisample=True)
    return float(meshes.get_geometric_measures()["mesh_volume"]) - mesh.volume()


def _minkowski(mesh: Mesh, t: float) -> float:
    import manifold3d

    # In double precision, and at a size where its tolerance does not matter.
    scale = 1.0 / float(np.ptp(mesh.vertices, axis=0).max())
    body: Any = manifold3d.Manifold(
        manifold3d.Mesh64(vert_properties=mesh.vertices * scale, tri_verts=mesh.faces.astype(np.uint64))
    )
    ball: Any = manifold3d.Manifold.sphere(t * scale, 16)
    return float(body.minkowski_sum(ball).volume() - body.volume()) / scale**3


WAYS = (
    Way("libigl, signed distances on an even grid", ("igl",), _signed_distances),
    Way("trimesh voxels, scipy's distance transform", ("trimesh", "scipy"), _voxels),
    Way("pymeshlab, resampled offset surface", ("pymeshlab",), _resampled),
    Way("manifold3d, Minkowski sum with a ball", ("manifold3d",), _minkowski, MOST_FOR_MINKOWSKI),
)
