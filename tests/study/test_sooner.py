"""What an earlier delivery is charged: each way is the quote with so many molds side by side, and none is dominated."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

import pytest

from moldkit.study.case import Case
from moldkit.study.client_offer import OfferLine
from moldkit.study.compare import Comparison
from moldkit.study.quote import quote
from moldkit.study.run_plan import plan_run
from moldkit.study.sooner import MOST_PLANNED, delivery_choices, front

compares = Callable[[Case], Comparison]
BUST = Case(form="bust", size=(0.144, 0.11, 0.2), run=40, name="Bust")
DAY, START = datetime.date(2026, 11, 25), datetime.date(2026, 12, 1)


def test_each_way_is_the_quote_with_so_many_molds_and_its_day_that_of_the_planned_run(compared: compares) -> None:
    result = compared(BUST)
    ways = delivery_choices(result, date=DAY, start=START)
    assert len(ways) >= 3
    alike = {}
    for molds in range(1, 12):
        line = quote(compared(replace(BUST, molds=molds)), date=DAY, start=START).asked
        plan = plan_run(result, line.technique, molds=molds, start=START)
        assert line.charge.delivery == plan.finish.date()
        alike[(line.charge.delivery, line.charge.total)] = molds
    assert all((way.delivery, way.total) in alike for way in ways)


def test_each_later_way_is_cheaper_and_the_last_is_the_one_asked_for(compared: compares) -> None:
    ways = delivery_choices(compared(BUST), date=DAY, start=START)
    for early, late in pairwise(ways):
        assert early.delivery is not None
        assert late.delivery is not None
        assert early.delivery < late.delivery
        assert early.total > late.total
    assert ways[-1] == quote(compared(BUST), date=DAY, start=START).asked.charge


def line(day: int, total: int) -> OfferLine:
    return OfferLine(1, total, total, 0, total, 0, total, 1, False, START, START + datetime.timedelta(days=day))


@pytest.mark.parametrize(
    ("ways", "kept"),
    [
        ([(9, 100), (5, 120), (5, 150), (4, 150)], [(4, 150), (5, 120), (9, 100)]),
        ([(9, 100), (9, 130), (9, 160)], [(9, 100)]),
        ([(9, 100), (5, 100)], [(5, 100)]),
        ([(9, 120), (5, 100)], [(5, 100)]),
        ([], []),
    ],
)
def test_the_front_by_hand(ways: list[tuple[int, int]], kept: list[tuple[int, int]]) -> None:
    found = front([line(*way) for way in ways])
    assert [((way.delivery or START) - START).days for way in found] == [day for day, _ in kept]
    assert [way.total for way in found] == [total for _, total in kept]


def test_without_a_first_day_or_for_a_very_long_run_there_is_nothing_to_choose(compared: compares) -> None:
    assert delivery_choices(compared(BUST), date=DAY) == ()
    assert delivery_choices(compared(replace(BUST, run=MOST_PLANNED + 1)), date=DAY, start=START) == ()
    assert delivery_choices(compared(replace(BUST, start=START)), date=DAY) != ()
