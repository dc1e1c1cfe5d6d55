"""The chart and the field without a page: what they hold, what they send, and in which order."""

from __future__ import annotations

import base64
import datetime
import gzip
import json
import math
from typing import Any

import numpy as np
import plotly.graph_objects as go
import plotly.offline
import pytest

from moldkit.errors import InputError
from moldkit.views.widgets import encoding
from moldkit.views.widgets.chart import Chart, Pick, plotly_js_gzipped
from moldkit.views.widgets.field import Field

MM = {"name": "mm", "factor": 0.001}
INCH = {"name": "in", "factor": 0.0254}  # exact by definition: international yard and pound agreement, 1959


def from_page(widget: Any, **content: Any) -> None:
    """Hand a widget a message as its page would."""
    widget._handle_custom_msg(content, [])


@pytest.fixture
def sent(monkeypatch: pytest.MonkeyPatch) -> Any:
    """Return a function that makes a widget keep what it sends: a list of (content, buffers)."""

    def keep(widget: Any) -> list[tuple[dict[str, Any], list[bytes]]]:
        kept: list[tuple[dict[str, Any], list[bytes]]] = []
        monkeypatch.setattr(widget, "send", lambda content, buffers=None: kept.append((content, buffers or [])))
        return kept

    return keep


# ---- figures as messages ---------------------------------------------------------------------------

RUNS = np.geomspace(1, 1000, 50)


@pytest.mark.parametrize("numbers", [
    RUNS, RUNS.astype(np.float32), np.arange(40), np.arange(40, dtype=np.uint8), RUNS.reshape(5, 10),
])
def test_a_settled_figure_packs_arrays_as_plotly_itself_does(numbers: Any) -> None:
    # outside check: plotly's own conversion of the same figure; 64-bit whole numbers it packs smaller than we do
    trace = go.Heatmap(z=numbers) if numbers.ndim == 2 else go.Scatter(y=numbers)
    name = "z" if numbers.ndim == 2 else "y"
    theirs = go.Figure(trace).to_plotly_json()["data"][0][name]
    ours = encoding.settled({"data": [{name: numbers}]})["data"][0][name]
    assert ours.get("shape") == theirs.get("shape")
    assert np.array_equal(unpacked(ours), unpacked(theirs))


def unpacked(spec: dict[str, Any], buffers: list[bytes] | None = None) -> np.ndarray[Any, Any]:
    raw = base64.b64decode(spec["bdata"]) if buffers is None else buffers[spec["buffer"]]
    flat = np.frombuffer(raw, "<" + spec["dtype"])
    return flat.reshape([int(n) for n in spec["shape"].split(",")]) if "shape" in spec else flat


def test_a_plotly_figure_and_the_same_plain_dict_settle_alike() -> None:
    figure = go.Figure(go.Scatter(x=RUNS, y=RUNS**2, name="cavity pour"), layout={"title": {"text": "Cost"}})
    assert encoding.settled(figure) == encoding.settled(figure.to_plotly_json())


def test_a_settled_figure_is_plain_json_even_with_dates_gaps_and_infinities() -> None:
    figure = {
        "data": [{
            "x": [datetime.date(2026, 3, 2), datetime.datetime(2026, 3, 3, 12)],
            "y": np.array(["2026-03-02", "2026-03-03"], dtype="datetime64[D]"),
            "text": ["a", None], "width": np.float64(2.5), "offset": math.nan, "base": -math.inf, "visible": True,
        }],
        "layout": {"xaxis": {"range": (0, 3)}},
    }
    settled = encoding.settled(figure)
    text = json.dumps(settled, allow_nan=False)
    assert json.loads(text) == settled
    trace = settled["data"][0]
    assert trace["x"] == ["2026-03-02", "2026-03-03T12:00:00"]
    assert trace["y"] == ["2026-03-02", "2026-03-03"]
    assert (trace["width"], trace["offset"], trace["base"]) == (2.5, None, None)
    assert settled["layout"]["xaxis"]["range"] == [0, 3]


def test_a_drawing_sends_arrays_as_typed_buffers_and_nothing_of_them_as_json() -> None:
    figure = {"data": [{"y": RUNS, "z": RUNS.astype(np.float32).reshape(5, 10), "x": list(RUNS)}], "layout": {}}
    content, buffers = encoding.drawing(figure)
    trace = content["data"][0]
    assert [len(raw) for raw in buffers] == [50 * 8, 50 * 4, 50 * 8]
    assert trace["y"] == {"dtype": "f8", "buffer": 0}
    assert trace["z"] == {"dtype": "f4", "buffer": 1, "shape": "5, 10"}
    assert np.array_equal(unpacked(trace["x"], buffers), RUNS)
    assert not content["patch"]


def test_what_plotly_has_packed_is_sent_as_the_same_bytes() -> None:
    content, buffers = encoding.drawing(go.Figure(go.Heatmap(z=RUNS.reshape(5, 10))))
    assert np.array_equal(unpacked(content["data"][0]["z"], buffers), RUNS.reshape(5, 10))


def test_whole_numbers_too_large_for_a_page_become_floats() -> None:
    content, buffers = encoding.drawing({"data": [{"y": np.arange(20) + 2**40}]})
    assert content["data"][0]["y"]["dtype"] == "f8"
    assert np.array_equal(unpacked(content["data"][0]["y"], buffers), np.arange(20) + 2.0**40)


def test_a_list_with_gaps_stays_a_list() -> None:
    gaps = [1.0, None] * 20
    assert encoding.drawing({"data": [{"y": gaps}]})[0]["data"][0]["y"] == gaps


def test_a_patch_names_traces_by_place_and_keeps_dotted_keys() -> None:
    content, buffers = encoding.drawing({"data": {1: {"marker.size": RUNS}}, "layout": {"xaxis.range": [0, 2]}})
    assert content["patch"]
    assert list(content["data"]) == ["1"]
    assert np.array_equal(unpacked(content["data"]["1"]["marker.size"], buffers), RUNS)
    assert content["layout"] == {"xaxis.range": [0, 2]}


@pytest.mark.parametrize(("figure", "named"), [
    (42, "int"),
    ({"data": "curve"}, "list of traces"),
    ({"data": [{"y": [1, {2}]}]}, r"data\[0\].y\[1\] holds a set"),
    ({"data": [], "layout": {"title": object()}}, "layout.title holds a object"),
])
def test_what_is_no_figure_is_refused_in_one_sentence_that_names_the_place(figure: object, named: str) -> None:
    with pytest.raises(InputError, match=named):
        encoding.settled(figure)


def test_a_patch_of_a_trace_without_a_place_is_refused() -> None:
    with pytest.raises(InputError, match="place"):
        encoding.drawing({"data": {"first": {"y": [1]}}})


# ---- the chart -------------------------------------------------------------------------------------


def curve(height: float) -> dict[str, Any]:
    return {"data": [{"type": "scatter", "y": np.full(20, height)}], "layout": {}}


def test_the_library_sent_is_the_installed_plotlys_own() -> None:
    assert gzip.decompress(plotly_js_gzipped()).decode() == plotly.offline.get_plotlyjs()
    assert Chart().plotly_version == plotly.__version__


def test_a_page_that_asks_gets_the_library_in_one_buffer(sent: Any) -> None:
    chart = Chart()
    kept = sent(chart)
    from_page(chart, kind="library")
    assert kept == [({"kind": "library"}, [plotly_js_gzipped()])]


def test_a_library_that_cannot_be_read_is_told_to_the_page(sent: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken() -> bytes:
        raise FileNotFoundError("plotly.min.js")

    monkeypatch.setattr("moldkit.views.widgets.chart.plotly_js_gzipped", broken)
    chart = Chart()
    kept = sent(chart)
    from_page(chart, kind="library")
    [(content, buffers)] = kept
    assert "plotly.min.js" in content["error"]
    assert buffers == []


def test_drawings_are_numbered_upwards_and_build_on_the_settled_figure(sent: Any) -> None:
    chart = Chart(curve(1))
    kept = sent(chart)
    assert chart.draw(curve(2))
    assert chart.draw({"data": {0: {"y": np.full(20, 3.0)}}})
    assert [(content["seq"], content["base"]) for content, _ in kept] == [(2, 1), (3, 1)]
    assert chart.seq == 1  # a drawing does not last
    assert chart.settle(curve(4))
    assert chart.seq == 4
    assert np.array_equal(unpacked(chart.figure["data"][0]["y"]), np.full(20, 4.0))


def test_an_older_or_repeated_drawing_is_dropped(sent: Any) -> None:
    chart = Chart(curve(1))
    kept = sent(chart)
    assert chart.draw(curve(2), seq=7)
    assert not chart.draw(curve(3), seq=6)
    assert not chart.draw(curve(3), seq=7)
    assert len(kept) == 1


def test_a_figure_settles_at_the_number_last_drawn_but_not_before_it() -> None:
    chart = Chart(curve(1))
    chart.draw(curve(2), seq=7)
    assert not chart.settle(curve(3), seq=6)
    assert chart.seq == 1
    assert chart.settle(curve(3), seq=7)
    assert chart.seq == 7


def test_a_bad_figure_leaves_the_chart_as_it_was(sent: Any) -> None:
    chart = Chart(curve(1))
    kept = sent(chart)
    before = chart.figure
    for change in (chart.draw, chart.settle):
        with pytest.raises(InputError):
            change({"data": [{"y": object()}]})
    assert (chart.figure, chart.seq, kept) == (before, 1, [])
    assert chart.draw(curve(2))
    assert kept[0][0]["seq"] == 2  # no number was lost


def test_settling_takes_the_message_away_or_puts_one_in_the_charts_place() -> None:
    chart = Chart(curve(1))
    chart.settle({}, message="Nothing can be made: the pot is 40 mm too small.")
    assert chart.figure == {}
    assert chart.message.startswith("Nothing can be made")
    chart.settle(curve(2))
    assert chart.message == ""


def test_a_click_and_a_key_reach_the_callback_and_a_cell_is_remembered() -> None:
    chart = Chart()
    seen: list[Pick] = []
    chart.on_pick(seen.append)
    from_page(chart, kind="pick", by="click", curve=2, point=17, x=40.0, y=2310.0)
    assert chart.picked is None
    from_page(chart, kind="pick", by="key", curve=0, row=3, column=5, x=0.3, y=40)
    assert seen == [
        Pick(curve=2, point=17, x=40.0, y=2310.0, by="click"),
        Pick(curve=0, row=3, column=5, x=0.3, y=40, by="key"),
    ]
    assert chart.picked == {"row": 3, "column": 5}


@pytest.mark.parametrize(("error", "words"), [
    (InputError("The run must be at least 1."), "The run must be at least 1."),
    (ZeroDivisionError("division by zero"), "division by zero"),
])
def test_a_callback_that_fails_is_told_in_the_page_until_one_succeeds(error: Exception, words: str) -> None:
    chart = Chart()
    failing = [error]

    def callback(_pick: Pick) -> None:
        if failing:
            raise failing.pop()

    chart.on_pick(callback)
    from_page(chart, kind="pick", by="click", curve=0, point=1, x=1, y=1)
    assert words in chart.notice
    from_page(chart, kind="pick", by="click", curve=0, point=1, x=1, y=1)
    assert chart.notice == ""


def test_a_picture_is_asked_of_the_page_under_a_bare_file_name(sent: Any) -> None:
    chart = Chart(curve(1))
    kept = sent(chart)
    chart.to_png(800, 500, 2, "../../cost.png")
    chart.to_svg(filename="cost.svg")
    png, svg = kept[0][0], kept[1][0]
    assert (png["format"], png["width"], png["height"], png["scale"]) == ("png", 800, 500, 2)
    assert (png["filename"], svg["format"], svg["filename"]) == ("cost.png", "svg", "cost.svg")


@pytest.mark.parametrize("size", [(0, 500), (800, -1), (800, 10**6)])
def test_a_picture_of_no_sensible_size_is_refused(size: tuple[int, int]) -> None:
    with pytest.raises(InputError, match="pixels"):
        Chart(curve(1)).to_png(*size)


def test_without_a_kernel_the_fallback_is_shown_and_the_label_is_escaped() -> None:
    bare = Chart(label="Cost of 40 <castings>")._repr_mimebundle_()
    told = Chart(fallback_html="<table></table>")._repr_mimebundle_()
    assert bare is not None and told is not None
    assert bare[0]["text/plain"] == "Cost of 40 <castings>"
    assert bare[0]["text/html"] == "<p>Cost of 40 &lt;castings&gt;</p>"
    assert told[0]["text/html"] == "<table></table>"
    assert "application/vnd.jupyter.widget-view+json" in bare[0]


# ---- the field -------------------------------------------------------------------------------------


def size_field(**traits: Any) -> Field:
    return Field(**{"label": "Longest side", "value": 0.3, "low": 0.03, "high": 2.0, "units": [MM, INCH], **traits})


def test_a_field_shows_the_first_unit_unless_told_otherwise() -> None:
    assert size_field().unit == "mm"
    assert size_field(unit="in").unit == "in"


@pytest.mark.parametrize(("traits", "named"), [
    ({"value": 3.0}, "outside"),
    ({"value": math.nan}, "cannot be used"),
    ({"low": 2.0, "high": 1.0, "value": 1.5}, "must lie below"),
    ({"low": 0.0, "log": True}, "equal ratios"),
    ({"units": [{"name": "mm", "factor": 0}]}, "factor above 0"),
    ({"units": [{"name": "mm"}]}, "factor above 0"),
    ({"unit": "mn"}, "did you mean 'mm'"),
    ({"value": 1.5, "integer": True}, "whole number"),
])
def test_traits_that_contradict_each_other_are_refused(traits: dict[str, Any], named: str) -> None:
    with pytest.raises(InputError, match=named):
        size_field(**traits)


def test_a_unit_that_is_not_offered_is_refused_later_too() -> None:
    field = size_field()
    with pytest.raises(InputError, match="Known: in, mm"):
        field.unit = "cm"
    assert field.unit == "mm"


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf, 0.029, 2.1])
def test_a_value_outside_is_refused_and_never_clamped(value: float) -> None:
    field = size_field()
    with pytest.raises(InputError, match="Longest side"):
        field.value = value
    assert field.value == 0.3


def test_a_value_that_its_limits_leave_behind_stays_and_is_told_in_the_unit_shown() -> None:
    field = size_field()
    field.high = 0.25
    assert field.value == 0.3
    assert field.error == "Longest side: 300 lies outside 30 to 250 mm."
    field.high = 0.5
    assert field.error == ""


def test_a_limit_that_went_through_inches_still_counts_as_inside() -> None:
    field = size_field(low=12 * 0.0254, value=0.5)
    field.value = (12 * 0.0254) * (1 - 1e-15)
    assert field.value == pytest.approx(0.3048)


def test_the_callback_hears_moves_and_the_settled_end_and_the_page_each_answer(sent: Any) -> None:
    field = size_field()
    kept = sent(field)
    heard: list[tuple[float, bool, bool]] = []
    field.on_move(lambda value, settled: heard.append((value, settled, field.settled)))
    from_page(field, kind="move", value=0.31, settled=False, view="a", seq=1)
    from_page(field, kind="move", value=0.31, settled=True, view="a", seq=2)
    assert heard == [(0.31, False, False), (0.31, True, True)]
    assert [content for content, _ in kept] == [
        {"kind": "ack", "view": "a", "seq": 1, "value": 0.31, "error": ""},
        {"kind": "ack", "view": "a", "seq": 2, "value": 0.31, "error": ""},
    ]


def test_the_answer_comes_after_the_callbacks_so_that_no_backlog_builds_up(sent: Any) -> None:
    field = size_field()
    kept = sent(field)
    answers_seen: list[int] = []
    field.on_move(lambda _value, _settled: answers_seen.append(len(kept)))
    from_page(field, kind="move", value=0.31, settled=False, view="a", seq=1)
    assert (answers_seen, len(kept)) == ([0], 1)


@pytest.mark.parametrize(("error", "words"), [
    (InputError("The pattern is larger than the pot."), "The pattern is larger than the pot."),
    (KeyError("shell"), "could not be used"),
])
def test_a_failing_callback_is_told_under_the_field_and_still_answered(
    sent: Any, error: Exception, words: str
) -> None:
    field = size_field()
    kept = sent(field)

    def callback(_value: float, _settled: bool) -> None:
        raise error

    field.on_move(callback)
    from_page(field, kind="move", value=0.31, settled=True, view="a", seq=1)
    assert words in field.error
    assert kept[-1][0]["error"] == field.error


def test_an_entry_that_the_page_refuses_keeps_the_value_and_its_words_go_with_the_next_good_one() -> None:
    field = size_field()
    heard: list[float] = []
    field.on_move(lambda value, _settled: heard.append(value))
    from_page(field, kind="refuse", error="Commas are not read: write 1.5 with a point.", view="a", seq=1)
    assert (field.value, heard) == (0.3, [])
    assert field.error.startswith("Commas")
    from_page(field, kind="move", value=0.31, settled=True, view="a", seq=2)
    assert (field.error, heard) == ("", [0.31])


def test_a_value_set_in_code_takes_back_what_the_page_refused_but_not_what_the_model_said() -> None:
    field = size_field()
    from_page(field, kind="refuse", error="“x” is not a number.", view="a", seq=1)
    field.value = 0.4
    assert field.error == ""
    field.error = "Larger than the pot."
    field.value = 0.5
    assert field.error == "Larger than the pot."


@pytest.mark.parametrize("value", [math.nan, 5.0, -1.0])
def test_a_page_is_not_trusted_with_the_range(sent: Any, value: float) -> None:
    field = size_field()
    kept = sent(field)
    heard: list[float] = []
    field.on_move(lambda moved, _settled: heard.append(moved))
    from_page(field, kind="move", value=value, settled=True, view="a", seq=1)
    assert (field.value, heard) == (0.3, [])
    assert kept[-1][0]["error"] == field.error != ""


def test_log_is_short_for_logarithmic_and_leaves_the_widgets_logger_alone() -> None:
    field = size_field(log=True)
    assert field.logarithmic
    assert hasattr(field.log, "warning")
