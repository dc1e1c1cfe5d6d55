"""The shop's calendar: when hands work. Cures, prints and rests run on through nights and days off."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import dataclass, field

from moldkit.errors import InputError

DAY = 86_400.0
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
# A stretch of work round the clock is handed out in pieces of at most so many days.
_LONGEST_STRETCH = 366


@dataclass(frozen=True)
class Calendar:
    """Working time: a shift on working weekdays that are no holidays, by the shop's own clock.

    start: the first day; hours_a_day: length of a shift [s], at most a day; day_starts: after midnight [s];
    working_days: 0 for Monday to 6 for Sunday; holidays: days off. A change to summer time is left out of account.
    Raises InputError where no day of the week is worked.
    """

    start: datetime.date
    hours_a_day: float = 8 * 3600.0
    day_starts: float = 8 * 3600.0
    working_days: frozenset[int] = frozenset(range(5))
    holidays: frozenset[datetime.date] = field(default_factory=frozenset)

    def __post_init__(self) -> None:
        if not self.working_days:
            raise InputError('working_days: the shop works on no day of the week; write for instance ["Monday"].')

    @property
    def round_the_clock(self) -> bool:
        """Whether hands are there at any hour of any day."""
        return self.hours_a_day >= DAY and len(self.working_days) == 7 and not self.holidays

    def works_on(self, day: datetime.date) -> bool:
        """Return whether a shift begins on a day."""
        return day.weekday() in self.working_days and day not in self.holidays

    def windows(self) -> Iterator[tuple[float, float]]:
        """Yield (opens, closes) of each stretch of working time, in order [s after midnight of the first day].

        Shifts that follow on each other without a break are one stretch. Raises InputError where the calendar's last
        year is passed.
        """
        if self.round_the_clock:
            yield 0.0, float("inf")
        number, opens, closes = 0, -1.0, -1.0
        while True:
            if self.works_on(self._date(number)):
                begins = number * DAY + self.day_starts
                if opens >= 0 and (begins > closes or closes - opens >= _LONGEST_STRETCH * DAY):
                    yield opens, closes
                    opens = -1.0
                opens = begins if opens < 0 else opens
                closes = begins + self.hours_a_day
            elif opens >= 0:
                yield opens, closes
                opens = -1.0
            number += 1

    def _date(self, number: int) -> datetime.date:
        try:
            return self.start + datetime.timedelta(days=number)
        except OverflowError:
            raise InputError(f"the run goes on past the year {datetime.MAXYEAR}; plan fewer castings.") from None

    def moment(self, seconds: float) -> datetime.datetime:
        """Return date and time of so many seconds after midnight of the first day; raises InputError past 9999."""
        midnight = datetime.datetime.combine(self.start, datetime.time())
        try:
            return midnight + datetime.timedelta(seconds=round(seconds))
        except OverflowError:
            raise InputError(f"the run goes on past the year {datetime.MAXYEAR}; plan fewer castings.") from None
