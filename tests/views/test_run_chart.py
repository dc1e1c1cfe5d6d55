"""The Gantt chart of a run: nothing of the plan is lost in it, and what it names is what the plan says."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from itertools import pairwise
from types import SimpleNamespace
from typing import Any

import pytest

from moldkit.study.case import Case
from moldkit.study.compare import Comparison
from moldkit.study.run_bars import Bar
from moldkit.study.run_plan import RunPlan, plan_run
from moldkit.views.plan_figures import gantt
from moldkit.views.plan_tables import hand_rows, mold_use_rows
from moldkit.views.run_chart import height_for
from moldkit.views.run_lanes import NOTHING, condensed, hours_by_kind, lanes_by_hand, lanes_by_mold, molds_of
from moldkit.views.shift_scale import ShiftScale, shifts_of
from tests.study.planned import START, figure

Compared = Callable[[Case], Comparison]
BLOCK, CAVITY = "poured block", "cavity pour"
MONDAY_8 = datetime.datetime(2026, 11, 30, 8)
HOUR = datetime.timedelta(hours=1)


@pytest.fixture(scope="module")
def result(compared: Compared) -> Comparison:
    return figure(compared, run=150)


@pytest.fixture(scope="module")
def plan(result: Comparison) -> RunPlan:
    """Two molds side by side with lives drawn, so that some are remade."""
    made = plan_run(result, CAVITY, molds=2, seed=2)
    assert made.molds_made > 2
    return made


def bars(made: dict[str, Any], kind: str) -> list[tuple[float, float, int]]:
    """Return (from, to, lane) of the bars of a kind."""
    trace = next(t for t in made["data"] if t["name"] == kind and not t["showlegend"])
    return [(base, base + x, y) for base, x, y in zip(trace["base"], trace["x"], trace["y"], strict=True)]


def test_a_shift_is_drawn_as_wide_as_it_is_and_a_night_a_sixth_of_it() -> None:
    shifts = [(MONDAY_8, MONDAY_8 + 8 * HOUR), (MONDAY_8 + 24 * HOUR, MONDAY_8 + 32 * HOUR)]
    scale = ShiftScale(shifts)
    assert scale.at(MONDAY_8 + 3 * HOUR) == pytest.approx(3.0)
    assert scale.at(MONDAY_8 + 24 * HOUR) - scale.at(MONDAY_8 + 8 * HOUR) == pytest.approx(16 / 6)
    assert scale.at(MONDAY_8 + 16 * HOUR) == pytest.approx(8 + 8 / 6)
    assert scale.end == pytest.approx(16 + 16 / 6)
    assert [days for _, _, days in scale.off()] == [False]


def test_a_weekend_is_no_wider_than_four_hours_and_shaded_as_days_off() -> None:
    friday = MONDAY_8 + 96 * HOUR
    scale = ShiftScale([(friday, friday + 8 * HOUR), (friday + 72 * HOUR, friday + 80 * HOUR)])
    ((begins, ends, days),) = scale.off()
    assert ends - begins == pytest.approx(4.0) and days


def test_the_scale_keeps_the_order_of_time(result: Comparison, plan: RunPlan) -> None:
    scale = ShiftScale(shifts_of(result, plan.start, plan.finish))
    moments = sorted({moment for bar in plan.bars for moment in (bar.start, bar.end) if moment <= plan.finish})
    assert all(scale.at(a) < scale.at(b) for a, b in pairwise(moments))
    assert scale.at(moments[0]) >= 0.0 and scale.at(plan.finish) <= scale.end


def test_a_day_is_named_only_where_there_is_room_for_it() -> None:
    days = [MONDAY_8 + 24 * HOUR * n for n in range(400)]
    scale = ShiftScale([(day, day + 8 * HOUR) for day in days])
    ticks = scale.ticks()
    assert 10 <= len(ticks) <= 15 and all("<br>202" in tick.words for tick in ticks)
    assert all(b.x - a.x > 0.04 * scale.end for a, b in pairwise(ticks))
    two = ShiftScale([(day, day + 8 * HOUR) for day in days[:2]])
    assert [tick.words for tick in two.ticks()] == ["Mon<br>30 Nov", "Tue<br>1 Dec"]


def test_the_lanes_of_people_hold_every_hour_that_the_plan_books(plan: RunPlan) -> None:
    lanes = {lane.name: lane for lane in lanes_by_hand(plan)}
    for name, hours in plan.hours.items():
        worked = sum((s.worked for s in lanes[name].stretches), NOTHING)
        assert worked.total_seconds() == pytest.approx(hours.at(0), abs=60.0), name
        assert sum(hours_by_kind(plan).get(name, {}).values(), NOTHING) == worked
        assert lanes[name].note == f"{100 * plan.utilisation[name]:.0f} % busy"


def test_a_table_of_hours_stands_beside_the_lanes_and_says_the_same(plan: RunPlan) -> None:
    _, *rows = hand_rows(plan)
    for name, molds, castings, together, _ in rows:
        if name in plan.hours:
            assert float(together) == pytest.approx(plan.hours[name].at(0) / 3600, abs=0.06)
            assert float(molds) + float(castings) == pytest.approx(float(together), abs=0.11)


def test_every_pour_is_in_the_lane_of_its_mold_once(plan: RunPlan) -> None:
    lanes = lanes_by_mold(plan)
    poured = [pour for lane in lanes for s in lane.stretches if s.kind == "cures" for pour in s.pours]
    assert sorted(poured) == list(range(1, plan.pours + 1))
    assert sum(use.pours for use in molds_of(plan)) == plan.pours


def test_no_mold_is_in_two_stretches_at_once_and_work_off_the_mold_is_left_out(plan: RunPlan) -> None:
    for lane in lanes_by_mold(plan):
        ordered = sorted(lane.stretches, key=lambda stretch: (stretch.start, stretch.end))
        assert all(a.end <= b.start for a, b in pairwise(ordered)), lane.name
    finishing = {bar.step for bar in plan.bars if "finish" in bar.step}
    shown = {step for lane in lanes_by_mold(plan) for s in lane.stretches for step in s.steps}
    assert finishing and not finishing & shown


def test_a_remade_mold_follows_the_worn_out_one_at_its_place(plan: RunPlan) -> None:
    uses = molds_of(plan)
    assert {use.place for use in uses} == {1, 2} and len(uses) == plan.molds_made
    assert [use.remake for use in uses[:2]] == [False, False] and all(use.remake for use in uses[2:])
    for use in uses[2:]:
        before = max((u for u in uses if u.place == use.place and u.number < use.number), key=lambda u: u.number)
        assert before.last <= use.begun


def test_a_mold_stands_where_the_plan_has_it_and_not_where_its_times_would_let_it() -> None:
    """Mold 2 is begun beside the first though that is given up already; mold 3 is remade in the first one's place."""

    def pour(mold: int, day: int, place: int, made: str) -> Bar:
        begins = MONDAY_8 + 24 * HOUR * day
        return Bar("Ines", mold, "pour", begins, begins + HOUR, True, mold, place, made)

    by_hand: Any = SimpleNamespace(bars=(pour(1, 0, 1, "first"), pour(2, 2, 2, "beside"), pour(3, 3, 1, "remade")))
    assert [(use.place, use.remake) for use in molds_of(by_hand)] == [(1, False), (2, False), (1, True)]
    assert [lane.molds for lane in lanes_by_mold(by_hand)] == [(1, 3), (2,)]


def test_re_pours_are_hatched_and_numbered(result: Comparison, plan: RunPlan) -> None:
    made = gantt(result, plan, by_mold=True)
    trace = next(t for t in made["data"] if t["name"] == "remakes")
    assert trace["marker"]["pattern"]["shape"] == "/"
    words = [a["text"].replace("\u00a0", " ") for a in made["layout"]["annotations"]]
    assert "<b>re-pour 3</b>" in words or "<b>3</b>" in words
    assert any(t["name"] == "re-pour of a worn-out mold" for t in made["data"] if t["showlegend"])
    assert mold_use_rows(plan, "re-pour")[3][1].startswith("re-pour of mold ")


def test_drawing_together_loses_no_work_and_no_pour(plan: RunPlan) -> None:
    (lane,) = [lane for lane in lanes_by_hand(plan) if lane.name == "Bram Teague"]
    castings = [s for s in lane.stretches if s.kind == "castings"]
    drawn = list(condensed(castings, lambda moment: (moment - MONDAY_8) / HOUR, 2.0))
    assert len(drawn) < len(castings) / 4
    assert sum((s.worked for s in drawn), NOTHING) == sum((s.worked for s in castings), NOTHING)
    assert frozenset.union(*(s.pours for s in drawn)) == frozenset.union(*(s.pours for s in castings))
    assert all((b.start - a.end) / HOUR >= 2.0 for a, b in pairwise(sorted(drawn, key=lambda s: s.start)))


def test_a_long_run_is_condensed_to_bars_that_can_be_told_apart(compared: Compared) -> None:
    result = figure(compared, run=2_000)
    plan = plan_run(result, BLOCK, molds=8)
    made = gantt(result, plan)
    assert len(plan.bars) > 8_000
    scale = ShiftScale(shifts_of(result, plan.start, plan.finish))
    for lane in range(len(lanes_by_hand(plan))):
        own = sorted((a, b) for a, b, row in bars(made, "castings") if row == lane)
        assert len(own) < 400
        assert all(b - a >= scale.end / 501 for a, b in own)
    assert len(made["layout"]["shapes"]) < 200


def test_in_a_long_run_a_bar_is_as_thick_as_its_day_is_full(compared: Compared) -> None:
    result = figure(compared, run=400)
    plan = plan_run(result, BLOCK, molds=2)
    trace = next(t for t in gantt(result, plan)["data"] if t["name"] == "castings")
    wide = [w for w, y in zip(trace["width"], trace["y"], strict=True) if y == 1]
    assert max(wide) < 0.6 and min(wide) > 0.1
    short = plan_run(figure(compared, run=30), BLOCK, molds=2)
    trace = next(t for t in gantt(figure(compared, run=30), short)["data"] if t["name"] == "castings")
    assert set(trace["width"]) == {0.76}


def test_the_title_names_dates_and_what_holds_the_run_up(result: Comparison, plan: RunPlan) -> None:
    title = gantt(result, plan, plan.bottleneck)["layout"]["title"]["text"].replace("<br>", " ")
    assert title.startswith("150 castings as a cavity pour, 2 molds side by side: the first out ")
    assert f"Held up by {plan.bottleneck}" in title and title.endswith(".")
    assert "Held up" not in gantt(result, plan)["layout"]["title"]["text"]


def test_first_casting_last_casting_and_date_are_marked_where_they_are(result: Comparison, plan: RunPlan) -> None:
    due = plan.finish.date() + datetime.timedelta(days=1)
    made = gantt(result, plan, due=due)
    scale = ShiftScale(shifts_of(result, plan.start, datetime.datetime.combine(due, datetime.time.max)))
    marks = {shape["name"]: shape["x0"] for shape in made["layout"]["shapes"] if shape["type"] == "line"}
    assert marks["first casting"] == pytest.approx(scale.at(plan.first_casting))
    assert marks["finish"] == pytest.approx(scale.at(plan.finish))
    assert marks["due"] >= marks["finish"]
    assert any(f"due {due:%a}" in a["text"] for a in made["layout"]["annotations"])


def test_a_date_far_off_does_not_squeeze_the_run(result: Comparison, plan: RunPlan) -> None:
    far = gantt(result, plan, due=plan.finish.date() + datetime.timedelta(days=400))
    assert far["layout"]["xaxis"]["range"] == gantt(result, plan)["layout"]["xaxis"]["range"]
    assert not any(shape["name"] == "due" for shape in far["layout"]["shapes"])


def test_names_from_the_shop_file_stay_words(compared: Compared) -> None:
    people = [{"name": "<b>Ines</b> & co"}]
    result = figure(compared, run=5, shop={"people": people})
    made = gantt(result, plan_run(result, BLOCK, molds=1))
    assert made["layout"]["yaxis"]["ticktext"] == ["&lt;b&gt;Ines&lt;/b&gt; &amp; co"]
    assert all("<b>Ines" not in text for t in made["data"] for text in t.get("customdata", ()))


def test_the_chart_grows_with_its_lanes_and_keeps_a_height_that_is_asked_for(result: Comparison, plan: RunPlan) -> None:
    assert height_for(12) > height_for(5) > height_for(4) == height_for(1)
    assert gantt(result, plan, height=460)["layout"]["height"] == 460
    assert plan.start == START
