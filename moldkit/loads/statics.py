"""Ordinary statics of molds: head pressure, closure force, mass in the hands."""

from __future__ import annotations

from moldkit.quantity import Quantity

GRAVITY = 9.80665


def head_pressure(density: Quantity, head: Quantity) -> Quantity:
    """Return the pressure at the foot of a liquid column [Pa]: density [kg/m3] x g x head [m].

    Source: hydrostatics; g = 9.80665 m/s2 (standard gravity, CGPM 1901).
    """
    value = density.value * GRAVITY * head.value
    return Quantity("head pressure", value, "Pa", "density x g x head", (density, head), "hydrostatics")


def closure_force(pressure: Quantity, outline: Quantity) -> Quantity:
    """Return the force that opens a closed mold [N]: pressure [Pa] on the outline in the pull direction [m2]."""
    value = pressure.value * outline.value
    words = "pressure x outline in the pull direction"
    return Quantity("closure force", value, "N", words, (pressure, outline), "statics")


def filled_mass(mold: Quantity, casting: Quantity) -> Quantity:
    """Return the mass of a mold with its casting [kg]."""
    value = mold.value + casting.value
    return Quantity("filled mold", value, "kg", "mold + casting", (mold, casting))
