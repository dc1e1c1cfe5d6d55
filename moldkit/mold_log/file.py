"""The file of the mold log: read with every fault named, written so that no other writer's row is lost."""

from __future__ import annotations

import contextlib
import datetime
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from moldkit.errors import InputError, unknown
from moldkit.files import write_atomic
from moldkit.mold_log.csv_text import CsvText
from moldkit.mold_log.lock import PATIENCE_S, locked
from moldkit.mold_log.record import TABLE, LogWords, MoldRecord, checked_record, log_words, mold_key, pours_read
from moldkit.mold_log.rows import (
    cells_of,
    check_free,
    check_quotes,
    columns_of,
    first_of_its_name,
    log_path,
    log_text,
    new_log,
    place_of,
    row_of,
    why_closed,
)
from moldkit.tables import column_dictionary

# What a new row says where nothing else is given: the use that the lives in mold_life.csv are stated for.
USUAL = {
    "method": "open pour",
    "undercut": "none",
    "wall": "full",
    "release": "yes",
    "castings": "0",
    "state": "in use",
}


@dataclass(frozen=True)
class LogReading:
    """What a log says: its molds in the file's order, and a sentence for each row that could not be read."""

    records: tuple[MoldRecord, ...]
    faults: tuple[str, ...]


def read_log(folder: Path, words: LogWords | None = None) -> tuple[MoldRecord, ...]:
    """Return the molds of a data folder's log in the file's order; a missing file is an empty log.

    words: what the log may name, else read from the folder's tables. Raises InputError naming file, row, column,
    value and mend when any row has a fault: a log is taken whole, because a row left out would bias what it says.
    """
    reading = log_reading(folder, words)
    if reading.faults:
        more = len(reading.faults) - 1
        others = f" ({more} more {'row has a fault' if more == 1 else 'rows have faults'}.)" if more else ""
        raise InputError(reading.faults[0] + others)
    return reading.records


def log_reading(folder: Path, words: LogWords | None = None) -> LogReading:
    """Return the molds whose rows are in order, and beside them what is wrong with each other row.

    Raises InputError where the file as a whole can't be read: no UTF-8, no header, a column missing.
    """
    words = words or log_words(folder)
    text = log_text(log_path(folder))
    if text is None:
        return LogReading((), ())
    columns = columns_of(text)
    records, faults = [], []
    seen: dict[str, int] = {}
    for line in text.rows:
        try:
            record = checked_record(cells_of(line, columns, text), words, place_of(line))
            first_of_its_name(record, line, seen)
            records.append(record)
        except InputError as fault:
            faults.append(str(fault))
    return LogReading(tuple(records), tuple(faults))


def add_record(
    folder: Path, given: Mapping[str, Any], words: LogWords | None = None, *, patience_s: float = PATIENCE_S
) -> MoldRecord:
    """Add a mold at the end of the log, made if missing, and return its record.

    given: a value for each column by name; left out, method, undercut, wall, release, castings and state are the
    usual ones, the date is today. Every other row stays as it is byte for byte, one with a fault of its own too; only
    a quotation mark out of place anywhere refuses, because what follows it may be read as part of it. patience_s: how
    long to wait for another writer [s]. Raises InputError in one sentence, and then nothing is changed.
    """
    words = words or log_words(folder)
    today = datetime.date.today().isoformat()
    cells = dict.fromkeys(column_dictionary(TABLE), "") | USUAL | {"date": today} | _texts(given)
    record = checked_record(cells, words)

    def added(text: CsvText) -> tuple[CsvText, MoldRecord]:
        columns = columns_of(text)
        check_free(record.mold, text, columns)
        row = [""] * (len(text.header.raw) if text.header else 0)
        for name, place in columns.items():
            row[place] = _text(getattr(record, name))
        longer = text.with_row(row)
        return longer, replace(record, where=place_of(longer.lines[-1]))

    return _rewritten(folder, added, patience_s)


def change_record(
    folder: Path,
    mold: str,
    given: Mapping[str, Any],
    words: LogWords | None = None,
    *,
    more: int = 0,
    seen: MoldRecord | None = None,
    patience_s: float = PATIENCE_S,
) -> MoldRecord:
    """Change the given columns of a mold's row and return its record; its other cells stay as they are.

    more: pours to add to those in the file [pours], so that two who count at once lose none; seen: the row as whoever
    asks saw it, so that what another writer put into a given column since is not written over (the date is). A row with
    a fault can be mended so: it must be in order afterwards. Raises InputError in one sentence, and then nothing is
    changed.
    """
    words = words or log_words(folder)
    asked = _texts(given)
    if more and "castings" in asked:
        raise InputError("castings: give either their number or how many more, not both.")
    if not asked and not more:
        raise InputError(f"mold {mold!r}: nothing to change was given; name a column and its new value.")

    def changed(text: CsvText) -> tuple[CsvText, MoldRecord]:
        columns = columns_of(text)
        line = row_of(mold, text, columns)
        before = cells_of(line, columns, text)
        if seen is not None:
            _check_as_seen(seen, checked_record(before, words, place_of(line)), set(asked) - {"date"})
        wanted = dict(asked)
        if more:
            wanted["castings"] = str(pours_read(before["castings"], f"{place_of(line)}, column 'castings'") + more)
        record = checked_record(before | wanted, words, f"mold {mold!r}")
        if mold_key(record.mold) != mold_key(mold):
            check_free(record.mold, text, columns)
        new = text.with_cells(line, {columns[name]: _text(getattr(record, name)) for name in wanted})
        return new, replace(record, where=place_of(line))

    return _rewritten(folder, changed, patience_s)


def remove_record(
    folder: Path, seen: MoldRecord, words: LogWords | None = None, *, patience_s: float = PATIENCE_S
) -> MoldRecord:
    """Take a mold's row out of the log again and return its record; every other row stays as it is.

    seen: the row as whoever asks saw it. Raises InputError in one sentence where the log has no such row, or one that
    says something else by now, and then nothing is changed.
    """
    words = words or log_words(folder)

    def removed(text: CsvText) -> tuple[CsvText, MoldRecord]:
        columns = columns_of(text)
        line = row_of(seen.mold, text, columns)
        record = checked_record(cells_of(line, columns, text), words, place_of(line))
        _check_as_seen(seen, record, columns)
        return text.without_row(line), record

    return _rewritten(folder, removed, patience_s)


def _check_as_seen(seen: MoldRecord, record: MoldRecord, columns: Iterable[str]) -> None:
    for name in columns:
        was, now = (_text(getattr(each, name)) for each in (seen, record))
        if was != now:
            raise InputError(
                f"mold {seen.mold!r}, column {name!r}: says {now!r} by now, not {was!r}; nothing was changed, "
                "look at the row as it is."
            )


def _rewritten(folder: Path, change: Callable[[CsvText], tuple[CsvText, MoldRecord]], patience_s: float) -> MoldRecord:
    """Read the log, change it, write it, with every other writer kept away; return the record of the row changed."""
    path = log_path(folder)
    if closed := why_closed(folder):
        raise InputError(closed)
    with locked(path, patience_s):
        text = log_text(path) or new_log()
        for line in text.lines:
            check_quotes(line)
        new, record = change(text)
        _clear_halves(path)
        write_atomic(path, new.text.encode("utf-8"))
    return record


def _clear_halves(path: Path) -> None:
    """Remove what writers killed in the middle left behind; with the lock held, nobody is at work on one."""
    for half in path.parent.glob(f".{path.name}.*.half"):
        with contextlib.suppress(OSError):
            half.unlink()


def _texts(given: Mapping[str, Any]) -> dict[str, str]:
    columns = column_dictionary(TABLE)
    for name in given:
        if name not in columns:
            raise unknown("column", name, columns, "mold log")
    return {name: _text(value) for name, value in given.items()}


def _text(value: Any) -> str:
    """Return a value as it stands in the log."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime.date):
        return value.isoformat()
    return "" if value is None else str(value)
