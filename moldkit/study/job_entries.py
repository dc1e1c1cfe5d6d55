"""What a job file keeps beside the job: alternatives and notes, put in and taken out, all else in the file as it was.

Only the entry that is meant is written, into the file as it stands on disk at that moment, under a lock: what somebody
else wrote meanwhile stays, and a reader or a crash never finds half a file.
"""

from __future__ import annotations

import datetime
import tomllib
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError

from moldkit.errors import InputError
from moldkit.files import write_atomic
from moldkit.mold_log.lock import locked
from moldkit.study.alternatives import ALTERNATIVE, SECTIONS, Alternative, changed_job, checked_name, same_name
from moldkit.study.case import KEYS, OVERRIDES, Case
from moldkit.study.job_file import JobFile, load_job, loaded_job, plain_value, put_value
from moldkit.study.meeting_notes import MEETING, MeetingNote

Entry = dict[str, Any]
A_SECOND = datetime.timedelta(seconds=1)


def save_alternative(job: JobFile, name: str, case: Case, note: str | None = None) -> JobFile:
    """Put a case into a job's file as the alternative of that name, and return the file as loaded.

    An alternative of that name is replaced, unless it was changed on disk since the job was loaded. note: None leaves
    the one that it has, an empty one takes it out. Raises InputError for a name that won't do, a case that differs in
    what an alternative cannot hold, or a file that cannot be written.
    """
    name = checked_name(name, f"{job.path.name} [[{ALTERNATIVE}]]")

    def put(fresh: JobFile, listed: list[Entry]) -> list[Entry]:
        old = _place(fresh.alternatives, name)
        if old is None:
            return [*listed, _entry(fresh, name, case, note or "")]
        known = _place(job.alternatives, name)
        if known is None or job.alternatives[known].case != fresh.alternatives[old].case:
            raise InputError(f"{job.path.name}: another {name!r} was saved meanwhile; choose another name.")
        told = fresh.alternatives[old].note if note is None else note
        return [*listed[:old], _entry(fresh, name, case, told), *listed[old + 1 :]]

    return _edited(job.path, ALTERNATIVE, put)


def drop_alternative(job: JobFile, name: str) -> JobFile:
    """Take an alternative out of a job's file and return the file as loaded; one that is gone already is no fault."""

    def drop(fresh: JobFile, listed: list[Entry]) -> list[Entry]:
        return [entry for entry in listed if not same_name(str(entry["name"]), name)]

    return _edited(job.path, ALTERNATIVE, drop)


def keep_note(path: Path, note: MeetingNote, known: str = "") -> tuple[JobFile, MeetingNote]:
    """Put a note into a job's file and return the file as loaded, and the note as it stands there.

    known: the note's text as it was kept last; the entry of that time is replaced while it still says this, else the
    note gets a time of its own a second later and an entry of its own. A note without text is taken out. Raises
    InputError when the file cannot be read or written; nothing is changed then.
    """
    kept = [MeetingNote(note.at, _storable(note.text))]

    def put(fresh: JobFile, listed: list[Entry]) -> list[Entry]:
        at, own = note.at, _storable(known)
        while any(entry["at"] == at and entry.get("note", "") != own for entry in listed):
            at += A_SECOND
        kept[0] = MeetingNote(at, kept[0].text)
        others = [entry for entry in listed if entry["at"] != at]
        if not kept[0].text:
            return others
        place = next((n for n, entry in enumerate(listed) if entry["at"] == at), len(listed))
        return [*others[:place], {"at": at, "note": kept[0].text}, *others[place:]]

    return _edited(path, MEETING, put), kept[0]


def _storable(text: str) -> str:
    """Return text as a file can hold it: line ends all of one kind, no half characters."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n")
    return lines.encode("utf-8", "replace").decode("utf-8").strip()


def _place(alternatives: tuple[Alternative, ...], name: str) -> int | None:
    return next((n for n, each in enumerate(alternatives) if same_name(each.name, name)), None)


def _entry(fresh: JobFile, name: str, case: Case, note: str) -> Entry:
    """Return an alternative as it stands in a file, by what its case changes in the job."""
    job = tomllib.loads(fresh.text)
    changes, without = _changes(case, fresh.case, job)
    words = {"name": name, "note": _storable(note), "without": without}
    entry: Entry = {key: value for key, value in words.items() if value}
    return {**entry, **changes}


def _changes(case: Case, before: Case, job: Mapping[str, Any]) -> tuple[dict[str, Entry], list[str]]:
    changes: dict[str, Entry] = {}
    gone: list[str] = []
    for section, key, new, old in _pairs(case, before):
        if new == old:
            continue
        if new is None:
            gone.append(f"{section}.{key}")
        else:
            changes.setdefault(section, {})[key] = new
    there = changed_job(job, changes)
    return changes, [key for key in gone if key.partition(".")[2] in there.get(key.partition(".")[0], {})]


def _pairs(case: Case, before: Case) -> list[tuple[str, str, Any, Any]]:
    """Return section, key, new and old value of everything that an alternative may change, as in a file."""
    found = []
    for section in SECTIONS:
        if section in OVERRIDES:
            ours, theirs = dict(getattr(case, section)), dict(getattr(before, section))
            found += [(section, key, ours.get(key), theirs.get(key)) for key in {**theirs, **ours}]
            continue
        for key, (name, _) in KEYS[section].items():
            values = (getattr(case, name), getattr(before, name))
            new, old = (None if value is None else _bare(plain_value(name, value, "")) for value in values)
            found.append((section, key, new, old))
    return found


def _bare(value: Any) -> Any:
    """Return a value of a document as plain Python has it."""
    return value.unwrap() if hasattr(value, "unwrap") else value


def _edited(path: Path, name: str, edit: Callable[[JobFile, list[Entry]], list[Entry]]) -> JobFile:
    """Edit one list of tables of a job file as it stands on disk, and return the file as loaded."""
    if "site-packages" in path.resolve().parts:
        raise InputError(f"{path.name}: lies inside the installed package; make your own with `moldkit data copy DIR`.")
    with locked(path):
        fresh = load_job(path)
        before = tomllib.loads(fresh.text)
        wanted = edit(fresh, list(before.get(name, [])))
        if wanted == before.get(name, []):
            return fresh
        text = _text_with(fresh.text, name, wanted)
        after = {**before, name: wanted} if wanted else {key: before[key] for key in before if key != name}
        if tomllib.loads(text) != after:
            raise InputError(f"{path.name}: cannot be kept in form; nothing was changed. Put it in by hand.")
        made = loaded_job(path, text)
        write_atomic(path, text.encode("utf-8"))
        return made


def _text_with(text: str, name: str, wanted: list[Entry]) -> str:
    """Return a job file's text with one list of tables made to say what is wanted, comments kept."""
    try:
        document = tomlkit.parse(text if text.endswith("\n") else f"{text}\n")
    except TOMLKitError as fault:
        raise InputError(f"the job file cannot be kept in form ({fault}); nothing was changed.") from None
    listed = document.get(name)
    if not wanted:
        del document[name]
    elif listed is None or not isinstance(listed, tomlkit.items.AoT):
        if listed is not None:
            del document[name]
        made, before = tomlkit.aot(), tomlkit.dumps(document)
        for entry in wanted:
            made.append(_set_apart(_table(entry), before))
            before = made[-1].as_string()
        document.append(name, made)
    else:
        _make_say(listed, wanted)
    return tomlkit.dumps(document)


def _make_say(listed: Any, wanted: list[Entry]) -> None:
    """Change a list of tables in place, no more of it than differs."""
    while len(listed) > len(wanted):
        plain = [entry.unwrap() for entry in listed]
        gone = next((n for n, entry in enumerate(plain) if entry not in wanted), len(plain) - 1)
        del listed[gone]
    for place, entry in enumerate(wanted):
        if place >= len(listed):
            listed.append(_next_to(listed[-1].as_string(), entry))
        elif listed[place].unwrap() != entry:
            _update(listed[place], entry)


def _update(table: Any, entry: Mapping[str, Any]) -> None:
    for key in [key for key in table if key not in entry]:
        del table[key]
    for key, value in entry.items():
        if isinstance(value, Mapping) and key in SECTIONS and isinstance(table.get(key), Mapping):
            _update(table[key], value)
        elif key not in table or tomlkit.item(table[key]).unwrap() != value:
            put_value(table, key, _item(key, value))


def _next_to(last: str, entry: Entry) -> Any:
    """Return an entry that comes after the last of a list, with the blank line that parted that one from the rest."""
    made = _set_apart(_table(entry), last)
    if _ends_blank(last):
        made.add(tomlkit.nl())
    return made


def _set_apart(made: Any, before: str) -> Any:
    """Put a blank line between a new entry and the text before it, unless there is one."""
    if not _ends_blank(before):
        made.trivia.indent = "\n"
    return made


def _ends_blank(text: str) -> bool:
    lines = text.splitlines()
    return not lines or not lines[-1].strip()


def _table(entry: Mapping[str, Any]) -> Any:
    made = tomlkit.table()
    for key, value in entry.items():
        made[key] = _item(key, value)
    return made


def _item(key: str, value: Any) -> Any:
    if isinstance(value, Mapping) and key in SECTIONS:
        return _table(value)
    if isinstance(value, Mapping):
        inline = tomlkit.inline_table()
        inline.update(value)
        return inline
    if isinstance(value, str) and "\n" in value and value.replace("\n", "").isprintable():
        return tomlkit.string(value, multiline=True)
    return value
