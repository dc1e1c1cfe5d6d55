"""The cost curves as a table to be drawn: runs, totals, crossings, the run asked for."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldkit.economics.run_cost import Crossing, crossings
from moldkit.study.assess import Outcome
from moldkit.study.compare import FARTHEST, Comparison, run_costs

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
# Enough points that a straight stroke between two of them strays less than a line's width from the curve.
POINTS = 240
MOST_STEPS = 300
# Costs in whole kits step at most runs: each one is drawn up to here; beyond, a kit is no more than a line's width.
EVERY_RUN = 1_000


@dataclass(frozen=True)
class CurveCrossing:
    """A crossing as drawn: from which run on which technique is the cheapest, at what total."""

    run: int
    technique: str
    cost: float


@dataclass(frozen=True)
class CurveTable:
    """Total cost over the run, one row a technique.

    techniques: names, shape (t,); runs: whole numbers, shape (r,); totals: [money], shape (t, r), not a number
    where nothing is known; feasible, reasons: of each technique; cheapest: name at the run asked for, or None;
    whole_kits: materials are bought in whole kits and not reckoned by weight.
    """

    techniques: tuple[str, ...]
    runs: Whole
    totals: Floats
    feasible: tuple[bool, ...]
    reasons: tuple[str, ...]
    crossings: tuple[CurveCrossing, ...]
    run: int
    cheapest: str | None
    currency: str
    whole_kits: bool = False


def drawn_runs(result: Comparison, farthest: int) -> Whole:
    """Return the runs at which the curves are drawn: every one at first, then spaced out, and every crossing
    and step of a stepped curve from both sides. They do not depend on the run asked for, so that the curves stay
    as they are while it moves.
    """
    spaced = np.round(np.geomspace(1, farthest, POINTS)).astype(np.int64)
    if result.case.whole_kits:
        spaced = np.union1d(spaced, np.arange(1, EVERY_RUN + 1))
    near = [c.run for c in result.crossings]
    steps = [run for outcome in result.outcomes for run in _steps(result, outcome, farthest)]
    wanted = np.array([*near, *steps], dtype=np.int64)
    both_sides = np.concatenate([spaced, wanted, wanted - 1, [1, farthest]])
    return np.unique(both_sides[(both_sides >= 1) & (both_sides <= farthest)])


def _steps(result: Comparison, outcome: Outcome, farthest: int) -> list[int]:
    if outcome.life is None or not outcome.life.certain:
        return []
    good = result.case.good_share * outcome.plan.cavities
    lasts = int(outcome.life.mean)
    count = min(MOST_STEPS, int(farthest / (good * lasts)))
    return [int(np.floor(k * lasts * good + 1e-9)) + 1 for k in range(1, count + 1)]


def curve_table(result: Comparison, farthest: int) -> CurveTable:
    """Return the cost curves up to a run, at least to the run asked for, with the crossings that lie within it."""
    farthest = min(FARTHEST, max(farthest, result.case.run))
    runs = drawn_runs(result, farthest)
    totals = run_costs(result.outcomes, result.case, runs, feasible=False)
    names = tuple(outcome.name for outcome in result.outcomes)
    found = result.crossings if farthest <= result.runs[-1] else _far_crossings(result, farthest)
    shown = tuple(CurveCrossing(c.run, names[c.after], c.cost) for c in found if c.run <= farthest)
    return CurveTable(
        names,
        runs,
        np.where(np.isfinite(totals), totals, np.nan),
        tuple(not outcome.stop_at() for outcome in result.outcomes),
        tuple(outcome.ruled_out_by() for outcome in result.outcomes),
        shown,
        result.case.run,
        result.cheapest.name if result.cheapest else None,
        result.currency,
        result.case.whole_kits,
    )


def _far_crossings(result: Comparison, farthest: int) -> tuple[Crossing, ...]:
    runs = np.arange(1, farthest + 1, dtype=np.int64)
    return crossings(run_costs(result.outcomes, result.case, runs), runs)
