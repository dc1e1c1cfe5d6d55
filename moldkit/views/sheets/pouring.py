"""The pour plan: in which order the mold is filled with rubber, and how one casting is poured in it."""

from __future__ import annotations

import math
from collections.abc import Iterator

from moldkit.cure import time_in_room
from moldkit.quantity import Quantity
from moldkit.study.bench.mixes import Mix, casting_mix, rubber_mix
from moldkit.views.paper.document import (
    Block,
    Cell,
    Column,
    Document,
    FillIn,
    KeyFigure,
    KeyFigures,
    Number,
    Page,
    Sentence,
    Table,
    Tick,
)
from moldkit.views.sheets.bench import Bench
from moldkit.views.sheets.in_units import key_figure, scale_for
from moldkit.views.sheets.words import hours_and_minutes

# Degassing rubber rises to several times its volume; a pail of four times is common practice, no source.
RISES = 4
USUAL_VENTS = 2
NOTHING_POURED = (
    "The rubber is brushed on and not poured: its coats, weights and times stand on the build sheet and on the mixing "
    "sheet."
)


def pour_plan(bench: Bench) -> Document:
    """Return the pour plan: rubber into the mold, then the material of one casting."""
    rubber = rubber_mix(bench.result, bench.outcome)
    blocks: list[Block] = []
    if rubber is not None and rubber.brushed:
        blocks.append(Sentence(NOTHING_POURED))
    elif rubber is not None:
        blocks += [_rubber_keys(bench, rubber), _table("Rubber into the mold", _rubber_steps(bench, rubber))]
    casting = casting_mix(bench.result, bench.outcome)
    blocks += [_casting_keys(bench), _table("One casting", _casting_steps(bench, casting))]
    return bench.document("Pour plan", Page("pouring", "Pour plan", tuple(blocks)))


def _table(title: str, steps: Iterator[str]) -> Table:
    rows: tuple[tuple[Cell, ...], ...] = tuple((Tick(), str(n), words, FillIn()) for n, words in enumerate(steps, 1))
    return Table(title, (Column(""), Column(""), Column("In this order", wide=True), Column("At")), rows)


def _rubber_keys(bench: Bench, rubber: Mix) -> KeyFigures:
    plan, system = bench.outcome.plan, bench.system
    keys = [
        key_figure("Rubber in the mold", plan["pour_volume"].at(0), "m3", system),
        KeyFigure("Batches", Number(len(rubber.batches))),
        key_figure("Height of rubber", plan["pour_head"].at(0), "m", system),
    ]
    if "spout_bore" in plan.quantities:
        keys += [
            key_figure("Spout, bore", plan["spout_bore"].at(0), "m", system),
            key_figure("Spout, height", plan["spout_height"].at(0), "m", system),
            KeyFigure("Vents", Number(USUAL_VENTS + plan["further_vents"].at(0))),
        ]
    return KeyFigures(tuple(keys))


def _rubber_steps(bench: Bench, rubber: Mix) -> Iterator[str]:
    plan, outcome = bench.outcome.plan, bench.outcome
    skin = "spout_bore" in plan.quantities
    yield (
        "Release agent on, shell closed and bolted, seams and spout sealed; the mold level and held down."
        if skin
        else "Release agent on, box sealed at every joint, pattern fixed to the base so that it cannot float; level."
    )
    if skin:
        yield (
            "Tilt the mold a little, the spout at the low side, so that the rubber drives the air before it to the "
            "vents; set it level when the vents show rubber."
        )
    if bench.result.case.pours == "two" and not skin:
        yield (
            "In two halves: bed the pattern in clay to the parting line, with keys. What follows, up to the cure, is "
            "for the first half; then clay out, release agent on, and the same again for the second."
        )
    halves = 2 if bench.result.case.pours == "two" and not skin else 1
    count, each = len(rubber.batches) // halves, rubber.batches[0].mass
    cups = "Mix the batch" if count == 1 else f"Mix {count} batches one after another, each"
    yield f"{cups} {_weighed(bench, each)}: weights on the mixing sheet."
    if plan.degassed and outcome.technique.row.flag("degassed"):
        volume = each / rubber.material.quantity("density").at(0)
        yield (
            f"Degas in a pail of {bench.say(RISES * volume, 'm3')} or more, since the rubber rises to {RISES} times "
            "its volume; hold until it has fallen back and the bubbles are few."
        )
    took = f"within {hours_and_minutes(rubber.pot_life, latest=True)} of mixing"
    if skin:
        yield f"Pour at the spout in a thin stream, without a stop, {took}; close each vent when rubber rises in it."
        yield "Fill the spout to the top: the rubber settles, and the spout feeds it."
    else:
        yield f"Pour at one low corner of the box in a thin stream, {took}, and let the rubber rise over the pattern."
    cure = time_in_room(rubber.material, "demold_time", bench.result.shop).at(0)
    yield f"Leave it to cure for {hours_and_minutes(cure)} before it is opened."


def _weighed(bench: Bench, mass: float) -> str:
    """Return a batch as the mixing sheet has it, in the unit of its scale."""
    scale = scale_for([mass], "kg", bench.system)
    return f"{scale.of(mass).text} {scale.typeset}"


def _casting_keys(bench: Bench) -> KeyFigures:
    casting, case, system = bench.outcome.casting, bench.result.case, bench.system
    keys = [
        KeyFigure("Cast", case.material),
        KeyFigure("How", case.method),
        key_figure("In the mold", casting["mass"].at(0), "kg", system),
    ]
    if "wall" in casting.quantities:
        keys.append(key_figure("Wall", casting["wall"].at(0), "m", system))
    return KeyFigures(tuple(keys))


def _casting_steps(bench: Bench, casting: Mix) -> Iterator[str]:
    result, outcome = bench.result, bench.outcome
    method, material = result.knowledge.methods[result.case.method].row, casting.material
    gauge, cure = method.quantity("pressure"), outcome.casting["cure"].at(0)
    agent = "Release agent on, and dry. " if result.case.release else ""
    close = "Close the mold, keys home, straps even." if outcome.plan["pieces"].at(0) > 1 else "Set the mold level."
    yield f"Mold at room temperature, clean and dry. {agent}{close}"
    if material.text("chemistry") in ("wax", "metal"):
        hot = bench.say(material.quantity("casting_temperature").at(0), "K")
        yield f"Melt {bench.say(casting.mass, 'kg')} and pour at about {hot}: no hotter than the material needs."
    else:
        several = "" if len(casting.batches) == 1 else f" in {len(casting.batches)} batches"
        yield f"Mix {bench.say(casting.mass, 'kg')}{several} by the mixing sheet."
    in_time = hours_and_minutes(casting.pot_life, latest=True)
    each = in_time if len(casting.batches) == 1 else f"{in_time} of mixing each batch"
    yield from _filling(bench, gauge, each)
    yield f"Leave it for {hours_and_minutes(cure)}, then open, demold, and let the mold rest."


def _filling(bench: Bench, gauge: Quantity, in_time: str) -> Iterator[str]:
    """Yield the steps that fill the mold, by the traits of the casting method."""
    case = bench.result.case
    method = bench.result.knowledge.methods[case.method].row
    if method.flag("foam"):
        yield f"Pour within {in_time}, close at once with every clamp, vents free: the foam pushes while it rises."
    elif method.text("turned") != "no":
        way = "over all sides by hand" if method.text("turned") == "by hand" else "in the machine"
        yield f"Pour the charge in within {in_time}, close, and turn {way} until it no longer runs."
    elif case.method == "lay-up" or (method.flag("hollow") and math.isclose(gauge.at(0), 0.0)):
        yield f"Lay the first thin layer on within {in_time}, then layer on layer to the wall, air worked out."
    else:
        yield f"Pour in a thin stream at the lowest side within {in_time}; tap and tilt so that air rises out."
    if gauge.at(0) > 0:
        most = bench.result.shop.quantity("pressure_pot_rating").at(0)
        yield (
            f"Into the pressure pot before it thickens: {bench.say(gauge.at(0), 'Pa')} on the gauge, never above "
            f"{bench.say(most, 'Pa')} as its plate says; hold until it has set."
        )
    if gauge.at(0) < 0:
        yield f"Draw the air off to {bench.say(gauge.at(0), 'Pa')} on the gauge, and let it in slowly while it runs."
