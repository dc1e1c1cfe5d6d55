"""Whole runs played through, mold by mold and pour by pour, with nothing of the kit's own arithmetic in it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def weibull_lives(draw: np.random.Generator, median: float, shape: float, count: int) -> Floats:
    """Return whole lives of new molds [pours]: numpy's Weibull generator, up to the next whole pour."""
    scale = median / np.log(2.0) ** (1.0 / shape)
    return np.asarray(np.maximum(1.0, np.ceil(scale * draw.weibull(shape, count))))


def simulated_costs(
    *,
    run: int,
    cavities: int,
    good_share: float,
    median: float,
    shape: float,
    first: float,
    remake: float,
    pour: float,
    plays: int,
    seed: int,
) -> Floats:
    """Return what the run costs each time it is played [money], shape (plays,).

    Every pour fills all cavities and the same share of its castings is good; the run ends with the pour that reaches
    it. A mold that has given its last pour is replaced only where another pour is wanted.
    """
    draw = np.random.default_rng(seed)
    costs = np.full(plays, first)
    left = weibull_lives(draw, median, shape, plays)
    good = 0.0
    while good < run - 1e-9:
        worn = left < 0.5
        costs[worn] += remake
        left[worn] = weibull_lives(draw, median, shape, int(worn.sum()))
        costs += pour
        left -= 1.0
        good += cavities * good_share
    return costs


def played_to_the_last_good_casting(
    *, run: int, good_share: float, median: float, shape: float, plays: int, seed: int
) -> tuple[Floats, Floats]:
    """Return (pours, molds) of each play where every pour is good by chance, one casting a pour."""
    draw = np.random.default_rng(seed)
    left = weibull_lives(draw, median, shape, plays)
    pours, molds, good = np.zeros(plays), np.ones(plays), np.zeros(plays)
    while (going := good < run).any():
        worn = going & (left < 0.5)
        molds[worn] += 1.0
        left[worn] = weibull_lives(draw, median, shape, int(worn.sum()))
        left[going] -= 1.0
        pours[going] += 1.0
        good[going] += draw.random(int(going.sum())) < good_share
    return pours, molds
