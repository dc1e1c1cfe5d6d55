"""Switching values: how far a figure must be wrong before another technique is the cheapest; and what it moves."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldkit.study.compare import Comparison
from moldkit.study.uncertainty.figures import Place
from moldkit.study.uncertainty.inputs import Inputs
from moldkit.study.uncertainty.levers import Lever, levers_of
from moldkit.study.uncertainty.mattering import inputs_for
from moldkit.study.uncertainty.model import shops
from moldkit.study.uncertainty.ranges import TENTH
from moldkit.study.uncertainty.sampling import DRAWS, SEED, scores
from moldkit.study.uncertainty.sensitivity import nearest_rivals
from moldkit.study.uncertainty.totals import BANDS, costs_at

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
# Factors tried on each side, and how often the stretch where the choice flips is cut into so many: to 1e-4 of the
# factor from the widest stretch there is.
TRIED, CUTS, ROUNDS = 24, 26, 2


@dataclass(frozen=True)
class Flip:
    """Where the choice flips: the figures times `factor`, above or below 1.

    value: of the figure there, None for several figures [its unit]; technique: the cheapest from there on, None where
    nothing works any more; ruled_out: whether the choice so far doesn't work there; share: of plausible shops that are
    so far off, or farther.
    """

    factor: float
    value: float | None
    technique: str | None
    ruled_out: bool
    share: float

    @property
    def plausible(self) -> bool:
        """Whether one shop in ten is so far off: it lies within the bands."""
        return self.share >= BANDS[0]


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


def _levers(result: Comparison, inputs: Inputs) -> tuple[Lever, ...]:
    return levers_of(inputs, {outcome.technique.key: outcome.name for outcome in result.outcomes})


def switching_values(
    result: Comparison, inputs: Inputs | None = None, values: Mapping[Place, Floats] | None = None
) -> tuple[Switch, ...]:
    """Return how far each figure must be wrong, all others likely, before the choice at the run asked for flips.

    The nearest flip first, those that nothing sane flips last; empty where nothing works. Factors from the sane span
    are tried on both sides, then the stretch in which the choice first flips is narrowed to 1e-4 of the factor. inputs,
    values: of the comparison and of its plausible shops, where they are known already.
    """
    result = result.by_weight
    if result.cheapest is None:
        return ()
    inputs = inputs or inputs_for(result)
    levers = _levers(result, inputs)
    if not levers:
        return ()
    if values is None:
        values = inputs.values(scores(DRAWS, len(inputs.inputs), SEED))
    choose = _chooser(result, inputs, levers)
    which = np.repeat(np.arange(len(levers)), 2)
    spans = np.concatenate([lever.span for lever in levers])
    now = result.outcomes.index(result.cheapest)
    found = _first_flips(choose, which, np.geomspace(1.0, spans, TRIED + 1, axis=1), now)
    flips: list[Flip | None] = [None] * which.size
    rows = np.flatnonzero(found.flipped)
    if rows.size:
        which, found = which[rows], found.of(rows)
        for _ in range(ROUNDS):
            found = _first_flips(choose, which, np.geomspace(found.keeps, found.flips, CUTS + 1, axis=1), now)
        for place, row in enumerate(rows):
            flips[row] = _flip(result, levers[which[place]], values, *found.at(place))
    switches = [_switch(lever, flips[2 * i], flips[2 * i + 1]) for i, lever in enumerate(levers)]
    return tuple(sorted(switches, key=lambda s: np.inf if s.nearest is None else abs(np.log(s.nearest.factor))))


def swings(result: Comparison) -> tuple[Swing, ...]:
    """Return what each figure alone does to the difference between the cheapest technique and the next, widest first.

    Empty where fewer than two techniques work.
    """
    result = result.by_weight
    rivals = nearest_rivals(result)
    if rivals is None:
        return ()
    inputs = inputs_for(result)
    levers = _levers(result, inputs)
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


@dataclass(frozen=True, eq=False)
class _Found:
    """Where the choice first flips on each row: the last factor that keeps it, the first that flips it, if any does.

    after: the cheapest from there on, -1 for none; works: whether the choice so far works there.
    """

    keeps: Floats
    flips: Floats
    flipped: NDArray[np.bool_]
    after: Whole
    works: NDArray[np.bool_]

    def of(self, rows: NDArray[np.intp]) -> _Found:
        return _Found(self.keeps[rows], self.flips[rows], self.flipped[rows], self.after[rows], self.works[rows])

    def at(self, row: int) -> tuple[float, int, bool]:
        return float(self.flips[row]), int(self.after[row]), bool(self.works[row])


def _first_flips(choose: Chooser, which: NDArray[np.intp], factors: Floats, now: int) -> _Found:
    """Return where the choice first flips on each row.

    factors: away from 1, shape (rows, n), the first of each row keeping the choice.
    """
    cheapest, works = choose(np.repeat(which, factors.shape[1]), factors.reshape(-1))
    cheapest, works = cheapest.reshape(factors.shape), works[:, now].reshape(factors.shape)
    other = cheapest != now
    other[:, 0] = False
    flipped = other.any(axis=1)
    first = np.where(flipped, other.argmax(axis=1), factors.shape[1] - 1)
    row = np.arange(len(factors))
    return _Found(factors[row, first - 1], factors[row, first], flipped, cheapest[row, first], works[row, first])


def _flip(
    result: Comparison, lever: Lever, values: Mapping[Place, Floats], factor: float, after: int, works: bool
) -> Flip:
    one = lever.figures[0] if len(lever.figures) == 1 else None
    name = result.outcomes[after].name if after >= 0 else None
    return Flip(factor, one.likely * factor if one else None, name, not works, lever.share_beyond(factor, values))


def _switch(lever: Lever, below: Flip | None, above: Flip | None) -> Switch:
    one = lever.figures[0] if len(lever.figures) == 1 else None
    return Switch(lever.name, lever.kind, one.unit if one else None, one.likely if one else None, below, above)
