"""What the life table says of a shop it has not seen, as a distribution: the prior of a mold life."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from moldkit.errors import InputError
from moldkit.quantity import Quantity

Floats = NDArray[np.float64]
# Standard normal deviate that nine in ten stay below.
NINE_IN_TEN = 1.2815515655446004


@dataclass(frozen=True)
class Range:
    """A figure that is not known: one in ten lies below `low`, half below `likely`, nine in ten below `high`."""

    low: float
    likely: float
    high: float

    def __post_init__(self) -> None:
        """Refuse figures that are no range above zero."""
        if not 0.0 < self.low <= self.likely <= self.high < math.inf:
            raise InputError(
                f"range {self.low:g} / {self.likely:g} / {self.high:g}: give low, likely and high above 0, in order."
            )

    @staticmethod
    def of(figure: Quantity) -> Range:
        """Return the range of a figure; one without low and high is certain."""
        likely = float(figure.value)
        low, high = (likely if end is None else float(end) for end in (figure.low, figure.high))
        return Range(low, likely, high)

    @property
    def deviations(self) -> tuple[float, float]:
        """Standard deviations of the log below and above `likely`."""
        # A certain figure is given a thousandth, so that it stays a distribution.
        below, above = math.log(self.likely / self.low), math.log(self.high / self.likely)
        return max(below / NINE_IN_TEN, 1e-3), max(above / NINE_IN_TEN, 1e-3)

    def log_density(self, logs: Any) -> Floats:
        """Return log of the density of the log of the figure: normal below and above `likely`, half of it on each side.

        The figure is lognormal where low x high = likely^2. logs: any shape.
        """
        off = np.asarray(logs, dtype=np.float64) - math.log(self.likely)
        below, above = self.deviations
        deviation = np.where(off < 0.0, below, above)
        return np.asarray(-0.5 * (off / deviation) ** 2 - np.log(deviation) - 0.5 * math.log(2.0 * math.pi))

    def reach(self, deviations: float) -> tuple[float, float]:
        """Return the logs that lie so many deviations below and above `likely`."""
        below, above = self.deviations
        return math.log(self.likely) - deviations * below, math.log(self.likely) + deviations * above
