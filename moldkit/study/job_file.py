"""Job files on disk: loaded with their text, saved with the user's comments kept, never over a newer version."""

from __future__ import annotations

import hashlib
import os
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError

from moldkit.errors import InputError
from moldkit.files import write_atomic
from moldkit.shop import toml_and_bytes
from moldkit.study.alternatives import Alternative, alternatives_from
from moldkit.study.case import KEYS, OVERRIDES, Case, case_from
from moldkit.study.meeting_notes import MeetingNote, notes_from
from moldkit.units import MESH_UNITS, from_si

LENGTHS = {"longest", "wall", "size_wanted", "skin", "margin"}


@dataclass(frozen=True)
class JobFile:
    """A job file as it was loaded: where, its text, the hash of that text, its case, and what it keeps beside that."""

    path: Path
    text: str
    digest: str
    case: Case
    alternatives: tuple[Alternative, ...] = ()
    notes: tuple[MeetingNote, ...] = ()


def _digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def find_job(job: str | os.PathLike[str], data: Path) -> Path:
    """Return where a job lies: as given, else by that name in the data folder's jobs.

    Raises InputError when it is in neither place.
    """
    given = Path(job)
    places = [given, data / "jobs" / given.name, data / "jobs" / f"{given.name}.toml"]
    found = next((place for place in places if place.is_file()), None)
    if found is None:
        jobs = str(data / "jobs")
        raise InputError(f"job {str(job)!r}: is neither a file nor one of the jobs in {jobs!r}; check the name.")
    return found


def load_job(path: Path) -> JobFile:
    """Return a job file with its case; raises InputError in one sentence for the first fault."""
    job, content = toml_and_bytes(path)
    return _job_file(path, job, content)


def loaded_job(path: Path, text: str) -> JobFile:
    """Return the job file that a text would be at a path; raises InputError in one sentence for the first fault."""
    try:
        job = tomllib.loads(text)
    except ValueError as fault:
        raise InputError(f"{path.name}: not a TOML file: {fault}.") from None
    return _job_file(path, job, text.encode("utf-8"))


def _job_file(path: Path, job: dict[str, Any], content: bytes) -> JobFile:
    where, folder = path.name, path.resolve().parent
    case = case_from(job, where, folder)
    beside = alternatives_from(job, where, folder), notes_from(job, where)
    return JobFile(path, content.decode("utf-8-sig"), _digest(content), case, *beside)


def save_job(case: Case, path: Path, loaded: JobFile | None = None) -> JobFile:
    """Write a case to a job file and return it as loaded; comments of the file it came from are kept.

    loaded: the file the case came from. Raises InputError when the file changed on disk meanwhile, exists
    already though it was not loaded, or cannot be written; nothing is changed then.
    """
    if path.suffix != ".toml":
        raise InputError(f"{path.name!r}: a job file ends in .toml; add it to the name.")
    own = loaded is not None and loaded.path.resolve() == path.resolve()
    if path.exists():
        if not own:
            raise InputError(f"{str(path)!r}: exists already; choose another name.")
        if loaded is not None and _digest(path.read_bytes()) != loaded.digest:
            raise InputError(f"{path.name}: was changed on disk since it was loaded; save under another name.")
    text = job_text(case, loaded)
    made = loaded_job(path, text)
    write_atomic(path, text.encode("utf-8"))
    return made


def job_text(case: Case, loaded: JobFile | None = None) -> str:
    """Return the text of a job file for a case: the loaded text with what differs put in, comments kept."""
    try:
        document = tomlkit.parse(loaded.text if loaded else "schema = 1\n")
    except TOMLKitError as fault:
        raise InputError(f"the loaded job cannot be kept in form ({fault}); save under another name.") from None
    before = loaded.case if loaded else None
    defaults = {field.name: field.default for field in fields(Case)}
    for section, keys in KEYS.items():
        for key, (name, _) in keys.items():
            value = getattr(case, name)
            if before is not None and value == getattr(before, name):
                continue
            if before is None and value == defaults[name]:
                continue
            _put(document, section, key, name, value)
    for section in OVERRIDES:
        ours, theirs = dict(getattr(case, section)), {} if before is None else dict(getattr(before, section))
        for key in ours | theirs if ours != theirs else {}:
            _put(document, section, key, "", ours.get(key))
    return tomlkit.dumps(document)


def _put(document: Any, section: str, key: str, name: str, value: Any) -> None:
    if value is None:
        if section in document and key in document[section]:
            del document[section][key]
        return
    if section not in document:
        document[section] = tomlkit.table()
    old = document[section].get(key)
    put_value(document[section], key, plain_value(name, value, str(old) if isinstance(old, str) else ""))


def put_value(table: Any, key: str, value: Any) -> None:
    """Put a value into a table of a job file's document, with the comment that stands behind the old one."""
    old = table.get(key)
    # tomlkit hangs a comment on the old value, which a new value would drop
    trivia = getattr(old, "trivia", None)
    table[key] = value
    if trivia is not None and trivia.comment:
        placed = table[key]
        if hasattr(placed, "trivia"):
            placed.trivia.comment_ws, placed.trivia.comment = trivia.comment_ws or "  ", trivia.comment


def plain_value(name: str, value: Any, old: str) -> Any:
    """Return a case's value as it stands in a job file; lengths as text in the unit they had, else in mm.

    name: the field of the case; old: the text that stood there, empty for none.
    """
    if name == "size":
        return [_length(side, MESH_UNITS[0]) for side in value]
    if name in LENGTHS:
        word = old.rsplit(maxsplit=1)[-1] if old.split() else ""
        unit = word if word in MESH_UNITS else MESH_UNITS[0]
        return _length(value, unit)
    if name == "mass":
        return f"{value:.6g} kg"
    if name == "life" and isinstance(value, tuple):
        table = tomlkit.inline_table()
        table.update(dict(zip(("low", "likely", "high"), value, strict=True)))
        return table
    if isinstance(value, tuple):
        return list(value)
    if isinstance(value, float) and value == int(value) and name == "life":
        return int(value)
    if isinstance(value, Mapping):
        table = tomlkit.inline_table()
        table.update(value)
        return table
    return value


def _length(value: float, unit: str) -> str:
    return f"{float(from_si(value, unit)):.6g} {unit}"
