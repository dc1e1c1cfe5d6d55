"""Charts and tables of how sure we are: pure functions that say what the figures say."""

from __future__ import annotations

import copy
import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import plotly.graph_objects as go
import pytest

from moldkit.economics.life import Life
from moldkit.study.case import Case
from moldkit.study.compare import Comparison
from moldkit.study.logged_life import LoggedLife, logged_life
from moldkit.study.retire_curve import RetireCurve, retire_curve
from moldkit.study.uncertainty.sensitivity import sensitivity_of
from moldkit.study.uncertainty.switching import switching_values
from moldkit.units import count_text
from moldkit.views import style
from moldkit.views.how_sure import HowSure, how_sure
from moldkit.views.life_charts import life_chart
from moldkit.views.notebook import (
    bands_figure,
    life_figure,
    log_frame,
    odds_figure,
    retirement,
    retirement_figure,
    tornado_figure,
)
from moldkit.views.retire_chart import retirement_chart
from moldkit.views.sure_charts import bands_chart, odds_chart
from moldkit.views.sure_tables import (
    bands_rows,
    doubt_rows,
    life_rows,
    log_rows,
    odds_rows,
    regret_rows,
    retirement_rows,
    switch_rows,
    turn_rows,
    worth_rows,
)
from moldkit.views.tornado_chart import MOST_BARS, tornado_chart
from tests.views.test_charts import BUST, CASES

LIVES = {
    "many worn out": BUST,
    "none worn out": replace(BUST, material="epoxy resin"),
    "none logged": replace(BUST, material="gypsum plaster"),
    "few worn out": replace(BUST, material="concrete", rubber="urethane rubber"),
}


@pytest.fixture(params=CASES, scope="module")
def sure(request: pytest.FixtureRequest, compared: Callable[[Case], Comparison]) -> HowSure:
    return how_sure(compared(CASES[request.param]), draws=300, farthest=300)


@pytest.fixture(scope="module")
def bust(compared: Callable[[Case], Comparison]) -> HowSure:
    return how_sure(compared(BUST), draws=300, farthest=300)


@pytest.fixture(params=LIVES, scope="module")
def life(request: pytest.FixtureRequest, compared: Callable[[Case], Comparison]) -> LoggedLife:
    return logged_life(compared(LIVES[request.param]))


@pytest.fixture(params=[0.3, 1.0, 0.15], ids=["wears", "does not wear", "wears sharply"], scope="module")
def curve(request: pytest.FixtureRequest, bust: HowSure) -> RetireCurve:
    return retire_curve(bust.result, bust.result.outcomes[0], Life(30.0, request.param), lost=150.0)


def traces(figure: dict[str, Any]) -> dict[str, Any]:
    return {trace["name"]: trace for trace in figure["data"]}


def same(one: Any, other: Any) -> bool:
    return repr(go.Figure(one).to_json()) == repr(go.Figure(other).to_json())


def check_is_sound(figure: dict[str, Any], height: int) -> None:
    """Check that plotly takes a figure, that it stands still at its height, and that no text is unsaid."""
    go.Figure(figure)  # raises for what plotly does not know
    assert figure["layout"]["height"] == height and figure["layout"]["title"]["text"]
    text = str(figure["layout"])
    assert "nan" not in re.sub(r"array\(.*?\)", "", text) and "None" not in figure["layout"]["title"]["text"]


@pytest.mark.parametrize("big", [False, True])
def test_every_chart_is_sound_and_a_function_of_its_figures_alone(sure: HowSure, big: bool) -> None:
    for draw, height in ((odds_chart, 430), (bands_chart, 460)):
        figure = draw(sure.spread, big=big)
        kept = copy.deepcopy(figure)
        check_is_sound(figure, height)
        for trace in figure["data"]:
            trace["y"] = None  # a caller may change his figure without changing the next one
        assert same(draw(sure.spread, big=big), kept)
    check_is_sound(tornado_chart(sure.doubt, sure.switches, big=big), 460)
    check_is_sound(bands_chart(sure.spread, reading="per casting", big=big), 460)


@pytest.mark.parametrize("big", [False, True])
def test_the_charts_of_lives_are_sound(life: LoggedLife, curve: RetireCurve, big: bool) -> None:
    check_is_sound(life_chart(life, big=big), 440)
    check_is_sound(retirement_chart(curve, big=big), 420)


# --------------------------------------------------------------------------------------------------------------- odds


def test_the_odds_are_stacked_to_a_hundred_at_every_run(sure: HowSure) -> None:
    layers = odds_chart(sure.spread)["data"]
    assert sum(layer["y"] for layer in layers) == pytest.approx(np.full(sure.spread.runs.size, 100.0))
    assert {layer["stackgroup"] for layer in layers} == {"odds"}


def test_each_layer_is_its_technique_s_colour_and_named_inside_where_it_is_thick(bust: HowSure) -> None:
    figure = odds_chart(bust.spread)
    for row, name in enumerate(bust.spread.techniques):
        shares = 100 * bust.spread.chance[row]
        if shares.max() > 0:
            assert traces(figure)[name]["line"]["color"] == style.stroke(row).colour
    for label in figure["layout"]["annotations"]:
        row = bust.spread.techniques.index(re.sub("</?b>", "", label["text"]))
        place = int(np.argmin(np.abs(np.log10(bust.spread.runs) - label["x"])))
        below = 100 * bust.spread.chance[:row, place].sum()
        assert below < label["y"] < below + 100 * bust.spread.chance[row, place]
        assert label["font"]["color"] == style.stroke(row).text


def test_a_certain_life_s_steps_are_in_the_curves_from_both_sides(compared: Callable[[Case], Comparison]) -> None:
    stairs = how_sure(compared(CASES["stairs"]), draws=64, farthest=300)
    runs = set(traces(bands_chart(stairs.spread))["poured block"]["x"].tolist())
    assert all({25.0 * k, 25.0 * k + 1} <= runs for k in range(1, 11))


# -------------------------------------------------------------------------------------------------------------- bands


@pytest.mark.parametrize("reading", ["total", "per casting"])
def test_a_band_lies_about_its_curve_and_only_techniques_that_work_have_one(sure: HowSure, reading: Any) -> None:
    shown = traces(bands_chart(sure.spread, reading=reading))
    for row, name in enumerate(sure.spread.techniques):
        assert (f"{name}, 10 %" in shown) == (sure.spread.able[row])
        if sure.spread.able[row]:
            low, middle, high = (shown[key]["y"] for key in (f"{name}, 10 %", name, f"{name}, 90 %"))
            assert np.all(low <= middle) and np.all(middle <= high) and np.any(low < high)
            assert shown[f"{name}, 90 %"]["fill"] == "tonexty"


def test_every_curve_of_the_bands_is_named_at_its_end(sure: HowSure) -> None:
    figure = bands_chart(sure.spread)
    told = " ".join(each["label"]["text"] for each in figure["layout"]["shapes"] if each["name"] == "end")
    for row, name in enumerate(sure.spread.techniques):
        assert (name in told) == bool(np.isfinite(sure.spread.bands[1, row]).any())


def test_the_bands_stay_inside_the_axis(bust: HowSure) -> None:
    figure = bands_chart(bust.spread, reading="per casting")
    low, high = figure["layout"]["yaxis"]["range"]
    every = np.concatenate([trace["y"] for trace in figure["data"]])
    assert low < np.log10(every.min()) and np.log10(every.max()) < high


# ------------------------------------------------------------------------------------------------------------ tornado


def test_the_tornado_s_bars_fall_and_each_has_its_switching_value_beside_it(bust: HowSure) -> None:
    figure = tornado_chart(bust.doubt, bust.switches)
    total, first = figure["data"]
    assert total["x"] == sorted(total["x"], reverse=True) and 1 < len(total["x"]) <= MOST_BARS
    assert all(alone <= every for alone, every in zip(first["x"], total["x"], strict=True))
    heading, *notes = figure["layout"]["annotations"]
    assert heading["text"] == "<b>turns the choice</b>"
    assert [note["y"] for note in notes] == total["y"]
    assert any(re.search(r"\d % (less|more)", note["text"].replace("\u00a0", " ")) for note in notes)


def test_the_tornado_s_sentence_names_its_widest_bar(bust: HowSure) -> None:
    figure = tornado_chart(bust.doubt, bust.switches)
    widest = figure["data"][0]["customdata"][0].removeprefix("hours: ")
    assert widest in figure["layout"]["title"]["text"].replace("<br>", " ")


def test_without_two_techniques_there_is_no_tornado_but_a_sentence() -> None:
    figure = tornado_chart(None, ())
    assert figure["data"] == [] and "no doubt between them" in figure["layout"]["title"]["text"]
    assert len(doubt_rows(None, ())) == 1


# --------------------------------------------------------------------------------------------------------------- life


def test_the_life_curve_has_steps_band_and_a_mark_for_each_mold_not_worn_out(life: LoggedLife) -> None:
    figure = life_chart(life)
    shown = traces(figure)
    assert ("from the log" in shown) == bool(life.castings.size)
    if "from the log" in shown:
        steps = shown["from the log"]
        assert steps["line"]["shape"] == "hv" and np.all(np.diff(steps["y"]) <= 0)
        assert np.all(shown["band, low"]["y"] <= steps["y"]) and np.all(steps["y"] <= shown["band, high"]["y"])
    censored = int((~life.worn).sum())
    assert (len(shown["not worn out"]["x"]) if censored else 0) == censored
    if censored:
        marks = shown["not worn out"]
        heights = [steps["y"][np.searchsorted(steps["x"][:-1], x, side="right") - 1] for x in marks["x"]]
        assert marks["y"] == pytest.approx(heights)
    assert any(name.endswith(" fit") for name in shown) == bool(life.worn.any())


def test_the_table_s_median_stands_beside_the_learned_one(life: LoggedLife) -> None:
    figure = life_chart(life)
    shown, most = traces(figure), figure["layout"]["xaxis"]["range"][1]
    for name, known in (("the table's median", life.prior), ("learned", life.median)):
        assert shown[name]["x"] == [known.likely]
        assert known.likely + shown[name]["error_x"]["array"][0] == pytest.approx(known.high)
        assert known.high < most
    told = " ".join(label["text"] for label in figure["layout"]["annotations"])
    assert f"learned: {life.median.likely:.0f}" in told and f"the table said: {life.prior.likely:.0f}" in told


def test_the_retirement_curve_marks_the_age_that_is_advised_and_only_where_one_is(curve: RetireCurve) -> None:
    figure = retirement_chart(curve)
    shown = traces(figure)
    assert ("for this run" in shown) == curve.advice.retires
    told = " ".join(label["text"] for label in figure["layout"]["annotations"])
    if curve.advice.retires:
        assert shown["for this run"]["x"] == [curve.advice.first_retired]
        assert f"retire after {curve.advice.first_retired}" in told and "over the run" in told
    else:
        assert "no planned retirement pays in this run" in told
    level = next(shape for shape in figure["layout"]["shapes"] if shape["name"] == "to failure")
    assert level["y0"] == curve.to_failure < figure["layout"]["yaxis"]["range"][1]


# ------------------------------------------------------------------------------------------------------------- tables


def test_every_table_is_square_and_names_its_columns(sure: HowSure, life: LoggedLife, curve: RetireCurve) -> None:
    spread = sure.spread
    tables = [odds_rows(spread), bands_rows(spread), turn_rows(spread), doubt_rows(sure.doubt, sure.switches)]
    tables += [switch_rows(sure.switches), worth_rows(spread), regret_rows(spread), life_rows(life)]
    tables += [retirement_rows(curve), log_rows(())]
    for rows in tables:
        assert all(rows[0]) and {len(row) for row in rows} == {len(rows[0])}
        assert all(isinstance(cell, str) and "nan" not in cell for row in rows for cell in row)


def test_the_odds_table_says_the_run_asked_for_and_adds_up(sure: HowSure) -> None:
    head, *rows = odds_rows(sure.spread)
    assert count_text(sure.spread.run) in [row[0] for row in rows]
    assert all(sum(float(cell) for cell in row[1:]) == pytest.approx(100.0, abs=0.3) for row in rows)
    assert head[1:-1] == list(sure.spread.techniques)


def test_what_is_not_shown_is_not_computed(compared: Callable[[Case], Comparison]) -> None:
    sure = how_sure(compared(BUST), draws=64)
    odds_chart(sure.spread)
    assert not {"doubt", "switches"} & set(sure.__dict__)
    draws = sure.spread.draws
    assert sure.switches == switching_values(sure.result, draws.inputs, draws.values)
    assert sure.doubt is not None and sure.doubt.names == sensitivity_of(sure.result, 2048).names  # type: ignore[union-attr]


# ----------------------------------------------------------------------------------------------------------- notebook


def test_a_notebook_s_charts_carry_their_sentence_as_a_label(bust: HowSure) -> None:
    life = logged_life(bust.result)
    curve = retirement(bust.result, lost=60.0)
    charts = (odds_figure(bust), bands_figure(bust), tornado_figure(bust), life_figure(life), retirement_figure(curve))
    for chart in charts:
        assert chart.height == chart.figure["layout"]["height"]
        title = chart.figure["layout"]["title"]["text"].replace("<br>", " ")
        assert chart.label.split(". ")[0] and len(chart.label) > len(title) / 2
    assert curve.technique == bust.spread.cheapest
    assert retirement(bust.result, "poured block").technique == "poured block"


def test_the_log_s_frame_takes_in_the_grades_of_a_family(knowledge: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    every, some = log_frame(knowledge=knowledge), log_frame("platinum silicone", state="worn out", knowledge=knowledge)
    assert 0 < len(some) < len(every) == 70
    assert set(some["state"]) == {"worn out"} and "platinum silicone, slow" in set(some["rubber"])
