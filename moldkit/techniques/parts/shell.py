"""A skin's thickness, its parting lines and the support shell round it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from moldkit.errors import InputError
from moldkit.pattern.pattern import Pattern
from moldkit.quantity import Quantity
from moldkit.tables import Row
from moldkit.techniques.parts.bill import held_between
from moldkit.techniques.plan import RULE, Choices, MoldMaterials

FLANGE_OF_RUBBER = 0.025
FLANGE_OF_SHELL = 0.050


def shell_of(materials: MoldMaterials) -> Row:
    """Return the shell material at hand; raises InputError where the technique's row asks for none."""
    if materials.shell is None:
        raise InputError("techniques.csv: a technique with a skin needs a shell; write 'laid up' or 'printed'.")
    return materials.shell


def default_skin(pattern_longest: Quantity, rubber: Row, chosen: Any) -> Quantity:
    """Return the thickness of a skin [m]: the one chosen, else 3.5 % of the longest side within the rubber's limits."""
    if chosen is not None:
        return Quantity("skin", chosen, "m", "chosen in the job", source="the job")
    least, most = rubber.quantity("skin_least"), rubber.quantity("skin_most")
    value = held_between(0.035 * pattern_longest.value, least.value, most.value)
    words = "3.5 % of the longest side, held between the rubber's least and most"
    return Quantity("skin", value, "m", words, (pattern_longest, least, most), RULE)


def default_gap(skin: Quantity) -> Quantity:
    """Return the gap of a cavity pour [m]: the skin and 2 mm for the flow, at least 8 mm."""
    value = np.maximum(skin.value + 0.002, 0.008)
    return Quantity("gap", value, "m", "skin + 2 mm, at least 8 mm", (skin,), RULE)


def parting(one_line: Quantity, pieces: Quantity) -> Quantity:
    """Return the length of all parting lines [m]."""
    value = one_line.value * (pieces.value - 1)
    return Quantity("parting length", value, "m", "one parting line x (pieces - 1)", (one_line, pieces))


def parting_walls(line: Quantity) -> Quantity | float:
    """Return how often a parting wall is built: not at all where a mold is in one piece and its line has no length."""
    walls = np.where(np.asarray(line.value) > 0, 1.0, 0.0)
    if np.all(walls):
        return 1.0
    return Quantity("parting walls", walls[()], "1", "none for a mold in one piece", (line,))


@dataclass(frozen=True)
class Shell:
    """A support shell round a skin: the quantities that describe it."""

    pieces: Quantity
    parting_length: Quantity
    area: Quantity
    volume: Quantity
    mass: Quantity
    outside: Mapping[str, Quantity]


def support_shell(pattern: Pattern, rubber_thickness: Quantity, shell: Row, choices: Choices) -> Shell:
    """Return the support shell over rubber of a thickness [m], with flanges of 50 mm along its parting lines.

    Raises nothing of its own; arrays of pattern sizes give arrays.
    """
    pieces = pattern.chosen_pieces(choices.pieces)
    line = parting(pattern.one_parting_line, pieces)
    over = pattern.outer_area(rubber_thickness)
    area = Quantity(
        "shell area",
        over.value + 2 * line.value * FLANGE_OF_SHELL,
        "m2",
        "area over the rubber + 2 x parting length x 50 mm of flange",
        (over, line),
        RULE,
    )
    thickness, density = shell.quantity("thickness"), shell.quantity("density")
    volume = Quantity("shell volume", area.value * thickness.value, "m3", "shell area x thickness", (area, thickness))
    mass = Quantity("shell mass", volume.value * density.value, "kg", "shell volume x density", (volume, density))
    return Shell(pieces, line, area, volume, mass, _outside(pattern, rubber_thickness, thickness, line))


def shell_to_mix(round_it: Shell, shell: Row) -> Quantity:
    """Return the shell material to mix [kg], with what is lost in mixing and trimming."""
    loss = shell.quantity("loss")
    mass = round_it.mass.value * (1 + loss.value)
    return Quantity("shell material", mass, "kg", "mass x (1 + loss)", (round_it.mass, loss))


def _outside(pattern: Pattern, rubber: Quantity, shell: Quantity, line: Quantity) -> dict[str, Quantity]:
    """Return the outer sides of the closed mold [m]: rubber and shell all round, flanges across one way."""
    wall = rubber.value + shell.value
    flange = np.where(np.asarray(line.value) > 0, np.maximum(wall, rubber.value + FLANGE_OF_SHELL), wall)[()]
    inputs = (rubber, shell)
    tall = pattern.height.value + (wall if pattern.stands_on_base else 2 * wall)
    tube = np.maximum(pattern.upright_circle.value + 2 * wall, pattern.depth.value + 2 * flange)
    return {
        "width": Quantity("mold width", pattern.width.value + 2 * wall, "m", "pattern, rubber and shell", inputs),
        "depth": Quantity("mold depth", pattern.depth.value + 2 * flange, "m", "pattern, rubber and flanges", inputs),
        "height": Quantity("mold height", tall, "m", "pattern, rubber and shell", inputs),
        "round_diameter": Quantity("tube round the mold", tube, "m", "round its sides and flanges", inputs),
        "flange_reach": Quantity("reach beyond the pattern", flange, "m", "rubber and shell, or its flange", inputs),
    }
