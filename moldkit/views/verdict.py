"""The verdict in plain words: which technique, what it costs, how much it saves, what would change it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from moldkit.economics.run_cost import Crossing
from moldkit.study.assess import Outcome
from moldkit.study.compare import TOSS_UP, Comparison
from moldkit.study.sweep import casting_methods
from moldkit.units import System, count_text, money_text, number_text

NO_BREAK = "\u00a0"


@dataclass(frozen=True)
class Verdict:
    """One sentence on what to do, one on what is ruled out, and how firm it is."""

    kind: Literal["clear", "near", "only", "none"]
    sentence: str
    ruled_out: str


def castings(run: int) -> str:
    """Return "1 casting" or "40 castings"."""
    return f"{count_text(run)} casting{'' if run == 1 else 's'}"


def verdict(result: Comparison, system: System = "metric") -> Verdict:
    """Return the verdict on a comparison."""
    ruled_out = _ruled_out(result, system)
    best = result.cheapest
    if best is None:
        return Verdict("none", _nothing_works(result, system), ruled_out)
    total = result.total(best)
    assert total is not None, "the cheapest technique has a total"
    run_costs = f"{castings(result.case.run)} cost{'s' if result.case.run == 1 else ''}"
    cost = _money(result, total.value)
    rival = _runner_up(result, best)
    if rival is None:
        return Verdict(
            "only",
            f"Make it as a {best.name}, the only technique that remains: {run_costs} about {cost}.",
            ruled_out,
        )
    other, other_total = rival
    more = other_total - total.value
    turn = _turn(result)
    if more <= TOSS_UP * total.value:
        costs = f"{cost} and {_money(result, other_total)}"
        if _money(result, other_total) == cost:
            costs = f"{cost} either way"
        sentence = (
            f"A toss-up between {best.name} and {other.name}: {run_costs} about "
            f"{costs}, within {_percent(more / total.value)}. {turn}"
        )
        return Verdict("near", sentence, ruled_out)
    sentence = (
        f"Make it as a {best.name}: {run_costs} about {cost}, some {_money(result, more)} "
        f"({_percent(more / other_total)}) less than as a {other.name}. {turn}"
    )
    return Verdict("clear", sentence, ruled_out)


def _money(result: Comparison, value: float) -> str:
    """Return money rounded as one says it: three digits."""
    return f"{number_text(value) if value >= 100 else money_text(value)}{NO_BREAK}{result.currency}"


def _percent(share: float) -> str:
    percent = 100 * share
    return f"1{NO_BREAK}%" if percent < 1 else f"{percent:.0f}{NO_BREAK}%"


def _runner_up(result: Comparison, best: Outcome) -> tuple[Outcome, float] | None:
    """Return the cheapest other feasible technique with its total; None where there is no other."""
    totals = []
    for outcome in result.outcomes:
        total = result.total(outcome)
        if outcome is not best and total is not None and not outcome.stop_at():
            totals.append((total.value, outcome))
    if not totals:
        return None
    value, outcome = min(totals, key=lambda pair: pair[0])
    return outcome, value


def _turn(result: Comparison) -> str:
    """Return the sentence on the nearest run at which the choice turns."""
    run = result.case.run
    ahead = next((c for c in result.crossings if c.run > run), None)
    behind = next((c for c in reversed(result.crossings) if c.run <= run), None)
    if behind is not None:
        words = _behind(result, behind)
        if ahead is not None:
            return f"{words}; from {count_text(ahead.run)} on the {_name(result, ahead)} would win."
        return f"{words}."
    if ahead is not None:
        return f"From {castings(ahead.run)} on the {_name(result, ahead)} would win."
    return f"No other run up to {count_text(int(result.runs[-1]))} changes the choice."


def _behind(result: Comparison, crossing: Crossing) -> str:
    before = result.outcomes[crossing.before].name
    if crossing.run == 2:
        return f"The {before} would win only for a single casting"
    return f"Up to {castings(crossing.run - 1)} the {before} would win"


def _name(result: Comparison, crossing: Crossing) -> str:
    return result.outcomes[crossing.after].name


def _ruled_out(result: Comparison, system: System) -> str:
    """Return "Ruled out: ..." with the first reason of each technique that is out; empty where none is."""
    parts = []
    for outcome in result.outcomes:
        stops = [f for f in outcome.findings(system=system, currency=result.currency) if f.level == "stop"]
        if stops:
            parts.append(f"{outcome.name} ({stops[0].rule})")
    return f"Ruled out: {'; '.join(parts)}." if parts else ""


def _nothing_works(result: Comparison, system: System) -> str:
    """Return what stands in the way, and the nearest casting method under which something works."""
    reasons: dict[str, str] = {}
    for outcome in result.outcomes:
        for finding in outcome.findings(system=system, currency=result.currency):
            if finding.level == "stop":
                reasons.setdefault(finding.words, finding.remedy)
    first, remedy = next(iter(reasons.items()))
    works = [m for m in casting_methods(result) if m.cheapest is not None]
    nearest = f" By {works[0].method} a {works[0].cheapest} would work." if works else f" {remedy}"
    return f"Nothing works as asked: {first}{nearest}"
