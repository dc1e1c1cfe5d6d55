"""The head of anything poured: its pressure, always of the full height however slowly it sets; what it displaces."""

from __future__ import annotations

from moldkit.quantity import Quantity

# Standard acceleration of gravity, exact by its definition (3rd General Conference on Weights and Measures, 1901).
GRAVITY = 9.80665
HYDROSTATICS = "hydrostatics"
# Parts of water that 100 parts of plaster bind: 1.5 x 18.015 / 145.148.
BOUND_WATER = 18.62


def head_pressure(density: Quantity, head: Quantity) -> Quantity:
    """Return the pressure at the foot of a head [Pa].

    Hydrostatics. Nothing is taken off for setting while it is poured, as wall formulas for concrete do: rubber and
    resin flow until they gel.
    density: of what is poured [kg/m3]; head: from the foot to the top of the pour, the spout's top where there is
    one [m]. Holds for anything that is liquid when the pour ends.
    """
    value = density.value * GRAVITY * head.value
    return Quantity("pressure at the foot", value, "Pa", "density x g x full head", (density, head), HYDROSTATICS)


def pushed_aside(density: Quantity, volume: Quantity) -> Quantity:
    """Return the mass of liquid that a body displaces [kg]: what it must weigh not to rise.

    Archimedes. density: of the liquid [kg/m3]; volume: of the body below the liquid's level [m3].
    """
    value = density.value * volume.value
    return Quantity("mass pushed aside", value, "kg", "density x volume", (density, volume), HYDROSTATICS)


def slurry_density(dry: Quantity, water: Quantity) -> Quantity:
    """Return the density of a gypsum mix as it is poured [kg/m3], from that of the dry casting.

    Stoichiometry: 100 parts of hemihydrate bind 18.62 of water, and the rest dries out of the same volume. dry: density
    of the dry casting [kg/m3]; water: parts by weight to 100 of powder. Common gypsums without much filler.
    """
    value = dry.value * (100.0 + water.value) / (100.0 + BOUND_WATER)
    words = "dry density x (100 + water) / (100 + 18.62 of water that stays)"
    return Quantity("density as poured", value, "kg/m3", words, (dry, water), "stoichiometry of gypsum")
