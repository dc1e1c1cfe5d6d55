"""The molds of a run in their turn: how many pours each is to give, and when to retire it."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass

from moldkit.economics.age_replacement import long_run
from moldkit.economics.retirement import when_to_retire
from moldkit.study.assess import Outcome
from moldkit.study.compare import Comparison
from moldkit.study.run_plan import RunPlan

# Beyond this run the rule for a run without end is as good, and at once.
LONG = 2_000


@dataclass(frozen=True, slots=True)
class Turns:
    """The molds of a run in turn.

    pours: of the whole run [pours]; each: pours that the molds give in turn where none fails before its time, adding up
    to `pours`, at most `most` of them listed; planned: whether molds are retired before they fail; mean: mean life
    [pours]; molds: expected number; advice: in words; in_use: molds side by side, whose pours are not in turn but
    beside each other.
    """

    pours: int
    each: tuple[int, ...]
    planned: bool
    mean: float
    molds: float
    advice: str
    in_use: int = 1


def turns_of(result: Comparison, outcome: Outcome, most: int = 12) -> Turns | None:
    """Return the molds of the run in turn, None where nothing is known of their life; most: molds listed at the most.

    Retirement over the run by dynamic programming; a run of more than 2,000 pours by the rule for a run without end.
    Where nothing is retired, each mold is set down with its mean life. A certain life is used to its end.
    """
    molds = result.molds(outcome)
    if outcome.life is None or outcome.spread is None or molds is None:
        return None
    pours, mean = int(result.pours(outcome).value), outcome.life.mean
    remake = outcome.remake.at(0)
    age, advice = 0, "Use each mold until it fails."
    if outcome.spread.at(0) > 0 and outcome.life.chances[1] < 1.0:
        failed = remake + outcome.pour.at(0)
        if pours > LONG:
            rule = long_run(outcome.life.chances, remake, failed)
            if math.isfinite(rule.age):
                age, advice = int(rule.age), f"Retire each mold after {int(rule.age)} pours."
        else:
            found = when_to_retire(outcome.life.chances, pours, remake, failed)
            if found.retires and not found.small:
                saved = f"that saves {found.saving_share:.0%} of what remakes and failures cost"
                advice = f"Retire a mold when it has given its pours, before it fails: {saved}."
                return Turns(pours, found.schedule[:most], True, mean, molds.at(0), advice)
    each = _shared(pours, age or max(1, round(mean)), most)
    return Turns(pours, each, age > 0, mean, molds.at(0), advice)


def side_by_side(outcome: Outcome, plan: RunPlan, most: int = 12) -> Turns | None:
    """Return the molds of a run that is planned with several at once, None where nothing is known of their life.

    Each with the pours that the plan gives it; they are used until they fail.
    """
    if outcome.life is None:
        return None
    given = {(bar.mold, bar.pour) for bar in plan.bars if bar.mold and bar.pour}
    each = tuple(count for _, count in sorted(Counter(mold for mold, _ in given).items()))
    advice = f"{plan.in_use} molds are in use side by side; use each until it fails."
    molds = plan.expected_molds.at(0)
    return Turns(plan.pours, each[:most], False, outcome.life.mean, molds, advice, plan.in_use)


def _shared(pours: int, a_mold: int, most: int) -> tuple[int, ...]:
    full, rest = divmod(pours, a_mold)
    return ((a_mold,) * min(full, most) + ((rest,) if rest else ()))[:most]
