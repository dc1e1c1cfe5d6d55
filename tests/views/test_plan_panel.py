"""The panel of the fourth notebook: it follows the case, says what it planned, and writes only on a press."""

from __future__ import annotations

import datetime
import html
import shutil
import threading
from dataclasses import replace
from pathlib import Path

import pytest

from moldkit.errors import InputError
from moldkit.study.finish_dates import trade_off
from moldkit.study.load_checks import load_checks
from moldkit.study.run_plan import plan_run
from moldkit.views.panel.plan_pages import DATES, HANDS, KITS, LOADS, MOLDS, PAGES, SHEETS, SIZES
from moldkit.views.panel.plan_run import PlanTheRun
from moldkit.views.plan_html import checks_html
from moldkit.views.widgets.chart import Pick

DATA = Path(__file__).resolve().parents[2] / "data"
START = datetime.date(2026, 11, 30)
PATIENCE_S = 60


@pytest.fixture
def panel(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> PlanTheRun:
    """The panel at an empty working folder, begun on a fixed Monday, everything worked out."""
    monkeypatch.chdir(tmp_path)
    made = PlanTheRun("figure", DATA)
    made.controls.start.value = START
    return ready(made)


def ready(panel: PlanTheRun) -> PlanTheRun:
    assert panel.aside.done(PATIENCE_S)
    return panel


def test_the_band_says_the_plan_and_what_holds_it_up(panel: PlanTheRun) -> None:
    direct = plan_run(panel.result, panel.result.cheapest.name, molds=1, start=START)  # type: ignore[union-attr]
    assert panel.plan.finish == direct.finish and panel.plan.cost.value == direct.cost.value
    assert "begun Mon 30 Nov" in panel.band.sentence and panel.band.seq == panel.version
    assert panel.band.detail == " ".join((f"Held up by {direct.bottleneck}", *direct.notes))


def test_what_every_date_costs_is_worked_out_aside_and_is_what_a_direct_call_gives(panel: PlanTheRun) -> None:
    assert panel.trade is not None
    assert panel.trade.ways == trade_off(panel.result, start=START).ways
    assert panel.progress.value == ""


def test_each_page_has_its_sentence_and_its_table(panel: PlanTheRun) -> None:
    for page in PAGES:
        panel.switch.value = page
        chart = page in (HANDS, MOLDS, DATES)
        assert (panel.chart.layout.display == "none") is not chart, page
        assert (panel.sheets.layout.display == "none") is (page != SHEETS), page
        if chart:
            assert panel.chart.figure["data"] and len(panel.chart.label) > 60 and panel.chart.label.endswith(".")
        if page in (DATES, LOADS, SIZES, KITS):
            assert panel.words.value.startswith("<p"), page
        if page not in (LOADS, SHEETS):
            assert f"<caption>{page}</caption>" in panel.tables.value and panel.tables.value.count("<tr>") >= 4
        assert not panel.chart.dimmed and "b3261e" not in panel.said.value, page


def test_run_molds_people_pots_and_dates_each_change_the_case_and_the_plan(panel: PlanTheRun) -> None:
    alone = panel.plan.finish
    panel.controls.molds.value = 3
    assert panel.case.molds == 3 == panel.plan.molds and panel.plan.finish < alone
    panel.controls.run.value = 50
    assert panel.case.run == 50 and panel.plan.castings == 50
    panel.controls.people.value = 4
    assert panel.case.people == 4 and "pair of hands 4" in panel.plan.hours
    panel.controls.pots.value = 2
    assert panel.case.pots == 2
    panel.controls.start.value = START + datetime.timedelta(days=7)
    assert panel.plan.start == panel.case.start == START + datetime.timedelta(days=7)
    panel.controls.due.value = datetime.date(2027, 1, 4)
    assert panel.case.due == datetime.date(2027, 1, 4) and "in time for Mon 4 Jan" in panel.band.sentence
    ready(panel)


def test_a_date_that_is_missed_turns_the_band_and_one_that_is_met_turns_it_back(panel: PlanTheRun) -> None:
    panel.controls.due.value = datetime.date(2026, 12, 4)
    assert panel.band.kind == "near" and "too late for Fri 4 Dec" in panel.band.sentence
    panel.controls.due.value = None
    assert panel.case.due is None and panel.band.kind == "clear"
    ready(panel)


def test_another_technique_is_planned_without_touching_the_case(panel: PlanTheRun) -> None:
    case = panel.case
    panel.controls.technique.value = "brushed skin"
    assert panel.plan.technique == "brushed skin" and panel.case == case
    ready(panel)
    panel.switch.value = LOADS
    direct = load_checks(panel.result, "brushed skin")
    assert panel.more.value == checks_html(direct, "metric", panel.result.currency)


def test_a_technique_that_is_ruled_out_is_planned_and_called_so(panel: PlanTheRun) -> None:
    panel.bench.change(lambda case: replace(case, method="pressure"))
    ready(panel)
    panel.controls.technique.value = "brushed skin"
    assert panel.band.kind == "none" and "Ruled out all the same" in panel.band.detail
    assert ("brushed skin (out)", "brushed skin") in panel.controls.technique.options
    ready(panel)


def test_drawn_lives_are_the_seeds(panel: PlanTheRun) -> None:
    panel.controls.molds.value = 2
    panel.controls.drawn.value = True
    panel.controls.seed.value = 5
    ready(panel)
    direct = plan_run(panel.result, panel.outcome.name, molds=2, start=START, seed=5)
    assert panel.plan.finish == direct.finish and "seed 5" in panel.band.detail


def test_a_mark_pressed_in_the_chart_becomes_the_plan(panel: PlanTheRun) -> None:
    panel.switch.value = DATES
    names = [trace["name"] for trace in panel.chart.figure["data"]]
    panel._take_pick(Pick(names.index("poured block"), None, None, "click", point=3))
    assert (panel.plan.technique, panel.plan.molds, panel.case.molds) == ("poured block", 4, 4)
    assert panel.controls.technique.value == "poured block" and panel.controls.molds.value == 4
    ready(panel)
    ring = panel.chart.figure["data"][-1]
    assert ring["name"] == "the plan" and ring["y"] == [panel.plan.cost.value]
    step = names.index("least cost by a date")
    panel._take_pick(Pick(step, None, None, "click", point=0))
    assert panel.plan.molds == 4


def test_a_date_before_the_begin_is_told_and_nothing_is_lost(panel: PlanTheRun) -> None:
    plan = panel.plan
    panel.controls.due.value = START - datetime.timedelta(days=1)
    assert "Due on: 2026-11-29 lies before the begin on 2026-11-30" in panel.band.problem
    assert panel.plan is plan and panel.case.due is None and panel.chart.dimmed
    panel.controls.due.value = None
    panel.controls.molds.value = 2
    assert panel.band.problem == "" and panel.plan.molds == 2
    ready(panel)


def test_hands_without_a_skill_are_told_in_one_sentence(panel: PlanTheRun) -> None:
    plan = panel.plan
    panel.controls.people.value = 1
    assert "nobody at work has the skill 'helper'" in panel.band.problem
    assert panel.plan is plan
    panel.controls.people.value = 3
    assert panel.band.problem == "" and not panel.chart.dimmed
    ready(panel)


def test_while_a_run_is_dragged_the_settled_chart_stays_and_the_last_one_counts(panel: PlanTheRun) -> None:
    settled = panel.chart.figure
    for _ in range(3):
        panel.bench.change(lambda case: replace(case, run=case.run + 20), settled=False)
    assert panel.plan.castings == 160 and panel.chart.figure == settled and panel.trade is None
    panel.bench.change(lambda case: case, settled=True)
    ready(panel)
    assert panel.chart.figure != settled and panel.trade is not None


def test_work_that_is_no_longer_asked_for_is_dropped(panel: PlanTheRun, monkeypatch: pytest.MonkeyPatch) -> None:
    begun, go_on, asked, stood = threading.Event(), threading.Event(), [], []

    def slow(result: object, *, start: object, progress: object) -> object:
        begun.set()
        assert go_on.wait(PATIENCE_S)
        asked.append(start)
        stood.append(panel.trade)
        return trade_off(result, start=start)  # type: ignore[arg-type]

    monkeypatch.setattr("moldkit.views.panel.plan_run.trade_off", slow)
    panel.controls.molds.value = 2
    assert begun.wait(PATIENCE_S)
    panel.controls.start.value = START + datetime.timedelta(days=1)
    go_on.set()
    ready(panel)
    assert asked == [START, START + datetime.timedelta(days=1)] and stood == [None, None]
    assert panel.trade is not None and panel.trade.start == START + datetime.timedelta(days=1)


def test_us_units_reach_loads_sizes_kits_and_sheets(panel: PlanTheRun) -> None:
    panel.units.value = "in, lb"
    panel.switch.value = LOADS
    checks = load_checks(panel.result, panel.outcome.name)
    assert panel.more.value == checks_html(checks, "us", panel.result.currency)
    said = " ".join(check.words_in("us") for check in checks)
    assert html.escape(checks[0].words_in("us")) in panel.more.value and " lb" in said and " kg" not in said
    panel.switch.value = SIZES
    assert " in</td>" in panel.tables.value and " mm" not in panel.tables.value
    panel.switch.value = KITS
    assert " lb</td>" in panel.tables.value
    panel.switch.value = SHEETS
    assert panel.sheets.paper.value == "Letter" and "size:letter" in panel.sheets.frame.value


def test_the_workings_of_a_load_are_folded_under_its_line_and_stops_come_first(panel: PlanTheRun) -> None:
    panel.switch.value = LOADS
    page = panel.more.value
    levels = [part.split('"', 1)[0] for part in page.split('data-level="')[1:]]
    rank = ["stop", "caution", "pass"]
    assert levels == sorted(levels, key=rank.index) and len(levels) >= 4
    assert page.count("<details>") == page.count("<summary>") == page.count("Rule: ") == len(levels)


def test_the_sheets_are_seen_in_a_frame_in_which_nothing_runs(panel: PlanTheRun) -> None:
    panel.switch.value = SHEETS
    frame = panel.sheets.frame.value
    assert frame.startswith("<iframe") and 'sandbox=""' in frame and 'tabindex="0"' in frame and "<script" not in frame
    names = [page.name for document in panel.sheets.documents for page in document.pages]
    assert names[:3] == ["safety", "build", "mixing"] and "schedule" in names
    schedule = next(d for d in panel.sheets.documents if d.pages[0].name == "schedule")
    assert str(panel.plan.pours) in str(schedule)


def test_nothing_is_written_but_on_a_press(panel: PlanTheRun, tmp_path: Path) -> None:
    for page in PAGES:
        panel.switch.value = page
    panel.controls.molds.value = 2
    ready(panel)
    assert list(tmp_path.iterdir()) == []
    panel.switch.value = SHEETS
    panel.sheets.folder.value = "bench"
    panel.sheets.write.click()
    written = sorted(path.name for path in (tmp_path / "bench").iterdir())
    assert "mixing.pdf" in written and "all-sheets.html" in written and "all-sheets.xlsx" in written
    assert all(name in panel.sheets.written.value for name in written)
    assert (tmp_path / "bench" / "mixing.pdf").read_bytes().startswith(b"%PDF")


def test_a_bad_folder_or_time_is_told_and_nothing_is_written(panel: PlanTheRun, tmp_path: Path) -> None:
    panel.switch.value = SHEETS
    for folder, start, words in (("", "", "Folder: is empty"), ("bench", "25:00", "Work begins at: ")):
        panel.sheets.folder.value, panel.sheets.start.value = folder, start
        panel.sheets.write.click()
        assert words in panel.said.value and list(tmp_path.iterdir()) == []


def test_another_job_brings_its_own_dates_molds_and_folder(panel: PlanTheRun) -> None:
    panel.controls.molds.value = 3
    panel.jobs.value = next(path for name, path in panel.jobs.options if name == "medal")
    ready(panel)
    assert panel.case.run == 120 and panel.controls.molds.value == panel.case.molds == 1
    assert panel.sheets.folder.value == "medal-sheets"


def test_a_job_that_cannot_be_read_is_told_and_the_open_one_stays(tmp_path: Path) -> None:
    data = tmp_path / "data"
    shutil.copytree(DATA, data, ignore=shutil.ignore_patterns("__pycache__", "patterns"))
    (data / "jobs" / "knob.toml").write_text("[pattern]\nform = 'sphere'\n")
    panel = PlanTheRun("figure", data)
    panel.jobs.value = next(path for name, path in panel.jobs.options if name == "knob")
    assert "sphere" in panel.said.value and panel.jobs.value == str(panel.bench.job.path)
    assert panel.plan.castings == panel.case.run == 100
    ready(panel)
    with pytest.raises(InputError, match="knob"):
        PlanTheRun("knob", data)
