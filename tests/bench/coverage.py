"""`python -m tests.bench.coverage [logs a cell]`: how often bounds on the mold life contain the truth.

Shops are simulated whose true life is known; their logs are cut as logs are, and the 90 % bounds on the median and on
the 10 % life are asked whether they hold it.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldkit.economics.life import weibull_shape
from moldkit.economics.lifetimes.bounds import plausible
from moldkit.economics.lifetimes.fit import fit_weibull
from moldkit.economics.lifetimes.no_failures import least_median

Floats = NDArray[np.float64]
MEDIAN = 45.0
SHARES = (0.5, 0.1)
SPREADS, SIZES, IN_USE = (0.15, 0.3, 0.5), (10, 20, 40), (0.3, 0.5, 0.7)
KINDS = ("run over", "looked at any day", "closed at a failure")


@dataclass(frozen=True)
class Shop:
    """A shop whose true life is known: Weibull with median 45 pours, made whole by ceiling."""

    spread: float
    molds: int
    in_use: float
    kind: str

    @property
    def shape(self) -> float:
        """Shape of the life."""
        return weibull_shape(self.spread)

    def life(self, share: float) -> float:
        """Return the life that a share of molds stays below [pours]."""
        return MEDIAN * float((-math.log1p(-share) / math.log(2.0)) ** (1.0 / self.shape))

    def log(self, chance: np.random.Generator) -> tuple[Floats, NDArray[np.bool_]]:
        """Return castings and whether worn out, each shape (molds,); about `in_use` of the molds are still good.

        run over: all molds were used for the same number of castings; looked at any day: each has given a number of
        castings of its own, even between none and a most; closed at a failure: the log ends with the wanted failure.
        """
        lives = np.ceil(self.life(1.0 - math.exp(-1.0)) * chance.weibull(self.shape, self.molds))
        if self.kind == "run over":
            cut = np.full(self.molds, math.ceil(self.life(1.0 - self.in_use)))
        elif self.kind == "looked at any day":
            cut = np.ceil(chance.uniform(0.0, self._most(), self.molds))
        else:
            cut = np.full(self.molds, np.sort(lives)[round(self.molds * (1.0 - self.in_use)) - 1])
        return np.minimum(lives, cut), lives <= cut

    def _most(self) -> float:
        """Return the most castings so that a mold seen at an even moment before it is still good with `in_use`."""
        ends = np.linspace(0.0, 10.0 * MEDIAN, 20_001)[1:]
        good = np.cumsum(np.exp(-((ends / self.life(1.0 - math.exp(-1.0))) ** self.shape))) / np.arange(1, 20_001)
        return float(ends[np.argmax(good < self.in_use)])


def covered(shop: Shop, chance: np.random.Generator) -> tuple[bool, bool]:
    """Return whether the 90 % bounds of one log hold the true median, and the true 10 % life.

    A log without a failure gives a lower bound, at 95 % and for the usual spread: one side of 90 %.
    """
    castings, worn = shop.log(chance)
    if not worn.any():
        held = (least_median(castings, worn, confidence=0.95, share=share).life <= shop.life(share) for share in SHARES)
    else:
        fit = fit_weibull(castings, worn, whole=True)
        held = (plausible(fit, share, shop.life(share), 0.9) for share in SHARES)
    median, tenth = held
    return median, tenth


def coverage(shop: Shop, times: int, seed: int) -> Floats:
    """Return the shares of simulated logs whose bounds hold the median and the 10 % life, shape (2,)."""
    chance = np.random.default_rng(seed)
    return np.asarray(np.mean([covered(shop, chance) for _ in range(times)], axis=0))


def run(times: int = 100) -> None:
    """Print the coverage for every true spread, size, share in use and way in which a log is cut."""
    print(f"coverage of 90 % bounds, {times} logs a cell: median / 10 % life, %; true spread across, {MEDIAN:g} pours")
    print(f"{'molds':>6} {'in use':>7}  {'log':20}" + "".join(f"{f'spread {spread:g}':>15}" for spread in SPREADS))
    found: dict[Shop, Floats] = {}
    for row, (size, share, kind) in enumerate(_rows()):
        shops = [Shop(spread, size, share, kind) for spread in SPREADS]
        found |= {shop: coverage(shop, times, 100 * row + place) for place, shop in enumerate(shops)}
        cells = "".join(f"{100 * found[shop][0]:9.0f} / {100 * found[shop][1]:3.0f}" for shop in shops)
        print(f"{size:6} {share:7.0%}  {kind:20}{cells}", flush=True)
    for size in SIZES:
        median, tenth = np.mean([held for shop, held in found.items() if shop.molds == size], axis=0)
        print(f"{size:6} molds: median {100 * median:.1f} %, 10 % life {100 * tenth:.1f} %")
    worst, best = (f(float(f(held)) for held in found.values()) for f in (min, max))
    error = 60 / math.sqrt(times)
    print(f"cells from {100 * worst:.0f} to {100 * best:.0f} %; one cell is known within {error:.0f} % or so")


def _rows() -> Iterator[tuple[int, float, str]]:
    return ((size, share, kind) for size in SIZES for share in IN_USE for kind in KINDS)


if __name__ == "__main__":
    run(*(int(word) for word in sys.argv[1:]))
