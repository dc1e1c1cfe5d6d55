"""The panel of the mold log: what each mold has given, a new one, and what has become of one."""

from __future__ import annotations

import html
import os
import threading
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import ipywidgets as widgets

from moldkit.data_folder import find_data_folder
from moldkit.errors import InputError, MoldkitError
from moldkit.mold_log import (
    LogReading,
    MoldRecord,
    add_record,
    change_record,
    chosen,
    log_reading,
    log_words,
    remove_record,
    why_closed,
)
from moldkit.mold_log.record import TABLE, mold_key
from moldkit.mold_log.rows import log_path, log_stamp
from moldkit.tables import column_dictionary
from moldkit.units import count_text
from moldkit.views.log_text import fault_words, held_sentence, record_sentence
from moldkit.views.mold_rows import HEADINGS, WORDS, mold_rows, newest_first
from moldkit.views.panel.guard import guarded
from moldkit.views.panel.log_form import MoldChange, NewMold, by_family
from moldkit.views.widgets.figure_table import FigureTable
from moldkit.views.widgets.page_watch import PageWatch
from moldkit.views.widgets.verdict_band import VerdictBand

HEIGHT = 330
# Rows in the table at the most: what lies further back is found by the lists above it.
MOST_ROWS = 200
ALL = ("all", "")


@dataclass(frozen=True)
class Done:
    """A change of this panel's that can be taken back.

    before: the mold as it was, None where it was added; after: as it was left; more: of its castings, those that were
    counted on top, which are taken off again whatever others have counted since [pours].
    """

    before: MoldRecord | None
    after: MoldRecord
    more: int = 0


class MoldLog(widgets.VBox):  # type: ignore[misc]
    """The molds of the log in a table, newest first; below it a form for a new mold and one for the mold chosen.

    reading is the log as it was last read, record the mold chosen, None for none. Nothing is written but on a press.
    """

    def __init__(self, data: str | os.PathLike[str] | None = None) -> None:
        """Open the log of a data folder, searched for as ever when none is named.

        Raises InputError where the folder or its tables cannot be read; trouble with the log is told in the panel.
        """
        self.folder = find_data_folder(data)
        self.words = log_words(self.folder)
        self.reading = LogReading((), ())
        self._done: list[Done] = []
        self._on_change: list[Callable[[], object]] = []
        self._stamp: object = ()
        self._trouble = ""
        self._lock = threading.RLock()
        self._make_table()
        self._make_forms()
        super().__init__(children=self._children(), layout=widgets.Layout(width="100%", overflow="visible"))
        self.add_class("moldkit-panel")
        self.look_again()

    def _make_table(self) -> None:
        self.band = VerdictBand()
        state = column_dictionary(TABLE)["state"]
        self.only = {
            "rubber": self._filter("Show rubber", by_family(self.words.rubbers)),
            "casting": self._filter("Show casting", by_family(self.words.castings)),
            "state": self._filter("Show state", state.choices),
        }
        self.table = FigureTable(
            caption="The molds of the log, newest first",
            headings=list(HEADINGS),
            left=WORDS,
            row_action="change this mold",
            most_height=HEIGHT,
            working_height=0,
        )
        self.table.on_choose(self._choose)
        self.watch = PageWatch()
        self.watch.on_return(lambda: self._act(lambda: None))

    def _filter(self, label: str, options: Any) -> widgets.Dropdown:
        wide, described = widgets.Layout(width="272px"), {"description_width": "88px"}
        made = widgets.Dropdown(options=[ALL, *((o, o) for o in options)], description=label, layout=wide,
                                style=described)  # fmt: skip
        made.observe(lambda _: self._act(self._show), names="value")
        return made

    def _make_forms(self) -> None:
        self.new, self.change = NewMold(self.words), MoldChange()
        self.add = self._button("Add to the log", self._add)
        self.save = self._button("Change the mold", self._save)
        self.undo = self._button("Undo", self._undo)
        self.said = widgets.HTML(layout=widgets.Layout(flex="1 1 300px", min_width="0"))

    def _button(self, label: str, action: Callable[[], object]) -> widgets.Button:
        made = widgets.Button(description=label, layout=widgets.Layout(width="auto", align_self="flex-start"))
        made.on_click(lambda _: self._act(action))
        return made

    def _children(self) -> list[widgets.Widget]:
        row = widgets.Layout(flex_flow="row wrap", align_items="center", width="100%")
        side = widgets.Layout(flex="1 1 290px", min_width="0")
        adding = widgets.VBox([widgets.HTML("<h3>A new mold</h3>"), self.new.body, self.add],
                              layout=widgets.Layout(flex="2 1 540px", min_width="0", margin="0 16px 0 0"))  # fmt: skip
        changing = widgets.VBox([widgets.HTML("<h3>What has become of one</h3>"), self.change.body, self.save],
                                layout=side)  # fmt: skip
        forms = widgets.Box([adding, changing], layout=widgets.Layout(flex_flow="row wrap", width="100%"))
        # In sight from the buttons of both forms and from the table; room for two lines, so that nothing jumps.
        told = widgets.Box([self.undo, self.said], layout=widgets.Layout(min_height="48px", align_items="flex-start"))
        return [self.band, widgets.Box([*self.only.values()], layout=row), self.table, told, forms, self.watch]

    @property
    def record(self) -> MoldRecord | None:
        """The mold that is chosen, None for none."""
        return self.change.record

    def on_change(self, callback: Callable[[], object]) -> None:
        """Call `callback()` when the log says something else than before, whoever has written it."""
        self._on_change.append(callback)

    def look_again(self) -> None:
        """Read the log again where any writer has changed it, and show it as it is."""
        with self._lock:
            read = self._read()
            self._show()
            if read:
                for heard in self._on_change:
                    heard()

    # -- what is asked --

    def _act(self, action: Callable[[], object]) -> None:
        """Do what the page asks, then show the log as it is; trouble becomes one sentence in the page."""
        with self._lock:
            guarded(action, lambda words: self._say(words, bad=True))
            guarded(self.look_again, lambda words: self._say(words, bad=True))

    def _choose(self, mold: str) -> None:
        def choose() -> None:
            self._say("")
            self.change.show(self._found(mold))

        self._act(choose)

    def _add(self) -> None:
        record = add_record(self.folder, self.new.given())
        self._keep("Added", Done(None, record))
        self.new.offer((*self.reading.records, record), anew=True)
        self.change.show(record)
        if not chosen([record], self.words, **self._wanted()):
            self._show_all()

    def _save(self) -> None:
        seen = self.record
        if seen is None:
            raise InputError("No mold is chosen; press the name of one in the table.")
        given, more = self.change.given()
        record = change_record(self.folder, seen.mold, given, more=more, seen=seen)
        self._keep("Changed", Done(seen, record, more))
        self.change.show(record)

    def _keep(self, what: str, done: Done) -> None:
        self._done.append(done)
        self._say(f"{what}. {record_sentence(done.after)}")

    def _undo(self) -> None:
        """Take back the last change of this panel's, unless another writer has changed the same since."""
        if not self._done:
            raise InputError("There is nothing to undo: nothing has been changed here yet.")
        done = self._done[-1]
        if done.before is None:
            remove_record(self.folder, done.after)
            words = f"Mold {done.after.mold} is out of the log again."
        else:
            record = change_record(self.folder, done.after.mold, _back(done), more=-done.more, seen=done.after)
            words = record_sentence(record)
        self._done.pop()
        self._say(f"Undone. {words}")
        if self.record is not None:
            self.change.show(self._found(self.record.mold))

    # -- what is shown --

    def _read(self) -> bool:
        """Read the log where it is not as it was last read; return whether it was read."""
        stamp = log_stamp(self.folder)
        if stamp == self._stamp:
            return False
        try:
            self.words = log_words(self.folder)
            self.reading, self._trouble = log_reading(self.folder, self.words), ""
        except MoldkitError as fault:
            self._trouble = str(fault)
        self._stamp = stamp
        return True

    def _show(self) -> None:
        records = chosen(self.reading.records, self.words, **self._wanted())
        if self.record is not None:
            self.change.show(self._found(self.record.mold), anew=False)
        self.new.offer(self.reading.records)
        with self.table.hold_sync():
            self.table.rows = mold_rows(newest_first(records)[:MOST_ROWS], self.record.mold if self.record else "")
            self.table.dimmed = bool(self._trouble)
        closed = why_closed(self.folder)
        self.add.disabled = bool(closed)
        self.save.disabled = bool(closed) or self.record is None
        self.undo.disabled = bool(closed) or not self._done
        with self.band.hold_sync():
            self.band.sentence = held_sentence(self.reading.records)
            self.band.detail = self._shown_words(len(records))
            self.band.problem = " ".join(filter(None, (closed, self._trouble or fault_words(self.reading.faults))))
            self.band.kind = "near" if self.band.problem else "clear"

    def _shown_words(self, found: int) -> str:
        """Return where the log is kept and, where the table does not show all of it, what it shows."""
        kept = f"Kept in {log_path(self.folder)}."
        if found > MOST_ROWS:
            return f"Shown: the newest {MOST_ROWS} of {count_text(found)}. {kept}"
        return f"Shown: {count_text(found)} of them. {kept}" if found < len(self.reading.records) else kept

    def _show_all(self) -> None:
        for only in self.only.values():
            only.value = ""

    def _wanted(self) -> dict[str, str | None]:
        return {name: only.value or None for name, only in self.only.items()}

    def _found(self, mold: str) -> MoldRecord | None:
        key = mold_key(mold)
        return next((record for record in self.reading.records if mold_key(record.mold) == key), None)

    def _say(self, words: str, bad: bool = False) -> None:
        role, style = ("alert", "color:#b3261e") if bad else ("status", "")
        told = f'<div role="{role}" style="line-height:1.4;margin:5px 4px;{style}">{html.escape(words)}</div>'
        self.said.value = told if words else ""


def _back(done: Done) -> dict[str, Any]:
    """Return what takes a mold back to what it was: the columns that were changed, as they were before."""
    assert done.before is not None, "an added mold is taken out"
    were = {name: (getattr(done.before, name), getattr(done.after, name)) for name in column_dictionary(TABLE)}
    counted = {"castings"} if done.more else set()
    return {name: before for name, (before, after) in were.items() if before != after and name not in counted}
