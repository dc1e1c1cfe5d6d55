"""A pattern seen along a direction: its area and the length of its outline, from a raster of its faces."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Integers = NDArray[np.int64]

# The picture is turned by this angle [rad], at which the counts below are right for outlines level and upright
# (and at 45 degrees), as those of made parts are.
PICTURE_TURN = math.radians(15.4)
_STEPS = [(x, y) for x in range(4) for y in range(-3, 4) if math.gcd(x, abs(y)) == 1 and (x > 0 or y > 0)]


def _step_weights() -> Floats:
    """Return weights that make the weighted crossings of a straight line its length, at best for every slope."""
    slope = np.linspace(0.0, math.pi, 360, endpoint=False)
    directions = np.array([math.atan2(y, x) for x, y in _STEPS])
    crossings = np.abs(np.sin(slope[:, None] - directions)) * np.hypot(*np.array(_STEPS, dtype=float).T)
    weights: Floats = np.linalg.lstsq(crossings, np.ones(len(slope)), rcond=None)[0]
    return weights


_WEIGHTS = _step_weights()


@dataclass(frozen=True)
class Silhouette:
    """What is seen of a pattern along a direction: area [m2], holes not counted, and length of its outline [m]."""

    area: float
    outline: float


def silhouette(corners: Floats, right: Floats, up: Floats, pixels: int) -> Silhouette:
    """Measure the silhouette of a closed surface.

    The outline's length is found by counting crossings with lines of many directions (Cauchy and Crofton's
    formula: the length is half pi times the mean number of crossings per distance between lines).
    corners: of its faces, shape (m, 3, 3) [m]; right, up: unit vectors of the picture, shape (3,); pixels: along
    the picture's longer side. Returns area and outline; within 1 % for 200 pixels and more across.
    """
    turned = math.cos(PICTURE_TURN), math.sin(PICTURE_TURN)
    across = np.stack([right * turned[0] + up * turned[1], up * turned[0] - right * turned[1]], axis=1)
    flat = corners @ across
    # A closed surface is covered by the faces of one side.
    flat = flat[_turning(flat) > 0.0]
    low = flat.min(axis=(0, 1))
    size = float((flat.max(axis=(0, 1)) - low).max()) / (pixels - 1)
    mask = covered_pixels((flat - low) / size + 4.5, pixels + 8)
    return Silhouette(float(mask.sum()) * size**2, outline_length(with_holes_filled(mask)) * size)


def _turning(flat: Floats) -> Floats:
    a, b = flat[:, 1] - flat[:, 0], flat[:, 2] - flat[:, 0]
    result: Floats = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    return result


def covered_pixels(flat: Floats, pixels: int) -> Flags:
    """Return which pixels have their centre in a triangle, shape (pixels, pixels), rows along the second coordinate.

    flat: corners in pixels, shape (m, 3, 2), all within the picture.
    """
    order = np.argsort(flat[:, :, 1], axis=1)
    (x0, x1, x2), (y0, y1, y2) = np.take_along_axis(flat, order[:, :, None], axis=1).transpose(2, 1, 0)
    first = np.ceil(y0 - 0.5).astype(np.int64)
    rows = np.ceil(y2 - 0.5).astype(np.int64) - first
    face = np.repeat(np.arange(len(flat)), rows)
    row = np.arange(len(face)) - np.repeat(np.cumsum(rows) - rows, rows) + first[face]
    y = row + 0.5
    x0, x1, x2, y0, y1, y2 = (values[face] for values in (x0, x1, x2, y0, y1, y2))
    long_side = x0 + (x2 - x0) * (y - y0) / (y2 - y0)
    below = y < y1
    start_x, start_y = np.where(below, x0, x1), np.where(below, y0, y1)
    end_x, end_y = np.where(below, x1, x2), np.where(below, y1, y2)
    short_side = start_x + (end_x - start_x) * (y - start_y) / np.maximum(end_y - start_y, 1e-30)
    left = np.ceil(np.minimum(long_side, short_side) - 0.5).astype(np.int64)
    right = np.ceil(np.maximum(long_side, short_side) - 0.5).astype(np.int64)
    count = pixels * pixels
    opened = np.bincount(row * pixels + left, minlength=count) - np.bincount(row * pixels + right, minlength=count)
    result: Flags = np.cumsum(opened).reshape(pixels, pixels) > 0
    return result


def with_holes_filled(mask: Flags) -> Flags:
    """Return the mask with every pixel set that the picture's edge cannot be reached from.

    mask: shape (n, n), its edge empty.
    """
    outside = np.zeros_like(mask)
    outside[0] = True
    reached = 0
    while reached != (reached := int(outside.sum())):
        for quarter in range(4):
            seen, closed = np.rot90(outside, quarter), np.rot90(mask, quarter)
            for row in range(1, len(mask)):
                seen[row] |= seen[row - 1] & ~closed[row]
    return ~outside


def outline_length(mask: Flags) -> float:
    """Return the length of the outline of a mask, in pixels; its edge is empty for three pixels."""
    return float(_WEIGHTS @ [_crossings(mask, *step) for step in _STEPS])


def _crossings(mask: Flags, x: int, y: int) -> int:
    """Return how many pixels differ from the pixel x to the right and y up."""
    rows, columns = mask.shape
    here = mask[max(0, -y) : rows - max(0, y), : columns - x]
    there = mask[max(0, y) : rows + min(0, y), x:]
    return int((here != there).sum())
