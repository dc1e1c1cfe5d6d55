"""Where the schedule stands in the working time: the present stretch, the next one, what goes on past its end."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Iterator

from moldkit.economics.schedule.calendar import DAY

# Two moments nearer than this are the same [s].
SAME = 1e-6


class WorkingTime:
    """Stretches of working time, taken from the calendar as far as they are needed; times in s.

    opens, closes: of the present stretch, the one that is worked in or the next to come.
    """

    def __init__(self, windows: Iterable[tuple[float, float]]) -> None:
        """Take the stretches (opens, closes) in order; the first is the present one."""
        self._windows: Iterator[tuple[float, float]] = iter(windows)
        self._opens: list[float] = []
        self._closes: list[float] = []
        self._place = -1
        self._next()

    def _next(self) -> None:
        self._place += 1
        self.opens, self.closes = self._stretch(self._place)

    def _stretch(self, place: int) -> tuple[float, float]:
        while len(self._opens) <= place:
            opens, closes = next(self._windows)
            self._opens.append(opens)
            self._closes.append(closes)
        return self._opens[place], self._closes[place]

    def reach(self, now: float) -> bool:
        """Move on to a moment [s], never back; return whether it is working time."""
        while now >= self.closes - SAME:
            self._next()
        return now >= self.opens - SAME

    def opens_next(self) -> float:
        """Return when the stretch after the present one opens [s]."""
        return self._stretch(self._place + 1)[0]

    def day(self, now: float) -> int:
        """Return the number of the working day at a moment of the present stretch: a stretch may be several days."""
        return self._place * 1_000 + int((now - self.opens + SAME) // DAY)

    def goes_on_to(self, now: float, attended: float) -> float:
        """Return when work that begins now and is laid down at the end of each stretch is done [s]."""
        left, place = attended - (self.closes - now), self._place
        while True:
            place += 1
            opens, closes = self._stretch(place)
            if left <= closes - opens + SAME:
                return opens + left
            left -= closes - opens

    def worked(self, begins: float, ends: float) -> list[tuple[float, float]]:
        """Return (from, to) of each stretch that lies between two moments, the outer ones cut there [s]."""
        found = []
        place = max(0, bisect_right(self._opens, begins + SAME) - 1)
        while place < len(self._opens) and self._opens[place] < ends - SAME:
            found.append((max(self._opens[place], begins), min(self._closes[place], ends)))
            place += 1
        return found or [(begins, ends)]
