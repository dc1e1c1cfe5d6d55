"""Cost against finish date: the front, what a date costs, what an earlier day costs."""

from __future__ import annotations

import datetime
from collections.abc import Callable

import pytest

from moldkit.errors import InputError
from moldkit.quantity import Quantity
from moldkit.study.case import Case
from moldkit.study.compare import Comparison
from moldkit.study.finish_dates import TradeOff, Way, marked, trade_off
from moldkit.study.knowledge import Knowledge
from moldkit.study.run_plan import plan_run
from tests.study.planned import START, demo_job, figure

Compared = Callable[[Case], Comparison]


def way(technique: str, molds: int, day: int, cost: float) -> Way:
    moment = datetime.datetime(2026, 12, day, 15)
    return Way(technique, molds, moment, moment, molds, Quantity("cost of the run", cost, "money"))


def hand_made() -> TradeOff:
    """Return four ways: b is beaten by a (as early, dearer), the other three stand."""
    ways = [way("a", 2, 10, 100.0), way("b", 1, 10, 120.0), way("a", 1, 20, 70.0), way("b", 3, 8, 160.0)]
    return TradeOff(START, marked(ways), ())


def test_a_way_that_is_neither_earlier_nor_cheaper_than_another_is_off_the_front() -> None:
    assert [(one.technique, one.molds) for one in hand_made().front] == [("b", 3), ("a", 2), ("a", 1)]


def test_of_two_ways_alike_in_date_and_cost_the_one_with_fewer_molds_stays() -> None:
    front = TradeOff(START, marked([way("a", 2, 10, 100.0), way("b", 1, 10, 100.0)]), ()).front
    assert [(one.technique, one.molds) for one in front] == [("b", 1)]


@pytest.mark.parametrize(("day", "cost"), [(31, 70.0), (20, 70.0), (19, 100.0), (9, 160.0), (8, 160.0)])
def test_the_cheapest_way_by_a_date_is_found(day: int, cost: float) -> None:
    found = hand_made().cheapest_by(datetime.date(2026, 12, day))
    assert found is not None and found.cost.value == cost


def test_before_the_soonest_finish_there_is_no_way() -> None:
    assert hand_made().cheapest_by(datetime.date(2026, 12, 7)) is None
    soonest = hand_made().soonest
    assert soonest is not None and soonest.finish_date == datetime.date(2026, 12, 8)


def test_every_earlier_day_costs_the_difference_over_the_days() -> None:
    """By hand: from the 20th to the 10th 30 more in 10 days, from the 10th to the 8th 60 more in 2."""
    assert [(step.days, step.more, step.a_day) for step in hand_made().earlier] == [(10, 30.0, 3.0), (2, 60.0, 30.0)]


def test_the_trade_off_holds_every_feasible_technique_as_the_plan_has_it(compared: Compared) -> None:
    result = figure(compared)
    found = trade_off(result, most_molds=6)
    assert {one.technique for one in found.ways} == {outcome.name for outcome in result.outcomes}
    for one in found.ways:
        plan = plan_run(result, one.technique, molds=one.molds)
        assert (plan.finish, plan.first_casting, plan.molds_made) == (one.finish, one.first_casting, one.molds_made)
        assert plan.cost.value == one.cost.value


def test_brute_force_over_all_ways_finds_the_same_cheapest_by_every_date(compared: Compared) -> None:
    found = trade_off(figure(compared), most_molds=8)
    for days in range(120):
        date = START + datetime.timedelta(days=days)
        costs = [one.cost.value for one in found.ways if one.finish_date <= date]
        cheapest = found.cheapest_by(date)
        assert (cheapest.cost.value if cheapest else None) == (min(costs) if costs else None)


def test_a_technique_ruled_out_is_left_out_with_its_reason(knowledge: Knowledge, compared: Compared) -> None:
    found = trade_off(demo_job("knob", knowledge, compared), start=START, most_molds=2)
    assert ("brushed skin", "no pressure in a brushed skin") in found.left_out
    assert all(one.technique != "brushed skin" for one in found.ways)


def test_a_techniques_ways_end_where_a_further_mold_would_never_be_begun(compared: Compared) -> None:
    found = trade_off(figure(compared, run=3), most_molds=20)
    assert max(one.molds for one in found.ways) <= 3


def test_progress_rises_to_one(compared: Compared) -> None:
    told: list[float] = []
    trade_off(figure(compared), most_molds=3, progress=told.append)
    assert told == sorted(told) and told[-1] == 1.0 and len(told) > 8


@pytest.mark.parametrize("most", [0, 51, 2.5])
def test_a_number_of_molds_out_of_bounds_is_told(most: float, compared: Compared) -> None:
    with pytest.raises(InputError, match="whole number from 1 to 50"):
        trade_off(figure(compared), most_molds=most)  # type: ignore[arg-type]


def test_a_lost_pattern_whose_molds_last_one_pour_is_left_out_and_stops_no_other(compared: Compared) -> None:
    found = trade_off(figure(compared, survives=False, life=1, run=10), start=START, most_molds=2)
    assert not found.ways
    assert {why for _, why in found.left_out} == {"the pattern is lost, and a mold of one pour gives no master"}
    assert trade_off(figure(compared, survives=False, life=1, run=1), start=START, most_molds=1).ways
