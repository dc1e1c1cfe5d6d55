"""What the notebook "plan the run" calls: one line each, so that it holds no model code."""

from __future__ import annotations

import datetime
from collections.abc import Sequence

from ipywidgets import HTML

from moldkit.errors import unknown
from moldkit.loads.check import LoadCheck
from moldkit.study.compare import Comparison
from moldkit.study.finish_dates import TradeOff
from moldkit.study.run_plan import RunPlan
from moldkit.units import System
from moldkit.views.paper.document import Document
from moldkit.views.plan_figures import cost_by_date, gantt
from moldkit.views.plan_html import checks_html, sheets_frame
from moldkit.views.plan_words import finish_words
from moldkit.views.sheets.bench import bench_for
from moldkit.views.sheets.whole_set import whole_set
from moldkit.views.widgets.chart import Chart

FRAME = 620


def gantt_figure(result: Comparison, plan: RunPlan, by_mold: bool = False) -> Chart:
    """Return a plan as a Gantt chart for a cell: a lane for each person and machine, or for each mold."""
    made = gantt(result, plan, plan.bottleneck, result.case.due, by_mold=by_mold)
    said = made["layout"]["title"]["text"].replace("<br>", " ")
    what = "mold by mold" if by_mold else "who works when"
    return Chart(made, height=made["layout"]["height"], label=f"The run, {what}. {said}")


def finish_figure(result: Comparison, trade: TradeOff, plan: RunPlan | None = None) -> Chart:
    """Return cost against finish date for a cell; plan: its way is ringed."""
    words = finish_words(trade, result.case.due, result.currency)
    return Chart(cost_by_date(result, trade, plan), height=460, label=f"Cost against finish date. {words}")


def check_list(checks: Sequence[LoadCheck], currency: str, system: System = "metric") -> HTML:
    """Return load checks as a list for a cell, the gravest first; each opens to show its working."""
    return HTML(checks_html(checks, system, currency))


def bench_sheets(
    result: Comparison, technique: str | None = None, *, system: System = "metric", start: datetime.time | None = None
) -> tuple[Document, ...]:
    """Return the bench sheets of a job dated on the day its plan begins; technique: None for the cheapest."""
    return whole_set(bench_for(result, technique, system=system, date=result.case.start, start=start))


def sheet_view(documents: Sequence[Document], name: str | None = None) -> HTML:
    """Return sheets as they print for a cell: one by its page's name, or all; raises InputError for an unknown name."""
    names = [page.name for document in documents for page in document.pages]
    if name is not None and name not in names:
        raise unknown("sheet", name, names)
    own = [d for d in documents if name is None or any(page.name == name for page in d.pages)]
    return HTML(sheets_frame(own, "A4", FRAME))
