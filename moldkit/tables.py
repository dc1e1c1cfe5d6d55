"""The shop's data tables: CSV files read against a column dictionary, every fault named with its mend.

A column dictionary (moldkit/columns/TABLE.csv) says for each column its kind, unit, bounds, choices and
meaning. A column of kind "range" stands in the file as three columns, NAME low, NAME likely and NAME high.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from moldkit.errors import InputError, nearest
from moldkit.kit_sizes import Kit, parse_kits
from moldkit.quantity import Quantity
from moldkit.units import ACCEPTED, SI, parse_number, to_si

PARTS = ("low", "likely", "high")

# File unit -> (unit inside, factor), for units that are not plain physical ones.
_OTHER_UNITS = {
    "": ("1", 1.0),
    "-": ("1", 1.0),
    "%": ("share", 0.01),
    "parts": ("parts", 1.0),
    "Shore A": ("Shore A", 1.0),
    "pours": ("pours", 1.0),
    "per kg": ("money/kg", 1.0),
    "per unit": ("money/unit", 1.0),
    "per h": ("money/s", 1.0 / 3600.0),
    "min/kg": ("s/kg", 60.0),
}


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a table, as its dictionary describes it."""

    name: str
    kind: str
    unit: str
    least: float | None
    most: float | None
    required: bool
    choices: tuple[str, ...]
    meaning: str

    @property
    def headers(self) -> tuple[str, ...]:
        """The column's headers in the file."""
        unit = f" [{self.unit}]" if self.unit and self.kind in ("range", "number", "integer", "list", "kits") else ""
        if self.kind == "range":
            return tuple(f"{self.name} {part}{unit}" for part in PARTS)
        return (f"{self.name}{unit}",)


@lru_cache(maxsize=64)
def column_dictionary(table: str) -> dict[str, Column]:
    """Return the columns of a table by name, in order."""
    path = Path(__file__).parent / "columns" / f"{table}.csv"
    with path.open(encoding="utf-8", newline="") as file:
        return {
            row["column"]: Column(
                row["column"],
                row["kind"],
                row["unit"],
                float(row["least"]) if row["least"] else None,
                float(row["most"]) if row["most"] else None,
                row["required"] == "yes",
                tuple(word for word in row["choices"].split(";") if word),
                row["meaning"],
            )
            for row in csv.DictReader(file)
        }


@dataclass(frozen=True)
class Row:
    """One row of a table: figures as quantities in SI units, words as text, flags, sets and lists."""

    name: str
    where: str
    values: Mapping[str, Any]

    def quantity(self, column: str) -> Quantity:
        """Return the figure in `column`."""
        found: Quantity = self.values[column]
        return found

    def text(self, column: str) -> str:
        """Return the words in `column`."""
        return str(self.values[column])

    def flag(self, column: str) -> bool:
        """Return whether `column` says yes."""
        return bool(self.values[column])

    def words(self, column: str) -> frozenset[str]:
        """Return the set in `column`."""
        found: frozenset[str] = self.values[column]
        return found

    def kits(self, column: str) -> tuple[Kit, ...]:
        """Return the kits in `column`, the smallest first."""
        found: tuple[Kit, ...] = self.values[column]
        return found

    def numbers(self, column: str) -> tuple[float, ...]:
        """Return the list of figures in `column`, in SI units."""
        found: tuple[float, ...] = self.values[column]
        return found


def load_table(folder: Path, table: str) -> tuple[Row, ...]:
    """Return the rows of data/TABLE.csv, checked against the table's column dictionary.

    Raises InputError naming file, row, column, the value and the mend for the first fault.
    """
    path = folder / f"{table}.csv"
    columns = column_dictionary(table)
    header, records = _read_csv(path)
    _check_header(path, header, columns)
    rows = [_row(path.name, line, dict(zip(header, fields, strict=True)), columns) for line, fields in records]
    if not rows:
        raise InputError(f"{path.name}: holds no rows; put back at least one row below the header.")
    seen: dict[str, str] = {}
    for row in rows:
        if row.name in seen:
            raise InputError(
                f"{row.where}: {row.name!r} stands already in {seen[row.name]}; remove one of the two rows."
            )
        seen[row.name] = row.where.split(", ")[-1]
    return tuple(rows)


def _read_csv(path: Path) -> tuple[list[str], list[tuple[int, list[str]]]]:
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        raise InputError(f"{path.name}: missing from the data folder {str(path.parent)!r}; put it back.") from None
    except UnicodeDecodeError as fault:
        raise InputError(f"{path.name}: not UTF-8 text (byte {fault.start}); save it again as UTF-8 CSV.") from None
    except OSError as fault:
        raise InputError(f"{path.name}: cannot be read ({fault.strerror}).") from None
    first = text.split("\n", 1)[0]
    if not first.strip():
        raise InputError(f"{path.name}: row 1 is empty; it must hold the column names.")
    if "," not in first and ";" in first:
        raise InputError(f"{path.name}: row 1 is separated by semicolons; save it again as CSV with commas.")
    try:
        lines = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    except csv.Error as fault:
        raise InputError(
            f"{path.name}: not a whole CSV file ({fault}); look for a quotation mark that is not closed."
        ) from None
    header = [name.strip() for name in lines[0]]
    records = [(number, fields) for number, fields in enumerate(lines[1:], start=2) if any(f.strip() for f in fields)]
    for number, fields in records:
        if len(fields) != len(header):
            raise InputError(
                f"{path.name}, row {number}: has {len(fields)} cells where the header has {len(header)}; "
                "look for a missing or extra comma, or quote a cell that holds one."
            )
    return header, records


def _check_header(path: Path, header: list[str], columns: Mapping[str, Column]) -> None:
    wanted = [name for column in columns.values() for name in column.headers]
    for name in header:
        if name not in wanted:
            close = nearest(name, wanted)
            hint = f"; rename it to {close!r}" if close else "; remove it"
            raise InputError(f"{path.name}, row 1: unknown column {name!r}{hint}.")
        if header.count(name) > 1:
            raise InputError(f"{path.name}, row 1: column {name!r} stands twice; remove one.")
    for name in wanted:
        if name not in header:
            raise InputError(f"{path.name}, row 1: column {name!r} is missing; add it.")


def _row(file: str, line: int, cells: Mapping[str, str], columns: Mapping[str, Column]) -> Row:
    where = f"{file}, row {line}"
    keys = [cells[c.headers[0]].strip() for c in columns.values() if c.kind in ("key", "pair")]
    if not all(keys):
        raise InputError(
            f"{where}: has no {'name' if len(keys) == 1 else 'key'}; fill the first column or remove the row."
        )
    name = " / ".join(keys)
    sources = _sources(cells.get("source", ""))
    values = {
        column.name: _value(name, where, column, [cells[header].strip() for header in column.headers], sources)
        for column in columns.values()
    }
    return Row(name, where, values)


def _sources(text: str) -> dict[str, str]:
    """Take 'general; column: its own source' apart; the general source stands under the empty key."""
    general, *own = [part.strip() for part in text.split(";")]
    found = {"": general}
    for part in own:
        column, colon, source = part.partition(":")
        if colon and source.strip():
            found[column.strip()] = source.strip()
        else:
            found[""] += f"; {part}"
    return found


def _value(row: str, where: str, column: Column, cells: list[str], sources: Mapping[str, str]) -> Any:
    place = f"{where}, column {column.headers[0]!r}"
    if column.kind == "range":
        numbers = [
            _number(f"{where}, column {header!r}", column, cell)
            for header, cell in zip(column.headers, cells, strict=True)
        ]
        return range_quantity(column, numbers, f"{row}: {column.name.replace('_', ' ')}", sources, place)
    cell = cells[0]
    if not cell:
        if column.required:
            raise InputError(f"{place}: is empty; give {column.meaning}.")
        return {"set": frozenset(), "list": (), "kits": (), "optional": None}.get(column.kind, "")
    if column.kind in ("number", "integer", "optional"):
        return _number(place, column, cell)
    if column.kind == "flag":
        if cell not in ("yes", "no"):
            raise InputError(f"{place}: {cell!r} is neither yes nor no; write one of them.")
        return cell == "yes"
    if column.kind == "kits":
        return parse_kits(cell, place, lambda number: check_bounds(place, column, number))
    if column.kind in ("set", "list"):
        parts = [part.strip() for part in cell.split(";") if part.strip()]
        if column.kind == "set":
            return frozenset(_choice(place, column, part) for part in parts)
        return tuple(sorted(_inside(column, _number(place, column, part)) for part in parts))
    return _choice(place, column, cell) if column.choices else cell


def _choice(place: str, column: Column, word: str) -> str:
    if word in column.choices:
        return word
    close = nearest(word, column.choices)
    hint = f"; did you mean {close!r}?" if close else ""
    raise InputError(f"{place}: {word!r} is not one of {', '.join(column.choices)}{hint}")


def _number(place: str, column: Column, cell: str) -> float:
    if not cell:
        raise InputError(f"{place}: is empty; give a number{f' [{column.unit}]' if column.unit else ''}.")
    number = parse_number(cell, place)
    if column.kind == "integer" and number != int(number):
        raise InputError(f"{place}: {cell} is not a whole number.")
    return check_bounds(place, column, number)


def check_bounds(place: str, column: Column, number: float) -> float:
    """Return `number` if it lies within the column's bounds; raises InputError that says them."""
    low, high = column.least, column.most
    if (low is not None and number < low - 1e-12) or (high is not None and number > high + 1e-12):
        unit = "" if column.unit in ("", "-") else f" {column.unit}"
        raise InputError(
            f"{place}: {number:g}{unit} is outside {low:g} to {high:g}{unit}; check the figure and its unit."
        )
    return number


def range_quantity(
    column: Column, numbers: Iterable[float], name: str, sources: Mapping[str, str], place: str
) -> Quantity:
    """Return the quantity for low, likely and high in the file's unit; raises InputError when out of order."""
    low, likely, high = numbers
    if not low <= likely <= high:
        raise InputError(f"{place}: low {low:g}, likely {likely:g}, high {high:g} are out of order; sort them.")
    unit = inside_unit(column)
    return Quantity(
        name,
        _inside(column, likely),
        unit,
        source=sources.get(column.name) or sources.get("", ""),
        low=_inside(column, low),
        high=_inside(column, high),
    )


def inside_unit(column: Column) -> str:
    """Return the unit that a column's figures have inside the kit."""
    if column.unit in _OTHER_UNITS:
        return _OTHER_UNITS[column.unit][0]
    return next(SI[dimension] for dimension, words in ACCEPTED.items() if column.unit in words)


def _inside(column: Column, number: float) -> float:
    if column.unit in _OTHER_UNITS:
        return number * _OTHER_UNITS[column.unit][1]
    return to_si(number, column.unit)
