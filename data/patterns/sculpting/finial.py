"""A turned finial on a square foot: lobed vase, string of pearls, leaves and a scaled cone. Lengths in mm."""

from __future__ import annotations

import numpy as np

from moldkit.pattern.implicit import Floats
from sculpting.lathe import Rows, profile, turned
from sculpting.tools import Surface, smooth_step

AROUND = 192

# radius, height, bulge of the arc to the next point
PROFILE = (
    (30.0, 0.0, 0.0), (30.0, 8.4, 0.0), (29.0, 9.4, 0.0),
    (25.6, 9.9, 0.27), (24.8, 19.8, 0.0), (22.0, 20.0, 0.0), (22.0, 22.4, -0.30), (13.2, 38.0, 0.0),
    (15.0, 38.3, 0.0), (15.0, 40.6, 0.0), (14.2, 40.9, 0.28), (13.8, 47.4, 0.0), (12.4, 47.8, 0.26),
    (33.0, 80.0, 0.0), (35.0, 80.3, 0.0), (35.0, 82.6, 0.0), (33.2, 83.0, 0.34), (33.2, 91.0, 0.0),
    (34.4, 91.4, 0.0), (34.4, 93.4, -0.33), (20.6, 100.6, 0.10), (26.0, 121.0, 0.17), (4.2, 168.0, -0.2),
    (3.8, 169.6, 0.40), (0.5, 180.0, 0.0),
)  # fmt: skip


def sculpt() -> Surface:
    """Return the finial."""
    return turned(profile(PROFILE, 2.05), AROUND, _shaped)


def _shaped(radius: Floats, height: Floats, angle: Floats) -> Rows:
    """Return the turned profile with its square foot, lobes, pearls, leaves and scales."""
    square = 1.0 / np.maximum(np.abs(np.cos(angle)), np.abs(np.sin(angle)))
    foot = np.where(height < 9.5, square, 1.0)
    lobes = np.abs(np.sin(8.0 * angle)) ** 0.8 - 0.75
    lobed = 2.9 * lobes * _between(height, 47.8, 53.0, 77.0, 80.0) * np.minimum(1.0, radius / 26.0)
    pearls = (np.abs(np.sin(12.0 * angle)) ** 0.7 - 1.0) * (radius - 33.2) * _between(height, 83.0, 83.5, 90.5, 91.0)
    flutes = -2.2 * np.abs(np.cos(12.0 * angle)) ** 1.5 * _between(height, 23.5, 26.0, 33.0, 36.5)
    return radius * foot + lobed + pearls + flutes + _cone(radius, height, angle), height + 0.0 * angle


def _cone(radius: Floats, height: Floats, angle: Floats) -> Floats:
    """Return how far leaves and scales stand out of the cone."""
    rise = (height - 112.0) / 9.6 + 0.004 * (height - 112.0) ** 2 / 9.6
    one, two = 8.0 * angle / np.pi + 0.5 * rise, 8.0 * angle / np.pi - 0.5 * rise
    scale = (np.abs(np.sin(np.pi * one)) * np.abs(np.sin(np.pi * two))) ** 0.55
    scales = 0.105 * radius * (scale - 0.35) * _between(height, 104.0, 108.0, 155.0, 166.0)
    petal = np.abs(np.cos(6.0 * angle))
    inside = (103.0 + 17.0 * petal**0.8) - height
    leaves = (2.9 + 1.2 * petal**4) * smooth_step(0.0, 3.0, inside) * _between(height, 100.5, 102.5, 130.0, 131.0)
    return np.maximum(scales, leaves)


def _between(value: Floats, low: float, inner_low: float, inner_high: float, high: float) -> Floats:
    """Return 1 within the inner bounds, 0 outside the outer ones."""
    return smooth_step(low, inner_low, value) * (1.0 - smooth_step(inner_high, high, value))
