"""How much of a closed surface faces inwards although the whole faces outwards, because it crosses itself."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moldkit.pattern.triangles import area_vectors

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

_LOOKED_AT = 200
_PAIRS_AT_ONCE = 4_000_000
# Out of line with everything, so that no line meets an edge.
_SKEW = np.linalg.qr(np.array([[0.61, 0.37, 0.23], [-0.29, 0.71, 0.41], [0.17, -0.53, 0.83]]))[0]


def inverted_share(vertices: Floats, faces: Integers) -> float:
    """Return the share of the area before which the surface winds less than not at all, 0 to 1.

    vertices: shape (n, 3); faces: shape (m, 3), closed. Up to 200 faces are looked at, the area shared out equally
    among them: a line from each goes up, and what it passes through on its way out tells where it began.
    """
    corners = ((vertices - vertices.mean(axis=0)) @ _SKEW)[faces]
    vectors = area_vectors(corners)
    areas = np.linalg.norm(vectors, axis=1)
    seen, weights = _sample(areas)
    points = corners[seen].mean(axis=1)
    above = np.zeros(len(seen))
    order = np.argsort(points[:, 0], kind="stable")
    x = points[order, 0]
    begin = np.searchsorted(x, corners[:, :, 0].min(axis=1))
    end = np.searchsorted(x, corners[:, :, 0].max(axis=1))
    most = np.cumsum(end - begin)
    for part in np.split(np.arange(len(faces)), np.flatnonzero(np.diff(most // _PAIRS_AT_ONCE)) + 1):
        count = end[part] - begin[part]
        face = np.repeat(part, count)
        rank = np.arange(len(face)) - np.repeat(np.cumsum(count) - count, count) + np.repeat(begin[part], count)
        point = order[rank]
        crossed = _crossings(corners[face], points[point]) * (face != seen[point])
        above += np.bincount(point, weights=crossed, minlength=len(seen))
    before = above - (vectors[seen, 2] < 0.0)
    return float(weights[before < -0.5].sum() / weights.sum())


def _sample(areas: Floats) -> tuple[Integers, Floats]:
    """Return which faces to look at, and how much of the area each stands for."""
    if len(areas) <= _LOOKED_AT:
        return np.arange(len(areas)), areas
    steps = (np.arange(_LOOKED_AT) + 0.5) / _LOOKED_AT
    total = np.cumsum(areas)
    return np.minimum(np.searchsorted(total, steps * total[-1]), len(areas) - 1), np.ones(_LOOKED_AT)


def _crossings(corners: Floats, points: Floats) -> Floats:
    """Return for pairs of a triangle and a point: 1 where a line from the point up leaves through it, -1 where it
    enters, 0 where it passes by."""
    flat = corners[:, :, :2] - points[:, None, :2]
    a, b, c = (flat[:, k] for k in range(3))
    sides = np.stack([a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0], b[:, 0] * c[:, 1] - b[:, 1] * c[:, 0],
                      c[:, 0] * a[:, 1] - c[:, 1] * a[:, 0]], axis=1)  # fmt: skip
    turn = sides.sum(axis=1)
    hit = ((sides > 0.0).all(axis=1) | (sides < 0.0).all(axis=1)) & (turn != 0.0)
    # The corners weighted as they surround the point give the height at which the line meets the triangle.
    weights = sides[:, [1, 2, 0]] / np.where(turn == 0.0, 1.0, turn)[:, None]
    height = np.einsum("pk,pk->p", weights, corners[:, :, 2])
    result: Floats = np.where(hit & (height > points[:, 2]), np.sign(turn), 0.0)
    return result
