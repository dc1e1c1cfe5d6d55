"""Offers made up for tests: prices of an invented shop, charged by the kit's own rules, with no model behind them."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from decimal import Decimal
from functools import cache
from typing import Any

import numpy as np

from moldkit.economics.quote import Charges, Terms, charges
from moldkit.study.client_offer import ClientOffer, OfferTable
from moldkit.study.letterhead import Letterhead

DAY = datetime.date(2026, 11, 25)
START = datetime.date(2026, 12, 1)
FARTHEST = 100_000
LISTED = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1_000)
LONGEST = 0.3
HEAD = Letterhead("Tidewater Lane Castings")
# A piece longer than this is not offered [m].
TOO_LONG = 0.43
PLAIN = Terms(markup=0.35)
# Every rule at once: the mold apart, price breaks, a least charge, tax, a coarse step.
MANY_RULES = Terms(
    markup=0.35, tooling="once", minimum_charge=Decimal(700), price_breaks=(5, 10, 25, 50, 100, 250, 1_000),
    tax=Decimal("0.0825"), tax_label="sales tax", rounding=Decimal("0.05"),
)  # fmt: skip
# Words that have broken pages before: markup, quotes, a script's end, writing from the right, marks that turn a line,
# a picture letter of several code points, a template's own marks, a formula.
HOSTILE = (
    "<img src=x onerror=alert(1)>", "</script><script>alert(2)</script>", "\"quoted\" & 'single'", "تمثال برونزي ראש",
    "\u202eturned", "👩\u200d🎨🏺", "{{offer}} {{style}} \\u003c", "=HYPERLINK(1)", "a" * 300,
    "]]> <!-- --> \u2028 \x00",
)  # fmt: skip
ALL_HOSTILE = " ".join(HOSTILE[:-2])


def made_offer(
    terms: Terms = PLAIN,
    *,
    run: int = 40,
    longest: float = LONGEST,
    job: str = "Harbour bell",
    material: str = "rigid urethane resin",
    finish: str = "",
    dearer: float = 1.0,
    start: datetime.date | None = START,
    head: Letterhead = HEAD,
    words: Sequence[str] = ("Prices hold for a month.",),
) -> ClientOffer:
    """Return an offer; dearer: how many times as much its castings cost."""

    def priced(sizes: tuple[float, ...], runs: tuple[int, ...]) -> OfferTable:
        at, can = np.array(runs) - 1, np.array([size <= TOO_LONG for size in sizes])[:, None]
        rows = [_charged(terms, size, dearer) for size in sizes]

        def cents(name: str) -> Any:
            return np.where(can, np.stack([getattr(row, name)[at] for row in rows]), -1)

        first, last = (
            tuple(tuple(_day(start, run, first) if good else None for run in runs) for good in can[:, 0])
            for first in (True, False)
        )
        return OfferTable(
            terms.currency, sizes, runs, cents("each"), cents("castings"), cents("tooling"), cents("subtotal"),
            cents("tax"), cents("total"), cents("as_for"), np.stack([row.least[at] for row in rows]) & can, first, last,
        )  # fmt: skip

    listed = sorted({run, *(terms.price_breaks or LISTED)})
    lines = priced((longest,), tuple(listed))
    told = tuple(line for place in range(len(listed)) if (line := lines.line(0, place)) is not None)
    return ClientOffer(
        job, material, "open pour", finish, longest, run, head, terms.currency, DAY,
        DAY + datetime.timedelta(days=terms.valid_days), start, terms.tax, terms.tax_label,
        next(line for line in told if line.run == run), told, terms.price_breaks,
        tuple(line.run for line in told), tuple(line.each for line in told), tuple(words), priced,
    )  # fmt: skip


@cache
def _charged(terms: Terms, size: float, dearer: float) -> Charges:
    """Charges of every run: a mold that wears out after thirty castings, and castings that grow with their surface."""
    runs = np.arange(1, FARTHEST + 1)
    scale = size / LONGEST
    mold, casting = 410.0 * scale**2.5, 23.457 * dearer * scale**2
    renewed = mold * np.ceil(runs / 30) * (0.4 if terms.tooling == "once" else 1.0)
    once = np.full(runs.shape, mold if terms.tooling == "once" else 0.0)
    return charges(renewed + casting * runs, once, terms)


def _day(start: datetime.date | None, run: int, first: bool) -> datetime.date | None:
    """The first casting is out on the second working day, and six a day from there; long runs are not planned."""
    return None if start is None or run > 10_000 else _working(start, 2 if first else 2 + run // 6)


@cache
def _working(start: datetime.date, days: int) -> datetime.date:
    """Return the working day so many days on."""
    weeks, rest = divmod(start.weekday() + days, 5)
    return start + datetime.timedelta(days=7 * weeks + rest - start.weekday())
