"""The geometric forms in the unit box: x and y from -1/2 to 1/2, z from 0 to 1, as closed triangle surfaces."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache

import numpy as np

from moldkit.pattern.implicit import Faces, Floats, split_quads

Shape = tuple[Floats, Faces]

RINGS = 24  # rings of triangles from pole to rim: a rim of 96 points keeps area and volume within 0.1 %
RIM = 4 * RINGS
WALL_ROWS = 8
BOX_SQUARES = 16
PANEL_SQUARES = 40
PANEL_FILL = 0.5


@lru_cache(maxsize=1)
def ball() -> Shape:
    """Return an ellipsoid that touches all six sides of the unit box."""
    return _stacked(_cap(), 0.5, _cap(), 0.5)


@lru_cache(maxsize=1)
def dome() -> Shape:
    """Return the upper half of an ellipsoid on a flat base."""
    return _stacked(_disc(), 0.0, _cap(), 1.0)


@lru_cache(maxsize=1)
def cylinder() -> Shape:
    """Return an upright elliptic cylinder."""
    return _stacked(_disc(), 0.0, _disc(), 0.0)


def capsule(rise: float) -> Shape:
    """Return an upright elliptic cylinder closed by half ellipsoids.

    rise: height of one cap as a share of the whole height, 0 to 1/2. From 0.4995 on it is the ball: a
    straight part of less than a thousandth of the height would be slivers.
    """
    return ball() if rise > 0.4995 else _stacked(_cap(), rise, _cap(), rise)


@lru_cache(maxsize=1)
def box() -> Shape:
    """Return the block that fills the unit box."""
    n = BOX_SQUARES
    u, v = (part.ravel() for part in np.meshgrid(np.arange(n), np.arange(n), indexing="ij"))
    square = ((u, v), (u + 1, v), (u + 1, v + 1), (u, v + 1))
    quads: list[Faces] = []
    for axis in range(3):
        for side, order in ((0, square[::-1]), (n, square)):
            quad = np.full((n * n, 4, 3), side, dtype=np.int64)
            for corner, (along, across) in enumerate(order):
                quad[:, corner, (axis + 1) % 3], quad[:, corner, (axis + 2) % 3] = along, across
            quads.append(quad)
    points, corners = np.unique(np.concatenate(quads).reshape(-1, 3), axis=0, return_inverse=True)
    vertices = points / n - np.array([0.5, 0.5, 0.0])
    return vertices, split_quads(vertices, corners.reshape(-1, 4))


@lru_cache(maxsize=1)
def panel() -> Shape:
    """Return a slab with a raised frame and a rosette, the slab as thick as PANEL_FILL asks."""
    n = PANEL_SQUARES
    across = np.linspace(-1.0, 1.0, n + 1)
    relief = _panel_relief(across[:, None], across[None, :])
    plan = np.stack([part.ravel() for part in np.meshgrid(across / 2, across / 2, indexing="ij")], axis=1)
    index = np.arange((n + 1) ** 2).reshape(n + 1, n + 1)
    tiles = np.stack([index[:-1, :-1], index[1:, :-1], index[1:, 1:], index[:-1, 1:]], axis=2).reshape(-1, 4)
    faces = split_quads(np.column_stack([plan, relief.ravel()]), tiles)
    mean = enclosed_volume(*_over_base(plan, relief.ravel(), faces, index))
    slab = (PANEL_FILL - mean) / (1.0 - mean)
    return _over_base(plan, slab + (1.0 - slab) * relief.ravel(), faces, index)


def enclosed_volume(vertices: Floats, faces: Faces) -> float:
    """Return the volume inside a closed surface that faces outward (of an open one: its cone to the origin).

    vertices: (n, 3) [m]; faces: (m, 3). Returns [m3].
    """
    a, b, c = (vertices[faces[:, k]] for k in range(3))
    return float(np.einsum("ij,ij->", a, np.cross(b, c))) / 6.0


def _panel_relief(u: Floats, v: Floats) -> Floats:
    """Return the panel's relief, 0 to 1, over u and v from -1 to 1."""
    radius, turn = np.hypot(u, v), np.arctan2(v, u)
    edge = np.maximum(np.abs(u), np.abs(v))
    frame = 0.75 * np.exp(-(((edge - 0.9) / 0.11) ** 2))
    petals = np.exp(-(((radius - 0.4) / 0.26) ** 2)) * (0.58 + 0.42 * np.cos(8.0 * turn))
    heart = np.exp(-((radius / 0.17) ** 2))
    relief = np.maximum(frame, 0.8 * petals + heart)
    result: Floats = (relief - relief.min()) / np.ptp(relief)
    return result


def _over_base(plan: Floats, height: Floats, faces: Faces, index: Faces) -> Shape:
    """Return the closed body between a height field and z = 0; index: the vertex at each grid point."""
    count = len(plan)
    rim = np.concatenate([index[:-1, 0], index[-1, :-1], index[:0:-1, -1], index[0, :0:-1]])
    walls = np.stack([rim + count, np.roll(rim, -1) + count, np.roll(rim, -1), rim], axis=1)
    top, bottom = np.column_stack([plan, height]), np.column_stack([plan, np.zeros(count)])
    vertices = np.concatenate([top, bottom])
    return vertices, np.concatenate([faces, faces[:, ::-1] + count, split_quads(vertices, walls)])


@lru_cache(maxsize=1)
def _cap() -> Floats:
    """Return the upper half ball of radius 1 as vertices for `_disc_faces`, the rim last.

    Vertices on the sphere would lose volume. They are moved out until rim and cap enclose what circle and
    half ball do, and cut back to the box, which touches only the vertex at the end of each axis.
    """
    ring, azimuth = _disc_places()
    polar = 0.5 * np.pi * ring / RINGS
    sphere = np.stack([np.sin(polar) * np.cos(azimuth), np.sin(polar) * np.sin(azimuth), np.cos(polar)], axis=1)
    sphere[np.abs(sphere) < 1e-15] = 0.0
    sphere[-RIM:] = _rim()
    faces = _disc_faces()

    def swollen(factor: float) -> Floats:
        return np.concatenate([np.clip(factor * sphere[:-RIM], -1.0, 1.0), sphere[-RIM:]])

    return swollen(_root(lambda factor: enclosed_volume(swollen(factor), faces) - 2.0 * math.pi / 3.0))


@lru_cache(maxsize=1)
def _disc() -> Floats:
    """Return the flat disc inside the same rim as `_cap`."""
    ring, azimuth = _disc_places()
    flat = np.stack([ring / RINGS * np.cos(azimuth), ring / RINGS * np.sin(azimuth), np.zeros(len(ring))], axis=1)
    flat[-RIM:] = _rim()
    return flat


@lru_cache(maxsize=1)
def _rim() -> Floats:
    """Return a polygon of RIM corners that has the area of the circle of radius 1 and touches its box."""
    turn = 2.0 * np.pi * np.arange(RIM) / RIM
    circle = np.stack([np.cos(turn), np.sin(turn), np.zeros(RIM)], axis=1)

    def swollen(factor: float) -> Floats:
        result: Floats = np.clip(factor * circle, -1.0, 1.0)
        return result

    def area(polygon: Floats) -> float:
        x, y, _ = polygon.T
        return 0.5 * float(x @ np.roll(y, -1) - y @ np.roll(x, -1))

    return swollen(_root(lambda factor: area(swollen(factor)) - math.pi))


def _root(excess: Callable[[float], float]) -> float:
    """Return the factor near 1 at which a smooth rising function is zero, by secants."""
    last, factor = 1.0, 1.001
    at_last, here = excess(last), excess(factor)
    for _ in range(20):
        if abs(here) < 1e-15 or here == at_last:
            break
        last, factor, at_last = factor, factor - here * (factor - last) / (here - at_last), here
        here = excess(factor)
    return factor


def _disc_places() -> tuple[Floats, Floats]:
    """Return ring number and azimuth of a disc's vertices: one, then 4 k in ring k."""
    counts = np.arange(1, RINGS + 1)
    ring = np.concatenate([[0.0], np.repeat(counts, 4 * counts)])
    azimuth = np.concatenate([[0.0], *(0.5 * np.pi * np.arange(4 * k) / k for k in counts)])
    return ring, azimuth


def _disc_faces() -> Faces:
    """Return the triangles between a disc's rings, counter-clockwise from above."""
    triangles: list[Faces] = []
    for k in range(RINGS):
        quarter, j = (part.ravel() for part in np.meshgrid(np.arange(4), np.arange(k + 1), indexing="ij"))
        inner, outer = (2 * k * (k - 1) + 1 if k else 0), 2 * k * (k + 1) + 1
        near = inner + (quarter * k + j) % max(4 * k, 1)
        near_next = inner + (quarter * k + j + 1) % max(4 * k, 1)
        far = outer + quarter * (k + 1) + j
        far_next = outer + (quarter * (k + 1) + j + 1) % (4 * (k + 1))
        triangles.append(np.stack([far, far_next, near], axis=1))
        triangles.append(np.stack([near, far_next, near_next], axis=1)[j < k])
    return np.concatenate(triangles)


def _stacked(bottom: Floats, bottom_rise: float, top: Floats, top_rise: float) -> Shape:
    """Return the body between two caps (or discs) that rise by these shares of the height."""
    lower = bottom * (0.5, 0.5, -bottom_rise) + (0.0, 0.0, bottom_rise)
    upper = top * (0.5, 0.5, top_rise) + (0.0, 0.0, 1.0 - top_rise)
    rows = WALL_ROWS if upper[-1, 2] > lower[-1, 2] else 0
    wall = np.linspace(lower[-RIM:], upper[-RIM:], rows + 1).reshape(-1, 3)
    first, inner = len(lower) - RIM, np.arange(len(upper) - RIM)
    vertices = np.concatenate([lower[:-RIM], wall, upper[:-RIM]])
    place = np.concatenate([first + len(wall) + inner, first + rows * RIM + np.arange(RIM)])
    start = first + np.arange(rows)[:, None] * RIM
    here, after = start + np.arange(RIM), start + (np.arange(RIM) + 1) % RIM
    quads = np.stack([here, after, after + RIM, here + RIM], axis=2).reshape(-1, 4)
    faces = _disc_faces()
    return vertices, np.concatenate([faces[:, ::-1], split_quads(vertices, quads), place[faces]])
