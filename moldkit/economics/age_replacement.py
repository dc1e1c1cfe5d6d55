"""Age replacement: the age at which to retire molds in a run without end, over whole pours and over time."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldkit.economics.wear import REACHED, survivals

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class LongRun:
    """The rule for a run without end.

    age: retire a mold that has given so much, infinite where running to failure is the cheapest; cost_rate: expected
    cost of remakes and failures a pour with that rule [money/pour], or a unit of time; to_failure: the same when every
    mold is used until it fails.
    """

    age: float
    cost_rate: float
    to_failure: float

    @property
    def saving_share(self) -> float:
        """What the rule saves of the cost of remakes and failures [-]."""
        return 1.0 - self.cost_rate / self.to_failure if self.to_failure > 0 else 0.0


def long_run(chances: Floats, planned: float, failed: float, *, spoils: bool = True) -> LongRun:
    """Return the best age over whole pours.

    chances, planned, failed, spoils: as of `cost_rates`.
    """
    rates, to_failure = cost_rates(chances, planned, failed, spoils=spoils)
    best = int(np.argmin(rates))
    if rates[best] >= to_failure * (1.0 - 1e-9):
        return LongRun(math.inf, to_failure, to_failure)
    return LongRun(best + 1.0, float(rates[best]), to_failure)


def cost_rates(chances: Floats, planned: float, failed: float, *, spoils: bool = True) -> tuple[Floats, float]:
    """Return what remakes and failures cost a pour where molds are retired at each age, and where they never are.

    Source: age replacement, renewal-reward theorem (Mathematical Theory of Reliability, Wiley, 1965, chapter 4, from
    memory), over whole pours: [planned S(T-1) + failed F(T-1)] / sum of S(k) for k < T where the last pour is good;
    [planned S(T) + failed F(T)] / sum of S(k) for 1 <= k <= T where it is spoiled.
    chances: f(k), f(0) = 0 (`Life.chances`); planned, failed: costs [money]; spoils: as of `when_to_retire`. Returns
    costs at T = 1, 2, .. as far as molds reach, shape (a,), at least one, and of use to failure [money/pour]; infinite
    where no pour is good.
    """
    outlast = survivals(chances)
    outlast = outlast[: int(np.count_nonzero(outlast >= REACHED))]
    ends = outlast[1:] if spoils else outlast
    if not ends.size:
        return np.array([math.inf]), math.inf
    given = np.cumsum(ends)
    return _rates(ends, given, planned, failed), failed / float(given[-1])


def age_replacement(survival: Callable[[Floats], Floats], longest: float, planned: float, failed: float) -> LongRun:
    """Return the best age over time: the least of [planned S(T) + failed F(T)] / integral of S from 0 to T.

    Source: Mathematical Theory of Reliability (Wiley, 1965), chapter 4, from memory.
    survival: S of any array of ages; longest: an age that next to nothing outlasts; planned, failed: costs [money].
    The integral is by Gauss-Legendre with five points in each of 2000 equal parts; then the best part is searched.
    """
    ends = np.linspace(0.0, longest, 2001)
    lived = np.concatenate([[0.0], np.cumsum(_integrals(survival, ends[:-1], ends[1:]))])
    to_failure = failed / float(lived[-1])
    place = int(np.argmin(_rates(survival(ends[1:]), lived[1:], planned, failed))) + 1
    low, high, before = ends[place - 1], ends[min(place + 1, 2000)], lived[place - 1]
    start = low
    for _ in range(30):
        ages = np.linspace(low, high, 9)[1:]
        given = before + _integrals(survival, np.full(8, start), ages)
        rates = _rates(survival(ages), given, planned, failed)
        best = int(np.argmin(rates))
        step = (high - low) / 8.0
        low, high = max(low, ages[best] - step), min(high, ages[best] + step)
    age, rate = float(ages[best]), float(rates[best])
    if rate >= to_failure * (1.0 - 1e-9):
        return LongRun(math.inf, to_failure, to_failure)
    return LongRun(age, rate, to_failure)


def _rates(survives: Floats, given: Floats, planned: float, failed: float) -> Floats:
    return np.asarray((planned * survives + failed * (1.0 - survives)) / given)


def _integrals(survival: Callable[[Floats], Floats], starts: Floats, ends: Floats) -> Floats:
    nodes, weights = np.polynomial.legendre.leggauss(5)
    half = 0.5 * (ends - starts)
    at = 0.5 * (starts + ends)[:, None] + half[:, None] * nodes
    return np.asarray(half * (survival(at) @ weights))
