"""The mold log in words: its table, what was written, the record that others script against."""

from __future__ import annotations

import re
import unicodedata
from collections import Counter
from collections.abc import Sequence
from typing import Any

from moldkit.mold_log import LogReading, MoldRecord
from moldkit.units import count_text

HEADINGS = ("Mold", "Rubber", "Casting", "Use", "Castings", "State", "Changed", "Note")
FIGURES = HEADINGS.index("Castings")
# Broken rows that are named in full where there are more.
MOST_FAULTS = 3
_LINE_END = re.compile(r"\s*(?:\r\n|\r|\n)\s*")


def log_rows(records: Sequence[MoldRecord]) -> list[list[str]]:
    """Return molds as rows of text, the headings first; a note that has several lines stands in one."""
    return [
        list(HEADINGS),
        *(
            [
                record.mold,
                record.rubber,
                record.casting,
                use_text(record),
                count_text(record.castings),
                record.state,
                record.date.isoformat(),
                note_line(record.note),
            ]
            for record in records
        ),
    ]


def note_line(note: str) -> str:
    """Return a note in one line."""
    return _LINE_END.sub(" / ", note.strip()).replace("\t", " ")


def log_table(records: Sequence[MoldRecord]) -> str:
    """Return molds as lines of text in columns, and below them how many there are in each state."""
    rows = log_rows(records)
    widths = [max(_width(row[place]) for row in rows) for place in range(len(HEADINGS))]
    lines = [_line(row, widths) for row in rows]
    lines.insert(1, "  ".join("-" * width for width in widths))
    return "\n".join([*lines, "", count_sentence(records)]) if records else count_sentence(records)


def _line(row: Sequence[str], widths: Sequence[int]) -> str:
    cells = []
    for place, cell in enumerate(row):
        space = " " * (widths[place] - _width(cell))
        cells.append(space + cell if place == FIGURES else cell + space)
    return "  ".join(cells).rstrip()


def _width(text: str) -> int:
    """Return how many places a text takes on a terminal: none for marks on a letter, two for wide signs."""
    return sum(
        0 if unicodedata.combining(sign) else 2 if unicodedata.east_asian_width(sign) in "WF" else 1 for sign in text
    )


def use_text(record: MoldRecord) -> str:
    """Return how a mold is used: its casting method and what differs from a plain use."""
    parts = [record.method]
    if record.undercut != "none":
        parts.append(f"{record.undercut} undercut")
    if record.wall == "thin":
        parts.append("thin wall")
    if not record.release:
        parts.append("no release")
    return ", ".join(parts)


def count_sentence(records: Sequence[MoldRecord]) -> str:
    """Return how many molds there are and in which states."""
    if not records:
        return "No molds."
    states = Counter(record.state for record in records)
    listed = ", ".join(f"{count_text(count)} {state}" for state, count in states.most_common())
    return f"{_molds(len(records))}: {listed}."


def held_sentence(records: Sequence[MoldRecord]) -> str:
    """Return how many molds the whole log holds."""
    return f"The log holds {count_sentence(records)}" if records else "The log holds no molds yet."


def fault_words(faults: Sequence[str]) -> str:
    """Return what to say of rows that could not be read: the first of them in full, of the others how many."""
    if not faults:
        return ""
    more = len(faults) - MOST_FAULTS
    others = f" {count_text(more)} more {'row has a fault' if more == 1 else 'rows have faults'}." if more > 0 else ""
    return f"{' '.join(faults[:MOST_FAULTS])}{others} Until that is mended, no life is learned from the log."


def record_sentence(record: MoldRecord) -> str:
    """Return one mold's record as a sentence."""
    pours = f"{count_text(record.castings)} {'casting' if record.castings == 1 else 'castings'}"
    return (
        f"Mold {record.mold} ({record.where}): {record.rubber}, {pours} in {record.casting}, {use_text(record)}; "
        f"{record.state}, {record.date.isoformat()}."
    )


def written_text(record: MoldRecord, reading: LogReading) -> str:
    """Return what to say after a mold was added or changed: its record, and what the log now knows of its pair.

    reading: the log as it is now.
    """
    pair = (record.rubber_family, record.casting_family)
    like = [each for each in reading.records if (each.rubber_family, each.casting_family) == pair]
    failed = sum(each.worn_out for each in like)
    said = [
        f"Written. {record_sentence(record)}",
        f"The log holds {_molds(len(like))} of {pair[0]} with {pair[1]}, {count_text(failed)} of them worn out.",
    ]
    faults = len(reading.faults)
    if faults:
        said.append(f"{faults} {'row has a fault' if faults == 1 else 'rows have faults'}: see `moldkit log list`.")
    return "\n".join(said)


def log_record(records: Sequence[MoldRecord], faults: Sequence[str]) -> dict[str, Any]:
    """Return molds and the faults of other rows as one plain object, castings in pours."""
    return {
        "schema": 1,
        "molds": [
            {
                "mold": record.mold,
                "rubber": record.rubber,
                "casting": record.casting,
                "method": record.method,
                "undercut": record.undercut,
                "wall": record.wall,
                "release": record.release,
                "castings": record.castings,
                "state": record.state,
                "date": record.date.isoformat(),
                "note": record.note,
            }
            for record in records
        ],
        "faults": list(faults),
    }


def _molds(count: int) -> str:
    return f"{count_text(count)} {'mold' if count == 1 else 'molds'}"
