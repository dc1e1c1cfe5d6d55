"""The panel of the first notebook without a page: what its controls say is what is compared and shown."""

from __future__ import annotations

import re
import shutil
import threading
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from moldkit.errors import InputError
from moldkit.study.compare import compare, comparison_record
from moldkit.study.job_file import find_job, load_job
from moldkit.study.knowledge import load_knowledge
from moldkit.study.patterns import read_pattern
from moldkit.study.uncertainty.spread import spread_of
from moldkit.views.panel.aside import Aside
from moldkit.views.panel.choose import FIRM_DRAWS, ChooseATechnique
from moldkit.views.sure_words import firmness_words
from moldkit.views.verdict import verdict
from moldkit.views.widgets.chart import Pick

DATA = Path(__file__).resolve().parents[2] / "data"


@pytest.fixture(scope="module")
def data(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder of the test's own, so that saving changes nothing of the project's."""
    folder = tmp_path_factory.mktemp("shop") / "data"
    shutil.copytree(DATA, folder, ignore=shutil.ignore_patterns("__pycache__", "sculpting"))
    return folder


@pytest.fixture
def panel(data: Path) -> Iterator[ChooseATechnique]:
    made = ChooseATechnique("figure", data)
    yield made
    made.close()


def test_a_control_that_is_set_gives_the_result_of_a_direct_call(panel: ChooseATechnique, data: Path) -> None:
    panel.controls.run.value = 137
    panel.controls.longest.value = 0.31
    panel.controls.material.value = "gypsum plaster"
    knowledge = load_knowledge(data)
    case = replace(load_job(data / "jobs" / "figure.toml").case, run=137, longest=0.31, material="gypsum plaster")
    direct = compare(case, knowledge, read_pattern(case, knowledge))
    assert comparison_record(panel.result) == comparison_record(direct)
    assert panel.band.sentence == verdict(direct).sentence


def test_undo_and_redo_walk_through_the_cases_and_the_controls_follow(panel: ChooseATechnique) -> None:
    before = panel.case
    panel.controls.run.value = 250
    panel.controls.method.value = "hand rotation"
    panel.undo.click()
    assert (panel.case.run, panel.case.method, panel.controls.method.value) == (250, before.method, before.method)
    panel.undo.click()
    assert panel.case == before
    assert panel.controls.run.value == before.run
    assert panel.undo.disabled
    panel.redo.click()
    panel.redo.click()
    assert (panel.case.run, panel.case.method) == (250, "hand rotation")
    assert panel.redo.disabled


def test_the_history_keeps_thirty_cases(panel: ChooseATechnique) -> None:
    for run in range(101, 141):
        panel.controls.run.value = run
    for _ in range(40):
        panel.undo.click()
    assert panel.case.run == 110


def test_a_move_that_is_not_final_leaves_no_trace_in_the_history(panel: ChooseATechnique) -> None:
    start = panel.case
    for run in (201, 202, 203):
        panel.bench.change(lambda case, run=run: replace(case, run=run), settled=False)
    panel.bench.change(lambda case: replace(case, run=203), settled=True)
    panel.undo.click()
    assert panel.case == start


def test_trouble_is_one_sentence_and_the_last_good_result_stays(panel: ChooseATechnique) -> None:
    good = panel.result
    panel.bench.change(lambda case: replace(case, skin=1.0))
    assert "more than half" in panel.band.problem
    assert panel.result is good
    assert panel.cost.dimmed
    panel.controls.run.value = 77
    assert panel.band.problem == ""
    assert not panel.cost.dimmed


def test_a_cell_of_the_map_moves_size_and_run_as_one_change(panel: ChooseATechnique) -> None:
    start = panel.case
    panel._take_pick(Pick(curve=0, x=0, y=0, by="click", row=40, column=50))
    assert panel.case.longest == pytest.approx(panel._table.sizes[40])
    assert panel.case.run == panel._table.runs[50]
    panel.undo.click()
    assert panel.case == start


def test_a_method_chosen_in_the_strip_becomes_the_cases(panel: ChooseATechnique) -> None:
    panel._choose_method("pressure")
    assert panel.case.method == "pressure"
    brushed = next(row for row in panel.table.rows if row["heading"] == "brushed skin")
    assert brushed["standing"] == "out"


def test_a_figure_opens_its_working_and_stays_open_when_the_case_changes(panel: ChooseATechnique) -> None:
    panel.table.opened = "poured block/Rubber"
    panel._open(panel.table.opened)
    assert panel.table.working["lines"][0]["name"] == "rubber to mix"
    first = panel.table.working["lines"][0]["result"]
    panel.controls.longest.value = 0.4
    assert panel.table.working["lines"][0]["result"] != first


def test_every_figure_of_the_table_has_a_working(panel: ChooseATechnique) -> None:
    for row in panel.table.rows:
        for cell in row["cells"]:
            assert cell["key"] is not None
            panel._open(cell["key"])
            assert panel.table.working["lines"], cell["key"]


def test_saving_keeps_the_comments_and_never_writes_over_a_newer_file(panel: ChooseATechnique, data: Path) -> None:
    panel.save_as_name.value = "mine.toml"
    panel.controls.run.value = 321
    panel.save_as.click()
    saved = data / "jobs" / "mine.toml"
    original = (data / "jobs" / "figure.toml").read_text()
    text = saved.read_text()
    for line in original.splitlines():
        if line.startswith("#"):
            assert line in text
    assert load_job(saved).case.run == 321
    assert panel.bench.saved
    saved.write_text(text + "\n# changed by another program\n")
    panel.controls.run.value = 322
    panel.save.click()
    assert "changed on disk" in panel.said.value
    assert "another program" in saved.read_text()
    saved.unlink()


def test_a_name_that_is_taken_or_no_plain_name_is_refused(panel: ChooseATechnique) -> None:
    for name, words in (("figure.toml", "exists already"), ("../out.toml", "plain file name"), ("", "plain file name")):
        if name == "figure.toml":
            panel.save_as_name.value = "finial.toml"
        else:
            panel.save_as_name.value = name
        panel.save_as.click()
        assert words in panel.said.value


def test_loading_another_job_shows_it_and_begins_a_new_history(panel: ChooseATechnique, data: Path) -> None:
    panel.controls.run.value = 55
    panel.jobs.value = str(data / "jobs" / "knob.toml")
    panel.load.click()
    assert panel.case.name == "Control knob"
    assert panel.controls.pattern.value == "knob.stl"
    assert panel.undo.disabled


def test_a_job_that_is_broken_is_refused_and_the_present_one_stays(panel: ChooseATechnique, data: Path) -> None:
    broken = data / "jobs" / "broken.toml"
    broken.write_text("[pattern]\nform = \n")
    good = panel.case
    panel._guard(lambda: panel._load(broken))
    assert "not a TOML file" in panel.said.value
    assert panel.case == good
    broken.unlink()


def test_inches_and_pounds_change_the_words_and_not_the_case(panel: ChooseATechnique) -> None:
    case = panel.case
    panel.units.value = "in, lb"
    assert panel.case == case
    assert panel.controls.longest.unit == "in"
    texts = [cell["text"] for row in panel.table.rows for cell in row["cells"]]
    assert any(text.endswith((" lb", " oz")) for text in texts)
    assert not any(text.endswith((" kg", " g")) for text in texts)


def test_nothing_feasible_says_what_stands_in_the_way(panel: ChooseATechnique) -> None:
    panel.controls.method.value = "lay-up"
    assert panel.band.kind == "none"
    assert panel.band.sentence.startswith("Nothing works as asked")


def test_a_job_is_found_by_its_name_or_refused_in_a_sentence(data: Path) -> None:
    assert find_job("finial", data) == data / "jobs" / "finial.toml"
    with pytest.raises(InputError, match="neither a file nor one of the jobs"):
        find_job("no such job", data)


def test_a_settled_verdict_says_how_firm_it_is_and_a_later_case_is_not_told_of_an_earlier_one(
    panel: ChooseATechnique,
) -> None:
    assert panel.firmness.done(60)
    assert re.search(r"cheapest in .* plausible shop", panel.band.detail)
    panel.controls.run.value = 7
    panel.controls.run.value = 250
    assert panel.firmness.done(60)
    spread = spread_of(panel.result, draws=FIRM_DRAWS, farthest=250)
    assert panel.band.detail.endswith(firmness_words(spread))


def test_only_the_newest_of_what_was_asked_for_meanwhile_is_done_aside() -> None:
    begun, go, done = threading.Event(), threading.Event(), []

    def work(word: str) -> None:
        begun.set()
        assert go.wait(10)
        done.append(word)
        if word == "first":
            raise ValueError("this one fails, and the next is done all the same")

    aside = Aside(work)
    aside.ask("first")
    assert begun.wait(10)
    aside.ask("second")
    aside.ask("third")
    go.set()
    assert aside.done(10)
    assert done == ["first", "third"]
