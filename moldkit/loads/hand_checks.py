"""Checks of mass in the hands: a mold turned by hand or by machine, a mold lifted from bench to bench."""

from __future__ import annotations

from moldkit.loads.check import COMMON_PRACTICE, Level, LoadCheck, safety_factor
from moldkit.loads.lifting import MANUAL, TEAM, for_two, reach_to, recommended_mass
from moldkit.quantity import Quantity

# Names of the checks of a mold that hands turn or lift.
TURNED, LIFTED = "turned by hand", "lifted by hand"
IN_THE_HANDS = (TURNED, LIFTED)


def turning_check(mass: Quantity, caution: Quantity, stop: Quantity) -> LoadCheck:
    """Return the check of a filled mold turned by hand: its mass and the shop's two limits [kg]."""
    level: Level = "stop" if mass.value >= stop.value else "caution" if mass.value >= caution.value else "pass"
    mend = "" if level == "pass" else "Cast a thinner wall, build a lighter shell, take turns, or turn it on a machine."
    return LoadCheck(
        TURNED, level, mass, stop,
        "The filled mold weighs {figure}; up to {caution} the shop turns by hand without a caution, and {limit} at the "
        "most.",
        mend, f"{COMMON_PRACTICE}: the shop's own limits", safety_factor(stop, mass),
        "one person, minutes on end, a mold that can be gripped", {"caution": caution},
    )  # fmt: skip


def machine_check(mass: Quantity) -> LoadCheck:
    """Return the check of a filled mold turned by machine: its mass [kg]; the machine's limit stands on its plate."""
    return LoadCheck(
        "turned by machine", "caution", mass, None,
        "The filled mold weighs {figure}, and it flies round: the machine's plate says what it may carry.",
        "Read the load on the machine's plate, balance the mold on its frame, bolt it on, keep clear while it turns.",
        COMMON_PRACTICE,
    )  # fmt: skip


def lifting_check(mass: Quantity, width: Quantity, depth: Quantity) -> LoadCheck:
    """Return the check of lifting a filled mold at bench height: its mass [kg] and its sides [m].

    It is taken with its smaller side away from the body. Cautions only: who may lift what is for local rules.
    """
    smaller = depth if depth.value <= width.value else width
    one = recommended_mass(reach_to(smaller))
    two = for_two(one)
    text = "The filled mold weighs {figure}; the lifting equation recommends {limit} at the most for one person"
    text += ", reaching {reach} round it at bench height." if one.value else ", and nothing at a reach of {reach}."
    level: Level = "pass" if mass.value <= one.value else "caution"
    if level == "pass":
        mend = ""
    elif mass.value <= two.value:
        mend = "Lift it with two ({two} at the most), close to the body, with handles on the shell or box."
    else:
        mend = "Don't lift it by hand: slide it, build it on a trolley or a turning frame, or use a hoist."
    return LoadCheck(
        LIFTED, level, mass, one, text, mend, f"{MANUAL}; for two: {TEAM}", safety_factor(one, mass),
        "two hands, firm ground, now and then; box and pattern weigh more; local rules go first",
        {"two": two, "reach": reach_to(smaller)},
    )  # fmt: skip
