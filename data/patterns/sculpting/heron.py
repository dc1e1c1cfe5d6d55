"""A heron among reeds on a plinth: 445 mm tall, its legs joined to a reed. Lengths in mm, the beak to +x."""

from __future__ import annotations

import numpy as np

from moldkit.pattern.implicit import Floats, Point, blend, carve, ellipsoid, limb
from sculpting.tools import Surface, arc, cast_from, from_base, graded, mirrored, smooth_step, strand


def sculpt() -> Surface:
    """Return the heron."""
    x = graded(-150.0, 160.0, ((-150.0, 2.5), (160.0, 2.5)))
    y = mirrored(75.0, ((0.0, 2.1), (40.0, 2.5)))
    low = ((0.0, 2.7), (30.0, 2.3), (45.0, 3.5), (160.0, 3.5), (190.0, 2.5))
    z = from_base(455.0, (*low, (290.0, 2.6), (330.0, 3.2), (400.0, 3.0), (412.0, 2.1)))
    return cast_from(field, x, y, z)


def field(x: Floats, y: Floats, z: Floats) -> Floats:
    """Return the field of bird, reeds and plinth."""
    side = np.abs(y)
    bird = blend(_body(x, side, z), _neck_and_head(x, side, z), 20.0)
    bird = blend(bird, _wing(x, side, z), 4.0)
    bird = blend(bird, _legs(x, side, z), 9.0)
    stand = blend(_plinth(x, y, z), _reeds(x, y, z), 7.0)
    return blend(bird, stand, 6.0)


def _along(x: Floats, z: Floats) -> tuple[Floats, Floats]:
    """Return places along the bird's back, from the shoulder to the tail, and across it, upwards."""
    lean = np.radians(24.0)
    dx, dz = x - 30.0, z - 262.0
    return -dx * np.cos(lean) - dz * np.sin(lean), dz * np.cos(lean) - dx * np.sin(lean)


def _scallops(u: Floats, v: Floats, long: float, wide: float) -> Floats:
    """Return the height, 0 to 1, of overlapping round-ended feathers that lie along u."""
    phase = u / long - 0.5 * np.abs(np.sin(np.pi * v / wide)) + 0.5 * np.floor(v / wide) % 1.0
    return (phase - np.floor(phase)) ** 1.5


def _body(x: Floats, y: Floats, z: Floats) -> Floats:
    """Return trunk, breast and tail."""
    trunk = limb(x, y * 1.14, z, (-52.0, 0.0, 216.0), (20.0, 0.0, 247.0), 29.0, 41.0)
    trunk = blend(trunk, ellipsoid(x, y, z, (34.0, 0.0, 250.0), (30.0, 29.0, 36.0)), 16.0)
    tail = limb(x, y * 0.6, z, (-52.0, 0.0, 212.0), (-128.0, 0.0, 176.0), 20.0, 7.0)
    u, _ = _along(x, z)
    tail = tail - 0.8 * np.sin(2.0 * np.pi * y / 8.0) * smooth_step(95.0, 115.0, u)
    trunk = blend(trunk, tail, 18.0)
    return trunk - 0.8 * _scallops(u - 0.6 * y, y * 1.1 + 0.4 * z, 15.0, 12.0)


def _wing(x: Floats, y: Floats, z: Floats) -> Floats:
    """Return a folded wing with its rows of feathers."""
    u, v = _along(x, z)
    wing = ellipsoid(u, y, v, (58.0, 26.0, -4.0), (72.0, 17.0, 33.0))
    wing = blend(wing, limb(u, y, v, (30.0, 27.0, 2.0), (150.0, 9.0, -14.0), 16.0, 5.5), 14.0)
    coverts = 2.6 * _scallops(u - 0.15 * v, v - 0.12 * u, 19.0, 13.0)
    quill = v + 10.0 + 0.10 * u
    quills = 1.6 * (1.0 - np.abs(np.sin(np.pi * quill / 8.5)) ** 3)
    far = smooth_step(66.0, 74.0, u + 0.35 * v)
    return wing - (1.0 - far) * coverts - far * quills


def _neck_and_head(x: Floats, y: Floats, z: Floats) -> Floats:
    """Return the bent neck, the head with its plume, and the beak."""
    bend = [(30.0, 0.0, 252.0), (60.0, 0.0, 284.0), (70.0, 0.0, 312.0), (54.0, 0.0, 342.0), (37.0, 0.0, 370.0)]
    bend += [(36.0, 0.0, 398.0), (48.0, 0.0, 420.0), (62.0, 0.0, 428.0)]
    radii = np.interp(np.arange(60) / 59.0, [0.0, 0.15, 0.3, 0.5, 0.8, 1.0], [24.0, 21.5, 17.0, 12.5, 10.5, 11.5])
    neck = strand(x, y, z, arc(bend, 60), radii.tolist())
    for out, reach, fall in ((0.0, 66.0, 214.0), (8.0, 64.0, 226.0), (15.0, 57.0, 222.0), (22.0, 48.0, 232.0)):
        fringe = [(60.0 - 0.3 * out, 0.7 * out, 290.0 - 1.2 * out), (70.0 - 0.5 * out, out, 262.0), (reach, out, fall)]
        neck = blend(neck, strand(x, y, z, arc(fringe, 7), _taper(5.0, 2.6, 7)), 3.0)
    head = ellipsoid(x, y, z, (66.0, 0.0, 430.0), (23.0, 12.0, 12.5))
    head = blend(head, limb(x, y, z, (74.0, 0.0, 428.5), (149.0, 0.0, 419.0), 9.0, 2.3), 9.0)
    gape = strand(x, y, z, ((82.0, 11.0, 425.0), (100.0, 8.5, 424.5), (146.0, 4.5, 419.0)), (1.5, 1.4, 1.2))
    head = carve(head, gape, 2.0)
    head = carve(head, ellipsoid(x, y, z, (75.0, 12.5, 432.0), (8.0, 4.0, 5.5)), 3.0)
    head = blend(head, ellipsoid(x, y, z, (75.0, 7.0, 432.5), (4.6, 4.6, 4.6)), 1.0)
    head = blend(head, limb(x, y, z, (66.0, 9.0, 437.0), (84.0, 8.0, 434.0), 2.5, 2.0), 3.0)
    plume = arc([(58.0, 2.5, 439.0), (38.0, 3.0, 439.0), (16.0, 3.0, 424.0), (-4.0, 2.5, 404.0)], 8)
    head = blend(head, strand(x, y, z, plume, _taper(5.0, 2.6, 8)), 5.0)
    return blend(neck, head, 8.0)


def _taper(start: float, end: float, count: int) -> list[float]:
    return [float(radius) for radius in np.linspace(start, end, count)]


def _legs(x: Floats, y: Floats, z: Floats) -> Floats:
    """Return a leg with its feathered thigh, joint and toes."""
    leg = limb(x, y, z, (-6.0, 15.0, 214.0), (2.0, 15.0, 164.0), 18.0, 7.5)
    leg = blend(leg, limb(x, y, z, (2.0, 15.0, 170.0), (-10.0, 14.5, 118.0), 6.0, 5.2), 6.0)
    leg = blend(leg, ellipsoid(x, y, z, (-10.5, 14.5, 117.0), (7.0, 6.2, 9.0)), 5.0)
    leg = blend(leg, limb(x, y, z, (-10.0, 14.5, 116.0), (2.0, 17.0, 34.0), 5.2, 5.0), 5.0)
    for toe in ((40.0, 12.0), (36.0, 30.0), (24.0, 40.0), (-22.0, 20.0)):
        mid = (0.5 * (2.0 + toe[0]), 0.5 * (17.0 + toe[1]), 36.5)
        leg = blend(leg, strand(x, y, z, ((2.0, 17.0, 36.0), mid, (toe[0], toe[1], 30.5)), (4.6, 4.2, 2.8)), 4.0)
    return leg


def _plinth(x: Floats, y: Floats, z: Floats) -> Floats:
    """Return an oval plinth with a molded edge, water rings and stones on top."""
    round_out = ((np.abs(x + 8.0) / 88.0) ** 2.4 + (np.abs(y) / 64.0) ** 2.4) ** (1.0 / 2.4)
    edge = (round_out - 1.0) * 64.0
    edge = edge + 3.0 * smooth_step(6.0, 9.0, z) * (1.0 - smooth_step(17.0, 20.0, z)) - 1.0
    ring = np.sqrt((x - 4.0) ** 2 + y * y)
    top = z - 29.0 + 1.3 * np.cos(ring / 2.3) * np.exp(-ring / 60.0) * (1.0 - smooth_step(0.8, 0.95, round_out))
    body = -blend(-edge, -top, 5.0)
    stones: tuple[tuple[Point, Point], ...] = (
        ((58.0, -26.0, 29.0), (17.0, 14.0, 12.0)),
        ((44.0, -42.0, 28.0), (12.0, 11.0, 9.0)),
        ((-66.0, 26.0, 29.0), (18.0, 16.0, 14.0)),
        ((-50.0, 40.0, 28.0), (11.0, 10.0, 8.0)),
    )
    for centre, radii in stones:
        body = blend(body, ellipsoid(x, y, z, centre, radii), 3.5)
    return body


def _reeds(x: Floats, y: Floats, z: Floats) -> Floats:
    """Return the reeds: one runs up between the legs into the belly and holds them, others rise behind."""
    reeds = strand(x, y, z, ((-6.0, 0.0, 20.0), (-9.0, 0.0, 116.0), (-14.0, 0.0, 225.0)), (7.5, 9.0, 7.0))
    bridge = limb(x, np.abs(y), z, (-9.5, 0.0, 112.0), (-10.5, 14.5, 117.0), 6.0, 5.0)
    reeds = blend(reeds, bridge, 6.0)
    for foot, bow, tip, thick in _STEMS:
        reeds = blend(reeds, strand(x, y, z, arc([foot, bow, tip], 8), _taper(5.0, 3.6, 8)), 5.0)
        head = limb(x, y, z, tip, (tip[0] - 3.0, tip[1], tip[2] + thick), 8.0, 7.0)
        reeds = blend(reeds, head, 2.5)
        reeds = blend(reeds, limb(x, y, z, tip, (tip[0] - 4.0, tip[1], tip[2] + thick + 24.0), 3.4, 2.3), 2.5)
    for foot, bow, tip in _LEAVES:
        reeds = blend(reeds, _leaf(x, y, z, foot, bow, tip), 5.0)
    return reeds


_STEMS: tuple[tuple[Point, Point, Point, float], ...] = (
    ((-40.0, -16.0, 24.0), (-56.0, -24.0, 110.0), (-82.0, -34.0, 232.0), 40.0),
    ((-50.0, 12.0, 24.0), (-74.0, 22.0, 110.0), (-104.0, 34.0, 196.0), 34.0),
)
_LEAVES: tuple[tuple[Point, Point, Point], ...] = (
    ((-28.0, 10.0, 24.0), (-40.0, 26.0, 100.0), (-44.0, 40.0, 206.0)),
    ((-30.0, -14.0, 24.0), (-34.0, -28.0, 90.0), (-24.0, -36.0, 212.0)),
    ((-62.0, -6.0, 24.0), (-84.0, -10.0, 80.0), (-124.0, -16.0, 118.0)),
    ((36.0, 34.0, 24.0), (50.0, 36.0, 62.0), (84.0, 34.0, 84.0)),
)


def _leaf(x: Floats, y: Floats, z: Floats, foot: Point, bow: Point, tip: Point) -> Floats:
    """Return a long leaf with a keel down the middle."""
    places = arc([foot, bow, tip], 7)
    broad = np.interp(np.arange(7), [0, 2, 5, 6], [7.5, 7.0, 5.0, 2.8])
    blade = strand(x, y * 1.9, z, [(p[0], p[1] * 1.9, p[2]) for p in places], broad.tolist()) / 1.4
    return blend(blade, strand(x, y, z, places, _taper(3.8, 2.6, 7)), 2.0)
