"""Cost against finish date: every way is in the chart, and what is marked is what no other way beats."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from moldkit.quantity import Quantity
from moldkit.study.case import Case
from moldkit.study.compare import Comparison
from moldkit.study.finish_dates import TradeOff, Way, marked, trade_off
from moldkit.study.run_plan import plan_run
from moldkit.views.finish_chart import finish_chart
from moldkit.views.free_labels import FreeLabels
from moldkit.views.plan_figures import cost_by_date
from moldkit.views.plan_tables import front_rows, way_rows
from moldkit.views.plan_words import due_words, finish_title, finish_words
from tests.study.planned import START, figure

Compared = Callable[[Case], Comparison]
DUE = datetime.date(2026, 12, 11)


@pytest.fixture(scope="module")
def result(compared: Compared) -> Comparison:
    return figure(compared, due=DUE)


@pytest.fixture(scope="module")
def trade(result: Comparison) -> TradeOff:
    return trade_off(result)


def way(technique: str, molds: int, day: int, cost: float) -> Way:
    out = datetime.datetime(2026, 12, day, 15)
    return Way(technique, molds, out, out, molds, Quantity("cost", cost, "money"))


# Hand-made: block 1 to 3 molds, skin 1 and 2. Nothing beats block 3 (soonest), skin 2, block 1 (cheapest).
WAYS = marked(
    [way("block", 1, 20, 100.0), way("block", 2, 15, 140.0), way("block", 3, 9, 200.0),
     way("skin", 1, 21, 110.0), way("skin", 2, 14, 130.0)]
)  # fmt: skip
BY_HAND = TradeOff(START, WAYS, (("cavity", "too large for the pot"),))


def drawn(trade: TradeOff, **more: Any) -> dict[str, Any]:
    return finish_chart(trade, ["block", "skin", "cavity"], title="t.", run=7, currency="USD", **more)


def curve(made: dict[str, Any], name: str) -> dict[str, Any]:
    found: dict[str, Any] = next(trace for trace in made["data"] if trace["name"] == name)
    return found


def test_each_technique_is_a_curve_over_all_its_molds(result: Comparison, trade: TradeOff) -> None:
    made = cost_by_date(result, trade)
    for outcome in result.outcomes:
        own = [w for w in trade.ways if w.technique == outcome.name]
        found = curve(made, outcome.name)
        assert found["y"] == [w.cost.at(0) for w in own]
        assert [text[:10] for text in found["x"]] == [w.finish_date.isoformat() for w in own]


def test_filled_marks_are_the_ways_that_nothing_beats() -> None:
    made = drawn(BY_HAND)
    assert [size > 10 for size in curve(made, "block")["marker"]["size"]] == [True, False, True]
    assert [size > 10 for size in curve(made, "skin")["marker"]["size"]] == [False, True]
    assert curve(made, "block")["marker"]["color"][1] == "rgb(255,255,255)"
    assert [(w.technique, w.molds) for w in BY_HAND.front] == [("block", 3), ("skin", 2), ("block", 1)]


def test_the_steps_say_the_least_cost_by_each_date() -> None:
    steps = curve(drawn(BY_HAND), "least cost by a date")
    assert steps["y"] == [200.0, 130.0, 100.0] and steps["line"]["shape"] == "hv"


def test_the_ways_on_the_front_are_labelled_with_their_molds_and_curves_with_their_names() -> None:
    words = [a["text"] for a in drawn(BY_HAND)["layout"]["annotations"]]
    assert words[:3] == ["<b>3 molds</b>", "<b>2</b>", "<b>1</b>"]
    assert "block" in words and "skin" in words and not any("cavity" in text for text in words)


def test_the_date_asked_for_is_a_line_at_its_end_with_what_is_too_late_shaded() -> None:
    made = drawn(BY_HAND, due=datetime.date(2026, 12, 14))
    late, line = made["layout"]["shapes"]
    assert late["name"] == "too late" and late["x0"] == line["x0"] == "2026-12-15T00:00:00"
    assert curve(made, "skin")["x"][1] < line["x0"] < curve(made, "block")["x"][1]
    assert any("due Mon 14 Dec" in a["text"] for a in made["layout"]["annotations"])
    assert drawn(BY_HAND)["layout"]["shapes"] == []


def test_the_plan_is_ringed_where_its_way_stands(result: Comparison, trade: TradeOff) -> None:
    plan = plan_run(result, "poured block", molds=2)
    ring = curve(cost_by_date(result, trade, plan), "the plan")
    own = next(w for w in trade.ways if (w.technique, w.molds) == ("poured block", 2))
    assert ring["y"] == [own.cost.at(0)] == [plan.cost.at(0)]
    assert ring["x"][0][:10] == plan.finish.date().isoformat()


def test_what_is_far_later_or_dearer_is_cut_off_and_named() -> None:
    far = TradeOff(START, marked([*(replace(w, on_front=False) for w in WAYS), way("cavity", 1, 31, 9_000.0)]), ())
    made = drawn(far)
    assert made["layout"]["yaxis"]["range"][1] < 1_000
    assert any("out of view, later or dearer: cavity" in a["text"] for a in made["layout"]["annotations"])
    assert curve(made, "cavity")["y"] == [9_000.0]
    june = replace(way("cavity", 1, 31, 150.0), finish=datetime.datetime(2027, 6, 1, 12))
    late = drawn(TradeOff(START, marked([*WAYS, june]), ()))
    assert late["layout"]["xaxis"]["range"][1] < "2027-01-15"
    assert any("out of view, later or dearer: cavity" in a["text"] for a in late["layout"]["annotations"])


def test_nothing_that_can_be_planned_is_an_empty_chart_with_its_reason() -> None:
    none = TradeOff(START, (), (("block", "too heavy"),))
    made = finish_chart(none, ["block"], title=finish_title(none, None, "USD"), run=7, currency="USD")
    assert made["data"] == [] and "block (too heavy)" in made["layout"]["title"]["text"]


@pytest.mark.parametrize(
    ("day", "words"),
    [
        (8, "No way is in time for Tue 8 Dec; the soonest is a block, 3 molds side by side: 200 USD, out Wed 9 Dec."),
        (9, "the cheapest is a block, 3 molds side by side: 200 USD, out Wed 9 Dec. No way is out earlier."),
        (14, "the cheapest is a skin, 2 molds side by side: 130 USD, out Mon 14 Dec. 5 days earlier cost 70 USD more."),
        (31, "the cheapest is a block, one mold: 100 USD, out Sun 20 Dec. 6 days earlier cost 30 USD more."),
    ],
)
def test_the_title_says_the_cheapest_way_in_time_and_what_the_next_earlier_one_costs(day: int, words: str) -> None:
    said = finish_title(BY_HAND, datetime.date(2026, 12, day), "USD").replace("\u00a0", " ")
    assert said.endswith(words)


def test_the_words_say_what_the_whole_way_to_the_soonest_costs_and_what_is_left_out() -> None:
    said = finish_words(BY_HAND, None, "USD").replace("\u00a0", " ")
    assert "it is 11 days for 100 USD: 9.09 USD a day on average." in said
    assert said.endswith("Left out: cavity (too large for the pot).")


def test_the_table_beside_the_chart_goes_from_the_cheapest_to_the_soonest() -> None:
    _, *rows = front_rows(BY_HAND, datetime.date(2026, 12, 15), "USD")
    assert [row[:3] for row in rows] == [
        ["Sun 20 Dec, too late", "block", "1"], ["Mon 14 Dec", "skin", "2"], ["Wed 9 Dec", "block", "3"],
    ]  # fmt: skip
    assert [row[-1] for row in rows] == ["5.00 USD", "14.00 USD", ""]
    assert sum(row[-1] == "nothing beats it" for row in way_rows(BY_HAND, None, "USD")) == 3


def test_a_date_is_met_on_the_very_day_and_missed_the_day_after() -> None:
    assert due_words(DUE, DUE) == "That is in time for Fri 11 Dec, on the very day."
    assert due_words(DUE, DUE - datetime.timedelta(days=1)) == "That is 1 day too late for Thu 10 Dec."


def test_labels_never_stand_in_each_other_or_on_a_mark() -> None:
    room = FreeLabels(400.0, 200.0)
    room.mark([(200.0, 100.0)])
    boxes = []
    while (spot := room.place(200.0, 100.0, "poured block", 12.0)) is not None:
        left = 200.0 + spot.right - {"left": 0.0, "center": 0.5, "right": 1.0}[spot.anchor] * 0.56 * 12 * 12
        boxes.append((left, 100.0 + spot.up - 8.1, left + 0.56 * 12 * 12, 100.0 + spot.up + 8.1))
    assert len(boxes) >= 6
    for n, (a, b, c, d) in enumerate(boxes):
        assert a >= 0 and b >= 0 and c <= 400 and d <= 200 and not (a < 200 < c and b < 100 < d)
        assert all(a >= g or c <= e or b >= h or d <= f for e, f, g, h in boxes[:n])
