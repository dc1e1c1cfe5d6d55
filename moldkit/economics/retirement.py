"""When to retire a mold in the run at hand: before it fails in use, or not at all, decided pour by pour."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldkit.economics.age_replacement import LongRun, long_run
from moldkit.economics.wear import hazards
from moldkit.errors import InputError

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
# A smaller share of what remakes and failures cost is not worth a rule at the bench.
SMALL_SAVING = 0.01
# Wear that grows by less than this share is none: lives made whole and cut off leave as much.
NO_WEAR = 1e-3


@dataclass(frozen=True, eq=False)
class Retirement:
    """When to retire a mold over a run.

    pours: wanted of the run [pours]; age: what the mold at hand has given already [pours]; schedule: of these pours,
    how many each mold makes in turn where none fails before, adding up to `pours`; at_once: whether the mold at hand is
    replaced before the first of them; cost: expected cost of remakes and failures with retirement [money], the first
    mold not counted; to_failure: the same without; retire_at: shape (pours + 1,), for each number of pours still to
    come the age at which a mold is retired before the next of them [pours], 0 where it never is; long_run: the rule for
    a run without end; grows: whether wear grows with age.
    """

    pours: int
    age: int
    schedule: tuple[int, ...]
    at_once: bool
    cost: float
    to_failure: float
    retire_at: Whole
    long_run: LongRun
    grows: bool

    @property
    def first_retired(self) -> int:
        """Pours after which to retire the first mold that is retired at any [pours]; 0 where none is."""
        return self._retired_at[0] if self._retired_at else 0

    @property
    def _retired_at(self) -> tuple[int, ...]:
        if len(self.schedule) < 2:
            return ()
        first = self.schedule[0] + (0 if self.at_once else self.age)
        return (first, *self.schedule[1:-1])

    @property
    def saving(self) -> float:
        """What retirement saves over the run [money]."""
        return max(0.0, self.to_failure - self.cost)

    @property
    def saving_share(self) -> float:
        """What retirement saves of the cost of remakes and failures [-]."""
        return self.saving / self.to_failure if self.to_failure > 0 else 0.0

    @property
    def retires(self) -> bool:
        """Whether any mold is retired before it fails."""
        return self.at_once or len(self.schedule) > 1

    @property
    def small(self) -> bool:
        """Whether the saving is under 1 % of what remakes and failures cost."""
        return self.saving_share < SMALL_SAVING

    def verdict(self, cavities: int = 1) -> str:
        """Return the advice in one sentence, in castings, or in pours where a pour gives more than one."""
        if not self.grows:
            return "Use each mold until it fails: an old mold is no likelier to fail at the next pour than a new one."
        if not self.retires:
            return "Use each mold until it fails: in this run a planned remake never pays."
        worth = f"that saves {100 * self.saving_share:.0f} % of what remakes and failures cost"
        if self.small:
            worth = "that saves under 1 % of what remakes and failures cost, so use to failure is as good"
        ages = self._retired_at
        after = f"after {pours_words(min(ages), max(ages), cavities)}" if ages else ""
        if not ages:
            after = f"now, with {pours_words(self.age, self.age, cavities)} given"
        return f"Retire a mold {after}: {worth}."


def pours_words(least: int, most: int, cavities: int = 1) -> str:
    """Return so many pours in words: as castings, or as pours with the castings they give from several cavities."""

    def of(factor: int) -> str:
        return f"{least * factor}" if least == most else f"{least * factor} to {most * factor}"

    return f"{of(1)} castings" if cavities == 1 else f"{of(1)} pours ({of(cavities)} castings)"


def when_to_retire(
    chances: Floats, pours: int, planned: float, failed: float, *, spoils: bool = True, age: int = 0
) -> Retirement:
    """Return when to retire molds over a run, by dynamic programming over (pours to come, age of the mold).

    Source: dynamic programming; age replacement over a finite horizon, Mathematical Theory of Reliability (Wiley,
    1965), chapter 4, from memory, here over whole pours.
    chances: f(k), the chance that a mold's last pour is its k-th, f(0) = 0 (`Life.chances`); pours: wanted of the run;
    planned: cost of a remake made in time [money]; failed: cost when a mold fails in use, remake, spoiled castings and
    all [money]; spoils: whether the casting of a mold's last pour is spoiled, and poured again on the next mold: a life
    of L pours then gives L - 1 good ones, else L, and a mold that fails with the pour at which it would be retired, or
    with the run's last, costs no failure; age: pours that the first mold has given already.
    Raises InputError for costs below 0, pours below 1, and lives of one pour that spoil every casting.
    """
    _check(chances, pours, planned, failed, age)
    hazard = hazards(chances)
    if spoils and hazard[0] >= 1.0:
        raise InputError("when to retire: every mold fails at its first pour, so no casting ever comes out good.")
    plan = _last_lost(hazard, pours, planned, failed) if spoils else _last_good(hazard, pours, planned, failed)
    at = min(age, hazard.size - 1)
    # A mold whose last pour is good makes one more, however old it is: it costs a remake either way.
    at_once = spoils and 0 < int(plan.retire_at[pours]) <= at
    return Retirement(
        pours,
        age,
        _schedule(plan.retire_at, 0 if at_once else at),
        at_once,
        float(plan.cost[at]),
        float(plan.to_failure[at]),
        plan.retire_at,
        long_run(chances, planned, failed, spoils=spoils),
        bool(hazard.max() > hazard[0] * (1.0 + NO_WEAR)),
    )


@dataclass(frozen=True, eq=False)
class _Plan:
    """Expected cost at each age with the whole run to come, with and without retirement, and the ages to retire at."""

    cost: Floats
    to_failure: Floats
    retire_at: Whole


def _last_lost(hazard: Floats, pours: int, planned: float, failed: float) -> _Plan:
    """Plan where the last pour is lost: before each pour a mold is replaced, or goes on at the risk of its age.

    With r good pours to come at age a: go on at (1 - h) V(r-1, a+1) + h [failed + V(r, 0)], or replace at
    planned + V(r, 0). A new mold goes on, so V(r, 0) = V(r-1, 1) + failed h / (1 - h).
    """
    good = 1.0 - hazard
    ever, never = np.zeros(hazard.size), np.zeros(hazard.size)
    retire_at = np.zeros(pours + 1, dtype=np.int64)
    first = failed * hazard[0] / good[0]
    for left in range(1, pours + 1):
        older, older_never = _aged(ever), _aged(never)
        fresh, fresh_never = older[0] + first, older_never[0] + first
        go = good * older + hazard * (failed + fresh)
        never = good * older_never + hazard * (failed + fresh_never)
        ever = np.minimum(go, planned + fresh)
        ever[0] = fresh
        retire_at[left] = _first(go > planned + fresh)
    return _Plan(ever, never, retire_at)


def _last_good(hazard: Floats, pours: int, planned: float, failed: float) -> _Plan:
    """Plan where the last pour is good: a pour is either the mold's last by plan, or hoped not to be its last.

    With r pours to come at age a: plan it as the last at planned + V(r-1, 0), or hope at
    (1 - h) V(r-1, a+1) + h [failed + V(r-1, 0)]. The run's last pour costs neither.
    """
    good = 1.0 - hazard
    ever, never = np.zeros(hazard.size), np.zeros(hazard.size)
    retire_at = np.zeros(pours + 1, dtype=np.int64)
    for left in range(2, pours + 1):
        hope = good * _aged(ever) + hazard * (failed + ever[0])
        last = planned + ever[0]
        never = good * _aged(never) + hazard * (failed + never[0])
        ever = np.minimum(hope, last)
        # Planned as the last with `left` to come: retired one older, with one pour fewer to come.
        place = np.flatnonzero(hope > last * (1.0 + 1e-12))
        retire_at[left - 1] = place[0] + 1 if place.size else 0
    return _Plan(ever, never, retire_at)


def _aged(cost: Floats) -> Floats:
    """Return the cost one pour older; past the last age the risk stays as it is there."""
    return np.concatenate([cost[1:], cost[-1:]])


def _first(replaces: NDArray[np.bool_]) -> int:
    place = np.flatnonzero(replaces[1:])
    return int(place[0]) + 1 if place.size else 0


def _schedule(retire_at: Whole, age: int) -> tuple[int, ...]:
    """Return the pours of each mold in turn where none fails, the first at this age."""
    molds, given = [], 0
    for retires in retire_at[:0:-1].tolist():
        if given and 0 < retires <= age:
            molds.append(given)
            given, age = 0, 0
        given, age = given + 1, age + 1
    return (*molds, given)


def _check(chances: Floats, pours: int, planned: float, failed: float, age: int) -> None:
    if pours < 1 or age < 0:
        raise InputError(f"when to retire: {pours} pours at age {age}; give at least 1 pour and an age of 0 or more.")
    for name, cost in (("a planned remake", planned), ("a failure in use", failed)):
        if not 0.0 <= cost < math.inf:
            raise InputError(f"when to retire: the cost of {name} must be a number, 0 or more, not {cost:g}.")
    if chances.ndim != 1 or chances.size < 2 or chances[0] != 0.0 or chances.min() < 0.0:
        raise InputError("when to retire: chances must be f(0) = 0, f(1), f(2) ..., none below 0.")
