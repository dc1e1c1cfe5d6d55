"""Working time, and learning over repeats against published tables."""

from __future__ import annotations

import datetime
from itertools import islice

import pytest

from moldkit.economics.schedule.calendar import DAY, Calendar
from moldkit.economics.schedule.learning import exponent, total_factor, unit_factors
from moldkit.errors import InputError

HOUR = 3600.0
MONDAY = datetime.date(2026, 11, 30)


def first_windows(calendar: Calendar, number: int) -> list[tuple[float, float]]:
    """Return the first stretches of working time in hours after midnight of the first day."""
    return [(opens / HOUR, closes / HOUR) for opens, closes in islice(calendar.windows(), number)]


def test_hands_work_in_the_shift_of_a_working_day_that_is_no_holiday() -> None:
    tuesday_off = Calendar(MONDAY, 8 * HOUR, 8 * HOUR, holidays=frozenset({datetime.date(2026, 12, 1)}))
    assert first_windows(tuesday_off, 3) == [(8, 16), (56, 64), (80, 88)]


def test_a_weekend_is_no_working_time_and_a_start_on_it_waits_for_monday() -> None:
    assert first_windows(Calendar(datetime.date(2026, 12, 4)), 2) == [(8, 16), (80, 88)]
    assert first_windows(Calendar(datetime.date(2026, 12, 5)), 1) == [(56, 64)]


def test_a_shift_may_end_after_midnight() -> None:
    assert first_windows(Calendar(MONDAY, 8 * HOUR, 22 * HOUR), 2) == [(22, 30), (46, 54)]


def test_shifts_round_the_clock_are_one_stretch() -> None:
    assert first_windows(Calendar(MONDAY, DAY, 0.0), 2) == [(0, 120), (168, 288)]
    whole_week = Calendar(MONDAY, DAY, 0.0, frozenset(range(7)))
    assert next(iter(whole_week.windows())) == (0.0, float("inf"))


def test_the_weekdays_are_those_of_the_standard_library() -> None:
    calendar = Calendar(datetime.date(2027, 1, 1), working_days=frozenset({2}))
    opens = [opens for opens, _ in islice(calendar.windows(), 4)]
    assert [calendar.moment(moment).strftime("%A %H:%M") for moment in opens] == ["Wednesday 08:00"] * 4


def test_a_shop_that_works_on_no_day_is_refused() -> None:
    with pytest.raises(InputError, match="no day of the week"):
        Calendar(MONDAY, working_days=frozenset())


def test_a_plan_past_the_last_year_of_the_calendar_is_refused_in_a_sentence() -> None:
    with pytest.raises(InputError, match="9999"):
        list(islice(Calendar(datetime.date(9999, 12, 30)).windows(), 5))


@pytest.mark.parametrize(("rate", "b"), [(0.95, 0.074), (0.90, 0.152), (0.85, 0.234), (0.80, 0.322), (0.70, 0.515)])
def test_the_learning_exponent_is_the_published_one(rate: float, b: float) -> None:
    """Exponents b = -log2(rate) as printed in a public table of learning curves, three decimals."""
    assert -exponent(rate) == pytest.approx(b, abs=5e-4)


# Unit model: rate, unit, its time and the running total, in times of the first unit. The table of learning-curve
# coefficients printed in operations-management textbooks (from memory; recomputed from n^log2(rate)).
COEFFICIENTS = [
    (0.80, 2, 0.8000, 1.8000), (0.80, 3, 0.7021, 2.5021), (0.80, 4, 0.6400, 3.1421), (0.80, 5, 0.5956, 3.7377),
    (0.80, 10, 0.4765, 6.3154), (0.80, 16, 0.4096, 8.9201), (0.80, 20, 0.3812, 10.4849), (0.80, 25, 0.3548, 12.3086),
    (0.80, 50, 0.2838, 20.1217), (0.80, 100, 0.2271, 32.6508), (0.80, 200, 0.1816, 52.7200),
    (0.90, 10, 0.7047, 7.9945), (0.90, 25, 0.6131, 17.7132), (0.90, 100, 0.4966, 58.1410),
    (0.85, 10, 0.5828, 7.1161), (0.85, 100, 0.3397, 43.7539), (0.70, 10, 0.3058, 4.9318), (0.70, 100, 0.0935, 17.7907),
]  # fmt: skip


@pytest.mark.parametrize(("rate", "unit", "time", "total"), COEFFICIENTS)
def test_unit_times_and_totals_follow_the_tables_of_the_unit_model(
    rate: float, unit: int, time: float, total: float
) -> None:
    assert unit_factors(unit, rate)[-1] == pytest.approx(time, abs=6e-5)
    assert total_factor(unit, rate) == pytest.approx(total, abs=6e-5)


def test_without_learning_every_unit_takes_as_long() -> None:
    assert set(unit_factors(50, 1.0)) == {1.0}
