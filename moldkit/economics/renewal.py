"""Molds a run uses up: the exact discrete renewal function."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from moldkit.economics.life import Life
from moldkit.economics.renewal_tables import renewal_functions

Floats = NDArray[np.float64]
SETTLED = 1e-10
# Multiplications that the renewal equation may take; some tenths of a second.
MOST_STEPS = 300_000_000


def renewal_function(chances: Floats, pours: int) -> Floats:
    """Return m(0..pours), the expected number of molds worn out within so many pours.

    m(n) = F(n) + sum over k <= n of f(k) m(n - k), exact for lives of whole pours; chances: f(k), f(0) = 0. Where that
    would take too many steps, by its generating function, within 1e-7.
    Source: renewal equation, any text on stochastic processes.
    """
    worn = np.cumsum(chances)
    longest = chances.size - 1
    if pours * min(longest, pours) > MOST_STEPS:
        within = np.concatenate([worn[: pours + 1], np.ones(max(0, pours - longest))])
        return np.asarray(renewal_functions(within[None, :])[0])
    backwards = chances[:0:-1]
    m = np.zeros(pours + 1)
    for n in range(1, pours + 1):
        k = min(n, longest)
        m[n] = worn[k] + backwards[longest - k :] @ m[n - k : n]
    return m


@lru_cache(maxsize=256)
def _until_linear(life: Life, enough: int) -> tuple[Floats, float, float]:
    """Return m up to where it is linear, or to `enough` pours, then slope and offset: m(n) tends to n/mean + offset.

    The offset is 1/mean + (sd^2 + mean^2 - mean) / (2 mean^2) - 1; the table doubles until the last stretch, two
    mean lives long, keeps to the line within 1e-10. A short run of long-lived molds needs no longer table than itself.
    """
    mean, variance = life.mean, life.sd**2
    slope = 1.0 / mean
    offset = slope + (variance + mean**2 - mean) / (2 * mean**2) - 1.0
    length = min(int(10 * mean) + 10, enough)
    while True:
        m = renewal_function(life.chances, length)
        tail = np.arange(max(0, length - int(2 * mean) - 2), length + 1)
        if length == enough or np.max(np.abs(m[tail] - slope * tail - offset)) < SETTLED:
            return m, slope, offset
        length = min(2 * length, enough)


def expected_molds(life: Life, pours: NDArray[np.int64]) -> Floats:
    """Return E[M], the expected number of molds that so many pours take; E[M] = 1 + m(n - 1).

    pours: whole numbers, any shape. A certain life gives ceil(n / L).
    """
    pours = np.asarray(pours, dtype=np.int64)
    if life.certain:
        lasts = life.chances.size - 1
        return np.asarray(-(-pours // lasts), dtype=float)
    worn = pours - 1
    m, slope, offset = _until_linear(life, 1 << int(worn.max()).bit_length())
    molds = 1.0 + m[np.clip(worn, 0, m.size - 1)]
    beyond = worn >= m.size
    if beyond.any():
        molds = np.where(beyond, 1.0 + slope * worn + offset, molds)
    return molds
