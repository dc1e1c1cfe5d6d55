"""The whole set of bench sheets for a job, and the files it is written as."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from moldkit.errors import InputError
from moldkit.loads.check import LoadCheck
from moldkit.study.bench.boards import board_of
from moldkit.study.compare import Comparison
from moldkit.study.load_checks import load_checks
from moldkit.study.run_plan import RunPlan, plan_run
from moldkit.study.shopping import ShoppingList, shopping_list, shopping_of_plan
from moldkit.units import count_text
from moldkit.views.paper.document import Document, Paper, bound
from moldkit.views.paper.folder import write_folder
from moldkit.views.paper.pdf import pdf
from moldkit.views.paper.web import web_page
from moldkit.views.paper.workbook import workbook
from moldkit.views.sheets.bench import Bench
from moldkit.views.sheets.build import build_sheet
from moldkit.views.sheets.loads import load_sheet
from moldkit.views.sheets.mixing import mixing_sheet
from moldkit.views.sheets.pouring import pour_plan
from moldkit.views.sheets.run_card import run_card
from moldkit.views.sheets.safety import safety_page
from moldkit.views.sheets.schedule import schedule_sheet, unplanned
from moldkit.views.sheets.shopping import shopping_sheet

FOLDER = "sheets"
ALL = "all-sheets"
# Every name that a set may have had, so that a sheet that is no longer in it goes.
NAMES = ("safety", "build", "mixing", "pouring", "loads", "run card", "schedule", "shopping")
# A longer run is not planned for a sheet: it would take many seconds.
MOST_PLANNED = 10_000
A_DAY = 24 * 3600.0


def whole_set(bench: Bench) -> tuple[Document, ...]:
    """Return every sheet of the job, in the order of the work."""
    result, name = bench.result, bench.outcome.name
    plan = _planned(bench)
    return sheets(bench, load_checks(result, name), _shopping(bench, plan), plan)


def _shopping(bench: Bench, plan: RunPlan | str) -> ShoppingList:
    """Return what to buy for the run as planned; without a plan for the molds of the job, or for one without a life."""
    result, name = bench.result, bench.outcome.name
    if not isinstance(plan, str):
        return shopping_of_plan(result, plan)
    if bench.outcome.life is None:
        return shopping_list(result, name, scope="first mold")
    return shopping_list(result, name, side_by_side=result.case.molds)


def _planned(bench: Bench) -> RunPlan | str:
    """Return the run planned with the job's own molds and start, else one mold from the sheets' day; or why not."""
    case, pours = bench.result.case, int(bench.result.pours(bench.outcome).value)
    result = _from_start(bench)
    if pours > MOST_PLANNED:
        return f"a run of {count_text(pours)} pours is too long to be planned hour by hour; plan it in parts."
    try:
        return plan_run(result, bench.outcome.name, molds=case.molds, start=case.start or bench.date)
    except InputError as fault:
        return str(fault)


def _from_start(bench: Bench) -> Comparison:
    """Return the comparison with shifts that begin with the sheets' start, where one is given and they end that day."""
    result, start = bench.result, bench.start
    if start is None or start.hour * 3600 + start.minute * 60 + result.shop.quantity("hours_a_day").at(0) > A_DAY:
        return result
    shop = {**result.case.shop, "day_starts": f"{start:%H:%M}"}
    return replace(result, case=replace(result.case, shop=shop))


def sheets(
    bench: Bench, checks: Sequence[LoadCheck], shopping: ShoppingList, plan: RunPlan | str
) -> tuple[Document, ...]:
    """Return the sheets for checks, a shopping list and a plan at hand, in the order of the work.

    plan: of the run, or a sentence on why it cannot be planned.
    """
    planned = None if isinstance(plan, str) else plan
    return (
        safety_page(bench),
        build_sheet(bench, board_of(checks), planned),
        mixing_sheet(bench, planned),
        pour_plan(bench),
        load_sheet(bench, checks),
        run_card(bench, None if isinstance(plan, str) else plan),
        unplanned(bench, plan) if isinstance(plan, str) else schedule_sheet(bench, plan),
        shopping_sheet(bench, shopping),
    )


def file_name(document: Document) -> str:
    """Return the name of a sheet's file, without its ending."""
    return document.pages[0].name.replace(" ", "-")


def set_files(documents: Sequence[Document], paper: Paper) -> dict[str, bytes]:
    """Return the set as files by name: a PDF each, all in one, a page for a browser, a workbook."""
    together = bound(documents)
    files = {f"{file_name(document)}.pdf": pdf(document, paper) for document in documents}
    files[f"{ALL}.pdf"] = pdf(together, paper)
    files[f"{ALL}.html"] = web_page(together, paper).encode("utf-8")
    files[f"{ALL}.xlsx"] = workbook(together, paper)
    return files


def write_files(files: Mapping[str, bytes], folder: Path) -> list[Path]:
    """Write a set's files into a folder, whole or not at all; return where they are.

    A sheet of an earlier set that is not in this one goes, and files that others put there stay. Raises InputError
    where it cannot be written; nothing is changed then.
    """
    ours = {f"{name.replace(' ', '-')}.pdf" for name in NAMES} | {f"{ALL}{end}" for end in (".pdf", ".html", ".xlsx")}
    return write_folder(folder, files, ours)
