"""Checks of air and vessels: froth in the chamber, bubbles in the casting, what a gauge can show, the pot's plate."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from moldkit.loads.bubbles import (
    BOYLE,
    FILL,
    FILL_STOP,
    absolute_pressure,
    bubble_size,
    fill_share,
    largest_batch,
    outside_pressure,
    volume_ratio,
)
from moldkit.loads.check import COMMON_PRACTICE, Level, LoadCheck, safety_factor
from moldkit.loads.vessel import RULES, lid_force, rated_share
from moldkit.quantity import Quantity

ONE_MM = Quantity("bubble before", 0.001, "m", "for instance")
IDEAL = "temperature stays, no gas dissolves, no vapour; weather moves the air outside by 2 or 3 %"


def froth_check(batch: Quantity, pail: Quantity, density: Quantity, altitude: Quantity) -> LoadCheck:
    """Return the check of room for froth while rubber is degassed.

    batch: volume mixed at once [m3]; pail: volume of the largest container that goes into the chamber [m3]; density:
    of the rubber [kg/m3]; altitude: of the shop [m], for what its gauge can show.
    """
    fill = fill_share(batch, pail)
    level: Level = "pass" if fill.value <= FILL.value else "stop" if fill.value > FILL_STOP else "caution"
    mend = "" if level == "pass" else "Degas {most} at once at the most, and let air in as the froth nears the rim."
    return LoadCheck(
        "froth in the chamber", level, fill, FILL,
        "A batch of {batch} fills {figure} of the largest pail that goes into the chamber, and froths up to three or "
        "four times its volume before it falls; a full vacuum reads {outside} below the air on a gauge here.",
        mend, f"{COMMON_PRACTICE}: three to four times the liquid", safety_factor(FILL, fill),
        "mold rubbers in a straight-sided pail; what froths most is for a trial",
        {"batch": batch, "most": largest_batch(pail, density), "outside": outside_pressure(altitude)},
    )  # fmt: skip


def pot_check(asked: Quantity, rating: Quantity | None, bore: Quantity) -> LoadCheck:
    """Return the check of a pressure pot against its plate: gauge pressures asked for and rated [Pa], its bore [m].

    rating: None where the shop has no pot.
    """
    lid = lid_force(bore, asked)
    mend = (
        "Keep to the plate, the relief valve and the inspection; never use a home-made vessel, and never open it under "
        "pressure."
    )
    asked = replace(asked, name="gauge pressure of the casting")
    if rating is None:
        return LoadCheck(
            "pressure pot", "stop", asked, None, "The casting sets under {figure}, and the shop has no pressure pot.",
            "Get a rated and inspected pot, or cast without pressure.", RULES,
        )  # fmt: skip
    share = rated_share(asked, rating)
    return LoadCheck(
        "pressure pot", "pass" if share.value <= 1.0 else "stop", asked, rating,
        "The casting sets under {figure}; the pot's plate allows {limit}. Its lid is pushed up with {lid}.",
        mend, RULES, safety_factor(rating, asked), "a pot with a readable plate, in date with its inspector",
        {"lid": lid},
    )  # fmt: skip


def pressed_bubbles_check(gauge: Quantity, cured: Quantity | None, altitude: Quantity) -> LoadCheck:
    """Return the check of bubbles in a casting under pressure.

    gauge: pressure of the casting [Pa]; cured: gauge pressure under which the mold's poured rubber cured [Pa], None for
    rubber that was brushed; altitude: of the shop [m].
    """
    outside = outside_pressure(altitude)
    pressed = absolute_pressure(gauge, outside)
    shrunk = bubble_size(ONE_MM, outside, pressed)
    parts = {"gauge": gauge, "before": ONE_MM}
    text, mend, level = "Under {gauge} a bubble of {before} in the casting shrinks to {figure}.", "", "pass"
    if cured is not None and cured.value < gauge.value:
        parts |= {"cured": cured, "void": bubble_size(ONE_MM, absolute_pressure(cured, outside), pressed)}
        text += " So does one left in the rubber, which cured under {cured}: to {void}, and its face dents."
        mend, level = "Let the rubber cure under the casting's pressure, or degas it well.", "caution"
    return LoadCheck(
        "bubbles under pressure", "caution" if level == "caution" else "pass", shrunk, None, text, mend, BOYLE, None,
        IDEAL, parts,
    )  # fmt: skip


def vacuum_check(gauge: Quantity, altitude: Quantity) -> LoadCheck:
    """Return the check of a casting under vacuum: its gauge reading (below zero) [Pa], the shop's altitude [m]."""
    outside = outside_pressure(altitude)
    asked = Quantity("vacuum asked for", -gauge.value, "Pa", "below the air outside", (gauge,))
    if np.any(asked.value >= outside.value):
        return LoadCheck(
            "bubbles under vacuum", "stop", asked, outside,
            "A vacuum of {figure} is asked for, and the air outside presses with {limit} here: no gauge can show it.",
            "Give the vacuum as the gauge shows it at this altitude.", BOYLE, None, IDEAL,
        )  # fmt: skip
    swollen = volume_ratio(outside, absolute_pressure(gauge, outside))
    return LoadCheck(
        "bubbles under vacuum", "caution", swollen, None,
        "Under a vacuum of {asked} trapped air swells to {figure} times its volume before it breaks out.",
        "Build the gate up for the froth, and leave no air shut in behind skin or shell.", BOYLE, None, IDEAL,
        {"asked": asked},
    )  # fmt: skip
