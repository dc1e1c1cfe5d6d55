"""Materials mixed with water: what they weigh as they are poured, and the powder in them that is bought."""

from __future__ import annotations

from moldkit.batches import WET
from moldkit.loads.head import slurry_density
from moldkit.quantity import Quantity
from moldkit.tables import Row

# Its water dries out of the casting, so that the tables' density, of the dry casting, is not that of the mix.
DRIES = "gypsum"


def density_as_poured(material: Row) -> Quantity:
    """Return the density of a casting material while it is liquid [kg/m3]; gypsum is poured with water that dries.

    Stoichiometry of gypsum; the density of concrete holds its water already.
    material: a row of casting materials.
    """
    density = material.quantity("density")
    if material.text("chemistry") != DRIES:
        return density
    return slurry_density(density, material.quantity("mix_ratio"))


def bought_of(mass: Quantity, material: Row) -> Quantity:
    """Return what is bought for a mass as it is mixed [kg]: of plaster and concrete the powder, else all of it.

    mass: as mixed and poured, a number or an array [kg]; material: a row of casting materials with `mix_ratio`, of
    plaster and concrete parts of water by weight to 100 of powder.
    """
    if material.text("chemistry") not in WET:
        return mass
    water = material.quantity("mix_ratio")
    value = mass.value / (1.0 + water.value / 100.0)
    return Quantity("powder in it", value, "kg", "mass as mixed / (1 + parts of water / 100)", (mass, water))
