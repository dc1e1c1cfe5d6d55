"""The pieces of a rigid mold and of a soft one, from what each direction frees."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from moldkit.pattern.survey.cover import Cover, best_two, fewest_pieces
from moldkit.pattern.survey.directions import UP
from moldkit.pattern.survey.grade import RIGID_FREES, SOFT_FREES
from moldkit.pattern.survey.results import Piece, Point
from moldkit.pattern.survey.samples import Samples
from moldkit.pattern.survey.sideways import Draw
from moldkit.pattern.survey.undercut import scratched, yielding

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Integers = NDArray[np.int64]
DrawAlong = Callable[[Floats], Draw]

# Soft rubber is tried with every so many-th point.
_SOFT = 2


def rigid_pieces(draw: DrawAlong, few: Samples, directions: Floats, flags: Flags, many: int) -> tuple[Piece, ...]:
    """Return the pieces of a rigid mold, which leaves scratches.

    draw: the pull along a direction; few: n points; directions: ways of single pieces, unit vectors, shape (k, 3),
    the best pull's first, which are so `many`; flags: which points each frees, shape (k, n).
    """

    def look_closely(way: int, hidden: Integers) -> Flags:
        return scratched(draw(directions[way]), few.chosen(hidden))

    return _pieces(directions, fewest_pieces(flags, look_closely, _starts(directions, flags, many), RIGID_FREES))


def soft_pieces(
    draw: DrawAlong, few: Samples, directions: Floats, flags: Flags, many: int, stretch: float
) -> tuple[Piece, ...]:
    """Return the pieces of a mold whose rubber may widen by the share `stretch`; else as of a rigid mold."""
    some = few.every(_SOFT)

    def look_closely(way: int, hidden: Integers) -> Flags:
        return yielding(draw(directions[way]), some.chosen(hidden), stretch)

    rough, starts = flags[:, ::_SOFT], _starts(directions, flags, many)
    return _pieces(directions, fewest_pieces(rough, look_closely, starts, SOFT_FREES))


def plain_pieces(ways: Floats, flags: Flags, total: float) -> tuple[Piece, ...]:
    """Return one piece for each way.

    ways: unit vectors, shape (w, 3); flags: which points each frees, shape (w, n); total: share that all free together,
    scratches or stretch counted in; what the flags don't show of it is the last one's.
    """
    gained = np.diff(np.logical_or.accumulate(flags, axis=0).mean(axis=1), prepend=0.0)
    gained[-1] = total - float(gained[:-1].sum())
    return tuple(Piece(_point(way), float(share)) for way, share in zip(ways, gained, strict=True))


def _starts(directions: Floats, flags: Flags, many: int) -> list[list[int]]:
    """Return the directions that covers begin with: the best pull, straight up, the most useful one, the best two."""
    up = int(np.argmax(directions @ UP))
    most = int(np.argmax(flags.sum(axis=1)))
    return [list(range(many)), [up], [most], list(best_two(flags))]


def _pieces(directions: Floats, cover: Cover) -> tuple[Piece, ...]:
    return tuple(Piece(_point(directions[way]), share) for way, share in zip(cover.ways, cover.shares, strict=True))


def _point(direction: Floats) -> Point:
    x, y, z = direction.tolist()
    return x, y, z
