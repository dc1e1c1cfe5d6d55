"""The plan of a run as tables: who works, the molds, what one more would save, the finish dates, loads, kits."""

from __future__ import annotations

import datetime
import math
from collections.abc import Sequence

from moldkit.loads.check import LEVELS, LoadCheck
from moldkit.quantity import Quantity
from moldkit.study.finish_dates import TradeOff, Way
from moldkit.study.holdups import duration_words
from moldkit.study.run_plan import RunPlan
from moldkit.study.shopping import ShoppingLine, ShoppingList
from moldkit.units import MINUS, System, count_text, money_text, number_text, show
from moldkit.views.run_lanes import NOTHING, Kind, hours_by_kind, molds_of
from moldkit.views.shift_scale import day_words, moment_words

Rows = list[list[str]]
# What stands in the table of hours, and the kinds of work that go into it.
HOURS: tuple[tuple[str, tuple[Kind, ...]], ...] = (
    ("making molds, h", ("first molds", "remakes")),
    ("castings, h", ("castings", "set-up")),
)
# A safety factor beyond this says no more than that there is plenty.
PLENTY = 100.0


def hand_rows(plan: RunPlan) -> Rows:
    """Return the people and machines of a plan as rows of text: hours of work by kind, share of the time taken."""
    rows = [["who", *(heading for heading, _ in HOURS), "in all, h", "of the time"]]
    found = hours_by_kind(plan)
    for name, share in plan.utilisation.items():
        own = found.get(name)
        if own is None and name not in plan.hours:
            rows.append([name, *("" for _ in HOURS), "", _percent(share)])
            continue
        known = own or {}
        times = [sum((known.get(kind, NOTHING) for kind in kinds), NOTHING) for _, kinds in HOURS]
        rows.append([name, *(_hours(t) for t in times), _hours(sum(times, NOTHING)), _percent(share)])
    return rows


def _hours(time: datetime.timedelta) -> str:
    return f"{time.total_seconds() / 3600.0:.1f}"


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %"


def mold_use_rows(plan: RunPlan, again: str = "remake") -> Rows:
    """Return the molds of a plan as rows of text; again: what a remake is called."""
    rows = [["mold", "made as", "begun", "first pour", "last casting out of it", "pours"]]
    for use in molds_of(plan):
        made = "first" if use.number == 1 else "beside"
        if use.remake:
            made = f"{again} of mold {_before(plan, use.number)}"
        ready = "never" if use.ready is None else moment_words(use.ready)
        times = (moment_words(use.begun), ready, moment_words(use.last))
        rows.append([str(use.number), made, *times, count_text(use.pours)])
    return rows


def _before(plan: RunPlan, number: int) -> int:
    """Return the mold that was at a remade one's place before it."""
    uses = {use.number: use for use in molds_of(plan)}
    return max(n for n, use in uses.items() if n < number and use.place == uses[number].place)


def extra_rows(plan: RunPlan) -> Rows:
    """Return what one more of each would save, the greatest first, as rows of text."""
    rows = [["with", "last casting out", "that saves"]]
    for extra in plan.extras:
        late = extra.saved < datetime.timedelta(minutes=-1)
        saved = f"{MINUS}{duration_words(-extra.saved)}" if late else duration_words(extra.saved)
        little = abs(extra.saved) <= datetime.timedelta(minutes=1)
        rows.append([extra.what, moment_words(extra.finish), "nothing" if little else saved])
    return rows


def front_rows(trade: TradeOff, due: datetime.date | None, currency: str) -> Rows:
    """Return the ways that nothing beats, the cheapest first: date, technique, molds, cost, each earlier day's cost."""
    rows = [["last casting out", "technique", "molds", "first casting", f"cost, {currency}", "a day earlier costs"]]
    steps = {id(step.later): step for step in trade.earlier}
    for way in reversed(trade.front):
        step = steps.get(id(way))
        rows.append([*_way(way, due), "" if step is None else money_text(step.a_day, currency)])
    return rows


def way_rows(trade: TradeOff, due: datetime.date | None, currency: str) -> Rows:
    """Return every way as rows of text, those that nothing beats marked."""
    rows = [["last casting out", "technique", "molds", "first casting", f"cost, {currency}", ""]]
    return rows + [[*_way(way, due), "nothing beats it" if way.on_front else ""] for way in trade.ways]


def _way(way: Way, due: datetime.date | None) -> list[str]:
    late = ", too late" if due is not None and way.finish_date > due else ""
    day = f"{day_words(way.finish)}{late}"
    return [day, way.technique, str(way.molds), day_words(way.first_casting), money_text(way.cost.at(0))]


def graver_first(checks: Sequence[LoadCheck]) -> list[LoadCheck]:
    """Return load checks with those that stop the work first, then the cautions; else in the order of the work."""
    return sorted(checks, key=lambda check: -LEVELS.index(check.level))


def safety_text(safety: Quantity | None) -> str:
    """Return a safety factor in words; more than plenty is told as that."""
    if safety is None or not math.isfinite(safety.at(0)):
        return ""
    return f"over {PLENTY:.0f}" if safety.at(0) > PLENTY else number_text(safety.at(0), 2)


def shopping_rows(found: ShoppingList, system: System = "metric") -> Rows:
    """Return what is to be bought as rows of text, what serves again below it, and the sum."""
    rows = [["material", "for", "needed", "buy", "left over", f"cost, {found.currency}"]]
    rows += [_bought(line, system) for line in found.lines]
    rows.append(["together", "", "", "", "", money_text(found.cost.at(0))])
    return rows + [[*_bought(line, system)[:-1], "where the shop has none"] for line in found.at_hand]


def _bought(line: ShoppingLine, system: System) -> list[str]:
    needed, left = (show(q.at(0), q.unit, system) for q in (line.needed, line.left_over))
    kits = line.purchase.words_in(system) if line.sold_in_kits else "by measure"
    over = left if line.sold_in_kits else ""
    return [line.material, ", ".join(line.purposes), needed, kits, over, money_text(line.cost.at(0))]
