"""Expected molds for thousands of lives at once: exact renewal functions at the nodes of a grid, read off between."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from moldkit.economics.life import Life
from moldkit.economics.renewal import expected_molds
from moldkit.economics.renewal_tables import WornTable, worn_within

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

# Steps between nodes, as a share of the spread for medians: a mold's turn comes at a number of pours that is
# sharp to about the spread, so that a step of a sixth of it keeps E[M] within 0.1 % by straight lines.
STEP = 0.16
WIDEST = 0.04
SPREAD_STEP = 0.12
MODERATE = 0.5
# Lives that are few enough to be computed one by one, and several that need no grid.
FEW, SEVERAL = 4, 400


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
    axes = _axes(medians, spreads)
    table = _grid_molds(axes, tuple(int(n) for n in pours))
    places, weights = _corners(axes, medians, spreads)
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
    for spread in np.unique(lives[:, 1]):
        alike = lives[:, 1] == spread
        medians = lives[alike, 0]
        if spread == 0.0:
            table[:, alike] = np.ceil(pours[:, None] / np.ceil(medians - 1e-9))
        else:
            worn = worn_within(medians, float(spread), int(pours.max()) - 1)
            table[:, alike] = 1.0 + worn.at(pours - 1).T
    return table


# First node and step (logarithms), and how many, for medians and for spreads.
Axis = tuple[float, float, int]


def _axes(medians: Floats, spreads: Floats) -> tuple[Axis, Axis]:
    """Return the grid's axes, their nodes the same for neighbouring sets of lives, so that tables are found again."""
    step = min(WIDEST, STEP * float(spreads.min()))
    # Steps are rounded down to a power of the square root of two for the same reason.
    step = 2.0 ** (math.floor(2.0 * math.log2(step)) / 2.0)
    wide = SPREAD_STEP * 2.0 ** min(0, math.floor(math.log2(MODERATE / float(spreads.max()))))
    return _axis(medians, step, 32), _axis(spreads, wide, 4)


def _axis(values: Floats, step: float, block: int) -> Axis:
    low, high = math.log(float(values.min())), math.log(float(values.max()))
    if high - low < 1e-12:
        return low, step, 1
    first = block * math.floor(low / (step * block))
    last = block * math.ceil(high / (step * block) + 1e-9)
    return first * step, step, last - first + 1


@lru_cache(maxsize=8)
def _grid_molds(axes: tuple[Axis, Axis], pours: tuple[int, ...]) -> Floats:
    """Return E[M] at the nodes, shape (p, nodes)."""
    worn_out = np.array(pours, dtype=np.int64) - 1
    # Tables are kept for a reach that is rounded up, so that they serve other runs too.
    quarter = 1 << max(4, int(worn_out.max()).bit_length() - 3)
    tables = _grid_tables(axes, quarter * (-(-int(worn_out.max()) // quarter)))
    found = np.empty((axes[0][2], axes[1][2], worn_out.size))
    for first, place, worn in tables:
        found[first : first + len(worn.table), place] = worn.at(worn_out)
    return np.ascontiguousarray(1.0 + found.reshape(-1, worn_out.size).T)


@lru_cache(maxsize=2)
def _grid_tables(axes: tuple[Axis, Axis], farthest: int) -> tuple[tuple[int, int, WornTable], ...]:
    """Return (place of the first median, place of the spread, their m) for an octave of medians and a spread at a time.

    Shorter and more scattered lives are linear sooner, so each has a table of its own length.
    """
    medians, spreads = (np.exp(first + step * np.arange(count)) for first, step, count in axes)
    per_octave = max(1, int(math.log(2.0) / axes[0][1]))
    return tuple(
        (first, place, worn_within(medians[first : first + per_octave], float(spread), farthest))
        for first in range(0, medians.size, per_octave)
        for place, spread in enumerate(spreads)
    )


def _corners(axes: tuple[Axis, Axis], medians: Floats, spreads: Floats) -> tuple[NDArray[np.intp], Floats]:
    """Return the four nodes round each life and their weights, straight lines in both logarithms."""
    (low_m, share_m), (low_s, share_s) = (
        _between(axis, values) for axis, values in zip(axes, (medians, spreads), strict=True)
    )
    across = axes[1][2]
    up_m, up_s = int(axes[0][2] > 1) * across, int(across > 1)
    corner = low_m * across + low_s
    pairs: list[tuple[Any, Any]] = [(corner, (1 - share_m) * (1 - share_s))]
    if up_m:
        pairs.append((corner + up_m, share_m * (1 - share_s)))
    if up_s:
        pairs.append((corner + up_s, (1 - share_m) * share_s))
    if up_m and up_s:
        pairs.append((corner + up_m + up_s, share_m * share_s))
    return np.stack([place for place, _ in pairs]), np.stack([weight for _, weight in pairs])


def _between(axis: Axis, values: Floats) -> tuple[NDArray[np.intp], Floats]:
    first, step, count = axis
    if count == 1:
        return np.zeros(values.size, dtype=np.intp), np.zeros(values.size)
    along = (np.log(values) - first) / step
    low = np.clip(np.floor(along).astype(np.intp), 0, count - 2)
    return low, along - low
