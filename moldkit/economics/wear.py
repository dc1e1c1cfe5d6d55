"""How wear grows: the chance that a mold which has lasted so far fails at its next pour."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
# Ages that fewer molds reach are left out: a run is decided without them, and the cut end of a life is no wear.
REACHED = 1e-10


def survivals(chances: Floats) -> Floats:
    """Return S(0), S(1) ...: the chance to outlast so many pours; chances: f(k), f(0) = 0, adding up to 1."""
    left = np.cumsum(chances[::-1])[::-1]
    return np.asarray(np.append(left[1:], 0.0) / left[0])


def hazards(chances: Floats) -> Floats:
    """Return h(a) = f(a+1) / S(a): the chance to fail at the next pour at age a, for the ages that are reached.

    chances: f(k), f(0) = 0. Shape (ages,): up to the last age that one mold in 10^10 reaches.
    """
    reaches = survivals(chances)[:-1]
    ages = int(np.count_nonzero(reaches >= REACHED))
    return np.asarray(np.clip(chances[1 : ages + 1] / chances.sum() / reaches[:ages], 0.0, 1.0))
