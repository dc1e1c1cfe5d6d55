"""Where the ticks of a client's chart stand: round figures on equal factors or equal steps, and days."""

from __future__ import annotations

import datetime
import math
from dataclasses import dataclass

from moldkit.study.quote_words import MONTHS
from moldkit.units import count_text, number_text

STEPS = (1.0, 2.0, 5.0)
# From this ratio on a scale of equal factors has round figures enough of its own.
FACTORS = 5.0
DAY_STEPS = (1, 2, 7, 14, 28)
MONTH_STEPS = (1, 2, 3, 6, 12, 24, 60)


@dataclass(frozen=True)
class Axis:
    """A scale: title; low, high: its ends; ticks: (place, words); log: equal steps are equal factors."""

    title: str
    low: float
    high: float
    ticks: tuple[tuple[float, str], ...]
    log: bool

    def share(self, value: float) -> float:
        """Return where a value stands, 0 at the low end, 1 at the high."""
        if self.log:
            return math.log(value / self.low) / math.log(self.high / self.low)
        return (value - self.low) / (self.high - self.low)


def factor_axis(title: str, low: float, high: float, most: int = 10) -> Axis:
    """Return a scale of equal factors; most: ticks there is room for."""
    return Axis(title, low, high, tuple((value, _text(value)) for value in _round_factors(low, high, most)), log=True)


def step_axis(title: str, low: float, high: float, most: int = 7) -> Axis:
    """Return a scale of equal steps; most: ticks there is room for."""
    return Axis(title, low, high, tuple((value, _text(value)) for value in _round_steps(low, high, most)), log=False)


def _text(value: float) -> str:
    return count_text(value) if value >= 1 and value == round(value) else number_text(value, 6)


def _round_factors(low: float, high: float, most: int) -> list[float]:
    if high / low < FACTORS:
        return _round_steps(low, high, most)
    powers = range(math.floor(math.log10(low)), math.ceil(math.log10(high)) + 1)
    found = [_tidy(step * 10.0**power) for power in powers for step in STEPS]
    inside = [value for value in found if low <= value <= high]
    return inside if len(inside) <= most else [value for value in inside if math.log10(value) % 1 < 1e-9]


def _round_steps(low: float, high: float, most: int) -> list[float]:
    rough = (high - low) / max(1, most - 2)
    power = 10.0 ** math.floor(math.log10(rough))
    step = power * next(times for times in (*STEPS, 10.0) if times * power >= rough)
    return [_tidy(n * step) for n in range(math.ceil(low / step), math.floor(high / step) + 1)]


def _tidy(value: float) -> float:
    return float(f"{value:.10g}")


def day_axis(title: str, first: datetime.date, last: datetime.date, most: int = 8) -> Axis:
    """Return a scale of days, by their ordinal; weeks begin on Monday. most: ticks there is room for."""
    room = max(1, round(0.08 * (last - first).days))
    low, high = first.toordinal() - room, last.toordinal() + room
    step = next((days for days in DAY_STEPS if (high - low) / days <= most), 0)
    ticks = _days(low, high, step) if step else _months(low, high, most)
    return Axis(title, low, high, tuple(ticks), log=False)


def _days(low: int, high: int, step: int) -> list[tuple[float, str]]:
    # The first ordinal, 1 January of the year 1, was a Monday.
    begins = low + (1 - low) % 7 if step >= 7 else low
    days = [datetime.date.fromordinal(at) for at in range(begins, high + 1, step)]
    return [(day.toordinal(), f"{day.day} {MONTHS[day.month - 1]}") for day in days]


def _months(low: int, high: int, most: int) -> list[tuple[float, str]]:
    begin, end = datetime.date.fromordinal(low), datetime.date.fromordinal(high)
    count = 12 * (end.year - begin.year) + end.month - begin.month
    step = next((months for months in MONTH_STEPS if count / months <= most), MONTH_STEPS[-1])
    found = []
    for months in range(12 * begin.year + begin.month, 12 * end.year + end.month):
        if months % step == 0:
            day = datetime.date(months // 12, months % 12 + 1, 1)
            found.append((float(day.toordinal()), f"{MONTHS[day.month - 1]} {day.year}"))
    return found
