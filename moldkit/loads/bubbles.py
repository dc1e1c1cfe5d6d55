"""Bubbles under pressure and vacuum: how they shrink and swell, what a gauge can show, room for the froth."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldkit.errors import InputError
from moldkit.quantity import Quantity
from moldkit.units import show

BOYLE = "Boyle's law, absolute pressures"
ATMOSPHERE = "International Standard Atmosphere (ISO 2533)"
# What froth takes of its container at the most, as a share that the liquid may fill.
FILL = Quantity("greatest fill", 0.25, "share", source="common practice, no source: three to four times the liquid")
FILL_STOP = 1 / 3


def outside_pressure(altitude: Quantity) -> Quantity:
    """Return the pressure of the air outside on a standard day [Pa].

    International Standard Atmosphere, troposphere. altitude: above the sea [m]. Weather moves it by 2 or 3 %. Holds
    from 400 m below the sea to 11 km.
    """
    value = 101_325.0 * (1.0 - 2.25577e-5 * altitude.value) ** 5.25588
    words = "standard atmosphere at this altitude"
    return Quantity("air outside", value, "Pa", words, (altitude,), ATMOSPHERE)


def absolute_pressure(gauge: Quantity, outside: Quantity) -> Quantity:
    """Return the absolute pressure [Pa] of a gauge reading (below zero: vacuum) [Pa] and the air outside [Pa].

    Raises InputError where a vacuum is asked for that is deeper than the air outside, which no pump makes.
    """
    value = gauge.value + outside.value
    if np.any(np.asarray(value) <= 0):
        raise InputError(
            f"a gauge vacuum of {show(-float(np.min(gauge.value)), 'Pa')} is more than the air outside here "
            f"({show(outside.at(0), 'Pa')}); give the vacuum that the gauge shows at this altitude."
        )
    return Quantity("absolute pressure", value, "Pa", "gauge reading + air outside", (gauge, outside), "definition")


def volume_ratio(before: Quantity, after: Quantity) -> Quantity:
    """Return a bubble's volume after over before, from one absolute pressure [Pa] to another [Pa].

    Boyle's law: temperature stays, no gas dissolves, no vapour forms; surface tension is left out (2 x tension /
    radius, some 400 Pa at 0.1 mm).
    """
    value = before.value / after.value
    return Quantity("volume ratio", value, "1", "pressure before / pressure after", (before, after), BOYLE)


def bubble_size(diameter: Quantity, before: Quantity, after: Quantity) -> Quantity:
    """Return the diameter of a bubble [m] that had a diameter [m] at a pressure before [Pa], at one after [Pa]."""
    ratio = volume_ratio(before, after)
    value = diameter.value * np.cbrt(ratio.value)
    words = "diameter x cube root of the volume ratio"
    return Quantity("bubble", value[()], "m", words, (diameter, ratio), BOYLE)


def fill_share(batch: Quantity, container: Quantity) -> Quantity:
    """Return the share of a container [m3] that a batch [m3] fills before it froths."""
    return Quantity("fill", batch.value / container.value, "share", "batch / container", (batch, container))


def largest_container(bore: Quantity, height: Quantity) -> Quantity:
    """Return the volume of the largest pail that goes into a round chamber [m3], nine tenths of it each way.

    bore, height: inside the chamber [m]. Common practice, no source: room for the hands and the lid.
    """
    value: Any = np.pi / 4 * (0.9 * bore.value) ** 2 * 0.9 * height.value
    words = "pi/4 x (0.9 bore)^2 x 0.9 height"
    return Quantity("pail in the chamber", value, "m3", words, (bore, height), "common practice, no source")


def largest_batch(container: Quantity, density: Quantity) -> Quantity:
    """Return the most rubber that is degassed at once in a container [kg]: container [m3], density [kg/m3]."""
    value = FILL.value * container.value * density.value
    words = "greatest fill x container x density"
    return Quantity("largest batch", value, "kg", words, (FILL, container, density))
