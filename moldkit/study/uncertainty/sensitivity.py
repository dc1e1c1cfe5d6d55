"""Which inputs make a result uncertain: shares of its variance, first-order and total, by Sobol' points."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from moldkit.errors import InputError
from moldkit.study.compare import Comparison
from moldkit.study.uncertainty.figures import figures_of
from moldkit.study.uncertainty.inputs import inputs_of
from moldkit.study.uncertainty.mattering import mattering
from moldkit.study.uncertainty.model import shops
from moldkit.study.uncertainty.sampling import MOST, SOBOL, scores
from moldkit.study.uncertainty.totals import costs_at

Floats = NDArray[np.float64]
POINTS = 512
# Points put through a model at once.
AT_ONCE = 1 << 15


@dataclass(frozen=True, eq=False)
class Shares:
    """Shares of a result's variance; k inputs.

    first: what knowing the input alone would take off, shape (k,); total: what would be left if all others were known,
    shape (k,); first_error, total_error: standard errors as for random points, shape (k,), an upper bound for Sobol'
    points; mean, variance: of the result. An input with a total near 0 may be taken as certain; totals that add up to
    more than 1 tell of inputs that act together.
    """

    first: Floats
    total: Floats
    first_error: Floats
    total_error: Floats
    mean: float
    variance: float


def variance_shares(result: Callable[[Floats], Floats], inputs: int, points: int = POINTS, seed: int = 1) -> Shares:
    """Return the shares of the variance of a result that inputs account for.

    Source: Variance based sensitivity analysis of model output (Computer Physics Communications 181, 2010), with its
    estimator of the first order and Jansen's of the total.
    result: from standard normal scores, shape (inputs, n), to the result, shape (n,); inputs: how many independent
    ones, k; points: made a power of two; the result is computed points x (k + 2) times. A result that does not vary
    has shares of 0. Raises InputError for a number of points that cannot be used.
    """
    both = scores(points, 2 * inputs, seed, SOBOL)
    one, other = both[:inputs], both[inputs:]
    at_one, at_other = _computed(result, one), _computed(result, other)
    every = np.concatenate([at_one, at_other])
    mean, variance = float(every.mean()), float(every.var())
    if not variance > (1e-12 * abs(mean)) ** 2:
        nothing = np.zeros(inputs)
        return Shares(nothing, nothing, nothing, nothing, mean, 0.0)
    at_one, at_other = at_one - mean, at_other - mean
    firsts, totals = np.empty((inputs, at_one.size)), np.empty((inputs, at_one.size))
    per_call = max(1, AT_ONCE // at_one.size)
    for start in range(0, inputs, per_call):
        chosen = range(start, min(start + per_call, inputs))
        mixed = np.stack([_with_row(one, other, row) for row in chosen], axis=1).reshape(inputs, -1)
        at_mixed = _computed(result, mixed).reshape(len(chosen), -1) - mean
        firsts[chosen] = at_other * (at_mixed - at_one)
        totals[chosen] = 0.5 * (at_one - at_mixed) ** 2
    root = np.sqrt(at_one.size)
    return Shares(
        firsts.mean(axis=1) / variance,
        totals.mean(axis=1) / variance,
        firsts.std(axis=1) / root / variance,
        totals.std(axis=1) / root / variance,
        mean,
        variance,
    )


def _with_row(one: Floats, other: Floats, row: int) -> Floats:
    mixed = one.copy()
    mixed[row] = other[row]
    return mixed


def _computed(result: Callable[[Floats], Floats], at: Floats) -> Floats:
    parts = [result(at[:, start : start + AT_ONCE]) for start in range(0, at.shape[1], AT_ONCE)]
    return np.concatenate(parts)


@dataclass(frozen=True, eq=False)
class Sensitivity:
    """Which inputs make the difference in cost between the cheapest technique and the next uncertain; k inputs.

    cheapest, next: names of the techniques; run; names, kinds: of the inputs, the largest total first, shape (k,);
    shares: in that order; mean, sd: of the difference, next - cheapest [money].
    """

    cheapest: str
    next: str
    run: int
    names: tuple[str, ...]
    kinds: tuple[str, ...]
    shares: Shares
    mean: float
    sd: float


def nearest_rivals(result: Comparison) -> tuple[int, int] | None:
    """Return the places of the cheapest technique and of the next that works; None where there are not two."""
    if result.cheapest is None:
        return None
    costs = {
        place: total.value
        for place, outcome in enumerate(result.outcomes)
        if not outcome.stop_at() and outcome is not result.cheapest and (total := result.total(outcome)) is not None
    }
    return (result.outcomes.index(result.cheapest), min(costs, key=lambda place: costs[place])) if costs else None


def sensitivity_of(result: Comparison, points: int = POINTS, seed: int = 1) -> Sensitivity | None:
    """Return which inputs make the difference between the cheapest technique and the next uncertain at the run asked.

    points: the model is computed points x (inputs + 2) times; seed: of the points. None where fewer than two
    techniques work. Raises InputError for a number of points that cannot be used.
    """
    rivals = nearest_rivals(result)
    if rivals is None:
        return None
    inputs = inputs_of(mattering(result, figures_of(result)))
    if not 16 <= points <= MOST // 4:
        raise InputError(f"points: {points} is outside 16 to {MOST // 4:,}; give a number between.")

    def difference(at: Floats) -> Floats:
        found = shops(result, inputs.values(at), at.shape[1])
        costs = costs_at(found, result.case.run)
        return np.asarray(costs[rivals[1]] - costs[rivals[0]])

    shares = variance_shares(difference, len(inputs.inputs), points, seed)
    order = np.argsort(-shares.total, kind="stable")
    ordered = replace(
        shares,
        first=shares.first[order],
        total=shares.total[order],
        first_error=shares.first_error[order],
        total_error=shares.total_error[order],
    )
    return Sensitivity(
        result.outcomes[rivals[0]].name,
        result.outcomes[rivals[1]].name,
        result.case.run,
        tuple(inputs.inputs[i].name for i in order),
        tuple(inputs.inputs[i].kind for i in order),
        ordered,
        shares.mean,
        float(np.sqrt(shares.variance)),
    )
