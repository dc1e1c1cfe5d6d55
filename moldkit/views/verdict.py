"""The verdict in plain words: which technique, what it costs, how much it saves and why, what would change it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from moldkit.economics.run_cost import Crossing
from moldkit.findings.plan import Finding
from moldkit.study.assess import Outcome
from moldkit.study.compare import TOSS_UP, Comparison
from moldkit.study.sweep import casting_methods
from moldkit.study.whole_kits import more_in_kits
from moldkit.units import System, count_text, money_text, number_text, show

NO_BREAK = "\u00a0"
# More turns than this within half to twice the run are told as a back and forth, not one by one.
MANY_TURNS = 2


@dataclass(frozen=True)
class Verdict:
    """One sentence on what to do, one on what is ruled out, and how firm it is."""

    kind: Literal["clear", "near", "only", "none"]
    sentence: str
    ruled_out: str


def castings(run: int) -> str:
    """Return "1 casting" or "40 castings"."""
    return f"{count_text(run)} casting{'' if run == 1 else 's'}"


def spoken(name: str) -> str:
    """Return a technique's name as it stands in a sentence: "cavity pour with a printed shell"."""
    return name.replace(", ", " with a ")


def verdict(result: Comparison, system: System = "metric") -> Verdict:
    """Return the verdict on a comparison."""
    ruled_out = _ruled_out(result)
    best = result.cheapest
    if best is None:
        return Verdict("none", _nothing_works(result, system), ruled_out)
    ranked = _ranked(result)
    least = ranked[0][1]
    costs = f"{castings(result.case.run)} cost{'s' if result.case.run == 1 else ''} about {_money(result, least)}"
    costs += " in whole kits" if result.case.whole_kits else ""
    others = ranked[1:]
    if not others:
        sentence = f"Make it as a {spoken(best.name)}, the only technique that remains: {costs}."
        return Verdict("only", sentence, ruled_out)
    near = [(outcome, cost) for outcome, cost in others if cost <= (1 + TOSS_UP) * least]
    if near:
        most = _percent(near[-1][1] / least - 1)
        as_well = _either([spoken(outcome.name) for outcome, _ in near])
        sentence = (
            f"A toss-up: {costs} as a {spoken(best.name)}, and at most {most} more as a {as_well}. {_turn(result)}"
        )
        return Verdict("near", sentence, ruled_out)
    rival, rival_cost = others[0]
    sentence = (
        f"Make it as a {spoken(best.name)}: {costs}. That saves some {_money(result, rival_cost - least)} against a "
        f"{spoken(rival.name)} ({_percent(rival_cost / least - 1)} more), {_because(result, best, rival, system)}. "
        f"{_turn(result)}"
    )
    return Verdict("clear", sentence, ruled_out)


def _money(result: Comparison, value: float) -> str:
    """Return money rounded as one says it: three digits, no cents from ten up."""
    text = number_text(value) if value >= 100 else (f"{value:.0f}" if value >= 10 else money_text(value))
    return f"{text}{NO_BREAK}{result.currency}"


def _percent(share: float) -> str:
    return f"{max(1.0, 100 * share):.0f}{NO_BREAK}%"


def _either(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} or {names[-1]}"


def _ranked(result: Comparison) -> list[tuple[Outcome, float]]:
    """Return the feasible techniques with their totals, the cheapest first."""
    totals = []
    for outcome in result.outcomes:
        total = result.total(outcome)
        if total is not None and not outcome.stop_at():
            totals.append((outcome, float(total.value)))
    best = result.cheapest
    return sorted(totals, key=lambda pair: (pair[0] is not best, pair[1]))


def _because(result: Comparison, best: Outcome, rival: Outcome, system: System) -> str:
    """Return where most of the saving lies: in the first mold, in the remakes, or in each casting."""
    molds, n = result.molds(best), float(result.pours(best).value)
    assert molds is not None, "a feasible technique has a life"
    savings = {
        "first": rival.first.at(0) - best.first.at(0),
        "remake": (float(molds.value) - 1) * (rival.remake.at(0) - best.remake.at(0)),
        "pour": n * (rival.pour.at(0) / rival.plan.cavities - best.pour.at(0) / best.plan.cavities),
    }
    if result.case.whole_kits:
        here, there = _more_in_kits(result, best), _more_in_kits(result, rival)
        savings["kits"] = there - here
    largest = max(savings, key=lambda part: savings[part])
    if largest == "kits":
        return f"because whole kits add {_money(result, here)} to it and {_money(result, there)} to the other"
    if largest == "remake":
        fresh, instead = _money(result, best.remake.at(0)), _money(result, rival.remake.at(0))
        return f"because a fresh mold costs {fresh} and not {instead}"
    if largest == "pour":
        if best.plan.cavities > rival.plan.cavities:
            return f"because a pour gives {best.plan.cavities} castings"
        return "because each casting takes less work"
    rubber = rival.plan["rubber_mass"].at(0) - best.plan["rubber_mass"].at(0)
    hours = (rival.attended_first.at(0) - best.attended_first.at(0)) / 3600
    if hours > 0 and rubber <= 0:
        return f"because the mold takes {number_text(hours, 2)} hours less"
    if rubber > 0:
        return f"because the mold takes {show(rubber, 'kg', system)} less rubber"
    return "because the first mold is cheaper"


def _more_in_kits(result: Comparison, outcome: Outcome) -> float:
    """Return what whole kits add to the cost of the run."""
    molds = result.molds(outcome)
    return 0.0 if molds is None else float(more_in_kits(outcome, molds.value, result.pours(outcome).value))


def _turn(result: Comparison) -> str:
    """Return the sentence on the nearest runs at which the choice turns."""
    run = result.case.run
    near = [c for c in result.crossings if run / 2 <= c.run <= 2 * run]
    if len(near) > MANY_TURNS:
        between = f"Between {count_text(near[0].run)} and {castings(near[-1].run)}"
        used_up = "kits and molds are" if result.case.whole_kits else "each mold is"
        return f"{between} the choice turns {len(near)} times, as {used_up} used up."
    ahead = next((c for c in result.crossings if c.run > run), None)
    behind = [c for c in result.crossings if c.run <= run]
    if behind:
        words = _behind(result, behind)
        return f"{words}; {_ahead(result, ahead, 'from')}." if ahead else f"{words}."
    if ahead is not None:
        return f"{_ahead(result, ahead, 'From')}."
    return f"No other run up to {count_text(int(result.runs[-1]))} changes the choice."


def _ahead(result: Comparison, crossing: Crossing, word: str) -> str:
    """Return from which run another technique would win, and how long where it loses again."""
    name = spoken(result.outcomes[crossing.after].name)
    later = next((c.run for c in result.crossings if c.run > crossing.run), None)
    until = "on" if later is None else f"to {count_text(later - 1)}"
    if later == crossing.run + 1:
        return f"for {castings(crossing.run)} alone the {name} would win"
    return f"{word} {castings(crossing.run)} {until} the {name} would win"


def _behind(result: Comparison, behind: list[Crossing]) -> str:
    """Return up to which run the technique before would win, and from which where it had taken over itself."""
    before, last = spoken(result.outcomes[behind[-1].before].name), behind[-1].run - 1
    if len(behind) > 1:
        first = behind[-2].run
        return f"From {count_text(first)} to {castings(last)} the {before} would win"
    if last == 1:
        return f"The {before} would win only for a single casting"
    return f"Up to {castings(last)} the {before} would win"


def _stops(result: Comparison, outcome: Outcome, system: System) -> list[Finding]:
    return [f for f in outcome.findings(system=system, currency=result.currency) if f.level == "stop"]


def _ruled_out(result: Comparison) -> str:
    """Return "Ruled out: ..." with the first reason of each technique that is out; empty where none is."""
    by_reason: dict[str, list[str]] = {}
    for outcome in result.outcomes:
        rule = outcome.ruled_out_by()
        if rule:
            by_reason.setdefault(rule, []).append(spoken(outcome.name))
    parts = [f"{' and '.join([', '.join(n[:-1]), n[-1]] if n[1:] else n)} ({rule})" for rule, n in by_reason.items()]
    return f"Ruled out: {'; '.join(parts)}." if parts else ""


def _nothing_works(result: Comparison, system: System) -> str:
    """Return what stands in the way, and the nearest casting method under which something works."""
    stops = {outcome.name: _stops(result, outcome, system) for outcome in result.outcomes}
    shared = next((f for f in next(iter(stops.values())) if all(f in found for found in stops.values())), None)
    if shared is not None:
        why = shared.words
    else:
        why = " ".join(f"{spoken(name)}: {found[0].words}" for name, found in stops.items() if found)
    works = [m for m in casting_methods(result) if m.cheapest is not None]
    if works:
        return (
            f"Nothing works as asked: {why} Cast by {works[0].method}, a {spoken(works[0].cheapest or '')} would work."
        )
    return f"Nothing works as asked: {why} {shared.remedy}" if shared else f"Nothing works as asked: {why}"
