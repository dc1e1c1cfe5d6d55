"""Checks of what opens a closed mold: rubber poured into its gap, the casting's head, rising foam."""

from __future__ import annotations

from dataclasses import dataclass

from moldkit.loads.check import STATICS, LoadCheck, level_of_share, plainly, safety_factor
from moldkit.loads.closure import CLOSURE_SAFETY, FLANGE_SPACING, fasteners
from moldkit.loads.statics import closure_force
from moldkit.quantity import Quantity

RANGE = (
    f"safety factor {CLOSURE_SAFETY.value:g} on clamps and bolts; a flange that is stiff from one to the next; the "
    "strength of the shell itself is not reckoned"
)


@dataclass(frozen=True)
class Flange:
    """What holds a mold shut: length of its seam [m]; what one clamp or bolt holds, and the shop's all told [N].

    bolted: whether the parts have flanges for clamps or bolts; a block of rubber has none, and is held by straps round
    boards.
    """

    seam: Quantity
    each: Quantity
    closure: Quantity
    bolted: bool = True


def head_check(name: str, what: str, pressure: Quantity, outline: Quantity, flange: Flange) -> LoadCheck:
    """Return the check of a flange under a head.

    name: of the check; what: is poured, in words; pressure: mean over the outline [Pa]; outline: seen in the pull
    direction [m2].
    """
    text = f"{plainly(what)} presses on the parting with {{pressure}} and drives the mold open with {{figure}}; "
    return _closure_check(name, text, pressure, outline, flange, {})


def foam_check(pressure: Quantity, outline: Quantity, flange: Flange) -> LoadCheck:
    """Return the check of a flange under rising foam: pressure with its range [Pa], outline that opens [m2]."""
    high = pressure.value if pressure.high is None else pressure.high
    most = closure_force(Quantity("foam pressure at the most", high, "Pa", "", (), pressure.source), outline)
    text = (
        "Rising foam at {pressure} drives the closed mold open with {figure}, and with {most} at the upper end of its "
        "range; "
    )
    return _closure_check("foam pressure", text, pressure, outline, flange, {"most": most})


def _closure_check(
    name: str, text: str, pressure: Quantity, outline: Quantity, flange: Flange, parts: dict[str, Quantity]
) -> LoadCheck:
    push = closure_force(pressure, outline)
    number = fasteners(push, flange.each, flange.seam)
    level = level_of_share(push.value * CLOSURE_SAFETY.value / flange.closure.value, CLOSURE_SAFETY.value)
    if level == "pass" and "most" in parts and parts["most"].value > flange.closure.value:
        level = "caution"
    if flange.bolted:
        mend = "Close it with {number} clamps or bolts of {each}, no farther than {spacing} apart."
    else:
        mend = "Put boards on both sides and {number} straps of {each} round them, no farther than {spacing} apart."
    if "most" in parts:
        mend += " Ask the foam's maker for its pressure in a closed mold, and vent the mold."
    if level != "pass" and flange.bolted:
        mend += " Back the mold with boards and straps."
    if level == "stop":
        mend += " Don't pour before a closure is there that holds the force."
    return LoadCheck(
        name, level, push, flange.closure, text + "the shop's straps and boards hold {limit}.", mend, STATICS,
        safety_factor(flange.closure, push), RANGE,
        {"pressure": pressure, "number": number, "each": flange.each, "spacing": FLANGE_SPACING, **parts},
    )  # fmt: skip
