"""What molds that are all still good tell: a lower bound on the life, for a stated spread."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from moldkit.economics.life import weibull_shape
from moldkit.economics.lifetimes.fit import USUAL_SPREAD
from moldkit.economics.lifetimes.molds import observed
from moldkit.errors import InputError


@dataclass(frozen=True)
class LeastLife:
    """A one-sided lower bound on the life that a share of molds stays below.

    life: [pours]; share: of molds, 0.5 for the median; confidence: that the life is no less; spread: the coefficient
    of variation it was reckoned for [-]; molds, failures: how many it rests on.
    """

    life: float
    share: float
    confidence: float
    spread: float
    molds: float
    failures: float


def least_median(
    castings: Any,
    worn: Any,
    *,
    weight: Any = None,
    spread: float = USUAL_SPREAD,
    confidence: float = 0.9,
    share: float = 0.5,
) -> LeastLife:
    """Return the life that the median is no less than, for Weibull lives of a known spread.

    scale >= (2 sum of castings^shape / chi-square(confidence; 2 failures + 2))^(1/shape), without a failure
    (sum of castings^shape / -log(1 - confidence))^(1/shape). Source: zero-failure bounds with the Weibull shape given,
    Applied Life Data Analysis (Wiley, 1982), chapter 10, from memory.
    castings, worn, weight: as of `fit_weibull`, with or without failures; spread: coefficient of variation [-], 0.01
    to 2; share: of molds, 0.5 for the median. Raises InputError where no mold has given a casting.
    """
    from scipy.special import chdtri

    seen = observed(castings, worn, weight)
    longest = float(seen.castings.max(initial=0.0))
    if longest <= 0.0:
        raise InputError("life from the log: no mold has given a casting yet, so nothing is known of its life.")
    shape = weibull_shape(spread)
    failures = float(seen.weight[seen.worn].sum())
    used = float(seen.weight @ (seen.castings / longest) ** shape)
    chi_square = float(chdtri(2.0 * failures + 2.0, 1.0 - confidence))
    scale = longest * (2.0 * used / chi_square) ** (1.0 / shape)
    life = scale * (-math.log1p(-share)) ** (1.0 / shape)
    return LeastLife(life, share, confidence, spread, float(np.sum(seen.weight)), failures)
