"""Works, crews and calendars drawn at random for the tests of the schedule, and a floor round the clock."""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import pairwise

from hypothesis import strategies as st

from moldkit.economics.schedule.calendar import Calendar
from moldkit.economics.schedule.floor import Floor, Kind
from moldkit.economics.schedule.work import CHAMBER, POT, PRINTER, Castings, Crew, Task, Work

HOUR = 3600.0
SKILLS = ("mold maker", "caster", "helper")
ALL = frozenset(SKILLS)
MONDAY = datetime.date(2026, 11, 30)


def floor_round_the_clock(people: Sequence[frozenset[str]], kinds: Iterable[Kind]) -> Floor:
    """Return a floor on which hands are there at any hour."""
    return Floor([(0.0, float("inf"))], float("inf"), people, {}, tuple(kinds))


def overlaps(spans: Iterable[tuple[float, float]]) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """Return neighbours in time of which the second begins before the first ends."""
    ordered = sorted(span for span in spans if span[1] > span[0])
    return [(one, next_) for one, next_ in pairwise(ordered) if next_[0] < one[1] - 1e-3]


HOURS = st.integers(0, 40).map(lambda quarters: quarters * 900.0)
SHORT = st.integers(1, 40).map(lambda eighths: eighths * 450.0)


@st.composite
def _tasks(draw: st.DrawFn, words: str, least: int) -> tuple[Task, ...]:
    found = []
    for n in range(draw(st.integers(least, 4))):
        printed = draw(st.booleans()) and n == 0
        found.append(
            Task(
                f"{words} {n + 1}",
                draw(SHORT),
                draw(HOURS),
                draw(st.sampled_from(SKILLS)),
                draw(st.booleans()),
                (CHAMBER,) if draw(st.booleans()) else (),
                (PRINTER,) if printed else (POT,) if draw(st.integers(0, 3)) == 0 else (),
                not printed,
            )
        )
    if all(not task.on_pattern for task in found):
        found[-1] = replace(found[-1], on_pattern=True)
    return tuple(found)


@st.composite
def works(draw: st.DrawFn) -> Work:
    """Draw the work of a run: three chains of a mold's tasks, the castings' tasks and habits."""
    cavities = draw(st.integers(1, 3))
    good = draw(st.sampled_from([1.0, 0.9, 0.5]))
    pour = Task(
        "pour", draw(SHORT), draw(HOURS), "caster", True, (CHAMBER,) if draw(st.booleans()) else (),
        (POT,) if draw(st.booleans()) else (),
    )  # fmt: skip
    after = tuple(Task(f"finish {n}", draw(SHORT), 0.0, "helper") for n in range(draw(st.integers(0, 2))))
    casting = Castings(
        pour, Task("demold", draw(SHORT), 0.0, draw(st.sampled_from(SKILLS))), after,
        draw(st.sampled_from([0.0, 1800.0])), draw(HOURS), draw(st.integers(0, 2)), good, cavities,
        draw(st.sampled_from([1.0, 0.9])),
    )  # fmt: skip
    wanted = draw(st.integers(1, 25))
    pours = math.ceil(wanted / (cavities * good) - 1e-9)
    chains = [draw(_tasks(words, least)) for words, least in (("make", 1), ("make beside", 1), ("remake", 1))]
    shared = draw(st.booleans())
    first, beside, again = chains
    return Work(first, beside, again, casting, pours, wanted, draw(st.integers(1 if shared else 2, 8)), shared)


@st.composite
def crews(draw: st.DrawFn) -> Crew:
    """Draw people who together can do everything, and machines."""
    people = draw(st.lists(st.sets(st.sampled_from(SKILLS), min_size=1).map(frozenset), min_size=0, max_size=4))
    people.insert(draw(st.integers(0, len(people))), ALL)
    machines = {name: draw(st.integers(1, 3)) for name in (POT, CHAMBER, PRINTER)}
    return Crew(tuple(people), machines)


@st.composite
def calendars(draw: st.DrawFn) -> Calendar:
    """Draw a calendar: a shift of 2 to 24 hours, some weekdays, some days off."""
    days = draw(st.sets(st.integers(0, 6), min_size=1).map(frozenset))
    off = draw(st.sets(st.integers(0, 20), max_size=4))
    hours = draw(st.sampled_from([2.0, 5.5, 8.0, 16.0, 24.0]))
    starts = draw(st.sampled_from([0.0, 8.0, 22.0]))
    holidays = frozenset(MONDAY + datetime.timedelta(days=n) for n in off)
    return Calendar(MONDAY, hours * HOUR, starts * HOUR, days, holidays)
