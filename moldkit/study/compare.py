"""The techniques side by side: totals at the run asked for, the cost curves, the crossings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from moldkit.economics.renewal import expected_molds
from moldkit.economics.run_cost import Crossing, crossings, lowest, total_cost
from moldkit.pattern.pattern import Pattern
from moldkit.pattern.reading import Reading
from moldkit.quantity import Quantity
from moldkit.shop import with_overrides
from moldkit.study.assess import Outcome, assess, pours_for, setting_of
from moldkit.study.case import FROM_LOG, Case
from moldkit.study.knowledge import Knowledge
from moldkit.study.learned import with_learned_lives
from moldkit.study.patterns import pattern_of, read_pattern, scale_of
from moldkit.study.whole_kits import more_in_kits, whole_kits
from moldkit.tables import Row

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
FARTHEST = 1_000_000
SURELY_TO = 1_000
TOSS_UP = 0.10


def run_costs(outcomes: Sequence[Outcome], case: Case, runs: Whole, *, index: int = 0, feasible: bool = True) -> Floats:
    """Return the expected total cost of each technique at each run [money], shape (techniques, runs).

    In whole kits each curve has steps of its own.

    feasible: techniques that are ruled out cost infinity; a technique without a known life always does.
    """
    costs = np.full((len(outcomes), runs.size), np.inf)
    for place, outcome in enumerate(outcomes):
        if outcome.life is None or (feasible and outcome.stop_at(index)):
            continue
        pours = pours_for(case, outcome.plan.cavities, runs)
        molds = expected_molds(outcome.life, pours)
        costs[place] = total_cost(
            outcome.first.at(index), outcome.remake.at(index), outcome.pour.at(index), molds, pours
        )
        if case.whole_kits:
            costs[place] += more_in_kits(outcome, molds, pours, index)
    return costs


@dataclass(frozen=True)
class Comparison:
    """A case compared: its reading and outcomes; totals, cheapest and crossings are computed once, on demand."""

    case: Case
    knowledge: Knowledge
    reading: Reading
    outcomes: tuple[Outcome, ...]

    @cached_property
    def pattern(self) -> Pattern:
        """The pattern at the case's size."""
        return pattern_of(self.case, self.reading, self.scale)

    @cached_property
    def shop(self) -> Row:
        """The shop as it is for this case: its file with the job's own figures laid over it."""
        return with_overrides(self.knowledge.shop, self.case.shop, "[shop]")

    @property
    def currency(self) -> str:
        """The shop's currency code."""
        return self.shop.text("currency")

    def is_at_another_run(self, other: Comparison) -> bool:
        """Whether nothing but the run asked for tells this comparison from another."""
        same_case = replace(self.case, run=other.case.run) == other.case
        return same_case and self.reading is other.reading and self.knowledge == other.knowledge

    @cached_property
    def scale(self) -> float:
        """What the reading's lengths are multiplied by."""
        return scale_of(self.case, self.reading)

    @property
    def longest(self) -> float:
        """Longest side of the pattern at its size [m]."""
        return float(max(self.reading.extents) * self.scale)

    @cached_property
    def by_weight(self) -> Comparison:
        """The same comparison with every material by weight, none in whole kits."""
        return replace(self, case=replace(self.case, whole_kits=False)) if self.case.whole_kits else self

    @cached_property
    def runs(self) -> Whole:
        """The runs over which crossings are looked for: 1 to ten times the run, at least 1 to 1000."""
        return np.arange(1, min(FARTHEST, max(SURELY_TO, 10 * self.case.run)) + 1, dtype=np.int64)

    @cached_property
    def costs(self) -> Floats:
        """Total cost of each technique over the runs; infinite where it is ruled out."""
        return run_costs(self.outcomes, self.case, self.runs)

    @cached_property
    def crossings(self) -> tuple[Crossing, ...]:
        """The runs at which another technique becomes the cheapest."""
        return crossings(self.costs, self.runs)

    @cached_property
    def cheapest(self) -> Outcome | None:
        """The cheapest feasible technique at the run asked for; None where nothing is feasible."""
        place = int(lowest(self.costs[:, : self.case.run])[-1])
        return self.outcomes[place] if place >= 0 else None

    def pours(self, outcome: Outcome) -> Quantity:
        """Return the pours that the run takes by one technique."""
        pours = float(pours_for(self.case, outcome.plan.cavities, self.case.run))
        return Quantity("pours", pours, "pours", "run / (yield x cavities), up", source="the job")

    def total(self, outcome: Outcome) -> Quantity | None:
        """Return the expected total cost of the run by one technique, feasible or not; None without a life."""
        molds, pours = self.molds(outcome), self.pours(outcome)
        if molds is None:
            return None
        value = total_cost(outcome.first.at(0), outcome.remake.at(0), outcome.pour.at(0), molds.value, pours.value)
        words = "first mold + (expected molds - 1) x remake + pours x cost of a pour"
        inputs = (outcome.first, molds, outcome.remake, pours, outcome.pour)
        if self.case.whole_kits:
            kits = whole_kits(outcome, molds, pours)
            words = f"{words} + whole kits beyond the weight"
            return Quantity("cost of the run", float(value + kits.value), "money", words, (*inputs, kits))
        return Quantity("cost of the run", float(value), "money", words, inputs)

    def life(self, outcome: Outcome) -> Quantity | None:
        """Return the mean life of a technique's molds; None where nothing is known of the pair."""
        if outcome.life is None:
            return None
        inputs = (outcome.median,) if outcome.median else ()
        return Quantity("mean mold life", outcome.life.mean, "pours", "mean over molds of the pair's life", inputs)

    def molds(self, outcome: Outcome) -> Quantity | None:
        """Return the expected number of molds that the run takes; None without a life."""
        mean, pours = self.life(outcome), self.pours(outcome)
        if outcome.life is None or mean is None:
            return None
        value = float(expected_molds(outcome.life, np.array([int(pours.value)]))[0])
        words = "1 + expected number of molds worn out before the last pour (exact renewal over whole pours)"
        return Quantity("expected molds", value, "molds", words, (pours, mean), "renewal equation")


def compare(case: Case, knowledge: Knowledge, reading: Reading | None = None) -> Comparison:
    """Return the case compared; raises InputError for bad input in the case, its mesh, a table or the log it asks for.

    reading: the pattern's reading where it is known already, so that a mesh is measured once.
    """
    if case.life == FROM_LOG:
        knowledge = with_learned_lives(knowledge)
    if reading is None:
        # Wrong words are told at once, before a mesh is measured.
        setting_of(case, knowledge)
        reading = read_pattern(case, knowledge)
    return Comparison(case, knowledge, reading, assess(case, knowledge, reading))


def comparison_record(result: Comparison) -> dict[str, Any]:
    """Return the comparison as one plain object, keys ending in their unit (schema 1)."""
    names = [outcome.name for outcome in result.outcomes]
    return {
        "schema": 1,
        "currency": result.currency,
        "run": result.case.run,
        "pattern": {
            "volume_m3": result.reading.volume * result.scale**3,
            "area_m2": result.reading.area * result.scale**2,
            "longest_m": result.longest,
        },
        **({"whole_kits": True} if result.case.whole_kits else {}),
        "techniques": [_technique_record(result, outcome) for outcome in result.outcomes],
        "cheapest": result.cheapest.name if result.cheapest else None,
        "crossings": [
            {"run": crossing.run, "from": names[crossing.before], "to": names[crossing.after]}
            for crossing in result.crossings
        ],
    }


def _technique_record(result: Comparison, outcome: Outcome) -> dict[str, Any]:
    life, total, molds = outcome.life, result.total(outcome), result.molds(outcome)
    findings = outcome.findings(currency=result.currency)
    return {
        "technique": outcome.name,
        "feasible": not outcome.stop_at(),
        "findings": [{"level": f.level, "rule": f.rule, "words": f.words, "remedy": f.remedy} for f in findings],
        "rubber_volume_m3": outcome.plan["rubber_volume"].at(0),
        "rubber_mass_kg": outcome.plan["rubber_mass"].at(0),
        "mold_mass_kg": outcome.plan["mold_mass"].at(0),
        "attended_hours_first": outcome.attended_first.at(0) / 3600,
        "attended_hours_remake": outcome.attended_remake.at(0) / 3600,
        "elapsed_hours_first": outcome.elapsed_first.at(0) / 3600,
        "cost_first": outcome.first.at(0),
        "cost_remake": outcome.remake.at(0),
        "cost_casting": outcome.pour.at(0),
        "life": None
        if life is None
        else {"mean": life.mean, "sd": life.sd, "p10": life.quantile(0.1), "p90": life.quantile(0.9)},
        "expected_molds": None if molds is None else molds.value,
        "cost_total": None if total is None else total.value,
        "cost_per_casting": None if total is None else total.value / result.case.run,
    }

