"""A life fitted to molds by maximum likelihood: Weibull or lognormal, molds still in use counted as right-censored."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from moldkit.economics.lifetimes.families import (
    LEAST_SPREAD,
    LOGNORMAL,
    MOST_SPREAD,
    WEIBULL,
    Family,
    family_of,
    width_of,
)
from moldkit.economics.lifetimes.likelihood import log_likelihood
from moldkit.economics.lifetimes.molds import Molds, gathered, observed
from moldkit.economics.lifetimes.top import top
from moldkit.errors import InputError

Floats = NDArray[np.float64]
# A coefficient of variation that is held where the log cannot tell it: the likely one of the life table.
USUAL_SPREAD = 0.3
# Two fits whose AIC differ by less are not told apart (rule of thumb, from memory: Burnham and Anderson, 2002).
AIC_TIE = 2.0


@dataclass(frozen=True, eq=False)
class LifeFit:
    """A life fitted to molds.

    family: of lives; place, width: of log life; molds: what it was fitted to; whole: whether a failure at k pours is
    a life in (k-1, k]; log_likelihood: at its greatest; free: how many parameters were fitted (1 where the spread was
    held); note: what a reader must know of the fit, in words, empty where there is nothing.
    """

    family: Family
    place: float
    width: float
    molds: Molds
    whole: bool
    log_likelihood: float
    free: int = 2
    note: str = ""

    @property
    def aic(self) -> float:
        """Akaike's criterion: 2 x parameters - 2 x log-likelihood; the lower, the better."""
        return 2.0 * self.free - 2.0 * self.log_likelihood

    @property
    def parameters(self) -> Mapping[str, float]:
        """The usual parameters: Weibull scale [pours] and shape; lognormal mu and sigma of log life."""
        return self.family.parameters(self.place, self.width)

    @property
    def failures(self) -> float:
        """How many molds wore out."""
        return self.molds.failures

    @property
    def median(self) -> float:
        """The life that half of the molds stay below [pours]."""
        return self.quantile(0.5)

    @property
    def ten_percent_life(self) -> float:
        """The life that one mold in ten stays below [pours]."""
        return self.quantile(0.1)

    @property
    def mean(self) -> float:
        """Mean life [pours], before it is made whole."""
        return self.family.mean(self.place, self.width)

    @property
    def spread(self) -> float:
        """Coefficient of variation from mold to mold [-]."""
        return self.family.spread(self.width)

    @property
    def chances(self) -> Floats:
        """f(k): chance that a mold's life is k whole pours, as `Life.chances` has it; index 0 is 0."""
        longest = max(2, math.ceil(self.quantile(1.0 - 1e-10)))
        chances = -np.diff(self.survival(np.arange(longest + 1)), prepend=1.0)
        return np.asarray(chances / chances.sum())

    def quantile(self, share: float) -> float:
        """Return the life that this share of molds stays below [pours]."""
        return math.exp(self.place + self.width * self.family.quantile(share))

    def survival(self, castings: Any) -> Floats:
        """Return the share of molds that outlast so many castings, of any shape [-]."""
        given = np.asarray(castings, dtype=np.float64)
        with np.errstate(divide="ignore"):
            z = np.minimum((np.log(given) - self.place) / self.width, 600.0)
        return np.asarray(np.exp(self.family.log_survival(z)))


def fit_weibull(castings: Any, worn: Any, *, weight: Any = None, whole: bool = False) -> LifeFit:
    """Return the Weibull life that agrees best with the molds.

    castings: pours given so far, shape (n,) [pours]; worn: whether the mold is worn out, shape (n,); weight: molds an
    entry stands for, shape (n,), by default 1; whole: a failure at k pours is a life in (k-1, k], as the model counts,
    else exactly k. With one failure the spread is held at 0.3. Raises InputError without a failure (`least_median`
    then gives a lower bound) and for molds that cannot be. Spread of the answer: 0.01 to 2.
    """
    return fit_life(castings, worn, weight=weight, whole=whole, family="weibull")


def fit_lognormal(castings: Any, worn: Any, *, weight: Any = None, whole: bool = False) -> LifeFit:
    """Return the lognormal life that agrees best with the molds; arguments as of `fit_weibull`."""
    return fit_life(castings, worn, weight=weight, whole=whole, family="lognormal")


def fit_life(
    castings: Any,
    worn: Any,
    *,
    weight: Any = None,
    per_pour: Any = 1.0,
    whole: bool = True,
    family: str = "best",
    held: float = USUAL_SPREAD,
) -> LifeFit:
    """Return the life that agrees best with the molds.

    family: "weibull", "lognormal", or "best" by Akaike's criterion, where Weibull stays unless the other is better by
    2 and more; held: the spread [-] taken where one failure alone cannot tell it; per_pour: wear of one pour of a mold
    against one in the use that the life is for, a number or shape (n,) [-]; the rest as of `fit_weibull`.
    """
    molds = gathered(observed(castings, worn, weight), whole=whole, per_pour=per_pour)
    if molds.failures <= 0:
        raise InputError(
            f"life from the log: none of {molds.count:g} molds is worn out yet, so there is no life to fit; "
            "only a lower bound can be given."
        )
    if family != "best":
        return _fitted(family_of(family), molds, whole, held)
    weibull, lognormal = (_fitted(each, molds, whole, held) for each in (WEIBULL, LOGNORMAL))
    return lognormal if lognormal.aic < weibull.aic - AIC_TIE else weibull


def _fitted(family: Family, molds: Molds, whole: bool, held: float) -> LifeFit:
    """Return the best life of one family within the spreads that are looked for."""
    least, most = (width_of(family, spread) for spread in (LEAST_SPREAD, MOST_SPREAD))
    alone = molds.failures < 2
    if alone:
        least = most = width_of(family, held)
    place, width = top(family, molds, least, most, whole=whole)
    best = float(log_likelihood(family, molds, place, width, whole=whole))
    note = ""
    if alone:
        note = f"one mold is worn out: the spread from mold to mold is held at {held:g}"
    elif width <= least * 1.0001:
        note = "all molds wore out so nearly alike that the spread stands at the least that is looked for"
    elif width >= most / 1.0001:
        note = "the lives differ so widely that the spread stands at the greatest that is looked for"
    return LifeFit(family, place, width, molds, whole, best, 1 if alone else 2, note)
