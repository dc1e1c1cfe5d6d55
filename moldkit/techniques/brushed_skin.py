"""Brushed skin: rubber brushed on in coats, a support shell laid over it. Little rubber, many hours."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from moldkit.batches import Batches, Clock, batches_of
from moldkit.cure import time_in_room
from moldkit.pattern.pattern import Pattern
from moldkit.quantity import Quantity
from moldkit.tables import Row
from moldkit.techniques.parts.bill import bought, supply
from moldkit.techniques.parts.shell import (
    FLANGE_OF_RUBBER,
    Shell,
    default_skin,
    parting_walls,
    shell_of,
    shell_to_mix,
    support_shell,
)
from moldkit.techniques.plan import RULE, Amount, Choices, MoldMaterials, MoldPlan, Steps, StepTime

BASE_FLANGE = 0.030
FILL = {"none": 0.0, "moderate": 0.08, "severe": 0.20}


def plan(pattern: Pattern, choices: Choices, materials: MoldMaterials, steps: Steps) -> MoldPlan:
    """Return the plan of a brushed skin in its support shell.

    pattern: at one size or an array of sizes; choices: skin [m], pieces, keep_shell.
    Skin 3.5 % of the longest side within the rubber's limits. A remake repeats everything, unless the shell is kept.
    Raises InputError when no shell material is at hand.
    """
    rubber, shell = materials.rubber, shell_of(materials)
    skin = default_skin(pattern.longest, rubber, choices.skin)
    round_it = support_shell(pattern, skin, shell, choices)
    over = pattern.skin_volume(skin)
    laid = _rubber_on_the_mold(pattern, over, skin, round_it)
    loss, density = materials.shop.quantity("brushing_loss"), rubber.quantity("density")
    volume = Quantity("rubber volume", laid.value * (1 + loss.value), "m3", "rubber on x (1 + loss)", (laid, loss))
    mass = Quantity("rubber to mix", volume.value * density.value, "kg", "volume x density", (volume, density))
    mold_mass = Quantity(
        "mold mass",
        laid.value * density.value + round_it.mass.value,
        "kg",
        "rubber on the mold x density + shell",
        (laid, density, round_it.mass),
    )
    skin_area = Quantity(
        "skin area",
        over.value / skin.value,
        "m2",
        "volume of the skin / its thickness",
        (over, skin),
    )
    coats = _coats(skin, rubber)
    kept = 0.0 if choices.keep_shell else 1.0
    shell_mass = shell_to_mix(round_it, shell)
    return MoldPlan(
        technique="brushed_skin",
        rubber=rubber,
        shell=shell,
        quantities={
            "skin": skin,
            "coats": coats,
            "skin_area": skin_area,
            "shell_area": round_it.area,
            "shell_mass": round_it.mass,
            "rubber_volume": volume,
            "rubber_mass": mass,
            "mold_mass": mold_mass,
            "pieces": round_it.pieces,
            "parting_length": round_it.parting_length,
            "pour_volume": Quantity(
                "rubber in one coat", volume.value / coats.value, "m3", "rubber / coats", (volume, coats)
            ),
            "pour_head": Quantity("head", 0.0, "m", "nothing is poured"),
            **round_it.outside,
        },
        amounts=(
            bought("rubber", mass, rubber.quantity("price")),
            bought("shell", shell_mass, shell.quantity("price"), kept),
            supply("release agent", pattern.molded_area, materials.supplies),
            supply("sealer", pattern.molded_area, materials.supplies),
            *_thickener(mass, materials),
        ),
        steps=_steps(pattern, steps, round_it, skin_area, coats, materials, kept),
        batches=_batches(mass, coats, steps.time("each coat", skin_area).attended, materials),
    )


def _steps(
    pattern: Pattern,
    steps: Steps,
    round_it: Shell,
    skin_area: Quantity,
    coats: Quantity,
    materials: MoldMaterials,
    kept: float,
) -> tuple[StepTime, ...]:
    rubber, shop = materials.rubber, materials.shop
    gap, cure = time_in_room(rubber, "coat_gap", shop), time_in_room(rubber, "demold_time", shop)
    between = Quantity(
        "wait between coats and for the cure",
        (coats.value - 1) * gap.value + cure.value,
        "s",
        "(coats - 1) x gap between coats + cure",
        (coats, gap, cure),
    )
    laid_up = steps.time("support shell", round_it.area).waiting(time_in_room(shell_of(materials), "set_time", shop))
    return (
        steps.time("clean, seal, release", pattern.molded_area),
        steps.time("parting wall, keys", round_it.parting_length, parting_walls(round_it.parting_length)),
        steps.time("each coat", skin_area, coats).waiting(between),
        replace(laid_up, remake=laid_up.remake * kept),
        steps.time("trim, bolt, demold", round_it.area),
    )


def _batches(mass: Quantity, coats: Quantity, brushing: Quantity, materials: MoldMaterials) -> Batches:
    """Return the batches of one coat: each is brushed on within its pot life. What is left in cups is in the loss."""
    coat = Quantity("rubber for a coat", mass.value / coats.value, "kg", "rubber to mix / coats", (mass, coats))
    words = "time for a coat / rubber for it"
    rate = Quantity("time to brush a kilogram", brushing.value / coat.value, "s/kg", words, (brushing, coat))
    shop = materials.shop
    clock = Clock(time_in_room(materials.rubber, "pot_life", shop), shop.quantity("mixing_start"), rate)
    return batches_of(coat, shop.quantity("batch_most"), clock)


def _thickener(mass: Quantity, materials: MoldMaterials) -> tuple[Amount, ...]:
    """Return the thickener that makes a pourable grade stand on a wall; a brushable grade needs none."""
    if "poured" not in materials.rubber.words("suits"):
        return ()
    return (supply("thickener", mass, materials.supplies),)


def _rubber_on_the_mold(pattern: Pattern, over: Quantity, skin: Quantity, shell: Shell) -> Quantity:
    """Return the rubber on the mold [m3]: skin, flanges along the parting and round the base, fill of undercuts."""
    line, foot = shell.parting_length, pattern.footprint_perimeter
    base = foot.value * BASE_FLANGE if pattern.stands_on_base else 0.0
    value = over.value * (1 + FILL[pattern.undercut]) + (2 * line.value * FLANGE_OF_RUBBER + base) * skin.value
    words = (
        f"skin x (1 + {FILL[pattern.undercut]:.0%} fill of undercuts) + flanges "
        "(2 x parting length x 25 mm"
        + (" + footprint perimeter x 30 mm" if pattern.stands_on_base else "")
        + ") x skin"
    )
    return Quantity("rubber on the mold", value, "m3", words, (over, line, foot, skin), RULE)


def _coats(skin: Quantity, rubber: Row) -> Quantity:
    """Return the number of coats: a thin detail coat, then coats of the rubber's thickness; at least two."""
    coat = rubber.quantity("coat")
    value = np.maximum(2.0, np.ceil(skin.value / coat.value - 1e-9))
    return Quantity("coats", value, "coats", "skin / thickness of a coat, up; the first one thin", (skin, coat), RULE)
