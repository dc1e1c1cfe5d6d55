"""A comparison under uncertainty: the share of plausible shops in which each technique is the cheapest, and more."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from moldkit.study.compare import FARTHEST, Comparison
from moldkit.study.curves import drawn_runs
from moldkit.study.uncertainty.decision import Decision, decide
from moldkit.study.uncertainty.figures import Place, figures_of
from moldkit.study.uncertainty.inputs import Inputs, inputs_of
from moldkit.study.uncertainty.mattering import mattering
from moldkit.study.uncertainty.model import Shops, shops
from moldkit.study.uncertainty.sampling import DRAWS, LATIN, SEED, scores
from moldkit.study.uncertainty.totals import BANDS, Totals, costs_at, totals

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
# A turn in fewer draws than this is not told.
RARE = 0.01


@dataclass(frozen=True, eq=False)
class Draws:
    """Plausible shops drawn for a case; k inputs, d draws.

    inputs: the uncertain figures that matter and the independent inputs they follow; idle: names of those that have a
    range and change nothing; scores: standard normal scores of the inputs, shape (k, d); values: the figures, each of
    shape (d,) [their units]; shops: what the techniques come to; seed and points: how they were drawn.
    """

    inputs: Inputs
    idle: tuple[str, ...]
    scores: Floats
    values: Mapping[Place, Floats]
    shops: Shops
    seed: int
    points: str

    @property
    def count(self) -> int:
        """How many draws there are."""
        return int(self.scores.shape[1])


@dataclass(frozen=True)
class Turn:
    """A crossing under uncertainty: from which run on the choice passes from one technique to another.

    before, after: places of the techniques; share: of draws in which it does so within the runs looked at; runs: of
    those draws, the run that 10, 50 and 90 % stay within.
    """

    before: int
    after: int
    share: float
    runs: tuple[float, float, float]


@dataclass(frozen=True)
class Firmness:
    """How firm the verdict is at the run asked for.

    technique: the comparison's cheapest, at the likely figures; share: of plausible shops in which it is the cheapest;
    near: in which it is within 10 % of the cheapest; rival: the technique that is the cheapest most often else, None
    where there is none, and its share; expected: whether it is also the choice of least expected cost; error: standard
    error of `share` from the number of draws; draws: that number; alone: whether no other technique works in any of
    them; beside: the other technique that is within 10 % of the cheapest most often, None where none ever is, and its
    share.
    """

    technique: str
    share: float
    near: float
    rival: str | None
    rival_share: float
    expected: bool
    error: float
    draws: int
    alone: bool = False
    beside: str | None = None
    beside_share: float = 0.0


@dataclass(frozen=True, eq=False)
class Spread:
    """A comparison under uncertainty; t techniques in the comparison's order, r runs, d draws.

    techniques: names, shape (t,); able: whether each works at the likely figures, shape (t,); runs: whole numbers,
    shape (r,), the run asked for among them; totals: chance of being the cheapest, bands and means over the runs;
    turns: the crossings, the most common first; decision: at the run asked for; draws: what all of it rests on;
    cheapest: at the likely figures, None where nothing works, and `likely`, its total there [money], not a number
    without one; hour: what an hour of work costs at the likely wage [money]; kits_left_out: the case buys whole kits,
    and here every material is by weight.
    """

    techniques: tuple[str, ...]
    able: tuple[bool, ...]
    run: int
    totals: Totals
    turns: tuple[Turn, ...]
    decision: Decision
    draws: Draws
    cheapest: str | None
    currency: str
    likely: float
    hour: float
    kits_left_out: bool = False

    @property
    def runs(self) -> Whole:
        """The runs of `chance`, `bands` and `mean`, shape (r,)."""
        return self.totals.runs

    @property
    def chance(self) -> Floats:
        """Share of draws in which each technique is the cheapest of those that work, shape (t, r).

        With `totals.nothing`, the share in which none works, it adds up to 1.
        """
        return self.totals.chance

    @property
    def bands(self) -> Floats:
        """Total cost of the run that 10, 50 and 90 % of draws stay within, shape (3, t, r) [money]."""
        return self.totals.bands

    @property
    def bands_per_casting(self) -> Floats:
        """Cost of a casting that 10, 50 and 90 % of draws stay within, shape (3, t, r) [money]."""
        return np.asarray(self.totals.bands / self.totals.runs)

    @cached_property
    def firmness(self) -> Firmness | None:
        """How firm the comparison's verdict is; None where nothing works at the likely figures."""
        if self.cheapest is None:
            return None
        place, chance = self.techniques.index(self.cheapest), self.decision.chance
        others = np.where(np.arange(chance.size) == place, -1.0, chance)
        rival = int(np.argmax(others)) if others.max() > 0.0 else None
        share = float(chance[place])
        return Firmness(
            self.cheapest,
            share,
            float(self.decision.near[place]),
            None if rival is None else self.techniques[rival],
            0.0 if rival is None else float(others[rival]),
            self.decision.choice == place,
            float(np.sqrt(share * (1.0 - share) / self.draws.count)),
            self.draws.count,
            not np.delete(self.decision.works, place).any(),
            *self._beside(place),
        )

    def _beside(self, place: int) -> tuple[str | None, float]:
        near = np.where(np.arange(len(self.techniques)) == place, 0.0, self.decision.near)
        nearest = int(np.argmax(near))
        return (self.techniques[nearest], float(near[nearest])) if near[nearest] > 0.0 else (None, 0.0)

    @cached_property
    def within_likely(self) -> float:
        """Share of draws in which the cheapest technique stays within its total at the likely figures.

        Costs reach farther up than down, so it is mostly less than half.
        """
        if self.cheapest is None:
            return float("nan")
        costs = costs_at(self.draws.shops.only([self.techniques.index(self.cheapest)]), self.run)
        return float(np.mean(costs <= self.likely))

    def decision_at(self, run: int) -> Decision:
        """Return the decision at another run, from the same draws."""
        return _decision(self.draws, self.techniques, self.able, run)


def draw(result: Comparison, draws: int = DRAWS, seed: int = SEED, points: str = LATIN) -> Draws:
    """Return plausible shops for a comparison's case.

    draws: 16 to 200,000; seed: the same gives the same draws; points: "latin hypercube" or "sobol". Raises InputError
    for other ones.
    """
    ranged = figures_of(result)
    matter = mattering(result, ranged)
    inputs = inputs_of(matter)
    drawn = scores(draws, len(inputs.inputs), seed, points)
    values = inputs.values(drawn)
    kept = {figure.place for figure in matter}
    idle = tuple(figure.name for figure in ranged if figure.place not in kept)
    return Draws(inputs, idle, drawn, values, shops(result, values, drawn.shape[1]), seed, points)


def spread_of(
    result: Comparison,
    draws: int = DRAWS,
    seed: int = SEED,
    farthest: int = 1_000,
    points: str = LATIN,
    runs: Whole | None = None,
) -> Spread:
    """Return a comparison under uncertainty, every material by weight, also where the case buys whole kits.

    draws, seed, points: as for `draw`; farthest: the run up to which curves go, at least the run asked for; runs: the
    runs themselves in place of it, whole numbers, rising. Raises InputError for a number of draws, a seed or a kind of
    points that cannot be used.
    """
    kits_left_out, result = result.case.whole_kits, result.by_weight
    drawn = draw(result, draws, seed, points)
    if runs is None:
        runs = drawn_runs(result, min(FARTHEST, max(farthest, result.case.run)))
    found = totals(drawn.shops, np.union1d(runs, [result.case.run]).astype(np.int64))
    names = tuple(outcome.name for outcome in result.outcomes)
    able = tuple(not outcome.stop_at() and outcome.life is not None for outcome in result.outcomes)
    return Spread(
        names,
        able,
        result.case.run,
        found,
        _turns(found),
        _decision(drawn, names, able, result.case.run),
        drawn,
        result.cheapest.name if result.cheapest else None,
        result.currency,
        _likely_total(result),
        3600.0 * float(result.shop.quantity("labor_rate").value),
        kits_left_out,
    )


def _likely_total(result: Comparison) -> float:
    total = result.total(result.cheapest) if result.cheapest else None
    return float("nan") if total is None else float(total.value)


def _decision(draws: Draws, names: tuple[str, ...], able: tuple[bool, ...], run: int) -> Decision:
    """Return the decision at a run, with what could be found out: each input, and the hours of each first mold."""
    known_as = [(each.name, each.kind) for each in draws.inputs.inputs]
    known_as += [(f"hours of a first mold, {name}", "hours") for name in names]
    return decide(draws.shops, run, able, known_as, np.concatenate([draws.scores, draws.shops.hours]))


def _turns(found: Totals) -> tuple[Turn, ...]:
    turned = ~np.isnan(found.turns)
    shares = turned.mean(axis=2)
    listed = []
    for before, after in zip(*np.nonzero(shares >= RARE), strict=True):
        runs = found.turns[before, after][turned[before, after]]
        low, middle, high = (float(run) for run in np.quantile(runs, BANDS, method="inverted_cdf"))
        listed.append(Turn(int(before), int(after), float(shares[before, after]), (low, middle, high)))
    return tuple(sorted(listed, key=lambda turn: -turn.share))
