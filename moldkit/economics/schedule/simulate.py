"""The run simulated: molds are made, poured, demolded, rested, worn out and remade until the castings are out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain as joined
from itertools import repeat
from typing import Any

from moldkit.economics.schedule.calendar import DAY, Calendar
from moldkit.economics.schedule.done import MADE_AS, Done, TaskDone
from moldkit.economics.schedule.floor import Floor
from moldkit.economics.schedule.learning import unit_factors
from moldkit.economics.schedule.lines import Lines
from moldkit.economics.schedule.masters import Masters
from moldkit.economics.schedule.work import PATTERN, Crew, Task, Work

# What a token says was done: a task of a mold, its wait, a pour, its cure, a demolding, a rest, a task off the mold.
_MADE, _SET, _POURED, _CURED, _OUT, _RESTED, _AFTER = range(7)
_FIRST, _BESIDE, _AGAIN = range(3)


@dataclass(slots=True)
class _Place:
    """A place at the bench for one mold at a time: its mold's number, pours begun and life, what it keeps.

    age: pours begun with this mold, masters among them; pours: begun in this place, without the masters.
    """

    mold: int = 0
    age: int = 0
    life: int = 0
    pours: int = 0
    poured_on: int = -1
    in_use: bool = False
    kept: tuple[int, ...] = ()
    pattern: int = -1


def simulate(
    work: Work,
    crew: Crew,
    calendar: Calendar,
    molds: int,
    *,
    lives: Sequence[int] | None = None,
    keep_tasks: bool = False,
) -> Done:
    """Return the run as it goes with so many molds side by side.

    Hands go first to taking castings out, then to finishing the first casting, to making molds, to pouring, and last to
    finishing castings. Molds are begun one after another, as the pattern (or the printer) comes free; none is begun
    when every pour has its mold. Any mold that is ready takes the next pour. A worn-out mold is remade if more pours
    are left than the other molds are expected to give. A machine is kept from the begin of a pour to the end of its
    cure. Where the pattern is lost with the first mold, molds that are made cast the masters for the further ones, and
    each of these is begun when its master is finished. lives: [pours] of the molds in the order they are begun, in
    place of `work.life` for each; further ones have `work.life`. Raises InputError where nobody has a skill, a machine
    is missing, or the calendar ends.
    """
    return _Run(work, crew, calendar, molds, lives, keep_tasks).done()


class _Run:
    """A run in work: the places at the bench, the counts, the floor."""

    def __init__(
        self, work: Work, crew: Crew, calendar: Calendar, molds: int, lives: Sequence[int] | None, keep_tasks: bool
    ) -> None:
        self._work, self._casting, self._keep = work, work.casting, keep_tasks
        self._lives: Iterator[int] = joined(() if lives is None else lives, repeat(work.life))
        self._masters, self._of_master = Masters(), work.casting.of_a_master()
        self._after, self._of_master_after = work.casting.sold_after, self._of_master[2]
        self._origin: list[tuple[int, int]] = []
        self._chains = (work.first, work.beside, work.again)
        self._hands = [*unit_factors(work.pours, work.casting.learning)] if work.casting.learning < 1 else None
        self._lines = lines = Lines(work)
        patterns = 1 if work.shared_pattern else molds + work.pours
        self._floor = Floor(
            calendar.windows(), calendar.hours_a_day, crew.skills, {**crew.machines, PATTERN: patterns}, lines.kinds,
            keep_bookings=keep_tasks, begins_from=self._rested_from,
        )  # fmt: skip
        self._places = [_Place() for _ in range(molds)]
        self._begun = self._poured = self._molds = 0
        self._out: list[float] = []
        self._made: list[float] = []
        self._steps = {
            _MADE: self._task_made, _SET: self._task_set, _POURED: self._was_poured, _CURED: self._cured,
            _OUT: self._taken_out, _RESTED: self._rested, _AFTER: self._worked_on,
        }  # fmt: skip

    def done(self) -> Done:
        """Work the run off and return how it went."""
        self._begin_next()
        steps = self._steps
        self._floor.run(lambda token, now, held: steps[token[0]](token, now, held))
        floor = self._floor
        return Done(
            tuple(self._out), tuple(self._made), self._molds,
            tuple(place.pours for place in self._places[: self._begun]), floor.setups, tuple(floor.worked),
            floor.held, tuple(dict.fromkeys(self._lines.words[kind] for kind in sorted(floor.overran))),
            self._masters.begun, tuple(self._told()),
        )  # fmt: skip

    # Making molds

    def _begin_next(self) -> None:
        """Begin the mold of the next place, if there is one and a pour left for it."""
        if self._begun < len(self._places) and self._poured < self._work.pours:
            self._begun += 1
            self._begin_mold(self._begun - 1, _FIRST if self._begun == 1 else _BESIDE)

    def _begin_mold(self, number: int, chain: int) -> None:
        place = self._places[number]
        self._molds += 1
        self._origin.append((number + 1, chain))
        place.mold, place.age, place.life, place.poured_on = self._molds, 0, next(self._lives), -1
        place.in_use = True
        self._make_task(number, chain, 0)

    def _make_task(self, number: int, chain: int, index: int) -> None:
        task = self._chains[chain][index]
        token = (_MADE, number, chain, index, self._places[number].mold)
        self._floor.ask(self._lines.make[chain][index], task.attended, token)

    def _task_made(self, token: Any, now: float, held: tuple[int, ...]) -> None:
        _, number, chain, index, mold = token
        if index == self._lines.heads[chain]:
            self._places[number].pattern, held = held[-1], held[:-1]
        wait = self._chains[chain][index].wait
        after = (_SET, number, chain, index, mold, held)
        if wait:
            self._floor.at(now + wait, after)
        else:
            self._task_set(after, now, ())

    def _task_set(self, token: Any, now: float, _: tuple[int, ...]) -> None:
        _, number, chain, index, _, held = token
        for machine, own in zip(self._chains[chain][index].kept, held, strict=True):
            self._floor.let_go(machine, own)
        last = index + 1 == len(self._chains[chain])
        if last:
            self._mold_made(number, now)
        else:
            self._make_task(number, chain, index + 1)
        free_for_next = index + 1 == self._lines.heads[chain] or (last and not self._lines.heads[chain])
        if self._work.shared_pattern and chain != _AGAIN and free_for_next:
            self._begin_next()

    def _mold_made(self, number: int, now: float) -> None:
        place = self._places[number]
        if place.pattern >= 0:
            self._floor.let_go(PATTERN, place.pattern)
            place.pattern = -1
        self._made.append(now)
        self._next_pour(number)

    # Casting

    def _next_pour(self, number: int) -> None:
        """Have a ready mold take the next pour, if one is left, or cast a master first."""
        place = self._places[number]
        if self._poured >= self._work.pours:
            place.in_use = False
            return
        if self._casts_a_master(place):
            pour = self._masters.begin()
        else:
            pour = self._poured = self._poured + 1
            place.pours += 1
        place.age += 1
        self._floor.ask(self._lines.pour, self._by_hand(self._casting.pour, pour), (_POURED, number, pour, place.mold))

    def _casts_a_master(self, place: _Place) -> bool:
        """Return whether a ready mold's next pour is a master: one is wanted, or it is the last mold's last pour."""
        if self._work.shared_pattern:
            return False
        masters, left = self._masters, self._work.pours - self._poured
        alive = any(each.in_use and each.age < each.life for each in self._places if each is not place)
        if left > 1 and place.age + 1 >= place.life and not (alive or masters.shelf or masters.in_work):
            return True
        in_use = sum(each.in_use for each in self._places)
        return masters.next_pour_is_one(
            left=left, places_left=len(self._places) - self._begun, in_use=in_use, expected=self._expected(),
            life=self._work.life,
        )  # fmt: skip

    def _by_hand(self, task: Task, pour: int) -> float:
        return task.attended if self._hands is None or pour < 0 else task.attended * self._hands[pour - 1]

    def _rested_from(self, token: Any, now: float) -> float:
        """Return the moment from which a mold may be poured, its rest days kept."""
        place, today = self._places[token[1]], int(now // DAY)
        rested = place.poured_on + self._casting.rest_days + 1
        if 0 <= place.poured_on < today < rested:
            return float(rested * DAY)
        place.poured_on = today
        return now

    def _was_poured(self, token: Any, now: float, held: tuple[int, ...]) -> None:
        _, number, pour, mold = token
        self._places[number].kept = held
        self._floor.at(now + self._casting.pour.wait, (_CURED, number, pour, mold))

    def _cured(self, token: Any, now: float, _: tuple[int, ...]) -> None:
        _, number, pour, mold = token
        for machine, own in zip(self._casting.pour.kept, self._places[number].kept, strict=True):
            self._floor.let_go(machine, own)
        demold = self._casting.demold
        self._floor.ask(self._lines.demold, self._by_hand(demold, pour), (_OUT, number, pour, mold))

    def _taken_out(self, token: Any, now: float, _: tuple[int, ...]) -> None:
        _, number, pour, mold = token
        self._work_on(pour, 0, mold, now)
        place = self._places[number]
        if place.age >= place.life:
            place.in_use = False
            if self._work.pours - self._poured > self._expected():
                self._remake(number)
        elif self._casting.rest:
            self._floor.at(now + self._casting.rest, (_RESTED, number))
        else:
            self._next_pour(number)

    def _remake(self, number: int) -> None:
        """Begin the remake of a worn-out mold; where the pattern is lost, when there is a master for it."""
        if self._work.shared_pattern or self._masters.taken():
            self._begin_mold(number, _AGAIN)
        else:
            self._masters.waiting.append(number)

    def _master_finished(self) -> None:
        """Begin the mold that a master was waited for: a remake first, else the next place's."""
        masters = self._masters
        masters.finished()
        if self._poured >= self._work.pours:
            return
        if masters.waiting:
            masters.taken()
            self._begin_mold(masters.waiting.popleft(), _AGAIN)
        elif self._begun < len(self._places):
            masters.taken()
            self._begin_next()

    def _expected(self) -> int:
        """Return the pours that the molds in use, those in the making and those still to be begun should give."""
        life = self._work.life
        still = len(self._places) - self._begun + len(self._masters.waiting)
        return still * life + sum(max(0, life - place.age) for place in self._places if place.in_use)

    def _rested(self, token: Any, now: float, _: tuple[int, ...]) -> None:
        self._next_pour(token[1])

    def _work_on(self, pour: int, index: int, mold: int, now: float) -> None:
        """Put what follows off the mold in line, or count the castings as out."""
        after = self._after if pour >= 0 else self._of_master_after
        if index == len(after):
            if pour < 0:
                self._master_finished()
            else:
                self._out.append(now)
            return
        kinds = self._lines.first_after if pour <= 1 else self._lines.after
        self._floor.ask(kinds[index], self._by_hand(after[index], pour), (_AFTER, pour, index, mold))

    def _worked_on(self, token: Any, now: float, _: tuple[int, ...]) -> None:
        _, pour, index, mold = token
        self._work_on(pour, index + 1, mold, now)

    def _told(self) -> Iterator[TaskDone]:
        """Yield every task as it was done, if they were kept."""
        for booking in self._floor.bookings:
            code, one, two, three, *_ = token = booking.token
            mold, pour = (token[4], 0) if code == _MADE else (three, one) if code == _AFTER else (three, two)
            casting = (self._casting.pour, self._casting.demold, self._after) if pour >= 0 else self._of_master
            if code == _MADE:
                task = self._chains[two][three]
            elif code == _AFTER:
                task = casting[2][two]
            else:
                task = casting[0] if code == _POURED else casting[1]
            place, made = self._origin[mold - 1]
            yield TaskDone(task, mold, pour, booking, tuple(self._floor.stretches(booking)), place, MADE_AS[made])
