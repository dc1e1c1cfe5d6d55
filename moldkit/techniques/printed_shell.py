"""Cavity pour with a printed shell: the shell is the offset surface at the gap, printed from the mesh."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldkit.cure import time_in_room
from moldkit.pattern.pattern import Pattern
from moldkit.quantity import Quantity
from moldkit.tables import Row
from moldkit.techniques.parts.bill import bought, supply
from moldkit.techniques.parts.shell import Shell, shell_of, support_shell
from moldkit.techniques.parts.skin_pour import skin_pour, skin_pour_quantities
from moldkit.techniques.plan import Amount, Choices, MoldMaterials, MoldPlan, Steps


def plan(pattern: Pattern, choices: Choices, materials: MoldMaterials, steps: Steps) -> MoldPlan:
    """Return the plan of a cavity pour whose shell is printed from the mesh.

    pattern: at one size or an array of sizes; choices: skin [m] (the gap is 2 mm more, at least 8 mm), pieces.
    Parts beyond the mold's pieces, which the printer's build volume makes necessary, are joined.
    """
    rubber, shell = materials.rubber, shell_of(materials)
    pour = skin_pour(pattern, choices, materials)
    round_it = support_shell(pattern, pour.gap, shell, choices)
    parts, joins = _parts(round_it, materials.shop)
    filament, printing, machine = _printing(round_it, shell, materials.shop)
    printed = steps.time("print, join, seal", round_it.area)
    return MoldPlan(
        technique="printed_shell",
        rubber=rubber,
        shell=shell,
        quantities={
            **skin_pour_quantities(pour, round_it, rubber),
            "printed_parts": parts,
            "joins": joins,
            "printing_time": printing,
        },
        amounts=(
            bought("rubber", pour.mass, rubber.quantity("price")),
            bought("shell", filament, shell.quantity("price"), 0.0),
            Amount("printer hours", printing, machine, 0.0),
            supply("release agent", pattern.molded_area, materials.supplies),
            supply("sealer", pattern.molded_area, materials.supplies, 0.0),
        ),
        steps=(
            steps.time("draw the shell, spout, flanges", round_it.area),
            printed.waiting(printing),
            steps.time("join parts", joins),
            steps.time("set further vents", pour.further_vents),
            steps.time("clean, close up on the pattern", pour.skin_area),
            steps.time("mix, degas, pour", pour.volume).waiting(time_in_room(rubber, "demold_time", materials.shop)),
            steps.time("open, demold, trim", pour.skin_area),
        ),
        degassed=choices.degassed,
        batches=pour.batches,
    )


def _parts(shell: Shell, shop: Row) -> tuple[Quantity, Quantity]:
    """Return (parts to print, joins): the mold divided into its pieces across its longer level side, and every
    piece cut up until it fits the printer, any way round.
    """
    width, depth, height = np.broadcast_arrays(*(shell.outside[side].value for side in ("width", "depth", "height")))
    longer, shorter = np.maximum(width, depth) / shell.pieces.value, np.minimum(width, depth)
    piece = np.sort(np.stack([longer, shorter, height]), 0)
    build = [shop.quantity(f"printer_{side}") for side in ("width", "depth", "height")]
    room = np.sort([q.value for q in build]).reshape(3, *[1] * (piece.ndim - 1))
    cuts: Any = np.prod(np.ceil(piece / room), axis=0)
    inputs = (shell.pieces, *build, shell.outside["width"], shell.outside["depth"], shell.outside["height"])
    words = "pieces x (sides of a piece / build volume, up)"
    parts = Quantity("printed parts", cuts * shell.pieces.value, "pieces", words, inputs)
    joins = Quantity("joins", parts.value - shell.pieces.value, "1", "parts - pieces", (parts, shell.pieces))
    return parts, joins


def _printing(shell: Shell, material: Row, shop: Row) -> tuple[Quantity, Quantity, Quantity]:
    """Return (filament [kg], printing time [s], cost of the printer's hours)."""
    lost, failed = material.quantity("loss"), shop.quantity("print_failures")
    speed, rate = shop.quantity("print_speed"), shop.quantity("printer_rate")
    filament = Quantity(
        "filament",
        shell.mass.value * (1 + lost.value) * (1 + failed.value),
        "kg",
        "shell mass x (1 + supports) x (1 + failed prints)",
        (shell.mass, lost, failed),
    )
    printing = Quantity(
        "printing time",
        shell.volume.value / speed.value * (1 + lost.value) * (1 + failed.value),
        "s",
        "shell volume / printing rate x (1 + supports) x (1 + failed prints)",
        (shell.volume, speed, lost, failed),
    )
    machine = Quantity("cost of printer hours", printing.value * rate.value, "money", "time x rate", (printing, rate))
    return filament, printing, machine
