"""Tools the demo patterns are sculpted with: surfaces from fields and sections, and files."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from moldkit.pattern.implicit import (
    Faces,
    Field,
    Floats,
    Point,
    crossings,
    freedom_on_base,
    limb,
    mean_by_corner,
    settle,
    split_quads,
    surface_net,
)

Surface = tuple[Floats, Faces]


def smooth_step(low: float, high: float, value: Floats) -> Floats:
    """Return 0 below `low`, 1 above `high`, and a smooth rise between."""
    t = np.clip((value - low) / (high - low), 0.0, 1.0)
    result: Floats = t * t * (3.0 - 2.0 * t)
    return result


def strand(x: Floats, y: Floats, z: Floats, points: Sequence[Point], radii: Sequence[float]) -> Floats:
    """Return the field of a round bar that runs through several points, its radius changing on the way."""
    body = limb(x, y, z, points[0], points[1], radii[0], radii[1])
    for k in range(1, len(points) - 1):
        body = np.minimum(body, limb(x, y, z, points[k], points[k + 1], radii[k], radii[k + 1]))
    return body


def arc(points: Sequence[Point], count: int) -> list[Point]:
    """Return `count` points along a smooth curve through the given ones."""
    given = np.asarray(points, dtype=np.float64)
    padded = np.concatenate([2 * given[:1] - given[1:2], given, 2 * given[-1:] - given[-2:-1]])
    where = np.linspace(0.0, len(given) - 1.0, count)
    k = np.minimum(where.astype(int), len(given) - 2)
    t = (where - k)[:, None]
    a, b, c, d = (padded[k + shift] for shift in range(4))
    curve = b + 0.5 * t * (c - a + t * (2 * a - 5 * b + 4 * c - d + t * (3 * (b - c) + d - a)))
    return [(float(p[0]), float(p[1]), float(p[2])) for p in curve]


def graded(low: float, high: float, steps: Sequence[tuple[float, float]]) -> Floats:
    """Return grid places from `low` to at least `high`, the step between them given at several places."""
    at, wide = np.array(steps, dtype=np.float64).T
    places = [low]
    while places[-1] < high:
        places.append(places[-1] + float(np.interp(places[-1], at, wide)))
    return np.array(places)


def mirrored(high: float, steps: Sequence[tuple[float, float]]) -> Floats:
    """Return grid places from -`high` to `high`, the same on both sides of 0."""
    half = graded(0.0, high, steps)
    return np.concatenate([-half[:0:-1], half])


def from_base(high: float, steps: Sequence[tuple[float, float]]) -> Floats:
    """Return grid places upwards, the first two half a step below and above z = 0."""
    first = steps[0][1]
    return np.concatenate([[-0.5 * first], graded(0.5 * first, high, steps)])


def cast_from(field: Field, x: Floats, y: Floats, z: Floats) -> Surface:
    """Return the surface of a field's body cut flat at z = 0, its triangles evened out.

    x, y, z: the grid's places along each axis, rising, z as `from_base` gives it.
    """
    values = field(x[:, None, None], y[None, :, None], z[None, None, :])
    values[:, :, 0] = np.abs(values[:, :, 0])
    index, faces = _outermost(*surface_net(values, (0.0, 0.0, 0.0), 1.0))
    axes = (x, y, z)
    vertices = np.stack([np.interp(index[:, k], np.arange(len(axes[k])), axes[k]) for k in range(3)], axis=1)
    base = index[:, 2] < 1.0
    vertices[base, 2] = 0.0
    reach = 0.5 * float(min(np.diff(axis).min() for axis in axes))
    freedom = freedom_on_base(base, faces)
    for _ in range(3):
        vertices = settle(vertices, field, reach, freedom)
        vertices = _evened(vertices, faces, base)
    for _ in range(2):
        vertices = settle(vertices, field, reach, freedom)
    vertices[:, 2] = np.where(base, 0.0, np.maximum(vertices[:, 2], 0.2 * reach))
    return vertices, faces


def sharp_cast(field: Field, x: Floats, y: Floats, z: Floats) -> Surface:
    """Return the surface of a body with sharp edges: a cell's vertex goes to where the planes in it meet.

    x, y, z: the grid's places along each axis, rising, evenly spaced. The body must end at z = 0 by itself.
    """
    step = float(np.diff(x).min())
    origin = np.array([x[0], y[0], z[0]])
    places, quads = crossings(field(x[:, None, None], y[None, :, None], z[None, None, :]))
    points = origin + step * _true_crossings(places, field, origin, step)
    used, corner = np.unique(quads, return_inverse=True)
    corner = corner.reshape(quads.shape)
    middle = mean_by_corner(corner, points, len(used))
    normal = _normals(points, field, 1e-5 * step)
    spread = (normal[:, :, None] * normal[:, None, :]).reshape(-1, 9)
    reach = (normal * points).sum(axis=1, keepdims=True) * normal
    planes = mean_by_corner(corner, spread, len(used)).reshape(-1, 3, 3)
    pull = mean_by_corner(corner, reach, len(used)) - np.einsum("nij,nj->ni", planes, middle)
    size, axes = np.linalg.eigh(planes)
    firm = size > 0.05 * size[:, 2:]
    move = np.einsum("nij,ni->nj", axes, pull) * firm / np.where(firm, size, 1.0)
    cells = np.unravel_index(used, (len(x) - 1, len(y) - 1, len(z) - 1))
    low = origin + step * (np.stack(cells, axis=1) + 0.03)
    placed = np.clip(middle + np.einsum("nij,nj->ni", axes, move), low, low + 0.94 * step)
    placed[:, 2] = np.where(np.abs(placed[:, 2]) < 0.02 * step, 0.0, placed[:, 2])
    return _outermost(placed, split_quads(placed, corner))


def _true_crossings(places: Floats, field: Field, origin: Floats, step: float) -> Floats:
    """Return crossings of grid edges, found on straight lines between grid points, where they truly are."""
    low, high = np.floor(places), np.ceil(places)
    starts_inside = field(*(origin + step * low).T) < 0.0
    for _ in range(30):
        half = 0.5 * (low + high)
        stays = (field(*(origin + step * half).T) < 0.0) == starts_inside
        low, high = np.where(stays[:, None], half, low), np.where(stays[:, None], high, half)
    return 0.5 * (low + high)


def _normals(points: Floats, field: Field, small: float) -> Floats:
    """Return the field's direction at each point."""
    slope = np.stack([field(*(points + shift).T) - field(*(points - shift).T) for shift in small * np.eye(3)], axis=1)
    result: Floats = slope / np.maximum(np.linalg.norm(slope, axis=1, keepdims=True), 1e-300)
    return result


def _outermost(vertices: Floats, faces: Faces) -> Surface:
    """Return the largest of several closed surfaces: voids inside a body and loose specks are left out."""
    start, end = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]]]).T
    part, before = np.arange(len(vertices)), np.zeros(len(vertices), dtype=np.int64)
    while not np.array_equal(part, before):
        before = part.copy()
        np.minimum.at(part, start, before[end])
        np.minimum.at(part, end, before[start])
        part = part[part]
    kept = part == np.bincount(part).argmax()
    return vertices[kept], (np.cumsum(kept) - 1)[faces[kept[faces[:, 0]]]]


def _evened(vertices: Floats, faces: Faces, base: np.ndarray) -> Floats:
    """Return vertices moved half way to the mean of their neighbours, within the surface; the base stays."""
    edges = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    count = np.bincount(edges[:, 0], minlength=len(vertices))
    mean = np.stack([np.bincount(edges[:, 0], weights=vertices[edges[:, 1], k]) for k in range(3)], axis=1)
    pull = mean / count[:, None] - vertices
    corners = vertices[faces]
    turned = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normal = np.zeros_like(vertices)
    for k in range(3):
        np.add.at(normal, faces[:, k], turned)
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    pull -= (pull * normal).sum(axis=1, keepdims=True) * normal
    pull[base] = 0.0
    return vertices + 0.5 * pull
