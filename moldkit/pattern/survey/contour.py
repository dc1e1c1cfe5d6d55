"""The outline of a mask as smooth closed lines, finer than its pixels."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Integers = NDArray[np.int64]

# Spread of the blur that turns steps into slopes, and of the smoothing along the line that follows, in pixels.
BLUR, ALONG = 1.2, 2.0
# A line round less than so many pixels is a speck.
_SPECK = 12.0


def outlines(mask: Flags) -> list[Floats]:
    """Return the outlines of a mask, each a closed line, counter-clockwise, shape (k, 2), in pixels (x, y).

    Pixel (row 0, column 0) has its middle at (0.5, 0.5). The mask is blurred and the line of one half followed.
    mask: its edge empty for some pixels, holes filled. Within 0.1 pixels of a straight or gently bent outline; a
    corner is rounded by about a pixel.
    """
    from scipy.ndimage import gaussian_filter

    height = gaussian_filter(mask.astype(np.float64), BLUR) - 0.5
    starts, ends, points = _crossings(height)
    lines = [smoothed(points[loop], ALONG) + 0.5 for loop in _loops(starts, ends)]
    return [line for line in lines if _area(line) > _SPECK]


def smoothed(line: Floats, spread: float) -> Floats:
    """Return a closed line, or figures along it, smoothed; spread: in points of the line; shape (k, ...)."""
    from scipy.ndimage import gaussian_filter1d

    result: Floats = gaussian_filter1d(line, spread, axis=0, mode="wrap")
    return result


def _crossings(height: Floats) -> tuple[Integers, Integers, Floats]:
    """Return the pieces of the line of height 0 as numbers of their end points, and all points by number, (p, 2).

    By marching squares (from memory): each cell between four pixel middles holds one piece or two, its higher side to
    the left; of the two ways through a saddle the one is taken that keeps the high corners apart.
    """
    rows, columns = height.shape
    high = height > 0.0
    # Points lie on the edges of cells: numbers below rows x columns on level edges, from there on upright ones.
    level = np.flatnonzero((high[:, :-1] != high[:, 1:]).ravel())
    upright = np.flatnonzero((high[:-1] != high[1:]).ravel())
    number = np.full(2 * rows * columns, -1, dtype=np.int64)
    row, column = np.divmod(level, columns - 1)
    number[row * columns + column] = np.arange(len(level))
    part = height[row, column] / (height[row, column] - height[row, column + 1])
    across = np.stack([column + part, row], axis=1)
    row, column = np.divmod(upright, columns)
    number[rows * columns + row * columns + column] = len(level) + np.arange(len(upright))
    part = height[row, column] / (height[row, column] - height[row + 1, column])
    along = np.stack([column, row + part], axis=1)
    corners = high[:-1, :-1] + 2 * high[:-1, 1:] + 4 * high[1:, 1:] + 8 * high[1:, :-1]
    starts, ends = _pieces(corners, columns, rows * columns)
    return number[starts], number[ends], np.concatenate([across, along])


# For each pattern of high corners (1 low left, 2 low right, 4 high right, 8 high left) the sides of the cell from
# which to which a piece runs, 0 bottom, 1 right, 2 top, 3 left, with the high side to its left.
_RUNS = {
    1: [(0, 3)], 2: [(1, 0)], 3: [(1, 3)], 4: [(2, 1)], 5: [(0, 3), (2, 1)], 6: [(2, 0)], 7: [(2, 3)],
    8: [(3, 2)], 9: [(0, 2)], 10: [(1, 0), (3, 2)], 11: [(1, 2)], 12: [(3, 1)], 13: [(0, 1)], 14: [(3, 0)],
}  # fmt: skip


def _pieces(corners: Integers, columns: int, uprights: int) -> tuple[Integers, Integers]:
    """Return the edges from which to which each piece runs."""
    starts, ends = [], []
    for kind, runs in _RUNS.items():
        row, column = np.nonzero(corners == kind)
        place = row * columns + column
        sides = (place, uprights + place + 1, place + columns, uprights + place)
        for start, end in runs:
            starts.append(sides[start])
            ends.append(sides[end])
    return np.concatenate(starts), np.concatenate(ends)


def _loops(starts: Integers, ends: Integers) -> list[list[int]]:
    """Return the points of each closed line in order."""
    onward = dict(zip(starts.tolist(), ends.tolist(), strict=True))
    loops = []
    while onward:
        first, point = onward.popitem()
        loop = [first]
        while point != first:
            loop.append(point)
            point = onward.pop(point)
        loops.append(loop)
    return loops


def _area(line: Floats) -> float:
    x, y = (line - line[0]).T
    return abs(float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum())) / 2.0
