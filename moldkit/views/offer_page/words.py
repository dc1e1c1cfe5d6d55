"""The figures of one run as HTML, the same words as the page's script writes once something is moved."""

from __future__ import annotations

import datetime
import html
from collections.abc import Iterable

from moldkit.study.client_offer import ClientOffer, OfferLine
from moldkit.study.quote_words import percent, short_day
from moldkit.units import cents_text, count_text
from moldkit.views.paper.safe_text import safe_text

# Ways of casting whose names, short as a shop has them, a client could take for a property of the material.
METHOD_WORDS = {"pressure": "cast under pressure", "vacuum": "cast under vacuum"}
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def plain(text: str) -> str:
    """Return words that stay words in HTML."""
    return html.escape(safe_text(text), quote=True)


def own(text: str) -> str:
    """Return words that keep their own direction of writing and turn nothing beside them."""
    return f"<bdi>{plain(text)}</bdi>"


def day_text(day: datetime.date) -> str:
    """Return a day as it is said: Tue 8 Dec 2026."""
    return f"{WEEKDAYS[day.weekday()]} {short_day(day)}"


def money(cents: int) -> str:
    """Return whole cents as money."""
    return cents_text(cents / 100)


def castings(run: int) -> str:
    """Return "1 casting" or so many castings."""
    return "1 casting" if run == 1 else f"{count_text(run)} castings"


def method_words(offer: ClientOffer) -> str:
    """Return how the castings are made."""
    return METHOD_WORDS.get(offer.method, offer.method)


def tax_words(offer: ClientOffer) -> str:
    """Return the tax with its share, as a line or a column begins with it."""
    words = tax_in_sentence(offer)
    return words[:1].upper() + words[1:]


def tax_in_sentence(offer: ClientOffer) -> str:
    """Return the tax with its share, as the shop writes its name."""
    return f"{safe_text(offer.tax_label)} {percent(offer.tax)}"


def chosen_text(run: int, size: str, made_of: Iterable[str]) -> str:
    """Return what is chosen; size: with its unit, "" where there is none to choose; made_of: material and finish."""
    return ", ".join(filter(None, (castings(run), size, *made_of)))


def sum_rows(line: OfferLine, offer: ClientOffer) -> str:
    """Return the lines that a sum is made of, from the castings to what is paid."""
    charged_as = "Charged as " if line.as_for != line.run else ""
    rows = [_row(f"{charged_as}{castings(line.as_for)} at {money(line.price_taken)}", money(line.castings))]
    if line.tooling:
        rows.append(_row("Mold, charged once", money(line.tooling)))
    if line.least:
        rows.append(_row("Up to the least charge", money(line.subtotal - line.castings - line.tooling)))
    if offer.tax:
        rows.append(_row(tax_words(offer), money(line.tax)))
    return "".join([*rows, _row("Together", f"{money(line.total)} {offer.currency}", "total")])


def _row(words: str, figure: str, name: str = "") -> str:
    kind = f' class="{name}"' if name else ""
    return f"<div{kind}><dt>{plain(words)}</dt><dd>{plain(figure)}</dd></div>"


def date_rows(line: OfferLine) -> str:
    """Return the first casting's date and the delivery, as far as they are known."""
    told = (("First casting", line.first_casting), ("Delivery of all", line.delivery))
    return "".join(
        f'<div><dt>{words}</dt><dd><time datetime="{day.isoformat()}">{day_text(day)}</time></dd></div>'
        for words, day in told
        if day is not None
    )


def remark(line: OfferLine) -> str:
    """Return what is to be said of a run that is charged as a longer one, else nothing."""
    if line.as_for == line.run:
        return ""
    return f"{castings(line.as_for)} come to no more than {count_text(line.run)}: take them for the same price."


def table_rows(lines: Iterable[OfferLine], run: int, *, dated: bool) -> str:
    """Return the rows of the table, the chosen run marked."""
    return "".join(_table_row(line, line.run == run, dated) for line in lines)


def _table_row(line: OfferLine, is_chosen: bool, dated: bool) -> str:
    told = [f"{'▸ ' if is_chosen else ''}{count_text(line.run)}", money(line.each), money(line.total)]
    if dated:
        told.append("" if line.delivery is None else short_day(line.delivery))
    kind = ' class="chosen" aria-current="true"' if is_chosen else ""
    return f"<tr{kind}>{''.join(f'<td>{cell}</td>' for cell in told)}</tr>"
