"""Turned work: a profile carried round an axis, with flutes, lobes and pearls as changes of its radius."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise

import numpy as np

from moldkit.pattern.implicit import Faces, Floats, split_quads
from sculpting.tools import Surface

Rows = tuple[Floats, Floats]


def profile(points: Sequence[tuple[float, float, float]], step: float) -> Rows:
    """Return radius and height of a profile's rows, about `step` apart.

    points: (radius, height, bulge of the arc to the next point: its rise over its chord, outward if positive).
    """
    radius, height = [points[0][0]], [points[0][1]]
    for (r0, z0, bulge), (r1, z1, _) in pairwise(points):
        chord = float(np.hypot(r1 - r0, z1 - z0))
        length = chord * (1.0 + 2.4 * bulge * bulge)
        t = np.linspace(0.0, 1.0, max(1, round(length / step)) + 1)[1:]
        along, out = _arc(t, bulge)
        radius += (r0 + along * (r1 - r0) + out * (z1 - z0)).tolist()
        height += (z0 + along * (z1 - z0) - out * (r1 - r0)).tolist()
    return np.array(radius), np.array(height)


def _arc(t: Floats, bulge: float) -> Rows:
    """Return places along and beside a chord of length 1, evenly spaced on an arc."""
    if abs(bulge) < 1e-9:
        return t, np.zeros_like(t)
    half = 2.0 * np.arctan(2.0 * bulge)
    big = 0.5 / np.sin(half)
    turn = half * (2.0 * t - 1.0)
    return 0.5 + big * np.sin(turn), big * (np.cos(turn) - np.cos(half))


def turned(rows: Rows, around: int, shaped: Callable[[Floats, Floats, Floats], Rows]) -> Surface:
    """Return the closed body whose rows of `around` points are shaped from the turned profile.

    shaped: from radius, height (n, 1) and angle (1, around) to radius and height (n, around). The first row
    becomes a flat base closed by a middle point, the last one closes in a point.
    """
    angle = 2.0 * np.pi * np.arange(around)[None, :] / around
    radius, height = np.broadcast_arrays(*shaped(rows[0][:, None], rows[1][:, None], angle))
    ring = np.stack([radius * np.cos(angle), radius * np.sin(angle), height], axis=2).reshape(-1, 3)
    count = len(rows[0])
    start = np.arange(count - 1)[:, None] * around
    here, after = start + np.arange(around), start + (np.arange(around) + 1) % around
    quads = np.stack([here, after, after + around, here + around], axis=2).reshape(-1, 4)
    middle, tip = len(ring), len(ring) + 1
    ends = np.array([[0.0, 0.0, 0.0], [0.0, 0.0, float(height[-1].max())]])
    vertices = np.concatenate([ring, ends])
    fans = [_fan(np.arange(around)[::-1], middle), _fan(np.arange(around) + (count - 1) * around, tip)]
    return vertices, np.concatenate([split_quads(vertices, quads), *fans])


def _fan(rim: Faces, middle: int) -> Faces:
    return np.stack([rim, np.roll(rim, -1), np.full(len(rim), middle)], axis=1)
