"""Sweeps: the cheapest technique over sizes and runs, and over the casting methods."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from moldkit.economics.purchases import beyond_pro_rata
from moldkit.economics.renewal import expected_molds
from moldkit.economics.run_cost import total_cost
from moldkit.pattern.reading import Reading
from moldkit.study.assess import assess, pours_for
from moldkit.study.case import LEAST_SIDE, MOST_SIDE, Case
from moldkit.study.compare import Comparison, compare
from moldkit.study.knowledge import Knowledge

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]


@dataclass(frozen=True)
class DecisionMap:
    """The cheapest feasible technique by pattern size and run.

    sizes: longest side [m], shape (s,); runs: shape (r,); cheapest: index into names, shape (s, r), -1 where
    nothing is feasible; costs: its total cost [money], shape (s, r), infinite there.
    """

    names: tuple[str, ...]
    sizes: Floats
    runs: Whole
    cheapest: Whole
    costs: Floats


def decision_map(case: Case, knowledge: Knowledge, reading: Reading, sizes: Floats, runs: Whole) -> DecisionMap:
    """Return the decision map over longest sides [m] and runs; a chosen skin or margin stays as the size sweeps."""
    roomy = case if case.skin is None else replace(case, skin=min(case.skin, float(sizes[-1]) / 2))
    outcomes = assess(roomy, knowledge, reading, sizes / max(reading.extents))
    best = np.full((sizes.size, runs.size), np.inf)
    cheapest = np.full(best.shape, -1, dtype=np.int64)
    for place, outcome in enumerate(outcomes):
        if outcome.life is None or np.all(outcome.stop):
            continue
        pours = pours_for(case, outcome.plan.cavities, runs)
        molds = expected_molds(outcome.life, pours)
        first, remake, pour = (_column(q.value, sizes.size) for q in (outcome.first, outcome.remake, outcome.pour))
        costs = total_cost(first, remake, pour, molds, pours)
        if case.whole_kits:
            costs = costs + beyond_pro_rata(outcome.needs, molds, pours, lambda value: _column(value, sizes.size))
        costs = np.where(_column(outcome.stop, sizes.size), np.inf, costs)
        better = costs < best
        cheapest[better] = place
        best[better] = costs[better]
    return DecisionMap(tuple(outcome.name for outcome in outcomes), sizes, runs, cheapest, best)


def _column(value: Any, length: int) -> Any:
    return np.broadcast_to(np.asarray(value), (length,))[:, None]


def map_axes(case: Case, longest: float, count: int = 120) -> tuple[Floats, Whole]:
    """Return sizes [m] and runs for a map round a case: 5 cm (or half the piece) to 1 m, 1 to 1000 and beyond."""
    low, high = max(LEAST_SIDE, min(0.05, longest / 2)), min(MOST_SIDE, max(1.0, 2 * longest))
    sizes = np.geomspace(low, high, count)
    most = max(1000, 10 * case.run)
    runs = np.unique(np.round(np.geomspace(1, most, count)).astype(np.int64))
    return sizes, runs


@dataclass(frozen=True)
class MethodOutcome:
    """One casting method: which techniques remain, the cheapest and its total, and the rules that stop the others."""

    method: str
    feasible: dict[str, bool]
    cheapest: str | None
    cost: float | None
    reasons: dict[str, str]


def casting_methods(result: Comparison) -> tuple[MethodOutcome, ...]:
    """Return what remains of the techniques under each casting method, everything else as in the case."""
    return tuple(_method(result, method) for method in result.knowledge.methods)


def _method(result: Comparison, method: str) -> MethodOutcome:
    other = compare(replace(result.case, method=method), result.knowledge, result.reading)
    feasible = {outcome.name: not outcome.stop_at() for outcome in other.outcomes}
    total = other.total(other.cheapest) if other.cheapest else None
    return MethodOutcome(
        method,
        feasible,
        other.cheapest.name if other.cheapest else None,
        total.value if total else None,
        {outcome.name: outcome.ruled_out_by() for outcome in other.outcomes},
    )
