"""Which faces make one closed surface, where bodies touch along an edge or a face too."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moldkit.pattern.intake.edges import Edges, connected

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

# Faces round an edge that are nearer to each other than this lie upon each other [rad].
_SAME_ANGLE = 1e-9


def patches(vertices: Floats, faces: Integers, edges: Edges) -> Integers:
    """Return for each face the lowest face of the closed surface it belongs to, shape (m,).

    vertices: shape (n, 3); faces: shape (m, 3); edges: of the faces. Faces hang together at edges that have two of
    them. At an edge of more, those hang together that have solid between them; where each surface is closed there
    by itself, none do, so that two bodies that touch along an edge are two.
    """
    f, g, _ = edges.pairs()
    label = connected(len(faces), f, g)
    many = np.flatnonzero(edges.count > 2)
    if not len(many):
        return label
    edge, halves = _halves_at(edges, many)
    up = _goes_up(faces, halves)
    _, group = np.unique(edge * len(faces) + label[halves // 3], return_inverse=True)
    turn = np.bincount(group, weights=np.where(up, 1.0, -1.0))
    bad = np.isin(edge, edge[(turn != 0)[group]])
    edge, halves, up = edge[bad], halves[bad], up[bad]
    if not len(edge):
        return label
    angle = _angles(vertices, faces, edge, halves)
    # Where one face ends a solid and another begins one at the same angle, the end comes first.
    order = np.lexsort((~up, np.round(angle / _SAME_ANGLE), edge))
    one, other = _matched(edge[order].tolist(), up[order].tolist())
    face = halves[order] // 3
    return connected(len(faces), np.concatenate([f, face[one]]), np.concatenate([g, face[other]]))


def _halves_at(edges: Edges, those: Integers) -> tuple[Integers, Integers]:
    """Return the halves of some edges, and for each which of the edges it belongs to."""
    count = edges.count[those]
    edge = np.repeat(np.arange(len(those)), count)
    at = np.repeat(edges.first[those] - (np.cumsum(count) - count), count) + np.arange(len(edge))
    return edge, edges.halves[at]


def _goes_up(faces: Integers, halves: Integers) -> NDArray[np.bool_]:
    """Return which halves go from a lower to a higher vertex number."""
    up: NDArray[np.bool_] = np.roll(faces, -1, axis=1).ravel()[halves] > faces.ravel()[halves]
    return up


def _angles(vertices: Floats, faces: Integers, edge: Integers, halves: Integers) -> Floats:
    """Return the angle of each face round its edge, from the edge's first face on, -pi to pi [rad].

    It grows in the direction in which a face looks whose half goes up.
    """
    face, corner = halves // 3, halves % 3
    start, end, third = (faces[face, (corner + k) % 3] for k in range(3))
    low = vertices[np.minimum(start, end)]
    along = vertices[np.maximum(start, end)] - low
    along /= np.linalg.norm(along, axis=1, keepdims=True)
    out = vertices[third] - low
    out -= along * np.einsum("ij,ij->i", along, out)[:, None]
    first = out[np.searchsorted(edge, edge)]
    result: Floats = np.arctan2(np.einsum("ij,ij->i", np.cross(first, out), along), np.einsum("ij,ij->i", first, out))
    return result


def _matched(edge: list[int], ends: list[bool]) -> tuple[list[int], list[int]]:
    """Return the places of faces that hang together: the end of each solid round an edge with its beginning.

    edge: which edge each face is at, in order of angle; ends: whether solid lies before it, else behind it.
    """
    pairs: list[tuple[int, int]] = []
    begun: list[int] = []
    waiting: list[int] = []
    for place, (here, end) in enumerate(zip(edge, ends, strict=True)):
        if place and edge[place - 1] != here:
            # A solid that lies across the angle at which the round began.
            pairs.extend(zip(waiting, reversed(begun), strict=False))
            begun, waiting = [], []
        if not end:
            begun.append(place)
        elif begun:
            pairs.append((begun.pop(), place))
        else:
            waiting.append(place)
    pairs.extend(zip(waiting, reversed(begun), strict=False))
    return [one for one, _ in pairs], [other for _, other in pairs]
