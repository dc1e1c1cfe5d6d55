"""The lists of the client meeting as HTML, every word escaped."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from moldkit.study.client_offer import ClientOffer
from moldkit.study.price_levers import Lever
from moldkit.units import System
from moldkit.views.meeting_words import card_rows, difference, lever_words, levers_sentence
from moldkit.views.offer_page.words import money, own, plain


def heading(words: str) -> str:
    """Return a heading of the meeting."""
    return f"<h2>{plain(words)}</h2>"


def levers_html(levers: tuple[Lever, ...], currency: str, system: System = "metric") -> str:
    """Return what changes the price as a table with bars, the largest change first."""
    most = max((abs(lever.each) for lever in levers), default=0) or 1
    rows = "".join(_lever_row(lever, most, system) for lever in levers)
    figures = "".join(f'<th class="figure">{plain(words)}</th>' for words in (f"each, {currency}", "then"))
    return (
        f"{heading(levers_sentence(levers, currency, system))}"
        '<table class="moldkit-levers" aria-label="What changes the price">'
        f'<thead><tr><th>One change</th><th class="bars"></th>{figures}</tr></thead><tbody>{rows}</tbody></table>'
    )


def _lever_row(lever: Lever, most: int, system: System) -> str:
    share = 50 * abs(lever.each) / most
    kind, side = ("more", "left") if lever.each > 0 else ("less", "right")
    drawn = f'<i class="{kind}" style="{side}:50%;width:{share:.1f}%"></i>'
    bar = f'<span class="moldkit-bar" aria-hidden="true">{drawn}</span>'
    return (
        f'<tr><th scope="row">{own(lever_words(lever, system))}</th><td class="bars">{bar}</td>'
        f'<td class="figure">{difference(lever.each)}</td><td class="figure">{money(lever.after.each)}</td></tr>'
    )


def card_html(name: str, offer: ClientOffer, made: str, changes: Sequence[str] = (), system: System = "metric") -> str:
    """Return one alternative as a card; changes: sentences on what differs from what was asked."""
    listed = card_rows(offer, made, system)
    rows = "".join(f'<tr><th scope="row">{plain(word)}</th><td>{own(value)}</td></tr>' for word, value in listed)
    told = "".join(f"<li>{own(line)}</li>" for line in changes)
    return (
        f'<section class="moldkit-card" aria-label="{plain(name)}"><h3>{own(name)}</h3>'
        f'<div class="price">{money(offer.asked.each)} {plain(offer.currency)} each</div><table>{rows}</table>'
        f"{f'<ul>{told}</ul>' if told else ''}</section>"
    )


def no_card_html(name: str, words: str) -> str:
    """Return the card of an alternative that has no price, with the reason."""
    head = f'<section class="moldkit-card" aria-label="{plain(name)}"><h3>{own(name)}</h3>'
    return f"{head}<p>{plain(words)}</p></section>"


def notes_html(label: str, notes: Iterable[tuple[str, str]]) -> str:
    """Return notes as a table, nothing where there are none; notes: the time in words and the text of each."""
    rows = "".join(f'<tr><th scope="row">{plain(at)}</th><td dir="auto">{plain(text)}</td></tr>' for at, text in notes)
    return f'<table class="moldkit-note-list" aria-label="{plain(label)}">{rows}</table>' if rows else ""


def shop_html(rows: Sequence[Sequence[str]], notes: Iterable[str], changes: Iterable[str]) -> str:
    """Return what only the shop sees: a table by run, notes on its terms, what its costs changed by."""
    head, *body = rows
    top = "".join(f'<th scope="col">{plain(cell)}</th>' for cell in head)
    lines = "".join(f"<tr>{''.join(f'<td>{plain(cell)}</td>' for cell in row)}</tr>" for row in body)
    told = "".join(f"<li>{own(line)}</li>" for line in (*notes, *changes))
    return (
        '<div class="moldkit-scroll"><table class="moldkit-shop-rows" aria-label="Shop view">'
        f"<thead><tr>{top}</tr></thead><tbody>{lines}</tbody></table></div><ul>{told}</ul>"
    )


def said_html(words: str, *, bad: bool = False) -> str:
    """Return a line that is read out; bad: it tells of trouble."""
    kind, role = ("moldkit-said bad", "alert") if bad else ("moldkit-said", "status")
    return f'<div class="{kind}" role="{role}">{own(words) if words else ""}</div>'
