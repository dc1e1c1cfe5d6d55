"""The shop's hands, hours and machines, read off its file, with what older files leave open filled in."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from moldkit.economics.schedule.calendar import WEEKDAYS, Calendar
from moldkit.economics.schedule.work import CHAMBER, POT, PRINTER, Crew
from moldkit.errors import InputError
from moldkit.shop import Person
from moldkit.tables import Row, column_dictionary

MOST_PEOPLE, MOST_MACHINES = 100, 50


def all_skills() -> frozenset[str]:
    """Return every skill that the step table may ask for."""
    return frozenset(column_dictionary("steps")["skill"].choices)


@dataclass(frozen=True)
class Hands:
    """The people at work by name, and how many machines there are; where a shop names nobody, one pair of hands."""

    people: tuple[Person, ...]
    machines: Mapping[str, int] = field(default_factory=dict)

    def crew(self) -> Crew:
        """Return what the schedule needs of them."""
        return Crew(tuple(person.skills for person in self.people), dict(self.machines))


def hands_of(shop: Row, people: int | None = None, pots: int | None = None, chambers: int | None = None) -> Hands:
    """Return the shop's people and machines.

    people: the first so many of the shop's, and beyond them further ones who can do everything; pots, chambers: in
    place of the shop's number. Raises InputError for a number out of bounds.
    """
    named = shop.values.get("people") or (Person("pair of hands 1", all_skills()),)
    number = len(named) if people is None else _counted(people, "people", 1, MOST_PEOPLE)
    further = (Person(f"pair of hands {n}", all_skills()) for n in range(len(named) + 1, number + 1))
    machines = {
        POT: _machines(shop, "pressure_pots", "has_pressure_pot", pots, "pots"),
        CHAMBER: _machines(shop, "vacuum_chambers", "has_vacuum_chamber", chambers, "chambers"),
        PRINTER: _whole(shop, "printers", 1),
    }
    return Hands((*named[:number], *further), machines)


def _counted(number: Any, what: str, least: int, most: int) -> int:
    if not isinstance(number, int) or isinstance(number, bool) or not least <= number <= most:
        raise InputError(f"{what}: {number!r}; give a whole number from {least} to {most}.")
    return number


def _machines(shop: Row, key: str, has: str, given: int | None, what: str) -> int:
    if given is not None:
        return _counted(given, what, 0, MOST_MACHINES)
    return _whole(shop, key, 1) if shop.flag(has) else 0


def _whole(shop: Row, key: str, usual: int) -> int:
    value = shop.values.get(key)
    return usual if value is None else round(value.value)


def calendar_of(shop: Row, start: datetime.date) -> Calendar:
    """Return the shop's calendar from a first day on; an older file's shift begins at eight, Monday to Friday."""
    starts, days = shop.values.get("day_starts"), shop.values.get("working_days")
    return Calendar(
        start,
        shop.quantity("hours_a_day").at(0),
        8 * 3600.0 if starts is None else starts.value,
        frozenset(range(5)) if not days else frozenset(WEEKDAYS.index(day) for day in days),
        frozenset(shop.values.get("holidays") or ()),
    )


def rest_days_of(shop: Row) -> int:
    """Return the whole days a mold rests after a day on which it was poured; none in an older file."""
    return _whole(shop, "mold_rest_days", 0)


def learning_of(shop: Row) -> float:
    """Return what each doubling of pours takes the hands' time down to [share]; 1, no learning, in an older file."""
    value = shop.values.get("learning_rate")
    return 1.0 if value is None else float(value.value)
