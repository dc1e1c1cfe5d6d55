"""A scrolled corbel with sharp edges, lying on its wall face: 220 mm long. Lengths in mm.

The wall face is z = 0, the top of the corbel points to +y, so that the scroll stands out upwards.
"""

from __future__ import annotations

import numpy as np

from moldkit.pattern.implicit import Floats
from sculpting.tools import Surface, from_base, graded, mirrored, sharp_cast

STEP = 2.6
BIG = (32.0, 84.0, 44.0)  # the two rolls of the scroll: y, z, radius
SMALL = (-76.0, 35.0, 23.0)
HALF_BODY = 37.0


def sculpt() -> Surface:
    """Return the corbel."""
    step = ((-120.0, STEP), (160.0, STEP))
    x = mirrored(64.0, step)
    return sharp_cast(field, x, graded(-117.1, 118.0, step), from_base(153.0, step))


def field(x: Floats, y: Floats, z: Floats) -> Floats:
    """Return the field of the whole corbel."""
    side = np.abs(x)
    corbel = np.minimum(_scroll(side, y, z), _plate(side, y, z))
    corbel = np.minimum(corbel, _cap(side, y, z))
    return np.minimum(corbel, _rolls(side, y, z))


def _sweep(y: Floats, z: Floats) -> Floats:
    """Return the outline from the side of what joins the rolls: a hollow line in front, a block behind."""
    reach = 96.0
    hy, hz = _touching(reach)
    hollow = np.hypot(y - hy, z - hz) - reach
    under = np.maximum(_below(y, z, (SMALL[0], SMALL[1]), (hy, hz)), _below(y, z, (hy, hz), (BIG[0], BIG[1])))
    between = np.maximum(np.maximum(SMALL[0] - y, y - BIG[0]), np.maximum(under, -hollow))
    back = np.maximum(np.maximum(BIG[0] - y, y - 90.0), z - np.where(y > 62.0, 112.0, BIG[1]))
    foot = np.maximum(np.maximum(SMALL[0] - y, y - BIG[0]), z - 30.0)
    return np.minimum(between, np.minimum(back, foot))


def _touching(reach: float) -> tuple[float, float]:
    """Return the centre of the circle of radius `reach` that touches both rolls from the open side."""
    far, near = BIG[2] + reach, SMALL[2] + reach
    dy, dz = BIG[0] - SMALL[0], BIG[1] - SMALL[1]
    apart = float(np.hypot(dy, dz))
    along = (near * near - far * far + apart * apart) / (2.0 * apart)
    off = float(np.sqrt(near * near - along * along))
    return SMALL[0] + (along * dy - off * dz) / apart, SMALL[1] + (along * dz + off * dy) / apart


def _below(y: Floats, z: Floats, start: tuple[float, float], end: tuple[float, float]) -> Floats:
    """Return the distance above the line from start to end, negative below it."""
    length = float(np.hypot(end[0] - start[0], end[1] - start[1]))
    return ((z - start[1]) * (end[0] - start[0]) - (y - start[0]) * (end[1] - start[1])) / length


def _scroll(x: Floats, y: Floats, z: Floats) -> Floats:
    """Return the scroll: the rolls, and between them a front with three flutes that die into the rolls."""
    off = np.abs((x + 12.0) % 24.0 - 12.0)
    flute = 5.0 * np.maximum(1.0 - (off / 8.6) ** 2, 0.0)
    front = np.where(y < BIG[0], _sweep(y, z) + flute, _sweep(y, z) + 0.0 * flute)
    for cy, cz, radius in (BIG, SMALL):
        front = np.minimum(front, np.hypot(y - cy, z - cz) - radius)
    return np.maximum(np.maximum(front, x - HALF_BODY), -z)


def _rolls(x: Floats, y: Floats, z: Floats) -> Floats:
    """Return the spirals on both sides of the rolls and the bosses in their middles."""
    parts = []
    for (cy, cz, radius), out in ((BIG, 6.0), (SMALL, 4.0)):
        away, turn = np.hypot(y - cy, z - cz), np.arctan2(cz - z, cy - y) / (2.0 * np.pi) + 0.5
        pitch = radius / 2.1
        ridge = np.abs((away - radius) / pitch + turn + 0.27 - np.round((away - radius) / pitch + turn + 0.27))
        rib = np.maximum((ridge - 0.27) * pitch, away - radius + pitch * turn)
        rib = np.maximum(rib, x - HALF_BODY - out)
        hub = np.maximum(away - 0.36 * radius, x - HALF_BODY - out - 3.5)
        eye = np.hypot(away, x - HALF_BODY - out - 0.5) - 0.25 * radius
        part = np.minimum(rib, np.minimum(hub, eye))
        parts.append(np.maximum(part, HALF_BODY - 4.0 - x))
    return np.minimum(*parts)


def _plate(x: Floats, y: Floats, z: Floats) -> Floats:
    """Return the plate against the wall, its edge stepped and chamfered."""
    long = np.abs(y + 6.0) - 104.0
    broad = np.maximum(long, x - 49.5)
    lower = np.maximum(broad, z - 7.0)
    inner = np.maximum(np.maximum(long + 5.0, x - 44.5), z - 13.0)
    chamfer = (np.maximum(broad + 5.0, 0.0) + z - 13.0) / np.sqrt(2.0)
    result: Floats = np.maximum(np.minimum(lower, np.maximum(inner, chamfer)), -z)
    return result


def _cap(x: Floats, y: Floats, z: Floats) -> Floats:
    """Return the top slab with its moldings, which run round the front and both sides."""
    hollow = 14.0 - np.sqrt(np.maximum(11.0**2 - (y - 83.0) ** 2, 0.0))
    out = np.select([y < 83.0, y < 94.0, y < 98.5], [3.0 + 0.0 * y, hollow, 14.0 + 0.0 * y], 18.0)
    plan = np.maximum(x - 39.0 - out, z - 132.0 - out)
    return np.maximum(np.maximum(plan, np.maximum(78.0 - y, y - 110.0)), -z)
