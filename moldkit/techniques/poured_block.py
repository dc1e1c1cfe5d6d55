"""Poured block: the pattern in a box, rubber poured round it, cut open. Few hours, much rubber."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from moldkit.cure import time_in_room
from moldkit.pattern.pattern import Pattern
from moldkit.quantity import Quantity
from moldkit.techniques.parts.bill import bought, held_between, rubber_batches, supply
from moldkit.techniques.parts.shell import parting
from moldkit.techniques.plan import RULE, Choices, MoldMaterials, MoldPlan, Steps

FREEBOARD = 0.025
TWO_POURS = 1.8


def plan(pattern: Pattern, choices: Choices, materials: MoldMaterials, steps: Steps) -> MoldPlan:
    """Return the plan of a poured block.

    pattern: at one size or an array of sizes; choices: margin [m], cavities, pours, container, pieces.
    Margin 8 % of the longest side, held between 10 and 25 mm; board 25 mm above the rubber.
    """
    shop, rubber = materials.shop, materials.rubber
    margin = _margin(pattern, choices)
    box = _container(pattern, margin, choices, shop.numbers("tubes"))
    solid = Quantity(
        "rubber in the mold",
        box["container"].value - choices.cavities * pattern.volume.value,
        "m3",
        "container - pattern" if choices.cavities == 1 else f"container - {choices.cavities} patterns",
        (box["container"], pattern.volume),
    )
    two = choices.pours == "two"
    batches, mass = rubber_batches(
        solid, rubber, shop, shop.quantity("pour_loss"), shop.quantity("cup_loss"), 2 if two else 1, choices.degassed
    )
    density = rubber.quantity("density")
    volume = Quantity("rubber volume", mass.value / density.value, "m3", "mass to mix / density", (mass, density))
    mold_mass = Quantity(
        "mold mass", solid.value * density.value, "kg", "rubber in the mold x density", (solid, density)
    )
    pieces = pattern.chosen_pieces(choices.pieces, least=2 if two else 1)
    line = parting(pattern.one_parting_line, pieces)
    surface = Quantity(
        "molded surface",
        choices.cavities * pattern.molded_area.value,
        "m2",
        "in all cavities",
        (pattern.molded_area,),
    )
    again = TWO_POURS if two else 1.0
    cure = time_in_room(rubber, "demold_time", shop)
    wait = Quantity("cure of both pours", 2 * cure.value, "s", "2 x cure", (cure,)) if two else cure
    pour = steps.time("mix, degas, pour", volume, again)
    return MoldPlan(
        technique="poured_block",
        rubber=rubber,
        shell=None,
        quantities={
            **box,
            "margin": margin,
            "rubber_volume": volume,
            "rubber_mass": mass,
            "mold_mass": mold_mass,
            "mixing_cups": batches.number,
            "pieces": pieces,
            "parting_length": line,
            "pour_volume": solid,
            "pour_head": box["height"],
        },
        amounts=(
            bought("rubber", mass, rubber.quantity("price")),
            supply("box board", box["board_area"], materials.supplies, 0.0),
            supply("release agent", surface, materials.supplies),
            supply("sealer", surface, materials.supplies),
        ),
        steps=(
            steps.time("clean, seal, release", surface, again),
            steps.time("build and seal the box", box["board_area"], again),
            pour.waiting(wait),
            steps.time("cut open, demold, trim", surface, again),
        ),
        cavities=choices.cavities,
        degassed=choices.degassed,
        batches=batches,
    )


def _margin(pattern: Pattern, choices: Choices) -> Quantity:
    if choices.margin is not None:
        return Quantity("margin", choices.margin, "m", "chosen in the job", source="the job")
    value = held_between(0.08 * pattern.longest.value, 0.010, 0.025)
    words = "8 % of the longest side, held between 10 and 25 mm"
    return Quantity("margin", value, "m", words, (pattern.longest,), RULE)


def _grid(cavities: int) -> tuple[int, int]:
    """Return the rows and columns nearest to a square that hold the cavities."""
    rows = math.isqrt(cavities)
    return rows, math.ceil(cavities / rows)


def _container(pattern: Pattern, margin: Quantity, choices: Choices, tubes: tuple[float, ...]) -> dict[str, Quantity]:
    """Return the container: its volume, sides, tube diameter and board area."""
    m = margin.value
    length, width, box_height = pattern.box_round(m)
    rows, columns = _grid(choices.cavities)
    length, width = columns * (length - m) + m, rows * (width - m) + m
    square = length * width * box_height
    bore, tube_height = _tube(pattern, m, tubes)
    tube = math.pi / 4 * bore**2 * tube_height
    is_round = (tube < square) & (choices.cavities == 1)
    if choices.container is not None:
        is_round = np.full_like(is_round, choices.container == "round") & np.isfinite(bore) & (choices.cavities == 1)
    bore = np.where(is_round, bore, np.hypot(length, width))
    height = np.where(is_round, tube_height, box_height)
    walls = np.where(is_round, math.pi * bore, 2 * (length + width)) * (height + FREEBOARD)
    sides = (np.where(is_round, bore, length), np.where(is_round, bore, width))

    def measured(name: str, value: Any, unit: str, words: str) -> Quantity:
        return Quantity(name, value, unit, words, (pattern.width, pattern.depth, pattern.height, margin))

    top = "margin above" if pattern.stands_on_base else "margin above and below"
    laid = "" if pattern.stands_on_base else ", the pattern laid so that it takes least"
    words = f"(length + 2 margins) x (width + 2 margins) x (height + {top}), or the tube that takes less{laid}"
    return {
        "container": measured("container", np.where(is_round, tube, square), "m3", words),
        "width": measured("block length", sides[0], "m", "pattern and a margin at each side"),
        "depth": measured("block width", sides[1], "m", "pattern and a margin at each side"),
        "height": measured("block height", height[()], "m", f"pattern height and {top}{laid}"),
        "round_diameter": measured("tube round the block", bore, "m", "round its sides"),
        "board_area": measured("board", walls + sides[0] * sides[1], "m2", "walls with 25 mm freeboard, and the base"),
    }


def _tube(pattern: Pattern, margin: Any, tubes: tuple[float, ...]) -> tuple[Any, Any]:
    """Return bore and height [m] of the tube in the shop that takes least; infinite where there is none."""
    wanted, height = pattern.tubes_round(margin)
    bore = _bore(wanted, tubes)
    least = np.argmin(bore**2 * height, axis=-1)[..., None]
    chosen = [np.take_along_axis(side, least, axis=-1)[..., 0][()] for side in (bore, height)]
    return chosen[0], chosen[1]


def _bore(wanted: Any, tubes: tuple[float, ...]) -> Any:
    """Return the bore [m] of the narrowest tube that is wide enough; infinite where there is none."""
    bores = np.array([*tubes, math.inf])
    return bores[np.searchsorted(bores, wanted)]
