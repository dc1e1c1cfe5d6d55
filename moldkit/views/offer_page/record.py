"""What a client's page computes from: exact charges of all runs and sizes, packed, and the rules for the rest."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Any

import numpy as np

from moldkit.economics.cents import MILLIONTHS, part_of, share_of
from moldkit.errors import InputError
from moldkit.study.client_offer import ClientOffer, OfferTable
from moldkit.units import System, count_text, from_si
from moldkit.views.offer_page.grid import size_unit, slider_runs, told_runs, told_sizes
from moldkit.views.offer_page.packing import packed
from moldkit.views.offer_page.words import method_words, tax_words
from moldkit.views.paper.safe_text import safe_text

MOST_CHOICES = 12
NOT_OFFERED = -1


@dataclass(frozen=True)
class Told:
    """What a page tells.

    offers: the choices, the one asked for first; tables: of each; sizes: longest sides [m]; runs; unit: of the sizes.
    """

    offers: tuple[ClientOffer, ...]
    tables: tuple[OfferTable, ...]
    sizes: tuple[float, ...]
    runs: tuple[int, ...]
    unit: str

    @property
    def asked(self) -> ClientOffer:
        """The offer as asked for."""
        return self.offers[0]

    @property
    def asked_size(self) -> int:
        """The place of the size asked for."""
        return self.sizes.index(self.asked.longest)

    @property
    def shown_sizes(self) -> list[float]:
        """The sizes in their unit, as they are shown."""
        return [float(f"{from_si(size, self.unit):.4g}") for size in self.sizes]

    @property
    def dated(self) -> bool:
        """Whether any date is told."""
        return any(day for table in self.tables for day in _days(table))


def told(
    offer: ClientOffer, others: Sequence[ClientOffer] = (), *, sizes: Sequence[float] = (), system: System = "metric"
) -> Told:
    """Return what a page of an offer tells.

    others: the same piece in other materials and finishes; sizes: longest sides [m], none for round ones about the one
    asked for. Raises InputError for choices that cannot be told apart, or do not belong together.
    """
    offers = (offer, *others)
    _check_choices(offers)
    sides = tuple(sorted({offer.longest, *sizes})) if sizes else told_sizes(offer.longest, system)
    runs = told_runs(offer)
    tables = tuple(one.table(sides, runs) for one in offers)
    return Told(offers, tables, sides, runs, size_unit(offer.longest, system))


def _check_choices(offers: Sequence[ClientOffer]) -> None:
    if len(offers) > MOST_CHOICES:
        raise InputError(f"client page: {count_text(len(offers))} choices; give at most {MOST_CHOICES}.")
    if len({offer.currency for offer in offers}) > 1:
        raise InputError("client page: the choices are in several currencies; quote them in one.")
    names = [names_of(offer, offers) for offer in offers]
    for name in names:
        if names.count(name) > 1:
            raise InputError(f"client page: two choices are both {', '.join(filter(None, name))!r}; keep one of them.")


def names_of(offer: ClientOffer, offers: Sequence[ClientOffer]) -> tuple[str, str]:
    """Return material and finish of a choice to pick from, with the way of casting where that tells two apart."""
    methods = {other.method for other in offers if other.material == offer.material}
    material = f"{offer.material}, {method_words(offer)}" if len(methods) > 1 else offer.material
    return safe_text(material), safe_text(offer.finish)


def record(page: Told) -> dict[str, Any]:
    """Return the page's table as plain values, money in whole cents."""
    days = list(chain.from_iterable(_days(table) for table in page.tables))
    first_day = min(days, default=page.asked.date)
    prices = np.concatenate([table.each[table.each >= 0] for table in page.tables])
    every = _every(page.runs)
    return {
        "currency": page.asked.currency,
        "unit": page.unit,
        "sizes": page.shown_sizes,
        "every": every,
        "runs": list(page.runs[every:]),
        "slider": list(slider_runs(page.runs, page.asked)),
        "asked": {"choice": 0, "size": page.asked_size, "run": page.asked.run},
        "day": first_day.isoformat(),
        "dated": bool(days),
        "low": int(prices.min()),
        "high": int(prices.max()),
        "choices": [
            _choice(offer, table, page, first_day) for offer, table in zip(page.offers, page.tables, strict=True)
        ],
    }


def _every(runs: tuple[int, ...]) -> int:
    """Return up to which run every one is told."""
    return next((place for place, run in enumerate(runs) if run != place + 1), len(runs))


def _days(table: OfferTable) -> Iterator[datetime.date]:
    days = chain.from_iterable(chain(table.first_casting, table.delivery))
    return (day for day in days if day is not None)


def _choice(offer: ClientOffer, table: OfferTable, page: Told, first_day: datetime.date) -> dict[str, Any]:
    material, finish = names_of(offer, page.offers)
    tax, least = int(offer.tax * MILLIONTHS), least_charge(table)
    _check_rules(table, tax, least)
    return {
        "material": material,
        "finish": finish,
        "terms": [safe_text(words) for words in offer.terms],
        "tax": tax,
        "tax_words": tax_words(offer) if tax else "",
        "least": least,
        "breaks": [run for run in offer.price_breaks if run <= page.runs[-1]],
        "listed": [line.run for line in offer.lines if line.run in set(page.runs)],
        "sizes": [_columns(table, place, first_day) for place in range(len(page.sizes))],
    }


def least_charge(table: OfferTable) -> int:
    """Return the least charge for an order [cents], 0 where none of the runs comes to it."""
    return int(table.subtotal[table.least].max(initial=0))


def _check_rules(table: OfferTable, tax: int, least: int) -> None:
    """Raise ValueError where a charge isn't what the page would compute from the columns that it is given."""
    offered = table.each >= 0
    castings = table.castings // table.as_for * table.as_for
    subtotal = np.maximum(castings + table.tooling, least)
    computed = (
        (castings, table.castings),
        (part_of(castings, np.array(table.runs)), table.each),
        (subtotal, table.subtotal),
        (share_of(subtotal, tax), table.tax),
        (subtotal + share_of(subtotal, tax), table.total),
        (castings + table.tooling < least, table.least),
    )
    for ours, theirs in computed:
        if not np.array_equal(ours[offered], theirs[offered]):
            raise ValueError("the page's own arithmetic does not give the offer's charges")


def _columns(table: OfferTable, size: int, first_day: datetime.date) -> dict[str, str]:
    """Return the columns of one size, each packed; where the piece is not offered they hold what says so.

    taken: price of a casting in the run whose price is taken; more: how many castings more that run has.
    """
    offered = table.each[size] >= 0
    runs = np.array(table.runs)
    return {
        "taken": packed(np.where(offered, table.castings[size] // table.as_for[size], NOT_OFFERED).tolist()),
        "more": packed(np.where(offered, table.as_for[size] - runs, 0).tolist()),
        "tooling": packed(np.where(offered, table.tooling[size], 0).tolist()),
        "first": packed(_after(table.first_casting[size], first_day)),
        "delivery": packed(_after(table.delivery[size], first_day)),
    }


def _after(days: Sequence[datetime.date | None], first_day: datetime.date) -> list[int]:
    return [-1 if day is None else (day - first_day).days for day in days]
