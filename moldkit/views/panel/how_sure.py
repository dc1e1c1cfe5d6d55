"""The panel of the third notebook: how sure we are, live."""

from __future__ import annotations

import html
import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import ipywidgets as widgets

from moldkit.errors import MoldkitError
from moldkit.study.case import FROM_LOG, Case
from moldkit.study.job_file import find_job, load_job
from moldkit.study.knowledge import load_knowledge
from moldkit.study.logged_life import LoggedLife, logged_life
from moldkit.study.retire_curve import RetireCurve, retire_curve
from moldkit.study.uncertainty.sampling import SEED
from moldkit.study.uncertainty.sensitivity import Trials
from moldkit.units import System
from moldkit.views.charts import Figure
from moldkit.views.how_sure import HowSure, how_sure
from moldkit.views.life_charts import life_chart
from moldkit.views.life_words import life_words, retirement_words
from moldkit.views.panel.guard import guarded
from moldkit.views.panel.mold_log import MoldLog
from moldkit.views.panel.switches import UNITS, switch
from moldkit.views.panel.workbench import Workbench
from moldkit.views.retire_chart import retirement_chart
from moldkit.views.sure_charts import bands_chart, odds_chart
from moldkit.views.sure_tables import bands_rows, doubt_rows, life_rows, odds_rows, retirement_rows
from moldkit.views.sure_words import (
    bands_words,
    drawn_words,
    firmness_words,
    odds_words,
    worth_words,
)
from moldkit.views.switch_words import change_words
from moldkit.views.tornado_chart import tornado_chart
from moldkit.views.verdict import verdict
from moldkit.views.widgets.chart import Chart
from moldkit.views.widgets.field import Field
from moldkit.views.widgets.verdict_band import VerdictBand

HEIGHT = 460
SAID = "line-height:1.4;max-width:110ch"
RETIRE = "When to retire"
DRAWS = (500, 2_000, 10_000)
# Draws while something is dragged, at the most: few enough that the picture follows the hand.
QUICK = 2_000
FARTHEST = 1_000


@dataclass(frozen=True)
class Page:
    """What one position of the chart switch shows: the chart, a sentence for its label, the table below."""

    figure: Figure
    label: str
    rows: Sequence[Sequence[str]]


class HowSureAreWe(widgets.VBox):  # type: ignore[misc]
    """A job, its run, the draws and the seed on top; the verdict with its firmness; one chart with its table.

    case, sure are the present ones, so that a cell or a test can read them.
    """

    def __init__(
        self, job: str | os.PathLike[str], data: str | os.PathLike[str] | None = None, log: MoldLog | None = None
    ) -> None:
        """Open a job file: a path, or the name of one in the data folder's jobs.

        log: the panel of the same data folder's mold log; what is written there is learned here at once. Raises
        InputError in one sentence when the job or the data cannot be read.
        """
        knowledge = load_knowledge(data)
        self.bench = Workbench(load_job(find_job(job, knowledge.folder)), knowledge)
        self._quiet = False
        self._trials: Trials | None = None
        self._lost: tuple[float, bool] | None = None
        self._pages: dict[str, Callable[[], Page]] = {
            "Odds": self._odds,
            "Cost bands": self._bands,
            "What the doubt hangs on": self._tornado,
            "Mold life": self._life,
            RETIRE: self._retirement,
        }
        self._make_controls()
        self.band = VerdictBand()
        self.chart = Chart(height=HEIGHT, label="How sure we are")
        self.words, self.table, self.said = widgets.HTML(), widgets.HTML(), widgets.HTML()
        row = widgets.Layout(flex_flow="row wrap", align_items="center", width="100%")
        head = widgets.Box([self.jobs, self.run, self.from_log, self.draws, self.seed], layout=row)
        switches = widgets.Box([self.switch, self.units], layout=row)
        # Under the chart, so that it stays where it is when this control comes and goes.
        parts = [head, self.band, switches, self.chart, self.lost, self.said, self.words, self.table]
        super().__init__(children=parts, layout=widgets.Layout(width="100%", overflow="visible"))
        self.add_class("moldkit-panel")
        self.add_class("moldkit-sure")
        self.bench.on_result(lambda settled: self._guard(lambda: self._refresh(settled)))
        self.bench.on_problem(self._say_problem)
        self._show_case()
        self._refresh(True)
        if log is not None:
            log.on_change(self._learn_again)

    @property
    def case(self) -> Case:
        """The case as it stands."""
        return self.bench.case

    @property
    def system(self) -> System:
        """The units shown."""
        return UNITS[self.units.value]

    def _make_controls(self) -> None:
        folder = self.bench.knowledge.folder / "jobs"
        own = str(self.bench.job.path)
        jobs = {str(path): path.stem for path in sorted(folder.glob("*.toml"))}
        jobs.setdefault(own, self.bench.job.path.stem)
        wide, described = widgets.Layout(width="180px"), {"description_width": "52px"}
        self.jobs = widgets.Dropdown(
            options=[(name, path) for path, name in jobs.items()], value=own, description="Job", layout=wide,
            style=described,
        )  # fmt: skip
        self.jobs.observe(lambda change: self._guard(lambda: self._load(change["new"])), names="value")
        self.run = Field(label="Run", low=1, high=max(FARTHEST, self.case.run), value=self.case.run, log=True,
                         integer=True, steps=160, digits=6, units=[{"name": "castings", "factor": 1.0}])  # fmt: skip
        self.run.on_move(lambda value, settled: self._ask(lambda case: replace(case, run=round(value)), settled))
        self.run.observe(lambda change: self._set_run(change["new"]), names="value")
        self.from_log = widgets.Checkbox(description="Life from the mold log", indent=False,
                                         layout=widgets.Layout(width="190px"))  # fmt: skip
        self.from_log.observe(lambda change: self._take_life(change["new"]), names="value")
        self.draws = widgets.Dropdown(options=[(f"{n:,}".replace(",", "\u202f"), n) for n in DRAWS], value=2_000,
                                      description="Draws", layout=wide, style=described)  # fmt: skip
        self.seed = widgets.BoundedIntText(value=SEED, min=0, max=999_999, description="Seed", layout=wide,
                                           style=described)  # fmt: skip
        currency = self.bench.knowledge.shop.text("currency")
        self.lost = Field(label="A failure in use costs besides", low=0, high=1_000, value=60, steps=100, digits=4,
                          units=[{"name": currency, "factor": 1.0}])  # fmt: skip
        self.switch = switch(list(self._pages), lambda: self._guard(lambda: self._draw(True)), "Chart")
        self.units = switch(list(UNITS), lambda: self._guard(lambda: self._show_verdict(True)), "Units")
        self.units.layout.margin = "2px 2px 2px 24px"
        for control in (self.draws, self.seed):
            control.observe(lambda _: self._guard(lambda: self._refresh(True)), names="value")
        self.lost.on_move(self._lose)
        # Heard too when code sets the value, as a test does.
        self.lost.observe(lambda change: self._lose(change["new"], self.lost.settled), names="value")

    def _ask(self, edit: Callable[[Case], Case], settled: bool) -> None:
        if not self._quiet:
            self.bench.change(edit, settled)

    def _set_run(self, value: float) -> None:
        self._ask(lambda case: replace(case, run=round(value)), self.run.settled)

    def _lose(self, value: float, settled: bool) -> None:
        """Draw what a failure's cost changes; a move from the page is heard twice and drawn once."""
        if (value, settled) != self._lost:
            self._lost = value, settled
            self._guard(lambda: self._draw(settled))

    def _take_life(self, from_log: bool) -> None:
        own = self.bench.job.case.life
        table = None if own == FROM_LOG else own
        if not self._quiet:
            self.bench.change(lambda case: replace(case, life=FROM_LOG if from_log else table))
            # Where the log cannot be read the case stays as it is, and so does the tick.
            self._show_case()

    def _learn_again(self) -> None:
        """The mold log says something else: what hangs on it is computed anew."""
        if self.case.life == FROM_LOG:
            self.bench.again()
        else:
            self._guard(lambda: self._draw(True))

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
        self._show_case()

    def _show_case(self) -> None:
        """Set the controls to the case without asking for another."""
        self._quiet = True
        try:
            self.run.high = max(FARTHEST, self.case.run)
            self.run.value = self.case.run
            self.from_log.value = self.case.life == FROM_LOG
        finally:
            self._quiet = False

    def _refresh(self, settled: bool) -> None:
        """Draw the plausible shops anew and show what they say; fewer of them while something is dragged."""
        draws = self.draws.value if settled else min(QUICK, self.draws.value)
        self.sure: HowSure = how_sure(self.bench.result, draws, self.seed.value, FARTHEST, trials=self._trials)
        self._show_verdict(settled)
        self._draw(settled)

    def _show_verdict(self, settled: bool) -> None:
        said = verdict(self.bench.result, self.system)
        with self.band.hold_sync():
            self.band.sentence, self.band.kind = said.sentence, said.kind
            self.band.detail = " ".join(part for part in (firmness_words(self.sure.spread), said.ruled_out) if part)
            self.band.seq = self.bench.version
        if settled:
            spread, currency = self.sure.spread, self.bench.result.currency
            turns = change_words(self.sure.switches, 2, self.system, currency)
            lines = (worth_words(spread), turns, drawn_words(spread))
            self.words.value = "".join(f'<p style="{SAID}">{html.escape(line)}</p>' for line in lines if line)

    def _draw(self, settled: bool) -> None:
        self.lost.layout.display = "" if self.switch.value == RETIRE else "none"
        page = self._pages[self.switch.value]()
        if not settled:
            self.chart.draw(page.figure)
            return
        self.chart.label = page.label
        self.chart.settle(page.figure)
        self.table.value = rows_html(self.switch.value, page.rows)
        self._say("")

    def _odds(self) -> Page:
        spread = self.sure.spread
        return Page(odds_chart(spread, height=HEIGHT), odds_words(spread), odds_rows(spread))

    def _bands(self) -> Page:
        spread = self.sure.spread
        made = bands_chart(spread, reading="per casting", height=HEIGHT)
        return Page(made, bands_words(spread), bands_rows(spread))

    def _tornado(self) -> Page:
        if self.sure.doubt is not None:
            self._trials = self.sure.doubt.trials
        made = tornado_chart(self.sure.doubt, self.sure.switches, height=HEIGHT)
        rows = doubt_rows(self.sure.doubt, self.sure.switches)
        return Page(made, made["layout"]["title"]["text"].replace("<br>", " "), rows)

    def _life(self) -> Page:
        life = self._logged()
        return Page(life_chart(life, height=HEIGHT), life_words(life), life_rows(life))

    def _retirement(self) -> Page:
        curve = self._curve()
        return Page(retirement_chart(curve, height=HEIGHT), retirement_words(curve), retirement_rows(curve))

    def _logged(self) -> LoggedLife:
        return logged_life(self.bench.result)

    def _curve(self) -> RetireCurve:
        result = self.bench.result
        return retire_curve(result, result.cheapest or result.outcomes[0], lost=self.lost.value)

    def _guard(self, action: Callable[[], object]) -> None:
        """Do what a control asks; trouble becomes one sentence in the page, and a chart that no longer holds is dim."""

        def done() -> None:
            action()
            self.chart.dimmed = bool(self.band.problem)

        guarded(done, self._fail)

    def _fail(self, words: str) -> None:
        self.chart.dimmed = True
        self.table.value = ""
        self._say(words, bad=True)

    def _say(self, words: str, bad: bool = False) -> None:
        style = "color:#b3261e" if bad else ""
        self.said.value = f'<span role="status" style="{style}">{html.escape(words)}</span>'

    def _say_problem(self, words: str) -> None:
        self.band.problem = words
        self.chart.dimmed = bool(words)


def rows_html(caption: str, rows: Sequence[Sequence[Any]]) -> str:
    """Return rows of text, the headings first, as a table for the page."""
    head, *body = rows
    top = "".join(f'<th scope="col">{html.escape(cell)}</th>' for cell in head)
    lines = (
        f'<tr><th scope="row">{html.escape(first)}</th>{"".join(f"<td>{html.escape(cell)}</td>" for cell in rest)}</tr>'
        for first, *rest in body
    )
    return (
        f'<table class="moldkit-facts"><caption>{html.escape(caption)}</caption><thead><tr>{top}</tr></thead>'
        f"<tbody>{''.join(lines)}</tbody></table>"
    )
