"""A table in the page whose figures open their working in a panel below it."""

from __future__ import annotations

import html
import logging
from collections.abc import Callable, Collection, Mapping
from pathlib import Path
from typing import Any

import anywidget
import traitlets

from moldkit.errors import InputError, MoldkitError

logger = logging.getLogger(__name__)
_HERE = Path(__file__).parent
MARKS = {"": "", "best": "✓", "out": "✕"}  # how a row stands, for readers who see no colour
_CELL = {"text": "", "key": None, "note": ""}
_ROW = {"key": "", "heading": "", "swatch": None, "standing": "", "cells": (), "chosen": False}
_LINE = {"depth": 0, "name": "", "formula": "", "put_in": "", "result": "", "source": ""}
_STROKE = {"colour": "", "dash": "solid"}
_WORKING = {"title": "", "lines": ()}
_KINDS: dict[tuple[str, object], tuple[type, ...]] = {  # where the usual value's own kind is not all that will do
    ("key", None): (str, type(None)), ("swatch", None): (dict, type(None)),
    ("cells", ()): (list, tuple), ("lines", ()): (list, tuple),
}


class FigureTable(anywidget.AnyWidget):
    """A table of figures, each a button that opens its working in a panel of fixed height below.

    caption: stands small above the table. headings: of all columns, that of the rows' names first; set before `rows`.
    rows: each {"key", "heading", "swatch": {"colour", "dash"} or None, "standing": "", "best" or "out", "chosen",
    "cells": [{"text", "key" or None, "note"}]}; a cell with a key is a button, a note stands small under it.
    row_action: what choosing a row does ("cast by this method"); with it a row's heading is a button.
    opened: the key of the figure whose working is open. working: what the panel shows, {} for nothing, else
    {"title", "lines": [{"depth", "name", "formula", "put_in", "result", "source"}]}, as `quantity.working` tells it.
    left: places of the columns that are set from the left, as words are; the first and the last always are.
    most_height: [px], of the table: a longer one scrolls under its headings; 0 for as long as it is.
    working_height: [px], of the panel; 0 for none. empty_text: what the panel says when it shows no working.
    dimmed: the figures are out of date. notice: one line over the lower edge.
    """

    _esm = _HERE / "figure_table.js"
    _css = "\n".join((_HERE / name).read_text("utf-8") for name in ("shared.css", "figure_table.css"))

    caption = traitlets.Unicode("").tag(sync=True)
    headings = traitlets.List(traitlets.Unicode()).tag(sync=True)
    rows: Any = traitlets.List().tag(sync=True)
    left = traitlets.List(traitlets.Int()).tag(sync=True)
    most_height = traitlets.Int(0, min=0).tag(sync=True)
    row_action = traitlets.Unicode("").tag(sync=True)
    opened = traitlets.Unicode("").tag(sync=True)
    working = traitlets.Dict().tag(sync=True)
    working_height = traitlets.Int(220, min=0).tag(sync=True)
    empty_text = traitlets.Unicode("Choose a figure to see its working.").tag(sync=True)
    dimmed = traitlets.Bool(False).tag(sync=True)
    notice = traitlets.Unicode("").tag(sync=True)

    def __init__(self, **traits: Any) -> None:
        """Take the traits by name. Raises InputError when a row or the working is not as described above."""
        self._open_callbacks: list[Callable[[str], object]] = []
        self._choose_callbacks: list[Callable[[str], object]] = []
        self._close_callbacks: list[Callable[[], object]] = []
        super().__init__(**traits)
        self.on_msg(self._receive)

    @traitlets.validate("rows")
    def _rows_complete(self, proposal: Any) -> list[dict[str, Any]]:
        rows = [_row(row, place, len(self.headings)) for place, row in enumerate(proposal["value"], start=1)]
        _refuse_twice("row", [row["key"] for row in rows])
        _refuse_twice("figure", [cell["key"] for row in rows for cell in row["cells"] if cell["key"]])
        return rows

    @traitlets.validate("working")
    def _working_complete(self, proposal: Any) -> dict[str, Any]:
        if not proposal["value"]:
            return {}
        working = _filled(proposal["value"], _WORKING, "the working")
        lines = [_filled(line, _LINE, f"line {n} of the working") for n, line in enumerate(working["lines"], start=1)]
        return {**working, "lines": lines}

    def on_open(self, callback: Callable[[str], object]) -> None:
        """Call `callback` with a figure's key when its working is asked for; it sets `working`.

        A MoldkitError that a callback raises, here or below, is shown in the page.
        """
        self._open_callbacks.append(callback)

    def on_choose(self, callback: Callable[[str], object]) -> None:
        """Call `callback` with a row's key when the row is chosen; it sets `rows`."""
        self._choose_callbacks.append(callback)

    def on_close(self, callback: Callable[[], object]) -> None:
        """Call `callback` when the working has been closed in the page."""
        self._close_callbacks.append(callback)

    def _receive(self, _widget: object, content: dict[str, Any], _buffers: object) -> None:
        kind, key = content.get("kind"), str(content.get("key", ""))
        self.notice = ""
        if kind == "open":
            self._open(key)
        elif kind == "choose":
            self._tell(self._choose_callbacks, str(content.get("row", "")), known=[row["key"] for row in self.rows])
        elif kind == "close":
            self._close()
            self._tell(self._close_callbacks)

    def _open(self, key: str) -> None:
        self.opened = key
        if not self._tell(self._open_callbacks, key, known=[cell["key"] for row in self.rows for cell in row["cells"]]):
            self._close()

    def _close(self) -> None:
        self.opened = ""
        self.working = {}

    def _tell(self, callbacks: list[Any], *key: str, known: Collection[str | None] = ()) -> bool:
        """Call each callback; return False, with the reason in `notice`, when one fails or the key is gone."""
        try:
            if not set(key) <= set(known):  # the page asked before it heard of newer rows
                raise InputError("This is no longer in the table; choose again.")
            for callback in callbacks:
                callback(*key)
            return True
        except MoldkitError as error:
            self.notice = str(error)
        except Exception as error:  # else it would vanish into a log that nobody sees
            logger.exception("a callback failed on %r", key)
            self.notice = f"This choice could not be used ({type(error).__name__}: {error})."
        return False

    def _repr_mimebundle_(self, **kwargs: Any) -> tuple[dict[str, Any], dict[str, Any]] | None:
        bundle = super()._repr_mimebundle_(**kwargs)
        if bundle is None:
            return None
        data, metadata = bundle
        return {**data, "text/plain": self._as_text(), "text/html": self._as_html()}, metadata

    def _as_text(self) -> str:
        """Return the table as lines of text, for where nothing else can be shown."""
        lines = [" | ".join(self.headings), *(" | ".join(_texts(row)) for row in self.rows)]
        return "\n".join(filter(None, [self.caption, *lines]))

    def _as_html(self) -> str:
        """Return the table as static HTML, for where no kernel runs."""
        from_left = {0, *self.left, len(self.headings) - 1}

        def cell(kind: str, place: int, text: str) -> str:
            side = "left" if place in from_left else "right"
            return f'<{kind} style="text-align: {side}">{html.escape(text)}</{kind.split(maxsplit=1)[0]}>'

        heads = "".join(cell('th scope="col"', place, text) for place, text in enumerate(self.headings))
        rows = [
            "".join(cell("td" if place else 'th scope="row"', place, text) for place, text in enumerate(_texts(row)))
            for row in self.rows
        ]
        body = "".join(f"<tr>{row}</tr>" for row in rows)
        caption = f"<caption>{html.escape(self.caption)}</caption>" if self.caption else ""
        return f"<table>{caption}<thead><tr>{heads}</tr></thead><tbody>{body}</tbody></table>"


def _texts(row: Mapping[str, Any]) -> list[str]:
    """Return a row's texts: its heading with the mark of how it stands, and each figure with its note."""
    figures = [f"{cell['text']} ({cell['note']})" if cell["note"] else cell["text"] for cell in row["cells"]]
    return [f"{MARKS[row['standing']]} {row['heading']}".strip(), *figures]


def _row(given: object, place: int, columns: int) -> dict[str, Any]:
    """Return a row with nothing left out, or raise InputError."""
    where = f"row {place}"
    row = _filled(given, _ROW, where)
    cells = [_filled(cell, _CELL, f"cell {n} of {where}") for n, cell in enumerate(row["cells"], start=1)]
    if not row["key"]:
        raise InputError(f"table: {where} has no key; give it one of its own.")
    if row["standing"] not in MARKS:
        raise InputError(f"table: {where} stands {row['standing']!r}; it can be 'best', 'out' or ''.")
    if 1 + len(cells) != columns:
        raise InputError(f"table: {where} has {len(cells)} cells after its heading, but there are {columns} headings "
                         "in all; give each column one.")
    swatch = row["swatch"] and _filled(row["swatch"], _STROKE, f"the swatch of {where}")
    return {**row, "cells": cells, "swatch": swatch or None}


def _filled(given: object, parts: Mapping[str, Any], where: str) -> dict[str, Any]:
    """Return `given` with the parts it leaves out; raise InputError for foreign ones and those of the wrong kind."""
    if not isinstance(given, Mapping) or not set(given) <= set(parts):
        raise InputError(f"table: {where} must be a dict of {', '.join(parts)}, not {given!r}.")
    for name, usual in parts.items():
        if name in given and not isinstance(given[name], _KINDS.get((name, usual), (type(usual),))):
            raise InputError(f"table: {name} of {where} cannot be {given[name]!r}.")
    return {**parts, **given}


def _refuse_twice(what: str, keys: list[str]) -> None:
    twice = next((key for key in keys if keys.count(key) > 1), None)
    if twice is not None:
        raise InputError(f"table: two of the {what}s have the key {twice!r}; give each its own.")
