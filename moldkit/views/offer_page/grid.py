"""The sizes and runs a client's page can tell: round figures round the size asked for, every run as far as it goes."""

from __future__ import annotations

import math

import numpy as np

from moldkit.study.case import LEAST_SIDE, MOST_RUN, MOST_SIDE
from moldkit.study.client_offer import ClientOffer
from moldkit.units import System, from_si, to_si

# How far sizes go from the one asked for, and about how many there are.
SMALLEST, LARGEST, SIZES = 0.6, 1.6, 12
# Every run is told up to here; beyond, about one in forty, so that the page stays small.
EVERY_RUN, SPACING = 2_000, 0.025
LEAST_RANGE = 1_000
STEPS = (1.0, 2.0, 5.0, 10.0)


def size_unit(longest: float, system: System = "metric") -> str:
    """Return the unit that the sizes of a piece are told in; longest: its side [m]."""
    if system == "us":
        return "in"
    return "cm" if longest >= 0.1 else "mm"


def told_sizes(longest: float, system: System = "metric") -> tuple[float, ...]:
    """Return longest sides [m]: that asked for and round ones about it, the smallest first."""
    unit = size_unit(longest, system)
    asked = float(from_si(longest, unit))
    step = _round_step((LARGEST - SMALLEST) * asked / SIZES)
    numbers = range(math.ceil(SMALLEST * asked / step), math.floor(LARGEST * asked / step) + 1)
    # Divided where the step is a fraction, so that 7 steps of a tenth are 0.7 and not a hair beside it.
    sides = (number / round(1 / step) if step < 1 else number * step for number in numbers)
    # One that hardly differs from the size asked for would only look like a mistake.
    apart = (to_si(side, unit) for side in sides if abs(side - asked) > step / 4)
    return tuple(sorted({longest, *(side for side in apart if LEAST_SIDE <= side <= MOST_SIDE)}))


def _round_step(about: float) -> float:
    """Return 1, 2 or 5 times a power of ten, the nearest in ratio."""
    power = 10.0 ** math.floor(math.log10(about))
    return power * min(STEPS, key=lambda step: abs(math.log(about / power / step)))


def told_runs(offer: ClientOffer) -> tuple[int, ...]:
    """Return the runs that a page tells: every short one, then spaced, with the listed ones and the price breaks."""
    farthest = min(MOST_RUN, max(LEAST_RANGE, 2 * offer.run, *(line.run for line in offer.lines)))
    every = min(farthest, EVERY_RUN)
    runs = set(range(1, every + 1)) | {offer.run, farthest} | {line.run for line in offer.lines}
    for first in offer.price_breaks:
        runs |= {run for run in (first - 1, first) if 1 <= run <= farthest}
    if farthest > every:
        count = math.ceil(math.log(farthest / every) / math.log1p(SPACING))
        runs |= {_round(run, 3) for run in np.geomspace(every, farthest, count)}
    return tuple(sorted(run for run in runs if run <= farthest))


def _round(run: float, digits: int) -> int:
    return int(float(f"{run:.{digits}g}"))


def slider_runs(runs: tuple[int, ...], offer: ClientOffer) -> tuple[int, ...]:
    """Return the runs at which the run's slider stops: each at first, then round ones, and all that are far apart."""
    wanted = {1, runs[-1], offer.run} | {line.run for line in offer.lines} | {run for run in runs if run > EVERY_RUN}
    at = 1.0
    while at < min(EVERY_RUN, runs[-1]):
        wanted.add(round(at) if at < 100 else _round(at, 2))
        at = max(at + 1, at * 1.04)
    return tuple(sorted(wanted & set(runs)))
