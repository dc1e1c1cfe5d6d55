"""When a run is out: the days of the first casting and of the last, for runs of many lengths.

Not every run is planned by itself. Where one mold at a time is made from a pattern that stays, a shorter run is the
beginning of a longer one, and few plans tell all; more are made where castings are finished for the client, which waits
while there is something to pour. Otherwise a plan hangs on the run: no mold is begun or remade that would not be
needed. There every run of up to 20 pours is planned, then some, and among them those that leave no mold with a pour to
spare, which take longest for their pours: a run with one pour more may be out days sooner, by one mold more. A run
between takes its date from the next longer one planned, and none is dated before a shorter one.
"""

from __future__ import annotations

import datetime
from bisect import bisect_right
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from types import MappingProxyType

from moldkit.economics.schedule.calendar import Calendar
from moldkit.economics.schedule.shop_time import Hands
from moldkit.economics.schedule.work import Work
from moldkit.errors import InputError
from moldkit.shop import Person
from moldkit.study.assess import Outcome, pours_for
from moldkit.study.compare import Comparison
from moldkit.study.planned_work import with_finish, work_of
from moldkit.study.quote_costs import Finish
from moldkit.study.run_work import RunWork

# A longer run is not planned hour by hour [pours].
MOST_PLANNED = 10_000
# Every run is planned up to here [pours]; then each is so many times the one before, at most.
EACH_TO = 20
APART, APART_AMONG_REMAKES, APART_ALONE = 1.25, 1.125, 2.0
NO_FINISH = Finish()
# Plans' dates that are kept for when they are asked for again.
KEPT = 128


@dataclass(frozen=True)
class Dates:
    """The days on which the first and the last casting of a run are out."""

    first_casting: datetime.date
    delivery: datetime.date

    def not_before(self, other: Dates | None) -> Dates:
        """Return the dates, each no earlier than another one's."""
        if other is None:
            return self
        return Dates(max(self.first_casting, other.first_casting), max(self.delivery, other.delivery))


def run_dates(
    result: Comparison, outcome: Outcome, runs: Iterable[int], start: datetime.date, finish: Finish = NO_FINISH
) -> dict[int, Dates]:
    """Return the dates of runs by one technique with the job's molds side by side; a run too long to plan has none.

    start: first day; finish: of each casting, before it is out. The same run has the same dates whatever others are
    asked for, and none has earlier ones than a shorter run. A shop whose hands or machines cannot do the work at all
    has no dates.
    """
    pours = {run: int(pours_for(result.case, outcome.plan.cavities, run)) for run in set(runs)}
    wanted = tuple(sorted({each for each in pours.values() if each <= MOST_PLANNED}))
    try:
        one = with_finish(work_of(replace(result, case=replace(result.case, run=1)), outcome, start), finish)
    except InputError:
        return {}
    hands = one.hands
    found = _dates(
        replace(one.work, pours=1), hands.people, tuple(hands.machines.items()), one.calendar, result.case.molds, wanted
    )
    return {run: found[each] for run, each in pours.items() if each in found}


# The same work comes back with finishes that take as long, and with every part of what is given to a client.
@lru_cache(maxsize=KEPT)
def _dates(
    work: Work,
    people: tuple[Person, ...],
    machines: tuple[tuple[str, int], ...],
    calendar: Calendar,
    molds: int,
    wanted: tuple[int, ...],
) -> Mapping[int, Dates]:
    """Return dates by pours; wanted: in order. They end where longer runs cannot be made."""
    run = RunWork(work, Hands(people, dict(machines)), calendar)
    found: dict[int, Dates] = {}
    latest, before = None, 0
    for planned in planned_pours(run.work, molds, wanted[-1]) if wanted else ():
        spare = _spare(run.work, molds, before, planned)
        between = wanted[bisect_right(wanted, before) : bisect_right(wanted, planned)]
        try:
            out = replace(run, work=replace(run.work, pours=planned)).simulated(molds).out
            first, *last = (
                run.calendar.moment(out[min(planned, pours) - 1]).date()
                for pours in (1, *(pours + spare for pours in between), planned)
            )
        except InputError:
            break
        found |= {pours: Dates(first, day).not_before(latest) for pours, day in zip(between, last, strict=False)}
        latest, before = Dates(first, last[-1]).not_before(latest), planned
    return MappingProxyType(found)


def _spare(work: Work, molds: int, before: int, planned: int) -> int:
    """Return how many pours later in its plan a run is dated, of those longer than `before` and shorter than planned.

    None where the same molds are made for them all. Else a run between may end with one mold that gives all its pours
    while the others are worn out: meanwhile these would have given as many each.
    """
    full = _no_pour_to_spare(work, molds)
    return (molds - 1) * work.life if full and _first_of(full, before + 1) < planned else 0


def planned_pours(work: Work, molds: int, most: int) -> Iterator[int]:
    """Yield how long the runs are that are planned [pours], in order, until one has at least `most`.

    work: of a run of any length; molds: side by side. What is yielded doesn't change with `most`, as far as it goes.
    """
    full = _no_pour_to_spare(work, molds)
    if not full and work.casting.finish is None:
        at = EACH_TO
        while at < most:
            yield at
            at = int(at * APART_ALONE)
        yield at
        return
    yield from range(1, min(most, EACH_TO) + 1)
    at = EACH_TO
    while at < most:
        at = _next_planned(full, at)
        yield at


def _next_planned(full: range, at: int) -> int:
    """Return the pours of the run that is planned next after one of `at` pours."""
    if not full:
        return int(at * APART)
    if full.step > (APART_AMONG_REMAKES - 1) * at:
        return min(_first_of(full, at + 1), int(at * APART))
    return _first_of(full, int(at * APART_AMONG_REMAKES))


def _no_pour_to_spare(work: Work, molds: int) -> range:
    """Return how many pours one, two ... whole molds give; none where a shorter run begins like any longer one.

    Where the pattern is lost each mold but the last gives a pour for a master.
    """
    if molds == 1 and work.shared_pattern:
        return range(0)
    more = work.life if work.shared_pattern else max(1, work.life - 1)
    return range(work.life, 2 * MOST_PLANNED + work.life, more)


def _first_of(full: range, least: int) -> int:
    return full[max(0, -(-(least - full.start) // full.step))]
