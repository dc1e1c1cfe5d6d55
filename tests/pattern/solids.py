"""Closed meshes of shapes whose volumes are known, for the tests."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np
import trimesh
from numpy.typing import NDArray

from moldkit.pattern.mesh import Mesh

ROOT = Path(__file__).resolve().parents[2]
MESHES = ROOT / "tests" / "meshes"


def mesh_of(shape: trimesh.Trimesh, name: str = "shape") -> Mesh:
    """A general-purpose library's mesh as one of ours."""
    return Mesh(name, np.array(shape.vertices, dtype=np.float64), np.array(shape.faces, dtype=np.int64))


def moved(mesh: Mesh, scale: float = 1.0, turn: NDArray[np.float64] | None = None, shift: float = 0.0) -> Mesh:
    turn = np.eye(3) if turn is None else turn
    return Mesh(mesh.name, scale * mesh.vertices @ turn.T + shift, mesh.faces)


def about_z(angle: float) -> NDArray[np.float64]:
    c, s = math.cos(angle), math.sin(angle)
    return np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])


def skew_turn() -> NDArray[np.float64]:
    """A rotation that leaves nothing in line with anything."""
    library: Any = trimesh.transformations
    return np.array(library.rotation_matrix(0.9, [0.3, -0.5, 0.8])[:3, :3])


def box(a: float, b: float, c: float) -> Mesh:
    return mesh_of(trimesh.creation.box((a, b, c)), "box")


def ball(radius: float, fineness: int = 5) -> Mesh:
    return mesh_of(trimesh.creation.icosphere(fineness, radius), "ball")


def cylinder(radius: float, height: float, sections: int = 192) -> Mesh:
    return mesh_of(trimesh.creation.cylinder(radius, height, sections=sections), "cylinder")


def torus(major: float, minor: float) -> Mesh:
    return mesh_of(trimesh.creation.torus(major, minor, major_sections=160, minor_sections=80), "torus")


def hull(points: NDArray[np.float64]) -> Mesh:
    return mesh_of(trimesh.convex.convex_hull(points), "convex hull")


def dome(radius: float) -> Mesh:
    """A half ball on its flat side."""
    up, round_it = np.meshgrid(np.linspace(0, np.pi / 2, 49)[:-1], np.arange(144) * np.pi / 72)
    ring = np.stack([np.cos(up) * np.cos(round_it), np.cos(up) * np.sin(round_it), np.sin(up)], axis=-1)
    return hull(radius * np.vstack([ring.reshape(-1, 3), [[0.0, 0.0, 1.0]]]))


def angle_bracket(height: float) -> Mesh:
    """A prism over an L: arms 3 and 2 long, 1 wide."""
    corners = np.array([(0, 0), (3, 0), (3, 1), (1, 1), (1, 2), (0, 2)], dtype=float)
    triangles = np.array([[0, 1, 2], [0, 2, 3], [0, 3, 4], [0, 4, 5]])
    return mesh_of(trimesh.creation.extrude_triangulation(corners, triangles, height), "angle bracket")


def platonic(name: str) -> Mesh:
    """A regular solid of unit edge."""
    golden = (1 + math.sqrt(5)) / 2
    signs = np.array([(x, y) for x in (-1, 1) for y in (-1, 1)], dtype=float)
    points = {
        "tetrahedron": np.array([(1, 1, 1), (1, -1, -1), (-1, 1, -1), (-1, -1, 1)]) / math.sqrt(8),
        "octahedron": np.vstack([np.eye(3), -np.eye(3)]) / math.sqrt(2),
        "icosahedron": np.vstack(
            [np.roll(np.column_stack([np.zeros(4), signs[:, 0], signs[:, 1] * golden]), k, axis=1) for k in range(3)]
        )
        / 2,
        "dodecahedron": np.vstack(
            [[(x, y, z) for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)]]
            + [
                np.roll(np.column_stack([np.zeros(4), signs[:, 0] / golden, signs[:, 1] * golden]), k, axis=1)
                for k in range(3)
            ]
        )
        * golden
        / 2,
    }
    return hull(points[name])
