"""How well a life agrees with the molds: the log-likelihood of right-censored lives, and its gradient.

Source: Statistical Methods for Reliability Data (Wiley, 1998), chapters 7 and 8: exact failures, failures within an
interval, survivors.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from moldkit.economics.lifetimes.families import Family
from moldkit.economics.lifetimes.molds import Molds

Floats = NDArray[np.float64]


def log_likelihood(family: Family, molds: Molds, place: Any, width: Any, *, whole: bool) -> Floats:
    """Return the log-likelihood of each life; place, width: arrays of one shape, also the answer's.

    whole: a failure is a life in (died_from, died_after], else the density at died_after [1/pour].
    """
    place, width = np.broadcast_arrays(np.asarray(place, dtype=float), np.asarray(width, dtype=float))
    total = np.zeros(place.shape)
    if molds.died.size:
        after = _standard(molds.died_after, place, width)
        if whole:
            each = _log_chance(family, _standard(molds.died_from, place, width), after)
        else:
            each = family.log_density(after) - np.log(width)[..., None] - np.log(molds.died_after)
        total = total + each @ molds.died
    if molds.kept.size:
        total = total + family.log_survival(_standard(molds.kept, place, width)) @ molds.staying
    return np.asarray(total)


def gradient(family: Family, molds: Molds, place: float, width: float, *, whole: bool) -> Floats:
    """Return the derivatives of the log-likelihood by place and by log width, shape (2,)."""
    by_z: list[Floats] = []
    at: list[Floats] = []
    constant = 0.0
    after, before, kept = (
        _standard(times, np.float64(place), np.float64(width))
        for times in (molds.died_after, molds.died_from, molds.kept)
    )
    if whole:
        chance = _log_chance(family, before, after)
        started = np.isfinite(before)
        at += [after, before[started]]
        by_z += [
            molds.died * np.exp(family.log_density(after) - chance),
            -(molds.died * np.exp(family.log_density(before) - chance))[started],
        ]
    else:
        at.append(after)
        by_z.append(molds.died * family.slope(after))
        constant = -molds.failures
    at.append(kept)
    by_z.append(-molds.staying * np.exp(family.log_density(kept) - family.log_survival(kept)))
    z, slope = np.concatenate(at), np.concatenate(by_z)
    return np.array([-slope.sum() / width, constant - slope @ z])


def _standard(times: Floats, place: Any, width: Any) -> Floats:
    """Return z of each time under each life, shape (..., times); -inf at time 0, at most 600, where exp(z) ends."""
    with np.errstate(divide="ignore"):
        return np.asarray(np.minimum((np.log(times) - place[..., None]) / width[..., None], 600.0))


def _log_chance(family: Family, start: Floats, end: Floats) -> Floats:
    """Return log of the chance of a life between start and end: log(S(start) - S(end))."""
    high, low = family.log_survival(start), family.log_survival(end)
    with np.errstate(divide="ignore", invalid="ignore"):
        chance = high + np.log(-np.expm1(low - high))
    # Where the difference is lost in rounding: far above the life S(end) is nothing, far below S(start) is 1.
    return np.asarray(np.where(np.isfinite(chance), chance, np.where(end > 0.0, high, family.log_density(end))))
