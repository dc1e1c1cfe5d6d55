"""The coats of a brushed skin and the layers of a shell laid up over it: how thick, how heavy, when."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from moldkit.cure import time_in_room
from moldkit.study.assess import Outcome
from moldkit.tables import Row
from moldkit.techniques.plan import MoldPlan, StepTime

# A step of the step table that is done coat by coat says so in its column `wait`.
COAT_BY_COAT = "coat gap"


@dataclass(frozen=True, slots=True)
class Coat:
    """One coat: its number, thickness [m], rubber to mix [kg], and when it begins after the start [s]."""

    number: int
    thickness: float
    mass: float
    begins: float


def coats_of(outcome: Outcome, shop: Row, begins: Sequence[float] = ()) -> tuple[Coat, ...]:
    """Return the coats of a brushed skin, the first one thin; none where nothing is brushed.

    The first coat is half as thick as the others (common practice, no source), as far as the others then stay within
    the rubber's greatest coat. Rubber is shared by thickness. begins: when each coat is begun after the start [s];
    without them the first is begun at once, and each when the one before has been brushed on and stood for the rubber's
    gap between coats, at the shop's room temperature.
    """
    plan, rubber = outcome.plan, outcome.plan.rubber
    if "coats" not in plan.quantities or rubber is None:
        return ()
    count, skin, mass = (plan[name].at(0) for name in ("coats", "skin", "rubber_mass"))
    number = round(count)
    greatest = rubber.quantity("coat").high or rubber.quantity("coat").value
    later = min(skin / (number - 0.5), max(greatest, skin / number))
    first = skin - (number - 1) * later
    apart = coat_step(outcome).attended.at(0) / number + time_in_room(rubber, "coat_gap", shop).at(0)
    thick = [first, *[later] * (number - 1)]
    at = begins if len(begins) == number else [k * apart for k in range(number)]
    return tuple(Coat(k + 1, thick[k], mass * thick[k] / skin, at[k]) for k in range(number))


def coat_step(outcome: Outcome) -> StepTime:
    """Return the step of a plan that is done coat by coat."""
    rows = outcome.technique.steps.rows
    return next(s for s in outcome.plan.steps if s.name in rows and rows[s.name].text("wait") == COAT_BY_COAT)


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer of a shell: its number, thickness [m] and the material to mix [kg]."""

    number: int
    thickness: float
    mass: float


def layers_of(plan: MoldPlan) -> tuple[Layer, ...]:
    """Return the layers of a shell that is laid up, all alike; none where there is no such shell."""
    if plan.shell is None or plan.shell.text("made") != "laid up":
        return ()
    whole, one = plan.shell.quantity("thickness").at(0), plan.shell.quantity("layer").at(0)
    number = max(1, math.ceil(whole / one - 1e-9))
    mass = next(a.amount.at(0) for a in plan.amounts if a.what == "shell")
    return tuple(Layer(k + 1, whole / number, mass / number) for k in range(number))
