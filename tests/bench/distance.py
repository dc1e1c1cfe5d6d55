"""The distance curve by triangle count, against one distance query a voxel of the common way."""

from __future__ import annotations

import numpy as np

from moldkit.pattern.distance import measure_distance
from moldkit.pattern.mesh import Mesh
from moldkit.pattern.reading import read_mesh
from tests.bench.clock import line, median_ms

COUNTS = (5_000, 20_000, 75_000, 300_000)


def bumpy_ball(triangles: int, size: float = 0.15) -> Mesh:
    """Return a closed bumpy ball of about so many triangles, its longest side near `size` [m]."""
    around = round((triangles / 1.0) ** 0.5)
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


def run() -> None:
    """Print the time of the curve and of the whole reading by triangle count, as ratios to the smallest mesh."""
    print("distance curve and whole reading, by triangle count")
    floor = 0.0
    for count in COUNTS:
        mesh = bumpy_ball(count)
        took = median_ms(lambda mesh=mesh: measure_distance(mesh, stands_on_base=True), 3)
        floor = floor or took
        line(f"distance curve, {len(mesh.faces):,} triangles", took, floor, f"the curve at {COUNTS[0]:,}")
        whole = median_ms(lambda mesh=mesh: read_mesh(mesh), 3)
        line(f"whole reading, {len(mesh.faces):,} triangles", whole, floor, f"the curve at {COUNTS[0]:,}")
