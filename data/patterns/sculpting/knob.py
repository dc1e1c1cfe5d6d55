"""A ribbed control knob with a rayed top and a pointer, drafted to draw straight up. Lengths in mm."""

from __future__ import annotations

import numpy as np

from moldkit.pattern.implicit import Floats
from sculpting.lathe import Rows, profile, turned
from sculpting.tools import Surface, smooth_step

AROUND = 240
RIBS = 24

# radius, height, bulge of the arc to the next point
PROFILE = (
    (20.0, 0.0, 0.0), (19.7, 2.6, 0.2), (18.6, 3.8, 0.0), (17.4, 4.0, 0.0), (16.9, 4.8, 0.0), (15.6, 20.6, 0.21),
    (13.4, 23.0, 0.0), (12.6, 23.0, 0.0), (12.1, 21.8, -0.06), (4.6, 20.6, 0.0), (4.2, 21.4, 0.2), (0.25, 22.4, 0.0),
)  # fmt: skip


def sculpt() -> Surface:
    """Return the knob."""
    return turned(profile(PROFILE, 0.78), AROUND, _shaped)


def _shaped(radius: Floats, height: Floats, angle: Floats) -> Rows:
    """Return the turned profile with ribs round the grip, rays in the dish and a pointer."""
    # Rib valleys run out over the rounded edge, never under it: the knob must draw straight up.
    edge = smooth_step(13.1, 15.6, radius) * (height > 3.9)
    grip = edge * smooth_step(4.4, 6.0, height)
    rib = np.abs(np.cos(0.5 * RIBS * angle)) ** 0.9
    off = np.abs(np.angle(np.exp(1j * (angle - 0.5 * np.pi)))) * radius
    pointer = 1.0 - smooth_step(0.9, 1.7, off)
    ribbed = -1.5 * grip * (1.0 - rib) * (1.0 - pointer)
    dish = smooth_step(4.9, 5.6, radius) * (1.0 - smooth_step(11.2, 12.0, radius)) * (height > 20.0)
    rays = 0.8 * dish * (np.abs(np.cos(8.0 * angle)) ** 1.5) * (1.0 - pointer)
    mark = pointer * np.maximum(23.8 - height, 0.0) * dish
    return radius + ribbed + 0.5 * edge * (radius < 17.6) * pointer, height + rays + mark
