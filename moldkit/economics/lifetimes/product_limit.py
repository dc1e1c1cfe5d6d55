"""The product-limit curve: the share of molds that outlast so many castings, straight from the molds, with its band."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from moldkit.economics.lifetimes.molds import observed
from moldkit.errors import InputError

Floats = NDArray[np.float64]
BANDS = ("plain", "log-log")


@dataclass(frozen=True, eq=False)
class ProductLimit:
    """The product-limit curve, one row for each number of castings at which a mold wore out.

    castings: shape (r,) [pours]; at_risk: molds that got as far; worn: of those, molds that wore out there; survival:
    share of molds that outlast it [-]; deviation: its standard deviation by Greenwood [-], not a number where no mold
    is left; low, high: ends of the band [-], each shape (r,); band: "plain" or "log-log"; confidence: of the band;
    still_good: castings of the molds not worn out, shape (c,) [pours], and good_survival: height of the curve there,
    for the marks of censored molds.
    """

    castings: Floats
    at_risk: Floats
    worn: Floats
    survival: Floats
    deviation: Floats
    low: Floats
    high: Floats
    band: str
    confidence: float
    still_good: Floats
    good_survival: Floats


def product_limit(
    castings: Any, worn: Any, *, weight: Any = None, confidence: float = 0.95, band: str = "log-log"
) -> ProductLimit:
    """Return the product-limit estimate of survival with Greenwood's band.

    S = product over failures of 1 - worn / at risk; var S = S^2 sum worn / (at risk (at risk - worn)). Source:
    NIST/SEMATECH e-Handbook of Statistical Methods, 8.2.1.5 and 8.4.1; the log-log band: Kalbfleisch and Prentice,
    from memory.
    castings, worn, weight: as of `fit_weibull`; a mold in use after k castings counts as at risk at k. band: "plain",
    S +- z sd cut off at 0 and 1, or "log-log", S^exp(+-z sd / (S log S)), which stays between 0 and 1. Where no mold is
    left the variance is not defined: the band reaches from 0 to its last upper end. No failure gives an empty table.
    """
    if band not in BANDS:
        raise InputError(f"product-limit curve: unknown band {band!r}; give one of {', '.join(BANDS)}.")
    seen = observed(castings, worn, weight)
    times, place = np.unique(seen.castings[seen.worn], return_inverse=True)
    died = np.bincount(place, weights=seen.weight[seen.worn], minlength=times.size).astype(np.float64)
    at_risk = np.array([seen.weight[seen.castings >= time].sum() for time in times], dtype=np.float64)
    left = at_risk - died
    survival = np.asarray(np.cumprod(left / at_risk), dtype=np.float64)
    with np.errstate(divide="ignore", invalid="ignore"):
        summed = np.cumsum(died / (at_risk * left))
        deviation = np.where(left > 0, survival * np.sqrt(summed), np.nan)
    low, high = _band(survival, summed, left > 0, confidence, band)
    good = np.sort(seen.castings[~seen.worn])
    steps = np.concatenate([[1.0], survival])
    height = steps[np.searchsorted(times, good, side="right")]
    return ProductLimit(times, at_risk, died, survival, deviation, low, high, band, confidence, good, height)


def _band(
    survival: Floats, summed: Floats, defined: NDArray[np.bool_], confidence: float, band: str
) -> tuple[Floats, Floats]:
    from scipy.special import ndtri

    z = float(ndtri(0.5 + 0.5 * confidence))
    with np.errstate(divide="ignore", invalid="ignore"):
        if band == "plain":
            half = z * survival * np.sqrt(summed)
            low, high = survival - half, survival + half
        else:
            power = np.exp(z * np.sqrt(summed) / np.abs(np.log(survival)))
            low, high = survival**power, survival ** (1.0 / power)
    last = float(high[defined][-1]) if defined.any() else 1.0
    low, high = np.where(defined, low, 0.0), np.where(defined, high, last)
    return np.clip(low, 0.0, 1.0), np.clip(high, 0.0, 1.0)
