"""Beliefs on a grid of log medians and widths: its cells, and what is read off it."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from moldkit.economics.lifetimes.families import WEIBULL
from moldkit.economics.lifetimes.prior import Range

Floats = NDArray[np.float64]


def ends(grid: Floats, held: NDArray[np.bool_]) -> tuple[float, float]:
    """Return the ends of the part of a grid that is held, one step wider on each side; both of shape (g,)."""
    places = np.flatnonzero(held)
    return float(grid[max(0, places[0] - 1)]), float(grid[min(grid.size - 1, places[-1] + 1)])


def cells(low: float, high: float, number: int, edge: float) -> tuple[Floats, float]:
    """Return the middles of `number` equal cells from low to high, shape (number,), and their width.

    edge: where a cell is to end: the prior's density steps there.
    """
    step = (high - low) / (number - 1)
    first = edge + step * (math.floor((low - edge) / step) + 0.5)
    return np.asarray(first + step * np.arange(number), dtype=np.float64), step


def range_of(logs: Floats, chances: Floats, step: float) -> Range:
    """Return what one in ten, half, and nine in ten lie below.

    logs: middles of the cells, shape (c,), in order; chances: of each; step: their width.
    """
    return _at_tenths(logs + 0.5 * step, np.cumsum(chances))


def ten_percent(medians: Floats, step: float, widths: Floats, chances: Floats) -> Range:
    """Return what is believed of the life that one mold in ten stays below: for each width the median's, shifted.

    medians: log medians, middles of cells `step` wide, shape (m,); widths: shape (s,); chances: shape (m, s).
    """
    shifts = widths * (WEIBULL.quantile(0.1) - WEIBULL.quantile(0.5))
    lives = np.linspace(medians[0] + shifts.min() - step, medians[-1] + shifts.max() + step, 400)
    edges = np.concatenate([medians[:1] - 0.5 * step, medians + 0.5 * step])
    below = np.zeros(lives.size)
    for column, shift in enumerate(shifts):
        below += np.interp(lives - shift, edges, np.concatenate([[0.0], np.cumsum(chances[:, column])]))
    return _at_tenths(lives, below)


def _at_tenths(logs: Floats, below: Floats) -> Range:
    low, likely, high = np.exp(np.interp([0.1, 0.5, 0.9], below, logs))
    return Range(float(low), float(likely), float(high))


def next_mold(medians: Floats, widths: Floats, chances: Floats) -> float:
    """Return the life that the next mold stays below with a chance of 10 % [pours]; arguments as of `ten_percent`."""
    places = medians[:, None] - widths * WEIBULL.quantile(0.5)
    low, high = float(places.min() - 8.0 * widths.max()), float(medians[-1])
    for _ in range(40):
        life = 0.5 * (low + high)
        z = np.minimum((life - places) / widths, 600.0)
        worn = float(np.sum(-np.expm1(WEIBULL.log_survival(z)) * chances))
        low, high = (life, high) if worn < 0.1 else (low, life)
    return math.exp(0.5 * (low + high))


def log_weight(prior: Range, medians: Floats, chances: Floats) -> float:
    """Return how much of what is known of the median comes from the log: 0 the table alone, 1 the log alone [-].

    1 - mean square of what is believed after the log / of what the table believed, both about the log's mean: the log
    counts by what it narrows, and by how far it moves what the table said. medians: log medians, shape (m,); chances:
    of each after the log, shape (m,).
    """
    below, above = prior.deviations
    # Mean and variance of a log that is half-normal below and above.
    middle = math.log(prior.likely) + (above - below) / math.sqrt(2.0 * math.pi)
    mean = float(medians @ chances)
    before = 0.5 * (below**2 + above**2) - (above - below) ** 2 / (2.0 * math.pi) + (mean - middle) ** 2
    after = float((medians - mean) ** 2 @ chances)
    return min(1.0, max(0.0, 1.0 - after / before))
