"""What must not be found in anything a client is given: a shop's figures, in every way they may be written.

A new output for a client is added to `outputs`, as the text that is in it: values, metadata, hidden parts, chart data.
"""

from __future__ import annotations

import dataclasses
import datetime
import json
import re
from collections.abc import Iterator, Mapping
from typing import Any

from moldkit.study.client_offer import ClientOffer
from moldkit.study.quote import Quote
from moldkit.views.client_chart import price_chart
from moldkit.views.export import client_page
from moldkit.views.offer_page.page import offer_page

DAY = datetime.date(2026, 11, 25)
# The library that draws is no part of what is written for a client.
LIBRARY = re.compile(r"<script>.{1000000,}?</script>", re.DOTALL)
# What a shop put in, chosen so that no price comes near it by chance; in the units in which a shop writes it.
MARKED_SHOP = {"labor_rate": 41.37}
MARKED_QUOTE = {"markup": 37.31, "overhead_rate": 7.93, "finish": "waxed", "finish_time": 11.3, "finish_cost": 1.237}
MARKED_RUBBER_PRICE = 29.77
# Words that only the shop's side of a quote uses; CSS has margins of its own.
WORDS = (
    "labor", "overhead", "markup", "profit", "remake", "rubber", "technique", "hour", "cheapest", "crossing", "wage",
    "per kg", "attended", "expected molds",
)  # fmt: skip
SPACES = ("", ",", " ", "\u202f", "\u00a0", "\u2009", "'")
LEAST_DIGITS = 5


def outputs(quote: Quote) -> dict[str, str]:
    """Return everything that a client is given, by name, as text."""
    offer = quote.for_client()
    table = offer.table([0.8 * offer.longest, offer.longest], [1, offer.run, 2 * offer.run])
    return {
        "offer": _text(offer),
        "representation": repr(offer),
        "table": json.dumps(table.record()),
        "chart": json.dumps(price_chart(offer)),
        "offer page": offer_page(offer),
        "page": LIBRARY.sub("", client_page(quote.result, DAY)),
    }


def _text(offer: ClientOffer) -> str:
    public = {f.name: getattr(offer, f.name) for f in dataclasses.fields(offer) if not f.name.startswith("_")}
    return json.dumps(public, default=lambda value: vars(value) if hasattr(value, "__dict__") else str(value))


def secrets(quote: Quote) -> dict[str, float]:
    """Return the figures that are the shop's own, in the units in which they are written."""
    line, result = quote.asked, quote.result
    found: dict[str, float] = {
        "cost": line.cost,
        "cost of a casting": line.cost / result.case.run,
        "cost and overhead": line.cost + line.overhead,
        "overhead": line.overhead,
        "profit": line.profit,
        "margin": line.margin,
        "markup as sold": line.markup,
        "hours": line.attended / 3600,
        "earned an hour": 3600 * line.earned(quote.prices.labor_rate),
    }
    for outcome in result.outcomes:
        own: Mapping[str, Any] = {
            "first mold": outcome.first, "remake": outcome.remake, "a pour": outcome.pour,
            "rubber": outcome.plan["rubber_mass"], "total": result.total(outcome), "molds": result.molds(outcome),
            "life": result.life(outcome),
        }  # fmt: skip
        found |= {f"{outcome.name}, {name}": q.at(0) for name, q in own.items() if q is not None}
        found[f"{outcome.name}, hours first"] = outcome.attended_first.at(0) / 3600
        found[f"{outcome.name}, hours of a remake"] = outcome.attended_remake.at(0) / 3600
    return found


def marked() -> dict[str, float]:
    """Return what the shop put in."""
    figures = {**MARKED_SHOP, **MARKED_QUOTE, "rubber price": MARKED_RUBBER_PRICE}
    return {name: figure for name, figure in figures.items() if isinstance(figure, float)}


def written(figure: float) -> Iterator[str]:
    """Yield the usual ways to write a figure: as it is, in percent, in cents, in minutes and seconds of hours."""
    for value in (figure, 100 * figure, 60 * figure, 3600 * figure):
        yield repr(value)
        yield f"{value:.6g}"
        for decimals in range(7):
            plain = f"{value:,.{decimals}f}"
            for space in SPACES:
                yield plain.replace(",", space)
                yield plain.replace(",", "\0").replace(".", ",").replace("\0", "." if space == "," else space)


def found_in(text: str, figures: Mapping[str, float], digits: int = LEAST_DIGITS) -> list[str]:
    """Return which figures stand in a text, each with how; those with fewer digits than so many tell nothing."""
    told = []
    for name, figure in figures.items():
        for words in {w for w in written(figure) if len(re.sub(r"\D", "", w).strip("0")) >= digits}:
            if words in text and re.search(rf"(?<![\d.,]){re.escape(words)}(?!\d)", text):
                told.append(f"{name}: {words!r}")
    return told


def words_in(text: str, names: list[str]) -> list[str]:
    """Return which words of the shop's, techniques' names among them, stand in a text."""
    low = text.lower()
    return [word for word in (*WORDS, *names) if re.search(rf"(?<![a-z]){re.escape(word.lower())}", low)]
