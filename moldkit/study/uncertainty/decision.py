"""Deciding now: what each choice costs on average, what it may be regretted by, what knowing more would be worth."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldkit.study.uncertainty.model import Shops
from moldkit.study.uncertainty.totals import costs_at

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
# Draws in a bin: enough that a bin's mean is no matter of luck, few enough that a trend shows.
PER_BIN = 100
BINS = (8, 40)
SHUFFLES = 40
TOSS_UP = 0.10


@dataclass(frozen=True)
class Worth:
    """What it would be worth to know one thing before deciding.

    name, kind: as of the input ("hours", "price", ...); money: expected saving [money]; share: of what knowing
    everything is worth, 0 to 1.
    """

    name: str
    kind: str
    money: float
    share: float


@dataclass(frozen=True, eq=False)
class Decision:
    """The decision at one run; t techniques.

    choice: place of the technique with the least expected cost among those that work at the likely figures, None where
    none does; cost: expected cost of deciding for each technique now, shape (t,) [money]; regret: expected excess over
    the technique that would have been the cheapest, shape (t,) [money]; both over the draws in which anything works,
    not a number where there are none. chance: share of all draws in which each is the cheapest, shape (t,); near: in
    which it works and is within 10 % of the cheapest, shape (t,); works: in which it works at all, shape (t,).
    worth_of_all: value of perfect information, the regret of `choice` [money]; worth: of knowing single inputs, the
    most valuable first.

    Where a technique that was decided for turns out not to work, its first mold is lost and the cheapest way that works
    is taken instead.
    """

    run: int
    choice: int | None
    cost: Floats
    regret: Floats
    chance: Floats
    near: Floats
    works: Floats
    worth_of_all: float
    worth: tuple[Worth, ...]


def decide(
    found: Shops, run: int, able: Sequence[bool], known_as: Sequence[tuple[str, str]], known: Floats
) -> Decision:
    """Return the decision at a run.

    able: whether each technique works at the likely figures, shape (t,); known_as: (name, kind) of what could be found
    out before deciding, shape (k,); known: its value in every draw, shape (k, d), any unit that rises with it.
    """
    costs = costs_at(found, run)
    works = found.feasible & found.known[:, None]
    least = np.where(works, costs, np.inf).min(axis=0)
    near = np.mean(works & (costs <= (1.0 + TOSS_UP) * least), axis=1)
    first_of_least = np.argmax(works & (costs <= least), axis=0)
    some = np.isfinite(least)
    chance = np.bincount(first_of_least[some], minlength=len(costs)) / found.count
    candidates = np.flatnonzero(np.asarray(able))
    if not candidates.size or not some.any():
        nowhere = np.full(len(costs), np.nan)
        return Decision(run, None, nowhere, nowhere, chance, near, works.mean(axis=1), 0.0, ())
    lived = np.where(works, costs, found.first + least)[:, some]
    cost, regret = lived.mean(axis=1), (lived - least[some]).mean(axis=1)
    choice = int(candidates[np.argmin(cost[candidates])])
    of_all = float(regret[choice])
    worth = worth_of(lived[candidates] - lived[choice], known[:, some], known_as, of_all)
    return Decision(run, choice, cost, regret, chance, near, works.mean(axis=1), of_all, worth)


def worth_of(excess: Floats, known: Floats, known_as: Sequence[tuple[str, str]], of_all: float) -> tuple[Worth, ...]:
    """Return what knowing each thing is worth, the most valuable first.

    excess: cost of each candidate over that of the choice made now, shape (c, d) [money], 0 for the choice itself;
    known: shape (k, d). Expected value of partial perfect information, E[-min over candidates of E(excess | known)]:
    draws are sorted by what is known into bins of about 100, and a bin's mean stands for the expectation. What bins
    gain from mere chance is measured with shuffled draws and taken off; a gain that chance gives once in twenty is 0.
    Source: partial expected value of perfect information, any text on decision analysis; bins instead of a regression.
    """
    count = excess.shape[1]
    if of_all <= 0.0 or count < 2 * BINS[0]:
        return tuple(Worth(name, kind, 0.0, 0.0) for name, kind in known_as)
    edges = np.linspace(0, count, int(np.clip(count // PER_BIN, *BINS)) + 1).astype(np.intp)
    shuffles = np.random.default_rng(count).permuted(np.tile(np.arange(count), (SHUFFLES, 1)), axis=1)
    by_chance = _gain(excess, shuffles, edges)
    gains = _gain(excess, np.argsort(known, axis=1), edges)
    told = (gains > np.quantile(by_chance, 0.95)) & (np.ptp(known, axis=1) > 0.0)
    gains = np.where(told, np.clip(gains - by_chance.mean(), 0.0, of_all), 0.0)
    found = [
        Worth(name, kind, float(gain), float(gain) / of_all)
        for (name, kind), gain in zip(known_as, gains, strict=True)
    ]
    return tuple(sorted(found, key=lambda worth: -worth.money))


def _gain(excess: Floats, orders: NDArray[np.intp], edges: NDArray[np.intp]) -> Floats:
    """Return the gain of deciding bin by bin, for each order of the draws, shape (orders,) [money]."""
    ordered = excess[:, orders]
    sums = np.add.reduceat(ordered, edges[:-1], axis=2)
    return np.asarray(-sums.min(axis=0).sum(axis=1) / excess.shape[1])
