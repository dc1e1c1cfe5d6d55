"""What low, likely and high say of a figure: its distribution, as the figure at each standard normal score."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
# Standard deviations from the median to the ends that one shop in ten lies beyond.
TENTH = 1.2815515655446004
# Standard normal scores to which a table reaches, and how many nodes it has.
_REACH = 6.0
_NODES = 4097


def pert_mean(low: Any, likely: Any, high: Any) -> Any:
    """Return the mean of a beta-PERT figure, (low + 4 likely + high) / 6; arrays broadcast."""
    return (low + 4.0 * likely + high) / 6.0


def pert_variance(low: Any, likely: Any, high: Any) -> Any:
    """Return the variance of a beta-PERT figure, (mean - low)(high - mean) / 7; arrays broadcast.

    Exact for the beta distribution with shapes that add up to 6; the rule of thumb ((high - low) / 6)^2 is not.
    """
    mean = pert_mean(low, likely, high)
    return (mean - low) * (high - mean) / 7.0


def pert_quantile(scores: Floats, low: float, likely: float, high: float) -> Floats:
    """Return the beta-PERT figure at a standard normal score, which stands for the share of draws below it.

    scores: any shape, within 6 either way; low, likely, high: in any unit, in order. The beta distribution between the
    ends with shapes 1 + 4 (likely - low)/(high - low) and 1 + 4 (high - likely)/(high - low). Read off a table, within
    1e-6 of the range; equal ends give the figure itself.
    """
    if high <= low:
        return np.full(np.shape(scores), float(likely))
    table = _pert_table(round((likely - low) / (high - low), 9))
    place = np.clip((np.asarray(scores) + _REACH) * ((_NODES - 1) / (2.0 * _REACH)), 0.0, _NODES - 1.000001)
    node = place.astype(np.intp)
    before = table[node]
    return np.asarray(low + (high - low) * (before + (place - node) * (table[node + 1] - before)))


@lru_cache(maxsize=512)
def _pert_table(mode: float) -> Floats:
    """Return the places 0 to 1 between the ends at standard normal scores from -6 to 6."""
    from scipy.special import betaincinv, ndtr

    shares = ndtr(np.linspace(-_REACH, _REACH, _NODES))
    return np.asarray(betaincinv(1.0 + 4.0 * mode, 5.0 - 4.0 * mode, shares))


def tenths_quantile(scores: Floats, low: float, likely: float, high: float) -> Floats:
    """Return the figure at a standard normal score, where one in ten lies below `low` and one in ten above `high`.

    scores: any shape; low, likely, high: over 0, in order; likely is the median. Two halves of lognormal distributions
    that meet at the median, so that all three figures are kept and nothing falls below 0.
    """
    down, up = np.log(likely / low) / TENTH, np.log(high / likely) / TENTH
    return np.asarray(likely * np.exp(scores * np.where(np.asarray(scores) < 0.0, down, up)))
