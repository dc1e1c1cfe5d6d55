"""Mold life and retirement in plain words: bounds, what comes from the log and what from the table, what it saves."""

from __future__ import annotations

from moldkit.errors import InputError
from moldkit.study.case import FROM_LOG
from moldkit.study.compare import Comparison
from moldkit.study.learned import life_from, own_molds
from moldkit.study.logged_life import LoggedLife, logged_life
from moldkit.study.retire_curve import RetireCurve
from moldkit.units import number_text
from moldkit.views.sure_words import capital, money_words
from moldkit.views.verdict import NO_BREAK, castings


def life_words(life: LoggedLife) -> str:
    """Return the mold life with its bounds, and how much of it comes from the log and how much from the table."""
    median, prior = life.median, life.prior
    pair = f"{life.rubber} with {life.casting} ({life.use})"
    pours = "castings" if life.cavities == 1 else "pours"
    said = (
        f"Half of the molds of {pair} outlast about {_whole(median.likely)} {pours}, 80{NO_BREAK}% sure of "
        f"{_whole(median.low)} to {_whole(median.high)}. The next mold gives fewer than {_whole(life.next_mold)} "
        "with a chance of 1 in 10, all of that doubt counted in. "
        f"The table alone said {_whole(prior.likely)}, {_whole(prior.low)} to {_whole(prior.high)}. "
        f"{life.learned.words}"
    )
    if life.least is not None:
        said += (
            f" No mold has worn out yet: half of them outlast {_whole(life.least.life)} {pours} or more, "
            f"{100 * life.least.confidence:.0f}{NO_BREAK}% sure, where lives spread by "
            f"{100 * life.least.spread:.0f}{NO_BREAK}%."
        )
    elif life.bounds is not None:
        high = "no upper bound" if life.bounds.high == float("inf") else _whole(life.bounds.high)
        said += (
            f" By these molds alone: {_whole(life.bounds.estimate)}, {100 * life.bounds.confidence:.0f}{NO_BREAK}% "
            f"sure of {_whole(life.bounds.low)} to {high}."
        )
    if life.fit is not None and life.fit.note:
        said += f" {capital(life.fit.note)}."
    said += _taken(life, pours)
    return said + (" This shop's life lies outside of what the table expects." if life.learned.surprising else "")


def basis_words(result: Comparison) -> str:
    """Return where the mold life of a verdict comes from, and what the log knows of it that was not asked."""
    case, outcome = result.case, result.cheapest or result.outcomes[0]
    if outcome.median is None:
        return ""
    said = f"Mold life {life_from(case.life)}: half of the molds outlast about {_whole(float(outcome.median.value))} "
    said += "castings." if outcome.plan.cavities == 1 else "pours."
    if case.life not in (None, FROM_LOG):
        return said
    if case.life == FROM_LOG:
        return f"{said} {logged_life(result).learned.words}"
    rubber = outcome.plan.rubber
    try:
        material = result.knowledge.materials.castings[case.material]
        molds, worn = own_molds(result.knowledge, rubber, material) if rubber is not None else (0, 0)
    except InputError as fault:
        return f"{said} The log was not heard: {fault}"
    if not molds:
        return said
    held = f"{molds} molds" if molds > 1 else "one mold"
    return f'{said} The log holds {held} of this pair, {worn} worn out: [mold] life = "log" takes them in.'


def _taken(life: LoggedLife, pours: str) -> str:
    """Return which life the verdict goes by, where that is another one."""
    if life.taken is None or abs(life.taken - life.median.likely) < 0.5:
        return ""
    return f" The verdict goes by another life, {_whole(life.taken)} {pours} {life.whose}."


def life_title(life: LoggedLife) -> str:
    """Return what the log says of the life, as a chart's title."""
    worn, count = int(life.worn.sum()), int(life.castings.size)
    if not count:
        return f"No mold of {life.rubber} with {life.casting} in the log yet: the table and similar molds speak."
    return (
        f"{capital(life.rubber)} with {life.casting}: {count} mold{'' if count == 1 else 's'} in the log, {worn} worn "
        f"out. Half outlast about {_whole(life.median.likely)} {'castings' if life.cavities == 1 else 'pours'}; the "
        f"table said {_whole(life.prior.likely)}."
    )


def retirement_words(curve: RetireCurve) -> str:
    """Return when to retire molds, what it rests on, and what it saves in the run at hand."""
    planned, failed = money_words(curve.planned, curve.currency), money_words(curve.failed, curve.currency)
    return (
        f"Half of the molds outlast {_whole(curve.median)} {'castings' if curve.cavities == 1 else 'pours'} "
        f"{curve.whose}; a remake in time costs {planned}, a failure in "
        f"use {failed}. {retirement_title(curve)}"
    )


def retirement_title(curve: RetireCurve) -> str:
    """Return when to retire molds and what it saves in the run at hand, as a chart's title."""
    advice = curve.advice
    if not advice.retires or advice.small:
        return advice.verdict(curve.cavities)
    saved = money_words(advice.saving, curve.currency)
    return f"{advice.verdict(curve.cavities)} Over {castings(curve.run)} that is {saved}."


def _whole(value: float) -> str:
    return number_text(value, 2) if value < 100 else number_text(value)
