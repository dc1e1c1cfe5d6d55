"""Money in whole cents: rounded half up as in decimal arithmetic, so that no figure hangs on a float's last digit."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import numpy as np
from numpy.typing import NDArray

from moldkit.errors import InputError

Whole = NDArray[np.int64]
# A float sum of money is right to far more than a millionth of a unit; what lies beyond is the float's own noise.
MILLIONTHS = 1_000_000
MILLIONTHS_A_CENT = MILLIONTHS // 100
# Tax on it, in millionths, still fits into 64 bits.
MOST_CENTS = 4_000_000_000_000


def in_cents(money: Any, step: int = 1) -> Whole:
    """Return money rounded half up to a step, in whole cents.

    money: [money], not below zero, any shape; step: [cents]. A figure counts to a millionth of a unit first, so that
    2.675, which no float holds, is 2.68. Raises InputError beyond 40 thousand million.
    """
    figures = np.asarray(money, dtype=float)
    _check_size(100.0 * figures)
    millionths = np.rint(figures * MILLIONTHS).astype(np.int64)
    return _half_up(millionths, step * MILLIONTHS_A_CENT) * step


def share_of(cents: Any, millionths: int) -> Whole:
    """Return a share of money, rounded half up to whole cents.

    cents: [cents], any shape; millionths: the share in millionths, at most a million. Raises as `in_cents` does.
    """
    _check_size(cents)
    return _half_up(np.asarray(cents, dtype=np.int64) * millionths, MILLIONTHS)


def part_of(cents: Any, count: Any) -> Whole:
    """Return what one of so many comes to, rounded half up to whole cents.

    cents: of all together [cents]; count: at least 1. Arrays broadcast.
    """
    return _half_up(np.asarray(cents, dtype=np.int64), np.asarray(count, dtype=np.int64))


def _check_size(cents: Any) -> None:
    if np.size(cents) and not np.max(cents) <= MOST_CENTS:
        raise InputError("prices: beyond 40 thousand million; check the rates, the run and the currency.")


def _half_up(amounts: Whole, step: int | Whole) -> Whole:
    """Return how many steps an amount is, halves up."""
    return np.asarray((2 * amounts + step) // (2 * step), dtype=np.int64)


def step_in_cents(step: Decimal) -> int:
    """Return a rounding step in whole cents; raises InputError for one that isn't, or is outside 0.01 to 100."""
    cents = step * 100
    if cents != int(cents) or not 1 <= cents <= 10_000:
        raise InputError(f"rounding: {step} is no step of whole cents from 0.01 to 100; write for instance 0.05.")
    return int(cents)
