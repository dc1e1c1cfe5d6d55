"""The sections of a pattern as a tree, from the end where its skin is opened out to the tip of each branch."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldkit.pattern.survey.loops import components
from moldkit.pattern.survey.sections import Sections, girths

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]

_SEED = 20_240_602


@dataclass(frozen=True, eq=False)
class Branches:
    """Sections ordered from the opened end outwards.

    level: of each section, shape (q,); inner: the section next towards the opened end, -1 for none, shape (q,);
    reach: as in Sections, shape (q, directions) [m]; girth: of each, shape (q,) [m]; passes: longest band that the
    skin at each has to become on its way out, its own girth included, shape (q,) [m].
    """

    level: Integers
    inner: Integers
    reach: Floats
    girth: Floats
    passes: Floats


def branches(sections: Sections, *, on_board: bool) -> Branches:
    """Return the sections as a tree.

    Where branches join again, the skin has to be cut across the hole between them; from then on one band runs round
    all of them, so the sections of such a ring that lie on one level become one. The board joins what stands on it.
    on_board: the sections of the lowest level stand on a board.
    """
    count = len(sections.level)
    edges, rank = _edges(sections, on_board)
    root = len(rank) - 1
    order, inner = _walk(edges, root)
    ring = _rings(edges, order, inner)
    _, place, merged = np.unique(ring * (rank.max() + 3) + rank, return_index=True, return_inverse=True)
    order, inner = _walk(merged[edges], int(merged[root]))
    is_section = place < count
    rows = np.full(len(place), -1)
    rows[is_section] = np.arange(is_section.sum())
    by_row = np.argsort(rows[merged[:count]], kind="stable")
    reach = np.maximum.reduceat(
        sections.reach[by_row], np.searchsorted(rows[merged[:count]][by_row], np.arange(is_section.sum()))
    )
    level = sections.level[place[is_section]]
    passes = _passes(order, inner, rows, level, reach, rank[place] >= 0)
    return Branches(level, _inner_sections(order, inner, rows), reach, girths(reach), passes)


def _edges(sections: Sections, on_board: bool) -> tuple[Integers, Integers]:
    """Return the edges between sections, slabs, board and root, shape (e, 2), and how high each node ranks.

    Nodes: the sections; the slabs; the board; the root, which the board and what doesn't stand on it hang from.
    """
    count = len(sections.level)
    used, slab = np.unique(np.concatenate([sections.below, sections.above]), return_inverse=True)
    below, above = (count + slab).reshape(2, -1)
    rank = np.empty(count + len(used), dtype=np.int64)
    rank[:count] = 2 * sections.level + 1
    rank[below], rank[above] = rank[:count] - 1, rank[:count] + 1
    board, root = len(rank), len(rank) + 1
    lowest = sections.level == 0
    # Below the lowest level the skin is open.
    below = np.where(lowest, board if on_board else root + 1, below)
    number = np.arange(count)
    edges = np.vstack([np.stack([number, below], axis=1)[below <= root], np.stack([number, above], axis=1)])
    part = components(edges.T, root + 1)
    # A part that doesn't stand on the board hangs by its lowest section, the widest of several.
    by_height = np.lexsort((-girths(sections.reach), sections.level))
    ends = by_height[np.unique(part[by_height], return_index=True)[1]]
    ends = np.append(ends[part[ends] != part[board]], board)
    hung = np.stack([np.full(len(ends), root), ends], axis=1)
    return np.vstack([edges, hung]), np.concatenate([rank, [-1, -2]])


def _walk(edges: Integers, root: int) -> tuple[Integers, Integers]:
    """Return the nodes in the order in which they are reached from the root, and the node each is reached from."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import breadth_first_order

    count = int(edges.max()) + 1
    linked = coo_array((np.ones(len(edges)), edges.T), shape=(count, count)).tocsr()
    order, inner = breadth_first_order(linked, root, directed=False)
    return np.asarray(order, dtype=np.int64), np.where(inner < 0, -1, inner).astype(np.int64)


def _rings(edges: Integers, order: Integers, inner: Integers) -> Integers:
    """Return a number for each node, the same for nodes that lie on one ring or on rings that share an edge.

    Each edge that closes a ring gets a random mark, which all edges of the ring take over; an edge left without a
    mark lies on no ring.
    """
    a, b = edges.T
    closing = (inner[a] != b) & (inner[b] != a)
    marks = np.random.default_rng(_SEED).integers(1, 1 << 62, closing.sum())
    mark = np.zeros(len(inner), dtype=np.int64)
    for ends in (a, b):
        np.bitwise_xor.at(mark, ends[closing], marks)
    for node in order[:0:-1].tolist():
        mark[inner[node]] ^= mark[node]
    outer = np.where(inner[a] == b, a, b)
    on_ring = closing | (mark[outer] != 0)
    return components(edges[on_ring].T, len(inner))


def _inner_sections(order: Integers, inner: Integers, rows: Integers) -> Integers:
    """Return, for each section, the next one towards the root, -1 for none."""
    result = np.full(int(rows.max()) + 1, -1)
    nearest = np.full(len(inner), -1)
    for node in order[1:].tolist():
        at = inner[node]
        nearest[node] = rows[at] if rows[at] >= 0 else nearest[at]
        if rows[node] >= 0:
            result[rows[node]] = nearest[node]
    return result


def _passes(order: Integers, inner: Integers, rows: Integers, level: Integers, reach: Floats, banded: Flags) -> Floats:
    """Return, for each section, the longest band among all that its skin must pass.

    Beyond a fork the skin comes off all branches at once: there a band runs round the sections of one level together.
    banded: which nodes can have a band round them: neither the root nor the board.
    """
    result = np.empty(len(level))
    beyond: dict[int, list[tuple[dict[int, Floats], float]]] = {}
    for node in order[:0:-1].tolist():
        if not banded[node]:
            continue
        by_level, longest = _together(beyond.pop(node, []))
        row = int(rows[node])
        if row >= 0:
            at = int(level[row])
            longest = max(longest, float(girths(reach[row])))
            by_level[at] = np.maximum(by_level[at], reach[row]) if at in by_level else reach[row]
            result[row] = longest
        beyond.setdefault(int(inner[node]), []).append((by_level, longest))
    return result


def _together(outer: list[tuple[dict[int, Floats], float]]) -> tuple[dict[int, Floats], float]:
    """Return what lies beyond a fork, by level, and the longest band round it; the largest branch is changed."""
    if not outer:
        return {}, 0.0
    largest, *others = sorted(outer, key=lambda branch: -len(branch[0]))
    by_level, longest = largest
    for levels, length in others:
        longest = max(longest, length)
        for level, reach in levels.items():
            if level in by_level:
                reach = np.maximum(by_level[level], reach)
                longest = max(longest, float(girths(reach)))
            by_level[level] = reach
    return by_level, longest
