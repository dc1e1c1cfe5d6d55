"""What a run is sold for: overhead, profit, the mold's charge, price breaks, the least charge, tax."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

import numpy as np
from numpy.typing import NDArray

from moldkit.economics.cents import MILLIONTHS, Whole, in_cents, part_of, share_of, step_in_cents
from moldkit.errors import InputError

Floats = NDArray[np.float64]
ONCE, SPREAD = "once", "spread"
SHOP, CLIENT = "shop", "client"
NO_PROFIT_GIVEN = "name one of markup (on cost), margin (on the price) and target rate (money an hour)"


@dataclass(frozen=True)
class Terms:
    """How a shop sells.

    overhead: put on cost [share]; or overhead_rate: put on attended time [money/s]. One of: markup, profit as a share
    of cost with its overhead; margin, profit as a share of the price; target_rate, what attended time brings in once
    materials and overhead are paid, in place of the wage [money/s]. minimum_charge: least for an order, tax not
    included [money]; tooling: the first mold is charged "once", as a line of its own, or "spread" over the castings;
    price_breaks: runs from which a lower price holds, none for a price of its own at each run; tax [share]; rounding:
    step of prices; mold_owner: "shop" or "client". Raises InputError for terms that cannot stand together.
    """

    overhead: float = 0.0
    overhead_rate: float = 0.0
    markup: float | None = None
    margin: float | None = None
    target_rate: float | None = None
    minimum_charge: Decimal = Decimal(0)
    tooling: str = SPREAD
    price_breaks: tuple[int, ...] = ()
    valid_days: int = 30
    tax: Decimal = Decimal(0)
    tax_label: str = "tax"
    currency: str = "USD"
    rounding: Decimal = Decimal("0.01")
    mold_owner: str = SHOP

    def __post_init__(self) -> None:
        """Check what one figure cannot tell by itself."""
        if sum(way is not None for way in (self.markup, self.margin, self.target_rate)) != 1:
            raise InputError(f"quote: {NO_PROFIT_GIVEN}, and only one.")
        if self.overhead and self.overhead_rate:
            raise InputError("quote: overhead stands twice, on cost and an hour; keep one of the two.")
        if self.margin is not None and not 0 <= self.margin < 1:
            raise InputError(f"quote: a margin of {self.margin:.0%} of the price leaves nothing for the cost.")
        if self.tax * MILLIONTHS != int(self.tax * MILLIONTHS):
            raise InputError("quote: tax has more than four decimals of a percent; round it.")
        step_in_cents(self.rounding)

    @property
    def step(self) -> int:
        """Step of prices [cents]."""
        return step_in_cents(self.rounding)


@dataclass(frozen=True)
class Priced:
    """Runs priced before they are rounded [money], all of one shape.

    cost; overhead; profit; castings: price of the castings, the mold's charge not in it; tooling: the mold's charge, 0
    where it is spread.
    """

    cost: Any
    overhead: Any
    profit: Any
    castings: Any
    tooling: Any

    @property
    def price(self) -> Any:
        """Price of the run, tax not included [money]."""
        return self.castings + self.tooling


def price_of(
    cost: Any, tooling: Any, terms: Terms, *, attended: Any = 0.0, tooling_attended: Any = 0.0, labor_rate: Any = 0.0
) -> Priced:
    """Return what runs are sold for, before rounding.

    Source: cost-plus, and time-and-materials pricing, any text on managerial accounting. cost: of the run, tooling
    included [money]; tooling: what of it the first mold is [money]; attended, tooling_attended: hands' time of both
    [s]; labor_rate: what cost holds for that time [money/s]. Arrays broadcast.
    """
    rates = (terms, labor_rate)
    overhead, price = _overhead(cost, attended, terms), _sold(cost, attended, *rates)
    charge = _sold(tooling, tooling_attended, *rates) if terms.tooling == ONCE else 0.0 * price
    return Priced(cost, overhead, price - cost - overhead, price - charge, charge)


def _overhead(cost: Any, attended: Any, terms: Terms) -> Any:
    return cost * terms.overhead + attended * terms.overhead_rate


def _sold(cost: Any, attended: Any, terms: Terms, labor_rate: Any) -> Any:
    whole = cost + _overhead(cost, attended, terms)
    if terms.target_rate is not None:
        return whole + attended * (terms.target_rate - labor_rate)
    if terms.margin is not None:
        return whole / (1.0 - terms.margin)
    return whole * (1.0 + (terms.markup or 0.0))


@dataclass(frozen=True)
class Charges:
    """What runs of 1, 2, ... castings are charged [whole cents], shape (..., runs).

    each: what a casting comes to, castings / run, rounded half up; tooling: the mold's charge; castings: the castings
    together; subtotal, tax, total; as_for: the run whose price is taken, the run itself or a longer one that is clearly
    cheaper; least: the minimum charge is taken. castings + tooling is the subtotal, but for `least`; castings is as_for
    times a price of whole steps.
    """

    each: Whole
    castings: Whole
    tooling: Whole
    subtotal: Whole
    tax: Whole
    total: Whole
    as_for: Whole
    least: NDArray[np.bool_]


def charges(castings: Floats, tooling: Floats, terms: Terms) -> Charges:
    """Return what runs of 1 to r castings are charged, to the cent.

    castings, tooling: prices before rounding [money], shape (..., r), not a number where there is no price.
    The rules: a price each is rounded half up to the step, and is one step at least. With price breaks it holds from
    one break to the next, and is the dearest of the runs between: none is sold below its terms by more than rounding
    takes off, half a step a casting. Where a longer run comes cheaper by a step a casting or more, its price is taken;
    what rounding alone makes cheaper is not. Then the minimum charge, then tax.
    """
    runs = np.arange(1, castings.shape[-1] + 1)
    known = np.isfinite(castings)
    one = np.where(known, castings, 0.0) / runs
    listed = np.maximum(in_cents(between_breaks(one, terms.price_breaks), terms.step), terms.step)
    charge = in_cents(np.where(known, tooling, 0.0), terms.step)
    as_for = _charged_as(np.where(known, listed * runs + charge, np.iinfo(np.int64).max), terms.step)
    taken, charge = (np.take_along_axis(cents, as_for - 1, axis=-1) for cents in (listed, charge))
    together, floor = taken * as_for, in_cents(float(terms.minimum_charge))
    least = np.asarray(together + charge < floor)
    subtotal = np.maximum(together + charge, floor)
    tax = share_of(subtotal, int(terms.tax * MILLIONTHS))
    return Charges(part_of(together, runs), together, charge, subtotal, tax, subtotal + tax, as_for, least)


def between_breaks(each: Floats, breaks: tuple[int, ...]) -> Floats:
    """Return prices of a casting as they hold from break to break: the dearest of the runs between.

    each: of runs of 1 to r castings [money], shape (..., r); breaks: runs, none for a price of its own at each run.
    """
    if not breaks:
        return each
    starts = sorted({1, *(run for run in breaks if run <= each.shape[-1])})
    dearest = np.maximum.reduceat(each, np.array(starts) - 1, axis=-1)
    return np.asarray(np.repeat(dearest, np.diff([*starts, each.shape[-1] + 1]), axis=-1))


def _charged_as(totals: Whole, step: int) -> Whole:
    """Return for each run whose price it has: its own, or that of the longer run that comes to the least.

    The longer one's where it comes to less by a step [cents] for each casting of the run or more; the first at a tie.
    """
    backwards = totals[..., ::-1]
    least = np.minimum.accumulate(backwards, axis=-1)[..., ::-1]
    runs = np.arange(1, totals.shape[-1] + 1)
    own = np.where(totals == least, runs, totals.shape[-1])
    cheapest = np.minimum.accumulate(own[..., ::-1], axis=-1)[..., ::-1]
    return np.where(totals - least >= step * runs, cheapest, runs)


def break_even(income: Floats, cost: Floats) -> int | None:
    """Return the first run, counted from 1, whose income covers its cost; None where none does.

    Source: break-even point, any text on managerial accounting. income, cost: of runs of 1, 2, ... [money], shape (r,).
    """
    covered = np.flatnonzero(income >= cost * (1.0 - 1e-12))
    return int(covered[0]) + 1 if covered.size else None
