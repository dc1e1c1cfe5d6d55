"""A scale of time on which shifts are drawn as wide as they are, nights and days off narrow."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Hashable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from moldkit.economics.schedule.shop_time import calendar_of
from moldkit.study.compare import Comparison

Moment = datetime.datetime
Shift = tuple[Moment, Moment]
HOUR = 3600.0
# A stretch off is drawn as this share of its length, and never wider than so many hours of a shift.
OFF_SHARE, OFF_MOST = 1 / 6, 4.0
# Beyond so many working days only weeks are named, and beyond so many only months.
EVERY_DAY, EVERY_WEEK = 16, 80
# Ticks nearer to the next than this share of the axis are left out.
CROWDED = 0.045


def shifts_of(result: Comparison, start: datetime.date, until: Moment) -> tuple[Shift, ...]:
    """Return (opens, closes) of the shop's working time from a day on, until past a moment; at least one."""
    calendar = calendar_of(result.shop, start)
    found: list[Shift] = []
    for opens, closes in calendar.windows():
        begins = calendar.moment(opens)
        if found and begins > until:
            break
        found.append((begins, until if closes == float("inf") else calendar.moment(closes)))
    return tuple(found)


@dataclass(frozen=True)
class Tick:
    """A named day on the axis: its place, its words."""

    x: float
    words: str


class ShiftScale:
    """Moments as places on an axis, in hours of a shift from the first opening on."""

    def __init__(self, shifts: Sequence[Shift]) -> None:
        """Take the working time in order, without overlap."""
        self.shifts = tuple(shifts)
        self.start = shifts[0][0]
        self._seconds, self._places = [0.0], [0.0]
        for number, (opens, closes) in enumerate(shifts):
            if number:
                off = self._since(opens) - self._seconds[-1]
                self._go_to(opens, min(OFF_SHARE * off / HOUR, OFF_MOST))
            self._go_to(closes, (closes - opens).total_seconds() / HOUR)

    def _go_to(self, moment: Moment, wide: float) -> None:
        self._seconds.append(self._since(moment))
        self._places.append(self._places[-1] + wide)

    def _since(self, moment: Moment) -> float:
        return (moment - self.start).total_seconds()

    def at(self, moment: Moment) -> float:
        """Return the place of a moment [h]; before the first shift and after the last it stays at the end."""
        return float(np.interp(self._since(moment), self._seconds, self._places))

    @property
    def end(self) -> float:
        """The place at which the last shift closes [h]."""
        return self._places[-1]

    def off(self) -> Iterator[tuple[float, float, bool]]:
        """Yield (from, to, whole days off) of each stretch between two shifts [h]."""
        for (_, closes), (opens, _) in zip(self.shifts, self.shifts[1:], strict=False):
            yield self.at(closes), self.at(opens), (opens.date() - closes.date()).days > 1

    def ticks(self) -> list[Tick]:
        """Return the days to be named: every working day, every week's first, or every month's first."""
        firsts = {opens.date(): opens for opens, _ in reversed(self.shifts)}
        days, form = sorted(firsts), "%a<br>{day} %b"
        if len(days) > EVERY_WEEK:
            days, form = _first_of(days, lambda day: (day.year, day.month)), "%b<br>%Y"
        elif len(days) > EVERY_DAY:
            days, form = _first_of(days, lambda day: day.isocalendar()[:2]), "{day} %b"
        found = [Tick(self.at(firsts[day]), day.strftime(form).format(day=day.day)) for day in days]
        # Of two that would stand in each other the later one stays.
        nexts = [*(tick.x for tick in found[1:]), float("inf")]
        return [tick for tick, after in zip(found, nexts, strict=True) if after - tick.x > CROWDED * self.end]


def _first_of(days: Sequence[datetime.date], group: Callable[[datetime.date], Hashable]) -> list[datetime.date]:
    """Return the first day of each group of days; group: from a day to what those of a group share."""
    found: dict[Hashable, datetime.date] = {}
    for day in days:
        found.setdefault(group(day), day)
    return list(found.values())


def day_words(when: datetime.date) -> str:
    """Return a day as one says it: "Fri 11 Dec"."""
    return f"{when:%a} {when.day} {when:%b}"


def moment_words(when: Moment) -> str:
    """Return a moment as one says it: "Fri 11 Dec, 13:25"."""
    return f"{day_words(when)}, {when:%H:%M}"
