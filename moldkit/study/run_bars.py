"""The bars of a run's plan: who or what is taken when, for which mold."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from moldkit.casting.plan import SESSION
from moldkit.economics.schedule.done import Done, TaskDone
from moldkit.study.run_work import RunWork


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar of a Gantt chart.

    who: a person, a machine with its number, or the mold itself where it waits by itself; mold: its number (0: none);
    attended: whether somebody works at it, else it cures, sets or prints; pour: the pour's number (0: none; below 0:
    that of a master cast in the place of a lost pattern); place: the mold's at the bench, from 1 on (0: no mold); made:
    whether the mold is the "first", "beside" it, or "remade" after a worn-out one ("": no mold).
    """

    who: str
    mold: int
    step: str
    start: datetime.datetime
    end: datetime.datetime
    attended: bool
    pour: int = 0
    place: int = 0
    made: str = ""


def bars_of(run: RunWork, done: Done) -> tuple[Bar, ...]:
    """Return the bars of a run in order of time: each stretch of work, and each wait after it."""
    bars = [bar for task in done.tasks for bar in (*_worked(run, task), *_waited(run, task))]
    return tuple(sorted(bars, key=lambda bar: (bar.start, bar.end, bar.who)))


def _worked(run: RunWork, done: TaskDone) -> list[Bar]:
    who = run.hands.people[done.booking.person].name
    moment, left, bars = run.calendar.moment, done.booking.setup, []
    for begins, ends in done.stretches:
        first = min(left, ends - begins)
        if first > 0:
            bars.append(Bar(who, 0, SESSION, moment(begins), moment(begins + first), True))
            left -= first
        if begins + first < ends:
            bars.append(_bar(who, done, done.task.words, moment(begins + first), moment(ends), True))
    return bars


def _bar(who: str, done: TaskDone, step: str, start: datetime.datetime, end: datetime.datetime, attended: bool) -> Bar:
    return Bar(who, done.mold, step, start, end, attended, done.pour, done.place, done.made)


def _waited(run: RunWork, done: TaskDone) -> list[Bar]:
    if not done.task.wait:
        return []
    number = dict(done.booking.machines)
    places = [f"{machine} {number[machine] + 1}" for machine in done.task.kept] or [f"mold {done.mold}"]
    moment, ends = run.calendar.moment, done.booking.ends
    words = f"wait after: {done.task.words}"
    return [_bar(place, done, words, moment(ends), moment(ends + done.task.wait), False) for place in places]
