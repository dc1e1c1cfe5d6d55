"""The top of a log-likelihood: the place and the width of log life that agree best with the molds."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from moldkit.economics.lifetimes.families import Family
from moldkit.economics.lifetimes.likelihood import gradient, log_likelihood
from moldkit.economics.lifetimes.molds import Molds

Floats = NDArray[np.float64]


def top(family: Family, molds: Molds, least: float, most: float, *, whole: bool) -> tuple[float, float]:
    """Return (place, width) of the greatest log-likelihood with a width between least and most: a grid, then Newton.

    whole: as of `log_likelihood`; least = most holds the width.
    """
    start = _nearest(family, molds, whole, least, most)
    return _climbed(family, molds, whole, start, (least, most))


def _nearest(family: Family, molds: Molds, whole: bool, least: float, most: float) -> tuple[float, float]:
    """Return a life near the best: of a grid of widths that closes in three times, each with its best place."""
    thin, wide = math.log(least), math.log(most)
    limits = (thin, wide)
    for cells in (32, 8, 8):
        widths = np.exp(np.linspace(thin, wide, cells + 1))
        places, found = _best_places(family, molds, whole, widths)
        best = int(np.argmax(found))
        middle, step = math.log(float(widths[best])), (wide - thin) / cells
        thin, wide = max(limits[0], middle - step), min(limits[1], middle + step)
    return float(places[best]), float(widths[best])


def _best_places(family: Family, molds: Molds, whole: bool, widths: Floats) -> tuple[Floats, Floats]:
    """Return for each width the best place and its log-likelihood, shape (w,); the likelihood has one top in the place.

    Molds that all gave one casting agree as well with any life below it: the longest of equals is taken.
    """
    times = np.concatenate([molds.died_after, molds.kept])
    low, high = np.full(widths.size, math.log(times.min()) - 1.0), math.log(times.max()) + 1.0 + 8.0 * widths
    rows = np.arange(widths.size)
    for cells in (32, 8, 8, 8, 8, 8):
        places = low[:, None] + (high - low)[:, None] * np.linspace(0.0, 1.0, cells + 1)
        found = log_likelihood(family, molds, places, widths[:, None], whole=whole)
        best = cells - np.argmax(found[:, ::-1], axis=1)
        step = (high - low) / cells
        place = places[rows, best]
        low, high = place - step, place + step
    return place, found[rows, best]


def _climbed(
    family: Family, molds: Molds, whole: bool, start: tuple[float, float], limits: tuple[float, float]
) -> tuple[float, float]:
    """Return the top near a start by Newton's steps on the gradient, the width kept within its limits."""
    held = limits[0] == limits[1]
    at = np.array([start[0], math.log(start[1])])
    ends = np.log(limits)

    def slope(where: Floats) -> Floats:
        return gradient(family, molds, float(where[0]), math.exp(where[1]), whole=whole)

    for _ in range(30):
        steep = slope(at)
        h = 1e-5
        sides = [(slope(at + e) - slope(at - e)) / (2 * h) for e in (np.array([h, 0.0]), np.array([0.0, h]))]
        curve = 0.5 * (np.stack(sides) + np.stack(sides).T)
        at_end = held or (at[1] <= ends[0] and steep[1] <= 0) or (at[1] >= ends[1] and steep[1] >= 0)
        if at_end:
            move = np.array([-steep[0] / curve[0, 0], 0.0]) if curve[0, 0] < 0 else np.zeros(2)
        elif np.all(np.linalg.eigvalsh(curve) < 0):
            move = np.linalg.solve(curve, -steep)
        else:
            break
        if not np.all(np.isfinite(move)) or np.abs(move).max() > 0.5:
            break
        at = np.array([at[0] + move[0], np.clip(at[1] + move[1], *ends)])
        if np.abs(move).max() < 1e-11:
            break
    return float(at[0]), math.exp(at[1])
