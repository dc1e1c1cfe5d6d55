"""What a casting takes: material, attended time, the cure, castings a day from one mold."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from moldkit.batches import Batches, Clock, batches_of
from moldkit.cure import time_in_room
from moldkit.errors import InputError
from moldkit.loads.wet import bought_of, density_as_poured
from moldkit.pattern.pattern import Pattern
from moldkit.quantity import Quantity
from moldkit.tables import Row


@dataclass(frozen=True)
class MoldAtHand:
    """What a casting needs to know of its mold: pieces, length of seams [m], cavities."""

    pieces: Quantity
    seam: Quantity
    cavities: int = 1


@dataclass(frozen=True)
class CastingMaterials:
    """What is cast and by which method, with the shop, the release agent and the rows of the casting steps.

    wall: of a hollow casting [m], None for the shop's usual one; release: a release agent or barrier is used.
    """

    material: Row
    method: Row
    supplies: Mapping[str, Row]
    shop: Row
    wall: Any = None
    release: bool = True


@dataclass(frozen=True)
class CastingPlan:
    """One pour as planned: named quantities, steps with their attended time, costs.

    Quantities: mass (of the casting material in the mold, as poured) [kg], bought (what is bought for it, with its
    loss; of plaster and concrete the powder) [kg], attended [s], cure [s], a_day (pours a mold gives in a day), wall
    (of a hollow casting) [m], material_cost, labor_cost, cost.
    batches: of the casting material for one pour, with what is lost.
    """

    quantities: Mapping[str, Quantity]
    steps: tuple[Quantity, ...]
    batches: Batches

    def __getitem__(self, name: str) -> Quantity:
        """Return a quantity by name."""
        return self.quantities[name]


# Step, what its time grows with, and whether it is done for each casting of a pour or once a pour.
COMMON_STEPS = (
    ("release and close", "pieces", False),
    ("mix, degas and pour", "litres", False),
    ("open and demold", "pieces", False),
    ("clean the seam and gates", "seam", True),
    ("finish", "area", True),
)
OFF_MOLD = ("clean the seam and gates", "finish")
SESSION = "set up a session"
MELTED = ("wax", "metal")


def solid(pattern: Pattern, mold: MoldAtHand, materials: CastingMaterials) -> Quantity:
    """Return the volume of casting material in a solid casting, all cavities [m3]."""
    value = mold.cavities * pattern.volume.value
    words = "the pattern's volume" if mold.cavities == 1 else f"{mold.cavities} x the pattern's volume"
    return Quantity("casting volume", value, "m3", words, (pattern.volume,))


def hollow(pattern: Pattern, mold: MoldAtHand, materials: CastingMaterials) -> Quantity:
    """Return the volume of casting material in a hollow casting, all cavities [m3]."""
    wall = _wall(materials)
    inside, uneven = pattern.wall_volume(wall), materials.method.quantity("unevenness")
    value = mold.cavities * np.minimum(inside.value * (1 + uneven.value), pattern.volume.value)
    return Quantity(
        "casting volume",
        value,
        "m3",
        "volume of the wall x (1 + unevenness), at most the pattern's volume",
        (inside, uneven, pattern.volume),
    )


def _wall(materials: CastingMaterials) -> Quantity:
    """Return the wall of a hollow casting [m]: the job's, else the shop's usual one."""
    if materials.wall is None:
        return materials.shop.quantity("hollow_wall")
    return Quantity("wall", materials.wall, "m", "chosen in the job", source="the job")


def pour(
    pattern: Pattern,
    mold: MoldAtHand,
    materials: CastingMaterials,
    steps: Mapping[str, Row],
    volume: Quantity,
    extra: tuple[str, ...] = (),
) -> CastingPlan:
    """Return the plan of one pour of `volume` [m3]; `extra` names attended steps that only this method has.

    steps: the rows of the step table for castings, by step. Raises InputError when one is missing.
    """
    material, shop = materials.material, materials.shop
    density = density_as_poured(material)
    mass = Quantity("casting mass", volume.value * density.value, "kg", "volume x density", (volume, density))
    mixed = _mixed(mass, shop)
    bought = bought_of(mixed, material)
    one = pattern.molded_area
    area = Quantity("casting surface", mold.cavities * one.value, "m2", "in all cavities", (one,))
    litres = Quantity("casting material", volume.value * 1000, "L", "casting volume", (volume,))
    drivers = {"pieces": mold.pieces, "seam": mold.seam, "litres": litres, "area": one}
    each = [
        _time(steps, name, drivers[driver], mold.cavities if each_casting else 1)
        for name, driver, each_casting in COMMON_STEPS
    ]
    each += [_time(steps, name, None) for name in extra]
    cure = time_in_room(material, "demold_time", shop)
    session = _time(steps, SESSION, None)
    a_day = _a_day(each, cure, session, shop)
    share = Quantity(
        "share of setting up a session",
        session.value / a_day.value,
        "s",
        "set-up / pours a day",
        (session, a_day),
    )
    attended = Quantity(
        "attended time of a pour",
        sum(q.value for q in [*each, share]),
        "s",
        "sum of its steps",
        (*each, share),
    )
    costs = _costs(bought, attended, area, materials)
    hollow_wall = {"wall": _wall(materials)} if materials.method.flag("hollow") else {}
    return CastingPlan(
        {
            "volume": volume,
            "mass": mass,
            "bought": bought,
            "attended": attended,
            "cure": cure,
            "a_day": a_day,
            **hollow_wall,
            **costs,
        },
        (*each, share),
        _batches(mixed, material, shop),
    )


def _mixed(mass: Quantity, shop: Row) -> Quantity:
    """Return what is mixed for one pour [kg], with what is lost."""
    loss = shop.quantity("casting_loss")
    return Quantity("casting material to mix", mass.value * (1 + loss.value), "kg", "mass x (1 + loss)", (mass, loss))


def _batches(mixed: Quantity, material: Row, shop: Row) -> Batches:
    """Return the batches of a pour. A melt is kept hot and a foam is one charge: for them no pot life runs."""
    clock = None
    if material.text("chemistry") not in MELTED and not np.any(material.quantity("foam_pressure").value > 0):
        pot_life = time_in_room(material, "pot_life", shop)
        clock = Clock(pot_life, shop.quantity("casting_mixing_start"), shop.quantity("casting_mixing_rate"))
    return batches_of(mixed, shop.quantity("batch_most"), clock)


def _time(steps: Mapping[str, Row], step: str, driver: Quantity | None, times: int = 1) -> Quantity:
    """Return the attended time of a casting step [s], done `times` over; raises InputError when it has no row."""
    if step not in steps:
        raise InputError(f"steps.csv: the castings have no step {step!r}; add the row.")
    fixed, per = steps[step].quantity("fixed"), steps[step].quantity("per_driver")
    source = steps[step].text("source")
    if driver is None:
        return Quantity(f"time to {step}", fixed.value, "s", "fixed time", (fixed,), source)
    words = f"fixed time + time for each unit x {driver.name}"
    if times > 1:
        words = f"({words}) x {times} castings a pour"
    value = times * (fixed.value + per.value * driver.value)
    return Quantity(f"time to {step}", value, "s", words, (fixed, per, driver), source)


def _a_day(each: list[Quantity], cure: Quantity, session: Quantity, shop: Row) -> Quantity:
    """Return how many pours one mold gives in a working day, at least one: it may set overnight.

    What is done to a casting off the mold is done while the next one sets.
    """
    shift, rest = shop.quantity("hours_a_day"), shop.quantity("rest_between_pours")
    at_mold = [time for time in each if time.name.removeprefix("time to ") not in OFF_MOLD]
    cycle = sum(q.value for q in at_mold) + cure.value + rest.value
    # The rest after the last pour falls into the night.
    value = np.maximum(1.0, np.floor((shift.value - session.value + rest.value) / cycle))
    words = "(shift - set-up + rest) / (attended time at the mold + cure + rest), whole pours, at least one (overnight)"
    return Quantity("pours a mold gives in a day", value, "pours", words, (shift, session, *at_mold, cure, rest))


def _costs(bought: Quantity, attended: Quantity, area: Quantity, materials: CastingMaterials) -> dict[str, Quantity]:
    """Return the cost of a pour: material with its loss, release agent, labor."""
    price, rate = materials.material.quantity("price"), materials.shop.quantity("labor_rate")
    material = Quantity(
        "casting material cost", bought.value * price.value, "money", "bought x price", (bought, price)
    )
    agent = materials.supplies["release agent"]
    use, agent_price = agent.quantity("use"), agent.quantity("price")
    release = Quantity(
        "release agent for a pour",
        area.value * use.value * agent_price.value * materials.release,
        "money",
        "surface x use x price" if materials.release else "none is used",
        (area, use, agent_price),
    )
    labor = Quantity("labor of a pour", attended.value * rate.value, "money", "attended time x rate", (attended, rate))
    parts = (material, release, labor)
    cost = Quantity("cost of a pour", sum(q.value for q in parts), "money", "material + release + labor", parts)
    return {"material_cost": material, "release_cost": release, "labor_cost": labor, "cost": cost}
