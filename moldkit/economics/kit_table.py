"""The cheapest kits for every amount: a dynamic programme over whole thousandths, and for large amounts its repeat."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from moldkit.errors import InputError
from moldkit.kit_sizes import FINE

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
# Prices are compared in billionths, or coarser where sums would leave the whole numbers of the machine.
PRICE_STEPS, WHOLE_MOST = 1e9, 2.0**61
# Prices for each unit of size nearer than this, as a share, are the same: a product's last digit decides nothing.
SAME = 1e-9
# A share by which an amount may fall short of a kit's size and still need no more: rounding, not rubber.
SHORT = 1e-9
# Longest table, in its own units.
MOST_CELLS = 1 << 21
# Mass and number of kits in one whole number: the mass above, the number below.
NUMBER_BITS = 24


@dataclass(frozen=True, eq=False)
class KitTable:
    """The cheapest kits for 0, 1, 2 .. n units, the least mass among equals, then the fewest kits.

    unit: what one unit is; sizes: in units, the largest first, and prices [money], shape (k,); money: cost, shape
    (n + 1,); mass: in units, shape (n + 1,); last: place of a size to take, shape (n + 1,); best: place of the size
    that all larger amounts take more of, one for each of its units; settled: whether they do from the table's end on.
    """

    unit: float
    sizes: tuple[int, ...]
    prices: tuple[float, ...]
    money: Floats
    mass: Whole
    last: NDArray[np.int8]
    best: int
    settled: bool

    def totals(self, units: Whole) -> tuple[Floats, Whole]:
        """Return (cost [money], mass in units) of the cheapest kits for amounts in units, any shape."""
        more, rest = self._beyond(units)
        money = self.money[rest] + more * self.prices[self.best]
        return np.asarray(money), np.asarray(self.mass[rest] + more * self.sizes[self.best])

    def counts(self, units: int) -> list[int]:
        """Return how many kits of each size an amount takes, in the order of `sizes`."""
        more, rest = (int(part) for part in self._beyond(np.asarray(units)))
        found = [0] * len(self.sizes)
        found[self.best] = more
        while rest > 0:
            place = int(self.last[rest])
            found[place] += 1
            rest -= self.sizes[place]
        return found

    def _beyond(self, units: Whole) -> tuple[Whole, Whole]:
        """Return how many kits of the best size come on top, and the units that remain for the table."""
        end = self.money.size - 1
        more = np.maximum(0, -((end - units) // self.sizes[self.best]))
        return more, units - more * self.sizes[self.best]


def kit_table(sizes: tuple[float, ...], prices: tuple[float, ...], most: float) -> KitTable:
    """Return the table of the cheapest kits that serves amounts up to `most`, and any amount where it is settled.

    sizes: what a kit holds, multiples of 0.001; prices: of a kit [money]; in the order of their sizes, shape (k,).
    Raises InputError where amount and sizes would take a table of more than two million units.
    """
    fine = [round(size / FINE) for size in sizes]
    common = math.gcd(*fine)
    order = sorted(range(len(fine)), key=lambda place: -fine[place])
    units = tuple(fine[place] // common for place in order)
    wanted = max(1, math.ceil(most / (common * FINE)))
    return _table(units, tuple(prices[place] for place in order), common * FINE, 1 << (wanted - 1).bit_length())


@lru_cache(maxsize=32)
def _table(sizes: tuple[int, ...], prices: tuple[float, ...], unit: float, enough: int) -> KitTable:
    """Return the table, doubled until it repeats or is long enough.

    With c(a) the cheapest for a units and s, p the size of the lowest price for its units: where c(a) = c(a - s) + p
    holds over as many amounts as the largest kit has units, it holds ever after, since c(a) = min over the sizes of
    c(a - size) + price looks back no farther. Source: periodicity of the unbounded knapsack (Knapsack Problems, 1990).
    """
    whole = _whole_prices(sizes, prices)
    best = min(range(len(sizes)), key=lambda place: (whole[place] / sizes[place], place))
    length = min(enough, 2 * (sizes[0] + sizes[best]))
    while True:
        if length > MOST_CELLS:
            raise InputError(
                f"kits of {', '.join(f'{size * unit:g}' for size in reversed(sizes))}: have no measure in common that "
                "would let so large an amount be reckoned out; round the sizes to a tenth or a whole of their unit."
            )
        cost, money, key, last = _filled(sizes, whole, prices, length)
        settled = _repeats(cost, key, sizes, whole, best)
        if settled or length == enough:
            return KitTable(unit, sizes, prices, money, key >> NUMBER_BITS, last, best, settled)
        length = min(2 * length, enough)


def _whole_prices(sizes: tuple[int, ...], prices: tuple[float, ...]) -> tuple[int, ...]:
    """Return prices as whole numbers, so that sums of equal cost are equal; size x one price stays just that."""
    cheapest = min(price / size for price, size in zip(prices, sizes, strict=True))
    top = cheapest * (MOST_CELLS + 2 * sizes[0]) + 2 * max(prices)
    steps = min(PRICE_STEPS, 10.0 ** math.floor(math.log10(WHOLE_MOST / top)))
    each = [price / size for price, size in zip(prices, sizes, strict=True)]
    found = []
    for size, price, rate in zip(sizes, prices, each, strict=True):
        alike = [other for other in each if abs(other - rate) <= SAME * rate]
        found.append(round(alike[0] * steps) * size if len(alike) > 1 else round(price * steps))
    return tuple(found)


def _filled(
    sizes: tuple[int, ...], whole: tuple[int, ...], prices: tuple[float, ...], length: int
) -> tuple[Whole, Floats, Whole, NDArray[np.int8]]:
    """Return (cost in whole steps, cost [money], mass and number in one key, place of a size to take) by amount.

    Amounts within the smallest kit of each other hang on smaller ones only, so that many are filled in at once.
    """
    before = sizes[0]
    cost = np.zeros(before + length + 1, dtype=np.int64)
    money, key, last = np.zeros(cost.size), np.zeros_like(cost), np.zeros(cost.size, dtype=np.int8)
    for start in range(before + 1, cost.size, sizes[-1]):
        here = slice(start, min(start + sizes[-1], cost.size))
        for place, (size, step) in enumerate(zip(sizes, whole, strict=True)):
            there = slice(here.start - size, here.stop - size)
            other_cost, other_key = cost[there] + step, key[there] + ((size << NUMBER_BITS) + 1)
            if place == 0:
                better = np.ones(other_cost.size, dtype=bool)
            else:
                better = (other_cost < cost[here]) | ((other_cost == cost[here]) & (other_key < key[here]))
            cost[here][better], key[here][better] = other_cost[better], other_key[better]
            money[here][better], last[here][better] = money[there][better] + prices[place], place
    return cost[before:], money[before:], key[before:], last[before:]


def _repeats(cost: Whole, key: Whole, sizes: tuple[int, ...], whole: tuple[int, ...], best: int) -> bool:
    """Return whether the table's last amounts, as many as the largest kit has units, take one more of the best kit."""
    size, end = sizes[best], cost.size
    first = end - sizes[0]
    if first - size < 0:
        return False
    one_more = (size << NUMBER_BITS) + 1
    return bool(
        np.all(cost[first:] == cost[first - size : end - size] + whole[best])
        and np.all(key[first:] == key[first - size : end - size] + one_more)
    )
