"""Prices of runs of every length for one piece at one size, as far as they are wanted, and their dates."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from moldkit.economics.quote import Charges, Priced, Terms, charges, price_of
from moldkit.study.assess import Outcome, assess
from moldkit.study.case import MOST_RUN
from moldkit.study.client_offer import CENTS, OfferLine, OfferTable
from moldkit.study.compare import Comparison
from moldkit.study.quote_costs import Finish, RunFigures, run_figures
from moldkit.study.quote_dates import Dates, run_dates

Whole = NDArray[np.int64]
NO_DATES: tuple[None, None] = (None, None)


@dataclass(frozen=True)
class RunPrices:
    """What runs of one piece cost the shop and what they are sold for, by run: index 0 is one casting.

    finish: of each casting; start: first day of the work, None where no dates are told; longest: the run up to which
    prices are final; the arrays may go farther.
    """

    result: Comparison
    terms: Terms
    finish: Finish
    start: datetime.date | None
    longest: int

    @property
    def labor_rate(self) -> float:
        """What an attended time costs the shop [money/s]."""
        return self.result.shop.quantity("labor_rate").at(0)

    @cached_property
    def figures(self) -> RunFigures:
        """What each run costs the shop."""
        return run_figures(self.result, self.finish, self._far_enough())

    @cached_property
    def priced(self) -> Priced:
        """What each run is sold for before it is rounded."""
        return self._priced(self.figures)

    @cached_property
    def charges(self) -> Charges:
        """What each run is charged, to the cent."""
        return charges(self.priced.castings, self.priced.tooling, self.terms)

    def _priced(self, found: RunFigures) -> Priced:
        return price_of(
            found.cost, found.first, self.terms, attended=found.attended, tooling_attended=found.first_attended,
            labor_rate=self.labor_rate,
        )  # fmt: skip

    def _far_enough(self) -> int:
        """Return the run beyond which none can come cheaper than one that is wanted.

        A longer run is at least its pours: once these alone, less what rounding takes off, come to more than the
        longest run wanted, no price hangs on it. With price breaks and whole kits every run may matter.
        """
        if self.terms.price_breaks or self.result.case.whole_kits:
            return MOST_RUN
        wanted = self._priced(run_figures(self.result, self.finish, self.longest))
        dearest = charges(wanted.castings, wanted.tooling, self.terms)
        able = [outcome for outcome in self.result.outcomes if not outcome.stop_at() and outcome.life is not None]
        each = min((self._of_pours(outcome) for outcome in able), default=0.0) - self.terms.step / 2
        if each <= 0:
            return MOST_RUN
        enough = (int(dearest.castings[-1]) + int(dearest.tooling[-1])) / each
        return max(self.longest, int(min(MOST_RUN, enough + 2)))

    def _of_pours(self, outcome: Outcome) -> float:
        """Return what a casting's share of a pour alone is sold for [cents]."""
        attended = outcome.casting["attended"].at(0)
        of_pour = price_of(outcome.pour.at(0), 0.0, self.terms, attended=attended, labor_rate=self.labor_rate)
        return float(100 * of_pour.price / (self.result.case.good_share * outcome.plan.cavities))

    def outcome(self, run: int) -> Outcome | None:
        """Return the technique that a run is made by, None where nothing is feasible."""
        place = int(self.figures.technique[run - 1])
        return self.result.outcomes[place] if place >= 0 else None

    def lines(self, runs: Iterable[int]) -> tuple[OfferLine | None, ...]:
        """Return what runs are charged, with their dates; None where nothing is feasible."""
        wanted = tuple(runs)
        dates = self.dates(wanted)
        return tuple(None if self.outcome(run) is None else self._line(run, dates.get(run)) for run in wanted)

    def _line(self, run: int, dates: Dates | None) -> OfferLine:
        at, known = run - 1, self.charges
        first, last = NO_DATES if dates is None else (dates.first_casting, dates.delivery)
        return OfferLine(
            run, int(known.each[at]), int(known.castings[at]), int(known.tooling[at]), int(known.subtotal[at]),
            int(known.tax[at]), int(known.total[at]), int(known.as_for[at]), bool(known.least[at]), first, last,
        )  # fmt: skip

    def dates(self, runs: Iterable[int]) -> dict[int, Dates]:
        """Return when runs are out, each made the way it is priced; none without a start.

        None is dated before a shorter one, though that be made in a slower way.
        """
        wanted = set(runs)
        if self.start is None or not wanted:
            return {}
        by_technique: dict[int, list[int]] = {}
        for run in sorted(wanted | self._last_of_their_way(max(wanted))):
            by_technique.setdefault(int(self.figures.technique[run - 1]), []).append(run)
        found: dict[int, Dates] = {}
        for place, own in by_technique.items():
            if place >= 0:
                found |= run_dates(self.result, self.result.outcomes[place], own, self.start, self.finish)
        latest: Dates | None = None
        for run in sorted(found):
            latest = found[run] = found[run].not_before(latest)
        return {run: dates for run, dates in found.items() if run in wanted}

    def _last_of_their_way(self, most: int) -> set[int]:
        """Return the runs below `most` after which another technique is the cheapest."""
        return {int(run) for run in np.flatnonzero(np.diff(self.figures.technique[:most])) + 1}

    def up_to(self, run: int) -> RunPrices:
        """Return the prices, final at least up to a run."""
        return self if run <= self.longest else replace(self, longest=run)

    def at_size(self, side: float) -> RunPrices:
        """Return the prices of a piece of another longest side [m]; a chosen skin stays, as far as it can."""
        before, skin = self.result, self.result.case.skin
        case = replace(before.case, longest=side, skin=None if skin is None else min(skin, side / 2))
        outcomes = assess(case, before.knowledge, before.reading)
        result = Comparison(case, before.knowledge, before.reading, outcomes)
        return replace(self, result=result, finish=self.finish.at(side / before.longest))

    def columns(self, runs: tuple[int, ...]) -> tuple[dict[str, Whole], NDArray[np.bool_]]:
        """Return what runs are charged by column [cents], below zero where nothing is feasible, and `least`."""
        at, known = np.array(runs) - 1, self.charges
        can = self.figures.technique[at] >= 0
        return {name: np.where(can, getattr(known, name)[at], -1) for name in CENTS}, known.least[at] & can


def offer_table(prices: RunPrices, sizes: tuple[float, ...], runs: tuple[int, ...]) -> OfferTable:
    """Return the charges and dates of a piece over longest sides [m] and runs."""
    known = prices.up_to(max(runs))
    by_size = [known.at_size(size) for size in sizes]
    columns = [one.columns(runs) for one in by_size]
    days = [one.dates(runs) for one in by_size]

    def cents(name: str) -> Whole:
        return np.stack([figures[name] for figures, _ in columns])

    first, last = (
        tuple(tuple(getattr(found[run], name) if run in found else None for run in runs) for found in days)
        for name in ("first_casting", "delivery")
    )
    return OfferTable(
        prices.terms.currency, sizes, runs, cents("each"), cents("castings"), cents("tooling"), cents("subtotal"),
        cents("tax"), cents("total"), cents("as_for"), np.stack([least for _, least in columns]), first, last,
    )  # fmt: skip
