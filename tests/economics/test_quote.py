"""What a run is sold for: published examples of markup, margin, time and materials, break-even; the rules of a list."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from moldkit.economics.quote import Terms, break_even, charges, price_of
from moldkit.errors import InputError

HOUR = 3600.0


# --- published examples -----------------------------------------------------------------------------------------------


def test_break_even_of_the_open_textbook() -> None:
    """OpenStax, Principles of Accounting, Volume 2: Managerial Accounting, chapter 3 "Cost-Volume-Profit Analysis",
    section 3.2 "Calculate a Break-Even Point in Units and Dollars": fixed costs 20,000, price 400, variable cost 250;
    each unit brings in 150 (read in the adapted text of the course ACCTG 211 of Penn State). 20,000 / 150 = 133.33.
    """
    units = np.arange(1, 200)
    assert break_even(400.0 * units, 20_000 + 250.0 * units) == 134
    assert 400 * 133 < 20_000 + 250 * 133


def test_break_even_and_target_income_of_a_college_text() -> None:
    """Walther and Skousen, Managerial and Cost Accounting (2009), chapter 3, sections 3.4 and 3.5: price 2,000,
    variable cost 800, fixed costs 1,200,000 break even at 1,000 units; an income of 600,000 counts like a fixed cost,
    and (1,200,000 + 600,000) / 1,200 is 1,500 units.
    """
    units = np.arange(1, 3_000)
    cost = 1_200_000 + 800.0 * units
    assert break_even(2_000.0 * units, cost) == 1_000
    assert break_even(2_000.0 * units, cost + 600_000) == 1_500


def test_a_standing_loss_never_breaks_even() -> None:
    units = np.arange(1, 100)
    assert break_even(10.0 * units, 1.0 + 10.0 * units) is None


def test_markup_on_cost_of_a_job_shop() -> None:
    """Mowen, Hansen and Heitger, Managerial Accounting: The Cornerstone of Business Decision-Making, 7th edition,
    chapter 8, problem 8-61: a cabinet maker's job of 1,800 materials, 1,600 labor, 800 overhead; sales of 130,000 on a
    cost of goods sold of 48,100 give the markup on cost. The bid is 4,200 x 130,000 / 48,100 (by arithmetic).
    """
    markup = (130_000 - 48_100) / 48_100
    assert markup == pytest.approx(1.7027, abs=5e-5)
    found = price_of(1_800.0 + 1_600.0, 0.0, Terms(overhead=800 / 3_400, markup=markup))
    assert found.overhead == pytest.approx(800)
    assert found.price == pytest.approx(11_351.35, abs=0.005)


# Markup on cost and the margin on price that it is: 100 at 25 % is 125, of which the profit is 20 % (Brewer's
# managerial accounting, class notes to chapter 13); the others are the usual table of a retailer's handbook.
@pytest.mark.parametrize(
    ("markup", "margin"), [(0.25, 0.20), (1 / 3, 0.25), (0.50, 1 / 3), (1.00, 0.50), (1.50, 0.60), (3.00, 0.75)]
)
def test_markup_is_on_cost_and_margin_on_price(markup: float, margin: float) -> None:
    by_markup, by_margin = (price_of(100.0, 0.0, terms) for terms in (Terms(markup=markup), Terms(margin=margin)))
    assert by_markup.price == pytest.approx(100 * (1 + markup))
    assert by_margin.price == pytest.approx(by_markup.price)
    assert by_margin.profit / by_margin.price == pytest.approx(margin)


def test_time_and_materials_of_a_repair_shop() -> None:
    """A repair company's problem in a text on managerial accounting (read as reposted): wages 900,000 and other costs
    450,000 over 50,000 hours, a profit of 8 an hour: 18 + 9 + 8. A job of 12 hours with parts of 100, loaded with 80 %,
    is billed 12 x 35 + 180 = 600 (by arithmetic).
    """
    terms = Terms(overhead_rate=9 / HOUR, target_rate=(18 + 8) / HOUR)
    found = price_of(12 * 18.0 + 180.0, 0.0, terms, attended=12 * HOUR, labor_rate=18 / HOUR)
    assert (found.overhead, found.profit, found.price) == tuple(map(pytest.approx, (108, 96, 600)))


def test_time_and_materials_of_a_bill_of_eighty_hours() -> None:
    """Another such problem, worked where it was read: 80 hours at 74.50 (35.50 of cost, 39 of profit), parts of 40,000
    loaded with 93 %: 5,960 + 77,200 = 83,160.
    """
    terms = Terms(target_rate=74.5 / HOUR)
    found = price_of(80 * 35.5 + 77_200, 0.0, terms, attended=80 * HOUR, labor_rate=35.5 / HOUR)
    assert found.price == pytest.approx(83_160)


# --- the terms --------------------------------------------------------------------------------------------------------

money = st.floats(0.0, 1e6)
SOME_TERMS = [
    Terms(markup=0.35), Terms(margin=0.26, overhead=0.1), Terms(target_rate=60 / HOUR, overhead_rate=5 / HOUR)
]  # fmt: skip


@pytest.mark.parametrize("terms", SOME_TERMS)
@given(mold=money, rest=money, hours=st.floats(0, 500))
def test_a_mold_charged_once_costs_the_client_the_same_as_one_that_is_spread(
    terms: Terms, mold: float, rest: float, hours: float
) -> None:
    times: dict[str, Any] = {"attended": hours * HOUR, "tooling_attended": hours * HOUR / 3, "labor_rate": 40 / HOUR}
    spread = price_of(mold + rest, mold, terms, **times)
    once = price_of(mold + rest, mold, Terms(**(vars(terms) | {"tooling": "once"})), **times)
    assert spread.tooling == 0
    assert once.price == pytest.approx(spread.price)
    assert once.castings + once.tooling == pytest.approx(once.cost + once.overhead + once.profit)


@pytest.mark.parametrize(
    ("terms", "words"),
    [
        ({}, "name one of markup"),
        ({"markup": 0.3, "margin": 0.2}, "and only one"),
        ({"markup": 0.3, "overhead": 0.1, "overhead_rate": 0.01}, "overhead stands twice"),
        ({"margin": 1.0}, "leaves nothing for the cost"),
        ({"markup": 0.3, "tax": Decimal("0.0812345")}, "four decimals of a percent"),
        ({"markup": 0.3, "rounding": Decimal("0.003")}, "no step of whole cents"),
    ],
)
def test_terms_that_cannot_stand_together_are_refused_in_a_sentence(terms: dict[str, Any], words: str) -> None:
    with pytest.raises(InputError, match=words):
        Terms(**terms)


# --- the rules of a price list ----------------------------------------------------------------------------------------


def prices(terms: Terms, first: float = 200.0, each: float = 12.3, runs: int = 400) -> Any:
    """What runs are charged that cost so much for the mold and for each casting."""
    castings = price_of(first + each * np.arange(1, runs + 1), 0.0, terms).castings
    return charges(castings, np.zeros(runs), terms)


@pytest.mark.parametrize("step", ["0.01", "0.05", "0.5", "1", "5"])
@pytest.mark.parametrize("breaks", [(), (10, 25, 50, 100)])
def test_more_castings_never_come_to_less_by_a_step_a_casting(step: str, breaks: tuple[int, ...]) -> None:
    terms = Terms(markup=0.35, price_breaks=breaks, rounding=Decimal(step), tax=Decimal("0.0825"))
    found, runs = prices(terms), np.arange(1, 401)
    least_of_longer = np.minimum.accumulate(found.subtotal[::-1])[::-1]
    assert np.all(found.subtotal - least_of_longer < terms.step * runs)
    assert np.all(found.as_for >= runs)
    assert np.all(found.castings % (found.as_for * terms.step) == 0)
    assert np.array_equal(found.castings + found.tooling, found.subtotal)


@pytest.mark.parametrize("step", ["0.01", "0.05", "0.5", "1", "5"])
@pytest.mark.parametrize("breaks", [(), (10, 25, 50, 100)])
def test_the_price_each_is_what_a_casting_truly_comes_to_half_up(step: str, breaks: tuple[int, ...]) -> None:
    found = prices(Terms(markup=0.35, price_breaks=breaks, rounding=Decimal(step)))
    for run, (each, castings) in enumerate(zip(found.each.tolist(), found.castings.tolist(), strict=True), start=1):
        assert each == int((Decimal(castings) / run).quantize(Decimal(1), ROUND_HALF_UP))
    own = found.as_for == np.arange(1, 401)
    assert np.array_equal((found.each * np.arange(1, 401))[own], found.castings[own])


def test_what_rounding_alone_makes_cheaper_is_no_reason_to_charge_a_longer_run() -> None:
    """By hand, the step 0.05: 300 at 6.825 are 6.85 each and 2,055.00; 302 at 6.82 are 6.80 each and 2,053.60. That is
    1.40 less, all of it rounding, and a step for each casting would be 15.00: 300 are charged as 300.
    """
    runs = np.arange(1, 311)
    castings = np.where(runs < 302, 6.825, 6.82) * runs
    found = charges(castings, np.zeros(310), Terms(markup=0.0, rounding=Decimal("0.05")))
    assert [a[299] for a in (found.each, found.castings, found.as_for)] == [685, 205_500, 300]
    assert [a[301] for a in (found.each, found.castings, found.as_for)] == [680, 205_360, 302]


def test_a_longer_run_is_charged_from_a_gain_of_a_step_a_casting_on() -> None:
    """By hand, the step 1: three castings at 10 are 30; four at 7 are 28, not less by 3; four at 6.75, rounded to 7
    too; four at 6 are 24, less by 6: three are charged as four, 8 each.
    """
    for fourth, as_for, each in ((7.0, 3, 1_000), (6.75, 3, 1_000), (6.0, 4, 800)):
        castings = np.array([100.0, 50.0, 30.0, 4 * fourth])
        found = charges(castings, np.zeros(4), Terms(markup=0.0, rounding=Decimal(1)))
        assert (int(found.as_for[2]), int(found.each[2])) == (as_for, each)


def test_under_a_break_the_shorter_run_is_charged_as_the_longer() -> None:
    """By hand: 1 to 9 at 100 each, 10 and more at 80: eight castings cost 800 as ten do, nine too, seven cost 700."""
    castings = np.where(np.arange(1, 21) < 10, 100.0, 80.0) * np.arange(1, 21)
    found = charges(castings, np.zeros(20), Terms(markup=0.0, price_breaks=(10,)))
    assert found.total[6:11].tolist() == [70_000, 80_000, 80_000, 80_000, 88_000]
    assert found.as_for[6:11].tolist() == [7, 8, 10, 10, 11]
    assert found.each[6:11].tolist() == [10_000, 10_000, 8_889, 8_000, 8_000]  # 800 / 9 is 88.888...


def test_a_price_holds_from_break_to_break_and_is_the_dearest_of_the_runs_between() -> None:
    """By hand: a second mold of 300 is due with the 41st casting, so that 41 castings are dearer each than 40."""
    runs = np.arange(1, 101)
    castings = 300.0 * np.ceil(runs / 40) + 10.0 * runs
    found = charges(castings, np.zeros(100), Terms(markup=0.0, price_breaks=(20, 60)))
    listed = found.each[[0, 19, 30, 59, 99]].tolist()
    assert listed[1] == listed[2] == 2_500  # at 20: 300 / 20 + 10; at 41: 600 / 41 + 10 is 24.63
    assert listed[3] == listed[4] == 2_111  # at 81: 900 / 81 + 10, dearer than at 60
    assert np.all(found.subtotal >= 100 * castings - 0.5 * runs)


@pytest.mark.parametrize("terms", SOME_TERMS)
def test_rounding_costs_the_shop_no_more_than_half_a_step_a_casting(terms: Terms) -> None:
    exact = price_of(200 + 12.3 * np.arange(1, 401), 0.0, terms, attended=1_000.0, labor_rate=40 / HOUR)
    found = charges(exact.castings, np.zeros(400), terms)
    own = found.as_for == np.arange(1, 401)
    assert own.mean() > 0.9
    assert np.all(np.abs(found.subtotal - 100 * exact.castings)[own] <= np.arange(1, 401)[own] * 0.5 + 1e-6)


def test_the_minimum_charge_stands_in_for_less_and_is_marked() -> None:
    found = prices(Terms(markup=0.0, minimum_charge=Decimal(250)), first=100.0, each=10.0)
    assert found.subtotal[:16].tolist() == [25_000] * 14 + [25_005, 26_000]  # fifteen at 16.67, sixteen at 16.25
    assert found.least[:16].tolist() == [True] * 14 + [False] * 2


def test_tax_is_on_the_whole_and_half_up() -> None:
    found = prices(Terms(markup=0.0, tax=Decimal("0.0825")), first=0.0, each=10.02, runs=2)
    assert found.tax.tolist() == [83, 165]  # 0.82665 and 1.6533
    assert found.total.tolist() == [1_085, 2_169]


def test_a_price_is_at_least_one_step() -> None:
    assert prices(Terms(markup=0.0, rounding=Decimal(5)), first=0.0, each=0.4, runs=3).each.tolist() == [500] * 3


def test_sizes_are_rows_of_their_own() -> None:
    terms = Terms(markup=0.35, price_breaks=(10, 25))
    rows = np.array([[200.0], [310.0]]) + np.array([[12.0], [17.0]]) * np.arange(1, 61)
    both = charges(rows, np.zeros(rows.shape), terms)
    for size in (0, 1):
        alone = charges(rows[size], np.zeros(60), terms)
        assert np.array_equal(both.total[size], alone.total)
        assert np.array_equal(both.as_for[size], alone.as_for)
