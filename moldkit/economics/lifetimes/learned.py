"""The table's word and the log's together: Bayes' rule on a grid of medians and spreads of the mold life."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldkit.economics.life import Life
from moldkit.economics.lifetimes.families import LEAST_SPREAD, MOST_SPREAD, WEIBULL, width_of
from moldkit.economics.lifetimes.grid import cells, ends, log_weight, next_mold, range_of, ten_percent
from moldkit.economics.lifetimes.likelihood import log_likelihood
from moldkit.economics.lifetimes.molds import Molds, gathered, observed
from moldkit.economics.lifetimes.pooling import Similar, UsedMold
from moldkit.economics.lifetimes.prior import NINE_IN_TEN, Range
from moldkit.errors import InputError

Floats = NDArray[np.float64]
MEDIANS, SPREADS = 80, 32


@dataclass(frozen=True, eq=False)
class LearnedLife:
    """A mold life after the log was heard.

    median, spread, ten_percent: what is believed of the shop's median life [pours], of the coefficient of variation
    from mold to mold [-], and of the life that one mold in ten stays below [pours]: 10 / 50 / 90 %; next_mold: the life
    that the next mold stays below with a chance of 10 %, all uncertainty counted in [pours]; log_weight: how much of
    what is known comes from the log, 0 the table alone, 1 the log alone; prior: the table's median; molds, failures: of
    the pair itself; similar: words and numbers (molds, failures) of each group let in.
    medians, shape (m,) [pours], spreads, shape (s,) [-], chances, shape (m, s), adding up to 1: the grid to draw from;
    its cells are even in the logs. All lives are those of the use that the table is stated for: what is known of the
    use at hand is these times the product of its factors.
    """

    median: Range
    spread: Range
    ten_percent: Range
    next_mold: float
    log_weight: float
    prior: Range
    molds: int
    failures: int
    similar: tuple[tuple[str, int, int], ...]
    medians: Floats
    spreads: Floats
    chances: Floats

    @property
    def life(self) -> Life:
        """The likely life as the model takes it: likely median and likely spread."""
        return Life(max(1.0, self.median.likely), min(MOST_SPREAD, max(LEAST_SPREAD, self.spread.likely)))

    @property
    def surprising(self) -> bool:
        """Whether the likely median lies where the table expects less than one shop in ten, on either side."""
        return not self.prior.low <= self.median.likely <= self.prior.high

    @property
    def words(self) -> str:
        """What the life rests on, in one sentence."""
        if not self.molds and not self.similar:
            return "The log has no mold of this pair, so the life is the table's."
        percent = round(100 * self.log_weight)
        parts = [f"{self.molds} of this pair ({self.failures} worn out)"] if self.molds else []
        parts += [f"{molds} of {words} ({failures} worn out)" for words, molds, failures in self.similar]
        speak = "Molds of this pair and similar ones count" if self.similar else "Molds of this pair count"
        speak = speak if self.molds else "Similar molds, none of this pair, count"
        share = f"{speak} for {percent} % and the table for the rest"
        share = {0: "The molds in the log hardly move the table yet", 100: "The log alone counts"}.get(percent, share)
        return f"{share}; molds in the log: {', '.join(parts)}."


def learned_life(
    prior_life: Range, prior_spread: Range, molds: Sequence[UsedMold], similar: Sequence[Similar] = ()
) -> LearnedLife:
    """Return what is believed of a life after the molds of a log were seen.

    Source: Bayes' rule; Weibull lives, failures at k pours as lives in (k-1, k], molds in use as survivors. Prior:
    median and spread independent, each with its log normal below and above the likely figure. A group of similar molds
    has a median of its own, whose log is normal about this one's, eight in ten within the group's factor, and which is
    averaged out; the spread is taken for the same.
    prior_life: median of a shop's molds [pours], prior_spread: coefficient of variation [-], each as 10 / 50 / 90 %;
    molds: of the pair itself; similar: groups of others, as `pool` gives them. Raises InputError for molds that cannot
    be or a factor that is not above 0. The grid is 80 x 32 cells; figures hold within about half a percent.
    """
    own = _molds(molds)
    groups = [(_molds(group.molds), math.log(group.between) / NINE_IN_TEN) for group in similar]

    def believed(medians: Floats, spreads: Floats, widths: Floats) -> Floats:
        """Return log prior + log-likelihoods over logs of medians and spreads, shape (m, s)."""
        belief = prior_life.log_density(medians)[:, None] + prior_spread.log_density(spreads)
        belief = belief + _likelihood(own, medians, widths)
        return sum((_averaged(group, deviation, medians, widths) for group, deviation in groups), belief)

    median_ends, spread_ends = _region(prior_life, prior_spread, own, believed)
    medians, step = cells(*median_ends, MEDIANS, math.log(prior_life.likely))
    spreads, spread_step = cells(*spread_ends, SPREADS, math.log(prior_spread.likely))
    widths = _widths(spreads)
    belief = believed(medians, spreads, widths)
    chances = np.exp(belief - belief.max())
    chances /= chances.sum()
    return LearnedLife(
        range_of(medians, chances.sum(axis=1), step),
        range_of(spreads, chances.sum(axis=0), spread_step),
        ten_percent(medians, step, widths, chances),
        next_mold(medians, widths, chances),
        log_weight(prior_life, medians, chances.sum(axis=1)) if own.count or groups else 0.0,
        prior_life,
        len(molds),
        sum(mold.worn for mold in molds),
        tuple((group.words, len(group.molds), sum(m.worn for m in group.molds)) for group in similar),
        np.exp(medians),
        np.exp(spreads),
        chances,
    )


def _molds(molds: Sequence[UsedMold]) -> Molds:
    factors = np.array([mold.factor for mold in molds], dtype=np.float64)
    if not np.all((factors > 0) & np.isfinite(factors)):
        raise InputError("life from the log: the factor of a mold's use must be a number above 0.")
    seen = observed([mold.castings for mold in molds], [mold.worn for mold in molds])
    return gathered(seen, whole=True, per_pour=1.0 / factors)


def _widths(log_spreads: Floats) -> Floats:
    return np.array([width_of(WEIBULL, math.exp(spread)) for spread in log_spreads])


def _likelihood(molds: Molds, medians: Floats, widths: Floats) -> Floats:
    """Return the log-likelihood over log medians, shape (m,), and widths, shape (s,): shape (m, s)."""
    places = medians[:, None] - widths * WEIBULL.quantile(0.5)
    return log_likelihood(WEIBULL, molds, places, widths[None, :], whole=True)


def _region(
    life: Range, spread: Range, own: Molds, believed: Callable[[Floats, Floats, Floats], Floats]
) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return the ends of the logs of medians and of spreads outside of which next to nothing is believed."""
    seen = np.concatenate([own.died_after, own.kept])
    low, high = life.reach(6.0)
    if seen.size:
        low, high = min(low, math.log(seen.min()) - 1.0), max(high, math.log(seen.max()) + 1.0)
    thin, wide = spread.reach(5.0)
    medians = np.linspace(low, high, 97)
    spreads = np.linspace(max(thin, math.log(LEAST_SPREAD)), min(wide, math.log(MOST_SPREAD)), 17)
    belief = believed(medians, spreads, _widths(spreads))
    held = belief > belief.max() - 16.0
    return ends(medians, held.any(axis=1)), ends(spreads, held.any(axis=0))


def _averaged(group: Molds, deviation: float, medians: Floats, widths: Floats) -> Floats:
    """Return the log-likelihood of a group whose own log median is normal about each of `medians`: shape (m, s)."""
    if not group.count:
        return np.zeros((medians.size, widths.size))
    theirs = np.linspace(medians[0] - 4.5 * deviation, medians[-1] + 4.5 * deviation, 65)
    for _ in range(2):
        found = _likelihood(group, theirs, widths[:: max(1, widths.size // 6)])
        held = (found > found.max(axis=0) - 18.0).any(axis=1)
        theirs = np.linspace(*ends(theirs, held), 65)
    found = _likelihood(group, theirs, widths)
    top = found.max(axis=0)
    near = np.exp(-0.5 * ((medians[:, None] - theirs) / deviation) ** 2)
    with np.errstate(divide="ignore"):
        return np.asarray(np.log(near @ np.exp(found - top)) + top)
