"""A relief panel, 400 x 300 x 30: rosette, leaf sprays and a beaded frame, flat back, no undercut. In mm."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from moldkit.pattern.implicit import Faces, Floats, split_quads
from sculpting.tools import Surface, arc

HALF_WIDTH, HALF_DEPTH = 200.0, 150.0
STEP = 2.2
DRAFT = 0.4  # how far the upper edge of the sides stands in from the lower one
HIGHEST = 30.0


def sculpt() -> Surface:
    """Return the panel, its back on z = 0."""
    nx, ny = (2 * round(half / STEP) + 1 for half in (HALF_WIDTH, HALF_DEPTH))
    x, y = np.linspace(-1.0, 1.0, nx)[:, None], np.linspace(-1.0, 1.0, ny)[None, :]
    wide, deep = (HALF_WIDTH - DRAFT) * x, (HALF_DEPTH - DRAFT) * y
    height = _softened(relief(wide, deep))
    height *= HIGHEST / height.max()
    top = np.stack(np.broadcast_arrays(wide, deep, height), axis=2).reshape(-1, 3)
    index = np.arange(nx * ny).reshape(nx, ny)
    tiles = np.stack([index[:-1, :-1], index[1:, :-1], index[1:, 1:], index[:-1, 1:]], axis=2).reshape(-1, 4)
    rim = np.concatenate([index[:-1, 0], index[-1, :-1], index[:0:-1, -1], index[0, :0:-1]])
    foot = top[rim] * (HALF_WIDTH / (HALF_WIDTH - DRAFT), HALF_DEPTH / (HALF_DEPTH - DRAFT), 0.0)
    vertices = np.concatenate([top, foot, np.zeros((1, 3))])
    return vertices, np.concatenate([split_quads(vertices, tiles), _sides(rim, len(top))])


def _sides(rim: Faces, first: int) -> Faces:
    """Return the faces of sides and back; the foot's vertices start at `first`, the middle follows them."""
    here = first + np.arange(len(rim))
    after = np.roll(here, -1)
    wall = [np.stack([here, after, np.roll(rim, -1)], axis=1), np.stack([here, np.roll(rim, -1), rim], axis=1)]
    return np.concatenate([*wall, np.stack([after, here, np.full(len(rim), first + len(rim))], axis=1)])


def _softened(height: Floats) -> Floats:
    """Return the heights averaged with their neighbours', so that steep edges keep some draft."""
    for axis in range(2):
        padded = np.pad(height, [(1, 1) if axis == k else (0, 0) for k in range(2)], mode="edge")
        before, after = np.take(padded, range(height.shape[axis]), axis), np.delete(padded, (0, 1), axis)
        height = 0.14 * before + 0.72 * height + 0.14 * after
    return height


def relief(x: Floats, y: Floats) -> Floats:
    """Return the height of the panel over its back."""
    side, up = np.abs(x), np.abs(y)
    height = np.maximum(_frame(side, up), 9.0 + 0.0 * side * up)
    for spray in _sprays(side, up):
        height = np.maximum(height, 9.0 + spray)
    corner = _leaf(side, up, (107.0, 66.0), (166.0, 117.0), 26.0, 11.0)
    return np.maximum(np.maximum(height, 9.0 + corner), 9.0 + _rosette(x, y))


def _frame(side: Floats, up: Floats) -> Floats:
    """Return the frame: a rounded outer edge, a hollow, and a string of pearls inside."""
    inward = np.minimum(HALF_WIDTH - side, HALF_DEPTH - up)
    places = [0.0, 1.5, 3.0, 5.0, 7.5, 11.0, 14.0, 16.5, 18.0, 22.0, 24.0, 26.0, 37.5, 39.5, 42.0]
    levels = [8.0, 13.0, 17.0, 20.5, 22.6, 23.4, 22.8, 20.0, 15.2, 14.4, 15.2, 13.0, 12.6, 10.4, 9.0]
    rise = np.interp(inward, places, levels)
    along = np.where(HALF_WIDTH - side < HALF_DEPTH - up, up, side)
    count = np.where(HALF_WIDTH - side < HALF_DEPTH - up, HALF_DEPTH - 31.8, HALF_WIDTH - 31.8)
    pitch = count / np.round(count / 12.2)
    near = np.abs((along / pitch + 0.5) % 1.0 - 0.5) * pitch
    pearl = np.sqrt(np.maximum(1.0 - (near**2 + (inward - 31.8) ** 2) / 5.6**2, 0.0))
    return np.maximum(rise, np.where(pearl > 0.0, 12.4 + 5.2 * pearl**0.85, 0.0))


def _rosette(x: Floats, y: Floats) -> Floats:
    """Return the rosette's height: two rings of petals and a seeded heart."""
    out, turn = np.hypot(x, y), np.arctan2(y, x)
    height = np.zeros_like(out)
    for petals, shift, reach, level in ((8, 0.5, 66.0, 10.0), (8, 0.0, 46.0, 14.5)):
        off = ((turn * petals / (2.0 * np.pi) + shift) % 1.0 - 0.5) * 2.0
        t = out / reach
        wide = np.clip(1.02 - np.clip((t - 0.62) / 0.38, 0.0, 2.0) ** 2.2, 0.0, 1.0) ** 0.5
        across = np.abs(off) / np.maximum(wide, 1e-6)
        cup = np.clip(1.0 - across**4, 0.0, 1.0) ** 0.7
        fold = 0.72 + 0.28 * np.cos(np.pi * np.clip((across - 0.55) / 0.5, -1.0, 1.0))
        rib = 0.14 * np.exp(-((off * out / 3.0) ** 2))
        lift = 0.55 + 0.45 * np.sin(np.pi * np.clip(t, 0.0, 1.0) ** 1.6)
        height = np.maximum(height, np.where(t < 1.05, level * cup * (fold * lift + rib), 0.0))
    heart = np.where(out < 19.0, 15.0 + 6.0 * np.sqrt(np.clip(1.0 - (out / 19.0) ** 2, 0.0, 1.0)), 0.0)
    for ring, seeds in ((12.0, 12), (5.2, 6)):
        off = ((turn * seeds / (2.0 * np.pi)) % 1.0 - 0.5) * 2.0 * np.pi / seeds * ring
        heart = heart + 2.0 * np.sqrt(np.clip(1.0 - (off**2 + (out - ring) ** 2) / 2.9**2, 0.0, 1.0))
    return np.maximum(height, heart)


def _leaf(
    x: Floats, y: Floats, foot: tuple[float, float], tip: tuple[float, float], wide: float, level: float
) -> Floats:
    """Return the height of a lobed leaf from foot to tip, with a midrib and side veins."""
    length = float(np.hypot(tip[0] - foot[0], tip[1] - foot[1]))
    ax, ay = (tip[0] - foot[0]) / length, (tip[1] - foot[1]) / length
    t = ((x - foot[0]) * ax + (y - foot[1]) * ay) / length
    across = np.abs((y - foot[1]) * ax - (x - foot[0]) * ay)
    inside = np.clip(t, 0.0, 1.0)
    lobe = 1.0 - 0.22 * np.abs(np.sin(4.0 * np.pi * (inside - 0.25 * across / wide)))
    outline = wide * np.sin(np.pi * inside**0.75) ** 0.8 * lobe
    share = across / np.maximum(outline, 1e-6)
    body = np.clip(1.0 - share**2.4, 0.0, 1.0) ** 0.75
    vein = 0.13 * np.cos(8.0 * np.pi * (inside - 0.35 * across / wide)) * np.clip(share * 3.0, 0.0, 1.0)
    rib = 0.25 * np.exp(-((across / 2.2) ** 2))
    curl = 0.62 + 0.38 * np.sin(np.pi * inside)
    return np.where((t > 0.0) & (t < 1.0), level * body * (curl + vein + rib), 0.0)


def _sprays(x: Floats, y: Floats) -> list[Floats]:
    """Return the heights of the curling stems beside the rosette and of the leaves that grow from them."""
    stem = [(60.0, 0.0, 0.0), (84.0, 14.0, 0.0), (112.0, 34.0, 0.0), (140.0, 36.0, 0.0), (149.0, 18.0, 0.0)]
    stem += [(138.0, 6.0, 0.0), (127.0, 13.0, 0.0), (131.0, 22.0, 0.0)]
    heights = [_cord(x, y, stem, 6.2, 2.8, 7.5), _boss(x, y, (132.0, 20.0), 8.5, 11.0)]
    rise = [(0.0, 62.0, 0.0), (22.0, 76.0, 0.0), (46.0, 88.0, 0.0), (66.0, 84.0, 0.0), (68.0, 70.0, 0.0)]
    rise += [(57.0, 69.0, 0.0), (56.0, 77.0, 0.0)]
    heights += [_cord(x, y, rise, 5.4, 2.4, 7.0), _boss(x, y, (59.0, 76.0), 7.0, 10.0)]
    heights += [_leaf(x, y, foot, tip, wide, level) for foot, tip, wide, level in _LEAVES]
    return heights


_LEAVES = (
    ((88.0, 14.0), (124.0, 64.0), 12.0, 9.0),
    ((70.0, 12.0), (92.0, 66.0), 11.0, 9.5),
    ((112.0, 32.0), (156.0, 66.0), 13.0, 9.0),
    ((98.0, 10.0), (120.0, -12.0), 8.0, 8.0),
    ((26.0, 76.0), (8.0, 106.0), 9.0, 8.5),
    ((44.0, 87.0), (96.0, 104.0), 10.0, 8.5),
    ((32.0, 78.0), (40.0, 106.0), 7.0, 8.0),
    ((70.0, 82.0), (104.0, 78.0), 8.0, 8.0),
)


def _cord(
    x: Floats, y: Floats, points: list[tuple[float, float, float]], wide: float, narrow: float, level: float
) -> Floats:
    """Return the height of a round stem along a curve, tapering to its end."""
    places = arc(points, 40)
    height = np.zeros(np.broadcast_shapes(x.shape, y.shape))
    for k, ((ax, ay, _), (bx, by, _)) in enumerate(pairwise(places)):
        reach = wide + (narrow - wide) * k / 39.0
        t = np.clip(((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / ((bx - ax) ** 2 + (by - ay) ** 2), 0.0, 1.0)
        off2 = (x - ax - t * (bx - ax)) ** 2 + (y - ay - t * (by - ay)) ** 2
        height = np.maximum(height, level * np.sqrt(np.clip(1.0 - off2 / reach**2, 0.0, 1.0)))
    return height


def _boss(x: Floats, y: Floats, centre: tuple[float, float], radius: float, level: float) -> Floats:
    """Return the height of a round berry."""
    out2 = ((x - centre[0]) ** 2 + (y - centre[1]) ** 2) / radius**2
    return level * np.sqrt(np.clip(1.0 - out2, 0.0, 1.0))
