"""Notes taken in a meeting: kept in the job's file as they are typed."""

from __future__ import annotations

import datetime
import threading
from collections.abc import Callable
from pathlib import Path

import ipywidgets as widgets

from moldkit.errors import MoldkitError
from moldkit.study.job_entries import keep_note
from moldkit.study.job_file import JobFile
from moldkit.study.meeting_notes import MeetingNote
from moldkit.views.meeting_html import heading, notes_html, said_html
from moldkit.views.panel.aside import Aside
from moldkit.views.panel.asked_first import AskedFirst, Asking
from moldkit.views.panel.guard import guarded

NOT_KEPT = "Not kept yet: "
TODAY, BEFORE = "Notes of this meeting", "Notes of earlier meetings"
WARNING = "This puts what was noted in earlier meetings on this screen, for everyone who looks at it."
EARLIER = Asking(BEFORE, "Hide the notes of earlier meetings", WARNING, "Show the notes")


class MeetingNotes(widgets.VBox):  # type: ignore[misc]
    """A field for notes and those of this meeting. What is typed is kept at once; a line says so, or why it is not.

    note: as it is kept, None while there is none; unkept: what is typed and not in the file yet; earlier: notes of
    other meetings, nowhere in the page until somebody asks for them and says yes.
    """

    def __init__(self, job: JobFile, kept: Callable[[JobFile], object], now: Callable[[], datetime.datetime]) -> None:
        """Show a job's notes. kept: called with the file as it is once a note was written; now: the time."""
        self._path: Path = job.path
        self._tell, self._now = kept, now
        self._lock = threading.RLock()
        self.note: MeetingNote | None = None
        self._ours: set[datetime.datetime] = set()
        self.aside = Aside(self._keep)
        self.text = widgets.Textarea(
            placeholder="What was said and agreed. It is kept in the job's file as you type.", rows=5,
            layout=widgets.Layout(width="auto", margin="2px 4px 2px 0"), continuous_update=True,
        )  # fmt: skip
        self.text.add_class("moldkit-notes")
        self.text.observe(lambda change: self.aside.ask(change["new"]), names="value")
        self.new = widgets.Button(description="Begin another note")
        self.new.layout = widgets.Layout(width="auto", align_self="flex-start")
        self.new.on_click(lambda _: self._begin())
        self.said, self.before = widgets.HTML(said_html("")), widgets.HTML()
        self.earlier = AskedFirst(EARLIER, self._earlier, self._guard)
        super().__init__(
            [
                widgets.HTML(heading("Notes")), self.text, self.said, self.new, self.before, self.earlier.switch,
                self.earlier,
            ]
        )  # fmt: skip
        self._show(job)

    @property
    def unkept(self) -> bool:
        """Whether something is typed that is not in the file."""
        return bool(self.text.value.strip() != (self.note.text if self.note else ""))

    def keep(self) -> bool:
        """Write what is typed and return whether it is kept."""
        self._keep(self.text.value)
        return not self.unkept

    def _keep(self, text: str) -> None:
        with self._lock:
            if not text.strip() and self.note is None:
                return
            before = self.note or MeetingNote(self._now().replace(microsecond=0, tzinfo=None), "")
            try:
                job, self.note = keep_note(self._path, MeetingNote(before.at, text), before.text)
            except MoldkitError as fault:
                self.said.value = said_html(f"{NOT_KEPT}{fault}", bad=True)
                return
            (self._ours.add if self.note.text else self._ours.discard)(self.note.at)
            self.said.value = said_html(f"Kept in {self._path.name}, {self._now():%H:%M}.")
            self._show(job)
            self._tell(job)

    def _begin(self) -> None:
        """Begin another note, once this one is kept."""
        with self._lock:
            if self.unkept and not self.keep():
                return
            self.note = None
            self.text.value = ""
            job = self._job
        self._show(job)

    def _show(self, job: JobFile) -> None:
        """List this meeting's notes other than the one that is being written, the newest first."""
        self._job = job
        own = self.note.at if self.note else None
        self.before.value = notes_html(TODAY, self._listed(lambda at: at in self._ours and at != own))
        self.earlier.switch.layout.display = "" if self._earlier() else "none"
        self.earlier.refresh()

    def _earlier(self) -> str:
        """Return the notes that other meetings have left in the file."""
        return notes_html(BEFORE, self._listed(lambda at: at not in self._ours))

    def _listed(self, wanted: Callable[[datetime.datetime], bool]) -> list[tuple[str, str]]:
        notes = sorted(self._job.notes, key=_when, reverse=True)
        return [(f"{note.at:%Y-%m-%d %H:%M}", note.text) for note in notes if wanted(note.at)]

    def _guard(self, action: Callable[[], object]) -> None:
        guarded(action, lambda words: setattr(self.said, "value", said_html(words, bad=True)))


def _when(note: MeetingNote) -> datetime.datetime:
    return note.at.replace(tzinfo=None)
