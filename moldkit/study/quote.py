"""A quote from a comparison: what the shop sees of it, and what its client may."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from moldkit.economics.quote import Terms, between_breaks, break_even
from moldkit.errors import InputError
from moldkit.quantity import Quantity
from moldkit.shop import near_day
from moldkit.study.assess import Outcome
from moldkit.study.case import MOST_RUN, Case
from moldkit.study.client_offer import ClientOffer, OfferLine, OfferTable
from moldkit.study.compare import Comparison
from moldkit.study.letterhead import letterhead
from moldkit.study.quote_costs import figures_by, finish_of
from moldkit.study.quote_prices import RunPrices, offer_table
from moldkit.study.quote_terms import terms_of
from moldkit.study.quote_words import begins_later, mold_charge_notes, shop_notes, terms_in_words

__all__ = ["ClientOffer", "OfferLine", "OfferTable", "Quote", "QuoteLine", "quote"]

Whole = NDArray[np.int64]
# Runs that are listed where the terms name no breaks, up to twice the run asked for and at least a thousand; and those
# at which the price is drawn, which tell nothing of where the shop changes its way of working.
USUAL_RUNS = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1_000, 2_000, 5_000, 10_000, 20_000, 50_000, 100_000)
LISTED_TO = 1_000
EVERY_RUN_TO = 100
DRAWN_POINTS = 160


@dataclass(frozen=True)
class QuoteLine:
    """One run as the shop sees it.

    technique: the cheapest way; cost, overhead, profit, price: of the run, tax not included [money], the profit as it
    is once the price is rounded; attended: hands' time [s]; charge: what the client sees.
    """

    technique: str
    cost: float
    overhead: float
    profit: float
    price: float
    attended: float
    charge: OfferLine

    @property
    def margin(self) -> float:
        """Profit as a share of the price."""
        return self.profit / self.price

    @property
    def markup(self) -> float:
        """Profit as a share of cost and overhead."""
        return self.profit / (self.cost + self.overhead)

    def earned(self, labor_rate: float) -> float:
        """Return what attended time brings in once materials and overhead are paid [money/s]; labor_rate: [money/s]."""
        return labor_rate + self.profit / self.attended


@dataclass(frozen=True)
class Quote:
    """A quote as the shop sees it. date: of the quote; prices: of runs of every length."""

    prices: RunPrices
    date: datetime.date

    @property
    def result(self) -> Comparison:
        """The comparison that is quoted."""
        return self.prices.result

    @property
    def terms(self) -> Terms:
        """The terms it is quoted on."""
        return self.prices.terms

    @cached_property
    def outcome(self) -> Outcome:
        """The technique at the run asked for; raises InputError where nothing is feasible."""
        found = self.prices.outcome(self.result.case.run)
        if found is None:
            raise InputError(f"{self.result.case.name}: nothing works as asked, so there is no price to show a client.")
        return found

    @cached_property
    def asked(self) -> QuoteLine:
        """The run asked for."""
        return self.by_run((self.result.case.run,))[0]

    @cached_property
    def lines(self) -> tuple[QuoteLine, ...]:
        """The runs that are listed: the price breaks, else the usual ones, and the run asked for."""
        run, breaks = self.result.case.run, self.terms.price_breaks
        usual = [n for n in USUAL_RUNS if n <= self.prices.longest]
        return self.by_run(sorted({run, *({1, *breaks} if breaks else usual)}))

    def by_run(self, runs: Iterable[int]) -> tuple[QuoteLine, ...]:
        """Return what some runs come to; raises InputError where nothing is feasible."""
        assert self.outcome
        wanted = tuple(runs)
        known = self.prices.up_to(max(wanted))
        return tuple(_line(known, charge) for charge in known.lines(wanted) if charge is not None)

    @cached_property
    def break_even(self) -> int | None:
        """The casting with which the run's cost is covered, sold at the price of the run; None where it never is."""
        runs, charge = np.arange(1, self.result.case.run + 1), self.asked.charge
        cost, _, attended, _ = figures_by(self.result, self.outcome, self.prices.finish, runs)
        overhead = cost * self.terms.overhead + attended * self.terms.overhead_rate
        return break_even((charge.castings / charge.run * runs + charge.tooling) / 100, cost + overhead)

    @property
    def price(self) -> Quantity:
        """The price of the run asked for, tax not included, with its working."""
        line, total = self.asked, self.result.total(self.outcome)
        words = "cost of the run + further molds side by side + finish of each casting, as far as there are any"
        cost = Quantity("cost of what is quoted", line.cost, "money", words, () if total is None else (total,))
        overhead = Quantity("overhead", line.overhead, "money", "beyond what the labor rate holds", (cost,))
        words = "by markup, margin or target rate, once prices are rounded"
        profit = Quantity("profit", line.profit, "money", words, (cost, overhead))
        return Quantity("price of the run", line.price, "money", "cost + overhead + profit", (cost, overhead, profit))

    @property
    def notes(self) -> tuple[str, ...]:
        """What the shop should know of its own terms, in sentences."""
        castings, charge = self.prices.priced.castings, self.asked.charge
        before = between_breaks(castings / np.arange(1, castings.size + 1), self.terms.price_breaks)
        own = shop_notes(
            self.terms, labor_rate=self.prices.labor_rate, each=float(before[charge.as_for - 1]),
            rounded=charge.price_taken / 100, profit=self.asked.profit, least=charge.least,
        )  # fmt: skip
        return (*own, *mold_charge_notes(self._tooling, self.terms.currency), *self._begins_later())

    @cached_property
    def _tooling(self) -> tuple[tuple[int, int], ...]:
        """The runs listed with what the mold is charged at [cents]."""
        return tuple((line.charge.run, line.charge.tooling) for line in self.lines)

    def _begins_later(self) -> Iterator[str]:
        """Yield what to say where the job's first day is past."""
        planned, begins = self.result.case.start, self.prices.start
        if planned is not None and begins == self.date > planned:
            yield begins_later(planned, begins)

    def for_client(self) -> ClientOffer:
        """Return what a client may see; raises InputError where nothing is feasible."""
        case, shop, terms, prices = self.result.case, self.result.shop, self.terms, self.prices
        drawn = self._drawn()

        # A function and not a method of the quote: it is never written or copied with what a client is given.
        def priced(sizes: tuple[float, ...], runs: tuple[int, ...]) -> OfferTable:
            return offer_table(prices, sizes, runs)

        return ClientOffer(
            job=case.name,
            material=case.material,
            method=case.method,
            finish=prices.finish.words,
            longest=self.result.longest,
            run=case.run,
            letterhead=letterhead(shop, self.result.knowledge.folder),
            currency=terms.currency,
            date=self.date,
            valid_until=self.date + datetime.timedelta(days=terms.valid_days),
            start=prices.start,
            tax=terms.tax,
            tax_label=terms.tax_label,
            asked=self.asked.charge,
            lines=tuple(line.charge for line in self.lines),
            price_breaks=terms.price_breaks,
            runs=tuple(drawn.tolist()),
            each=tuple(prices.charges.each[drawn - 1].tolist()),
            terms=terms_in_words(terms, self.date, prices.start, shop.text("name")),
            _priced=priced,
        )

    def _drawn(self) -> Whole:
        run, farthest = self.result.case.run, max(LISTED_TO, self.result.case.run)
        spaced = np.round(np.geomspace(1, farthest, DRAWN_POINTS)).astype(np.int64)
        breaks = np.array([n for b in self.terms.price_breaks for n in (b - 1, b)], dtype=np.int64)
        runs = np.unique(np.concatenate([np.arange(1, EVERY_RUN_TO + 1), spaced, breaks, [run]]))
        return runs[(runs >= 1) & (runs <= farthest)]


def _line(prices: RunPrices, charge: OfferLine) -> QuoteLine:
    """Return a run as the shop sees it."""
    at, found = charge.run - 1, prices.figures
    cost, overhead, price = float(found.cost[at]), float(prices.priced.overhead[at]), charge.subtotal / 100
    name = prices.result.outcomes[found.technique[at]].name
    return QuoteLine(name, cost, overhead, price - cost - overhead, price, float(found.attended[at]), charge)


def quote(
    result: Comparison,
    *,
    terms: Terms | None = None,
    date: datetime.date | None = None,
    start: datetime.date | None = None,
) -> Quote:
    """Return the quote of a comparison.

    terms: in place of the shop's and the job's; date: of the quote, else today; start: first day of the work, else the
    job's; with neither no dates are told. Where the day of the quote is given, work begins on it if the job's first day
    is past by then. Raises InputError for terms that cannot be used, days that cannot be, and where nothing works.
    """
    case = result.case
    agreed = terms or terms_of(result.shop, case.quote)
    longest = min(MOST_RUN, max(LISTED_TO, 2 * case.run, *agreed.price_breaks))
    prices = RunPrices(result, agreed, finish_of(result.shop, case.quote), _first_day(case, date, start), longest)
    found = Quote(prices, date or datetime.date.today())
    assert found.outcome
    return found


def _first_day(case: Case, date: datetime.date | None, start: datetime.date | None) -> datetime.date | None:
    """Return the first day of the work: the one asked for, else the job's, but not before a quote's own day."""
    for day, what in ((date, "day of the quote"), (start, "first day of the work")):
        if day is not None:
            near_day(day, what)
    if date is None or (start or case.start) is None:
        return start or case.start
    if start is not None and start < date and start != case.start:
        raise InputError(
            f"first day of the work: {start} lies before the quote, which is of {date}; give a day from then on."
        )
    return max(date, start or case.start or date)
