"""Weibull lives by the thousand: shapes and shares worn, an array of molds' lives at once."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
_SHAPES = (0.3, 200.0)
_NODES = 4_000
# Pours whose share worn is summed one by one.
_SUMMED = 512


@lru_cache(maxsize=1)
def _shapes_by_spread() -> tuple[Floats, Floats]:
    """Return logarithms of spreads, rising, and of the shapes that have them.

    var/mean^2 = Gamma(1 + 2/b) / Gamma(1 + 1/b)^2 - 1, so that the shape for a spread is read off, not solved for.
    """
    from scipy.special import gammaln

    shapes = np.geomspace(_SHAPES[1], _SHAPES[0], _NODES)
    spreads = np.sqrt(np.expm1(gammaln(1 + 2 / shapes) - 2 * gammaln(1 + 1 / shapes)))
    return np.log(spreads), np.log(shapes)


def weibull_shapes(spreads: Any) -> Floats:
    """Return the Weibull shape for each coefficient of variation, any shape of array [-].

    Within 1e-6 of the shape that bisection finds. Holds for spreads of 0.01 to 2.
    """
    log_spreads, log_shapes = _shapes_by_spread()
    return np.asarray(np.exp(np.interp(np.log(spreads), log_spreads, log_shapes)))


def share_worn(pours: Any, medians: Any, spreads: Any) -> Floats:
    """Return the share of molds whose life, made whole by ceiling, is at most so many pours; arrays broadcast.

    pours: whole numbers; medians: [pours]; spreads: coefficient of variation from mold to mold [-], 0 for a
    certain life. F(k) = 1 - 2^-((k / median)^shape).
    """
    spreads = np.asarray(spreads, dtype=float)
    certain = spreads == 0.0
    shapes = weibull_shapes(np.where(certain, 1.0, spreads))
    with np.errstate(over="ignore"):
        worn = -np.expm1(-np.log(2.0) * (np.asarray(pours, dtype=float) / medians) ** shapes)
    return np.asarray(np.where(certain, pours >= np.ceil(np.asarray(medians) - 1e-9), worn))


def whole_moments(medians: Floats, spread: float) -> tuple[Floats, Floats]:
    """Return mean and variance of lives made whole by ceiling [pours, pours^2], each of shape (l,).

    medians: [pours], shape (l,); spread: coefficient of variation, the same for all, over 0. Sums of the share not yet
    worn, S(k) and (2k + 1) S(k), with the integral and two end terms (Euler-Maclaurin) for what is beyond 512 pours.
    """
    from scipy.special import gamma, gammaincc

    shape = float(weibull_shapes(spread))
    scales = medians / np.log(2.0) ** (1.0 / shape)
    k = np.arange(_SUMMED, dtype=float)
    left = np.exp(-((k / scales[:, None]) ** shape))
    end = (_SUMMED / scales) ** shape
    at_end, falling = np.exp(-end), -shape * end / _SUMMED * np.exp(-end)
    beyond = scales * gamma(1 + 1 / shape) * gammaincc(1 / shape, end)
    squares_beyond = scales**2 * gamma(1 + 2 / shape) * gammaincc(2 / shape, end)
    means = left.sum(axis=1) + beyond + at_end / 2 - falling / 12
    odd = 2.0 * _SUMMED + 1.0
    squares = left @ (2.0 * k + 1.0) + squares_beyond + beyond + odd * at_end / 2 - (2 * at_end + odd * falling) / 12
    return means, squares - means**2
