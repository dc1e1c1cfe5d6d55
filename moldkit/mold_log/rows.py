"""The rows of the mold log as they stand in its file: which columns are where, whose row is whose."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path

from moldkit.errors import InputError, nearest
from moldkit.mold_log.csv_text import CsvText, Line, csv_text
from moldkit.mold_log.record import TABLE, MoldRecord, mold_key
from moldkit.tables import column_dictionary

FILE = f"{TABLE}.csv"


def log_path(folder: Path) -> Path:
    """Return where the log really lies, so that a link to it stays a link and its lock is the same for everybody."""
    return (folder / FILE).resolve()


def log_stamp(folder: Path) -> tuple[int, int, int] | None:
    """Return what changes with every writing of a log, None where there is no file."""
    try:
        found = log_path(folder).stat()
    except OSError:
        return None
    return found.st_ino, found.st_mtime_ns, found.st_size


def why_closed(folder: Path) -> str:
    """Return in one sentence why the log of a data folder is not for writing, and the mend; empty where it is."""
    path = log_path(folder)
    if {"site-packages", "dist-packages"} & set(path.parts):
        why = "lies inside the installed package"
    elif not os.access(path.parent, os.W_OK):
        why = "lies in a folder that is not for writing"
    else:
        return ""
    return f"The log {str(path)!r} {why}; make a data folder of your own with `moldkit data copy DIR` first."


def log_text(path: Path) -> CsvText | None:
    """Return the log's text taken apart, None where there is no file; raises InputError where it is no CSV text."""
    try:
        text = path.read_bytes().decode("utf-8")
    except FileNotFoundError:
        return None
    except UnicodeDecodeError as fault:
        raise InputError(f"{FILE}: not UTF-8 text (byte {fault.start}); save it again as UTF-8 CSV.") from None
    except OSError as fault:
        raise InputError(f"{FILE}: cannot be read ({fault.strerror}).") from None
    return csv_text(text, column_dictionary(TABLE))


def new_log() -> CsvText:
    """Return the text of a log without a mold."""
    columns = column_dictionary(TABLE)
    return csv_text(",".join(columns) + "\n", columns)


def place_of(line: Line) -> str:
    """Return file and row, as errors say them."""
    return f"{FILE}, row {line.number}"


def columns_of(text: CsvText) -> dict[str, int]:
    """Return the place of each column in the file; columns of the shop's own may stand between them.

    Raises InputError for a header that is missing, or lacks a column, or has one twice.
    """
    if text.header is None:
        raise InputError(f"{FILE}: has no row of column names; put it back, or remove the file to begin a new log.")
    where, names = place_of(text.header), [cell.strip() for cell in text.header.cells]
    wanted = list(column_dictionary(TABLE))
    for name in wanted:
        if names.count(name) > 1:
            raise InputError(f"{where}: column {name!r} stands twice; remove one.")
        if name not in names:
            close = nearest(name, [other for other in names if other and other not in wanted])
            mend = f"rename {close!r} to it" if close else "add it"
            raise InputError(f"{where}: column {name!r} is missing; {mend}.")
    return {name: names.index(name) for name in wanted}


def cells_of(line: Line, columns: Mapping[str, int], text: CsvText) -> dict[str, str]:
    """Return a row's texts by column; raises InputError where its quotation marks or its number of cells are wrong."""
    check_quotes(line)
    many, wanted = len(line.raw), len(text.header.raw) if text.header else 0
    if many != wanted:
        sign = "tab" if text.delimiter == "\t" else {",": "comma", ";": "semicolon"}[text.delimiter]
        raise InputError(
            f"{place_of(line)}: has {many} {'cell' if many == 1 else 'cells'} where the header has {wanted}; "
            f"look for a missing or extra {sign}, or quote a cell that holds one."
        )
    return {name: line.cells[place] for name, place in columns.items()}


def check_quotes(line: Line) -> None:
    """Raise InputError where a row's quotation marks leave open what belongs to which cell."""
    if line.fault:
        raise InputError(f"{place_of(line)}: {line.fault}; close it, or write one inside a quoted cell twice.")


def first_of_its_name(record: MoldRecord, line: Line, seen: dict[str, int]) -> None:
    """Raise InputError where another row has the mold's name; seen: row by name, which grows by this one."""
    first = seen.setdefault(mold_key(record.mold), line.number)
    if first != line.number:
        raise InputError(
            f"{place_of(line)}, column 'mold': {record.mold!r} stands already in row {first}; "
            "rename or remove one of the two."
        )


def check_free(mold: str, text: CsvText, columns: Mapping[str, int]) -> None:
    """Raise InputError where a row has this name already, saying how to change it."""
    for line in _named(mold, text, columns):
        name = line.cells[columns["mold"]].strip()
        raise InputError(
            f"mold {name!r}: stands in the log already ({place_of(line)}); choose another name, "
            f'or change that row with `moldkit log change "{name}"`.'
        )


def row_of(mold: str, text: CsvText, columns: Mapping[str, int]) -> Line:
    """Return the row of a mold; raises InputError where there is none, with the nearest name, or more than one."""
    found = _named(mold, text, columns)
    if len(found) == 1:
        return found[0]
    if found:
        rows = " and ".join(str(line.number) for line in found)
        raise InputError(f"{FILE}, rows {rows}: all say mold {mold!r}; rename or remove all but one first.")
    place = columns["mold"]
    close = nearest(mold, {line.cells[place].strip() for line in text.rows if len(line.cells) > place})
    hint = f"did you mean {close!r}?" if close else "`moldkit log list` shows what is."
    raise InputError(f"mold {mold!r}: is not in the log; {hint}")


def _named(mold: str, text: CsvText, columns: Mapping[str, int]) -> list[Line]:
    """Return the rows of a mold's name, those with faults too."""
    place, key = columns["mold"], mold_key(mold)
    return [line for line in text.rows if len(line.cells) > place and mold_key(line.cells[place]) == key]
