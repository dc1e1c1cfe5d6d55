"""The panel of the second notebook: read the pattern, see it in three dimensions, take it to the technique."""

from __future__ import annotations

import html
import os
import tempfile
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from moldkit.errors import InputError
from moldkit.materials import rubber_for
from moldkit.study.case import Case
from moldkit.study.job_file import JobFile
from moldkit.study.knowledge import load_knowledge
from moldkit.study.new_job import job_folder, save_new_job
from moldkit.study.seen import READING, Seen, see
from moldkit.units import System, show
from moldkit.views.flat_view import flat_view
from moldkit.views.panel.facts import facts_html
from moldkit.views.panel.guard import guarded
from moldkit.views.panel.pattern_controls import MeshChoice, PatternControls
from moldkit.views.panel.switches import UNITS, switch
from moldkit.views.pattern_colours import COLOURINGS
from moldkit.views.pattern_view import HEIGHT, pattern_view
from moldkit.views.seen_text import report_html, seen_report
from moldkit.views.tables import fact_rows
from moldkit.views.widgets.chart import Chart
from moldkit.views.widgets.verdict_band import VerdictBand

# What is done up to each share of the time.
STAGES = (
    (0.20, "Loading the mesh …"),
    (0.55, "Looking for undercuts and air …"),
    (READING, "Measuring the rubber it takes …"),
    (1.01, "Drawing …"),
)


class ReadThePattern(widgets.VBox):  # type: ignore[misc]
    """Which mesh on the left; on the right the pattern coloured by what was found, the report, and the way onwards.

    seen is the pattern as it was last read, None before; version grows with each one that is shown.
    """

    def __init__(
        self, mesh: str | os.PathLike[str] | None = None, *, unit: str | None = None,
        data: str | os.PathLike[str] | None = None,
    ) -> None:  # fmt: skip
        """Open a mesh file, or by default the first of the data folder's, and read it.

        unit: what one unit in the file is; without it the panel asks. data: a data folder. Raises InputError where
        the data cannot be read; trouble with the mesh is told in the panel.
        """
        self.knowledge = load_knowledge(data)
        self.seen: Seen | None = None
        self.job: JobFile | None = None
        self.version = 0
        self._asked = 0
        self._lock = threading.RLock()
        self._uploads = tempfile.TemporaryDirectory(prefix="moldkit-", ignore_cleanup_errors=True)
        self.controls = PatternControls(self.knowledge, self._read)
        self.controls.upload.observe(lambda _: self._guard(self._take_upload), names="value")
        if mesh is not None:
            self._offer(Path(mesh), unit)
        self._make_views()
        super().__init__(children=self._children(), layout=widgets.Layout(width="100%", overflow="visible"))
        self.add_class("moldkit-panel")
        self._read()

    def _offer(self, mesh: Path, unit: str | None) -> None:
        """Pick a mesh by its path, or by the name of one in the data folder."""
        known = next((choice for choice in self.controls.meshes if choice.shown == os.fspath(mesh)), None)
        if known is not None and not mesh.is_file():
            self.controls.offer(known)
            return
        self.controls.offer(MeshChoice(mesh.name, os.fspath(mesh.resolve()), unit))

    def _make_views(self) -> None:
        self.band = VerdictBand()
        self.view = Chart(height=HEIGHT, label="The pattern in three dimensions")
        self.view.on_flat(self._flat)
        self.progress = widgets.FloatProgress(min=0.0, max=1.0, layout=widgets.Layout(width="98%", visibility="hidden"))
        self.doing = widgets.HTML(layout=widgets.Layout(height="24px"))
        self.colouring = switch([(ramp.name, key) for key, ramp in COLOURINGS.items()], self._switched, "Colouring")
        self.units = switch(list(UNITS), self._switched, "Units")
        self.report, self.facts, self.said = widgets.HTML(), widgets.HTML(), widgets.HTML()
        self.take = widgets.Button(description="Take it to the technique", layout=widgets.Layout(width="auto"))
        self.take.on_click(lambda _: self._guard(self.job_file))

    def _children(self) -> list[widgets.Widget]:
        mending = widgets.Accordion([widgets.VBox(self.controls.repair)], titles=["Bodies and mending"])
        mending.selected_index = None
        self.mending = mending
        left = widgets.VBox(
            [
                widgets.HTML("<h3>Which pattern</h3>"), *self.controls.file, self.progress, self.doing, mending,
                widgets.HTML("<h3>What you know better</h3>"), *self.controls.declared, self.facts,
            ],
            layout=widgets.Layout(flex="0 0 292px", width="292px", margin="0 8px 0 0"),
        )  # fmt: skip
        left.add_class("moldkit-controls")
        row = widgets.Layout(flex_flow="row wrap", align_items="center", width="100%")
        right = widgets.VBox(
            [
                widgets.Box([self.colouring, self.units], layout=row), self.view, self.report,
                widgets.Box([self.take, self.said], layout=row),
            ],
            layout=widgets.Layout(flex="1 1 480px", min_width="300px"),
        )  # fmt: skip
        body = widgets.Box([left, right], layout=widgets.Layout(flex_flow="row wrap", width="100%", overflow="visible"))
        return [self.band, body]

    @property
    def system(self) -> System:
        """The units shown."""
        return UNITS[self.units.value]

    def _switched(self) -> None:
        self._guard(self._show)

    def _guard(self, action: Callable[[], object]) -> None:
        """Do what the page asks; trouble becomes one sentence in the page."""
        guarded(action, self._say_problem)

    def _say_problem(self, words: str) -> None:
        """Say what is wrong; what was read last stays, greyed."""
        self.band.problem = words
        self.view.dimmed = bool(words) and self.seen is not None
        if "mend = " in words or "bodies" in words:
            self.mending.selected_index = 0

    # -- reading --

    def _read(self) -> None:
        """Read what the controls say. Where more is asked for meanwhile, only the newest is read."""
        self._asked += 1
        asked = self._asked
        with self._lock:
            if asked == self._asked:
                self._guard(lambda: self._take_up(self.controls.case()))

    def _take_up(self, case: Case) -> None:
        self.progress.value, self.progress.layout.visibility = 0.0, "visible"
        try:
            self.seen = see(case, self.knowledge, self._tell)
        finally:
            self.progress.layout.visibility = "hidden"
            self.doing.value = ""
        self.job = None
        self.said.value = ""
        self._say_problem("")
        self._show()

    def _tell(self, share: float) -> None:
        words = next(words for until, words in STAGES if share < until)
        shown = f'<span role="status">{html.escape(words)}</span>'
        if self.doing.value != shown:
            self.doing.value = shown
        self.progress.value = share

    def _take_upload(self) -> None:
        """Keep what was uploaded in a folder of the panel's own, and pick it; its unit is then asked for."""
        if not self.controls.upload.value:
            return
        given = self.controls.upload.value[0]
        name = Path(str(given["name"]).replace("\\", "/")).name
        if not name or name.startswith("."):
            raise InputError(f"Upload: {name!r} is no usable file name; rename the file.")
        path = Path(self._uploads.name) / name
        path.write_bytes(bytes(given["content"]))
        self.controls.offer(MeshChoice(name, os.fspath(path), None))
        self._read()

    # -- showing --

    def _show(self) -> None:
        """Show what was read, in the colouring and the units chosen."""
        seen = self.seen
        if seen is None:
            return
        self.version += 1
        said = seen_report(seen, self._rubber(seen.case), self.system)
        figure = pattern_view(
            seen.picture, seen.survey, self.colouring.value, stands_on_base=seen.case.stands_on_base, scale=seen.scale,
            system=self.system, name=f"{seen.case.mesh} {seen.scale:.6g} {self.system}", bottom=seen.bottom,
        )  # fmt: skip
        title = figure["layout"]["title"]["text"].replace("<br>", " ")
        self.view.label = f"The pattern in three dimensions. {title}"
        self.view.settle(figure)
        self.report.value = report_html(said)
        self.facts.value = facts_html(fact_rows(seen.facts(), self.system))
        with self.band.hold_sync():
            self.band.sentence = _headline(seen, self.system)
            self.band.detail = " ".join([*seen.reading.notes, said[0].words])
            self.band.kind = {"none": "clear", "moderate": "near", "severe": "none"}[seen.pattern.undercut]
            self.band.seq = self.version

    def _rubber(self, case: Case) -> Any:
        return rubber_for(self.knowledge.materials.rubbers, case.rubber, "poured")

    def _flat(self) -> Any:
        """Return the picture for a page without three dimensions."""
        seen = self.seen
        assert seen is not None, "a view in three dimensions was shown"
        return flat_view(
            seen.picture, seen.survey, self.colouring.value, scale=seen.scale, system=self.system, bottom=seen.bottom,
            instead=True,
        )  # fmt: skip

    # -- onwards --

    def job_file(self) -> Path:
        """Save the pattern as it was read in a new job file and return its path, for `ChooseATechnique(path)`.

        Nothing is written over, and nothing twice. Raises InputError when nothing has been read or the place is not
        for writing.
        """
        if self.seen is None:
            raise InputError("No pattern has been read yet; pick one, or say what one unit of it is.")
        if self.job is None:
            self.job = save_new_job(self.seen.case, self.knowledge, job_folder(self.knowledge))
        name = self.job.path.name
        words = (
            f'Saved as {name}. In "Choose a technique" pick {self.job.path.stem} under Job and press Load, '
            f'or run ChooseATechnique("{self.job.path.stem}") there.'
        )
        self.said.value = f'<span role="status">&nbsp;{html.escape(words)}</span>'
        return self.job.path

    def close(self) -> None:
        """Close the panel and drop what was uploaded to it."""
        self._uploads.cleanup()
        super().close()


def _headline(seen: Seen, system: System) -> str:
    """Return the pattern in one sentence: what, how large, how it hooks and in how many pieces."""
    pattern = seen.pattern
    count = int(pattern.pieces.at(0))
    pieces = seen.case.pieces or count
    name = Path(seen.case.mesh or "").name
    return (
        f"{name}, {show(pattern.longest.at(0), 'm', system)} in its longest side: undercuts {pattern.undercut}, "
        f"a mold of {pieces} piece{'s' if pieces != 1 else ''}."
    )
