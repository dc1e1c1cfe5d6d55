"""Switching values: how far a figure must be wrong before another technique is the cheapest; and what it moves."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldkit.study.compare import Comparison
from moldkit.study.uncertainty.figures import Place, figures_of
from moldkit.study.uncertainty.inputs import Inputs, inputs_of
from moldkit.study.uncertainty.levers import Lever, levers_of
from moldkit.study.uncertainty.mattering import mattering
from moldkit.study.uncertainty.model import shops
from moldkit.study.uncertainty.ranges import TENTH
from moldkit.study.uncertainty.sensitivity import nearest_rivals
from moldkit.study.uncertainty.totals import costs_at

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
# Factors tried on each side, and how often the stretch where the choice flips is cut into so many.
TRIED, CUTS, ROUNDS = 24, 16, 4
ONE = 1e-9


@dataclass(frozen=True)
class Flip:
    """Where the choice flips: the figures times `factor`, above or below 1.

    value: of the figure there, None for several figures [its unit]; technique: the cheapest from there on, None where
    nothing works any more; ruled_out: whether the choice so far doesn't work there; plausible: whether it lies within
    the figures' own ranges.
    """

    factor: float
    value: float | None
    technique: str | None
    ruled_out: bool
    plausible: bool


@dataclass(frozen=True)
class Switch:
    """How far a figure, or several together, must be from likely before the choice at the run flips.

    name, kind: what is moved; unit, likely: of the figure, None for several; below, above: where it flips with less and
    with more, None where no sane value does.
    """

    name: str
    kind: str
    unit: str | None
    likely: float | None
    below: Flip | None
    above: Flip | None

    @property
    def nearest(self) -> Flip | None:
        """The flip nearer to likely, by its factor; None where there is none."""
        flips = [flip for flip in (self.below, self.above) if flip is not None]
        return min(flips, key=lambda flip: abs(np.log(flip.factor)), default=None)


@dataclass(frozen=True)
class Swing:
    """What a figure, or several together, does to the difference in cost between the cheapest technique and the next.

    name, kind: what is moved; low, high: next - cheapest at the 10 % and the 90 % point, all else likely [money]; below
    0 the choice has flipped.
    """

    name: str
    kind: str
    low: float
    high: float


def _levers(result: Comparison) -> tuple[Inputs, tuple[Lever, ...]]:
    inputs = inputs_of(mattering(result, figures_of(result)))
    return inputs, levers_of(inputs, {outcome.technique.key: outcome.name for outcome in result.outcomes})


def switching_values(result: Comparison) -> tuple[Switch, ...]:
    """Return how far each figure must be wrong, all others likely, before the choice at the run asked for flips.

    The nearest flip first, those that nothing sane flips last; empty where nothing works. Factors from the sane span
    are tried on both sides, then the stretch in which the choice first flips is narrowed to 1e-4 of the factor.
    """
    if result.cheapest is None:
        return ()
    inputs, levers = _levers(result)
    if not levers:
        return ()
    choose = _chooser(result, inputs, levers)
    sides = [np.geomspace(1.0, span, TRIED + 1) for lever in levers for span in lever.span]
    which = np.repeat(np.arange(len(levers)), 2)
    now = result.outcomes.index(result.cheapest)
    low, high, flipped = _first_flips(choose, which, np.stack(sides), now)
    for _ in range(ROUNDS):
        low, high, _ = _first_flips(choose, which, np.geomspace(low, high, CUTS + 1, axis=1), now)
    after, works = choose(which, high)
    flips = [
        _flip(result, levers[which[i]], float(high[i]), int(after[i]), bool(works[i, now])) if flipped[i] else None
        for i in range(which.size)
    ]
    found = [_switch(lever, flips[2 * i], flips[2 * i + 1]) for i, lever in enumerate(levers)]
    return tuple(sorted(found, key=lambda s: np.inf if s.nearest is None else abs(np.log(s.nearest.factor))))


def swings(result: Comparison) -> tuple[Swing, ...]:
    """Return what each figure alone does to the difference between the cheapest technique and the next, widest first.

    Empty where fewer than two techniques work.
    """
    rivals = nearest_rivals(result)
    if rivals is None:
        return ()
    inputs, levers = _levers(result)
    if not levers:
        return ()
    moved = _likely(inputs, 2 * len(levers))
    for i, lever in enumerate(levers):
        for place, pair in lever.at_score(np.array([-TENTH, TENTH])).items():
            moved[place][2 * i : 2 * i + 2] = pair
    costs = costs_at(shops(result, moved, 2 * len(levers)), result.case.run)
    ends = (costs[rivals[1]] - costs[rivals[0]]).reshape(-1, 2)
    found = [
        Swing(lever.name, lever.kind, float(low), float(high))
        for lever, (low, high) in zip(levers, ends, strict=True)
    ]
    return tuple(sorted(found, key=lambda swing: -abs(swing.high - swing.low)))


# From levers (places) and factors, shape (n,), to the cheapest technique, -1 for none, and to what works, shape (n, t).
Chooser = Callable[[NDArray[np.intp], Floats], tuple[Whole, NDArray[np.bool_]]]


def _likely(inputs: Inputs, count: int) -> dict[Place, Floats]:
    return {place: np.full(count, value) for place, value in inputs.likely().items()}


def _chooser(result: Comparison, inputs: Inputs, levers: Sequence[Lever]) -> Chooser:
    def choose(which: NDArray[np.intp], factors: Floats) -> tuple[Whole, NDArray[np.bool_]]:
        moved = _likely(inputs, which.size)
        for place in np.unique(which):
            here = which == place
            for figure, values in levers[place].by_factor(factors[here]).items():
                moved[figure][here] = values
        found = shops(result, moved, which.size)
        works = found.feasible & found.known[:, None]
        costs = np.where(works, costs_at(found, result.case.run), np.inf)
        cheapest = np.where(np.isfinite(costs.min(axis=0)), costs.argmin(axis=0), -1)
        return cheapest.astype(np.int64), works.T

    return choose


def _first_flips(
    choose: Chooser, which: NDArray[np.intp], factors: Floats, now: int
) -> tuple[Floats, Floats, NDArray[np.bool_]]:
    """Return the last factor that keeps the choice and the first that flips it, and whether any of a row does.

    factors: away from 1, shape (rows, n), the first of each row keeping the choice.
    """
    cheapest, _ = choose(np.repeat(which, factors.shape[1]), factors.reshape(-1))
    other = cheapest.reshape(factors.shape) != now
    other[:, 0] = False
    flipped = other.any(axis=1)
    first = np.where(flipped, other.argmax(axis=1), factors.shape[1] - 1)
    row = np.arange(len(factors))
    return factors[row, first - 1], factors[row, first], flipped


def _flip(result: Comparison, lever: Lever, factor: float, after: int, works: bool) -> Flip:
    one = lever.figures[0] if len(lever.figures) == 1 else None
    within = all(f.low * (1 - ONE) <= f.likely * factor <= f.high * (1 + ONE) for f in lever.figures)
    name = result.outcomes[after].name if after >= 0 else None
    return Flip(factor, one.likely * factor if one else None, name, not works, within)


def _switch(lever: Lever, below: Flip | None, above: Flip | None) -> Switch:
    one = lever.figures[0] if len(lever.figures) == 1 else None
    return Switch(lever.name, lever.kind, one.unit if one else None, one.likely if one else None, below, above)
