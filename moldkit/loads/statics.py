"""Ordinary statics of molds: closure force, mass in the hands."""

from __future__ import annotations

from moldkit.quantity import Quantity


def closure_force(pressure: Quantity, outline: Quantity) -> Quantity:
    """Return the force that opens a closed mold [N]: pressure [Pa] on the outline in the pull direction [m2]."""
    value = pressure.value * outline.value
    words = "pressure x outline in the pull direction"
    return Quantity("closure force", value, "N", words, (pressure, outline), "statics")


def filled_mass(mold: Quantity, casting: Quantity) -> Quantity:
    """Return the mass of a mold with its casting [kg]."""
    value = mold.value + casting.value
    return Quantity("filled mold", value, "kg", "mold + casting", (mold, casting))
