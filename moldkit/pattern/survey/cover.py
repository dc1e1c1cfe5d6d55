"""The pieces of a mold: as few ways of leaving as free all of the surface that can be freed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Integers = NDArray[np.int64]
# Tells which of some points, by number, a piece frees after all that leaves along a direction, by number.
LookClosely = Callable[[int, Integers], Flags]

# A piece that frees less of the molded area than this is not made: the rubber or the file sees to the rest.
LEAST_SHARE = 0.005


@dataclass(frozen=True)
class Cover:
    """Pieces of a mold; ways: numbers of their directions; shares: that each frees and none before it does."""

    ways: tuple[int, ...]
    shares: tuple[float, ...]


def fewest_pieces(freed: Flags, look_closely: LookClosely, starts: Sequence[Sequence[int]], enough: float) -> Cover:
    """Return the shortest of the covers that begin with given pieces and go on with the most useful ones.

    A cover ends when it frees enough, or no further piece frees LEAST_SHARE. Among those with fewest pieces the first
    whose freed share is within LEAST_SHARE of the best is taken, so that starts belong in order of preference.
    freed: which points each direction frees at the least, shape (k, n); look_closely: finds more of them; starts:
    numbers of the directions that each cover begins with; enough: share of the points.
    """
    covers = [_continued(freed, look_closely, start, enough) for start in starts]
    fewest = min(len(cover.ways) for cover in covers)
    short = [cover for cover in covers if len(cover.ways) == fewest]
    best = max(sum(cover.shares) for cover in short)
    return next(cover for cover in short if sum(cover.shares) >= best - LEAST_SHARE)


def best_two(freed: Flags) -> tuple[int, int]:
    """Return the two directions that together free the most points."""
    count = freed.astype(np.float32)
    each = count.sum(axis=1)
    together = each[:, None] + each[None] - count @ count.T
    first, second = np.unravel_index(int(np.argmax(together)), together.shape)
    return int(first), int(second)


def _continued(freed: Flags, look_closely: LookClosely, start: Sequence[int], enough: float) -> Cover:
    """Return a cover that begins with some directions."""
    left = np.ones(freed.shape[1], dtype=bool)
    ways, shares = list(start), _used(freed, look_closely, start, left)
    while left.mean() > 1.0 - enough:
        way = int(np.argmax(freed[:, left].sum(axis=1)))
        (share,) = _used(freed, look_closely, [way], left)
        if share < LEAST_SHARE:
            break
        ways.append(way)
        shares.append(share)
    made = [number for number, share in enumerate(shares) if share >= LEAST_SHARE or not number]
    return Cover(tuple(ways[number] for number in made), tuple(shares[number] for number in made))


def _used(freed: Flags, look_closely: LookClosely, ways: Sequence[int], left: Flags) -> list[float]:
    """Take what some pieces free off what is left; return the share that each frees.

    What they free outright goes first, so that only the rest has to be looked at closely.
    """
    shares = []
    for way in ways:
        shares.append(float((freed[way] & left).mean()))
        left &= ~freed[way]
    for number, way in enumerate(ways):
        rest = np.flatnonzero(left)
        yields = look_closely(way, rest)
        left[rest[yields]] = False
        shares[number] += float(yields.sum()) / len(left)
    return shares
