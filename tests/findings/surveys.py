"""Surveys made by hand, for tests of what follows from them."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from moldkit.pattern.reading import Reading
from moldkit.pattern.survey.results import Air, Neck, Peel, Piece, Pull, Survey, Trap, Walls, WayUp

UP, DOWN, SIDE = (0.0, 0.0, 1.0), (0.0, 0.0, -1.0), (1.0, 0.0, 0.0)


def trap(prominence: float, under: bool = False, along: float = 0.0) -> Trap:
    return Trap(at=(along, 0.0, 0.1), prominence=prominence, area=1e-4, under=under)


def a_survey(
    *,
    grade: str = "none",
    soft_pieces: int = 1,
    stretch: float = 0.0,
    loops: int = 0,
    standing_tops: tuple[float, ...] = (0.1,),
    tops_apart: float = 0.05,
    ceilings: tuple[float, ...] = (),
    kept_in_casting: tuple[float, ...] = (),
    thinnest: float = 0.02,
    gaps: tuple[tuple[float, float], ...] = (),
    thin_share: float = 0.01,
    any_pull: float = 1.0,
) -> Survey:
    """A survey of a piece that stands on its base and lifts straight up, but for what is named.

    kept_in_casting: depths of the air in a casting poured through its open base [m]; gaps: (width [m], share).
    """
    pieces = tuple(Piece(UP if i == 0 else SIDE, 1.0 / soft_pieces) for i in range(soft_pieces))
    pull = Pull(UP, 1.0, 1.0, any_pull, 0.0, 0.0, grade, 0.4, pieces, pieces, (), 0.0, 0.01)
    necks = (Neck((0.0, 0.0, 0.05), 0.05, 1.0, 1.0 + stretch),) if stretch else ()
    tops = tuple(trap(depth, along=place * tops_apart) for place, depth in enumerate(standing_tops))
    standing = WayUp(UP, False, tops, tuple(trap(depth, True) for depth in ceilings), (0.0, 0.0, 0.1), (), 0.1)
    casting = WayUp(DOWN, True, tuple(trap(depth) for depth in kept_in_casting), (), None, (), 0.1)
    width, share = np.array(gaps).T if gaps else (np.empty(0), np.empty(0))
    walls = Walls(
        np.array([thinnest, 2 * thinnest]), np.array([thin_share, 1.0]), (0.0, 0.0, 0.1), width, share,
        (0.0, 0.0, 0.05) if gaps else None,
    )  # fmt: skip
    return Survey(pull, Peel(UP, necks, loops), Air(standing, casting, ()), walls)


def surveyed(reading: Reading, **what: Any) -> Reading:
    """The reading with a survey of `a_survey`."""
    return replace(reading, survey=a_survey(**what))
