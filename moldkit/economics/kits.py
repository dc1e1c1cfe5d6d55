"""Material comes in whole kits: the cheapest combination of kit sizes that covers an amount."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from moldkit.economics.kit_table import SHORT, kit_table
from moldkit.errors import InputError
from moldkit.kit_sizes import FINE, MOST_PRICE
from moldkit.units import System, count_text, show

Floats = NDArray[np.float64]
MOST_SIZE = 10_000.0


@dataclass(frozen=True)
class KitPurchase:
    """Kits bought for an amount.

    counts: (what a kit holds, how many), the largest first, none of which is 0; mass: what they hold; cost [money];
    left_over: mass - amount; all in `unit`, the kilogram or what the material is sold by.
    """

    counts: tuple[tuple[float, int], ...]
    mass: float
    cost: float
    left_over: float
    unit: str = "kg"

    @property
    def words(self) -> str:
        """What to buy, in metric units: "2 x 20 kg and 1 x 5 kg"."""
        return self.words_in("metric")

    def words_in(self, system: System) -> str:
        """Return what to buy in words; "nothing" for no amount."""
        parts = [f"{count_text(count)} x {show(size, self.unit, system)}" for size, count in self.counts]
        if not parts:
            return "nothing"
        return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"


def cheapest_kits(
    amount_kg: float, sizes: Sequence[float], prices: Sequence[float], *, unit: str = "kg"
) -> KitPurchase:
    """Return the cheapest kits that hold at least an amount: at equal cost the least left over, then the fewest kits.

    amount_kg: [kg], or in `unit`; sizes: what a kit holds, to a thousandth, shape (k,) [kg]; prices: of one kit of each
    size, shape (k,) [money]. Exact. Raises InputError for an amount that is none, and for sizes or prices that are no
    kit's.
    """
    if not (math.isfinite(amount_kg) and amount_kg >= 0.0):
        raise InputError(f"kits: {amount_kg!r} is not an amount; give a number that is not below zero.")
    _check(sizes, prices)
    table = kit_table(tuple(sizes), tuple(prices), amount_kg)
    numbers = table.counts(int(_in_units(amount_kg, table.unit)))
    bought = [(size, n, price) for size, n, price in zip(table.sizes, numbers, table.prices, strict=True) if n]
    counts = tuple((round(size * table.unit, 3), n) for size, n, _ in bought)
    mass = math.fsum(size * n for size, n in counts)
    return KitPurchase(counts, mass, math.fsum(price * n for _, n, price in bought), max(0.0, mass - amount_kg), unit)


def kit_totals(amounts: Any, sizes: Sequence[float], prices: Sequence[float]) -> tuple[Floats, Floats]:
    """Return (cost [money], mass bought [kg]) of the cheapest kits for many amounts, each as by `cheapest_kits`.

    amounts: [kg], any shape, not below zero; sizes [kg] and prices [money] of a kit, shape (k,). Raises InputError as
    `cheapest_kits` does.
    """
    asked = np.asarray(amounts, dtype=float)
    if not np.all(np.isfinite(asked) & (asked >= 0.0)):
        raise InputError("kits: an amount is not a number, or below zero; give amounts that are not below zero.")
    _check(sizes, prices)
    table = kit_table(tuple(sizes), tuple(prices), float(asked.max(initial=0.0)))
    money, units = table.totals(_in_units(asked, table.unit))
    return money, np.asarray(units * table.unit)


def _in_units(amount: Any, unit: float) -> NDArray[np.int64]:
    """Return an amount as the least whole number of units that hold it."""
    return np.asarray(np.ceil(np.asarray(amount) / unit * (1.0 - SHORT))).astype(np.int64)


def _check(sizes: Sequence[float], prices: Sequence[float]) -> None:
    """Raise InputError for sizes or prices that are no kit's."""
    if not sizes or len(sizes) != len(prices):
        raise InputError(f"kits: {len(sizes)} sizes and {len(prices)} prices; give at least one size, each its price.")
    if len(set(sizes)) < len(sizes):
        raise InputError(f"kits: a size stands twice among {', '.join(f'{size:g}' for size in sizes)}; remove one.")
    for size, price in zip(sizes, prices, strict=True):
        whole = math.isfinite(size) and abs(size / FINE - round(size / FINE)) <= 1e-6
        if not (whole and FINE <= size <= MOST_SIZE):
            raise InputError(f"kits: {size!r} is no size of 0.001 to 10000 in whole thousandths; round it.")
        if not (math.isfinite(price) and 0.0 < price <= MOST_PRICE):
            raise InputError(f"kits: {price!r} is no price of a kit; give one above zero, a million at the most.")
