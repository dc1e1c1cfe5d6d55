"""A quote from a comparison: its price is the comparison's own cost on the shop's terms, for every run."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest

from moldkit.economics.quote import Terms, charges, price_of
from moldkit.errors import InputError
from moldkit.study.case import MOST_RUN, Case, read_job
from moldkit.study.compare import Comparison, compare, run_costs
from moldkit.study.knowledge import Knowledge
from moldkit.study.plan_cost import plan_cost
from moldkit.study.planned_work import work_of
from moldkit.study.quote import quote
from moldkit.study.quote_costs import Finish, figures_by, run_figures

compares = Callable[[Case], Comparison]
BUST = Case(form="bust", size=(0.144, 0.11, 0.2), run=40, name="Bust")
DAY = datetime.date(2026, 11, 25)
START = datetime.date(2026, 12, 1)
PLAIN = Terms(markup=0.35)
HOUR = 3600.0


def test_a_price_is_the_cheapest_cost_with_its_markup_over_the_run(compared: compares) -> None:
    result = compared(BUST)
    found = quote(result, terms=PLAIN, date=DAY)
    costs = run_costs(result.outcomes, result.case, result.runs).min(axis=0)
    for line in found.lines:
        run, charge = line.charge.run, line.charge
        assert line.cost == pytest.approx(costs[run - 1])
        assert charge.as_for == run
        assert charge.each == pytest.approx(100 * 1.35 * costs[run - 1] / run, abs=0.5 + 1e-6)
        assert charge.subtotal == charge.each * run
        assert line.profit == pytest.approx(charge.subtotal / 100 - line.cost)
    assert result.cheapest is not None
    assert found.asked.technique == result.cheapest.name


@pytest.mark.parametrize("job", ["finial", "knob", "head", "boss"])
def test_one_mold_costs_the_comparisons_own_total_at_every_run(knowledge: Knowledge, job: str) -> None:
    result = compare(read_job(knowledge.folder / "jobs" / f"{job}.toml"), knowledge)
    found = run_figures(result, Finish(), 1_000)
    assert found.cost == pytest.approx(result.costs[:, :1_000].min(axis=0), rel=1e-12)


@pytest.mark.parametrize("change", [{}, {"cavities": 4}, {"survives": False}, {"molds": 3}, {"good_share": 0.9}])
def test_the_hours_of_a_run_are_what_its_cost_grows_by_with_the_wage(
    compared: compares, change: dict[str, float]
) -> None:
    """Outside the hours' own sum: the slope of the cost over the labor rate, which holds every attended hour."""
    case = replace(BUST, **change)  # type: ignore[arg-type]
    runs = np.array([1, 7, 40, 333])
    dearer = compared(replace(case, shop={"labor_rate": 41}))
    for outcome, other in zip(compared(case).outcomes, dearer.outcomes, strict=True):
        cost, first, attended, first_attended = figures_by(compared(case), outcome, Finish("x", 60.0, 1.0), runs)
        more, first_more, _, _ = figures_by(dearer, other, Finish("x", 60.0, 1.0), runs)
        assert attended / HOUR == pytest.approx(more - cost, rel=1e-9)
        assert first_attended / HOUR == pytest.approx(first_more - first, rel=1e-9)


def test_a_target_rate_is_what_the_hours_bring_in(compared: compares) -> None:
    result = compared(BUST)
    found = quote(result, terms=Terms(target_rate=65 / HOUR, overhead_rate=5 / HOUR), date=DAY)
    line = found.asked
    wage = result.shop.quantity("labor_rate").at(0)
    materials = line.cost - line.attended * wage
    assert (line.price - materials - line.overhead) / line.attended * HOUR == pytest.approx(65, abs=0.05)
    assert line.earned(wage) * HOUR == pytest.approx(65, abs=0.05)
    assert line.overhead == pytest.approx(line.attended / HOUR * 5)


def test_a_mold_charged_once_is_a_line_of_its_own_and_the_rest_goes_by_casting(compared: compares) -> None:
    result = compared(BUST)
    once = quote(result, terms=Terms(markup=0.35, tooling="once"), date=DAY)
    assert result.cheapest is not None
    charge = once.asked.charge
    assert charge.tooling == round(135 * result.cheapest.first.at(0))
    spread = quote(result, terms=PLAIN, date=DAY).asked.charge
    assert charge.subtotal == pytest.approx(spread.subtotal, abs=40 * 0.5 + 1)
    assert charge.each < spread.each


@pytest.mark.parametrize(
    "terms",
    [
        PLAIN,
        Terms(margin=0.3, tooling="once", rounding=Decimal("0.5")),
        Terms(target_rate=55 / HOUR, rounding=Decimal(1), minimum_charge=Decimal(500)),
        Terms(markup=0.2, rounding=Decimal(5)),
    ],
)
def test_prices_that_are_computed_only_as_far_as_needed_are_those_computed_to_the_end(
    compared: compares, terms: Terms
) -> None:
    prices = quote(compared(BUST), terms=terms, date=DAY).prices
    found = run_figures(prices.result, prices.finish, MOST_RUN)
    exact = price_of(
        found.cost, found.first, terms, attended=found.attended, tooling_attended=found.first_attended,
        labor_rate=prices.labor_rate,
    )  # fmt: skip
    whole = charges(exact.castings, exact.tooling, terms)
    assert prices.figures.cost.size < MOST_RUN
    for name in ("each", "castings", "tooling", "subtotal", "total", "as_for"):
        known = getattr(prices.charges, name)[: prices.longest]
        assert np.array_equal(known, getattr(whole, name)[: prices.longest]), name
    least_of_longer = np.minimum.accumulate(whole.subtotal[::-1])[::-1]
    assert np.all(whole.subtotal - least_of_longer < terms.step * np.arange(1, MOST_RUN + 1))


def test_a_finish_adds_its_time_and_its_cost_to_each_casting(compared: compares) -> None:
    plain = quote(compared(BUST), terms=PLAIN, date=DAY)
    waxed = quote(
        compared(replace(BUST, quote={"finish": "waxed", "finish_time": 12, "finish_cost": 0.8})), terms=PLAIN, date=DAY
    )
    assert waxed.asked.cost - plain.asked.cost == pytest.approx(40 * (0.8 + 12 / 60 * 40))
    assert waxed.asked.attended - plain.asked.attended == pytest.approx(40 * 720)
    assert waxed.for_client().finish == "waxed"


def test_molds_side_by_side_are_charged_about_what_their_plan_costs(compared: compares) -> None:
    """The plan's cost counts pours as they fall; set-ups that molds share, which a price doesn't count on, are left."""
    result = compared(replace(BUST, molds=3, run=60))
    found = quote(result, terms=PLAIN, date=DAY)
    work = work_of(result, found.outcome, START)
    cost, _ = plan_cost(result, found.outcome, work.work, work.simulated(3), work.simulated(1))
    shared = sum(q.at(0) for q in cost.inputs if "shared time" in q.name)
    assert found.asked.cost == pytest.approx(cost.at(0) - shared, rel=0.01)
    assert found.asked.cost > quote(compared(replace(BUST, run=60)), terms=PLAIN, date=DAY).asked.cost


def test_the_price_is_earned_back_with_the_casting_that_is_named(compared: compares) -> None:
    result = compared(BUST)
    found = quote(result, terms=PLAIN, date=DAY)
    cost, _, _, _ = figures_by(result, found.outcome, Finish(), np.arange(1, 41))
    at, each = found.break_even, found.asked.charge.each / 100
    assert at is not None
    assert each * at >= cost[at - 1]
    assert each * (at - 1) < cost[at - 2]


def test_the_price_has_its_working_down_to_the_comparison(compared: compares) -> None:
    result = compared(BUST)
    found = quote(result, terms=Terms(markup=0.35, overhead=0.1), date=DAY)
    price = found.price
    assert [q.name for q in price.inputs] == ["cost of what is quoted", "overhead", "profit"]
    assert sum(q.at(0) for q in price.inputs) == pytest.approx(price.at(0))
    total = result.total(found.outcome)
    assert total is not None
    assert price.inputs[0].inputs[0].at(0) == total.at(0)


@pytest.mark.parametrize(
    ("terms", "words"),
    [
        (Terms(markup=0.35, overhead=0.1), "counted twice"),
        (Terms(target_rate=30 / HOUR), "target rate of 30.00 an hour is below the labor rate of 40.00"),
        (Terms(markup=0.35, rounding=Decimal(50)), "Rounding to 50 changes the price of a casting by"),
        (Terms(markup=0.35, minimum_charge=Decimal(50_000)), "minimum charge of 50\u202f000.00 USD is taken"),
    ],
)
def test_a_shop_is_told_what_its_terms_do(compared: compares, terms: Terms, words: str) -> None:
    assert any(words in note for note in quote(compared(BUST), terms=terms, date=DAY).notes)
    for plain in (PLAIN, replace(PLAIN, price_breaks=(10, 100))):
        assert quote(compared(BUST), terms=plain, date=DAY).notes == ()


def test_with_nothing_feasible_there_is_no_quote(compared: compares) -> None:
    with pytest.raises(InputError, match="Bust: nothing works as asked, so there is no price to show a client"):
        quote(compared(replace(BUST, method="lay-up")))


def test_the_demo_shops_own_terms_are_taken_where_none_are_given(compared: compares) -> None:
    result = compared(BUST)
    found = quote(result, date=DAY)
    assert found.terms.markup == pytest.approx(0.35)
    assert found.asked.charge.each % found.terms.step == 0
    own = quote(compared(replace(BUST, quote={"margin_on_price": 50})), date=DAY)
    assert own.asked.margin == pytest.approx(0.5, abs=0.002)


def test_work_begins_no_earlier_than_its_quote(compared: compares) -> None:
    past = datetime.date(2026, 9, 1)
    found = quote(compared(replace(BUST, start=past)), terms=PLAIN, date=DAY)
    asked = found.asked.charge
    assert asked == quote(compared(BUST), terms=PLAIN, date=DAY, start=DAY).asked.charge
    assert asked.first_casting is not None
    assert asked.first_casting >= DAY
    assert found.for_client().start == DAY
    assert any("1 Sep 2026, lies before the quote" in note for note in found.notes)
    with pytest.raises(InputError, match="2020-01-01 lies before the quote, which is of 2026-11-25; give a day"):
        quote(compared(BUST), terms=PLAIN, date=DAY, start=datetime.date(2020, 1, 1))


@pytest.mark.parametrize("day", [datetime.date.max, datetime.date.min, datetime.date(2201, 1, 1)])
def test_a_day_of_a_mistyped_year_is_refused_in_a_sentence(compared: compares, day: datetime.date) -> None:
    with pytest.raises(InputError, match="outside the years 2000 to 2200; check the year"):
        quote(compared(BUST), terms=PLAIN, date=day)
    with pytest.raises(InputError, match="outside the years 2000 to 2200; check the year"):
        quote(compared(BUST), terms=PLAIN, start=day)
    last = quote(compared(BUST), terms=PLAIN, date=datetime.date(2200, 12, 31)).for_client()
    assert last.valid_until == datetime.date(2201, 1, 30)


def test_a_shop_is_told_where_its_charge_for_the_mold_shows_its_way_of_working(knowledge: Knowledge) -> None:
    result = compare(read_job(knowledge.folder / "jobs" / "captain.toml"), knowledge)
    once = quote(result, terms=Terms(markup=0.35, tooling="once"), date=DAY)
    charges_ = {line.charge.run: line.charge.tooling for line in once.lines}
    told = [note for note in once.notes if "shows a client where the shop changes its way" in note]
    assert len(set(charges_.values())) > 1
    assert len(told) == 1
    assert all(f"{charge / 100:.2f}" in told[0] for charge in set(charges_.values()))
    assert quote(result, terms=Terms(markup=0.35), date=DAY).notes == ()
