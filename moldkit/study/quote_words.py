"""The terms of a quote in sentences: for the client, and what the shop should know of its own terms."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from decimal import Decimal
from itertools import pairwise

from moldkit.economics.quote import CLIENT, ONCE, SPREAD, Terms
from moldkit.units import cents_text, count_text, money_text, number_text

# From this share of a price on, rounding is worth a word.
COARSE = 0.02
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def short_day(day: datetime.date) -> str:
    """Return a day without its weekday: 8 Dec 2026."""
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def terms_in_words(
    terms: Terms, date: datetime.date, start: datetime.date | None, shop: str, listed: bool = True
) -> tuple[str, ...]:
    """Return the terms as a client reads them; they tell nothing of what the work costs the shop.

    date: of the quote; start: first day of the work; shop: its name; listed: prices for several runs stand beside them.
    """
    return tuple(_terms(terms, date, start, shop, listed))


def _terms(terms: Terms, date: datetime.date, start: datetime.date | None, shop: str, listed: bool) -> Iterator[str]:
    yield f"Prices hold for orders placed by {short_day(date + datetime.timedelta(days=terms.valid_days))}."
    once = terms.tooling == ONCE
    yield "The mold is charged once, on a line of its own." if once else "The mold is in the price of the castings."
    owner = "belongs to the client once the order is paid" if terms.mold_owner == CLIENT else f"stays with {shop}"
    yield f"The mold {owner}; molds wear out and are renewed within the run at no further charge."
    if terms.price_breaks:
        yield "The price of a casting holds from its run up to the next one listed."
    if listed:
        yield (
            f"Where more castings come to less together by {cents_text(float(terms.rounding))} {terms.currency} "
            "a casting or more, the shorter run is charged as the longer."
        )
    if terms.minimum_charge:
        yield f"The least charge for an order is {cents_text(float(terms.minimum_charge))} {terms.currency} before tax."
    yield f"{_capital(terms.tax_label)} of {percent(terms.tax)} is added." if terms.tax else "Taxes are not included."
    if start is not None:
        yield f"Dates hold for work that begins on {short_day(start)}."


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def percent(share: Decimal) -> str:
    """Return a share in percent, with no more decimals than it has."""
    return f"{(share * 100).normalize():f} %"


def shop_notes(
    terms: Terms, *, labor_rate: float, each: float, rounded: float, profit: float, least: bool
) -> tuple[str, ...]:
    """Return what a shop should know of its own terms, in sentences.

    labor_rate: [money/s]; each: price of a casting before rounding, rounded: after it [money]; profit: on the run asked
    for [money]; least: the minimum charge is taken.
    """
    return tuple(_notes(terms, labor_rate, each, rounded, profit, least))


def _notes(terms: Terms, labor_rate: float, each: float, rounded: float, profit: float, least: bool) -> Iterator[str]:
    if terms.overhead or terms.overhead_rate:
        yield "Overhead is added: see that the labor rate holds none of it, or it is counted twice."
    if terms.target_rate is not None and terms.target_rate < labor_rate:
        target, wage = (money_text(3600 * rate) for rate in (terms.target_rate, labor_rate))
        yield f"The target rate of {target} an hour is below the labor rate of {wage}: the work is sold below its cost."
    if profit < 0:
        yield f"The run is sold {money_text(-profit, terms.currency)} below its cost."
    if abs(rounded - each) > COARSE * each:
        change = number_text(100 * (rounded / each - 1), 2)
        yield f"Rounding to {terms.rounding} changes the price of a casting by {change} %; take a finer step."
    if least:
        yield f"The minimum charge of {cents_text(float(terms.minimum_charge))} {terms.currency} is taken."


def mold_charge_notes(listed: Sequence[tuple[int, int]], currency: str) -> tuple[str, ...]:
    """Return what a shop should know of a mold charged once that costs another sum from some run on, else nothing.

    listed: runs in order, each with what its mold is charged at [cents], 0 where it is in the price of the castings.
    """
    changes = [(one, other) for one, other in pairwise(listed) if one[1] != other[1]]
    if not changes:
        return ()
    first, later = f"{cents_text(listed[0][1] / 100)} {currency}", ""
    for (last, _), (run, charge) in changes:
        later += f" up to {count_text(last)}, {cents_text(charge / 100)} from {count_text(run)}"
    return (
        f"The mold is charged at {first}{later}: the list shows a client where the shop changes its way of working. "
        f'With tooling = "{SPREAD}" it is in the price of the castings.',
    )


def begins_later(planned: datetime.date, begins: datetime.date) -> str:
    """Return what to say where a plan's first day is past when the quote is made."""
    return (
        f"The job's first day of work, {short_day(planned)}, lies before the quote: its dates are for work that begins "
        f"on {short_day(begins)}. Give the job a later start in [plan]."
    )
