"""Which uncertain figures move anything: each tried at both its ends from several starting points, all at once."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from moldkit.study.compare import Comparison
from moldkit.study.uncertainty.figures import Figure, figures_of
from moldkit.study.uncertainty.inputs import Inputs, inputs_of
from moldkit.study.uncertainty.model import Shops, shops

Floats = NDArray[np.float64]
STARTS = 8
SEED = 20_011


def mattering(result: Comparison, figures: Sequence[Figure]) -> tuple[Figure, ...]:
    """Return the figures that change a cost, a life or whether a technique works.

    Every figure alone is put to its low and its high, from the likely values and from seven shops drawn evenly between
    the ends; one that changes nothing in any of these trials is left out (the coat gap costs time and no money).
    """
    if not figures:
        return ()
    low, likely, high = (np.array([getattr(f, part) for f in figures]) for part in ("low", "likely", "high"))
    between = np.random.default_rng(SEED).random((STARTS - 1, low.size))
    starts = np.concatenate([likely[None, :], low + (high - low) * between])
    trials = np.repeat(starts[:, None, :], 1 + 2 * low.size, axis=1)
    each = np.arange(low.size)
    trials[:, 1 + 2 * each, each] = low
    trials[:, 2 + 2 * each, each] = high
    flat = trials.reshape(-1, low.size)
    found = shops(result, {f.place: flat[:, i] for i, f in enumerate(figures)}, len(flat))
    told = _outputs(found).reshape(-1, STARTS, 1 + 2 * low.size)
    moved = np.any(told[:, :, 1:] != told[:, :, :1], axis=(0, 1)).reshape(-1, 2).any(axis=1)
    return tuple(figure for figure, moves in zip(figures, moved, strict=True) if moves)


def inputs_for(result: Comparison) -> Inputs:
    """Return the inputs that the figures which matter to a comparison follow."""
    return inputs_of(mattering(result, figures_of(result)))


def _outputs(found: Shops) -> Floats:
    """Return everything that the run's costs follow from, shape (outputs, trials)."""
    lives = [np.nan_to_num(found.median), np.nan_to_num(found.spread)]
    return np.concatenate([found.first, found.remake, found.pour, found.feasible.astype(float), *lives])
