"""A mesh fit for looking at: as many triangles as a page draws with ease, none so large that it hides a change."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moldkit.pattern.triangles import area_vectors

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

# Longest edge of a triangle, as a share of the longest side, so that a colour can change within a flat face.
LONGEST_EDGE = 1 / 48
# A net of cells of side h over a surface of area A is met in about this many times A / h2 cells.
_CELLS = 1.6
_ROUNDS = 24


def fit_to_look_at(vertices: Floats, faces: Integers, most: int) -> tuple[Floats, Integers]:
    """Return a surface thinned to at most `most` triangles, its large ones split.

    vertices: shape (n, 3) [m]; faces: shape (m, 3). Returns vertices [m] and faces of the same orientation.
    """
    vertices, faces = thinned(vertices, faces, most)
    return split(vertices, faces, LONGEST_EDGE * float(np.ptp(vertices, axis=0).max()), most)


def thinned(vertices: Floats, faces: Integers, most: int) -> tuple[Floats, Integers]:
    """Return a surface with its vertices gathered in cells, so that at most `most` triangles remain.

    Vertices of one cell are gathered only where the surface faces the same way, so that thin walls keep their two
    sides and edges stay edges.
    """
    if len(faces) <= most:
        return vertices, faces
    vectors = area_vectors(vertices[faces])
    side = float(np.sqrt(2.0 * _CELLS * np.linalg.norm(vectors, axis=1).sum() / most))
    facing = _facing(vectors, faces, len(vertices))
    for _ in range(_ROUNDS):
        cluster = _clusters(vertices, facing, side)
        kept = _kept(cluster[faces])
        if len(kept) <= most:
            break
        side *= 1.03 * (len(kept) / most) ** 0.5
    size = np.bincount(cluster)
    means = np.stack([np.bincount(cluster, vertices[:, axis]) for axis in range(3)], axis=1) / size[:, None]
    return means, kept


def _facing(vectors: Floats, faces: Integers, count: int) -> Integers:
    """Return which of six ways the surface looks at each vertex, shape (n,)."""
    normals = np.zeros((count, 3))
    for axis in range(3):
        normals[:, axis] = np.bincount(faces.ravel(), np.repeat(vectors[:, axis], 3), minlength=count)
    along = np.abs(normals).argmax(axis=1)
    result: Integers = 2 * along + (np.take_along_axis(normals, along[:, None], axis=1)[:, 0] > 0.0)
    return result


def _clusters(vertices: Floats, facing: Integers, side: float) -> Integers:
    """Return the number of the cluster that each vertex falls into, shape (n,)."""
    cells = ((vertices - vertices.min(axis=0)) / side).astype(np.int64)
    nx, ny, _ = cells.max(axis=0) + 1
    number = ((cells[:, 2] * ny + cells[:, 1]) * nx + cells[:, 0]) * 6 + facing
    return np.unique(number, return_inverse=True)[1].astype(np.int64)


def _kept(corners: Integers) -> Integers:
    """Return the faces whose corners fall into three clusters, each once."""
    a, b, c = corners.T
    whole = corners[(a != b) & (b != c) & (c != a)]
    first = whole.argmin(axis=1)[:, None]
    turned = np.take_along_axis(whole, (first + np.arange(3)) % 3, axis=1)
    return np.unique(turned, axis=0)


def split(vertices: Floats, faces: Integers, longest: float, most: int) -> tuple[Floats, Integers]:
    """Return a surface whose edges longer than `longest` [m] are split at their middles, as far as `most` faces allow.

    The longest edges go first, and no gap opens where a split triangle meets a whole one.
    """
    for _ in range(_ROUNDS):
        ends = np.sort(faces[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
        edges, edge = np.unique(ends, axis=0, return_inverse=True)
        length = np.linalg.norm(vertices[edges[:, 0]] - vertices[edges[:, 1]], axis=1)
        # Half of the longest at most, so that an edge is not left long while a shorter one is split twice.
        long = length > max(longest, 0.5 * float(length.max()))
        if not long.any() or len(faces) + 2 * int(long.sum()) > most:
            break
        middle = np.full(len(edges), -1)
        middle[long] = len(vertices) + np.arange(int(long.sum()))
        vertices = np.vstack([vertices, vertices[edges[long]].mean(axis=1)])
        faces = _split_once(faces, middle[edge.reshape(-1, 3)])
    return vertices, faces


def _split_once(faces: Integers, middles: Integers) -> Integers:
    """Return faces split at the middles of their edges; middles: shape (m, 3), -1 for an edge that stays whole."""
    count = (middles >= 0).sum(axis=1)
    # Turned so that a single split edge, or the first of two, comes first; of two, the whole edge comes last.
    first = np.where(count == 2, (middles.argmin(axis=1) + 1) % 3, middles.argmax(axis=1))
    turn = (first[:, None] + np.arange(3)) % 3
    a, b, c = np.take_along_axis(faces, turn, axis=1).T
    ab, bc, ca = np.take_along_axis(middles, turn, axis=1).T
    parts = {
        0: [(a, b, c)],
        1: [(a, ab, c), (ab, b, c)],
        2: [(ab, b, bc), (a, ab, bc), (a, bc, c)],
        3: [(a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca)],
    }
    made = [np.stack(corners, axis=1)[count == split] for split, several in parts.items() for corners in several]
    return np.vstack(made)
