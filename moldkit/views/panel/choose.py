"""The panel of the first notebook: choose a technique, live."""

from __future__ import annotations

import html
import os
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from moldkit.errors import InputError
from moldkit.study.case import Case
from moldkit.study.compare import Comparison
from moldkit.study.curves import curve_table
from moldkit.study.facts import pattern_facts
from moldkit.study.job_file import find_job, load_job
from moldkit.study.knowledge import load_knowledge
from moldkit.study.sweep import casting_methods, decision_map, map_axes
from moldkit.study.uncertainty.spread import spread_of
from moldkit.units import System, to_si
from moldkit.views.charts import READINGS, Figure, cost_chart
from moldkit.views.export import client_page, shop_page, write_page
from moldkit.views.map_chart import crosshair_patch, map_chart
from moldkit.views.moves import moved
from moldkit.views.panel.aside import Aside
from moldkit.views.panel.controls import Controls
from moldkit.views.panel.facts import facts_html
from moldkit.views.panel.guard import guarded
from moldkit.views.panel.switches import UNITS, switch
from moldkit.views.panel.workbench import Workbench
from moldkit.views.rows import method_headings, method_rows, open_figure, technique_headings, technique_rows
from moldkit.views.sure_words import firmness_words
from moldkit.views.tables import fact_rows
from moldkit.views.verdict import castings, verdict
from moldkit.views.widgets.chart import Chart, Pick
from moldkit.views.widgets.figure_table import FigureTable
from moldkit.views.widgets.verdict_band import VerdictBand

FARTHEST = {"to 100 castings": 100, "to 1 000 castings": 1_000, "to ten times the run": 0}
COST_HEIGHT, MAP_HEIGHT = 460, 340
# Plausible shops that are drawn for the words on firmness: enough for two in a hundred.
FIRM_DRAWS = 1_000


class ChooseATechnique(widgets.VBox):  # type: ignore[misc]
    """Controls on the left, cost over the run on the right, the map, the casting methods, the table below.

    case and result are the present ones, so that a cell or a test can read them.
    """

    def __init__(self, job: str | os.PathLike[str], data: str | os.PathLike[str] | None = None) -> None:
        """Open a job file: a path, or the name of one in the data folder's jobs.

        Raises InputError in one sentence when the job or the data cannot be read.
        """
        knowledge = load_knowledge(data)
        self.bench = Workbench(load_job(find_job(job, knowledge.folder)), knowledge)
        self._system: System = "metric"
        self._big = False
        self._map_key: object = None
        self._drawn: Figure | None = None
        self.firmness = Aside(self._tell_firmness)
        self._axes: Any = None
        self.controls = Controls(self.bench.case, knowledge, self.bench.change)
        self._make_views()
        self._make_buttons()
        super().__init__(children=self._children(), layout=widgets.Layout(width="100%", overflow="visible"))
        self.add_class("moldkit-panel")
        self.bench.on_result(self._refresh)
        self.bench.on_problem(self._say_problem)
        self.bench.on_reading(self._say_reading)
        self._refresh(True)

    @property
    def case(self) -> Case:
        """The case as it stands."""
        return self.bench.case

    @property
    def result(self) -> Comparison:
        """The comparison of the case as it stands."""
        return self.bench.result

    def _make_views(self) -> None:
        self.band = VerdictBand()
        self.cost = Chart(height=COST_HEIGHT, label="Cost over the run")
        self.map = Chart(height=MAP_HEIGHT, label="Decision map: pattern size by run", pick=True)
        self.map.on_pick(self._take_pick)
        self.table = FigureTable(caption="The techniques side by side", working_height=220)
        self.table.on_open(self._open)
        self.methods = FigureTable(
            caption="The same case by each casting method", row_action="cast by this method", working_height=0
        )
        self.methods.on_choose(self._choose_method)
        self.reading_line = widgets.HTML()
        self.facts = widgets.HTML()

    def _make_buttons(self) -> None:
        self.title = widgets.HTML()
        self.undo = self._button("Undo", self.bench.undo)
        self.redo = self._button("Redo", self.bench.redo)
        self.reset = self._button("Back to the job", self.bench.reset)
        self.save = self._button("Save", lambda: self._say(self.bench.save()))
        self.save_as_name = widgets.Text(placeholder="new-name.toml", layout=widgets.Layout(width="150px"))
        self.save_as_name.tooltip = "name for a copy of the job"
        self.save_as = self._button("Save as", self._save_as)
        folder = self.bench.knowledge.folder / "jobs"
        self.jobs = widgets.Dropdown(
            options=[(path.stem, str(path)) for path in sorted(folder.glob("*.toml"))] or [("no jobs", "")],
            description="Job",
            layout=widgets.Layout(width="150px"),
            style={"description_width": "30px"},
        )
        own = str(self.bench.job.path)
        if own in [path for _, path in self.jobs.options]:
            self.jobs.value = own
        self.load = self._button("Load", lambda: self._load(Path(self.jobs.value)))
        self.reading = self._toggles(list(READINGS), "Reading")
        self.farthest = widgets.Dropdown(
            options=list(FARTHEST), value="to 1 000 castings", layout=widgets.Layout(width="190px")
        )
        self.farthest.observe(lambda _: self._guard(lambda: self._draw_costs(True)), names="value")
        self.units = self._toggles(list(UNITS), "Units")
        self.projector = widgets.ToggleButton(
            description="Projector", tooltip="large text, controls folded", layout=widgets.Layout(width="auto")
        )
        self.projector.observe(lambda change: self._guard(lambda: self._project(change["new"])), names="value")
        self.pictures = [
            self._button("PNG", lambda: self.cost.to_png(filename=self._file_name("png"))),
            self._button("SVG", lambda: self.cost.to_svg(filename=self._file_name("svg"))),
            self._button("Page for the shop", lambda: self._write_page("shop")),
            self._button("Page for the client", lambda: self._write_page("client")),
        ]
        self.map_pictures = [
            self._button("Map as PNG", lambda: self.map.to_png(filename=self._file_name("png", "map"))),
            self._button("Map as SVG", lambda: self.map.to_svg(filename=self._file_name("svg", "map"))),
        ]
        self.said = widgets.HTML()

    def _toggles(self, options: list[str], name: str) -> widgets.ToggleButtons:
        return switch(options, lambda: self._guard(self._switched), name)

    def _button(self, label: str, action: Callable[[], object]) -> widgets.Button:
        made = widgets.Button(description=label, layout=widgets.Layout(width="auto"))
        made.on_click(lambda _: self._guard(action))
        return made

    def _children(self) -> list[widgets.Widget]:
        row = widgets.Layout(flex_flow="row wrap", align_items="center", width="100%")
        head = widgets.Box(
            [
                self.title,
                self.undo,
                self.redo,
                self.reset,
                self.save,
                self.save_as_name,
                self.save_as,
                self.jobs,
                self.load,
            ],
            layout=row,
        )
        works = widgets.Accordion([widgets.VBox(self.controls.works)], titles=["How this shop works"])
        works.selected_index = None
        self.left = widgets.VBox(
            [
                widgets.HTML("<h3>What is wanted</h3>"), *self.controls.wanted,
                widgets.HTML("<h3>What it is taken from</h3>"), *self.controls.taken_from, self.reading_line,
                self.facts, works,
            ],
            layout=widgets.Layout(flex="0 0 292px", width="292px", margin="0 8px 0 0"),
        )  # fmt: skip
        self.left.add_class("moldkit-controls")
        switches = widgets.Box([self.reading, self.farthest, self.units, self.projector], layout=row)
        exports = widgets.Box([*self.pictures, self.said], layout=row)
        wide = widgets.Layout(flex="1 1 480px", min_width="300px")
        right = widgets.VBox(
            [
                switches, self.cost, exports, self.table,
                widgets.HTML("<h3>Where each technique is the cheapest</h3>"), self.map,
                widgets.Box(self.map_pictures, layout=row),
                widgets.HTML("<h3>By each casting method</h3>"), self.methods,
            ],
            layout=wide,
        )  # fmt: skip
        body = widgets.Box(
            [self.left, right], layout=widgets.Layout(flex_flow="row wrap", width="100%", overflow="visible")
        )
        return [head, self.band, body]

    def _guard(self, action: Callable[[], object]) -> None:
        """Do what a button or switch asks; trouble becomes one sentence in the page."""
        guarded(action, lambda words: self._say(words, bad=True))

    def _say(self, words: str, bad: bool = False) -> None:
        style = "color:#b3261e" if bad else ""
        self.said.value = f'<span role="status" style="{style}">{html.escape(words)}</span>'

    def _say_problem(self, words: str) -> None:
        self.band.problem = words
        self.cost.dimmed = self.map.dimmed = self.table.dimmed = self.methods.dimmed = bool(words)

    def _say_reading(self, words: str) -> None:
        self.reading_line.value = f'<p role="status">{html.escape(words)}</p>' if words else ""

    def _refresh(self, settled: bool) -> None:
        """Show the present result: curves and verdict at once; table, methods and map when it is final."""
        self._show_verdict()
        self._draw_costs(settled)
        self._draw_map(settled)
        if settled:
            self.controls.show(self.case, self.result.longest)
            self.facts.value = facts_html(fact_rows(pattern_facts(self.case, self.result.pattern), self._system))
            self._fill_tables()
            self._show_head()
            self.firmness.ask(self.bench.version, self.result)

    def _tell_firmness(self, version: int, result: Comparison) -> None:
        """Add to the verdict how firm it is, unless the case has moved on."""
        words = firmness_words(spread_of(result, draws=FIRM_DRAWS, farthest=result.case.run))
        with self.bench.lock:
            if version == self.bench.version:
                self.band.detail = " ".join(filter(None, (verdict(result, self._system).ruled_out, words)))

    def _show_verdict(self) -> None:
        said = verdict(self.result, self._system)
        with self.band.hold_sync():
            self.band.sentence, self.band.detail, self.band.kind = said.sentence, said.ruled_out, said.kind
            self.band.seq = self.bench.version
        if self.bench.settled:
            self.cost.label = f"Cost over the run. {said.sentence}"

    def _show_head(self) -> None:
        state = "saved" if self.bench.saved else "not saved"
        self.title.value = f"<b>{html.escape(self.case.name)}</b> <span>({state})</span>&nbsp;"
        self.undo.disabled, self.redo.disabled = not self.bench.history.can_undo, not self.bench.history.can_redo
        self.reset.disabled = self.bench.saved

    def _draw_costs(self, settled: bool) -> None:
        table = curve_table(self.result, FARTHEST[self.farthest.value] or 10 * self.case.run)
        figure = cost_chart(table, reading=self.reading.value, height=COST_HEIGHT, big=self._big)
        if settled:
            self.cost.settle(figure)
        else:
            self.cost.draw(moved(self._drawn, figure))
        self._drawn = figure

    def _draw_map(self, settled: bool) -> None:
        """Draw the map anew when what it shows has changed; else only its crosshair moves."""
        key = (_without_size_and_run(self.case), self._system, self._big)
        longest = self.result.longest
        unit = "in" if self._system == "us" else "mm"
        if not settled:
            self.map.draw(crosshair_patch(self.case.run, longest / to_si(1.0, unit)))
            return
        if self._axes is None or not self._inside(longest):
            self._axes, self._map_key = map_axes(self.case, longest), None
        if key != self._map_key:
            self._table = decision_map(self.case, self.bench.knowledge, self.result.reading, *self._axes)
            self._map_key = key
        figure = map_chart(
            self._table, run=self.case.run, longest=longest, unit=unit, metres_a_unit=to_si(1.0, unit),
            height=MAP_HEIGHT, big=self._big,
        )  # fmt: skip
        self.map.settle(figure)

    def _inside(self, longest: float) -> bool:
        sizes, runs = self._axes
        return bool(sizes[0] <= longest <= sizes[-1] and self.case.run <= runs[-1])

    def _fill_tables(self) -> None:
        self.table.headings = technique_headings(self.result)
        self.table.rows = technique_rows(self.result, self._system)
        self.methods.headings = method_headings(self.result)
        self.methods.rows = method_rows(self.result, casting_methods(self.result))
        if self.table.opened:
            self._open(self.table.opened)

    def _open(self, key: str) -> None:
        self.table.working = open_figure(self.result, key, self._system)

    def _choose_method(self, method: str) -> None:
        self.controls.method.value = method

    def _take_pick(self, pick: Pick) -> None:
        """Move size and run to a cell of the map, as one change."""
        if pick.row is None or pick.column is None:
            return
        size, run = float(self._table.sizes[pick.row]), int(self._table.runs[pick.column])
        self.bench.change(lambda case: replace(case, longest=size, run=run))

    def _switched(self) -> None:
        self._system = UNITS[self.units.value]
        self.controls.use_units(self._system)
        self._refresh(True)

    def _project(self, on: bool) -> None:
        self._big = on
        self.left.layout.display = "none" if on else ""
        (self.add_class if on else self.remove_class)("moldkit-projector")
        self._refresh(True)

    def _save_as(self) -> None:
        name = self.save_as_name.value.strip()
        if not name or Path(name).name != name:
            raise InputError("Save as: give a plain file name such as my-job.toml.")
        folder = self.bench.job.path.parent
        self._say(self.bench.save(folder / (name if name.endswith(".toml") else f"{name}.toml")))
        self._show_head()

    def _load(self, path: Path) -> None:
        job = load_job(path)
        self.controls.offer(job.case)
        self.bench.load(job)
        self._say(f"Loaded {path.name}: {castings(self.case.run)}.")

    def _file_name(self, ending: str, what: str = "cost") -> str:
        return f"{self.bench.job.path.stem}-{what}.{ending}"

    def _write_page(self, kind: str) -> None:
        page = client_page(self.result) if kind == "client" else shop_page(self.result)
        folder = Path.cwd() / "exports" / self.bench.job.path.stem
        self._say(f"Written: {write_page(folder, f'{kind}.html', page)}")


def _without_size_and_run(case: Case) -> Case:
    return replace(case, run=1, longest=None, name="", note="", folder=None)
