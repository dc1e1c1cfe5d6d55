"""What a client may see of a quote: prices, dates, terms, and nothing of what the work costs the shop."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

import numpy as np
from numpy.typing import NDArray

from moldkit.errors import InputError
from moldkit.study.case import LEAST_SIDE, MOST_RUN, MOST_SIDE
from moldkit.study.letterhead import Letterhead
from moldkit.units import count_text, show

Whole = NDArray[np.int64]
MOST_SIZES, MOST_RUNS = 1_000, 10_000


@dataclass(frozen=True)
class OfferLine:
    """What one run is charged [whole cents], and when it is out.

    each: what a casting comes to, castings / run to the cent; castings: of all of them; tooling: the mold's charge;
    subtotal: castings + tooling, or the minimum charge where `least`; total: subtotal + tax; as_for: the run whose
    price is taken, this one or a longer one that comes cheaper; dates: None where no start is given or the run is too
    long to plan.
    """

    run: int
    each: int
    castings: int
    tooling: int
    subtotal: int
    tax: int
    total: int
    as_for: int
    least: bool
    first_casting: datetime.date | None = None
    delivery: datetime.date | None = None

    @property
    def price_taken(self) -> int:
        """Price of a casting in the run whose price is taken [whole cents]; as_for times it is castings."""
        return self.castings // self.as_for


CENTS = ("each", "castings", "tooling", "subtotal", "tax", "total", "as_for")


@dataclass(frozen=True, eq=False)
class OfferTable:
    """Charges over sizes and runs [whole cents], shape (s, r), below zero where the piece cannot be made so.

    sizes: longest side of the piece [m]; runs; each, castings, tooling, subtotal, tax, total, as_for, least: as in
    `OfferLine`; first_casting, delivery: None where there is no date.
    """

    currency: str
    sizes: tuple[float, ...]
    runs: tuple[int, ...]
    each: Whole
    castings: Whole
    tooling: Whole
    subtotal: Whole
    tax: Whole
    total: Whole
    as_for: Whole
    least: NDArray[np.bool_]
    first_casting: tuple[tuple[datetime.date | None, ...], ...]
    delivery: tuple[tuple[datetime.date | None, ...], ...]

    def line(self, size: int, run: int) -> OfferLine | None:
        """Return one cell by its places among sizes and runs; None where the piece cannot be made so."""
        each, castings, tooling, subtotal, tax, total, as_for = (int(getattr(self, name)[size, run]) for name in CENTS)
        if each < 0:
            return None
        return OfferLine(
            self.runs[run], each, castings, tooling, subtotal, tax, total, as_for, bool(self.least[size, run]),
            self.first_casting[size][run], self.delivery[size][run],
        )  # fmt: skip

    def record(self) -> dict[str, Any]:
        """Return the table as plain values: whole cents, dates as year-month-day, null where there is none."""
        figures = {name: _nulls(getattr(self, name), self.each) for name in CENTS}
        return {
            "schema": 1,
            "currency": self.currency,
            "sizes_m": list(self.sizes),
            "runs": list(self.runs),
            **figures,
            "least": _nulls(self.least.astype(np.int64), self.each),
            "first_casting": _iso(self.first_casting),
            "delivery": _iso(self.delivery),
        }


def _nulls(figures: Whole, each: Whole) -> list[list[int | None]]:
    rows = zip(figures.tolist(), each.tolist(), strict=True)
    return [[None if e < 0 else f for f, e in zip(*row, strict=True)] for row in rows]


def _iso(dates: Sequence[Sequence[datetime.date | None]]) -> list[list[str | None]]:
    return [[None if day is None else day.isoformat() for day in row] for row in dates]


# From sizes [m] and runs to the table of charges.
Priced = Callable[[tuple[float, ...], tuple[int, ...]], OfferTable]


@dataclass(frozen=True)
class ClientOffer:
    """A quote as a client sees it; money in whole cents.

    job: its name; material, method, finish: in words; longest: side of the piece [m]; run: asked for; asked: what it is
    charged; lines: the runs listed, the one asked for among them; price_breaks: runs from which a lower price holds,
    none where each run has its own; runs, each: the price of a casting over the run, to be drawn; terms: sentences.
    """

    job: str
    material: str
    method: str
    finish: str
    longest: float
    run: int
    letterhead: Letterhead
    currency: str
    date: datetime.date
    valid_until: datetime.date
    start: datetime.date | None
    tax: Decimal
    tax_label: str
    asked: OfferLine
    lines: tuple[OfferLine, ...]
    price_breaks: tuple[int, ...]
    runs: tuple[int, ...]
    each: tuple[int, ...]
    terms: tuple[str, ...]
    _priced: Priced = field(repr=False, compare=False)

    def table(self, sizes: Iterable[float], runs: Iterable[int]) -> OfferTable:
        """Return the charges over longest sides [m] and runs, exact to the cent.

        Raises InputError for no size or run, too many, or one out of bounds.
        """
        wanted = tuple(float(size) for size in sizes), tuple(int(run) for run in runs)
        for what, given, most in (("sizes", wanted[0], MOST_SIZES), ("runs", wanted[1], MOST_RUNS)):
            if not 1 <= len(given) <= most:
                raise InputError(f"offer: {count_text(len(given))} {what}; give 1 to {count_text(most)}.")
        for size in wanted[0]:
            if not LEAST_SIDE * (1 - 1e-9) <= size <= MOST_SIDE * (1 + 1e-9):
                raise InputError(f"offer: a size of {show(size, 'm')} is outside 5 mm to 5 m.")
        for run in wanted[1]:
            if not 1 <= run <= MOST_RUN:
                raise InputError(f"offer: a run of {run} is outside 1 to {count_text(MOST_RUN)}.")
        return self._priced(*wanted)
