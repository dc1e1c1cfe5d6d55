"""Alternatives within one job file: each a name and what it changes in the job, checked like the job itself."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from moldkit.errors import InputError, unknown
from moldkit.study.case import KEYS, OVERRIDES, Case, case_from
from moldkit.study.quote_keys import OVERHEAD, PROFIT

# The list of tables in a job file.
ALTERNATIVE = "alternative"
# What an alternative may change: everything of a job but its name and note.
SECTIONS = (*(section for section in KEYS if section != "job"), *OVERRIDES)
OWN_KEYS = ("name", "note", "without")
MOST, LONGEST_NAME = 200, 300
# By section, groups of ways to say one thing, each way its keys, the one that decides first: where an alternative says
# it in one way, the job's own keys of the other ways fall away.
INSTEAD: dict[str, tuple[tuple[tuple[str, ...], ...], ...]] = {
    "pattern": ((("mesh", "unit", "bodies", "mend"), ("form", "size")),),
    "quote": (tuple((key,) for key in PROFIT), tuple((key,) for key in OVERHEAD)),
}


@dataclass(frozen=True)
class Alternative:
    """One alternative of a job: its name, a note, the case that it comes to.

    changes: by section and key, as they stand in the file; without: keys of the job that it leaves out, as
    "section.key".
    """

    name: str
    case: Case
    note: str = ""
    changes: Mapping[str, Mapping[str, Any]] | None = None
    without: tuple[str, ...] = ()


def alternatives_from(job: Mapping[str, Any], where: str, folder: Path | None = None) -> tuple[Alternative, ...]:
    """Return the alternatives of a job given as nested tables, in the file's order.

    where: the file's name for errors; folder: the job file's. Raises InputError naming the alternative, section, key,
    value and mend.
    """
    listed = job.get(ALTERNATIVE, [])
    if not isinstance(listed, list) or not all(isinstance(entry, Mapping) for entry in listed):
        raise InputError(f"{where}: {ALTERNATIVE!r} must be a list of tables; head each with [[{ALTERNATIVE}]].")
    if len(listed) > MOST:
        raise InputError(f"{where}: {len(listed)} alternatives are more than the {MOST} that a job may hold.")
    found: list[Alternative] = []
    for number, entry in enumerate(listed, start=1):
        made = _alternative(job, entry, f"{where} [[{ALTERNATIVE}]] {number}", where, folder)
        if any(same_name(made.name, other.name) for other in found):
            raise InputError(f"{where} [[{ALTERNATIVE}]] {number}: the name {made.name!r} stands twice; change one.")
        found.append(made)
    return tuple(found)


def same_name(one: str, other: str) -> bool:
    """Return whether two names of alternatives are the same, however they are written."""
    return " ".join(one.split()).casefold() == " ".join(other.split()).casefold()


def checked_name(name: Any, where: str) -> str:
    """Return a name of an alternative in one line; raises InputError for none or one that is too long."""
    if not isinstance(name, str):
        raise InputError(f"{where} name: {name!r} is not text; put it in quotation marks.")
    text = " ".join(name.split())
    if not text:
        raise InputError(f"{where}: has no name; give it one.")
    if len(text) > LONGEST_NAME:
        raise InputError(f"{where} name: has {len(text)} letters; shorten it to {LONGEST_NAME}.")
    return text


def named(alternatives: Iterable[Alternative], name: str, where: str) -> Alternative:
    """Return the alternative of that name; raises InputError with the nearest one. where: what was asked."""
    listed = tuple(alternatives)
    found = next((each for each in listed if same_name(each.name, name)), None)
    if found is None and not listed:
        raise InputError(f"{where}: {name!r}: the job has no alternatives; add one under [[{ALTERNATIVE}]].")
    if found is None:
        raise unknown("alternative", name, [each.name for each in listed], where)
    return found


def _alternative(
    job: Mapping[str, Any], entry: Mapping[str, Any], place: str, where: str, folder: Path | None
) -> Alternative:
    name = checked_name(entry.get("name", ""), place)
    place = f"{where} [[{ALTERNATIVE}]] {name!r}"
    note = entry.get("note", "")
    if not isinstance(note, str):
        raise InputError(f"{place} note: {note!r} is not text; put it in quotation marks.")
    changes: dict[str, Mapping[str, Any]] = {}
    for key, content in entry.items():
        if key in OWN_KEYS:
            continue
        if key not in SECTIONS:
            raise unknown("section", key, (*OWN_KEYS, *SECTIONS), place)
        if not isinstance(content, Mapping):
            raise InputError(f"{place}: {key!r} must be a section [{ALTERNATIVE}.{key}], not a value.")
        changes[key] = content
    without = _without(entry.get("without", []), job, place)
    return Alternative(name, case_from(changed_job(job, changes, without), place, folder), note, changes, without)


def _without(given: Any, job: Mapping[str, Any], place: str) -> tuple[str, ...]:
    """Return the checked keys that an alternative leaves out of its job."""
    if not isinstance(given, list) or not all(isinstance(key, str) for key in given):
        raise InputError(f'{place} without: {given!r} is no list of keys; write for instance ["casting.wall"].')
    there = [f"{section}.{key}" for section in SECTIONS for key in job.get(section, {})]
    for key in given:
        if key not in there:
            raise unknown("key of the job", key, there, f"{place} without")
    return tuple(given)


def changed_job(
    job: Mapping[str, Any], changes: Mapping[str, Mapping[str, Any]], without: Sequence[str] = ()
) -> dict[str, Any]:
    """Return a job as nested tables with changes laid over it, without some of its own keys.

    changes: by section and key; without: as "section.key".
    """
    made = {section: content for section, content in job.items() if section in ("schema", "job", *SECTIONS)}
    for section in SECTIONS:
        own, new = made.get(section, {}), changes.get(section, {})
        gone = {key for key in own if f"{section}.{key}" in without} | _said_otherwise(section, new)
        kept = {key: value for key, value in own.items() if key not in gone}
        if section in made or new:
            made[section] = {**kept, **new}
    return made


def _said_otherwise(section: str, new: Mapping[str, Any]) -> set[str]:
    """Return the keys of the job that a section's new keys say in another way."""
    gone: set[str] = set()
    for ways in INSTEAD.get(section, ()):
        for way in ways:
            if way[0] in new:
                gone |= {key for other in ways if other is not way for key in other}
    return gone
