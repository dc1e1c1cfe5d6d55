"""Hands and machines at work: tasks wait in line, are taken up as hands come free, and are booked on the calendar."""

from __future__ import annotations

from collections import Counter, deque
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from heapq import heappop, heappush
from typing import Any

from moldkit.economics.schedule.working_time import SAME, WorkingTime
from moldkit.errors import InputError

_AGAIN, _NOBODY = -2, -1


@dataclass(frozen=True)
class Kind:
    """Tasks that ask for the same hands and machines.

    skill: what a person must be able to do; whole: it is never broken off, so it begins only where it fits in the
    shift; one longer than a shift begins with the day and runs past its end. Any other task is laid down when the
    shift ends and taken up again by the same person when the next begins. needs: (machine, kept): a machine held from
    the begin, and kept after the attended time until it is let go; setup: attended time before the day's first [s];
    rests: whether `begins_from` is asked before it begins.
    """

    skill: str
    whole: bool = False
    needs: tuple[tuple[str, bool], ...] = ()
    setup: float = 0.0
    rests: bool = False


@dataclass(frozen=True, slots=True)
class Booking:
    """One task as it was done: its kind and token, who (place among the people), from when to when [s].

    machines: (machine, number) of each that it held; setup: how much of it at the begin was the day's set-up [s].
    """

    kind: int
    token: Any
    person: int
    machines: tuple[tuple[str, int], ...]
    begins: float
    ends: float
    setup: float


class Floor:
    """The shop floor: who is free, which machines are, what waits in line, what ends when.

    kinds: in order of priority, the first goes first; within a kind the task that asked first. Of the people who can
    do a task the one takes it whose skills are easiest to replace (the sum over them of 1 / people who have it), then
    the one named first. Nobody waits while there is a task that they could begin, except for a whole one that no longer
    fits in the shift.
    """

    def __init__(
        self,
        windows: Iterable[tuple[float, float]],
        shift: float,
        people: Sequence[frozenset[str]],
        machines: Mapping[str, int],
        kinds: Sequence[Kind],
        *,
        keep_bookings: bool = True,
        begins_from: Callable[[Any, float], float] | None = None,
    ) -> None:
        """Take the working time (opens, closes) in order and the shift [s], the people's skills, machines by number.

        begins_from: for a kind that rests, given the token and the moment [s], the moment from which it may begin.
        Raises InputError where nobody has a skill that is asked for, or a machine that is needed is not there.
        """
        self._time = WorkingTime(windows)
        self._shift, self._kinds, self._begins_from = shift, tuple(kinds), begins_from
        self._order = _easiest_to_replace_first(people)
        self._free = (1 << len(people)) - 1
        self._able = [_able(kind.skill, [people[p] for p in self._order]) for kind in kinds]
        self._machines = {name: (1 << count) - 1 for name, count in machines.items()}
        _check_machines(kinds, machines)
        self._lines: list[deque[tuple[float, Any]]] = [deque() for _ in kinds]
        self._heap: list[tuple[float, int, Any, int, tuple[int, ...], int]] = []
        self._tally, self._awake, self._set_up = 0, -1.0, -1
        self._keep = keep_bookings
        self.bookings: list[Booking] = []
        self.worked = [0.0] * len(people)
        self.held: dict[str, float] = dict.fromkeys(machines, 0.0)
        self._taken: dict[tuple[str, int], float] = {}
        self.setups = 0
        self.overran: set[int] = set()
        self.now = 0.0

    def ask(self, kind: int, attended: float, token: Any) -> None:
        """Put a task in line now: so much attended time [s]; the token comes back when it is done."""
        self._lines[kind].append((attended, token))

    def at(self, moment: float, token: Any) -> None:
        """Have the token come back at a moment [s]: the end of a cure, of a rest, an arrival."""
        self._tally += 1
        heappush(self._heap, (moment, self._tally, token, _NOBODY, (), -1))

    def let_go(self, machine: str, number: int) -> None:
        """Free a machine that was kept after its attended task."""
        self._machines[machine] |= 1 << number
        self.held[machine] += self.now - self._taken.pop((machine, number))

    def run(self, then: Callable[[Any, float, tuple[int, ...]], None]) -> None:
        """Work until nothing is left to do.

        then: told of each task done and each moment reached: the token, when [s], the numbers of the machines kept.
        """
        heap = self._heap
        self._hand_out(self.now)
        while heap:
            now = self.now = heap[0][0]
            while heap and heap[0][0] <= now:
                _, _, token, person, held, kind = heappop(heap)
                if person >= 0:
                    self._free |= 1 << person
                    then(token, now, self._put_back(kind, held) if held else ())
                elif person == _AGAIN:
                    self._lines[kind].append(token)
                elif token is not None:
                    then(token, now, ())
            self._hand_out(now)

    def _put_back(self, kind: int, held: tuple[int, ...]) -> tuple[int, ...]:
        """Free the machines that are held only while somebody attends; return the numbers of those kept."""
        kept = []
        for (machine, stays), number in zip(self._kinds[kind].needs, held, strict=True):
            if stays:
                kept.append(number)
            else:
                self.let_go(machine, number)
        return tuple(kept)

    def _hand_out(self, now: float) -> None:
        """Let every task begin that can, in order of priority."""
        if not self._time.reach(now):
            if any(self._lines):
                self._wake(self._time.opens)
            return
        too_late = False
        for number, line in enumerate(self._lines):
            if line and self._free & self._able[number]:
                too_late |= self._take_up(number, line, now)
        if too_late:
            self._wake(self._time.opens_next())

    def _wake(self, moment: float) -> None:
        if self._awake != moment:
            self._awake = moment
            self.at(moment, None)

    def _has(self, kind: Kind) -> bool:
        return all([self._machines[machine] for machine, _ in kind.needs])

    def _take_up(self, number: int, line: deque[tuple[float, Any]], now: float) -> bool:
        """Begin tasks of one kind while hands and machines are free; return whether one was too late for this shift."""
        kind, able = self._kinds[number], self._able[number]
        while line and self._free & able and (not kind.needs or self._has(kind)):
            attended, token = line[0]
            setup = kind.setup if kind.setup and self._time.day(now) != self._set_up else 0.0
            ends = now + setup + attended
            if ends > self._time.closes + SAME:
                if not kind.whole:
                    ends = self._time.goes_on_to(now, setup + attended)
                elif setup + attended <= self._shift + SAME or now > self._time.opens + SAME:
                    return True
                else:
                    self.overran.add(number)
            line.popleft()
            if kind.rests and self._begins_from is not None:
                begins = self._begins_from(token, now)
                if begins > now:
                    self._tally += 1
                    heappush(self._heap, (begins, self._tally, (attended, token), _AGAIN, (), number))
                    continue
            self._begin(number, kind, token, now, ends, attended, setup)
        return False

    def _begin(
        self, number: int, kind: Kind, token: Any, now: float, ends: float, attended: float, setup: float
    ) -> None:
        bit = self._free & self._able[number]
        bit &= -bit
        self._free ^= bit
        person = bit.bit_length() - 1
        self.worked[self._order[person]] += setup + attended
        if setup:
            self._set_up = self._time.day(now)
            self.setups += 1
        held = tuple(self._take(machine, now) for machine, _ in kind.needs) if kind.needs else ()
        self._tally += 1
        heappush(self._heap, (ends, self._tally, token, person, held, number))
        if self._keep:
            machines = tuple((machine, own) for (machine, _), own in zip(kind.needs, held, strict=True))
            self.bookings.append(Booking(number, token, self._order[person], machines, now, ends, setup))

    def _take(self, machine: str, now: float) -> int:
        free = self._machines[machine]
        bit = free & -free
        self._machines[machine] = free ^ bit
        number = bit.bit_length() - 1
        self._taken[machine, number] = now
        return number

    def stretches(self, booking: Booking) -> list[tuple[float, float]]:
        """Return (from, to) of each stretch in which a task was worked at [s]; a whole task is one stretch."""
        if self._kinds[booking.kind].whole:
            return [(booking.begins, booking.ends)]
        return self._time.worked(booking.begins, booking.ends)


def _easiest_to_replace_first(people: Sequence[frozenset[str]]) -> list[int]:
    able = Counter(skill for skills in people for skill in skills)
    return sorted(range(len(people)), key=lambda p: (sum(1.0 / able[skill] for skill in sorted(people[p])), p))


def _able(skill: str, people: Sequence[frozenset[str]]) -> int:
    """Return the people who have a skill, a bit for each; raises InputError where nobody has."""
    found = sum(1 << place for place, skills in enumerate(people) if skill in skills)
    if not found:
        raise InputError(f"people: nobody at work has the skill {skill!r}, which this run needs; give it to somebody.")
    return found


def _check_machines(kinds: Sequence[Kind], machines: Mapping[str, int]) -> None:
    for kind in kinds:
        for machine, _ in kind.needs:
            if machines.get(machine, 0) < 1:
                raise InputError(f"the run needs a {machine} and the shop has none; set how many it has in shop.toml.")
