"""Meshes of any fineness for the benchmarks, and what is known of them."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from moldkit.pattern.mesh import Mesh

Floats = NDArray[np.float64]


def bumpy_ball(triangles: int, size: float = 0.15) -> Mesh:
    """Return a closed bumpy ball of about so many triangles, its longest side near `size` [m]."""
    around = round(triangles**0.5)
    up = around // 2
    theta = np.linspace(0, np.pi, up + 1)[1:-1]
    phi = np.arange(around) * 2 * np.pi / around
    t, p = np.meshgrid(theta, phi, indexing="ij")
    radius = 0.5 * size * (1 + 0.05 * np.sin(9 * t) * np.cos(7 * p))
    ring = np.stack([radius * np.sin(t) * np.cos(p), radius * np.sin(t) * np.sin(p), radius * np.cos(t)], -1)
    poles = np.array([[0, 0, 0.5 * size], [0, 0, -0.5 * size]])
    vertices = np.concatenate([ring.reshape(-1, 3), poles])
    here = np.arange(up - 2)[:, None] * around + np.arange(around)
    right = np.arange(up - 2)[:, None] * around + (np.arange(around) + 1) % around
    quads = [np.stack([here, here + around, right], -1), np.stack([right, here + around, right + around], -1)]
    first, last = np.arange(around), (up - 2) * around + np.arange(around)
    north, south = len(vertices) - 2, len(vertices) - 1
    caps = [
        np.stack([np.full(around, north), first, np.roll(first, -1)], -1),
        np.stack([np.full(around, south), np.roll(last, -1), last], -1),
    ]
    faces = np.concatenate([part.reshape(-1, 3) for part in [*quads, *caps]])
    return Mesh("bumpy ball", vertices, faces.astype(np.int64))


def egg(halvings: int, size: float = 0.15) -> Mesh:
    """Return a convex body of 20 x 4^halvings triangles that is out of line with the axes, longest side `size` [m]."""
    import trimesh

    ball: Any = trimesh.creation.icosphere(halvings)
    turn: Any = trimesh.transformations.rotation_matrix(0.9, [0.3, -0.5, 0.8])
    vertices = np.array(ball.vertices) * [0.5, 0.35, 0.3] @ turn[:3, :3].T
    return Mesh("egg", vertices * (size / np.ptp(vertices, axis=0).max()), np.array(ball.faces, dtype=np.int64))


def steiner(convex: Mesh, t: float) -> float:
    """Return the volume within t outside a convex mesh, S t + M t2 + 4/3 pi t3 [m3].

    Minkowski-Steiner formula, https://en.wikipedia.org/wiki/Steiner-minkowski_formula; the area S and the integral M
    of mean curvature (edge length x angle between the faces, over 2) by a general mesh library.
    """
    import trimesh

    shape: Any = trimesh.Trimesh(convex.vertices, convex.faces, process=False)
    return float(shape.area * t + shape.integral_mean_curvature * t**2 + 4.0 / 3.0 * math.pi * t**3)


def scattered(mesh: Mesh, t: float, count: int = 400_000) -> float:
    """Return the volume within t outside a mesh [m3] as the share of points of Halton's sequence in it; to 0.1 %.

    Independent of cells, kernels and fits: only distances and winding numbers are libigl's.
    """
    import igl
    from scipy.stats import qmc

    low, high = mesh.vertices.min(axis=0) - t, mesh.vertices.max(axis=0) + t
    points = low + (high - low) * qmc.Halton(3, scramble=False).random(count)
    squared = igl.point_mesh_squared_distance(points, mesh.vertices, mesh.faces)[0]
    near = points[squared <= t * t]
    outside = igl.fast_winding_number(mesh.vertices, mesh.faces, near) < 0.5
    return float(np.prod(high - low) * outside.sum() / count)
