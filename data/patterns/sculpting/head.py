"""A head with its hair bound up, cut flat at the neck: 296 mm tall. Lengths in mm, facing -y."""

from __future__ import annotations

import numpy as np

from moldkit.pattern.implicit import Floats, Point, blend, carve, ellipsoid, limb
from sculpting.tools import Surface, arc, cast_from, from_base, graded, mirrored, smooth_step, strand


def sculpt() -> Surface:
    """Return the head; the grid is finest at the face."""
    x = mirrored(110.0, ((0.0, 2.0), (40.0, 2.1), (60.0, 3.0), (110.0, 3.0)))
    y = graded(-125.0, 160.0, ((-70.0, 2.0), (-45.0, 3.0), (110.0, 3.3), (130.0, 3.1)))
    z = from_base(302.0, ((0.0, 5.0), (70.0, 4.5), (95.0, 2.1), (205.0, 2.1), (230.0, 2.9)))
    return cast_from(field, x, y, z)


def field(x: Floats, y: Floats, z: Floats) -> Floats:
    """Return the field of the whole head."""
    side = np.abs(x)
    head = _skull(side, y, z)
    head = blend(head, _neck(side, y, z), 12.0)
    head = _eyes(head, side, y, z)
    head = _nose(head, side, y, z)
    head = _mouth(head, side, y, z)
    head = blend(head, _hair(x, y, z), 4.0)
    return _ear(head, side, y, z)


def _skull(x: Floats, y: Floats, z: Floats) -> Floats:
    """Return cranium, face, jaw and cheeks without features."""
    head = ellipsoid(x, y, z, (0.0, 14.0, 208.0), (73.0, 94.0, 78.0))
    head = blend(head, ellipsoid(x, y, z, (0.0, -30.0, 212.0), (60.0, 51.0, 48.0)), 20.0)
    head = blend(head, ellipsoid(x, y, z, (0.0, -28.0, 152.0), (56.0, 54.0, 72.0)), 20.0)
    head = blend(head, ellipsoid(x, y, z, (0.0, -4.0, 165.0), (65.0, 52.0, 62.0)), 24.0)
    head = blend(head, limb(x, y, z, (50.0, 4.0, 127.0), (17.0, -62.0, 84.0), 13.0, 14.0), 26.0)
    head = blend(head, ellipsoid(x, y, z, (0.0, -73.0, 84.0), (19.0, 15.0, 14.0)), 14.0)
    head = blend(head, ellipsoid(x, y, z, (42.0, -50.0, 157.0), (19.0, 20.0, 14.0)), 24.0)
    head = blend(head, ellipsoid(x, y, z, (32.0, -55.0, 128.0), (22.0, 20.0, 26.0)), 18.0)
    return blend(head, ellipsoid(x, y, z, (0.0, -68.0, 113.0), (29.0, 21.0, 23.0)), 16.0)


def _neck(x: Floats, y: Floats, z: Floats) -> Floats:
    """Return the neck with its two long muscles and the larynx."""
    neck = limb(x, y, z, (0.0, 34.0, -20.0), (0.0, 26.0, 130.0), 55.0, 49.0)
    neck = blend(neck, limb(x, y, z, (28.0, 62.0, 110.0), (44.0, 58.0, -20.0), 22.0, 30.0), 30.0)
    neck = blend(neck, limb(x, y, z, (52.0, 34.0, 128.0), (12.0, -22.0, -4.0), 10.0, 9.0), 14.0)
    neck = blend(neck, limb(x, y, z, (0.0, -22.0, 68.0), (0.0, -24.0, 50.0), 5.0, 5.0), 22.0)
    return blend(neck, ellipsoid(x, y, z, (0.0, -32.0, 92.0), (36.0, 38.0, 14.0)), 16.0)


def _eyes(head: Floats, x: Floats, y: Floats, z: Floats) -> Floats:
    """Return the head with brows, sockets, lids and eyes."""
    brow = strand(x, y, z, ((6.0, -79.0, 194.0), (28.0, -79.0, 201.0), (52.0, -61.0, 195.0)), (5.5, 5.5, 3.5))
    head = blend(head, brow, 16.0)
    head = carve(head, ellipsoid(x, y, z, (30.0, -96.0, 183.0), (22.0, 21.0, 13.0)), 10.0)
    head = carve(head, ellipsoid(x, y, z, (15.5, -92.0, 181.0), (6.5, 12.0, 8.0)), 8.0)
    centre = (31.0, -64.5, 180.5)
    lid = ellipsoid(x, y, z, centre, (18.0, 16.6, 16.2))
    tilt = 0.10 * (x - centre[0])
    up, fore = z - centre[2] - tilt, y - centre[1]
    upper = -blend(-lid, up * np.cos(0.40) + fore * np.sin(0.40), 1.5)
    lower = -blend(-lid, -up * np.cos(0.36) + fore * np.sin(0.36), 1.5)
    head = blend(head, blend(upper, lower, 0.6), 5.0)
    crease = [(15.0, -76.0, 187.5), (23.0, -80.5, 193.0), (34.0, -80.0, 193.8), (47.0, -70.0, 188.5)]
    head = carve(head, strand(x, y, z, arc(crease, 8), (1.3,) * 8), 3.0)
    ball = ellipsoid(x, y, z, centre, (15.2, 14.2, 14.2))
    iris = ellipsoid(x, y, z, (30.0, -79.6, 181.6), (5.4, 1.5, 5.4))
    pupil = ellipsoid(x, y, z, (30.0, -79.0, 182.0), (2.6, 3.0, 2.6))
    return blend(head, carve(carve(ball, iris, 0.8), pupil, 0.8), 0.8)


def _nose(head: Floats, x: Floats, y: Floats, z: Floats) -> Floats:
    """Return the head with bridge, tip, wings and nostrils."""
    ridge = ((0.0, -82.0, 196.0), (0.0, -87.0, 182.0), (0.0, -97.0, 161.0), (0.0, -105.0, 144.5))
    nose = strand(x, y, z, ridge, (6.5, 5.6, 6.4, 8.2))
    nose = blend(nose, limb(x, y, z, (4.0, -82.0, 182.0), (8.5, -89.0, 146.0), 6.0, 9.0), 8.0)
    nose = blend(nose, limb(x, y, z, (4.0, -74.0, 174.0), (14.0, -77.0, 145.0), 6.0, 8.5), 14.0)
    nose = blend(nose, limb(x, y, z, (0.0, -80.0, 150.0), (0.0, -92.0, 143.0), 11.0, 8.0), 4.0)
    head = blend(head, nose, 9.0)
    head = blend(head, ellipsoid(x, y, z, (11.5, -92.0, 140.5), (6.6, 10.0, 7.2)), 4.5)
    head = blend(head, limb(x, y, z, (0.0, -102.0, 137.5), (0.0, -87.0, 132.0), 3.8, 3.8), 4.0)
    return carve(head, ellipsoid(x, y, z, (6.6, -96.0, 133.0), (3.3, 5.8, 4.0)), 2.5)


def _mouth(head: Floats, x: Floats, y: Floats, z: Floats) -> Floats:
    """Return the head with lips and the groove above them."""
    head = carve(head, limb(x, y, z, (0.0, -92.5, 131.0), (0.0, -94.5, 122.0), 2.4, 3.0), 4.0)
    upper = arc([(0.0, -92.0, 117.8), (6.5, -92.2, 119.0), (15.0, -87.5, 116.5), (25.0, -79.0, 112.8)], 7)
    lower = arc([(0.0, -90.0, 107.6), (10.0, -88.0, 107.8), (23.0, -79.5, 111.6)], 6)
    top = strand(x, y, z, upper, np.linspace(5.0, 2.0, 7).tolist())
    bottom = strand(x, y, z, lower, np.linspace(6.4, 2.0, 6).tolist())
    head = blend(head, blend(top, bottom, 1.0), 5.0)
    line = arc([(0.0, -97.0, 112.9), (8.0, -95.4, 113.7), (17.0, -88.8, 113.2), (27.0, -79.0, 111.4)], 9)
    head = carve(head, strand(x, y, z, line, (2.0, 2.0, 2.0, 1.9, 1.8, 1.7, 1.6, 1.5, 1.3)), 3.0)
    return carve(head, ellipsoid(x, y, z, (30.5, -84.0, 111.0), (4.0, 4.5, 5.0)), 5.0)


def _hair(x: Floats, y: Floats, z: Floats) -> Floats:
    """Return the hair: combed in waves from a parting to a knot behind, under a band."""
    side = np.abs(x)
    cap = ellipsoid(x, y, z, (0.0, 16.0, 206.0), (74.0, 93.0, 82.0))
    cap = blend(cap, ellipsoid(x, y, z, (0.0, 54.0, 140.0), (52.0, 38.0, 42.0)), 30.0)
    heights = [90.0, 110.0, 140.0, 158.0, 176.0, 196.0, 215.0, 235.0, 247.0, 256.0, 400.0]
    fronts = [82.0, 60.0, 44.0, 36.0, 2.0, -14.0, -30.0, -52.0, -78.0, -110.0, -300.0]
    behind = y - np.interp(z, heights, fronts)
    turn = np.arctan2(side, z - 203.0)
    out = np.sqrt(side * side + (z - 203.0) ** 2)
    wave = 0.22 * np.sin((y + 0.5 * out) / 11.0)
    combed = 0.9 * np.sin(15.0 * turn + 9.0 * wave) + 0.55 * np.sin(37.0 * turn + 14.0 * wave + 0.7)
    combed = combed * 1.15 * smooth_step(10.0, 45.0, out) - 3.0 * np.exp(-((side / 3.2) ** 2)) * (z > 203.0)
    band = np.abs(y - 16.0 + 0.22 * (z - 285.0))
    bound = (1.0 - smooth_step(5.5, 7.5, band)) * smooth_step(160.0, 180.0, z)
    rise = (6.5 + combed) * (1.0 - bound) + 8.0 * bound - 2.5 * np.exp(-(((band - 9.0) / 2.5) ** 2))
    hair = cap - (rise + 8.0) * smooth_step(-2.0, 14.0, behind) + 8.0
    return blend(hair, _knot(x, y, z), 10.0)


def _knot(x: Floats, y: Floats, z: Floats) -> Floats:
    """Return the knot of hair behind, wound in a spiral."""
    centre: Point = (0.0, 119.0, 206.0)
    ball = ellipsoid(x, y, z, centre, (35.0, 27.0, 34.0))
    turn = np.arctan2(z - centre[2], x)
    out = np.sqrt(x * x + (z - centre[2]) ** 2)
    wound = np.sin(2.0 * turn + out * 0.42) + 0.45 * np.sin(6.0 * turn + out * 1.1)
    return ball - 1.8 * wound * smooth_step(1.0, 9.0, out)


def _ear(head: Floats, x: Floats, y: Floats, z: Floats) -> Floats:
    """Return the head with its ears."""
    plate = ellipsoid(x, y, z, (72.0, 15.0, 170.0), (7.0, 15.0, 26.0))
    plate = blend(plate, limb(x, y, z, (60.0, 16.0, 172.0), (74.0, 17.0, 172.0), 14.0, 12.0), 8.0)
    head = blend(head, plate, 6.0)
    head = carve(head, ellipsoid(x, y, z, (83.0, 10.0, 163.0), (10.0, 9.0, 12.0)), 4.0)
    curve = [(73.0, 8.0, 166.0), (75.0, -1.0, 178.0), (77.0, 4.0, 193.0), (80.0, 17.0, 198.0), (83.0, 29.0, 189.0)]
    curve += [(83.0, 31.0, 172.0), (80.0, 26.0, 156.0), (76.0, 18.0, 146.0), (72.0, 9.0, 143.0)]
    radii = np.interp(np.arange(22), [0, 4, 17, 21], [2.6, 3.6, 3.4, 4.6]).tolist()
    head = blend(head, strand(x, y, z, arc(curve, 22), radii), 6.5)
    fold = arc([(79.0, 15.0, 189.0), (80.0, 20.5, 176.0), (79.0, 19.0, 161.0), (76.0, 11.0, 150.0)], 8)
    head = blend(head, strand(x, y, z, fold, (2.0, 2.6, 3.0, 3.2, 3.2, 3.2, 3.0, 2.6)), 4.0)
    return blend(head, ellipsoid(x, y, z, (72.5, -1.0, 161.0), (4.5, 3.5, 6.5)), 6.0)
