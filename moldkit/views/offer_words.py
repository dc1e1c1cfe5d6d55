"""What a client's charts and papers say in words: findings, labels, where figures come from."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from moldkit.study.client_offer import ClientOffer, OfferLine
from moldkit.study.quote_words import short_day
from moldkit.units import System, count_text, from_si, number_text
from moldkit.views.offer_page.grid import size_unit
from moldkit.views.offer_page.words import castings, day_text, method_words, money, tax_in_sentence

# A change of price smaller than this share is not worth a title.
WORTH_SAYING = 0.01


def price_finding(offer: ClientOffer) -> str:
    """Return what the price over the run shows: that of the run asked for, and what a longer or shorter one brings."""
    asked, other = offer.asked, _telling(offer)
    said = f"{money(asked.each)} {offer.currency} each for {castings(asked.run)}"
    if asked.as_for != asked.run:
        return f"{said}, charged as {count_text(asked.as_for)}, which come to as much together"
    if other is None:
        return f"{said}, about the same for any run listed"
    word = "less" if other.each < asked.each else "more"
    change = percent_apart(other.each, asked.each)
    return f"{said}; {money(other.each)} for {count_text(other.run)}, {change} {word}"


def _telling(offer: ClientOffer) -> OfferLine | None:
    """Return the listed run that tells most beside the one asked for: about twice it, else about half."""
    own = [line for line in offer.lines if line.as_for == line.run]
    told = [line for line in own if abs(line.each / offer.asked.each - 1) >= WORTH_SAYING]
    longer = [line for line in told if line.run > offer.run and line.each < offer.asked.each]
    if longer:
        return min(longer, key=lambda line: abs(line.run / offer.run - 2.0))
    shorter = [line for line in told if line.run < offer.run]
    return min(shorter, key=lambda line: abs(offer.run / line.run - 2.0), default=None)


def percent_apart(one: int, other: int) -> str:
    """Return how far one sum lies from another, in whole percent of the other."""
    share = 100 * abs(one - other) / other
    return f"{share:.0f} %" if share >= 0.5 else "less than 1 %"


def delivery_finding(offer: ClientOffer, ways: Sequence[OfferLine]) -> str:
    """Return what an earlier delivery costs; ways: dated, the earliest first, at least two."""
    soonest, usual = ways[0], ways[-1]
    assert soonest.delivery is not None
    assert usual.delivery is not None
    days = (usual.delivery - soonest.delivery).days
    sooner = "a day sooner for" if days == 1 else f"up to {count_text(days)} days sooner for"
    most = "up to " if len(ways) > 2 else ""
    more = percent_apart(soonest.total, usual.total)
    return (
        f"{money(usual.total)} {offer.currency} for delivery by {short_day(usual.delivery)}; {sooner} {most}{more} more"
    )


def piece_words(offer: ClientOffer, system: System = "metric") -> str:
    """Return what is offered: material, how it is cast and finished, its longest side."""
    return ", ".join(filter(None, (offer.material, method_words(offer), offer.finish, size_words(offer, system))))


def size_words(offer: ClientOffer, system: System = "metric") -> str:
    """Return the piece's longest side in words, in the unit that a client's page has."""
    unit = size_unit(offer.longest, system)
    return f"longest side {number_text(float(from_si(offer.longest, unit)), 4)} {unit}"


def before_tax(offer: ClientOffer) -> str:
    """Return what the price of a casting leaves out, else nothing."""
    apart = [
        words
        for words, there in (("before tax", offer.tax), ("the mold charged apart", any(w.tooling for w in offer.lines)))
        if there
    ]
    return ", ".join(apart)


def source_words(offer: ClientOffer) -> str:
    """Return where a chart's figures come from, and until when they hold."""
    return (
        f"Source: offer of {offer.letterhead.name}, {day_text(offer.date)}, valid until {day_text(offer.valid_until)}."
    )


def line_remark(offer: ClientOffer, line: OfferLine) -> str:
    """Return what is to be said of one run's charge, else nothing."""
    return ", ".join(_line_remarks(offer, line))


def _line_remarks(offer: ClientOffer, line: OfferLine) -> Iterator[str]:
    if line.run == offer.run:
        yield "as asked"
    if line.least:
        yield "least charge"
    if line.as_for != line.run:
        yield f"charged as {count_text(line.as_for)}"


def sum_words(offer: ClientOffer) -> str:
    """Return the run asked for with its charge in one sentence, as a command line tells it."""
    asked = offer.asked
    taxed = f", {tax_in_sentence(offer)} in it" if offer.tax else ""
    longer = f", charged as {count_text(asked.as_for)}" if asked.as_for != asked.run else ""
    once = f", the mold at {money(asked.tooling)} in it" if asked.tooling else ""
    dates = "" if asked.delivery is None else f"; all delivered by {day_text(asked.delivery)}"
    return (
        f"{castings(asked.run)} at {money(asked.each)} {offer.currency} each, together {money(asked.total)} "
        f"{offer.currency}{longer}{once}{taxed}{dates}."
    )
