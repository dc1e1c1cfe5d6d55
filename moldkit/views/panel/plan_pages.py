"""The pages of a run's plan: who works when, finish dates, load checks, sizes, what to buy."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from moldkit.study.compare import Comparison
from moldkit.study.finish_dates import TradeOff
from moldkit.study.load_checks import load_checks
from moldkit.study.run_plan import RunPlan
from moldkit.study.scale import generations, size_for
from moldkit.study.shopping import shopping_of_plan
from moldkit.units import System
from moldkit.views.charts import Figure
from moldkit.views.plan_figures import cost_by_date, gantt
from moldkit.views.plan_html import checks_html
from moldkit.views.plan_tables import extra_rows, front_rows, hand_rows, mold_use_rows, shopping_rows
from moldkit.views.plan_words import again_word, checks_words, finish_words, shopping_words
from moldkit.views.size_text import shrinkage_words, size_rows, wanted_words

HEIGHT = 460
HANDS, MOLDS, DATES = "Who works when", "Mold by mold", "Cost against finish"
LOADS, SIZES, KITS, SHEETS = "Load checks", "Sizes", "Shopping list", "Bench sheets"
PAGES = (HANDS, MOLDS, DATES, LOADS, SIZES, KITS, SHEETS)
CHARTS, SCHEDULES = (HANDS, MOLDS, DATES), (HANDS, MOLDS)
PRESS = "Press a mark in the chart to plan the run that way; or set technique and molds above."
WORKING_OUT = "Working out what every date costs …"


@dataclass(frozen=True)
class Page:
    """What one position of the switch shows: a chart with its label, or none; sentences; tables; more of the page."""

    words: Sequence[str] = ()
    figure: Figure | None = None
    label: str = ""
    tables: Sequence[tuple[str, Sequence[Sequence[str]]]] = ()
    more: str = ""


@dataclass(frozen=True)
class Shown:
    """What the pages are made from: the comparison, its plan, what holds it up and what dates cost, once known."""

    result: Comparison
    plan: RunPlan
    bottleneck: str
    trade: TradeOff | None
    system: System

    def page(self, name: str) -> Page:
        """Return a page by its name; the one of the sheets holds nothing itself."""
        if name in SCHEDULES:
            return self._schedule(by_mold=name == MOLDS)
        made = {DATES: self._dates, LOADS: self._loads, SIZES: self._sizes, KITS: self._kits}.get(name)
        return Page() if made is None else made()

    def _schedule(self, by_mold: bool) -> Page:
        plan = self.plan
        figure = gantt(self.result, plan, self.bottleneck, self.result.case.due, by_mold=by_mold, height=HEIGHT)
        if by_mold:
            own = (MOLDS, mold_use_rows(plan, again_word(self.result, plan.technique)))
        else:
            own = (HANDS, hand_rows(plan))
        extras = [("What one more of each would save", extra_rows(plan))] if self.bottleneck else []
        return Page((), figure, figure["layout"]["title"]["text"].replace("<br>", " "), [own, *extras])

    def _dates(self) -> Page:
        if self.trade is None:
            return Page()
        due, currency = self.result.case.due, self.result.currency
        said = finish_words(self.trade, due, currency)
        figure = cost_by_date(self.result, self.trade, self.plan, height=HEIGHT)
        return Page((said, PRESS), figure, said, [(DATES, front_rows(self.trade, due, currency))])

    def _loads(self) -> Page:
        checks = load_checks(self.result, self.plan.technique)
        return Page((checks_words(checks),), more=checks_html(checks, self.system, self.result.currency))

    def _sizes(self) -> Page:
        found = generations(self.result, self.plan.technique)
        wanted = size_for(self.result, self.plan.technique, self.result.pattern.longest.at(0))
        words = [*(shrinkage_words(each) for each in found), wanted_words(wanted, self.system)]
        return Page(words, tables=[(SIZES, size_rows(found, self.system))])

    def _kits(self) -> Page:
        found = shopping_of_plan(self.result, self.plan)
        return Page((shopping_words(found),), tables=[(KITS, shopping_rows(found, self.system))])
