"""Pot life, coat gap and time to demold at the bench's temperature, by the ten-degree rule."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from moldkit.errors import InputError
from moldkit.quantity import Quantity
from moldkit.tables import Row
from moldkit.units import show

# What the tables' times hold for: 23 degC, the usual temperature of data sheets (ISO 291, from memory).
REFERENCE = 296.15
DOUBLING = 10.0
# Beyond these the rule is not used: a cold cure may stop for good, a warm one runs away with its own heat.
COLDEST, WARMEST = 288.15, 308.15
RULE = "ten-degree rule, a rule of thumb: the rate of a cure doubles every 10 K"

FOLLOWING = frozenset(
    {"addition silicone", "condensation silicone", "urethane", "epoxy", "polyester", "cement"},
)
# Chemistries that the rule is not for, with what they do instead; their times stay as the tables have them.
OTHERWISE = {
    "latex": "latex dries, which hangs on the air's dampness and movement",
    "gypsum": "plaster sets in much the same time from 0 to 40 °C",
    "wax": "wax cools, which hangs on its mass",
    "metal": "metal cools, which hangs on its mass",
    "thermoplastic": "it is printed and does not cure",
}


def follows(chemistry: str) -> bool:
    """Return whether the ten-degree rule is used for a chemistry; raises InputError for one that nothing is known of.

    Gypsum: temperature has little effect from 0 to 50 degC (Ridge, Nature 184, 47-48, 1959). Cement follows it roughly:
    published activation energies of 40 to 45 kJ/mol (ASTM C1074, from memory) change its rate by 1.7 to 1.8 in 10 K.
    """
    if chemistry in FOLLOWING:
        return True
    if chemistry in OTHERWISE:
        return False
    raise InputError(f"chemistry {chemistry!r}: nothing says how it cures; add it to moldkit/cure.py.")


def out_of_range(room: Quantity) -> bool:
    """Return whether a room [K] is colder or warmer than the ten-degree rule is used for, 15 to 35 degC."""
    return not COLDEST - 1e-6 <= float(room.value) <= WARMEST + 1e-6


def at_temperature(time: Quantity, room: Quantity, reference: Quantity | float = REFERENCE) -> Quantity:
    """Return a time of a cure [s] in a room, time x 2^((reference - room) / 10 K).

    Source: a rule of thumb, an activation energy of about 52 kJ/mol (51.2 from 20 to 30 degC, 52.9 from 25 to 35 degC,
    by Arrhenius); at the ends of its range a real cure may differ by a fifth and more.
    time: at the reference, with its range, a number or an array [s]; room: the bench's temperature [K]; reference: what
    the time holds for [K]. The heat that a large batch makes for itself is not in it.
    Raises InputError where the room is outside 15 to 35 degC, since the rule is not stretched further.
    """
    if out_of_range(room):
        ends = f"{show(COLDEST, 'K')} to {show(WARMEST, 'K')}"
        raise InputError(
            f"room temperature: {show(float(room.value), 'K')} is outside {ends}, where the ten-degree rule is used; "
            "warm or cool the room, or ask the maker for the time."
        )
    if not isinstance(reference, Quantity):
        reference = Quantity("temperature that the tables hold for", reference, "K", source="the tables")
    factor = 2.0 ** ((reference.value - room.value) / DOUBLING)
    return replace(
        time,
        name=f"{time.name} in this room",
        value=time.value * factor,
        formula="time in the table x 2^((temperature of the table - room) / 10 K)",
        inputs=(time, reference, room),
        source=RULE,
        low=None if time.low is None else time.low * factor,
        high=None if time.high is None else time.high * factor,
    )


def time_in_room(material: Row, column: str, shop: Row) -> Quantity:
    """Return a material's time [s] in the shop's room, as near as is known.

    material: a row with a column `chemistry`; column: "pot_life", "demold_time", "coat_gap" or "set_time"; shop: with
    its room_temperature [K]. A chemistry that the ten-degree rule is not for keeps the table's time; outside 15 to 35
    degC the time is that at the end of the range, which a finding tells.
    """
    time, room, chemistry = material.quantity(column), shop.quantity("room_temperature"), material.text("chemistry")
    if not follows(chemistry):
        return replace(time, formula=f"as the table has it: {OTHERWISE[chemistry]}")
    if not out_of_range(room):
        return at_temperature(time, room)
    held = Quantity(
        "end of the rule's range",
        float(np.clip(room.value, COLDEST, WARMEST)),
        "K",
        "room, held between 15 and 35 °C, the range of the ten-degree rule",
        (room,),
    )
    return at_temperature(time, held)
