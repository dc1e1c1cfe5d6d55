"""Learning over repeats: the unit model, in which each doubling takes the unit's time down to the same share."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def exponent(rate: float) -> float:
    """Return b in time of unit n = time of the first x n^b, from the learning rate [share]: b = log2(rate).

    Wright's exponent, read as the time of the single unit (unit model). Holds for rates of 0.5 to 1; 1 is no learning.
    """
    return math.log2(rate)


def unit_factors(units: int, rate: float) -> Floats:
    """Return the time of unit 1, 2 ... as a share of the first one's, shape (units,); rate [share]."""
    return np.asarray(np.arange(1, units + 1, dtype=float) ** exponent(rate))


def total_factor(units: int, rate: float) -> float:
    """Return the time of all units together, in times of the first one; rate [share]."""
    return float(unit_factors(units, rate).sum())
