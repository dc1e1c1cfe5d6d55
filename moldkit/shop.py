"""The shop: wages, equipment and habits, from data/shop.toml, with a job's own figures laid over it."""

from __future__ import annotations

import datetime
import re
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from moldkit.errors import InputError, unknown
from moldkit.quantity import Quantity
from moldkit.tables import (
    Column,
    Row,
    check_bounds,
    column_dictionary,
    range_quantity,
)
from moldkit.units import ACCEPTED, dimension_of, from_si, parse, parse_number

# Days of work lie between these years.
FIRST_YEAR, LAST_YEAR = 2000, 2200


@dataclass(frozen=True)
class Person:
    """Somebody who works in the shop: a name and what they can do (skills of the step table)."""

    name: str
    skills: frozenset[str]


def read_toml(path: Path) -> dict[str, Any]:
    """Return a TOML file's content; raises InputError in one sentence when it cannot be read."""
    return toml_and_bytes(path)[0]


def toml_and_bytes(path: Path) -> tuple[dict[str, Any], bytes]:
    """Return a TOML file's content and the bytes it was read from, in one reading; raises as `read_toml` does."""
    try:
        content = path.read_bytes()
        return tomllib.loads(content.decode("utf-8-sig")), content
    except FileNotFoundError:
        raise InputError(f"{str(path)!r}: there is no such file; check the name.") from None
    except IsADirectoryError:
        raise InputError(f"{str(path)!r}: is a folder, not a file; name a file in it.") from None
    except UnicodeDecodeError as fault:
        raise InputError(f"{path.name}: not UTF-8 text (byte {fault.start}); save it again as UTF-8.") from None
    except (ValueError, RecursionError) as fault:
        raise InputError(f"{path.name}: not a TOML file: {fault}.") from None
    except OSError as fault:
        raise InputError(f"{path.name}: cannot be read ({fault.strerror}).") from None


def load_shop(folder: Path) -> Row:
    """Return the shop of a data folder; raises InputError naming key, value and mend for the first fault."""
    given = read_toml(folder / "shop.toml")
    values = shop_values(given, "shop.toml")
    for name, column in column_dictionary("shop").items():
        if name in values:
            continue
        if column.required:
            raise InputError(f"shop.toml: {name} is missing; give {column.meaning}.")
        values[name] = () if column.kind == "list" else None
    return Row(str(values["name"]), "shop.toml", values)


def with_overrides(shop: Row, given: Mapping[str, Any], where: str) -> Row:
    """Return the shop with a job's own figures laid over it; raises InputError for an unknown or bad one."""
    if not given:
        return shop
    return Row(shop.name, shop.where, {**shop.values, **shop_values(given, where)})


def shop_values(given: Mapping[str, Any], where: str) -> dict[str, Any]:
    """Return checked shop figures, in SI units, for the keys given."""
    columns = column_dictionary("shop")
    found: dict[str, Any] = {}
    for key, value in given.items():
        if key not in columns:
            raise unknown("key", key, columns, where)
        found[key] = _value(columns[key], value, f"{where} {key}", where)
    return found


def _value(column: Column, given: Any, place: str, source: str) -> Any:
    if column.kind == "text":
        if not isinstance(given, str) or not given.strip():
            raise InputError(f"{place}: {given!r} is not text; give {column.meaning}.")
        return given
    if column.kind == "flag":
        if not isinstance(given, bool):
            raise InputError(f"{place}: {given!r} is neither true nor false; write one of them.")
        return given
    if column.kind == "list":
        if not isinstance(given, list):
            raise InputError(f"{place}: {given!r} is not a list; write for instance [110, 160].")
        return tuple(sorted(_single(column, part, place, source).value for part in given))
    if column.kind in _OF_KIND:
        return _OF_KIND[column.kind](column, given, place)
    if column.kind == "range":
        return _range(column, given, place, source)
    return _single(column, given, place, source)


def _file_number(column: Column, given: Any, place: str) -> float:
    """Return the figure in the dictionary's own unit: from a plain number, or from text with a unit."""
    physical = any(column.unit in words for words in ACCEPTED.values()) and column.unit not in ("-", "%", "")
    if isinstance(given, str) and physical:
        number = float(from_si(parse(given, dimension_of(column.unit), place), column.unit))
    else:
        number = parse_number(given, place)
    if column.kind == "integer" and number != int(number):
        raise InputError(f"{place}: {given!r} is not a whole number; round it.")
    return check_bounds(place, column, number)


def _single(column: Column, given: Any, place: str, source: str) -> Quantity:
    number = _file_number(column, given, place)
    return range_quantity(column, [number] * 3, column.name.replace("_", " "), {"": source}, place)


def _range(column: Column, given: Any, place: str, source: str) -> Quantity:
    if not isinstance(given, Mapping):
        return _single(column, given, place, source)
    for key in given:
        if key not in ("low", "likely", "high"):
            raise unknown("key", str(key), ("low", "likely", "high"), place)
    for key in ("low", "likely", "high"):
        if key not in given:
            raise InputError(f"{place}: {key} is missing; write {{low = ..., likely = ..., high = ...}}.")
    numbers = [_file_number(column, given[key], place) for key in ("low", "likely", "high")]
    return range_quantity(column, numbers, column.name.replace("_", " "), {"": source}, place)


def _people(column: Column, given: Any, place: str) -> tuple[Person, ...]:
    """Return the people of a shop; one without skills can do everything."""
    if not isinstance(given, list) or not given:
        raise InputError(f'{place}: {given!r} is no list; write for instance [{{name = "Kit", skills = ["caster"]}}].')
    people = tuple(_person(column, one, f"{place}, number {n}") for n, one in enumerate(given, start=1))
    names = [person.name for person in people]
    for name in names:
        if names.count(name) > 1:
            raise InputError(f"{place}: {name!r} stands twice; give each person a name of their own.")
    return people


def _person(column: Column, given: Any, place: str) -> Person:
    if not isinstance(given, Mapping):
        raise InputError(f'{place}: {given!r} is no person; write for instance {{name = "Kit", skills = ["caster"]}}.')
    for key in given:
        if key not in ("name", "skills"):
            raise unknown("key", str(key), ("name", "skills"), place)
    name, skills = given.get("name"), given.get("skills", list(column.choices))
    if not isinstance(name, str) or not name.strip():
        raise InputError(f"{place}: has no name; give one as text.")
    if not isinstance(skills, list) or not skills:
        raise InputError(f'{place} skills: {skills!r} is no list of skills; write for instance ["caster"].')
    return Person(name.strip(), frozenset(_word(column, skill, f"{place} skills", "skill") for skill in skills))


def _word(column: Column, given: Any, place: str, kind: str) -> str:
    if not isinstance(given, str) or given not in column.choices:
        raise unknown(kind, str(given), column.choices, place)
    return given


def _days(column: Column, given: Any, place: str) -> tuple[str, ...]:
    """Return weekdays in the order of the week."""
    if not isinstance(given, list) or not given:
        raise InputError(f'{place}: {given!r} is no list of weekdays; write for instance ["Monday", "Tuesday"].')
    days = {_word(column, day, place, "weekday") for day in given}
    return tuple(day for day in column.choices if day in days)


def _dates(column: Column, given: Any, place: str) -> tuple[datetime.date, ...]:
    """Return dates, sorted; they stand in the file as TOML dates, without quotation marks."""
    if not isinstance(given, list):
        raise InputError(f"{place}: {given!r} is no list of dates; write for instance [2026-12-25].")
    return tuple(sorted({parse_date(day, place) for day in given}))


def parse_date(given: Any, place: str) -> datetime.date:
    """Return a date of a TOML file; raises InputError for anything else."""
    if isinstance(given, datetime.datetime) or not isinstance(given, datetime.date):
        raise InputError(f"{place}: {given!r} is not a date; write year-month-day without quotation marks: 2026-12-18.")
    return near_day(given, place)


def near_day(day: datetime.date, place: str) -> datetime.date:
    """Return a day of a year that work may fall in; raises InputError for one far off, which is mistyped."""
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise InputError(f"{place}: {day} is outside the years {FIRST_YEAR} to {LAST_YEAR}; check the year.")
    return day


def _clock(column: Column, given: Any, place: str) -> Quantity:
    """Return a time of day, "08:00" or a TOML time [s after midnight]."""
    try:
        moment = given if isinstance(given, datetime.time) else datetime.time.fromisoformat(given)
    except (TypeError, ValueError):
        raise InputError(f'{place}: {given!r} is not a time of day; write for instance "08:00".') from None
    seconds = 3600.0 * moment.hour + 60.0 * moment.minute + moment.second
    return Quantity(column.name.replace("_", " "), seconds, "s", source=place)


def _choice(column: Column, given: Any, place: str) -> str:
    """Return one of the words that the column allows."""
    return _word(column, given, place, "word")


def _colour(column: Column, given: Any, place: str) -> str:
    """Return a colour as "#rrggbb", small letters."""
    if not isinstance(given, str) or not re.fullmatch(r"#[0-9a-fA-F]{6}", given.strip()):
        raise InputError(f'{place}: {given!r} is not a colour; write it as "#rrggbb", for instance "#1f5c7a".')
    return given.strip().lower()


_OF_KIND: dict[str, Callable[[Column, Any, str], Any]] = {
    "people": _people,
    "days": _days,
    "dates": _dates,
    "clock": _clock,
    "word": _choice,
    "colour": _colour,
}
