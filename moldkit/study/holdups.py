"""What holds a run up: what one more of everything would save, by planning it again with one more."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import dataclass, replace

from moldkit.economics.schedule.calendar import DAY, WEEKDAYS
from moldkit.economics.schedule.shop_time import Hands
from moldkit.economics.schedule.work import Task, Work
from moldkit.economics.schedule.working_time import SAME
from moldkit.shop import Person
from moldkit.study.run_work import RunWork

HOUR, SATURDAY = 3600.0, 5
# What saves less than this holds nothing up.
LEAST_SAVING = datetime.timedelta(hours=1)


@dataclass(frozen=True)
class Extra:
    """One more of something: what, of which kind ("hands", "molds", "machine", "calendar"), and what it saves.

    finish: with it; saved: how much earlier that is than without, below zero where the run would even end later.
    """

    what: str
    kind: str
    finish: datetime.datetime
    saved: datetime.timedelta


def extras(run: RunWork, molds: int, lives: tuple[int, ...] | None, finish: float) -> tuple[Extra, ...]:
    """Return what one more of each would save, the run planned again each time, the greatest saving first.

    lives: drawn lives of the molds, None for the planned one; finish: without any of them [s].
    """
    found = []
    for what, kind, more, side_by_side in _one_more(run, molds):
        own = None if lives is None else [*lives, *lives[-1:]]
        ends = more.simulated(side_by_side, own).finish
        moment = run.calendar.moment(ends)
        found.append(Extra(what, kind, moment, run.calendar.moment(finish) - moment))
    return tuple(sorted(found, key=lambda extra: -extra.saved))


def _one_more(run: RunWork, molds: int) -> Iterator[tuple[str, str, RunWork, int]]:
    work, hands = run.work, run.hands
    for skill in sorted({task.skill for task in _tasks(work)}):
        one = Person(f"another {skill}", frozenset({skill}))
        yield f"another pair of hands ({skill})", "hands", replace(run, hands=_with(hands, one)), molds
    if molds < work.pours:
        yield "another mold", "molds", run, molds + 1
    for machine in sorted({machine for task in _tasks(work) for machine in (*task.machines, *task.kept)}):
        machines = {**hands.machines, machine: hands.machines[machine] + 1}
        yield f"another {machine}", "machine", replace(run, hands=Hands(hands.people, machines)), molds
    calendar = run.calendar
    off = [day for day in (SATURDAY, *range(7)) if day not in calendar.working_days]
    if off:
        longer = replace(calendar, working_days=calendar.working_days | {off[0]})
        yield f"work on {WEEKDAYS[off[0]]}s", "calendar", replace(run, calendar=longer), molds
    if calendar.hours_a_day < DAY - SAME:
        longer = replace(calendar, hours_a_day=min(DAY, calendar.hours_a_day + HOUR))
        yield "an hour more a day", "calendar", replace(run, calendar=longer), molds


def _with(hands: Hands, person: Person) -> Hands:
    return Hands((*hands.people, person), hands.machines)


def _tasks(work: Work) -> tuple[Task, ...]:
    casting = work.casting
    return (*work.first, *work.beside, *work.again, casting.pour, casting.demold, *casting.after)


def bottleneck_words(found: tuple[Extra, ...]) -> str:
    """Return what holds the run up in one sentence: that of which one more saves most."""
    best = max(found, key=lambda extra: extra.saved, default=None)
    if best is None or best.saved < LEAST_SAVING:
        return "nothing but its steps and cures: one more of hands, molds, machines or hours saves next to nothing."
    name = best.what.removeprefix("another ").removeprefix("pair of ")
    held_up_by = {"hands": name, "molds": "molds", "machine": f"the {name}", "calendar": "the calendar"}[best.kind]
    more = f"to {best.what}" if best.what.startswith("work") else best.what
    return f"{held_up_by}: {more} would save {duration_words(best.saved)}."


def duration_words(span: datetime.timedelta) -> str:
    """Return a span of time in days or hours, as one says it."""
    hours = span.total_seconds() / 3600.0
    if hours >= 36:
        return f"{hours / 24:.0f} days"
    return f"{hours:.0f} hours" if hours >= 1.5 else f"{hours * 60:.0f} minutes"
