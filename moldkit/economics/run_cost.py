"""Cost over the run, and where another technique becomes the cheapest."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
# Two totals nearer than this are a tie: sums of money in floating point differ in the last digits.
TIE = 1e-9


def total_cost(first: Any, remake: Any, pour: Any, molds: Any, pours: Any) -> Any:
    """Return C = first mold + (E[M] - 1) x remake + pours x cost of a pour [money]; arrays broadcast."""
    return first + (molds - 1.0) * remake + pours * pour


@dataclass(frozen=True)
class Crossing:
    """The first run at which another curve is strictly the lowest."""

    run: int
    before: int
    after: int
    cost: float


def lowest(costs: Floats) -> NDArray[np.int64]:
    """Return the index of the lowest curve at each run; at a tie the one before stays, at the start the first.

    costs: (curves, runs) [money], infinite where a curve is out; -1 where all are.
    """
    envelope = np.full(costs.shape[1], -1, dtype=np.int64)
    for start, index in _stretches(costs):
        envelope[start:] = index
    return envelope


def crossings(costs: Floats, runs: NDArray[np.int64]) -> tuple[Crossing, ...]:
    """Return the crossings of the lower envelope, in order of run.

    costs: (curves, runs) [money], infinite where a curve is out; runs: the whole numbers of the columns.
    Source: lower envelope of functions on the integers, by direct search, so that a stepped curve may cross back.
    """
    stretches = _stretches(costs)
    return tuple(
        Crossing(int(runs[start]), before, after, float(costs[after, start]))
        for (_, before), (start, after) in pairwise(stretches)
        if before >= 0 and after >= 0
    )


def _stretches(costs: Floats) -> list[tuple[int, int]]:
    """Return (column, index of the lowest curve) for each stretch of the lower envelope."""
    least = costs.min(axis=0)
    finite = np.isfinite(least)
    allowed = np.where(finite, least + TIE * (1.0 + np.abs(np.where(finite, least, 0.0))), -np.inf)
    holds = np.asarray(costs <= allowed)
    columns = costs.shape[1]
    # next_loss[i, n]: the first column from n on at which curve i is not among the lowest
    lost = np.where(holds, columns, np.arange(columns))
    next_loss = np.minimum.accumulate(lost[:, ::-1], axis=1)[:, ::-1]
    any_holds = np.any(holds, axis=0)
    next_feasible = np.minimum.accumulate(np.where(any_holds, np.arange(columns), columns)[::-1])[::-1]
    found: list[tuple[int, int]] = []
    column = 0
    while column < columns:
        if not any_holds[column]:
            found.append((column, -1))
            column = int(next_feasible[column])
            continue
        index = int(np.argmax(holds[:, column]))
        found.append((column, index))
        column = int(next_loss[index, column])
    return found
