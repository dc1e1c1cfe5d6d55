"""Rubber poured into the gap between a pattern and its shell, as both kinds of cavity pour do."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from moldkit.batches import Batches
from moldkit.pattern.pattern import USUAL_VENTS, Pattern
from moldkit.quantity import Quantity
from moldkit.tables import Row
from moldkit.techniques.parts.bill import held_between, rubber_batches
from moldkit.techniques.parts.shell import Shell, default_gap, default_skin
from moldkit.techniques.plan import RULE, Choices, MoldMaterials


@dataclass(frozen=True)
class SkinPour:
    """Rubber poured into the gap between a pattern and its shell: the quantities that describe it."""

    skin: Quantity
    gap: Quantity
    skin_area: Quantity
    further_vents: Quantity
    spout_bore: Quantity
    spout_height: Quantity
    poured: Quantity
    head: Quantity
    batches: Batches
    mass: Quantity
    volume: Quantity


def skin_pour(pattern: Pattern, choices: Choices, materials: MoldMaterials) -> SkinPour:
    """Return the pour of a cavity mold: W(gap) + spout and vents, with what is lost and left in the cups.

    Spout: a bore of 2.5 gaps held between 20 and 50 mm, a third of the pattern's height tall, held between
    50 and 100 mm; two vents of half that bore, and one over every further top. Common practice, no source.
    """
    rubber, shop = materials.rubber, materials.shop
    skin = default_skin(pattern.longest, rubber, choices.skin)
    gap = default_gap(skin)
    spout_bore, spout_height = _spout(pattern, gap)
    bore, tall = spout_bore.value, spout_height.value
    vents = pattern.further_vents(gap)
    spout = Quantity(
        "spout and vents",
        np.pi / 4 * bore**2 * tall * (1.0 + (USUAL_VENTS + vents.value) / 4),
        "m3",
        "a spout of 2.5 gaps bore (20 to 50 mm) and a third of the height (50 to 100 mm), two vents of half its bore "
        "and the further ones",
        (spout_bore, spout_height, vents),
        RULE,
    )
    over = pattern.skin_volume(gap)
    poured = Quantity(
        "rubber in the mold",
        over.value + spout.value,
        "m3",
        "skin in the gap + spout and vents",
        (over, spout),
    )
    batches, mass = rubber_batches(
        poured, rubber, shop, shop.quantity("skin_pour_loss"), shop.quantity("skin_cup_loss"),
        degassed=choices.degassed,
    )
    density = rubber.quantity("density")
    volume = Quantity("rubber volume", mass.value / density.value, "m3", "mass to mix / density", (mass, density))
    skin_area = Quantity("skin area", over.value / gap.value, "m2", "volume in the gap / gap", (over, gap))
    rise = pattern.height.value + gap.value + tall
    head = Quantity("head of rubber", rise, "m", "pattern height + gap + spout", (pattern.height, gap))
    return SkinPour(skin, gap, skin_area, vents, spout_bore, spout_height, poured, head, batches, mass, volume)


def _spout(pattern: Pattern, gap: Quantity) -> tuple[Quantity, Quantity]:
    """Return bore and height of the spout [m]."""
    bore, tall = held_between(2.5 * gap.value, 0.020, 0.050), held_between(pattern.height.value / 3, 0.050, 0.100)
    words = "a third of the height, held between 50 and 100 mm"
    return (
        Quantity("bore of the spout", bore, "m", "2.5 gaps, held between 20 and 50 mm", (gap,), RULE),
        Quantity("height of the spout", tall, "m", words, (pattern.height,), RULE),
    )


def skin_pour_quantities(pour: SkinPour, shell: Shell, rubber: Row) -> dict[str, Quantity]:
    """Return the named quantities that every cavity mold has."""
    density = rubber.quantity("density")
    mold_mass = Quantity(
        "mold mass",
        pour.poured.value * density.value + shell.mass.value,
        "kg",
        "rubber in the mold x density + shell",
        (pour.poured, density, shell.mass),
    )
    return {
        "skin": pour.skin,
        "gap": pour.gap,
        "skin_area": pour.skin_area,
        "further_vents": pour.further_vents,
        "spout_bore": pour.spout_bore,
        "spout_height": pour.spout_height,
        "shell_area": shell.area,
        "shell_mass": shell.mass,
        "rubber_volume": pour.volume,
        "rubber_mass": pour.mass,
        "mold_mass": mold_mass,
        "mixing_cups": pour.batches.number,
        "pieces": shell.pieces,
        "parting_length": shell.parting_length,
        "pour_volume": pour.poured,
        "pour_head": pour.head,
        **shell.outside,
    }
