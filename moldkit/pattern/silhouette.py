"""A pattern seen along a direction: its area and the length of its outline, from a raster of its faces."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldkit.pattern.footprint import convex_hull, perimeter

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Integers = NDArray[np.int64]

# The picture is turned by this angle [rad], at which the counts below are right for outlines level and upright
# (and at 45 degrees), as those of made parts are.
PICTURE_TURN = math.radians(15.4)
# What is seen narrower than this, such as a sheet edge on, has its convex outline.
FEWEST_PIXELS = 8
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


def silhouette(vertices: Floats, faces: Integers, right: Floats, up: Floats, pixels: int) -> Silhouette:
    """Measure the silhouette of a closed surface.

    The outline's length is found by counting crossings with lines of many directions (Cauchy and Crofton's
    formula: the length is half pi times the mean number of crossings per distance between lines).
    vertices: shape (n, 3) [m]; faces: shape (m, 3), counter-clockwise from outside; right, up: unit vectors of the
    picture, shape (3,); pixels: along the picture's longer side. Returns area and outline; within 1 % for 600
    pixels, 2 % for 160.
    """
    cos, sin = math.cos(PICTURE_TURN), math.sin(PICTURE_TURN)
    flat = np.stack([cos * right + sin * up, cos * up - sin * right]) @ vertices.T
    low = flat.min(axis=1, keepdims=True)
    size = float((flat.max(axis=1, keepdims=True) - low).max()) / (pixels - 1)
    mask = covered_pixels((flat - low) / size + 4.5, faces, pixels + 8)
    narrow = min(float(np.ptp(vertices @ right)), float(np.ptp(vertices @ up))) < FEWEST_PIXELS * size
    outline = perimeter(convex_hull(flat.T)) if narrow else outline_length(with_holes_filled(mask)) * size
    return Silhouette(float(mask.sum()) * size**2, outline)


def covered_pixels(flat: Floats, faces: Integers, pixels: int) -> Flags:
    """Return which pixels have their centre in a triangle seen counter-clockwise, rows along the second coordinate.

    A closed surface is covered by the faces of one side alone.
    flat: vertices in pixels, shape (2, n), within the picture; faces: shape (m, 3). Returns shape (pixels, pixels).
    """
    heights = flat[1][faces.T]
    first = _centres_below(np.minimum(np.minimum(*heights[:2]), heights[2]))
    rows = _centres_below(np.maximum(np.maximum(*heights[:2]), heights[2])) - first
    # In a fine mesh most triangles lie between two rows of centres.
    x, y = flat[:, faces[rows > 0].T]
    seen = (x[1] - x[0]) * (y[2] - y[0]) > (x[2] - x[0]) * (y[1] - y[0])
    first, rows = first[rows > 0][seen], rows[rows > 0][seen]
    triangle = np.repeat(np.flatnonzero(seen), rows)
    row = np.arange(len(triangle)) + np.repeat(first - np.cumsum(rows) + rows, rows)
    left, right = _crossed(x[:, triangle], y[:, triangle], row + 0.5)
    count = pixels * pixels
    opened = np.bincount(row * pixels + left, minlength=count) - np.bincount(row * pixels + right, minlength=count)
    result: Flags = np.cumsum(opened).reshape(pixels, pixels) > 0
    return result


def _centres_below(at: Floats) -> Integers:
    """Return how many pixels have their centre below a coordinate."""
    return np.ceil(at - 0.5).astype(np.int64)


def _crossed(x: Floats, y: Floats, height: Floats) -> tuple[Integers, Integers]:
    """Return the first pixel and the one past the last whose centre lies in each triangle at a height within it.

    x, y: of the corners, shape (3, k); height: shape (k,).
    """
    run, rise = np.roll(x, -1, axis=0) - x, np.roll(y, -1, axis=0) - y
    above = y > height
    cuts = above != np.roll(above, -1, axis=0)
    at = x + run * ((height - y) / np.where(cuts, rise, 1.0))
    left, right = np.where(cuts, at, np.inf).min(axis=0), np.where(cuts, at, -np.inf).max(axis=0)
    return _centres_below(left), _centres_below(right)


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
