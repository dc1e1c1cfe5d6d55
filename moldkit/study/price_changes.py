"""From one alternative to another, one change after the other: what each does to price, date and cost, to the cent."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Any

from moldkit.errors import InputError
from moldkit.study.alternatives import SECTIONS
from moldkit.study.case import KEYS, OVERRIDES, Case
from moldkit.study.client_choices import makes
from moldkit.study.compare import Comparison, compare
from moldkit.study.knowledge import Knowledge
from moldkit.study.quote import quote

# Keys that belong together and change as one, by the first of them.
TOGETHER: tuple[tuple[str, ...], ...] = (
    tuple(f"pattern.{key}" for key in ("mesh", "unit", "bodies", "mend", "form", "size", "longest")),
    ("casting.method", "casting.wall"),
    ("casting.due", "plan.start", "plan.molds"),
    ("quote.finish", "quote.finish_time", "quote.finish_cost"),
)
# What a client may be told the name of; the rest is the shop's own affair and told as one.
FOR_CLIENTS = frozenset(
    (*TOGETHER[0], *TOGETHER[1], "casting.material", "casting.run", "casting.size_wanted", *TOGETHER[2], *TOGETHER[3])
)


@dataclass(frozen=True)
class Reckoned:
    """What a case comes to [whole cents].

    each, together: price of a casting, of the run with tax; cost, cost_each: what it costs the shop; technique: the
    cheapest; delivery: None where no start is given; longest: side of the piece [m]; finish: in words, empty for none;
    made: "solid" or "hollow".
    """

    case: Case
    longest: float
    finish: str
    made: str
    each: int
    together: int
    cost: int
    cost_each: int
    technique: str
    delivery: datetime.date | None


@dataclass(frozen=True)
class Change:
    """One step from one alternative to another: the keys that change, as "section.key", and both sides of it.

    Several keys stand in one step where they belong together, or where nothing works with the first of them alone.
    """

    keys: tuple[str, ...]
    before: Reckoned
    after: Reckoned

    @property
    def each(self) -> int:
        """What the step adds to the price of a casting [whole cents]."""
        return self.after.each - self.before.each

    @property
    def together(self) -> int:
        """What the step adds to the price of the run [whole cents]."""
        return self.after.together - self.before.together

    @property
    def cost(self) -> int:
        """What the step adds to the cost of the run [whole cents]."""
        return self.after.cost - self.before.cost

    @property
    def is_for_clients(self) -> bool:
        """Whether a client may be told what changes."""
        return all(key in FOR_CLIENTS for key in self.keys)


@dataclass(frozen=True)
class ChangeList:
    """All steps from one case to another, in order; each begins where the one before ends, so that they add up."""

    before: Reckoned
    after: Reckoned
    changes: tuple[Change, ...]


def reckoned(result: Comparison, start: datetime.date | None = None) -> Reckoned:
    """Return what a comparison comes to; start: first day of the work, else the job's.

    Raises InputError where nothing works.
    """
    found = quote(result, start=start)
    line, charge = found.asked, found.asked.charge
    return Reckoned(
        result.case, result.longest, found.prices.finish.words, makes(result.case, result.knowledge), charge.each,
        charge.total, round(100 * line.cost), round(100 * line.cost / result.case.run), line.technique, charge.delivery,
    )  # fmt: skip


def change_list(before: Case, after: Case, knowledge: Knowledge, *, start: datetime.date | None = None) -> ChangeList:
    """Return what changes from one case to another, in the order of the keys of a job file.

    start: first day of the work where a case names none. Raises InputError where one of the two cannot be made.
    """

    def reckon(case: Case) -> Reckoned:
        return reckoned(compare(case, knowledge), case.start or start)

    first, last = reckon(before), reckon(after)
    return ChangeList(first, last, tuple(_steps(first, last, reckon)))


def _steps(first: Reckoned, last: Reckoned, reckon: Callable[[Case], Reckoned]) -> Iterator[Change]:
    """Yield the steps between two cases; keys with which nothing works wait for the next ones."""
    groups = differing(first.case, last.case)
    waiting: tuple[str, ...] = ()
    at = first
    for number, keys in enumerate(groups, start=1):
        waiting += keys
        if number == len(groups):
            yield Change(waiting, at, last)
            return
        try:
            there = reckon(_with_keys(at.case, last.case, waiting))
        except InputError:
            continue
        yield Change(waiting, at, there)
        at, waiting = there, ()


def differing(before: Case, after: Case) -> tuple[tuple[str, ...], ...]:
    """Return the keys in which two cases differ, as "section.key", those that belong together in one group."""
    found = [key for key in _keys(before, after) if _value(before, key) != _value(after, key)]
    groups: list[tuple[str, ...]] = []
    for key in found:
        if any(key in group for group in groups):
            continue
        mates = next((together for together in TOGETHER if key in together), (key,))
        groups.append(tuple(mate for mate in mates if mate in found))
    return tuple(groups)


def _keys(*cases: Case) -> Iterator[str]:
    for section in SECTIONS:
        if section in OVERRIDES:
            own: dict[str, Any] = {}
            for case in cases:
                own |= getattr(case, section)
            yield from (f"{section}.{key}" for key in own)
        else:
            yield from (f"{section}.{key}" for key in KEYS[section])


def _value(case: Case, key: str) -> Any:
    section, _, name = key.partition(".")
    if section in OVERRIDES:
        return getattr(case, section).get(name)
    return getattr(case, KEYS[section][name][0])


def _with_keys(case: Case, other: Case, keys: tuple[str, ...]) -> Case:
    """Return a case with some of its keys as they are in another."""
    fields: dict[str, Any] = {}
    for key in keys:
        section, _, name = key.partition(".")
        if section in OVERRIDES:
            own = {key: value for key, value in fields.get(section, getattr(case, section)).items() if key != name}
            theirs = getattr(other, section)
            fields[section] = {**own, name: theirs[name]} if name in theirs else own
        else:
            field = KEYS[section][name][0]
            fields[field] = getattr(other, field)
    return replace(case, **fields)
