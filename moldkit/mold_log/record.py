"""One mold of the log: each word and figure of its row checked."""

from __future__ import annotations

import datetime
import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from moldkit.errors import InputError, nearest, unknown
from moldkit.tables import Row, column_dictionary, load_table

TABLE = "mold_log"
WORN_OUT = "worn out"
LONGEST_NAME, LONGEST_NOTE = 40, 2000
FIRST_YEAR, LAST_YEAR = 1950, 2199

_WHOLE = re.compile(r"[0-9]+")
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


@dataclass(frozen=True)
class MoldRecord:
    """One mold of the log.

    rubber, casting: a grade and a material, or families; rubber_family, casting_family: the families these belong to;
    castings: pours given so far, good and rejected, the last one included [pours]; state: "worn out" is a failure at
    `castings`; "in use", "retired early" and "spoiled" (an accident, not wear) are censored there: the life is longer;
    where: file and row it stands in.
    """

    mold: str
    rubber: str
    casting: str
    method: str
    undercut: str
    wall: str
    release: bool
    castings: int
    state: str
    date: datetime.date
    note: str = ""
    rubber_family: str = ""
    casting_family: str = ""
    where: str = field(default="", compare=False)

    @property
    def worn_out(self) -> bool:
        """Whether its life is known: it failed by wear at `castings`. Otherwise its life is longer than that."""
        return self.state == WORN_OUT

    @property
    def uses(self) -> dict[str, str]:
        """How it is used, in the kinds and values of life_factors.csv, so that lives can be put on one scale."""
        return {
            "method": self.method,
            "undercut": self.undercut,
            "wall": self.wall,
            "release": "yes" if self.release else "no",
        }


@dataclass(frozen=True)
class LogWords:
    """The words a log may use: grades and families of rubber and of casting, each with its family; the methods."""

    rubbers: Mapping[str, str]
    castings: Mapping[str, str]
    methods: tuple[str, ...]


def log_words(folder: Path) -> LogWords:
    """Return the words that a data folder's tables know; raises InputError for a fault in one of them."""
    return LogWords(
        _families(load_table(folder, "rubbers")),
        _families(load_table(folder, "casting_materials")),
        tuple(row.text("name") for row in load_table(folder, "casting_methods")),
    )


def _families(rows: Iterable[Row]) -> dict[str, str]:
    families = [row.text("family") for row in rows]
    return dict(zip(families, families, strict=True)) | {row.name: row.text("family") for row in rows}


def mold_key(name: str) -> str:
    """Return what tells molds apart: their name without regard to capitals and to the width of spaces."""
    return " ".join(unicodedata.normalize("NFC", name).split()).casefold()


def next_name(records: Iterable[MoldRecord], day: datetime.date) -> str:
    """Return a free name for a new mold: the day's year and the next number of that year, as in 26-031."""
    year = f"{day:%y}-"
    numbers = [int(r.mold.removeprefix(year)) for r in records if re.fullmatch(rf"{year}[0-9]{{3,6}}", r.mold)]
    return f"{year}{max(numbers, default=0) + 1:03d}"


def checked_record(cells: Mapping[str, str], words: LogWords, where: str = "") -> MoldRecord:
    """Return the record of a row given as text by column.

    where: file and row for errors, empty for a row that stands in no file yet. Raises InputError for the first fault,
    naming row, column, value and mend.
    """
    columns = column_dictionary(TABLE)
    place = {name: f"{where}, column {name!r}" if where else name for name in columns}
    text = {name: cells[name] if name == "note" else cells[name].strip() for name in columns}
    for name, column in columns.items():
        if column.required and not text[name]:
            raise InputError(f"{place[name]}: is empty; give {column.meaning}.")
    known = {"rubber": words.rubbers, "casting": words.castings, "method": dict.fromkeys(words.methods)}
    for name, choices in known.items():
        if text[name] not in choices:
            kind = "casting method" if name == "method" else f"{name} name or family"
            raise unknown(kind, text[name], choices, place[name])
    record = MoldRecord(
        mold=_name(text["mold"], place["mold"]),
        rubber=text["rubber"],
        casting=text["casting"],
        method=text["method"],
        undercut=check_choice(text["undercut"], columns["undercut"].choices, place["undercut"]),
        wall=check_choice(text["wall"], columns["wall"].choices, place["wall"]),
        release=check_choice(text["release"], ("yes", "no"), place["release"]) == "yes",
        castings=pours_read(text["castings"], place["castings"]),
        state=check_choice(text["state"], columns["state"].choices, place["state"]),
        date=_day(text["date"], place["date"]),
        note=_plain(text["note"], place["note"], LONGEST_NOTE, "\n\r\t"),
        rubber_family=words.rubbers[text["rubber"]],
        casting_family=words.castings[text["casting"]],
        where=where,
    )
    if record.worn_out and record.castings == 0:
        raise InputError(
            f"{place['castings']}: a mold that is worn out has given 1 at least; count its pours, "
            "or call it spoiled if it never gave one."
        )
    return record


def _name(text: str, place: str) -> str:
    if text.startswith("#"):
        raise InputError(f"{place}: {text!r} begins like a comment; leave the # out of the name.")
    return _plain(text, place, LONGEST_NAME, "")


def _plain(text: str, place: str, longest: int, besides: str) -> str:
    if len(text) > longest:
        raise InputError(f"{place}: has {len(text)} characters; {longest} are the most, shorten it.")
    for sign in text:
        if unicodedata.category(sign) in ("Cc", "Cs") and sign not in besides:
            raise InputError(f"{place}: holds a character that cannot be shown (U+{ord(sign):04X}); remove it.")
    return text


def check_choice(word: str, choices: tuple[str, ...], place: str) -> str:
    """Return a word that is one of the choices; raises InputError with the nearest for any other."""
    if word in choices:
        return word
    close = nearest(word, choices)
    hint = f"; did you mean {close!r}?" if close else "; write one of them."
    raise InputError(f"{place}: {word!r} is not one of {', '.join(choices)}{hint}")


def pours_read(text: str, place: str) -> int:
    """Return a number of pours from text [pours]; raises InputError that begins with its place for anything else."""
    digits = text.strip()
    if not _WHOLE.fullmatch(digits):
        raise InputError(f"{place}: {digits!r} is not a whole number of pours; write digits only, for instance 40.")
    most = int(column_dictionary(TABLE)["castings"].most or 0)
    # Long numbers are not even read: Python refuses those of thousands of digits.
    if len(digits) > 18 or int(digits) > most:
        raise InputError(f"{place}: {digits[:20]} is more than {most}; check the figure.")
    return int(digits)


def _day(text: str, place: str) -> datetime.date:
    if not _DAY.fullmatch(text):
        raise InputError(
            f"{place}: {text!r} is not written year-month-day, for instance 2026-11-25; "
            "in a spreadsheet, format the column as text."
        )
    try:
        day = datetime.date.fromisoformat(text)
    except ValueError:
        raise InputError(f"{place}: {text!r} is no day of the calendar; check month and day.") from None
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise InputError(f"{place}: {text} is outside {FIRST_YEAR} to {LAST_YEAR}; check the year.")
    return day
