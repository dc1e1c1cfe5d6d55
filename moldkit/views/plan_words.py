"""The plan of a run in plain words: dates, what holds it up, what a date costs, what the loads and the kits say."""

from __future__ import annotations

import datetime
from collections.abc import Sequence

from moldkit.loads.check import LEVELS, LoadCheck
from moldkit.study.compare import Comparison
from moldkit.study.finish_dates import TradeOff, Way
from moldkit.study.planned_work import outcome_named
from moldkit.study.run_plan import RunPlan
from moldkit.study.shopping import ShoppingList
from moldkit.units import count_text
from moldkit.views.shift_scale import day_words
from moldkit.views.sure_words import money_words
from moldkit.views.verdict import castings, spoken


def again_word(result: Comparison, technique: str) -> str:
    """Return what making a worn-out mold anew is called: a re-pour where only the rubber is poured again."""
    return "re-pour" if outcome_named(result, technique).technique.row.flag("re_pours") else "remake"


def plan_title(plan: RunPlan, bottleneck: str = "") -> str:
    """Return a plan in a sentence or two, as a chart's title; bottleneck: what holds it up, left out while unknown."""
    said = (
        f"{castings(plan.castings)} as a {spoken(plan.technique)}, {molds_words(plan.molds)}: the first out "
        f"{day_words(plan.first_casting)}, the last {day_words(plan.finish)}."
    )
    return f"{said} {held_up_words(bottleneck)}" if bottleneck else said


def molds_words(molds: int) -> str:
    """Return "one mold" or "3 molds side by side"."""
    return "one mold" if molds == 1 else f"{molds} molds side by side"


def held_up_words(bottleneck: str) -> str:
    """Return what holds a run up as a sentence."""
    return f"Held up by {bottleneck}"


def plan_words(plan: RunPlan, due: datetime.date | None, currency: str) -> str:
    """Return a plan in one sentence for the head of the page: dates, molds, cost, and whether the date is met."""
    made = plan.molds_made
    again = "" if made <= plan.molds else f", {count_text(made)} with those that wear out"
    return (
        f"{castings(plan.castings)} as a {spoken(plan.technique)}, begun {day_words(plan.start)}: first casting out "
        f"{day_words(plan.first_casting)}, last one {day_words(plan.finish)}, {molds_words(plan.molds)}{again}, about "
        f"{money_words(plan.cost.at(0), currency)}."
    ) + (f" {due_words(plan.finish.date(), due)}" if due is not None else "")


def due_words(finish: datetime.date, due: datetime.date) -> str:
    """Return whether a date is met, and by how much."""
    days = (due - finish).days
    if days < 0:
        return f"That is {_days(-days)} too late for {day_words(due)}."
    return f"That is in time for {day_words(due)}" + (f", {_days(days)} to spare." if days else ", on the very day.")


def _days(count: int) -> str:
    return f"{count_text(count)} day{'' if count == 1 else 's'}"


def finish_title(trade: TradeOff, due: datetime.date | None, currency: str) -> str:
    """Return what a date costs, as a chart's title: the cheapest way, in time where there is a date; an earlier one."""
    soonest = trade.soonest
    if soonest is None:
        return f"No technique can be planned as asked: {_left_out(trade)}"
    best = trade.front[-1] if due is None else trade.cheapest_by(due)
    if best is None or due is None:
        said = "Cheapest" if due is None else f"No way is in time for {day_words(due)}; the soonest"
    else:
        said = f"In time for {day_words(due)} the cheapest"
    way = best or soonest
    out = (
        f"{said} is a {spoken(way.technique)}, {molds_words(way.molds)}: {money_words(way.cost.at(0), currency)}, out "
        f"{day_words(way.finish)}."
    )
    return out if best is None else f"{out} {_earlier(trade, way, currency)}"


def way_words(way: Way) -> str:
    """Return a way as it stands in a sentence: "as a poured block with 3 molds side by side"."""
    return f"as a {spoken(way.technique)} with {molds_words(way.molds)}"


def _earlier(trade: TradeOff, way: Way, currency: str) -> str:
    """Return what the next earlier finish costs more than a way on the front."""
    step = next((step for step in trade.earlier if step.later is way), None)
    if step is None:
        return "No way is out earlier."
    days, costs = ("A day", "costs") if step.days == 1 else (_days(step.days), "cost")
    return f"{days} earlier {costs} {money_words(step.more, currency)} more."


def finish_words(trade: TradeOff, due: datetime.date | None, currency: str) -> str:
    """Return what finish dates cost in a few sentences: the way in time, the steps to the soonest, what is left out."""
    said = finish_title(trade, due, currency)
    if len(trade.front) > 1:
        soonest, cheapest = trade.front[0], trade.front[-1]
        days = (cheapest.finish_date - soonest.finish_date).days
        more = soonest.cost.at(0) - cheapest.cost.at(0)
        said += (
            f" From the cheapest to the soonest, {day_words(soonest.finish)} {way_words(soonest)}, it is {_days(days)} "
            f"for {money_words(more, currency)}: {money_words(more / days, currency)} a day on average."
        )
    if trade.left_out and trade.soonest is not None:
        said += f" Left out: {_left_out(trade)}"
    return said


def _left_out(trade: TradeOff) -> str:
    return "; ".join(f"{name} ({why})" for name, why in trade.left_out) + "."


def checks_words(checks: Sequence[LoadCheck]) -> str:
    """Return how the load checks stand in one or two sentences, the gravest named."""
    counts = {level: [c for c in checks if c.level == level] for level in LEVELS}
    if counts["stop"]:
        return (
            f"Stop: {_names(counts['stop'])}. Do not pour before that is mended. "
            f"Of the other {len(checks) - len(counts['stop'])}, {len(counts['caution'])} want care."
        )
    if counts["caution"]:
        return (
            f"Nothing stops it; mind {len(counts['caution'])} of {len(checks)} loads before you pour: "
            f"{_names(counts['caution'])}."
        )
    return f"All {len(checks)} loads pass; each has its working below." if checks else "No load calls for a check here."


def _names(checks: Sequence[LoadCheck]) -> str:
    names = [check.name for check in checks]
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def shopping_words(found: ShoppingList) -> str:
    """Return what the kits cost and what of that is left over, in a sentence or two."""
    cost, by_weight = found.cost.at(0), found.pro_rata.at(0)
    said = f"Kits for {castings(found.run)} cost {money_words(cost, found.currency)}, bought {found.rule}."
    if cost > by_weight * 1.005:
        more = money_words(cost - by_weight, found.currency)
        said += f" That is {more} more than by weight: what is left over in the kits."
    return said
