"""Notes taken in a meeting, kept with the job: a list of tables in its file, each with its time."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from moldkit.errors import InputError, unknown

# The list of tables in a job file.
MEETING = "meeting"
KEYS = ("at", "note")


@dataclass(frozen=True)
class MeetingNote:
    """What was written down in a meeting, and the time it was begun at."""

    at: datetime.datetime
    text: str


def notes_from(job: Mapping[str, Any], where: str) -> tuple[MeetingNote, ...]:
    """Return the notes of a job given as nested tables, in the file's order.

    where: the file's name for errors. Raises InputError naming the note, key, value and mend.
    """
    listed = job.get(MEETING, [])
    if not isinstance(listed, list) or not all(isinstance(entry, Mapping) for entry in listed):
        raise InputError(f"{where}: {MEETING!r} must be a list of tables; head each with [[{MEETING}]].")
    return tuple(_note(entry, f"{where} [[{MEETING}]] {number}") for number, entry in enumerate(listed, start=1))


def _note(entry: Mapping[str, Any], place: str) -> MeetingNote:
    for key in entry:
        if key not in KEYS:
            raise unknown("key", key, KEYS, place)
    at, text = entry.get("at"), entry.get("note", "")
    if isinstance(at, datetime.date) and not isinstance(at, datetime.datetime):
        at = datetime.datetime(at.year, at.month, at.day)
    if not isinstance(at, datetime.datetime):
        raise InputError(f"{place} at: {at!r} is no time; write for instance at = 2026-11-25T14:30:00.")
    if not isinstance(text, str):
        raise InputError(f"{place} note: {text!r} is not text; put it in quotation marks.")
    return MeetingNote(at, text)
