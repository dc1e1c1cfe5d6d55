"""Cavity pour (matrix mold): clay holds the room for the rubber, a shell over it, then clay out, rubber in."""

from __future__ import annotations

from moldkit.cure import time_in_room
from moldkit.pattern.pattern import Pattern
from moldkit.quantity import Quantity
from moldkit.techniques.parts.bill import bought, supply, supply_row
from moldkit.techniques.parts.shell import parting_walls, shell_of, shell_to_mix, support_shell
from moldkit.techniques.parts.skin_pour import skin_pour, skin_pour_quantities
from moldkit.techniques.plan import Choices, MoldMaterials, MoldPlan, Steps


def plan(pattern: Pattern, choices: Choices, materials: MoldMaterials, steps: Steps) -> MoldPlan:
    """Return the plan of a cavity pour with a shell laid up over a clay blanket.

    pattern: at one size or an array of sizes; choices: skin [m] (the gap is 2 mm more, at least 8 mm), pieces.
    A remake is only the re-pour: same shell, same pattern.
    """
    rubber, shell = materials.rubber, shell_of(materials)
    pour = skin_pour(pattern, choices, materials)
    round_it = support_shell(pattern, pour.gap, shell, choices)
    clay_density = supply_row("blanket clay", materials.supplies).quantity("density")
    clay = Quantity(
        "clay blanket",
        pour.poured.value * clay_density.value,
        "kg",
        "volume in the gap x density of clay",
        (pour.poured, clay_density),
    )
    shell_mass = shell_to_mix(round_it, shell)
    shell_sets = time_in_room(shell, "set_time", materials.shop)
    cure = time_in_room(rubber, "demold_time", materials.shop)
    return MoldPlan(
        technique="cavity_pour",
        rubber=rubber,
        shell=shell,
        quantities={**skin_pour_quantities(pour, round_it, rubber), "clay_mass": clay},
        amounts=(
            bought("rubber", pour.mass, rubber.quantity("price")),
            bought("shell", shell_mass, shell.quantity("price"), 0.0),
            supply("blanket clay", clay, materials.supplies, 0.0),
            supply("release agent", pattern.molded_area, materials.supplies),
            supply("sealer", pattern.molded_area, materials.supplies, 0.0),
        ),
        steps=(
            steps.time("protect the pattern, clay blanket", pour.skin_area),
            steps.time("parting wall, keys", round_it.parting_length, parting_walls(round_it.parting_length)),
            steps.time("support shell, spout, vents", round_it.area).waiting(shell_sets),
            steps.time("set further vents", pour.further_vents),
            steps.time("strip clay, clean, close up on the pattern", pour.skin_area),
            steps.time("mix, degas, pour", pour.volume).waiting(cure),
            steps.time("open, demold, trim", pour.skin_area),
        ),
        degassed=choices.degassed,
        batches=pour.batches,
    )
