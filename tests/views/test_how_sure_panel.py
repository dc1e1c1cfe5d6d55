"""The panel of the third notebook: it follows the case, says what it drew, and no trouble gets past it."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from moldkit.study.case import FROM_LOG
from moldkit.views.panel.how_sure import HowSureAreWe, rows_html
from moldkit.views.sure_words import firmness_words

DATA = Path(__file__).resolve().parents[2] / "data"


@pytest.fixture
def panel() -> HowSureAreWe:
    made = HowSureAreWe("figure", DATA)
    made.draws.value = 500
    return made


def test_the_band_says_the_verdict_and_how_firm_it_is(panel: HowSureAreWe) -> None:
    assert firmness_words(panel.sure.spread) in panel.band.detail
    assert "of 100 plausible shops" in panel.band.detail
    assert "500 plausible shops drawn" in panel.words.value and "seed 1" in panel.words.value


@pytest.mark.parametrize("shown", ["Odds", "Cost bands", "What the doubt hangs on", "Mold life", "When to retire"])
def test_each_chart_has_its_sentence_and_its_table(panel: HowSureAreWe, shown: str) -> None:
    panel.switch.value = shown
    assert panel.chart.figure["data"] and len(panel.chart.label) > 40
    assert f"<caption>{shown}</caption>" in panel.table.value and panel.table.value.count("<tr>") > 3
    assert not panel.chart.dimmed


def test_run_seed_draws_and_life_each_change_what_is_drawn(panel: HowSureAreWe) -> None:
    before = panel.sure.spread.decision.chance
    panel.run.value = 20
    assert panel.case.run == 20 and panel.sure.spread.run == 20
    assert panel.sure.spread.decision.chance[0] > before[0]
    panel.seed.value = 7
    assert panel.sure.spread.draws.seed == 7
    panel.draws.value = 2_000
    assert panel.sure.spread.draws.count == 2_000
    panel.from_log.value = True
    assert panel.case.life == FROM_LOG
    panel.from_log.value = False
    assert panel.case.life is None


def test_while_a_run_is_dragged_fewer_shops_are_drawn_and_the_last_one_counts(panel: HowSureAreWe) -> None:
    panel.draws.value = 10_000
    settled = panel.chart.figure
    panel.bench.change(lambda case: replace(case, run=50), settled=False)
    assert panel.sure.spread.draws.count == 2_000 and panel.chart.figure == settled
    panel.bench.change(lambda case: replace(case, run=50), settled=True)
    assert panel.sure.spread.draws.count == 10_000 and panel.chart.figure != settled


def test_what_a_drag_shows_of_the_doubt_is_what_the_same_case_shows_afresh(panel: HowSureAreWe) -> None:
    panel.switch.value = "What the doubt hangs on"
    for run in (60, 55, 50):
        panel.bench.change(lambda case, run=run: replace(case, run=run), settled=False)
    afresh = HowSureAreWe("figure", DATA)
    afresh.draws.value = 500
    afresh.run.value = 50
    dragged, shown = panel.sure.doubt, afresh.sure.doubt
    assert dragged is not None and shown is not None
    assert dragged.names == shown.names and (dragged.shares.total == shown.shares.total).all()
    assert panel.sure.switches == afresh.sure.switches


def test_a_failures_cost_moves_the_retirement_once_for_each_move(panel: HowSureAreWe) -> None:
    panel.switch.value = "When to retire"
    dear, said, drawn = panel.chart.figure, panel.chart.label, panel.chart.seq
    panel.lost.value = 0
    assert panel.chart.seq == drawn + 1 and panel.chart.figure != dear
    panel.lost._receive(None, {"kind": "move", "value": 60, "settled": True}, [])
    assert panel.chart.seq == drawn + 2
    assert (panel.chart.figure, panel.chart.label) == (dear, said)


def test_the_switch_for_units_changes_the_words_and_no_figure(panel: HowSureAreWe) -> None:
    panel.bench.change(lambda case: replace(case, method="pressure", longest=0.6))
    metric, chance = panel.band.sentence, panel.sure.spread.decision.chance
    assert "225 mm too large" in metric
    panel.units.value = "in, lb"
    # By definition since 1959 an inch is 25.4 mm.
    assert "8.86 in too large" in panel.band.sentence and panel.system == "us"
    assert (panel.sure.spread.decision.chance == chance).all()
    panel.units.value = "mm, kg"
    assert panel.band.sentence == metric


def test_another_job_is_taken_up_with_its_run(panel: HowSureAreWe) -> None:
    panel.jobs.value = next(path for name, path in panel.jobs.options if name == "head")
    assert panel.bench.job.path.stem == "head" and panel.case.run == 30
    assert panel.run.value == panel.case.run == panel.sure.spread.run


def test_a_job_without_a_row_in_the_life_table_keeps_the_odds_and_says_what_is_missing(panel: HowSureAreWe) -> None:
    panel.bench.change(lambda case: replace(case, material="tin alloy"))
    panel.switch.value = "Mold life"
    assert "has no row for" in panel.said.value and panel.chart.dimmed
    panel.switch.value = "Odds"
    assert "has no row for" not in panel.said.value and not panel.chart.dimmed


def test_a_broken_row_of_the_log_is_told_in_the_page_and_mends_itself(tmp_path: Path) -> None:
    data = tmp_path / "data"
    shutil.copytree(DATA, data, ignore=shutil.ignore_patterns("__pycache__", "patterns"))
    panel = HowSureAreWe("figure", data)
    log = data / "mold_log.csv"
    good = log.read_text("utf-8")
    log.write_text(good.replace(",16,worn out,", ",sixteen,worn out,", 1), "utf-8")
    panel.switch.value = "Mold life"
    assert "mold_log.csv, row 2" in panel.said.value and "sixteen" in panel.said.value
    panel.from_log.value = True
    assert "sixteen" in panel.band.problem and panel.chart.dimmed and not panel.from_log.value
    log.write_text(good, "utf-8")
    panel.from_log.value = True
    assert panel.band.problem == "" and not panel.chart.dimmed and panel.case.life == FROM_LOG


def test_a_job_that_cannot_be_read_leaves_the_one_that_is_open(tmp_path: Path) -> None:
    data = tmp_path / "data"
    shutil.copytree(DATA, data, ignore=shutil.ignore_patterns("__pycache__", "patterns"))
    (data / "jobs" / "spoiled.toml").write_text("[casting]\nrun = -3\n", "utf-8")
    panel = HowSureAreWe("figure", data)
    panel.jobs.value = str(data / "jobs" / "spoiled.toml")
    assert "spoiled.toml" in panel.said.value
    assert panel.jobs.value == str(panel.bench.job.path) and panel.case.run == 100


def test_text_in_a_table_is_shown_and_never_run() -> None:
    assert "<script>" not in rows_html("a & b", [["x", "y"], ["<script>", "1"]])
