"""What the client meeting says: the price in large figures, what changes it, alternatives; what only the shop sees."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import dataclass

from moldkit.study.client_choices import AS_CAST
from moldkit.study.client_offer import ClientOffer
from moldkit.study.price_levers import Lever
from moldkit.study.quote import Quote
from moldkit.study.quote_words import short_day
from moldkit.units import System, cents_text, count_text, money_text, number_text, show
from moldkit.views.offer_page.words import castings, day_text, money, remark, tax_in_sentence

CANNOT = "This cannot be made as it stands. Choose another size, material or way of casting."
NO_DATE = "The dates are left open."


@dataclass(frozen=True)
class BandWords:
    """The texts of the price band, by the names of its parts."""

    each: str
    each_words: str
    together: str
    together_words: str
    delivery: str
    delivery_words: str
    piece: str
    remark: str


def band_words(offer: ClientOffer, made: str, due: datetime.date | None = None, system: System = "metric") -> BandWords:
    """Return what stands in the price band; made: "solid" or "hollow"; due: the day asked for."""
    asked = offer.asked
    apart = ", before tax" if offer.tax else ""
    taxed = f", {tax_in_sentence(offer)} in it" if offer.tax else ""
    once = f", the mold at {money(asked.tooling)} in it" if asked.tooling else ""
    first = f"first casting {day_text(asked.first_casting)}" if asked.first_casting else ""
    return BandWords(
        each=f"{money(asked.each)} {offer.currency}",
        each_words=f"each{apart}",
        together=f"{money(asked.total)} {offer.currency}",
        together_words=f"together{once}{taxed}",
        delivery=short_day(asked.delivery) if asked.delivery else "",
        delivery_words="delivery of all castings" if asked.delivery else "",
        piece=", ".join(
            filter(None, (castings(offer.run), offer.material, made, offer.finish, show(offer.longest, "m", system)))
        ),
        remark=" ".join(_remarks(offer, first, due)),
    )


def _remarks(offer: ClientOffer, first: str, due: datetime.date | None) -> Iterator[str]:
    asked = offer.asked
    yield f"{first[:1].upper()}{first[1:]}." if first else NO_DATE
    if due is not None and asked.delivery is not None and asked.delivery > due:
        yield f"{day_text(due)} is too soon: {day_text(asked.delivery)} is the earliest."
    if words := remark(asked):
        yield words
    if asked.least:
        yield "The least charge for an order is taken."
    yield f"Valid until {day_text(offer.valid_until)}."


def lever_words(lever: Lever, system: System = "metric") -> str:
    """Return what a client would change, in words."""
    if lever.kind == "run":
        word = "More" if lever.after.run > lever.before.run else "Fewer"
        return f"{word}: {castings(lever.after.run)}"
    if lever.kind == "size":
        word = "Larger" if lever.each > 0 else "Smaller"
        return f"{word}: {show(lever.longest, 'm', system)}"
    if lever.kind == "date":
        assert lever.after.delivery is not None
        return f"Earlier: {short_day(lever.after.delivery)}"
    label = {"material": "In", "made": "Cast", "finish": "Finish:"}[lever.kind]
    return f"{label} {lever.words}"


def levers_sentence(levers: tuple[Lever, ...], currency: str, system: System = "metric") -> str:
    """Return what changes the price most, as the finding over the list."""
    if not levers or levers[0].each == 0:
        return "None of the choices changes the price."
    first = levers[0]
    words = _small_first(lever_words(first, system))
    return f"What changes the price most: {words}, {difference(first.each)} {currency} each"


def _small_first(words: str) -> str:
    return words[:1].lower() + words[1:]


def difference(cents: int) -> str:
    """Return a difference of price with its sign."""
    sign = "" if cents == 0 else ("+" if cents > 0 else "\u2212")
    return f"{sign}{money(abs(cents))}"


def card_rows(offer: ClientOffer, made: str, system: System = "metric") -> list[tuple[str, str]]:
    """Return what a card of an alternative lists."""
    asked = offer.asked
    longer = f", charged as {count_text(asked.as_for)}" if asked.as_for != asked.run else ""
    rows = [
        ("Run", f"{castings(offer.run)}{longer}"),
        ("Size", show(offer.longest, "m", system)),
        ("Material", f"{offer.material}, {made}"),
        ("Finish", offer.finish or AS_CAST),
        ("Together", f"{money(asked.total)} {offer.currency}"),
    ]
    return rows + ([("Delivery", short_day(asked.delivery))] if asked.delivery else [])


def shop_rows(quote: Quote) -> list[list[str]]:
    """Return the runs as only the shop sees them: cost, overhead, profit, margin, hours; headings first."""
    currency = quote.terms.currency
    head = ["Castings", "Technique", "Cost", "Overhead", "Profit", f"Price, {currency}", "Margin", "Hours"]
    rate = quote.prices.labor_rate
    rows = [
        [
            count_text(line.charge.run), line.technique, cents_text(line.cost), cents_text(line.overhead),
            cents_text(line.profit), money(line.charge.subtotal), f"{number_text(100 * line.margin)} %",
            number_text(line.attended / 3600), money_text(3600 * line.earned(rate)),
        ]
        for line in quote.lines
    ]  # fmt: skip
    return [[*head, "An hour earns"], *rows]
