"""What a plan of a run had to do, or leaves to itself, that a shop should know."""

from __future__ import annotations

import datetime
from bisect import bisect_right
from collections.abc import Iterator

from moldkit.economics.schedule.done import Done
from moldkit.economics.schedule.work import POT, PRINTER
from moldkit.economics.schedule.working_time import SAME
from moldkit.study.run_work import RunWork

Span = tuple[float, float]
# What to do about a machine that runs while nobody is there: common practice, no source.
LEFT_ALONE = {
    POT: (
        "a pressure pot stands under pressure",
        "have somebody stay with it, pour earlier, or leave it only as its maker and your local rules allow",
    ),
    PRINTER: (
        "a printer runs",
        "look in on it, print in parts that fit the shift, or leave it only as its maker and your local rules allow",
    ),
}


def plan_notes(run: RunWork, done: Done, molds: int) -> tuple[str, ...]:
    """Return what a plan's reader should know of it, in sentences; molds: asked for side by side."""
    notes = [f"{words}: longer than a shift, it begins with the day and runs past its end." for words in done.too_long]
    begun = len(done.pours_by_place)
    if begun < molds:
        notes.append(f"{begun} of {molds} molds side by side are made: a further one would never be poured in.")
    if run.work.casting.cavities > 1:
        notes.append(
            "the masters for the further cavities are cast in a single mold that is made before this one: it stands in "
            "neither the times nor the cost of this plan."
        )
    if done.masters:
        notes.append(_masters_words(done.masters))
    return tuple(note[:1].upper() + note[1:] for note in (*notes, *_left_alone(run, done)))


def _masters_words(number: int) -> str:
    cast = "1 master is" if number == 1 else f"{number} masters are"
    return (
        f"the pattern is lost with the first mold: {cast} cast in molds that are made, each before the mold that it is "
        "for is begun. Each takes a pour of its mold's life; the cost counts its casting, not that pour."
    )


def _left_alone(run: RunWork, done: Done) -> Iterator[str]:
    """Yield a sentence for each kind of machine that runs while nobody is at work."""
    for machine, (what, advice) in LEFT_ALONE.items():
        waits = [
            (one.booking.ends, one.booking.ends + one.task.wait)
            for one in done.tasks
            if machine in one.task.kept and one.task.wait
        ]
        alone = _outside(run, sorted(waits))
        if alone:
            begins, ends = (_said(run.calendar.moment(moment)) for moment in alone[0])
            often = "once," if len(alone) == 1 else f"{len(alone)} times, first"
            yield f"{what} when nobody is at work, {often} from {begins} to {ends}: {advice}."


def _outside(run: RunWork, spans: list[Span]) -> list[Span]:
    """Return those of the spans that reach out of the working time, each from where it does [s]."""
    if not spans:
        return []
    opened, closed = [], []
    last = max(begins for begins, _ in spans)
    for opens, closes in run.calendar.windows():
        if opens > last + SAME:
            break
        opened.append(opens)
        closed.append(closes)
    found = []
    for begins, ends in spans:
        place = bisect_right(opened, begins + SAME) - 1
        closes = max(begins, closed[place]) if place >= 0 else begins
        if ends > closes + 60.0:
            found.append((closes, ends))
    return found


def _said(when: datetime.datetime) -> str:
    return f"{when:%a} {when.day} {when:%b}, {when:%H:%M}"
