"""Charts made to be shown to a client, as plain values: the finding as title, a curve, its points each with a label."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass

from moldkit.study.client_offer import ClientOffer, OfferLine
from moldkit.study.letterhead import Letterhead
from moldkit.study.quote_words import short_day
from moldkit.units import System, count_text
from moldkit.views.offer_axes import Axis, day_axis, factor_axis, step_axis
from moldkit.views.offer_page.words import WEEKDAYS, castings, money
from moldkit.views.offer_words import (
    before_tax,
    delivery_finding,
    percent_apart,
    piece_words,
    price_finding,
    source_words,
)

# Beyond so many ways to deliver, those in between are left to the table.
MOST_WAYS = 12


@dataclass(frozen=True)
class Mark:
    """A point of the curve with its label; strong: what was asked for."""

    x: float
    y: float
    label: str
    strong: bool = False


@dataclass(frozen=True)
class OfferChart:
    """A chart to be drawn.

    title: the finding; under: what is offered; across, up: its scales; curve: points (x, y); steps: a value holds up to
    the next one's x; marks: labelled points, the most telling first; small: sentences in small print; head: the shop.
    """

    title: str
    under: tuple[str, str]
    across: Axis
    up: Axis
    curve: tuple[tuple[float, float], ...]
    steps: bool
    marks: tuple[Mark, ...]
    small: tuple[str, ...]
    head: Letterhead

    @property
    def words(self) -> str:
        """The chart in words: its finding, and every labelled point."""
        told = "; ".join(mark.label for mark in sorted(self.marks, key=lambda mark: mark.x))
        return f"{self.title}. {told}."


def price_chart(offer: ClientOffer, system: System = "metric") -> OfferChart:
    """Return the price of a casting over the run, the listed runs and the price breaks marked with their price."""
    prices = [cents / 100 for cents in offer.each]
    steps = bool(offer.price_breaks)
    beside = [line for line in offer.lines if line.run != offer.run and line.run <= offer.runs[-1]]
    apart = before_tax(offer)
    return OfferChart(
        title=price_finding(offer),
        under=(offer.job, piece_words(offer, system)),
        across=factor_axis("castings in the run", 1.0, float(offer.runs[-1]), 12),
        up=factor_axis(f"price of a casting, {offer.currency}", 0.8 * min(prices), 1.3 * max(prices), 9),
        curve=tuple(zip(map(float, offer.runs), prices, strict=True)),
        steps=steps,
        marks=(_price_mark(offer.asked, steps, strong=True), *(_price_mark(line, steps) for line in beside)),
        small=(
            source_words(offer),
            f"Prices of a casting in {offer.currency}{', ' if apart else ''}{apart}. "
            "Equal steps along either scale are equal factors.",
        ),
        head=offer.letterhead,
    )


def _price_mark(line: OfferLine, steps: bool, strong: bool = False) -> Mark:
    if strong:
        label = f"{castings(line.run)}: {money(line.each)} each"
    else:
        first = "from " if steps and line.run > 1 and line.as_for == line.run else ""
        label = f"{first}{count_text(line.run)}: {money(line.each)}"
    return Mark(float(line.run), line.each / 100, label, strong)


def delivery_chart(offer: ClientOffer, ways: Sequence[OfferLine], system: System = "metric") -> OfferChart | None:
    """Return the price of the run asked for against its delivery; None where there is nothing to choose from.

    ways: dated, the earliest first, each later one cheaper.
    """
    told = told_ways(ways)
    if len(told) < 2:
        return None
    days = [_day(way) for way in told]
    prices = [way.total / 100 for way in told]
    room = 0.18 * (prices[0] - prices[-1])
    taxed = "tax included" if offer.tax else "taxes not included"
    across = day_axis("delivery of all castings", days[0], days[-1])
    curve = [(float(day.toordinal()), price) for day, price in zip(days, prices, strict=True)]
    return OfferChart(
        title=delivery_finding(offer, told),
        under=(offer.job, piece_words(offer, system)),
        across=across,
        up=step_axis(
            f"price of {castings(offer.run)}, {offer.currency}", prices[-1] - 1.6 * room, prices[0] + 1.6 * room
        ),
        curve=(*curve, (across.high, prices[-1])),
        steps=True,
        marks=tuple(_way_mark(way, told[-1], strong=way is told[-1]) for way in (told[-1], told[0], *told[1:-1])),
        small=(
            source_words(offer),
            f"Prices of {castings(offer.run)} together in {offer.currency}, {taxed}. "
            "The scale of prices does not begin at nought.",
        ),
        head=offer.letterhead,
    )


def told_ways(ways: Sequence[OfferLine]) -> tuple[OfferLine, ...]:
    """Return the ways to deliver that are told: all, or of very many the ends and some spread between."""
    if len(ways) <= MOST_WAYS:
        return tuple(ways)
    places = {round(n * (len(ways) - 1) / (MOST_WAYS - 1)) for n in range(MOST_WAYS)}
    return tuple(ways[place] for place in sorted(places))


def _day(way: OfferLine) -> datetime.date:
    assert way.delivery is not None, "a way to deliver has its day"
    return way.delivery


def _way_mark(way: OfferLine, usual: OfferLine, *, strong: bool) -> Mark:
    day = _day(way)
    label = f"{WEEKDAYS[day.weekday()]} {short_day(day)}: {money(way.total)}"
    if not strong:
        label += f", {percent_apart(way.total, usual.total)} more"
    return Mark(float(day.toordinal()), way.total / 100, label, strong)
