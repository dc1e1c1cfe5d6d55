"""Checks of a pouring box: its boards, its battens, the straps round it; or a tube in its place."""

from __future__ import annotations

import math
from dataclasses import dataclass

from moldkit.loads.box_walls import (
    BOARD_SAFETY,
    LEAST_BATTEN_SPACING,
    Board,
    batten_spacing,
    hoop_tension,
    ring_tension,
    strap_heights,
    wall_factors,
    wall_force,
    wall_thickness,
)
from moldkit.loads.check import STATICS, LoadCheck, level_of_share, plainly, safety_factor
from moldkit.loads.closure import CLOSURE_SAFETY, holding_force
from moldkit.loads.head import head_pressure
from moldkit.loads.plates import bending_stress
from moldkit.quantity import Quantity

# A strap near the foot and one near the top, once the box is higher than this [m].
TWO_STRAPS_FROM = 0.20
MOST_STRAPS_NAMED = 4


@dataclass(frozen=True)
class PouringBox:
    """A box or tube filled with rubber: density [kg/m3], height of the rubber, longer and shorter side [m]."""

    density: Quantity
    height: Quantity
    length: Quantity
    width: Quantity
    is_round: bool = False


def box_checks(
    box: PouringBox, board: Board, at_hand: Quantity | None, each: Quantity, closure: Quantity
) -> tuple[LoadCheck, ...]:
    """Return the checks of a pouring box: wall and straps.

    board: what it is made of; at_hand: thickness of the board in the shop [m], None to take the thinnest on sale that
    does; each: what one strap or clamp holds [N]; closure: what the shop's straps and boards hold in all [N].
    """
    wall = tube_check(box) if box.is_round else wall_check(box, board, at_hand)
    return (wall, strap_check(box, each, closure))


def wall_check(box: PouringBox, board: Board, at_hand: Quantity | None) -> LoadCheck:
    """Return the check of the longer wall's board against breaking and bowing; arguments as for `box_checks`."""
    needed = wall_thickness(box.density, box.height, box.length, board)
    framed = wall_thickness(box.density, box.height, box.length, board, top_held=True)
    has = at_hand or board.thickness_for(needed.value) or Quantity("board", max(board.thicknesses), "m", board.name)
    pressure = head_pressure(box.density, box.height)
    factors, span = wall_factors(box.height, box.length, top_held=False)
    safety = safety_factor(board.strength, bending_stress(factors, pressure, span, has))
    spacing = batten_spacing(box.density, box.height, box.length, board, has)
    text = (
        "The rubber presses on the foot of the walls with {pressure}; a wall {length} long, its top edge free, wants "
        f"{plainly(board.name)} of {{figure}} and has {{limit}}."
    )
    level = level_of_share(needed.value / has.value, 1.0 if spacing.value < LEAST_BATTEN_SPACING else math.inf)
    thicker, under_frame = board.thickness_for(needed.value), board.thickness_for(framed.value)
    mend = "" if level == "pass" else "Set upright battens {spacing} apart or closer."
    if mend and thicker is not None:
        mend += " Without battens: board of {thicker}."
    if mend and under_frame is not None and (thicker is None or under_frame.value < thicker.value):
        mend += " With a frame or strap that holds the top edge, and no battens: board of {under_frame}."
    if level == "stop":
        other = "a stronger board" if thicker is None else "board of {thicker} or a stronger one"
        mend = f"Use {other}, or pour the block in two lifts; battens would have to stand too close."
    parts = {"pressure": pressure, "length": box.length, "spacing": spacing, "framed": framed}
    parts |= {name: q for name, q in (("thicker", thicker), ("under_frame", under_frame)) if q is not None}
    return LoadCheck(
        "box wall", level, needed, has, text, mend, "plate theory; the board's figures stand in boards.csv", safety,
        f"thin boards, pressure of the full head; safety factor {BOARD_SAFETY.value:g} on the least bending strength, "
        "bow at most 1/360 of the span",
        parts,
    )  # fmt: skip


def tube_check(box: PouringBox) -> LoadCheck:
    """Return the check of a tube that stands open at the top and is filled with rubber."""
    tension = hoop_tension(box.density, box.height, box.length)
    pressure = head_pressure(box.density, box.height)
    return LoadCheck(
        "tube wall", "pass", tension, None,
        "The rubber presses on the foot of the tube with {pressure}, which its whole wall carries as a tension of "
        "{figure}; where it was slit, straps carry it.",
        "Strap or tape a slit tube all the way up, and seal its foot.", STATICS, None,
        "an open tube under the head of what is poured, never one under pressure", {"pressure": pressure},
    )  # fmt: skip


def strap_check(box: PouringBox, each: Quantity, closure: Quantity) -> LoadCheck:
    """Return the check of what holds a box together at its corners; arguments as for `box_checks`."""
    push = wall_force(box.density, box.height, box.length)
    tension = ring_tension(push)
    wanted = holding_force(tension)
    straps = max(math.ceil(wanted.value / each.value - 1e-9), 2 if box.height.value > TWO_STRAPS_FROM else 1)
    heights = strap_heights(box.height, min(straps, MOST_STRAPS_NAMED))
    parts = {"push": push, "each": each, **{f"at{place}": height for place, height in enumerate(heights)}}
    places = [f"{{at{place}}}" for place in range(len(heights))]
    named = " and ".join([", ".join(places[:-1]), places[-1]] if len(places) > 1 else places)
    where = f"with its middle {named} above the foot" if straps == 1 else f"at {named} above the foot"
    if straps > MOST_STRAPS_NAMED:
        where = "closer together towards the foot"
    level = level_of_share(push.value * CLOSURE_SAFETY.value / closure.value, CLOSURE_SAFETY.value)
    wall = "the half of the tube" if box.is_round else "the longer wall"
    count, are = ("one strap or clamp", "is") if straps == 1 else (f"{straps} straps or clamps", "are")
    mend = f"Put {count} round it {where}; screwed and sealed corners do as well."
    if level != "pass":
        mend += " Its corners want screws and battens, and a try with water first."
    return LoadCheck(
        "straps round the box", level, push, closure,
        f"The rubber pushes {wall} out with {{figure}}, half of it at each end; {count} of {{each}} {are} "
        f"enough, with a safety factor of {CLOSURE_SAFETY.value:g}, and the shop's straps and boards hold {{limit}} "
        "in all.",
        mend, STATICS, safety_factor(closure, push), "rubber that is liquid to the top when the pour ends", parts,
    )  # fmt: skip
