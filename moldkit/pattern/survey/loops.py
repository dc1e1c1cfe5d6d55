"""A surface cut into level sections: the loops it is cut along, and how the surface runs from level to level."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
SmallIntegers = NDArray[np.int32]


@dataclass(frozen=True, eq=False)
class Loops:
    """The closed lines in which level planes cut a surface.

    Of each cut, the line across one face, level by level and loop by loop: start, end: in the plane, solid to the
    left, shape (s, 2) [m]; loop: it belongs to, shape (s,). Of each loop: level: number of its level, rising, shape
    (l,); below, above: numbers of the stretches of surface between two levels that it borders, shape (l,). Of each
    vertex: stretch: number of the stretch that it lies in, shape (n,).
    """

    start: Floats
    end: Floats
    loop: Integers
    level: Integers
    below: Integers
    above: Integers
    stretch: Integers


def cut_loops(height: Floats, flat: Floats, faces: Integers, levels: Floats) -> Loops:
    """Cut a closed surface by level planes.

    height: of each vertex, shape (n,) [m]; flat: its place in the plane, seen from above, shape (n, 2) [m]; faces:
    counter-clockwise from outside, shape (m, 3); levels: rising, shape (k,) [m]. A vertex on a level counts as below.
    """
    # How many levels lie below each vertex: a face is cut by those that lie below some of its corners only.
    corners = np.ascontiguousarray(faces.T)
    ranks = np.searchsorted(levels, height).astype(np.int32)[corners]
    low = np.minimum(np.minimum(ranks[0], ranks[1]), ranks[2])
    cuts = np.maximum(np.maximum(ranks[0], ranks[1]), ranks[2]) - low
    crossed = np.flatnonzero(cuts)
    low, cuts = low[crossed], cuts[crossed]
    first = np.cumsum(cuts) - cuts
    face = np.repeat(crossed, cuts)
    level = np.arange(len(face)) + np.repeat(low - first, cuts)
    start, end, loop, loop_level = _cut_lines(height, flat, corners[:, face], ranks[:, face], levels, level)
    corner_links = _corner_links(corners[:, crossed], ranks[:, crossed], low, cuts, first, loop, len(height))
    along_face = np.flatnonzero(face[1:] == face[:-1])
    face_links = len(height) + np.stack([2 * loop[along_face] + 1, 2 * loop[along_face + 1]])
    links = [_links_within(corners, ranks), *corner_links, face_links]
    stretch = components(np.hstack(links), len(height) + 2 * len(loop_level))
    sides = stretch[len(height) :].reshape(-1, 2)
    order = np.argsort(loop, kind="stable")
    return Loops(start[order], end[order], loop[order], loop_level, sides[:, 0], sides[:, 1], stretch[: len(height)])


def _cut_lines(
    height: Floats, flat: Floats, corners: Integers, ranks: SmallIntegers, levels: Floats, level: Integers
) -> tuple[Floats, Floats, Integers, Integers]:
    """Return start and end of each cut, the loop it belongs to, and the level of each loop."""
    above = ranks > level
    lone_above = above.sum(axis=0) == 1
    lone = np.where(lone_above, above.argmax(axis=0), above.argmin(axis=0))
    column = np.arange(len(level))
    apex, right, left = (corners[(lone + turn) % 3, column] for turn in range(3))
    right, left = np.where(lone_above, right, left), np.where(lone_above, left, right)
    points, keys = [], []
    for other in (right, left):
        # From the same end in both faces of an edge, so that the two find the same point.
        one, two = np.minimum(apex, other), np.maximum(apex, other)
        share = (levels[level] - height[one]) / (height[two] - height[one])
        points.append(flat[one] + share[:, None] * (flat[two] - flat[one]))
        keys.append((one * len(height) + two) * len(levels) + level)
    edges, edge = np.unique(np.concatenate(keys), return_inverse=True)
    label = components(edge.reshape(2, -1), len(edges))[edge[: len(level)]]
    # Numbered level by level.
    labels, at, loop = np.unique(label, return_index=True, return_inverse=True)
    order = np.argsort(level[at], kind="stable")
    number = np.empty(len(labels), dtype=np.int64)
    number[order] = np.arange(len(labels))
    return points[0], points[1], number[loop], level[at][order]


def _links_within(corners: Integers, ranks: SmallIntegers) -> Integers:
    """Return the edges that no level cuts, each once, shape (2, e)."""
    found = []
    for a, b in ((0, 1), (1, 2), (2, 0)):
        # The other face of an edge has it the other way round.
        kept = (ranks[a] == ranks[b]) & (corners[a] < corners[b])
        found.append(corners[[a, b]][:, kept])
    return np.hstack(found)


def _corner_links(
    corners: Integers,
    ranks: SmallIntegers,
    low: SmallIntegers,
    cuts: SmallIntegers,
    first: Integers,
    loop: Integers,
    vertices: int,
) -> list[Integers]:
    """Return links from the corners of cut faces to the loops next above and next below them in their face."""
    found = []
    for corner, rank in zip(corners, ranks, strict=True):
        nth = rank - low
        under, over = nth < cuts, nth > 0
        next_above, next_below = loop[(first + nth)[under]], loop[(first + nth - 1)[over]]
        found.append(np.stack([corner[under], vertices + 2 * next_above]))
        found.append(np.stack([corner[over], vertices + 2 * next_below + 1]))
    return found


def components(links: Integers, count: int) -> Integers:
    """Return the number of the connected part that each of `count` nodes belongs to; links: shape (2, e)."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    linked = coo_array((np.ones(links.shape[1]), (links[0], links[1])), shape=(count, count))
    return np.asarray(connected_components(linked, directed=False)[1], dtype=np.int64)
