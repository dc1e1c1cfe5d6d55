"""Molds as observations of a life: worn out after so many castings, or still good after so many (right-censored)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from moldkit.errors import InputError

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Molds:
    """Molds gathered by equal observations.

    died_after, died_from: ends of the interval (from, after] in which each life ended, shape (d,) [pours]; died: how
    many molds did so; kept, staying: the pours that molds survived, shape (c,) [pours], and how many molds did so.
    `died_from` is 0 everywhere, and not used, where lives are exact.
    """

    died_from: Floats
    died_after: Floats
    died: Floats
    kept: Floats
    staying: Floats

    @property
    def failures(self) -> float:
        """How many molds wore out."""
        return float(self.died.sum())

    @property
    def count(self) -> float:
        """How many molds there are."""
        return self.failures + float(self.staying.sum())


@dataclass(frozen=True, eq=False)
class Observed:
    """One entry a mold, as checked: castings, shape (n,) [pours]; worn, shape (n,); weight, shape (n,) [molds]."""

    castings: Floats
    worn: NDArray[np.bool_]
    weight: Floats


def observed(castings: Sequence[float] | Any, worn: Sequence[bool] | Any, weight: Any = None) -> Observed:
    """Return the molds checked, those of weight 0 left out.

    castings: pours given so far, shape (n,) [pours]; worn: whether the mold is worn out, shape (n,); weight: molds an
    entry stands for, shape (n,), one each by default. A mold that was spoiled or retired early counts as not worn.
    Raises InputError for lists of different lengths, castings that are no number or below 0, a mold worn out before
    its first casting, weights below 0.
    """
    given = np.asarray(castings, dtype=np.float64).reshape(-1)
    over = np.asarray(worn, dtype=np.bool_).reshape(-1)
    heavy = np.ones(given.size) if weight is None else np.asarray(weight, dtype=np.float64).reshape(-1)
    if not given.size == over.size == heavy.size:
        raise InputError(f"molds: {given.size} castings, {over.size} states, {heavy.size} weights; give one each.")
    for bad, words in (
        (~np.isfinite(given) | (given < 0), "castings must be a number, 0 or more"),
        (over & (given <= 0), "a mold that is worn out has given at least one casting"),
        (~np.isfinite(heavy) | (heavy < 0), "its weight must be a number, 0 or more"),
    ):
        if bad.any():
            place = int(np.argmax(bad))
            raise InputError(f"mold {place + 1} of {given.size}: {words}, not {given[place]:g} at {heavy[place]:g}.")
    counts = heavy > 0
    return Observed(given[counts], over[counts], heavy[counts])


def gathered(seen: Observed, *, whole: bool, per_pour: Any = 1.0) -> Molds:
    """Return the molds gathered by equal observations.

    whole: a mold worn out at k pours lived (k-1, k], else exactly k; per_pour: wear of one pour against one in the
    use that the life is stated for, a number or shape (n,) [-]; castings are multiplied by it.
    """
    wear = np.broadcast_to(np.asarray(per_pour, dtype=np.float64), seen.castings.shape)
    died = np.stack([np.maximum(seen.castings - 1.0, 0.0) if whole else 0.0 * seen.castings, seen.castings])
    died, number = _equal((died * wear)[:, seen.worn], seen.weight[seen.worn])
    alive = ~seen.worn & (seen.castings > 0)
    kept, staying = _equal((seen.castings * wear)[None, alive], seen.weight[alive])
    return Molds(died[0], died[1], number, kept[0], staying)


def _equal(values: Floats, weight: Floats) -> tuple[Floats, Floats]:
    """Return the different columns of `values`, shape (r, n), and the weight of each."""
    if not values.shape[1]:
        return values, weight
    unique, place = np.unique(values, axis=1, return_inverse=True)
    return unique, np.asarray(np.bincount(place.reshape(-1), weights=weight), dtype=np.float64)
