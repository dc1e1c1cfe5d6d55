"""Bodies given by a field (negative inside, near the distance outside) and their surface as triangles."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Faces = NDArray[np.int64]
Point = tuple[float, float, float]
Field = Callable[[Floats, Floats, Floats], Floats]

# The x, y, z given to a field may be open grids, (n, 1, 1), (1, n, 1) and (1, 1, n): whatever separates by
# axis is then computed on three short rows, which makes a sampling several times faster.


def ellipsoid(x: Floats, y: Floats, z: Floats, centre: Point, radii: Point) -> Floats:
    """Return the field of an ellipsoid, exact at its surface and nearly the distance close by.

    x, y, z: coordinates that broadcast together [m]; centre, radii: [m]. Returns [m].
    """
    a, b, c = (x - centre[0]) / radii[0], (y - centre[1]) / radii[1], (z - centre[2]) / radii[2]
    level = np.sqrt(a * a + b * b + c * c)
    slope = np.sqrt((a / radii[0]) ** 2 + (b / radii[1]) ** 2 + (c / radii[2]) ** 2)
    result: Floats = level * (level - 1.0) / np.maximum(slope, 1e-9 / min(radii))
    return result


def limb(x: Floats, y: Floats, z: Floats, start: Point, end: Point, radius: float, end_radius: float) -> Floats:
    """Return the field of a tapering round bar from `start` to `end`.

    x, y, z: coordinates that broadcast together [m]; start, end, radius, end_radius: [m]. Returns [m].
    """
    along = [e - s for s, e in zip(start, end, strict=True)]
    length2 = sum(part * part for part in along)
    px, py, pz = x - start[0], y - start[1], z - start[2]
    dot = (px * along[0] + py * along[1]) + pz * along[2]
    t = np.clip(dot / length2, 0.0, 1.0)
    from_start2 = (px * px + py * py) + pz * pz
    result: Floats = np.sqrt(np.maximum(from_start2 + t * (t * length2 - 2.0 * dot), 0.0))
    result -= radius + (end_radius - radius) * t
    return result


def blend(first: Floats, second: Floats, width: float) -> Floats:
    """Return the union of two fields with a fillet between them.

    first, second: fields that broadcast together [m]; width: how near to each other they begin to melt together,
    above zero [m]. Returns [m].
    """
    near = np.maximum(width - np.abs(first - second), 0.0)
    return np.minimum(first, second) - near * near * (0.25 / width)


def carve(body: Floats, tool: Floats, width: float) -> Floats:
    """Return a body less a tool, the edge between them rounded.

    body, tool: fields that broadcast together [m]; width: how near to the tool the rounding begins, above zero [m].
    Returns [m].
    """
    return -blend(-body, tool, width)


def surface_net(values: Floats, origin: Sequence[float], step: float) -> tuple[Floats, Faces]:
    """Return the zero surface of a sampled field as triangles: one vertex a cell, one quad a crossed edge.

    values: field at grid points, shape (nx, ny, nz), positive on all six sides [m]; origin: of the grid [m];
    step: between grid points [m]. Returns vertices (n, 3) [m] and faces (m, 3), normals outward: a closed
    manifold, since gaps too narrow for the grid are filled first.
    """
    points, quads = crossings(values)
    used, corner = np.unique(quads, return_inverse=True)
    corner = corner.reshape(quads.shape)
    vertices = mean_by_corner(corner, points, len(used))
    return np.asarray(origin) + step * vertices, split_quads(vertices, corner)


def crossings(values: Floats) -> tuple[Floats, Faces]:
    """Return where grid edges cross the zero surface of a sampled field, gaps too narrow for the grid filled.

    values: field at grid points, shape (nx, ny, nz), positive on all six sides [m]. Returns the places in grid
    steps, (m, 3), and the flat numbers of the four cells round each edge, outward quads of the surface, (m, 4).
    """
    values = _without_narrow_gaps(values)
    inside = values < 0.0
    cells = tuple(n - 1 for n in values.shape)
    found = [_crossed_edges(values, inside, axis, cells) for axis in range(3)]
    return np.concatenate([points for points, _ in found]), np.concatenate([quads for _, quads in found])


def mean_by_corner(corner: Faces, rows: Floats, count: int) -> Floats:
    """Return for each corner the mean of the rows of the quads that meet there.

    corner: (m, 4), from 0 to count - 1; rows: one a quad, (m, k). Returns (count, k).
    """
    meeting = np.bincount(corner.ravel(), minlength=count)
    sums = [np.bincount(corner.ravel(), weights=np.repeat(row, 4), minlength=count) for row in rows.T]
    return np.stack(sums, axis=1) / meeting[:, None]


def _without_narrow_gaps(values: Floats) -> Floats:
    """Return the samples with points added to the body until no cell holds two sheets of its surface."""
    values = values.copy()
    inner = np.full(values.shape, np.inf)
    inner[1:-1, 1:-1, 1:-1] = values[1:-1, 1:-1, 1:-1]
    cells = np.zeros([n - 1 for n in values.shape], dtype=np.uint8)
    while True:
        inside = (inner < 0.0).astype(np.uint8)
        cells[:] = 0
        for corner, part in enumerate(_CORNERS):
            cells |= inside[part] << corner
        torn = _torn_cells()[cells]
        if not torn.any():
            return values
        outside = np.stack([np.where(inner[part][torn] < 0.0, np.inf, inner[part][torn]) for part in _CORNERS])
        nearest = outside.argmin(axis=0)
        point = np.argwhere(torn) + np.stack([nearest & 1, nearest >> 1 & 1, nearest >> 2], axis=1)
        filled = -np.abs(values[tuple(point.T)]) - 1e-12
        values[tuple(point.T)] = filled
        inner[tuple(point.T)] = filled


_CORNERS = tuple(
    tuple(slice(1, None) if corner >> axis & 1 else slice(0, -1) for axis in range(3)) for corner in range(8)
)


@lru_cache(maxsize=1)
def _torn_cells() -> NDArray[np.bool_]:
    """Return for each pattern of inside corners (bit k: corner k) whether inside or outside is in two parts."""

    def whole(pattern: int) -> bool:
        corners = {corner for corner in range(8) if pattern >> corner & 1}
        reached = set(sorted(corners)[:1])
        for _ in range(7):
            reached |= {corner ^ axis for corner in reached for axis in (1, 2, 4)} & corners
        return reached == corners

    return np.array([not (whole(pattern) and whole(255 - pattern)) for pattern in range(256)])


def _crossed_edges(
    values: Floats, inside: NDArray[np.bool_], axis: int, cells: tuple[int, ...]
) -> tuple[Floats, Faces]:
    """Return where the grid edges along one axis cross the surface, and the four cells round each."""
    low = tuple(slice(0, -1) if k == axis else slice(None) for k in range(3))
    high = tuple(slice(1, None) if k == axis else slice(None) for k in range(3))
    index = np.argwhere(inside[low] != inside[high])
    i, j, k = index.T
    here = values[i, j, k]
    there = values[high][i, j, k]
    points = index.astype(np.float64)
    points[:, axis] += here / (here - there)
    u, v = (axis + 1) % 3, (axis + 2) % 3
    quads = np.empty((len(index), 4), dtype=np.int64)
    for corner, (du, dv) in enumerate(((-1, -1), (0, -1), (0, 0), (-1, 0))):
        cell = index.copy()
        cell[:, u] += du
        cell[:, v] += dv
        quads[:, corner] = np.ravel_multi_index(tuple(cell.T), cells)
    turned = there < 0.0
    quads[turned] = quads[turned, ::-1]
    return points, quads


def split_quads(vertices: Floats, quads: Faces) -> Faces:
    """Return triangles for quads, each cut along its shorter diagonal.

    vertices: (n, 3); quads: corners in order, (m, 4). Returns (2 m, 3).
    """
    a, b, c, d = (vertices[quads[:, k]] for k in range(4))
    first = ((a - c) ** 2).sum(axis=1) <= ((b - d) ** 2).sum(axis=1)
    one = np.where(first[:, None], quads[:, [0, 1, 2]], quads[:, [0, 1, 3]])
    two = np.where(first[:, None], quads[:, [0, 2, 3]], quads[:, [1, 2, 3]])
    return np.concatenate([one, two])


def settle(vertices: Floats, field: Field, reach: float, freedom: Floats) -> Floats:
    """Return vertices moved towards the field's zero surface by one Newton step of at most `reach`.

    vertices: (n, 3) [m]; reach: [m]; freedom: 1 for each axis along which a vertex may move, else 0, (n, 3).
    Returns (n, 3) [m].
    """
    shifts = 0.05 * reach * np.eye(3)
    rise = [field(*(vertices + shift).T) - field(*(vertices - shift).T) for shift in shifts]
    slope = freedom * np.stack(rise, axis=1) / (0.1 * reach)
    steep = np.maximum((slope * slope).sum(axis=1), 1e-4)
    move = -(field(*vertices.T) / steep)[:, None] * slope
    length = np.sqrt((move * move).sum(axis=1))
    result: Floats = vertices + move * np.minimum(1.0, reach / np.maximum(length, 1e-300))[:, None]
    return result


def freedom_on_base(base: NDArray[np.bool_], faces: Faces) -> Floats:
    """Return the freedom of vertices over a flat base: its rim moves level, the rest of it not at all.

    base: (n,), true for vertices on the base; faces: (m, 3). Returns 1 or 0 for each axis, (n, 3).
    """
    rises = ~base[faces].all(axis=1)
    rim = np.zeros_like(base)
    rim[faces[rises]] = True
    return np.stack([rim, rim, ~base], axis=1).astype(np.float64)
