"""Bounds on the median and the 10 % life by profile likelihood, widened for few failures."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldkit.economics.lifetimes.families import LEAST_SPREAD, MOST_SPREAD, width_of
from moldkit.economics.lifetimes.fit import LifeFit
from moldkit.economics.lifetimes.likelihood import log_likelihood
from moldkit.errors import InputError

Floats = NDArray[np.float64]
# Spreads let in where one failure alone cannot tell the spread: low and high of the life table.
USUAL_SPREADS = (0.15, 0.5)
# How far from the estimate a bound is looked for: a factor of about 400; past it the log sets none.
FARTHEST = 6.0


@dataclass(frozen=True)
class Bounds:
    """Two-sided bounds on the life that a share of molds stays below.

    share: of molds, 0.5 for the median, 0.1 for the 10 % life; estimate, low, high: [pours], high infinite and low 0
    where the log sets no bound; confidence: of both sides together.
    """

    share: float
    estimate: float
    low: float
    high: float
    confidence: float


def life_bounds(fit: LifeFit, share: float = 0.5, confidence: float = 0.9) -> Bounds:
    """Return the lives whose profile likelihood comes near enough to the greatest: bounds on a quantile of the life.

    Source: Statistical Methods for Reliability Data (Wiley, 1998), section 8.3; the widening as of `critical`.
    share: of molds that stay below it; confidence: of both sides together; each between 0 and 1. Coverage of the 90 %
    bounds by simulation (`python -m tests.bench.coverage`), for 10 to 40 molds of which 30 to 70 % are in use and
    spreads of 0.15 to 0.5: 90 to 91 % over all, from 85 % (three failures of ten) to 96 % for single ways to cut a log.
    """
    for name, value in (("share", share), ("confidence", confidence)):
        if not 0.0 < value < 1.0:
            raise InputError(f"bounds on the mold life: {name} must lie between 0 and 1, not {value:g}.")
    estimate = fit.quantile(share)
    least = _greatest(fit, share) - 0.5 * critical(fit, confidence)
    low, high = (_crossing(fit, share, estimate, least, side) for side in (-1.0, 1.0))
    return Bounds(share, estimate, low, high, confidence)


def plausible(fit: LifeFit, share: float, life: float, confidence: float = 0.9) -> bool:
    """Return whether a life [pours] lies within the bounds on what `share` of molds stay below."""
    likelihood = float(profile(fit, share, np.array([life]))[0])
    return 2.0 * (_greatest(fit, share) - likelihood) <= critical(fit, confidence)


def critical(fit: LifeFit, confidence: float) -> float:
    """Return how far twice the profile log-likelihood may fall below its top.

    For a complete sample of n normal log lives the exact bound is n log(1 + t^2 / (n - 1)), t of Student with n - 1
    degrees of freedom, where the large-sample one is chi-square with 1. The same is taken here with n = failures, and
    one more where any mold is still in use: survivors together tell about as much of the spread as one failure. This
    holds by simulation, not by theory; plain chi-square bounds of 90 % cover 75 to 85 % with three failures.
    """
    from scipy.special import stdtrit

    n = max(2.0, fit.failures + (1.0 if fit.molds.kept.size else 0.0))
    t = float(stdtrit(n - 1.0, 0.5 + 0.5 * confidence))
    return n * math.log1p(t * t / (n - 1.0))


def profile(fit: LifeFit, share: float, lives: Floats) -> Floats:
    """Return the greatest log-likelihood of the lives that `share` of molds may stay below, the spread left free.

    lives: shape (q,) [pours]; returns shape (q,). Where the fit held the spread, it is free between 0.15 and 0.5.
    """
    spreads = (LEAST_SPREAD, MOST_SPREAD) if fit.free == 2 else USUAL_SPREADS
    least, most = (math.log(width_of(fit.family, spread)) for spread in spreads)
    z = fit.family.quantile(share)
    logs = np.log(lives)[:, None]
    low, high = np.full(lives.size, least), np.full(lives.size, most)
    for cells in (24, 8, 8, 8):
        at = low[:, None] + (high - low)[:, None] * np.linspace(0.0, 1.0, cells + 1)
        widths = np.exp(at)
        found = log_likelihood(fit.family, fit.molds, logs - widths * z, widths, whole=fit.whole)
        middle = np.take_along_axis(at, np.argmax(found, axis=1)[:, None], axis=1)[:, 0]
        step = (high - low) / cells
        low, high = np.maximum(low, middle - step), np.minimum(high, middle + step)
    return np.asarray(found.max(axis=1))


def _greatest(fit: LifeFit, share: float) -> float:
    """Return the top of the profile: the fit's own, or over the spreads let in where the fit held it."""
    if fit.free == 2:
        return fit.log_likelihood
    lives = fit.quantile(share) * np.exp(np.linspace(-2.0, 2.0, 201))
    return max(fit.log_likelihood, float(profile(fit, share, lives).max()))


def _crossing(fit: LifeFit, share: float, estimate: float, least: float, side: float) -> float:
    """Return the first life off the estimate, below (side -1) or above (+1), whose profile falls under `least`."""
    steps = np.concatenate([[0.0], np.geomspace(0.002, FARTHEST, 40)])
    for _ in range(4):
        under = profile(fit, share, estimate * np.exp(side * steps)) < least
        if not under.any():
            return math.inf if side > 0 else 0.0
        out = max(1, int(np.argmax(under)))
        steps = np.linspace(steps[out - 1], steps[out], 13)
    return float(estimate * math.exp(side * 0.5 * (steps[0] + steps[-1])))
