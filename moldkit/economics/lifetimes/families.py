"""Two families of lives, Weibull and lognormal, each a distribution of log life by place and width.

log life = place + width x z; for Weibull z is of the smallest extreme value, place = log scale, width = 1 / shape.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from moldkit.errors import unknown

# Spreads (coefficient of variation) between which a life is looked for: those that the model's lives hold for.
LEAST_SPREAD, MOST_SPREAD = 0.01, 2.0


@dataclass(frozen=True)
class Weibull:
    """Weibull lives: wear grows with age where the shape is over 1."""

    name: str = "Weibull"

    def log_density(self, z: Any) -> Any:
        """Return log of the density of z."""
        return z - np.exp(z)

    def log_survival(self, z: Any) -> Any:
        """Return log of the chance to exceed z."""
        return -np.exp(z)

    def slope(self, z: Any) -> Any:
        """Return the derivative of log_density."""
        return 1.0 - np.exp(z)

    def quantile(self, share: float) -> float:
        """Return the z that this share of lives stays below."""
        return math.log(-math.log1p(-share))

    def mean(self, place: float, width: float) -> float:
        """Return the mean life [pours]; scale x Gamma(1 + width)."""
        return math.exp(place + math.lgamma(1.0 + width))

    def spread(self, width: float) -> float:
        """Return the coefficient of variation [-]; its square is Gamma(1 + 2 width) / Gamma(1 + width)^2 - 1."""
        return math.sqrt(math.expm1(math.lgamma(1.0 + 2.0 * width) - 2.0 * math.lgamma(1.0 + width)))

    def parameters(self, place: float, width: float) -> dict[str, float]:
        """Return the usual parameters."""
        return {"scale": math.exp(place), "shape": 1.0 / width}


@dataclass(frozen=True)
class Lognormal:
    """Lognormal lives: log life is normal."""

    name: str = "lognormal"

    def log_density(self, z: Any) -> Any:
        """Return log of the density of z."""
        return -0.5 * z * z - 0.5 * math.log(2.0 * math.pi)

    def log_survival(self, z: Any) -> Any:
        """Return log of the chance to exceed z."""
        from scipy.special import log_ndtr

        return log_ndtr(-np.asarray(z))

    def slope(self, z: Any) -> Any:
        """Return the derivative of log_density."""
        return -z

    def quantile(self, share: float) -> float:
        """Return the z that this share of lives stays below."""
        from scipy.special import ndtri

        return float(ndtri(share))

    def mean(self, place: float, width: float) -> float:
        """Return the mean life [pours]; exp(place + width^2 / 2)."""
        return math.exp(place + 0.5 * width**2)

    def spread(self, width: float) -> float:
        """Return the coefficient of variation [-]; its square is exp(width^2) - 1."""
        return math.sqrt(math.expm1(width**2))

    def parameters(self, place: float, width: float) -> dict[str, float]:
        """Return the usual parameters: of log life."""
        return {"mu": place, "sigma": width}


Family = Weibull | Lognormal
WEIBULL, LOGNORMAL = Weibull(), Lognormal()
FAMILIES: dict[str, Family] = {"weibull": WEIBULL, "lognormal": LOGNORMAL}


def family_of(name: str) -> Family:
    """Return the family by its name; raises InputError for one that is not known."""
    if name.lower() not in FAMILIES:
        raise unknown("family of lives", name, FAMILIES)
    return FAMILIES[name.lower()]


def width_of(family: Family, spread: float) -> float:
    """Return the width of log life whose coefficient of variation is `spread` [-], by bisection; 0.01 to 2."""
    low, high = 1e-3, 4.0
    for _ in range(80):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if family.spread(middle) > spread else (middle, high)
    return 0.5 * (low + high)
