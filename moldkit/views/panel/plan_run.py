"""The panel of the fourth notebook: plan the run, check the loads, print the bench sheets."""

from __future__ import annotations

import contextlib
import datetime
import html
import os
from collections.abc import Callable, Iterator

import ipywidgets as widgets

from moldkit.errors import MoldkitError
from moldkit.study.assess import Outcome
from moldkit.study.case import Case
from moldkit.study.compare import Comparison
from moldkit.study.finish_dates import TradeOff, trade_off
from moldkit.study.job_file import find_job, load_job
from moldkit.study.knowledge import load_knowledge
from moldkit.study.load_checks import load_checks
from moldkit.study.run_plan import RunPlan, plan_run
from moldkit.study.shopping import shopping_of_plan
from moldkit.units import System
from moldkit.views.panel.aside import Aside
from moldkit.views.panel.guard import guarded
from moldkit.views.panel.how_sure import rows_html
from moldkit.views.panel.plan_controls import PlanControls, controls_of
from moldkit.views.panel.plan_pages import CHARTS, DATES, HEIGHT, PAGES, SCHEDULES, SHEETS, WORKING_OUT, Shown
from moldkit.views.panel.sheet_set import SheetSet
from moldkit.views.panel.switches import UNITS, switch
from moldkit.views.panel.workbench import Workbench
from moldkit.views.paper.document import Document
from moldkit.views.plan_words import held_up_words, plan_words
from moldkit.views.sheets.bench import bench_for
from moldkit.views.sheets.whole_set import sheets
from moldkit.views.widgets.chart import Chart, Pick
from moldkit.views.widgets.verdict_band import VerdictBand

SAID = "line-height:1.4;max-width:110ch"


class Outdated(Exception):
    """What is worked out aside is no longer asked for."""


class PlanTheRun(widgets.VBox):  # type: ignore[misc]
    """Controls on top, the plan in a sentence; below it one page of the plan at a time.

    case, result, plan, bottleneck and trade are the present ones, so that a cell or a test can read them; the last two
    are worked out aside, and empty until then. Nothing is written but on a press.
    """

    def __init__(self, job: str | os.PathLike[str], data: str | os.PathLike[str] | None = None) -> None:
        """Open a job file: a path, or the name of one in the data folder's jobs.

        Raises InputError in one sentence when the job or the data cannot be read, or the run cannot be planned.
        """
        knowledge = load_knowledge(data)
        self.bench = Workbench(load_job(find_job(job, knowledge.folder)), knowledge)
        self.version, self.bottleneck = 0, ""
        self.trade: TradeOff | None = None
        self.aside = Aside(self._work_out)
        self._make_widgets()
        super().__init__(children=self._children(), layout=widgets.Layout(width="100%", overflow="visible"))
        self.add_class("moldkit-panel")
        self.add_class("moldkit-sure")
        self.bench.on_result(self._case_moved)
        self.bench.on_problem(self._say_problem)
        self._refresh(True)

    @property
    def case(self) -> Case:
        """The case as it stands."""
        return self.bench.case

    @property
    def result(self) -> Comparison:
        """The comparison of the case as it stands."""
        return self.bench.result

    @property
    def system(self) -> System:
        """The units shown."""
        return UNITS[self.units.value]

    @property
    def outcome(self) -> Outcome:
        """The technique that is planned: the one chosen, else the cheapest, else the first."""
        named = {outcome.name: outcome for outcome in self.result.outcomes}
        return named.get(self.controls.technique.value) or self.result.cheapest or self.result.outcomes[0]

    def _make_widgets(self) -> None:
        own, folder = str(self.bench.job.path), self.bench.knowledge.folder / "jobs"
        jobs = {str(path): path.stem for path in sorted(folder.glob("*.toml"))}
        jobs.setdefault(own, self.bench.job.path.stem)
        self.jobs = widgets.Dropdown(
            options=[(name, path) for path, name in jobs.items()], value=own, description="Job",
            layout=widgets.Layout(width="180px"), style={"description_width": "initial"},
        )  # fmt: skip
        self.jobs.observe(lambda change: self._guard(lambda: self._load(change["new"])), names="value")
        self.controls = PlanControls(self.result, self.bench.change, lambda: self._guard(lambda: self._refresh(True)))
        self.band = VerdictBand()
        self.chart = Chart(height=HEIGHT, label="Plan of the run")
        self.chart.on_pick(self._take_pick)
        self.switch = switch(list(PAGES), lambda: self._guard(self._show_page), "Page")
        self.units = switch(list(UNITS), lambda: self._guard(self._units_moved), "Units")
        self.units.layout.margin = "2px 2px 2px 24px"
        # Room for one line each, so that nothing jumps when there is something to say.
        line = {"min_height": "26px", "flex": "1 1 300px", "min_width": "0"}
        self.progress, self.said = (widgets.HTML(layout=widgets.Layout(**line)) for _ in range(2))
        self.words, self.tables, self.more = (widgets.HTML() for _ in range(3))
        self.sheets = SheetSet(self._documents, self._folder(), self._guard)

    def _children(self) -> list[widgets.Widget]:
        row = widgets.Layout(flex_flow="row wrap", align_items="center", width="100%")
        chosen, counted = controls_of(self.controls)
        wide = widgets.Layout(width="100%", min_height=f"{HEIGHT}px")
        self.stage = widgets.VBox([self.chart, self.words, self.more, self.sheets, self.tables], layout=wide)
        return [
            widgets.Box([self.jobs, *chosen], layout=row), widgets.Box(counted, layout=row), self.band,
            widgets.Box([self.switch, self.units], layout=row), widgets.Box([self.progress, self.said], layout=row),
            self.stage,
        ]  # fmt: skip

    def _load(self, path: str) -> None:
        """Take up another job; where that fails the list goes back to the one that is open."""
        if path == str(self.bench.job.path):
            return
        try:
            self.bench.load(load_job(find_job(path, self.bench.knowledge.folder)))
        except MoldkitError as fault:
            self.jobs.value = str(self.bench.job.path)
            self._say(str(fault), bad=True)
            return
        self.sheets.propose(self._folder())

    def _folder(self) -> str:
        return f"{self.bench.job.path.stem}-sheets"

    def _case_moved(self, settled: bool) -> None:
        if settled:
            self.controls.show(self.result)
        self._refresh(settled)

    def _refresh(self, settled: bool) -> None:
        """Plan the run anew and show it; what takes longer is worked out aside once nothing moves any more."""
        with self.bench.lock:
            case, lives = self.case, self.controls.lives
            self.plan: RunPlan = plan_run(
                self.result, self.outcome.name, molds=case.molds, start=case.start, seed=lives
            )
            self.version += 1
            self.bottleneck, self.trade = "", None
            self._show_band()
            if settled:
                self._show_page()
                self.aside.ask(self.version, self.result, self.plan)
            elif self.switch.value in SCHEDULES:
                self.chart.draw(self._shown().page(self.switch.value).figure)

    def _shown(self) -> Shown:
        return Shown(self.result, self.plan, self.bottleneck, self.trade, self.system)

    def _show_band(self) -> None:
        plan, due, out = self.plan, self.case.due, self.outcome.ruled_out_by()
        late = due is not None and plan.finish.date() > due
        ruled = f"Ruled out all the same: {out}." if out else ""
        drawn = "" if plan.seed is None else f"Lives drawn, seed {plan.seed}: one of many ways that it may go."
        held = held_up_words(self.bottleneck or "…")
        with self.band.hold_sync():
            self.band.sentence = plan_words(plan, due, self.result.currency)
            self.band.detail = " ".join(filter(None, (held, ruled, drawn, *plan.notes)))
            self.band.kind = "none" if out else ("near" if late else "clear")
            self.band.problem = ""
            self.band.seq = self.version

    def _work_out(self, version: int, result: Comparison, plan: RunPlan) -> None:
        """Find what holds the run up, then what every date costs, unless the plan has moved on."""
        try:
            bottleneck = plan.bottleneck
            with self._current(version):
                self.bottleneck = bottleneck
                self._show_band()
                if self.switch.value in SCHEDULES:
                    self._show_page()
            trade = trade_off(result, start=plan.start, progress=lambda share: self._tell_progress(version, share))
            with self._current(version):
                self.trade = trade
                self.progress.value = ""
                if self.switch.value == DATES:
                    self._show_page()
        except Outdated:
            return
        except MoldkitError as fault:
            self.progress.value = ""
            self._fail(str(fault))

    @contextlib.contextmanager
    def _current(self, version: int) -> Iterator[None]:
        """Hold the panel for work that was done aside; raises Outdated where it is no longer asked for."""
        with self.bench.lock:
            if version != self.version:
                raise Outdated
            yield

    def _tell_progress(self, version: int, share: float) -> None:
        if version != self.version:
            raise Outdated
        shown = f'<progress max="10" value="{int(10 * share)}" aria-label="{WORKING_OUT}"></progress> {WORKING_OUT}'
        if shown != self.progress.value:
            self.progress.value = shown

    def _show_page(self) -> None:
        """Show the page that is chosen: its chart, sentences, tables."""
        name, page = self.switch.value, self._shown().page(self.switch.value)
        self._say("")
        self.sheets.layout.display = "" if name == SHEETS else "none"
        self.chart.layout.display = "" if name in CHARTS else "none"
        self.chart.dimmed = False
        if page.figure is not None:
            self.chart.label = page.label
            self.chart.settle(page.figure)
        elif name == DATES:
            self.chart.settle({}, message=WORKING_OUT)
        self.words.value = "".join(f'<p style="{SAID}">{html.escape(words)}</p>' for words in page.words if words)
        self.more.value = page.more
        self.tables.value = "".join(rows_html(caption, rows) for caption, rows in page.tables)
        if name == SHEETS:
            self.sheets.show()

    def _documents(self, start: datetime.time | None) -> tuple[Document, ...]:
        result, name = self.result, self.outcome.name
        bench = bench_for(result, name, system=self.system, start=start)
        shopping = shopping_of_plan(result, self.plan)
        return sheets(bench, load_checks(result, name), shopping, self.plan)

    def _units_moved(self) -> None:
        self.sheets.paper.value = "Letter" if self.system == "us" else "A4"
        self._show_page()

    def _take_pick(self, pick: Pick) -> None:
        """Plan the run by the way that was pressed in the chart of finish dates."""
        if self.trade is None or self.switch.value != DATES or pick.point is None:
            return
        technique = self.chart.figure["data"][pick.curve]["name"]
        ways = [way for way in self.trade.ways if way.technique == technique]
        if ways:
            molds = ways[pick.point].molds
            self.controls.technique.value = technique
            self.controls.molds.value = molds

    def _guard(self, action: Callable[[], object]) -> None:
        """Do what a control asks; trouble becomes one sentence in the page, and a chart that no longer holds is dim."""
        guarded(action, self._fail)

    def _fail(self, words: str) -> None:
        self.chart.dimmed = True
        self._say(words, bad=True)

    def _say(self, words: str, bad: bool = False) -> None:
        style = "color:#b3261e" if bad else ""
        self.said.value = f'<span role="status" style="{style}">{html.escape(words)}</span>'

    def _say_problem(self, words: str) -> None:
        self.band.problem = words
        self.chart.dimmed = bool(words)
