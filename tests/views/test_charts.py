"""Charts: pure functions of a table, readable by everyone, saying what the table says."""

from __future__ import annotations

import copy
import math
import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import plotly.graph_objects as go
import pytest

from moldkit.pattern.reading import Reading
from moldkit.study.case import Case
from moldkit.study.compare import Comparison
from moldkit.study.curves import CurveTable, curve_table
from moldkit.study.knowledge import Knowledge
from moldkit.study.quote import quote
from moldkit.study.sweep import DecisionMap, decision_map
from moldkit.units import count_text, number_text
from moldkit.views import style
from moldkit.views.charts import READINGS, cost_chart
from moldkit.views.client_chart import price_chart
from moldkit.views.map_chart import crosshair_patch, map_chart

BUST = Case(form="bust", size=(0.14, 0.11, 0.20), material="rigid urethane resin", run=80)
CASES = {
    "three cross": BUST,
    "stairs": replace(BUST, life=25.0),
    "one ruled out": replace(BUST, method="pressure"),
    "two ruled out": replace(BUST, fixed_in_place=True, vertical=True),
    "nothing works": replace(BUST, material="tin alloy", life=30.0),
    "no data": replace(BUST, material="tin alloy"),
    "a single casting": replace(BUST, run=1),
}
SIZES, RUNS = np.geomspace(0.05, 1.0, 14), np.array([1, 3, 10, 30, 100, 300, 1000])


@pytest.fixture(params=CASES, scope="module")
def table(request: pytest.FixtureRequest, compared: Callable[[Case], Comparison]) -> CurveTable:
    return curve_table(compared(CASES[request.param]), 1000)


@pytest.fixture(params=["three cross", "one ruled out", "no data"], scope="module")
def decided(request: pytest.FixtureRequest, knowledge: Knowledge, reading_of: Callable[[Case], Reading]) -> DecisionMap:
    case = CASES[request.param]
    return decision_map(case, knowledge, reading_of(case), SIZES, RUNS)


def same(one: Any, other: Any) -> bool:
    """Return whether two nests of dicts, lists and arrays are equal, a missing number equal to itself."""
    if isinstance(one, dict):
        return isinstance(other, dict) and one.keys() == other.keys() and all(same(one[k], other[k]) for k in one)
    if isinstance(one, (list, tuple)):
        return len(one) == len(other) and all(same(a, b) for a, b in zip(one, other, strict=True))
    if isinstance(one, np.ndarray):
        return np.array_equal(one, other, equal_nan=one.dtype.kind == "f")
    return bool(one == other) or (one != one and other != other)


# ----------------------------------------------------------------------------------------------------------- purity


@pytest.mark.parametrize("reading", READINGS)
@pytest.mark.parametrize("big", [False, True])
def test_a_cost_chart_depends_on_its_table_alone_and_leaves_it_alone(
    table: CurveTable, reading: Any, big: bool
) -> None:
    before = copy.deepcopy(table)
    first = cost_chart(table, title="Cost", reading=reading, big=big)
    kept = copy.deepcopy(first)
    second = cost_chart(table, title="Cost", reading=reading, big=big)
    assert same(first, second) and same(first, kept)
    assert all(same(getattr(table, name), getattr(before, name)) for name in table.__dataclass_fields__)
    first["data"][0]["x"] = None  # a caller may change his figure without changing the next one
    assert same(cost_chart(table, title="Cost", reading=reading, big=big), second)


def test_a_map_chart_depends_on_its_table_alone_and_leaves_it_alone(decided: DecisionMap) -> None:
    before = copy.deepcopy(decided)
    first = map_chart(decided, run=80, longest=0.2)
    assert same(first, map_chart(decided, run=80, longest=0.2))
    assert all(same(getattr(decided, name), getattr(before, name)) for name in decided.__dataclass_fields__)


@pytest.mark.parametrize("reading", READINGS)
@pytest.mark.parametrize("big", [False, True])
def test_plotly_accepts_a_cost_chart_as_it_stands(table: CurveTable, reading: Any, big: bool) -> None:
    figure = cost_chart(table, title="Cost", reading=reading, big=big)
    assert len(go.Figure(figure).data) == len(figure["data"]) > len(table.techniques)


def test_plotly_accepts_a_map_chart_as_it_stands(decided: DecisionMap) -> None:
    assert go.Figure(map_chart(decided, run=80, longest=0.2, big=True)).data[0].type == "heatmap"


# ------------------------------------------------------------------------------------------------- what it says


def test_each_curve_is_the_tables_row_and_knows_its_technique(table: CurveTable) -> None:
    figure = cost_chart(table)
    curves = figure["data"][: len(table.techniques)]
    assert [curve["name"] for curve in curves] == list(table.techniques)
    for row, curve in enumerate(curves):
        assert np.asarray(curve["x"], dtype=float).tolist() == table.runs.tolist()
        drawn = np.array([math.nan if y is None else y for y in np.asarray(curve["y"], dtype=object)], dtype=float)
        np.testing.assert_allclose(drawn, table.totals[row], rtol=1e-6, atol=1e-4)


def test_costs_per_casting_are_the_totals_divided_by_the_run(table: CurveTable) -> None:
    figure = cost_chart(table, reading="per casting")
    for row in range(len(table.techniques)):
        drawn = np.asarray(figure["data"][row]["y"], dtype=float)
        np.testing.assert_allclose(drawn, table.totals[row] / table.runs, rtol=1e-6, atol=1e-3)


def test_the_strip_shows_per_cent_above_the_cheapest_that_works(table: CurveTable) -> None:
    strip = [trace for trace in cost_chart(table)["data"] if trace.get("yaxis") == "y2" and trace["mode"] == "lines"]
    assert len(strip) == len(table.techniques)
    for column in range(0, table.runs.size, 7):
        totals = table.totals[:, column].tolist()
        known = [c for c, ok in zip(totals, table.feasible, strict=True) if ok] or [c for c in totals if c == c]
        for trace, total in zip(strip, totals, strict=True):
            drawn = float(trace["y"][column])
            assert math.isnan(drawn) if math.isnan(total) else drawn == pytest.approx(100 * (total / min(known) - 1))


def test_crossing_marks_are_the_tables_crossings(table: CurveTable) -> None:
    runs, costs = [c.run for c in table.crossings], [c.cost for c in table.crossings]
    above, strip = [trace for trace in cost_chart(table)["data"] if trace.get("name") == "crossings"]
    assert list(above["x"]) == list(strip["x"]) == runs
    np.testing.assert_allclose(np.asarray(above["y"], dtype=float), costs, rtol=1e-9)
    assert not any(strip["y"])  # at a crossing the new technique is the cheapest itself
    each = next(t for t in cost_chart(table, reading="per casting")["data"] if t.get("name") == "crossings")
    np.testing.assert_allclose(np.asarray(each["y"], dtype=float), [c / n for c, n in zip(costs, runs, strict=True)])


def test_the_labels_of_crossings_say_run_technique_and_cost(compared: Callable[[Case], Comparison]) -> None:
    table = curve_table(compared(BUST), 1000)
    assert table.crossings
    shapes = cost_chart(table)["layout"]["shapes"]
    labels = [shape["label"]["text"] for shape in shapes if shape.get("name") == "crossing"]
    assert labels == [f"from {count_text(c.run)}: {c.technique}, {number_text(c.cost)}" for c in table.crossings[:6]]


def test_the_run_asked_for_is_marked(table: CurveTable) -> None:
    chart_layout = cost_chart(table)["layout"]
    (line,) = [shape for shape in chart_layout["shapes"] if shape.get("name") == "run"]
    assert (line["x0"], line["x1"]) == (table.run, table.run)
    assert line["label"]["text"] == f"run {count_text(table.run)}"


def end_labels_of(figure: dict[str, Any]) -> list[dict[str, Any]]:
    """Return the shapes that carry the labels at the curves' ends."""
    return [shape for shape in figure["layout"]["shapes"] if shape.get("name") == "end"]


def test_the_cheapest_at_the_run_stands_in_bold_and_nothing_else(table: CurveTable) -> None:
    ends = [label["label"]["text"] for label in end_labels_of(cost_chart(table))]
    bold = [text for text in ends if "<b>" in text]
    assert bold == ([] if table.cheapest is None else [f"  <b>{table.cheapest}</b>"])


def test_what_is_ruled_out_stays_grey_and_dotted_with_its_reason(table: CurveTable) -> None:
    figure = cost_chart(table)
    texts = [label["label"]["text"] for label in end_labels_of(figure)]
    ends = {text.split("<br>")[0].replace("<b>", "").replace("</b>", "").strip(): text for text in texts}
    for row, name in enumerate(table.techniques):
        curve, known = figure["data"][row], np.isfinite(table.totals[row]).any()
        if table.feasible[row]:
            assert curve["line"]["color"] == style.stroke(row).colour
            assert "out:" not in curve["hovertemplate"] and "out:" not in ends[name]
        else:
            assert (curve["line"]["color"], curve["line"]["dash"]) == (style.OUT, "dot")
            assert table.reasons[row]
            assert f"out: {table.reasons[row]}" in curve["hovertemplate"]
            assert not known or f"out: {table.reasons[row]}" in ends[name]


def test_the_map_shows_the_decision_maps_categories(decided: DecisionMap) -> None:
    cells = map_chart(decided, run=80, longest=0.2)["data"][0]
    assert np.asarray(cells["z"]).tolist() == decided.cheapest.tolist()
    assert np.asarray(cells["x"], dtype=float).tolist() == decided.runs.tolist()
    np.testing.assert_allclose(np.asarray(cells["y"], dtype=float), decided.sizes * 1000)
    names = ["nothing works", *decided.names]
    assert [list(row) for row in cells["customdata"]] == [[names[k + 1] for k in row] for row in decided.cheapest]


def test_each_category_of_the_map_has_its_techniques_colour(decided: DecisionMap) -> None:
    cells = map_chart(decided, run=80, longest=0.2)["data"][0]
    for category in range(-1, len(decided.names)):
        share = (category - cells["zmin"]) / (cells["zmax"] - cells["zmin"])
        below = [colour for edge, colour in cells["colorscale"] if edge <= share][-1]
        above = next(colour for edge, colour in cells["colorscale"] if edge > share)
        assert below == above
        if category >= 0:
            assert below == style.stroke(category).colour
        else:
            assert below not in {look.colour for look in style.STROKES}


def test_the_case_is_marked_on_the_map(decided: DecisionMap) -> None:
    figure = map_chart(decided, run=80, longest=0.2)
    (mark,) = [shape for shape in figure["layout"]["shapes"] if shape.get("name") == "this case"]
    assert (mark["xanchor"], mark["yanchor"]) == (80, pytest.approx(200.0))
    inches = map_chart(decided, run=80, longest=0.254, unit="in", metres_a_unit=0.0254)
    assert inches["layout"]["shapes"][-1]["yanchor"] == pytest.approx(10)
    patch = crosshair_patch(120, 310.0)["layout"]["shapes"]
    assert (patch[-1]["xanchor"], patch[-1]["yanchor"]) == (120, 310.0)


def test_cells_where_nothing_works_are_hatched_and_no_others(decided: DecisionMap) -> None:
    hatch = [t for t in map_chart(decided, run=80, longest=0.2)["data"] if t.get("hoverinfo") == "skip"]
    none = {(float(decided.runs[c]), float(decided.sizes[r] * 1000)) for r, c in np.argwhere(decided.cheapest < 0)}
    marked = {(float(x), float(y)) for trace in hatch for x, y in zip(trace["x"], trace["y"], strict=True)}
    assert {(x, round(y, 9)) for x, y in marked} <= {(x, round(y, 9)) for x, y in none}
    assert bool(marked) == bool(none)


def test_a_clients_chart_shows_the_prices_and_none_of_the_costs(compared: Callable[[Case], Comparison]) -> None:
    result = compared(BUST)
    offer = quote(result).for_client()
    figure = price_chart(offer)
    go.Figure(figure)
    assert same(figure, price_chart(offer))
    assert [round(100 * price) for price in figure["data"][0]["y"]] == list(offer.each)
    words = repr(figure)
    assert not [outcome.name for outcome in result.outcomes if outcome.name in words]
    assert "cost" not in words.replace("autocolorscale", "")


# ------------------------------------------------------------------------------------------- readable by everyone


@pytest.mark.parametrize(("height", "big"), [(380, False), (460, False), (460, True), (640, True)])
@pytest.mark.parametrize("reading", READINGS)
def test_labels_at_the_curves_ends_are_never_nearer_than_15_pixels_and_stay_beside_the_costs(
    table: CurveTable, reading: Any, height: int, big: bool
) -> None:
    chart_layout = cost_chart(table, reading=reading, height=height, big=big)["layout"]
    margin, (low, high) = chart_layout["margin"], chart_layout["yaxis"]["range"]
    bottom, top = chart_layout["yaxis"].get("domain", (0.0, 1.0))
    pixels = (chart_layout["height"] - margin["t"] - margin["b"]) * (top - bottom) / (high - low)
    ends = sorted(math.log10(label["y0"]) for label in chart_layout["shapes"] if label.get("name") == "end")
    assert len(ends) == int(np.isfinite(table.totals).any(axis=1).sum())
    assert all(gap * pixels >= 15 for gap in np.diff(ends))
    assert all(low - 1e-9 <= y <= high + 1e-9 for y in ends)


def contrast(one: str, other: str = "rgb(255,255,255)") -> float:
    """Return the contrast ratio of two colours.

    WCAG 2.2, definitions of relative luminance and contrast ratio: https://www.w3.org/TR/WCAG22/#dfn-contrast-ratio
    """

    def luminance(colour: str) -> float:
        parts = [int(part) / 255 for part in re.findall(r"\d+", colour)[:3]]
        linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    lighter, darker = sorted((luminance(one), luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def test_the_contrast_formula_gives_published_ratios() -> None:
    # Black on white is 21:1 by the definition; 767676 on white, 4.54:1, is the usual edge for text (from memory).
    assert contrast("rgb(0,0,0)") == pytest.approx(21.0)
    assert contrast("rgb(118,118,118)") == pytest.approx(4.54, abs=0.005)


@pytest.mark.parametrize("look", style.STROKES, ids=lambda look: look.colour)
def test_lines_have_three_to_one_and_their_text_four_and_a_half_to_one_on_white(look: style.Stroke) -> None:
    # WCAG 2.2, success criteria 1.4.11 (graphics, 3:1) and 1.4.3 (text, 4.5:1).
    assert contrast(look.colour) >= 3.0
    assert contrast(look.text) >= 4.5


def test_ink_faint_ink_and_the_grey_of_what_is_out_can_be_read_on_white() -> None:
    assert contrast(style.INK) >= 4.5
    assert contrast(style.FAINT) >= 4.5
    assert contrast(style.OUT) >= 3.0


def test_techniques_differ_by_colour_dash_and_marker() -> None:
    for part in ("colour", "text", "dash", "marker"):
        assert len({getattr(look, part) for look in style.STROKES}) == len(style.STROKES)


@pytest.mark.parametrize("big", [False, True])
def test_every_label_of_a_chart_has_four_and_a_half_to_one(table: CurveTable, decided: DecisionMap, big: bool) -> None:
    for figure in (cost_chart(table, title="Cost", big=big), map_chart(decided, run=80, longest=0.2, big=big)):
        fonts = [note["font"]["color"] for note in figure["layout"].get("annotations", [])]
        fonts += [shape["label"]["font"]["color"] for shape in figure["layout"]["shapes"] if "label" in shape]
        fonts += [figure["layout"]["font"]["color"], figure["layout"]["title"]["font"]["color"]]
        assert all(contrast(colour) >= 4.5 for colour in fonts)


def test_no_chart_offers_to_send_itself_anywhere(table: CurveTable, decided: DecisionMap) -> None:
    for figure in (cost_chart(table), map_chart(decided, run=80, longest=0.2)):
        assert "sendChartToCloud" in figure["layout"]["modebar"]["remove"]
        assert "http" not in repr(figure)


def test_figures_have_thin_spaces_and_points(table: CurveTable) -> None:
    assert cost_chart(table)["layout"]["separators"] == ".\u202f"
