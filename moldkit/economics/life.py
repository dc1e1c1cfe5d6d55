"""Mold life: how many pours one mold gives, as a distribution over whole pours."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from moldkit.quantity import Quantity
from moldkit.tables import Row, load_table

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class LifeTables:
    """Rows of mold_life.csv by (rubber, casting) and of life_factors.csv by (kind, value)."""

    pairs: Mapping[tuple[str, str], Row]
    factors: Mapping[tuple[str, str], Row]


def load_life(folder: Path) -> LifeTables:
    """Return the life tables of a data folder; raises InputError for the first fault."""
    return LifeTables(
        {(row.text("rubber"), row.text("casting")): row for row in load_table(folder, "mold_life")},
        {(row.text("kind"), row.text("value")): row for row in load_table(folder, "life_factors")},
    )


@dataclass(frozen=True)
class Life:
    """Pours one mold gives: certain (`spread` 0), or Weibull with a median and a coefficient of variation.

    median: [pours]; spread: coefficient of variation from mold to mold [-]. The distribution is made whole by
    ceiling: f(k) = F(k) - F(k-1), k >= 1.
    """

    median: float
    spread: float

    @property
    def certain(self) -> bool:
        """Whether every mold gives the same number of pours."""
        return self.spread == 0.0

    @cached_property
    def chances(self) -> Floats:
        """f(k): chance that a mold's life is k pours; index 0 is always 0."""
        if self.certain:
            chances = np.zeros(max(1, math.ceil(self.median - 1e-9)) + 1)
            chances[-1] = 1.0
            return chances
        shape = weibull_shape(self.spread)
        scale = self.median / math.log(2.0) ** (1.0 / shape)
        longest = max(2, math.ceil(scale * 36.0 ** (1.0 / shape)))
        k = np.arange(longest + 1, dtype=float)
        chances = np.diff(-np.expm1(-((k / scale) ** shape)), prepend=0.0)
        return np.asarray(chances / chances.sum())

    @cached_property
    def mean(self) -> float:
        """Mean life [pours]."""
        return float(self.chances @ np.arange(self.chances.size))

    @cached_property
    def sd(self) -> float:
        """Standard deviation from mold to mold [pours]."""
        k = np.arange(self.chances.size)
        return math.sqrt(max(0.0, float(self.chances @ (k - self.mean) ** 2)))

    def quantile(self, share: float) -> int:
        """Return the least whole number of pours within which this share of molds is worn out."""
        return int(np.searchsorted(np.cumsum(self.chances), share - 1e-12))


@lru_cache(maxsize=1024)
def weibull_shape(spread: float) -> float:
    """Return the Weibull shape whose coefficient of variation is `spread` [-], by bisection.

    var/mean^2 = Gamma(1 + 2/b) / Gamma(1 + 1/b)^2 - 1. Holds for 0.01 to 2.
    """

    def variation(shape: float) -> float:
        ratio = math.lgamma(1 + 2 / shape) - 2 * math.lgamma(1 + 1 / shape)
        return math.sqrt(math.expm1(ratio))

    low, high = 0.3, 200.0
    for _ in range(100):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if variation(middle) > spread else (low, middle)
    return 0.5 * (low + high)


def life_row(tables: LifeTables, rubber: Row, casting: Row) -> Row | None:
    """Return the life row of a pair, the grade's own before its family's; None where there is none."""
    for rubber_word in (rubber.name, rubber.text("family")):
        for casting_word in (casting.name, casting.text("family")):
            if (rubber_word, casting_word) in tables.pairs:
                return tables.pairs[rubber_word, casting_word]
    return None


def median_life(tables: LifeTables, row: Row | None, own: Quantity | None, uses: Mapping[str, str]) -> Quantity | None:
    """Return the median life [pours]: the job's own, else the table's, times the factors of its use.

    uses: kind of factor -> value ("method": "pressure", ...). None where nothing is known of the pair.
    """
    base = own if own is not None else (row.quantity("life") if row is not None else None)
    if base is None:
        return None
    factors = [
        tables.factors[kind, value].quantity("factor")
        for kind, value in uses.items()
        if (kind, value) in tables.factors
    ]
    value = base.value * math.prod(q.value for q in factors)
    words = "median of the pair x factors for method, undercut, wall and release"
    return Quantity("median mold life", value, "pours", words, (base, *factors), base.source)
