"""Making one vertex of those at one place, and dropping faces that this leaves without area or twice."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from moldkit.errors import InputError
from moldkit.pattern.intake.edges import Edges, connected, edges_of
from moldkit.pattern.intake.loose import only_used
from moldkit.pattern.intake.size import longest_side

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

# Vertices nearer than this share of the longest side are taken for one where that closes a surface.
JOINING = 1e-5


def merged(vertices: NDArray[Any], faces: Integers, name: str) -> tuple[Floats, Integers, list[str]]:
    """Return the surface with one vertex at each place, no face without area and none twice, and what was dropped.

    vertices: shape (n, 3); faces: shape (m, 3); name: of the file. Raises InputError where no face is left.
    """
    vertices, faces = _one_at_each_place(vertices, faces)
    faces, notes = _with_area(faces, name)
    faces, more = _once(faces)
    vertices, faces = only_used(vertices, faces)
    return vertices.astype(np.float64), faces, [*notes, *more]


def _one_at_each_place(vertices: NDArray[Any], faces: Integers) -> tuple[NDArray[Any], Integers]:
    """Return the vertices without repetition, in order of appearance, and the faces in their numbers."""
    vertices = vertices + vertices.dtype.type(0.0)  # so that -0 is 0
    order = np.argsort(_mixed(vertices), kind="stable")
    differs = np.zeros(len(vertices), dtype=bool)
    differs[0] = True
    for column in vertices.T:
        ordered = column[order]
        differs[1:] |= ordered[1:] != ordered[:-1]
    group = np.cumsum(differs) - 1
    leader = order[differs][group]
    first = np.empty(len(vertices), dtype=np.int64)
    first[order] = leader
    return only_used(vertices, first[faces])


def _mixed(vertices: NDArray[Any]) -> NDArray[np.uint64]:
    """Return one number a vertex, equal for equal vertices and nearly always different for different ones.

    Where two places share a number, equal vertices may not stand together once sorted, and a vertex stays double;
    with 64 bits that happens to one file of five million faces in 150,000, and the surface then shows a gap.
    """
    bits = vertices.view(np.uint64 if vertices.dtype.itemsize == 8 else np.uint32).astype(np.uint64)
    mixed = bits[:, 0] * np.uint64(0x9E3779B97F4A7C15)
    for axis, factor in ((1, 0xBF58476D1CE4E5B9), (2, 0x94D049BB133111EB)):
        mixed ^= mixed >> np.uint64(29)
        mixed += bits[:, axis]
        mixed *= np.uint64(factor)
    mixed ^= mixed >> np.uint64(32)
    return mixed


def _with_area(faces: Integers, name: str) -> tuple[Integers, list[str]]:
    """Return the faces whose corners are three vertices; in the others two sides cancel, so no gap is left."""
    a, b, c = faces.T
    whole = (a != b) & (b != c) & (c != a)
    if not whole.any():
        raise InputError(f"{name}: no triangle in it has an area; check the unit and export it again.")
    dropped = int((~whole).sum())
    return faces[whole], [f"{dropped} triangles without area were dropped."] if dropped else []


def _once(faces: Integers) -> tuple[Integers, list[str]]:
    """Return the faces without those that stand there twice the same way round, or twice where one too many."""
    if _first_of_each(np.sort(faces, axis=1)).all():
        return faces, []
    low = faces.argmin(axis=1)
    turned = faces[np.arange(len(faces))[:, None], (low[:, None] + np.arange(3)) % 3]
    kept = _first_of_each(turned)
    # The two of a pair that faces both ways may be one wall of nothing; only where a rim is left is one too many.
    ordered = np.sort(faces[kept], axis=1)
    left = _first_of_each(ordered)
    if not left.all():
        edges = edges_of(faces[kept])
        at_rim = np.empty(3 * len(ordered), dtype=bool)
        at_rim[edges.halves] = np.repeat(edges.open(), edges.count)
        left |= at_rim.reshape(-1, 3).sum(axis=1) < 2
        kept[kept] = left
    dropped = int((~kept).sum())
    return faces[kept], [f"{dropped} triangles that were there twice were dropped."] if dropped else []


def without_pairs(faces: Integers) -> tuple[Integers, list[str]]:
    """Return the faces without those that lie back to back on the same three vertices, and what was dropped.

    faces: shape (m, 3), closed, and stays so: where two touching bodies shared a wall, they are one without it.
    """
    corners = np.sort(faces, axis=1)
    order = np.lexsort(corners.T)
    same = (corners[order[1:]] == corners[order[:-1]]).all(axis=1)
    if not same.any():
        return faces, []
    # Even turns of three numbers have the same direction round.
    turned = faces[order] - corners[order]
    direction = np.where((turned == 0).sum(axis=1) == 1, -1, 1)
    opposite = same & (direction[1:] != direction[:-1])
    # Of three or more in a row each has at most one partner.
    opposite[1:] &= ~opposite[:-1]
    dropped = np.zeros(len(faces), dtype=bool)
    dropped[order[1:][opposite]] = dropped[order[:-1][opposite]] = True
    if not dropped.any():
        return faces, []
    return faces[~dropped], [f"{int(dropped.sum())} triangles that lay back to back were dropped."]


def _first_of_each(rows: Integers) -> NDArray[np.bool_]:
    """Return which rows, of three numbers each, are the first of their kind."""
    edge = rows[:, 0] * (int(rows.max()) + 1) + rows[:, 1]
    order = np.lexsort((rows[:, 2], edge))
    edge, last = edge[order], rows[order, 2]
    first = np.empty(len(rows), dtype=bool)
    first[order] = np.concatenate([[True], (edge[1:] != edge[:-1]) | (last[1:] != last[:-1])])
    return first


def joined(vertices: Floats, faces: Integers, edges: Edges, name: str) -> tuple[Floats, Integers, list[str]]:
    """Return the surface with vertices on its rims that nearly touch made one, where that closes gaps.

    vertices: shape (n, 3); faces: shape (m, 3); edges: of the faces; name: of the file.
    """
    from scipy.spatial import cKDTree

    gaps = int(edges.open().sum())
    halves = edges.halves[np.repeat(edges.open(), edges.count)]
    rim = np.unique(np.concatenate([faces.ravel()[halves], np.roll(faces, -1, axis=1).ravel()[halves]]))
    near = JOINING * longest_side(vertices)
    pairs = cKDTree(vertices[rim]).query_pairs(near, output_type="ndarray").astype(np.int64)
    if not len(pairs):
        return vertices, faces, []
    label = connected(len(vertices), rim[pairs[:, 0]], rim[pairs[:, 1]])
    closer, _ = _with_area(label[faces], name)
    closer, _ = _once(closer)
    left = int(edges_of(closer).open().sum())
    if left >= gaps:
        return vertices, faces, []
    return (
        *only_used(vertices, closer),
        [f"{gaps - left} edges with a hairline gap were closed by joining neighbouring vertices."],
    )
