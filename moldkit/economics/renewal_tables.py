"""Renewal functions of many lives, tabulated: exact for whole pours, in coarser steps for long lives, then a line."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from moldkit.economics.many_lives import share_worn, whole_moments

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

# Radius on which a generating function is inverted: r^N, the share of u(n + N) that gets into u(n).
ALIAS = 1e-10
# Longest step of a table, as a share of a life's median and of its spread.
FINE, FINE_IN_SPREAD = 1 / 96, 1 / 12
WIDE, FINE_IF_WIDE = 0.8, 1 / 1024
# How near m(n) is to its line before the line takes over [molds].
SETTLED = 3e-5
# Mean lives until the waves of m(n) are that low: they fall by exp(-2 pi^2 spread^2) from one life to the next.
RINGING = 0.5
# Figures in one transform.
AT_ONCE = 1 << 17


def renewal_functions(worn: Floats) -> Floats:
    """Return m(0..n) of several lives, the expected number of molds worn out within so many pours, shape (l, n + 1).

    worn: F(0..n) for each life, shape (l, n + 1). The chance that some mold is worn out at pour n has the
    generating function 1 / (1 - f(z)) - 1; it is inverted on a circle inside the unit circle, within 1e-7.
    Source: Numerical Inversion of Probability Generating Functions (Operations Research Letters 12, 1992).
    """
    from scipy.fft import irfft, next_fast_len, rfft

    length = worn.shape[1]
    size = next_fast_len(2 * length, real=True)
    damping = ALIAS ** (np.arange(length) / size)
    chances = np.diff(worn, axis=1, prepend=0.0)
    turned = irfft(1.0 / (1.0 - rfft(chances * damping, size)), size)[:, :length]
    worn_at = turned / damping
    worn_at[:, 0] -= 1.0
    return np.asarray(np.cumsum(worn_at, axis=1))


@dataclass(frozen=True, eq=False)
class WornTable:
    """m of several medians of one spread, tabulated, and beyond the table the lines that m tends to.

    table: shape (l, n + 1), at 0, 1, .. n pours, or, in steps of more than a pour, half a step and half a pour beside;
    pours: in a step, 1 or a higher power of two; slopes, offsets: shape (l, 1), None where nothing beyond the table is
    wanted.
    """

    table: Floats
    pours: int = 1
    slopes: Floats | None = None
    offsets: Floats | None = None

    def at(self, worn_out: Whole) -> Floats:
        """Return m for so many pours, shape (l, p)."""
        last = self.table.shape[1] - 1
        read = self.table[:, np.minimum(worn_out, last)] if self.pours == 1 else self._between(worn_out)
        if self.slopes is None or self.offsets is None:
            return np.asarray(read)
        return np.asarray(np.where(worn_out <= last * self.pours, read, self.slopes * worn_out + self.offsets))

    def _between(self, worn_out: Whole) -> Floats:
        """Return m by straight lines between the steps; from nothing at no pours to the first half step."""
        along = np.minimum((worn_out + 0.5) / self.pours - 0.5, self.table.shape[1] - 1.0)
        low = np.floor(along).astype(np.intp)
        share = along - low
        before = np.take(self.table, np.maximum(low, 0), axis=1) * np.where(low < 0, -1.0, 1.0)
        after = np.take(self.table, np.minimum(low + 1, self.table.shape[1] - 1), axis=1)
        return np.asarray(before + share * (after - before))


def worn_within(medians: Floats, spread: float, farthest: int) -> WornTable:
    """Return m of medians [pours] of one spread, tabulated to `farthest` pours or to where it is linear.

    Long lives go in steps of several pours, a power of two: a hundredth of a life and a twelfth of its spread at most,
    a thousandth where lives scatter so widely that many end at once.
    """
    longest, shortest = float(medians.max()), float(medians.min())
    fine = min(FINE, spread * FINE_IN_SPREAD) if spread <= WIDE else FINE_IF_WIDE
    pours = 1 << max(0, math.floor(math.log2(shortest * fine)))
    most = -(-farthest // pours) + (pours > 1)
    length = min(most, int((4.0 + RINGING / spread**2) * longest / pours) + 16)
    while True:
        table = _by_chunks(medians, spread, length, pours)
        if length == most:
            return WornTable(table, pours)
        slopes, offsets = _lines(medians, spread)
        steps = np.arange(max(0, length - int(2 * longest / pours) - 2), length + 1)
        at = _pours_at(steps, pours)
        if np.abs(table[:, steps] - slopes * at - offsets).max() < SETTLED:
            return WornTable(table, pours, slopes, offsets)
        length = min(2 * length, most)


def worn_one_by_one(medians: Floats, spreads: Floats, worn_out: Whole) -> Floats:
    """Return m of lives, each of its own spread, for so many pours, shape (l, p).

    medians: [pours], shape (l,); spreads: over 0, shape (l,). Every pour is tabulated, so it is for few lives and near
    pours.
    """
    return _by_chunks(medians, spreads[:, None], int(worn_out.max()), 1)[:, worn_out]


def _by_chunks(medians: Floats, spreads: Any, length: int, pours_a_step: int) -> Floats:
    """Return m after 0..length steps for each median, shape (medians, length + 1).

    spreads: one for all, or of shape (medians, 1). In steps of several pours a life is the nearest number of steps, so
    that it is as long on average: a whole life is half a pour longer on average than what it is the ceiling of.
    """
    pours = _pours_at(np.arange(length + 1)[None, :], pours_a_step)
    per_chunk = max(1, AT_ONCE // (length + 1))
    parts = [slice(start, start + per_chunk) for start in range(0, medians.size, per_chunk)]
    own = np.broadcast_to(spreads, (medians.size, 1))
    return np.concatenate([renewal_functions(share_worn(pours, medians[part, None], own[part])) for part in parts])


def _pours_at(steps: Any, pours_a_step: int) -> Any:
    """Return how many pours a table's steps stand for."""
    return steps if pours_a_step == 1 else steps * pours_a_step + (pours_a_step - 1) / 2.0


def _lines(medians: Floats, spread: float) -> tuple[Floats, Floats]:
    """Return slope and offset, shape (l, 1), of the line each m(n) tends to: n/mean + (sd^2 + mean + mean^2)/(2 mean^2)
    - 1.
    """
    means, variances = (column[:, None] for column in whole_moments(medians, spread))
    return 1.0 / means, (variances + means + means**2) / (2.0 * means**2) - 1.0
