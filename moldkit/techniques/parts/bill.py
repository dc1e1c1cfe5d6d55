"""The bill of materials and the mass of rubber to mix."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from moldkit.batches import Batches, Clock, batches_of
from moldkit.cure import time_in_room
from moldkit.errors import InputError
from moldkit.loads.bubbles import largest_batch, largest_container
from moldkit.quantity import Quantity
from moldkit.tables import Row
from moldkit.techniques.plan import Amount


def held_between(value: Any, least: float, most: float) -> Any:
    """Return `value` held between `least` and `most`."""
    return np.clip(value, least, most)


def bought(what: str, mass: Quantity, price: Quantity, remake: float = 1.0) -> Amount:
    """Return the bill's line for an amount at a price for each of its unit."""
    cost = Quantity(f"cost of {what}", mass.value * price.value, "money", "amount x price", (mass, price))
    return Amount(what, mass, cost, remake)


def supply_row(name: str, supplies: Mapping[str, Row]) -> Row:
    """Return the row of a supply; raises InputError when the table has none."""
    if name not in supplies:
        raise InputError(f"supplies.csv: has no row {name!r}; add it.")
    return supplies[name]


def supply(name: str, area_or_mass: Quantity, supplies: Mapping[str, Row], remake: float = 1.0) -> Amount:
    """Return the bill's line for a supply used up by area or mass; raises InputError when it has no row."""
    row = supply_row(name, supplies)
    use, price = row.quantity("use"), row.quantity("price")
    unit = row.text("per")
    amount = Quantity(name, area_or_mass.value * use.value, unit, "use x what it covers", (use, area_or_mass))
    cost = Quantity(f"cost of {name}", amount.value * price.value, "money", "amount x price", (amount, price))
    return Amount(name, amount, cost, remake)


def rubber_batches(
    solid: Quantity, rubber: Row, shop: Row, loss: Quantity, cup: Quantity, pours: int = 1, degassed: bool = False
) -> tuple[Batches, Quantity]:
    """Return the batches and the mass of rubber to mix [kg] for a volume of rubber in the mold [m3], in equal pours.

    degassed: each batch froths in a pail in the vacuum chamber, and is no larger than that holds.
    """
    density = rubber.quantity("density")
    poured = Quantity(
        "rubber to pour",
        solid.value * density.value * (1.0 + loss.value),
        "kg",
        "volume x density x (1 + loss)",
        (solid, density, loss),
    )
    pot_life = time_in_room(rubber, "pot_life", shop)
    clock = Clock(pot_life, shop.quantity("mixing_start"), shop.quantity("mixing_rate"))
    batches = batches_of(poured, _vessel(density, shop, degassed), clock, cup, pours)
    words = "volume x density x (1 + loss) + what stays in the cups"
    mass = Quantity("rubber to mix", batches.mass.value, "kg", words, (solid, density, loss, cup, batches.number))
    return batches, mass


def _vessel(density: Quantity, shop: Row, degassed: bool) -> Quantity:
    """Return the most rubber that is mixed at once [kg]: the shop's own, and no more than it can degas."""
    most = shop.quantity("batch_most")
    if not (degassed and shop.flag("has_vacuum_chamber")):
        return most
    pail = largest_container(shop.quantity("vacuum_chamber_bore"), shop.quantity("vacuum_chamber_height"))
    if pail.value <= 0:
        return most
    froth = largest_batch(pail, density)
    words = "the shop's largest batch, no more than froths in the largest pail"
    return Quantity("largest batch", np.minimum(most.value, froth.value), "kg", words, (most, froth))
