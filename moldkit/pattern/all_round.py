"""Directions spread evenly all round."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
_GOLDEN_ANGLE = math.pi * (3.0 - math.sqrt(5.0))


def half_sphere(count: int) -> Floats:
    """Return unit vectors spread evenly over the upper half sphere, the lowest first, shape (count, 3).

    A spiral whose points turn by the golden angle while they rise by equal steps.
    """
    height = (np.arange(count) + 0.5) / count
    turn = np.arange(count) * _GOLDEN_ANGLE
    across = np.sqrt(1.0 - height**2)
    return np.stack([across * np.cos(turn), across * np.sin(turn), height], axis=1)
