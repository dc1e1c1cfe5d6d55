"""Mass in the hands: what the lifting equation recommends, for one and for two."""

from __future__ import annotations

from typing import Any, Literal

import numpy as np

from moldkit.errors import unknown
from moldkit.quantity import Quantity

MANUAL = "Applications Manual for the Revised NIOSH Lifting Equation, publication 94-110 (1994)"
TEAM = "Manual handling at work, a brief guide, INDG143 (from memory)"

# Nobody should lift more, however good the grip and the place [kg]: the equation's load constant.
LOAD_CONSTANT = Quantity("load constant", 23.0, "kg", source=MANUAL)
# Two lift two thirds of what they lift one by one.
TWO_LIFT = 4.0 / 3.0

Grip = Literal["good", "fair", "poor"]
_GRIPS: dict[str, tuple[float, float]] = {"good": (1.0, 1.0), "fair": (0.95, 1.0), "poor": (0.90, 0.90)}
BENCH = 0.75


def recommended_mass(
    reach: Quantity, *, height: float = BENCH, travel: float = 0.25, turn: float = 0.0, grip: Grip = "fair"
) -> Quantity:
    """Return the mass that the lifting equation recommends at the most [kg], for a lift now and then.

    Revised NIOSH lifting equation, frequency up to one lift in five minutes for an hour at the most.
    reach: from between the ankles to the hands [m]; height: of the hands above the floor [m]; travel: up or down [m];
    turn: of the body [degrees]; grip: "good", "fair" or "poor". Nothing is recommended beyond a reach of 0.63 m, a
    height of 1.75 m, a travel of 1.75 m or a turn of 135 degrees. For two hands on firm ground, not for carrying,
    one hand, unstable loads or slippery floors. Raises InputError for an unknown grip.
    """
    if grip not in _GRIPS:
        raise unknown("grip", grip, _GRIPS)
    parts = (
        _multiplier("reach multiplier", np.where(reach.value > 0.63, 0.0, 0.25 / np.maximum(reach.value, 0.25))[()]),
        _multiplier("height multiplier", 0.0 if height > 1.75 else 1.0 - 0.3 * abs(height - BENCH)),
        _multiplier("travel multiplier", 0.0 if travel > 1.75 else 0.82 + 0.045 / max(travel, 0.25)),
        _multiplier("turn multiplier", 0.0 if turn > 135.0 else 1.0 - 0.0032 * turn),
        _multiplier("grip multiplier", _GRIPS[grip][height >= BENCH]),
    )
    value = LOAD_CONSTANT.value * np.prod([part.value for part in parts], axis=0)
    words = "load constant x multipliers of reach, height, travel, turn and grip"
    return Quantity("recommended mass", value[()], "kg", words, (LOAD_CONSTANT, reach, *parts), MANUAL)


def _multiplier(name: str, value: Any) -> Quantity:
    return Quantity(name, value, "1", source=MANUAL)


def reach_to(depth: Quantity) -> Quantity:
    """Return how far the hands are from the body with a load of a depth away from it [m].

    The manual's estimate for hands 25 cm or more above the floor: 20 cm + half of the load. depth [m].
    """
    return Quantity("reach", 0.20 + depth.value / 2.0, "m", "20 cm + half of the load's depth", (depth,), MANUAL)


def for_two(one: Quantity) -> Quantity:
    """Return what two may lift together [kg]: two thirds of the sum of what each may."""
    return Quantity("recommended mass for two", TWO_LIFT * one.value, "kg", "2/3 x 2 x one person's", (one,), TEAM)
