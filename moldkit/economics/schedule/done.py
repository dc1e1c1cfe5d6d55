"""A run as it went: when castings were out, which molds were made, who worked how long."""

from __future__ import annotations

from dataclasses import dataclass

from moldkit.economics.schedule.floor import Booking
from moldkit.economics.schedule.work import Task

FIRST, BESIDE, REMADE = MADE_AS = ("first", "beside", "remade")


@dataclass(frozen=True, slots=True)
class TaskDone:
    """One task as it was done: for which mold (by number) and which pour, and its booking.

    pour: its number, 0 for the making of a mold, below 0 for that of a master casting; stretches: (from, to) of each
    stretch in which it was worked at [s]; place: the mold's at the bench, from 1 on; made: whether it is the "first"
    mold, one "beside" it, or "remade" after a worn-out one.
    """

    task: Task
    mold: int
    pour: int
    booking: Booking
    stretches: tuple[tuple[float, float], ...]
    place: int
    made: str


@dataclass(frozen=True)
class Done:
    """A run as it went; times in s after midnight of the first day.

    out: when each pour's castings were finished, in order; made: when each mold was made, in order; molds: how many
    were begun; pours_by_place: pours in each place at the bench that had a mold, masters apart; setups: working days on
    which castings were poured; worked: attended time of each person; held: time that machines of each kind were held;
    too_long: words of the whole tasks that were longer than a shift; masters: castings made in the place of a lost
    pattern; tasks: every task, if they were kept.
    """

    out: tuple[float, ...]
    made: tuple[float, ...]
    molds: int
    pours_by_place: tuple[int, ...]
    setups: int
    worked: tuple[float, ...]
    held: dict[str, float]
    too_long: tuple[str, ...]
    masters: int = 0
    tasks: tuple[TaskDone, ...] = ()

    @property
    def finish(self) -> float:
        """When the last casting was finished [s]: no pour before it has as many good ones as are wanted."""
        return self.out[-1]
