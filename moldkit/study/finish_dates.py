"""Cost against finish date: techniques and molds side by side, what a date costs, what every earlier day costs."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise

from moldkit.errors import InputError
from moldkit.quantity import Quantity
from moldkit.study.assess import Outcome
from moldkit.study.case import MOST_MOLDS
from moldkit.study.compare import Comparison
from moldkit.study.plan_cost import plan_cost
from moldkit.study.planned_work import why_not_planned, work_of
from moldkit.study.run_work import start_of

MOST_SIDE_BY_SIDE = 20
Progress = Callable[[float], None]


@dataclass(frozen=True)
class Way:
    """One way to do the run: a technique with so many molds side by side.

    molds_made: as planned, with remakes; cost: expected; on_front: no other way is both as early and as cheap.
    """

    technique: str
    molds: int
    first_casting: datetime.datetime
    finish: datetime.datetime
    molds_made: int
    cost: Quantity
    on_front: bool = False

    @property
    def finish_date(self) -> datetime.date:
        """The day on which the last casting is out."""
        return self.finish.date()


@dataclass(frozen=True)
class Earlier:
    """What the next earlier finish costs: the way from, the way to, days won, cost more, cost for each of the days."""

    later: Way
    earlier: Way
    days: int
    more: float
    a_day: float


@dataclass(frozen=True)
class TradeOff:
    """Cost against finish date over techniques and molds side by side.

    ways: by technique in the comparison's order, then by molds; a technique's end where a further mold would never be
    begun. left_out: (technique, why) of those ruled out or without a life.
    """

    start: datetime.date
    ways: tuple[Way, ...]
    left_out: tuple[tuple[str, str], ...]

    @cached_property
    def front(self) -> tuple[Way, ...]:
        """The ways that are neither later nor dearer than another, the earliest first."""
        return tuple(sorted((way for way in self.ways if way.on_front), key=lambda way: way.finish_date))

    @cached_property
    def earlier(self) -> tuple[Earlier, ...]:
        """What every earlier day costs, along the front from the cheapest way to the earliest."""
        found = []
        for early, late in pairwise(self.front):
            days, more = (late.finish_date - early.finish_date).days, early.cost.at(0) - late.cost.at(0)
            found.append(Earlier(late, early, days, more, more / days))
        return tuple(reversed(found))

    def cheapest_by(self, date: datetime.date) -> Way | None:
        """Return the cheapest way whose last casting is out on a day at the latest; None where none is."""
        in_time = [way for way in self.front if way.finish_date <= date]
        return in_time[-1] if in_time else None

    @property
    def soonest(self) -> Way | None:
        """The earliest finish, the cheapest way to it; None where nothing is feasible."""
        return self.front[0] if self.front else None


def trade_off(
    result: Comparison,
    *,
    start: datetime.date | None = None,
    most_molds: int = MOST_SIDE_BY_SIDE,
    people: int | None = None,
    pots: int | None = None,
    chambers: int | None = None,
    progress: Progress | None = None,
) -> TradeOff:
    """Return cost against finish date of the feasible techniques, each with 1 to `most_molds` molds side by side.

    start: first day, else the job's, else today; people, pots, chambers: in place of the job's and the shop's numbers;
    progress: called with the finished share, 0 to 1. Raises InputError for a number out of bounds, or hands and
    machines that are not there.
    """
    if isinstance(most_molds, bool) or most_molds != int(most_molds) or not 1 <= most_molds <= MOST_MOLDS:
        raise InputError(f"most molds: {most_molds!r}; give a whole number from 1 to {MOST_MOLDS}.")
    tell = progress or (lambda share: None)
    begins = start_of(result.case, start)
    able = [outcome for outcome in result.outcomes if not why_not_planned(result, outcome)]
    ways: list[Way] = []
    for number, outcome in enumerate(able):
        for way in _ways(result, outcome, begins, most_molds, people, pots, chambers):
            ways.append(way)
            tell((number + way.molds / most_molds) / len(able))
    tell(1.0)
    left_out = tuple((o.name, why) for o in result.outcomes if (why := why_not_planned(result, o)))
    return TradeOff(begins, marked(ways), left_out)


def _ways(
    result: Comparison,
    outcome: Outcome,
    start: datetime.date,
    most_molds: int,
    people: int | None,
    pots: int | None,
    chambers: int | None,
) -> Iterator[Way]:
    """Yield one technique's ways with one mold more each time, until a further one would never be begun."""
    run = work_of(result, outcome, start, people, pots, chambers)
    alone = run.simulated(1)
    moment = run.calendar.moment
    for molds in range(1, most_molds + 1):
        done = alone if molds == 1 else run.simulated(molds)
        if len(done.pours_by_place) < molds:
            return
        cost, _ = plan_cost(result, outcome, run.work, done, alone)
        yield Way(outcome.name, molds, moment(done.out[0]), moment(done.finish), done.molds, cost)


def marked(ways: Sequence[Way]) -> tuple[Way, ...]:
    """Return the ways with those marked that no other one beats: finish date against cost.

    Of two with the same date and cost the one with fewer molds, then the one named first, stays.
    """
    order = sorted(range(len(ways)), key=lambda n: (ways[n].finish_date, ways[n].cost.at(0), ways[n].molds, n))
    best, kept = float("inf"), set()
    for n in order:
        if ways[n].cost.at(0) < best - 1e-9 * (1.0 + abs(ways[n].cost.at(0))):
            best = ways[n].cost.at(0)
            kept.add(n)
    return tuple(replace(way, on_front=n in kept) for n, way in enumerate(ways))
