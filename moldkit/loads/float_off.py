"""What rises in liquid rubber: a light pattern, a core, the shell itself; and what holds it down."""

from __future__ import annotations

import numpy as np

from moldkit.loads.head import GRAVITY, HYDROSTATICS, pushed_aside
from moldkit.quantity import Quantity

# On the uplift: for a density that is off, a fastening that gives, a knock on the bench.
HOLD_DOWN_SAFETY = Quantity("safety factor", 1.5, "1", source="common practice, no source")


def uplift(density: Quantity, volume: Quantity, mass: Quantity) -> Quantity:
    """Return the force with which a body in liquid rises [N]; below zero it sinks.

    Archimedes, with the liquid under the body as well: a pattern whose seat is sealed to the board is held by
    nothing else once rubber creeps under it. density: of the liquid [kg/m3]; volume: below the level [m3]; mass: of
    the body [kg]. Works for a pattern in rubber and for a core in the casting alike.
    """
    aside = pushed_aside(density, volume)
    value = (aside.value - mass.value) * GRAVITY
    words = "(mass pushed aside - own mass) x g"
    return Quantity("uplift", value, "N", words, (aside, mass), HYDROSTATICS)


def hold_down_mass(density: Quantity, volume: Quantity, mass: Quantity) -> Quantity:
    """Return the mass to lay on a body so that it stays down [kg]; nothing where it sinks.

    Arguments as for `uplift`. The ballast lies above the liquid; screws or wires hold its weight.
    """
    rises = uplift(density, volume, mass)
    value = np.maximum(rises.value / GRAVITY, 0.0)[()] * HOLD_DOWN_SAFETY.value
    words = "uplift / g x safety factor"
    return Quantity("hold-down mass", value, "kg", words, (rises, HOLD_DOWN_SAFETY), HYDROSTATICS)


def shell_lift(density: Quantity, head: Quantity, opening: Quantity, below: Quantity) -> Quantity:
    """Return the force with which poured rubber lifts a shell off its base [N]; nothing where it weighs it down.

    Hydrostatics: the pressure at the foot on the shell's open base, less the weight of all that is under the shell
    were it rubber. density: of the rubber [kg/m3]; head: from the base to the top of the spout [m]; opening: area of
    the shell's inner outline at the base [m2]; below: volume inside the shell, the pattern and the spout included [m3].
    """
    value = np.maximum(density.value * GRAVITY * (opening.value * head.value - below.value), 0.0)[()]
    words = "density x g x (open base x full head - volume inside)"
    return Quantity("lift of the shell", value, "N", words, (density, opening, head, below), HYDROSTATICS)


def grown_outline(area: Quantity, perimeter: Quantity, gap: Quantity) -> Quantity:
    """Return the area of an outline grown by a gap all round [m2].

    Steiner's formula in the plane, exact for a convex outline and above the true value for any other. area [m2],
    perimeter [m], gap [m].
    """
    value = area.value + perimeter.value * gap.value + np.pi * gap.value**2
    words = "outline + perimeter x gap + pi x gap^2"
    return Quantity(f"{area.name} with the gap", value, "m2", words, (area, perimeter, gap), "geometry")
