"""The tick "Buy whole kits" of the first notebook: what it changes is compared, said and drawn."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from moldkit.study.compare import compare, comparison_record
from moldkit.study.curves import EVERY_RUN
from moldkit.views.panel.choose import ChooseATechnique
from moldkit.views.verdict import verdict

DATA = Path(__file__).resolve().parents[2] / "data"


@pytest.fixture
def panel(tmp_path: Path) -> Iterator[ChooseATechnique]:
    folder = tmp_path / "data"
    shutil.copytree(DATA, folder, ignore=shutil.ignore_patterns("__pycache__", "patterns"))
    made = ChooseATechnique("figure", folder)
    yield made
    made.close()


def test_the_tick_compares_in_whole_kits_and_the_verdict_says_so(panel: ChooseATechnique) -> None:
    assert not panel.controls.whole_kits.value
    assert "whole kits" not in panel.band.sentence
    panel.controls.whole_kits.value = True
    direct = compare(replace(panel.bench.job.case, whole_kits=True), panel.bench.knowledge, panel.result.reading)
    assert comparison_record(panel.result) == comparison_record(direct)
    assert panel.band.sentence == verdict(direct).sentence
    assert " in whole kits" in panel.band.sentence


def test_undo_takes_the_tick_back(panel: ChooseATechnique) -> None:
    before = panel.band.sentence
    panel.controls.whole_kits.value = True
    panel.undo.click()
    assert not panel.controls.whole_kits.value
    assert panel.band.sentence == before


def test_the_chart_draws_every_step_and_its_axis_says_whole_kits(panel: ChooseATechnique) -> None:
    panel.controls.whole_kits.value = True
    assert panel._drawn is not None
    assert len(panel._drawn["data"][0]["x"]) >= EVERY_RUN
    assert "(whole kits bought)" in panel._drawn["layout"]["yaxis"]["title"]["text"]


def test_the_map_is_drawn_anew(panel: ChooseATechnique) -> None:
    weight = panel._table.costs.copy()
    panel.controls.whole_kits.value = True
    assert not (panel._table.costs == weight).all()
