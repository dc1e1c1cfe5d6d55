"""Mold life and retirement in plain words: bounds, what comes from the log and what from the table, what it saves."""

from __future__ import annotations

from moldkit.study.logged_life import LoggedLife
from moldkit.study.retire_curve import RetireCurve
from moldkit.units import number_text
from moldkit.views.sure_words import capital, money_words
from moldkit.views.verdict import NO_BREAK, castings


def life_words(life: LoggedLife) -> str:
    """Return the mold life with its bounds, and how much of it comes from the log and how much from the table."""
    median, prior, tenth = life.median, life.prior, life.ten_percent
    pair = f"{life.rubber} with {life.casting} ({life.use})"
    said = (
        f"Half of the molds of {pair} outlast about {_whole(median.likely)} castings, 80{NO_BREAK}% sure of "
        f"{_whole(median.low)} to {_whole(median.high)}; one in ten gives fewer than {_whole(tenth.likely)}. "
        f"The table alone said {_whole(prior.likely)}, {_whole(prior.low)} to {_whole(prior.high)}. "
        f"{life.learned.words}"
    )
    if life.least is not None:
        said += (
            f" No mold has worn out yet: half of them outlast {_whole(life.least.life)} castings or more, "
            f"{100 * life.least.confidence:.0f}{NO_BREAK}% sure, where lives spread by "
            f"{100 * life.least.spread:.0f}{NO_BREAK}%."
        )
    elif life.bounds is not None:
        high = "no upper bound" if life.bounds.high == float("inf") else _whole(life.bounds.high)
        said += (
            f" By these molds alone: {_whole(life.bounds.estimate)}, {100 * life.bounds.confidence:.0f}{NO_BREAK}% "
            f"sure of {_whole(life.bounds.low)} to {high}."
        )
    return said + (" This shop's life lies outside of what the table expects." if life.learned.surprising else "")


def life_title(life: LoggedLife) -> str:
    """Return what the log says of the life, as a chart's title."""
    worn, count = int(life.worn.sum()), int(life.castings.size)
    if not count:
        return f"No mold of {life.rubber} with {life.casting} in the log yet: the table and similar molds speak."
    return (
        f"{capital(life.rubber)} with {life.casting}: {count} mold{'' if count == 1 else 's'} in the log, {worn} worn "
        f"out. Half outlast about {_whole(life.median.likely)} castings; the table said {_whole(life.prior.likely)}."
    )


def retirement_words(curve: RetireCurve) -> str:
    """Return when to retire molds, what it rests on, and what it saves in the run at hand."""
    planned, failed = money_words(curve.planned, curve.currency), money_words(curve.failed, curve.currency)
    return (
        f"Half of the molds outlast {_whole(curve.median)} castings; a remake in time costs {planned}, a failure in "
        f"use {failed}. {retirement_title(curve)}"
    )


def retirement_title(curve: RetireCurve) -> str:
    """Return when to retire molds and what it saves in the run at hand, as a chart's title."""
    advice = curve.advice
    if not advice.retires or advice.small:
        return advice.verdict
    return f"{advice.verdict} Over {castings(curve.run)} that is {money_words(advice.saving, curve.currency)}."


def _whole(value: float) -> str:
    return number_text(value, 2) if value < 100 else number_text(value)
