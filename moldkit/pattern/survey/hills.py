"""The hills of a surface seen along a direction, and the height at which each first meets a higher one.

Air under a roof gets out until the liquid has risen to the way out, and the depth of roof above that holds air.
Above any level a closed surface that doesn't cut itself parts space into solid and free regions, each but the open
air with one piece of surface round it, on which its own highest point lies. Two pieces that meet at a saddle facing
up are the skins of two solid regions, or of one and the free region round it, which reaches higher; at a saddle
facing down the other way about. So one count of hills on the surface, the lower giving way to the higher where they
meet, is right both for air in the casting (tops) and for air under the pattern (ceilings).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Ranks = NDArray[np.int32]


@dataclass(frozen=True, eq=False)
class Hills:
    """Hills of a surface, highest first.

    heights: of the vertices, shape (n,) [m]; of_vertex: number of the hill that steepest ascent leads to, shape
    (n,); peaks: vertex of each peak, shape (k,); saddles: height at which each hill first meets a higher one, minus
    infinity where it never does, shape (k,) [m]; onto: number of the hill that the higher one is part of and named
    for, its own where there is none, shape (k,).
    """

    heights: Floats
    of_vertex: Ranks
    peaks: Integers
    saddles: Floats
    onto: Integers

    def tops(self) -> Floats:
        """Return the height of each peak, shape (k,) [m]."""
        result: Floats = self.heights[self.peaks]
        return result

    def feet(self) -> Floats:
        """Return the height at which air leaves each peak: its saddle, or the lowest point of its body, (k,) [m]."""
        lonely = np.flatnonzero(np.isneginf(self.saddles))
        low = np.full(len(self.peaks), np.inf)
        np.minimum.at(low, self.joined(-np.inf)[self.of_vertex], self.heights)
        feet = self.saddles.copy()
        feet[lonely] = low[lonely]
        return feet

    def joined(self, level: float) -> Integers:
        """Return for each hill the highest one that it is joined with above a level [m], shape (k,)."""
        lead = np.where(self.saddles > level, self.onto, np.arange(len(self.peaks)))
        while (lead[lead] != lead).any():
            lead = lead[lead]
        return lead


def find_hills(heights: Floats, faces: Integers) -> Hills:
    """Return the hills of a closed surface.

    heights: of the vertices, shape (n,) [m]; faces: shape (m, 3). Of vertices at one height the later number counts
    as higher, so that a flat top is one hill or several that meet at its own height.
    """
    order = np.argsort(heights, kind="stable")
    rank = np.empty(len(order), dtype=np.int32)
    rank[order] = np.arange(len(order), dtype=np.int32)
    corners = [np.take(rank, faces[:, corner]) for corner in range(3)]
    summit = _summits(corners, len(order))
    is_peak = summit == np.arange(len(order))
    # Counted from the top down, so that the first hill is the highest.
    number = (int(is_peak.sum()) - np.cumsum(is_peak)).astype(np.int32)
    hill = number[summit]
    passes, levels = _passes(corners, hill)
    saddles, onto = _meetings(int(is_peak.sum()), passes, levels)
    saddle_heights = np.where(saddles < 0, -np.inf, heights[order[saddles]])
    return Hills(heights, hill[rank], order[is_peak][::-1], saddle_heights, onto)


def _summits(corners: list[Ranks], count: int) -> Ranks:
    """Return the rank of the vertex at which steepest ascent from each rank ends, shape (n,)."""
    highest = np.maximum(np.maximum(corners[0], corners[1]), corners[2])
    ahead = np.arange(count, dtype=np.int32)
    for corner in corners:
        np.maximum.at(ahead, corner, highest)
    while True:
        further = ahead[ahead]
        if np.array_equal(further, ahead):
            return ahead
        ahead = further


def _passes(corners: list[Ranks], hill: Ranks) -> tuple[Integers, Integers]:
    """Return pairs of neighbouring hills, shape (e, 2), and the rank of the highest way between them, falling, (e,)."""
    a, b, c = (hill[corner] for corner in corners)
    mixed = (a != b) | (b != c)
    count = int(hill.max()) + 1
    ranks = [corner[mixed] for corner in corners]
    hills = [side[mixed].astype(np.int64) for side in (a, b, c)]
    level = np.concatenate([np.minimum(ranks[i], ranks[i - 1]) for i in range(3)])
    low = np.concatenate([np.minimum(hills[i], hills[i - 1]) for i in range(3)])
    high = np.concatenate([np.maximum(hills[i], hills[i - 1]) for i in range(3)])
    between = low != high
    level, pair = level[between], (low * count + high)[between]
    falling = np.argsort(-level, kind="stable")
    _, first = np.unique(pair[falling], return_index=True)
    kept = falling[np.sort(first)]
    return np.stack([pair[kept] // count, pair[kept] % count], axis=1), level[kept].astype(np.int64)


def _meetings(count: int, passes: Integers, levels: Integers) -> tuple[Integers, Integers]:
    """Join hills over their passes, the highest pass first, the lower hill giving way to the higher.

    Returns the rank at which each gives way, -1 for never, and to which hill, shape (k,) each.
    """
    lead, saddles, onto = list(range(count)), [-1] * count, list(range(count))
    for (one, other), level in zip(passes.tolist(), levels.tolist(), strict=True):
        while lead[one] != one:
            lead[one] = lead[lead[one]]
            one = lead[one]
        while lead[other] != other:
            lead[other] = lead[lead[other]]
            other = lead[other]
        if one != other:
            higher, lower = min(one, other), max(one, other)
            lead[lower] = onto[lower] = higher
            saddles[lower] = level
    return np.array(saddles), np.array(onto)
