"""Cutting polygons with more than three corners into triangles."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]


def triangles_of(vertices: NDArray[np.floating], polygons: Sequence[Integers]) -> Integers:
    """Return the triangles of polygons, shape (m, 3).

    vertices: shape (n, 3); polygons: for each number of corners k one array of vertex numbers, shape (p, k).
    """
    return np.concatenate([np.empty((0, 3), dtype=np.int64), *(_cut(vertices, group) for group in polygons)])


def _cut(vertices: NDArray[np.floating], group: Integers) -> Integers:
    """Return the triangles of polygons that have the same number of corners."""
    corners = group.shape[1]
    if corners == 3:
        return group
    hollow = ~_convex(vertices, group)
    if corners == 4:
        # A quadrilateral has two diagonals, and where one lies outside the other is right.
        group = np.where(hollow[:, None], np.roll(group, 1, axis=1), group)
    fans = np.stack([np.broadcast_to(group[:, :1], (len(group), corners - 2)), group[:, 1:-1], group[:, 2:]], axis=-1)
    for row in np.flatnonzero(hollow) if corners > 4 else ():
        fans[row] = cut_one(vertices[group[row]], group[row])
    return fans.reshape(-1, 3)


def _convex(vertices: NDArray[np.floating], group: Integers) -> NDArray[np.bool_]:
    """Return which polygons a fan from the first corner covers without folding over, shape (p,)."""
    points = vertices[group]
    spokes = points[:, 1:] - points[:, :1]
    with np.errstate(all="ignore"):
        vectors = np.cross(spokes[:, :-1], spokes[:, 1:])
        folded: NDArray[np.bool_] = (np.einsum("pki,pi->pk", vectors, vectors.sum(axis=1)) < 0.0).any(axis=1)
        return ~folded


def newell(points: Floats) -> Floats:
    """Return the normal of a closed polygon, as long as its area; points: shape (n, 3)."""
    around = points - points.mean(axis=0)
    result: Floats = np.cross(around, np.roll(around, -1, axis=0)).sum(axis=0) / 2.0
    return result


def cut_one(points: Floats, numbers: Integers) -> Integers:
    """Return the triangles of one polygon of any outline, cut as it looks along its normal, shape (n - 2, 3).

    points: its corners in order, shape (n, 3); numbers: what to call them, shape (n,). Each side of the polygon
    belongs to one triangle, in the polygon's own direction, whatever its outline.
    """
    fan = np.column_stack([np.broadcast_to(numbers[0], len(numbers) - 2), numbers[1:-1], numbers[2:]])
    if len(np.unique(numbers)) < len(numbers):
        # An outline that comes back to a corner is no area that could be cut along it.
        return fan
    normal = newell(points.astype(np.float64))
    length = float(np.linalg.norm(normal))
    if len(numbers) == 3 or not np.isfinite(length) or length == 0.0:
        return fan
    flat = (points - points.mean(axis=0)) @ plane_axes(normal / length)
    cut = cut_flat([flat])
    return fan if len(cut) != len(fan) else numbers[cut]


def plane_axes(normal: Floats) -> Floats:
    """Return two axes across a unit normal, as columns, shape (3, 2), that turn anticlockwise about it."""
    first = np.cross(normal, np.eye(3)[int(np.argmin(np.abs(normal)))])
    first /= np.linalg.norm(first)
    return np.column_stack([first, np.cross(normal, first)])


def cut_flat(outlines: Sequence[Floats]) -> Integers:
    """Return the triangles of an area in the plane, shape (m, 3), in numbers that run on through the outlines.

    outlines: corners of each, anticlockwise round the area and clockwise round gaps in it, shape (n, 2).
    """
    import manifold3d

    return np.asarray(manifold3d.triangulate(list(outlines)), dtype=np.int64).reshape(-1, 3)
