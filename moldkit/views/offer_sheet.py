"""An offer on paper and as a workbook: what is offered, prices by run, ways to deliver, terms, the order."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from moldkit.study.client_offer import ClientOffer, OfferLine
from moldkit.study.quote_words import short_day
from moldkit.units import System, count_text
from moldkit.views.offer_chart import delivery_chart, price_chart, told_ways
from moldkit.views.offer_drawing import drawing
from moldkit.views.offer_head import head_drawing
from moldkit.views.offer_look import Look
from moldkit.views.offer_page.words import day_text, tax_words
from moldkit.views.offer_words import before_tax, line_remark, percent_apart, piece_words
from moldkit.views.paper.document import (
    Block,
    Cell,
    Column,
    Document,
    FillIn,
    Heading,
    KeyFigure,
    KeyFigures,
    Number,
    Page,
    Picture,
    Sentence,
    Table,
)

TITLE = "Offer"
# Heights of charts on paper, to their width of 1,600: beside a table and the terms, and with a page of its own.
BESIDE, ALONE = 720, 760
# Columns of the table of prices that a page is wide enough for, the one for remarks among them.
MOST_COLUMNS = 6


def money_cell(cents: int) -> Number:
    """Return whole cents as a figure with its two decimals."""
    return Number(cents / 100, 2)


def offer_paper(
    offer: ClientOffer, ways: Sequence[OfferLine], look: Look, *, note: str = "", system: System = "metric"
) -> Document:
    """Return the offer as one page, or two where there are ways to deliver to choose from.

    ways: dated, the earliest first; note: words to the client.
    """
    pages = [Page("offer", offer.job, tuple(_first_page(offer, ways, look, note, system)))]
    if chart := delivery_chart(offer, ways, system):
        picture = Picture(drawing(chart, look, high=ALONE, headed=False), chart.words)
        last = (picture, ways_table(offer, ways), *terms(offer), *_order(offer))
        pages.append(Page("delivery", "An earlier delivery", last))
    return Document(
        TITLE, offer.letterhead.name, offer.job, offer.date, tuple(pages), head_drawing(offer.letterhead, TITLE, look)
    )


def _first_page(
    offer: ClientOffer, ways: Sequence[OfferLine], look: Look, note: str, system: System
) -> Iterator[Block]:
    yield Sentence(f"{_capital(piece_words(offer, system))}.")
    if note.strip():
        yield Sentence(note)
    yield key_figures(offer)
    prices = prices_table(offer)
    if len(prices.columns) <= MOST_COLUMNS:
        yield prices
    else:
        yield prices_table(offer, remarks=False)
        yield from _remarks(offer)
    chart = price_chart(offer, system)
    yield Picture(drawing(chart, look, high=BESIDE, headed=False), chart.words)
    if delivery_chart(offer, ways) is None:
        yield from terms(offer)
        yield from _order(offer)


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def key_figures(offer: ClientOffer) -> KeyFigures:
    """Return the run asked for with its price and its dates."""
    asked = offer.asked
    found = [
        KeyFigure("Castings", Number(asked.run)),
        KeyFigure("Each", money_cell(asked.each), offer.currency),
        KeyFigure("In all" if offer.tax else "Together", money_cell(asked.total), offer.currency),
    ]
    days = (("First casting", asked.first_casting), ("Delivery of all", asked.delivery))
    found += [KeyFigure(label, day_text(day)) for label, day in days if day is not None]
    return KeyFigures((*found, KeyFigure("Valid until", day_text(offer.valid_until))))


def prices_table(offer: ClientOffer, *, remarks: bool = True) -> Table:
    """Return the listed runs with what they are charged; a column that tells nothing is left out.

    remarks: with a column for what is to be said of a run.
    """
    columns: list[tuple[Column, Callable[[OfferLine], Cell]]] = [
        (Column("Castings"), lambda line: Number(line.run)),
        (Column("Each"), lambda line: money_cell(line.each)),
    ]
    if any(line.tooling for line in offer.lines):
        columns.append((Column("Mold, once"), lambda line: money_cell(line.tooling)))
    columns.append((Column("Together"), lambda line: money_cell(line.subtotal)))
    if offer.tax:
        columns.append((Column(tax_words(offer)), lambda line: money_cell(line.tax)))
        columns.append((Column("In all"), lambda line: money_cell(line.total)))
    if any(line.delivery for line in offer.lines):
        columns.append((Column("Delivery"), lambda line: "" if line.delivery is None else short_day(line.delivery)))
    if remarks:
        columns.append((Column("", wide=True), lambda line: line_remark(offer, line)))
    rows = tuple(tuple(cell(line) for _, cell in columns) for line in offer.lines)
    return Table(f"Prices by run, {offer.currency}", tuple(column for column, _ in columns), rows)


def _remarks(offer: ClientOffer) -> Iterator[Block]:
    """Yield what is to be said of some runs in a sentence, where the table has no room for it."""
    told: dict[str, list[str]] = {}
    for line in offer.lines:
        if remark := line_remark(offer, line):
            told.setdefault(remark, []).append(count_text(line.run))
    yield Sentence("; ".join(f"{', '.join(runs)}: {remark}" for remark, runs in told.items()) + ".")


def ways_table(offer: ClientOffer, ways: Sequence[OfferLine]) -> Table:
    """Return the ways to deliver the run asked for; ways: dated, the earliest first, the usual one last."""
    columns = (
        Column("Delivery of all"),
        Column("First casting"),
        Column("In all", offer.currency),
        Column("", wide=True),
    )
    told = told_ways(ways)
    rows = tuple(
        (
            "" if way.delivery is None else day_text(way.delivery),
            "" if way.first_casting is None else day_text(way.first_casting),
            money_cell(way.total),
            "as asked" if way is told[-1] else f"{percent_apart(way.total, told[-1].total)} more",
        )
        for way in told
    )
    return Table("Ways to deliver", columns, rows)


def terms(offer: ClientOffer) -> Iterator[Block]:
    """Yield the terms as sentences."""
    yield Heading("Terms")
    apart = before_tax(offer)
    yield Sentence(" ".join([*offer.terms, *([f"Prices of a casting are {apart}."] if apart else [])]))


def _order(offer: ClientOffer) -> Iterator[Block]:
    columns = (Column("Castings"), Column("Delivery by"), Column("Name"), Column("Day and signature", wide=True))
    yield Table("Order", columns, ((FillIn(), FillIn(), FillIn(), FillIn()),))


def offer_book(offer: ClientOffer, ways: Sequence[OfferLine], *, note: str = "", system: System = "metric") -> Document:
    """Return the offer as the tabs of a workbook: the offer, prices by run, the price over the run, deliveries."""
    first = [Sentence(f"{_capital(piece_words(offer, system))}."), *([Sentence(note)] if note.strip() else [])]
    curve = tuple((Number(run), money_cell(each)) for run, each in zip(offer.runs, offer.each, strict=True))
    columns = (Column("Castings"), Column("Each", offer.currency))
    pages = [
        Page("Offer", offer.job, (*first, key_figures(offer), *map(_term, ("Terms", *offer.terms)))),
        Page("Prices", f"{offer.job}: prices by run", (prices_table(offer),)),
        Page("Over the run", f"{offer.job}: price of a casting over the run", (Table("", columns, curve),)),
    ]
    if delivery_chart(offer, ways) is not None:
        pages.append(Page("Delivery", f"{offer.job}: ways to deliver", (ways_table(offer, ways),)))
    return Document(TITLE, offer.letterhead.name, offer.job, offer.date, tuple(pages))


def _term(words: str) -> Block:
    return Heading(words) if words == "Terms" else Sentence(words)
