"""The molds of the log as rows of a table whose row can be chosen."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from moldkit.mold_log import MoldRecord
from moldkit.units import count_text
from moldkit.views.log_text import note_line, use_text

HEADINGS = ("Mold", "Rubber, and what is cast", "Castings", "State", "Changed", "Use and note")
# Columns that hold words; castings are figures.
WORDS = [place for place, heading in enumerate(HEADINGS) if heading != "Castings"]
# Letters of a note that a table shows; the whole of it stands where the mold is changed.
LONGEST_NOTE = 80


def newest_first(records: Iterable[MoldRecord]) -> list[MoldRecord]:
    """Return molds by the day of their last change, the latest first; of one day, the one further down in the file."""
    return sorted(reversed([*records]), key=lambda record: record.date, reverse=True)


def mold_rows(records: Sequence[MoldRecord], chosen: str = "") -> list[dict[str, Any]]:
    """Return molds as rows of a `FigureTable`, each keyed by its mold's name; chosen: the one that is marked."""
    return [
        {
            "key": record.mold,
            "heading": record.mold,
            "chosen": record.mold == chosen,
            "cells": [
                {"text": record.rubber, "note": record.casting},
                {"text": count_text(record.castings)},
                {"text": record.state},
                {"text": record.date.isoformat()},
                {"text": use_text(record), "note": _short(note_line(record.note))},
            ],
        }
        for record in records
    ]


def _short(note: str) -> str:
    return note if len(note) <= LONGEST_NOTE else f"{note[:LONGEST_NOTE].rstrip()} …"
