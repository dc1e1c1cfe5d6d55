"""Expected molds for thousands of lives at once: exact renewal functions at the nodes of a grid, read off between."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from moldkit.economics.life import Life
from moldkit.economics.renewal import expected_molds
from moldkit.economics.renewal_tables import WornTable, worn_one_by_one, worn_within

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

# Steps between nodes, as a share of the spread for medians: a mold's turn comes at a number of pours that is
# sharp to about the spread, so that a step of a sixth of it keeps E[M] within 0.1 % by straight lines.
STEP = 0.16
WIDEST = 0.04
# Spreads of the rows: six to the octave up to a half, twelve in the next, twenty-four up to 2.
_OCTAVES = ((-7, -1, 6), (-1, 0, 12), (0, 1, 24))
_SPREADS = np.append(np.concatenate([2.0 ** np.arange(low, high, 1 / each) for low, high, each in _OCTAVES]), 2.0)
# Medians in a row begin and end at a multiple of so many steps.
BLOCK = 16
# Lives that are few enough to be computed one by one, and several that need no grid.
FEW, SEVERAL = 4, 400
# Lives times pours up to which lives of any spread are tabulated together, pour by pour: a table for each spread would
# cost more than the figures in it.
NEAR = 1 << 17
# Pours that a grid's tables reach at the least; most lives are linear before.
LEAST_REACH = 1_280


@dataclass(frozen=True, eq=False)
class Molds:
    """What reads expected molds off for a set of lives, a few numbers of pours at a time.

    pours: shape (p,); places: up to four nodes of each life, shape (4, d); weights: theirs, shape (4, d); table: E[M]
    at the nodes, shape (p, nodes).
    """

    pours: Whole
    places: NDArray[np.intp]
    weights: Floats
    table: Floats

    def at(self, start: int, stop: int) -> Floats:
        """Return E[M] for the pours from `start` to `stop` in `pours`, shape (stop - start, d)."""
        rows = self.table[start:stop]
        found = np.take(rows, self.places[0], axis=1)
        if self.places.shape[0] == 1:
            return np.asarray(found)
        found *= self.weights[0]
        for place, weight in zip(self.places[1:], self.weights[1:], strict=True):
            part = np.take(rows, place, axis=1)
            part *= weight
            found += part
        return np.asarray(found)


def molds_of_lives(medians: Floats, spreads: Floats, pours: Whole) -> Molds:
    """Return what gives the expected molds of each life for each number of pours, within 0.1 % of the exact figure
    (0.3 % where lives of thousands of pours have a spread above 0.8).

    medians: [pours], shape (d,), 1 or more; spreads: coefficient of variation [-], shape (d,), 0 for certain lives or
    0.01 to 2; pours: whole numbers, shape (p,), 1 or more, any order. Lives are whole pours as in `Life`, the short
    ones too. Up to 400 different lives are nodes themselves and nothing is read between; up to four have no error but
    rounding.
    """
    lives, which = _different(medians, spreads)
    if lives is not None:
        return Molds(pours, which[None, :], np.ones((1, which.size)), _molds_one_by_one(lives, pours))
    rows = _rows(medians, spreads)
    table = _grid_molds(rows, tuple(int(n) for n in pours))
    places, weights = _corners(rows, medians, spreads)
    return Molds(pours, places, weights, table)


def _different(medians: Floats, spreads: Floats) -> tuple[Floats | None, NDArray[np.intp]]:
    """Return the different lives, shape (n, 2), and which of them each draw has; None where they are too many.

    Certain lives are never too many: they have no place on a grid.
    """
    pairs = np.stack([medians, spreads], axis=1)
    nowhere = np.zeros(0, dtype=np.intp)
    if np.all(pairs == pairs[0]):
        return pairs[:1], np.zeros(medians.size, dtype=np.intp)
    certain = not np.all(spreads > 0.0)
    if not certain and len(np.unique(pairs[: 2 * SEVERAL], axis=0)) > SEVERAL:
        return None, nowhere
    lives, which = np.unique(pairs, axis=0, return_inverse=True)
    if not certain and len(lives) > SEVERAL:
        return None, nowhere
    return lives, np.asarray(which.reshape(-1), dtype=np.intp)


def _molds_one_by_one(lives: Floats, pours: Whole) -> Floats:
    """Return E[M] of lives (median, spread), shape (p, lives)."""
    if len(lives) <= FEW:
        return np.stack([expected_molds(Life(float(m), float(s)), pours) for m, s in lives], axis=1)
    table = np.empty((pours.size, len(lives)))
    certain = lives[:, 1] == 0.0
    table[:, certain] = np.ceil(pours[:, None] / np.ceil(lives[certain, 0] - 1e-9))
    for alike in _together(lives, ~certain, int(pours.max())):
        medians, spreads = lives[alike].T
        if np.all(spreads == spreads[0]):
            table[:, alike] = 1.0 + worn_within(medians, float(spreads[0]), int(pours.max()) - 1).at(pours - 1).T
        else:
            table[:, alike] = 1.0 + worn_one_by_one(medians, spreads, pours - 1).T
    return table


def _together(lives: Floats, which: NDArray[np.bool_], farthest: int) -> list[NDArray[np.bool_]]:
    """Return which of the lives are computed together: those of one spread, or, to near pours, all of them."""
    if not which.any() or np.count_nonzero(which) * farthest <= NEAR:
        return [which] if which.any() else []
    return [which & (lives[:, 1] == spread) for spread in np.unique(lives[which, 1])]


# A row of nodes: its spread; the first median and the step (logarithms), and how many.
Row = tuple[float, float, float, int]


def _rows(medians: Floats, spreads: Floats) -> tuple[Row, ...]:
    """Return the grid's rows, one a spread, their nodes the same for neighbouring sets of lives, so that tables serve.

    Each row is as fine as its own spread asks for and as wide as the lives beside it, so that a few lives of a small or
    a large spread don't make the grid fine for all.
    """
    nodes = _spread_nodes(float(spreads.min()), float(spreads.max()))
    below, logs = _row_below(nodes, spreads), np.log(medians)
    low, high = float(logs.min()), float(logs.max())
    rows = []
    for place, spread in enumerate(nodes):
        # Steps are rounded down to a power of the square root of two for the same reason.
        step = 2.0 ** (math.floor(2.0 * math.log2(min(WIDEST, STEP * spread))) / 2.0)
        beside = logs[(below == place) | (below == place - 1)] if high > low else logs
        ends = (float(beside.min()), float(beside.max())) if beside.size else (low, low)
        rows.append((spread, *_medians(*ends, step, single=high - low < 1e-12)))
    return tuple(rows)


def _row_below(nodes: Sequence[float], spreads: Floats) -> NDArray[np.intp]:
    """Return the row below each spread, but not the last of several."""
    found = np.searchsorted(nodes, spreads, side="right") - 1
    return np.clip(found, 0, max(0, len(nodes) - 2))


def _medians(low: float, high: float, step: float, *, single: bool) -> tuple[float, float, int]:
    """Return the first of a row's medians and the step (logarithms), and how many, one where there is a single one."""
    if single:
        return low, step, 1
    first, last = BLOCK * math.floor(low / (step * BLOCK)), BLOCK * math.ceil(high / (step * BLOCK) + 1e-9)
    return first * step, step, last - first + 1


def _spread_nodes(low: float, high: float) -> list[float]:
    """Return the spreads of the rows, from the one below the least to the one above the most."""
    if math.log(high / low) < 1e-12:
        return [low]
    last = min(int(np.searchsorted(_SPREADS, high)), _SPREADS.size - 1)
    first = min(max(0, int(np.searchsorted(_SPREADS, low, side="right")) - 1), last - 1)
    return [float(spread) for spread in _SPREADS[first : last + 1]]


@lru_cache(maxsize=8)
def _grid_molds(rows: tuple[Row, ...], pours: tuple[int, ...]) -> Floats:
    """Return E[M] at the nodes, shape (p, nodes), one row's behind the other's."""
    worn_out = np.array(pours, dtype=np.int64) - 1
    # Tables are kept for a reach that is rounded up, so that they serve other runs too: near ones all the same table.
    reach = max(int(worn_out.max()), LEAST_REACH)
    quarter = 1 << (reach.bit_length() - 3)
    tables = _grid_tables(rows, quarter * (-(-reach // quarter)))
    found = np.empty((worn_out.size, sum(len(table.table) for table in tables)))
    place = 0
    for table in tables:
        found[:, place : place + len(table.table)] = table.at(worn_out).T
        place += len(table.table)
    found += 1.0
    return found


@lru_cache(maxsize=4)
def _grid_tables(rows: tuple[Row, ...], farthest: int) -> tuple[WornTable, ...]:
    """Return the nodes' m, a table for each octave of medians of each row.

    Shorter and more scattered lives are linear sooner, so each has a table of its own length.
    """
    return tuple(table for row in rows for table in _row_tables(row, farthest))


def _row_tables(row: Row, farthest: int) -> list[WornTable]:
    spread, first, step, count = row
    medians = np.exp(first + step * np.arange(count))
    per_octave = max(1, int(math.log(2.0) / step))
    return [worn_within(medians[at : at + per_octave], spread, farthest) for at in range(0, count, per_octave)]


def _corners(rows: tuple[Row, ...], medians: Floats, spreads: Floats) -> tuple[NDArray[np.intp], Floats]:
    """Return the up to four nodes round each life and their weights, straight lines in both logarithms."""
    logs = np.log(medians)
    if len(rows) == 1:
        return _along(rows, np.zeros(medians.size, dtype=np.intp), logs, np.ones(medians.size))
    spread_of_row = [row[0] for row in rows]
    low, nodes = _row_below(spread_of_row, spreads), np.log(spread_of_row)
    share = (np.log(spreads) - nodes[low]) / (nodes[low + 1] - nodes[low])
    below, above = _along(rows, low, logs, 1.0 - share), _along(rows, low + 1, logs, share)
    return np.concatenate([below[0], above[0]]), np.concatenate([below[1], above[1]])


def _along(
    rows: tuple[Row, ...], row: NDArray[np.intp], logs: Floats, weight: Floats
) -> tuple[NDArray[np.intp], Floats]:
    """Return the nodes on either side of each life in its row, and their shares of a weight."""
    _, first, step, count = (np.array(column) for column in zip(*rows, strict=True))
    start = np.concatenate([[0], np.cumsum(count)[:-1]])
    if np.all(count == 1):
        return start[row][None, :], weight[None, :]
    along = (logs - first[row]) / step[row]
    low = np.clip(np.floor(along).astype(np.intp), 0, count[row] - 2)
    place, share = start[row] + low, along - low
    return np.stack([place, place + 1]), np.stack([weight * (1.0 - share), weight * share])
