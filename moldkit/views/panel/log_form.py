"""The two forms of the mold log's panel: a new mold, and what has become of one that stands in the log."""

from __future__ import annotations

import datetime
import html
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import ipywidgets as widgets

from moldkit.mold_log import LogWords, MoldRecord, next_name
from moldkit.mold_log.record import TABLE, pours_read
from moldkit.tables import column_dictionary
from moldkit.views.log_text import record_sentence

# The lists' word for what nobody has said yet; the log refuses it by the column's name.
UNSAID = ("choose", "")
HINT = "Choose a mold: press its name in the table."
WIDE = widgets.Layout(width="auto", min_width="0")
DESCRIBED = {"description_width": "100px"}
GRID = widgets.Layout(grid_template_columns="repeat(auto-fit, minmax(250px, 1fr))", grid_gap="0 10px", width="100%")


def by_family(families: Mapping[str, str]) -> list[str]:
    """Return the words of a log grouped by their family, each family before its own; families: word -> family."""
    return sorted(families, key=lambda word: (families[word], word != families[word], word))


def _asked(families: Mapping[str, str]) -> list[tuple[str, str]]:
    return [UNSAID, *((word, word) for word in by_family(families))]


def _choices(column: str) -> tuple[str, ...]:
    return column_dictionary(TABLE)[column].choices


def _list(label: str, options: Sequence[Any], value: str | None = None) -> widgets.Dropdown:
    made = widgets.Dropdown(options=options, description=label, layout=WIDE, style=DESCRIBED)
    if value is not None:
        made.value = value
    return made


def _text(label: str, placeholder: str = "") -> widgets.Text:
    return widgets.Text(description=label, placeholder=placeholder, layout=WIDE, style=DESCRIBED)


def _note(label: str, placeholder: str = "") -> widgets.Textarea:
    return widgets.Textarea(description=label, placeholder=placeholder, rows=2, layout=WIDE, style=DESCRIBED)


def _day(label: str) -> widgets.DatePicker:
    return widgets.DatePicker(value=datetime.date.today(), description=label, layout=WIDE, style=DESCRIBED)


class _Form:
    """Fields by the log's column, each with what it was filled with, so that what somebody wrote is never written over.

    Numbers are fields of text, which keep what is wrong in them until it is mended.
    """

    def __init__(self, fields: dict[str, widgets.ValueWidget]) -> None:
        self.fields = fields
        self._filled = {name: field.value for name, field in fields.items()}

    def written(self, name: str) -> bool:
        """Return whether somebody has put something into a field."""
        return bool(self.fields[name].value != self._filled[name])

    def _fill(self, anew: bool, **values: Any) -> None:
        """Fill fields, those that somebody has written into only when all begins anew."""
        for name, value in values.items():
            free = anew or not self.written(name)
            self._filled[name] = value
            if free:
                self.fields[name].value = value


class NewMold(_Form):
    """The form of a new mold."""

    def __init__(self, words: LogWords) -> None:
        """Make the fields, offering the words that a log may use."""
        super().__init__(
            {
                "mold": _text("Mold", "a short name: 26-031"),
                "rubber": _list("Rubber", _asked(words.rubbers)),
                "casting": _list("Casting", _asked(words.castings)),
                "method": _list("Method", words.methods, "open pour"),
                "undercut": _list("Undercut", _choices("undercut"), "none"),
                "wall": _list("Wall", _choices("wall"), "full"),
                "release": _list("Release", ("yes", "no"), "yes"),
                "castings": _text("Castings", "pours so far, good and rejected"),
                "state": _list("State", _choices("state"), "in use"),
                "date": _day("Date"),
                "note": _note("Note", "anything worth knowing later"),
            }
        )
        self.fields["castings"].value = self._filled["castings"] = "0"
        self.body = widgets.GridBox(list(self.fields.values()), layout=GRID)

    def given(self) -> dict[str, Any]:
        """Return what the form says, by column."""
        return {name: field.value for name, field in self.fields.items()}

    def offer(self, records: Iterable[MoldRecord], anew: bool = False) -> None:
        """Offer the next free name and today; anew: after a mold was added, with the use of the one before kept."""
        today = datetime.date.today()
        self._fill(anew, mold=next_name(records, today), date=today)
        if anew:
            self._fill(True, castings="0", state="in use", note="")


class MoldChange(_Form):
    """The form of a mold that stands in the log: castings more, or its castings in all, its state, its note."""

    def __init__(self) -> None:
        """Make the fields, waiting for a mold to be chosen."""
        super().__init__(
            {
                "more": _text("Castings more", "since then, for instance 3"),
                "castings": _text("In all"),
                "state": _list("State now", _choices("state")),
                "date": _day("Changed on"),
                "note": _note("Its note"),
            }
        )
        self.record: MoldRecord | None = None
        self.said = widgets.HTML()
        self.body = widgets.VBox([self.said, widgets.GridBox(list(self.fields.values()), layout=GRID)])
        self.show(None)

    def show(self, record: MoldRecord | None, anew: bool = True) -> None:
        """Show a mold, or none; anew: what was written into the fields is done with."""
        self.record = record
        for field in self.fields.values():
            field.disabled = record is None
        words = HINT if record is None else record_sentence(record)
        self.said.value = f'<div style="line-height:1.4">{html.escape(words)}</div>'
        today = datetime.date.today()
        if record is None:
            self._fill(True, more="", castings="", date=today, note="")
        else:
            castings = str(record.castings)
            self._fill(anew, more="", castings=castings, state=record.state, date=today, note=record.note)

    def given(self) -> tuple[dict[str, Any], int]:
        """Return what is to be changed, by column, and the castings more [pours]; InputError for what is no number."""
        text = self.fields["more"].value.strip()
        more = pours_read(text, "Castings more") if text else 0
        changed = {name: self.fields[name].value for name in ("castings", "state", "note") if self.written(name)}
        if changed or more or self.written("date"):
            changed["date"] = self.fields["date"].value
        return changed, more
