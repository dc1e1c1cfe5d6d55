"""What a client pays: the price of a casting over the run, at the shop's margin."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldkit.errors import InputError
from moldkit.study.compare import Comparison, run_costs
from moldkit.study.curves import drawn_runs

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
BREAKS = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1_000, 2_000, 5_000, 10_000, 20_000, 50_000, 100_000)


@dataclass(frozen=True)
class PriceTable:
    """Price of a casting by run, the cheapest feasible way: nothing of the shop's costs is in it.

    runs, prices: the curve, shape (r,); breaks: (run, price of a casting, price of the run); run: the one asked for.
    """

    runs: Whole
    prices: Floats
    breaks: tuple[tuple[int, float, float], ...]
    run: int
    price: float
    currency: str
    client: str
    material: str
    method: str
    shop: str


def price_table(result: Comparison, farthest: int = 1_000) -> PriceTable:
    """Return the price of a casting over the run: cost of the cheapest feasible technique x (1 + margin) / run.

    Prices are rounded to cents, and to whole units from 100 up, as they are quoted. Raises InputError when
    nothing is feasible.
    """
    if result.cheapest is None:
        raise InputError(f"{result.case.name}: nothing works as asked, so there is no price to show a client.")
    share = float(result.shop.quantity("client_margin").value)
    runs = drawn_runs(result, max(farthest, result.case.run))
    prices = _prices(result, runs, share)
    near = sorted({*(b for b in BREAKS if b <= max(farthest, 2 * result.case.run)), result.case.run})
    each = _prices(result, np.array(near, dtype=np.int64), share)
    breaks = tuple((run, float(price), float(np.round(price * run, 2))) for run, price in zip(near, each, strict=True))
    price = next(price for run, price, _ in breaks if run == result.case.run)
    name, case = result.shop.text("name"), result.case
    return PriceTable(
        runs, prices, breaks, case.run, price, result.currency, case.name, case.material, case.method, name
    )


def _prices(result: Comparison, runs: Whole, margin: float) -> Floats:
    costs = run_costs(result.outcomes, result.case, runs).min(axis=0) / runs * (1.0 + margin)
    return np.asarray(np.where(costs >= 100, np.round(costs), np.round(costs, 2)))
