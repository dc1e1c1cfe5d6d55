"""Which inputs make a result uncertain: shares of its variance, first-order and total, by Sobol' points."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from moldkit.errors import InputError
from moldkit.study.compare import Comparison
from moldkit.study.uncertainty.inputs import Inputs
from moldkit.study.uncertainty.mattering import inputs_for
from moldkit.study.uncertainty.model import Shops, joined, shops
from moldkit.study.uncertainty.sampling import MOST, SOBOL, scores
from moldkit.study.uncertainty.totals import costs_at

Floats = NDArray[np.float64]
POINTS = 512
# Points put through a model at once.
AT_ONCE = 1 << 15
# Points whose shops are kept for the next run.
KEPT = 1 << 18


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
    told = np.concatenate([result(at) for at in blocks_of_points(inputs, points, seed)])
    return shares_of(told.reshape(inputs + 2, -1))


def blocks_of_points(inputs: int, points: int, seed: int) -> Iterator[Floats]:
    """Yield the points at which `variance_shares` wants a result, shape (inputs, n) each, one behind the other.

    They are: one set of points, another, then for each input the one set with that input's row from the other.
    """
    both = scores(points, 2 * inputs, seed, SOBOL)
    one, other = both[:inputs], both[inputs:]
    yield from _parts(one)
    yield from _parts(other)
    per_block = max(1, AT_ONCE // one.shape[1])
    for start in range(0, inputs, per_block):
        rows = range(start, min(start + per_block, inputs))
        yield from _parts(np.stack([_with_row(one, other, row) for row in rows], axis=1).reshape(inputs, -1))


def _with_row(one: Floats, other: Floats, row: int) -> Floats:
    mixed = one.copy()
    mixed[row] = other[row]
    return mixed


def _parts(at: Floats) -> Iterator[Floats]:
    yield from (at[:, start : start + AT_ONCE] for start in range(0, at.shape[1], AT_ONCE))


def shares_of(told: Floats) -> Shares:
    """Return the shares from the results at `blocks_of_points`, shape (k + 2, n)."""
    mean, variance = float(told[:2].mean()), float(told[:2].var())
    if not variance > (1e-12 * abs(mean)) ** 2:
        nothing = np.zeros(len(told) - 2)
        return Shares(nothing, nothing, nothing, nothing, mean, 0.0)
    one, other, mixed = told[0] - mean, told[1] - mean, told[2:] - mean
    firsts, totals = other * (mixed - one), 0.5 * (one - mixed) ** 2
    root = np.sqrt(one.size)
    return Shares(
        firsts.mean(axis=1) / variance,
        totals.mean(axis=1) / variance,
        firsts.std(axis=1) / root / variance,
        totals.std(axis=1) / root / variance,
        mean,
        variance,
    )


@dataclass(frozen=True, eq=False)
class Trials:
    """What the techniques come to at the points of a sensitivity: no mold's or pour's cost hangs on the run.

    result: the comparison they were made for; inputs; points, seed: as they were asked for; shops: what the techniques
    come to at all of `blocks_of_points`, one behind the other.
    """

    result: Comparison
    inputs: Inputs
    points: int
    seed: int
    shops: Shops

    def serve(self, result: Comparison, inputs: Inputs, points: int, seed: int) -> bool:
        """Whether they are a comparison's own: nothing but the run is another."""
        same = (self.points, self.seed, self.inputs) == (points, seed, inputs)
        return same and result.is_at_another_run(self.result)


@dataclass(frozen=True, eq=False)
class Sensitivity:
    """Which inputs make the difference in cost between the cheapest technique and the next uncertain; k inputs.

    cheapest, next: names of the techniques; run; names, kinds: of the inputs, the largest total first, shape (k,);
    shares: in that order; mean, sd: of the difference, next - cheapest [money]; overtaken: share of shops in which it
    is below 0; trials: what it rests on, None where they are too many to be kept.
    """

    cheapest: str
    next: str
    run: int
    names: tuple[str, ...]
    kinds: tuple[str, ...]
    shares: Shares
    mean: float
    sd: float
    overtaken: float
    trials: Trials | None


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


def sensitivity_of(
    result: Comparison,
    points: int = POINTS,
    seed: int = 1,
    before: Trials | None = None,
    inputs: Inputs | None = None,
) -> Sensitivity | None:
    """Return which inputs make the difference between the cheapest technique and the next uncertain at the run asked.

    points: the model is computed points x (inputs + 2) times; seed: of the points; before: trials of another
    sensitivity, used again where nothing but the run has moved since; inputs: of the comparison, where they are known
    already. None where fewer than two techniques work. Raises InputError for a number of points that cannot be used.
    """
    result = result.by_weight
    rivals = nearest_rivals(result)
    if rivals is None:
        return None
    if not 16 <= points <= MOST // 4:
        raise InputError(f"points: {points} is outside 16 to {MOST // 4:,}; give a number between.")
    inputs = inputs or inputs_for(result)
    trials = before if before is not None and before.serve(result, inputs, points, seed) else None
    if trials is None and points * (len(inputs.inputs) + 2) <= KEPT:
        trials = Trials(result, inputs, points, seed, joined(tuple(_made(result, inputs, points, seed))))
    made = _made(result, inputs, points, seed) if trials is None else [trials.shops]
    costs = np.concatenate([costs_at(block.only(rivals), result.case.run) for block in made], axis=1)
    saved = (costs[1] - costs[0]).reshape(len(inputs.inputs) + 2, -1)
    shares = shares_of(saved)
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
        # The first two sets of points are shops; the others only pair them.
        float(np.mean(saved[:2] < 0.0)),
        trials,
    )


def _made(result: Comparison, inputs: Inputs, points: int, seed: int) -> Iterator[Shops]:
    for at in blocks_of_points(len(inputs.inputs), points, seed):
        yield shops(result, inputs.values(at), at.shape[1])
