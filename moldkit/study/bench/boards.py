"""The boards of a box that rubber is poured in, as a saw wants them."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from moldkit.loads.check import LoadCheck
from moldkit.techniques.plan import MoldPlan

# Board of a mold box: 3/4 in is named in a trade forum's note on a panel mold; common practice, no source.
USUAL_BOARD = 0.018
# The base stands out beyond the walls, for battens and clamps; common practice, no source.
BASE_STANDS_OUT = 0.030
# Of a board that is cut up, what goes into saw cuts and offcuts; common practice, no source.
OFFCUTS = 0.10
# The load check that knows how thick the box's board is.
BOX_WALL = "box wall"


@dataclass(frozen=True, slots=True)
class Board:
    """Boards of one size: what they are, how many, length and width [m]."""

    name: str
    count: int
    length: float
    width: float


@dataclass(frozen=True, slots=True)
class Box:
    """A box to build: its boards, the board's thickness [m], the tube in place of walls (bore, length [m]) or None.

    inside: length, width and height of the rubber [m]; walls: their height with the freeboard above the rubber [m].
    """

    boards: tuple[Board, ...]
    thickness: float
    tube: tuple[float, float] | None
    inside: tuple[float, float, float]
    walls: float

    @property
    def area(self) -> float:
        """The boards that are cut, together [m2]."""
        return math.fsum(board.count * board.length * board.width for board in self.boards)


def board_of(checks: Iterable[LoadCheck]) -> float:
    """Return the thickness of the box's board that the load checks were made for [m], the usual one without them."""
    walls = (check.limit for check in checks if check.name == BOX_WALL)
    return next((wall.at(0) for wall in walls if wall is not None and wall.unit == "m"), USUAL_BOARD)


def box_of(plan: MoldPlan, thickness: float = USUAL_BOARD) -> Box | None:
    """Return the box that a plan's board makes, None where it is made without one.

    thickness: of the board [m]. The long walls cover the ends of the short ones, and all stand on the base. The walls'
    height is what the plan's board area leaves beside the base: with the freeboard it was planned for.
    """
    if "board_area" not in plan.quantities:
        return None
    length, width, height = (plan[side].at(0) for side in ("width", "depth", "height"))
    length, width = max(length, width), min(length, width)
    board, tube = plan["board_area"].at(0), plan["round_diameter"].at(0)
    if math.isclose(tube, length, rel_tol=1e-9) and math.isclose(tube, width, rel_tol=1e-9):
        walls = (board - length * width) / (math.pi * tube)
        side = tube + 2 * BASE_STANDS_OUT
        return Box((Board("base", 1, side, side),), thickness, (tube, walls), (length, width, height), walls)
    walls = (board - length * width) / (2 * (length + width))
    out = 2 * (thickness + BASE_STANDS_OUT)
    boards = (
        Board("long wall", 2, length + 2 * thickness, walls),
        Board("short wall", 2, width, walls),
        Board("base", 1, length + out, width + out),
    )
    return Box(boards, thickness, None, (length, width, height), walls)
