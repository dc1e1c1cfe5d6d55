"""What the casting method rules out: stops go before costs; what fits the pot; what the hands can turn."""

from __future__ import annotations

import random
from collections.abc import Mapping
from typing import Any

from moldkit.lessons.build import Asked, choice, numeric, order, slipped
from moldkit.lessons.cases import BLOCK, CAVITY, SKIN, brought, changed, totals, verdict
from moldkit.lessons.exercise import MISTAKE
from moldkit.lessons.figures import given
from moldkit.lessons.flips import what_stops, why_stopped
from moldkit.lessons.problem import Problem, Slip
from moldkit.loads.statics import filled_mass
from moldkit.quantity import Quantity
from moldkit.study.knowledge import Knowledge

NAME, PLACE = "what the casting method rules out", 5
ALL = (BLOCK, SKIN, CAVITY)
# What may stand in the way, in words, and what of the case says it.
SITUATIONS: Mapping[str, Mapping[str, Any]] = {
    "The castings must set under pressure in the shop's pot.": {"method": "pressure"},
    "The pattern is fixed to a floor and cannot be moved.": {"fixed_in_place": True},
    "The pattern is too delicate to be laid in a box.": {"fragile": True},
    "The castings are turned by hand and have a wall of 5 mm.": {"method": "hand rotation", "wall": 0.005},
}
URETHANE = ("rigid urethane resin",)


def ruled_out(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask which technique is ruled out."""
    words = draw.choice(sorted(SITUATIONS))
    case = brought(draw, knowledge, sides=(0.1, 0.16, 0.22, 0.3), materials=URETHANE, **SITUATIONS[words])
    out = [name for name in ALL if case.outcome(name).stop_at()]
    if len(out) != 1:
        return None
    hint = "Go through the three. Is it closed up or brushed, heavy or light, loose or fixed?"
    wrong = {name: Slip("a stop that is none", f"The {name} can be used here.", hint) for name in ALL if name != out[0]}
    masses = ", ".join(f"{name} {given(case.outcome(name).plan['mold_mass'], 'kg')}" for name in ALL)
    limit = given(case.result.shop.quantity("hand_stop"), "kg")
    question = (
        f"{case.pattern_words} {words} The empty molds would weigh: {masses}. One person may turn {limit} at the most. "
        "Which of the three is ruled out?"
    )
    return choice(
        draw, question, hint, (out[0], why_stopped(case, out[0])), wrong, (case.outcome(out[0]).plan["mold_mass"],)
    )


def cheapest_allowed(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask for the cheapest that is allowed, where the cheapest of all is ruled out."""
    words = draw.choice(sorted(SITUATIONS))
    case = brought(draw, knowledge, sides=(0.08, 0.12, 0.2, 0.3), materials=URETHANE, runs=(30, 60, 120),
                   life=draw.choice((8.0, 12.0, 20.0)), **SITUATIONS[words])  # fmt: skip
    found, of_all = verdict(case, ALL), verdict(case, ALL, stopped=True)
    if found is None or of_all is None or not found.clear or not case.outcome(of_all.best).stop_at():
        return None
    hint = "First strike out what cannot be done at all. Only then look at the cost."
    costs = " ".join(f"By {name}, the run costs {total.at(0):.0f} {case.currency}." for name in ALL
                     if (total := case.total(name)) is not None)  # fmt: skip
    wrong = {}
    for name in ALL:
        if case.outcome(name).stop_at():
            wrong[name] = Slip("ignored the stop", f"It is ruled out. {why_stopped(case, name)}", hint)
        elif name != found.best:
            wrong[name] = Slip("the dearer one", "It can be used, but another one costs less.", hint)
    question = f"{case.order_words} {words} {costs} Which one should the shop take?"
    said = f"Of those that can be used it costs the least: the {found.next} costs {found.margin:.0%} more."
    return choice(draw, question, hint, (found.best, said), wrong, totals(case, ALL))


def in_the_hands(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask what a filled mold weighs that is turned by hand."""
    case = brought(draw, knowledge, sides=(0.14, 0.2, 0.26, 0.32), materials=URETHANE, method="hand rotation",
                   wall=draw.choice((0.004, 0.005, 0.006)))  # fmt: skip
    outcome, pattern = case.outcome(CAVITY), case.result.pattern
    plan, casting = outcome.plan, outcome.casting
    assert plan.rubber is not None
    rubber, density = given(plan["pour_volume"], "L"), given(plan.rubber.quantity("density"), "kg/m3", 4)
    shell, solid = given(plan["shell_mass"], "kg"), given(pattern.volume, "L")
    material = knowledge.materials.castings[case.result.case.material]
    of_resin = given(material.quantity("density"), "kg/m3", 4)
    wall = given(casting["volume"], "L")
    gum, piece = rubber.value * density.value, wall.value * of_resin.value
    hint = "Three things are in the hands: the rubber, the shell, and the casting in them."
    asked = Asked(
        f"{case.shop} turns a mold by hand. It has {rubber} of rubber of {density}, in a shell of {shell}. The casting "
        f"is hollow. Its wall takes {wall} of resin of {of_resin}, where a solid casting would take {solid}. What does "
        "the filled mold weigh?",
        hint, "mass", "kg",
    )  # fmt: skip
    whole = gum + shell.value + piece
    slips = [
        slipped("forgot the casting", gum + shell.value, "You have left the casting out.", hint),
        slipped("forgot the shell", gum + piece, "You have left the shell out.", hint),
        slipped("forgot the rubber", shell.value + piece, "You have left the rubber out.", hint),
        slipped("took it for solid", gum + shell.value + solid.value * of_resin.value,
                "You have taken the casting for a solid one.", "Only the wall of a hollow casting weighs."),
        slipped("counted the shell twice", whole + shell.value, "You have counted the shell twice.", hint),
    ]  # fmt: skip
    return numeric(asked, filled_mass(plan["mold_mass"], casting["mass"]), whole, slips)


def bore_of_the_pot(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask how wide a pot must be for a block to stand in it."""
    case = brought(draw, knowledge, forms=("bust", "figure", "box", "panel"), sides=(0.1, 0.16, 0.22, 0.3))
    plan, pattern = case.outcome(BLOCK).plan, case.result.pattern
    wide, deep, tall = (given(plan[name], "mm") for name in ("width", "depth", "height"))
    across = (wide.value**2 + deep.value**2) ** 0.5
    hint = "Look into the pot from above. The corners of the block must fit in the circle."
    asked = Asked(
        f"{case.shop} will cast under pressure in a square-cornered block, {wide} long, {deep} wide and {tall} high. "
        "It stands upright in a round pot. What bore must the pot have at the least?",
        hint, "length", "mm", 0.03,
    )  # fmt: skip
    bare = (pattern.width.at(0) ** 2 + pattern.depth.at(0) ** 2) ** 0.5
    slips = [
        slipped("took a side for the diagonal", wide.value, "You have taken the longer side.",
                "A block goes into a round pot by its corners."),
        slipped("added both sides", wide.value + deep.value, "You have added both sides.",
                "The way from corner to corner is shorter than along two sides."),
        slipped("used the radius for the diameter", across / 2, "That is the radius of the pot.",
                "The bore is the whole way across."),
        slipped("took the height in", (across**2 + tall.value**2) ** 0.5, "You have taken the height in too.", hint),
        slipped("forgot the margin", bare, "You have taken the pattern without its margin.", hint),
        slipped("took the height for the bore", tall.value, "That is the height of the block.", hint),
    ]  # fmt: skip
    return numeric(asked, plan["round_diameter"], across, slips)


def by_mass(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask to put filled molds in order by what they weigh in the hands."""
    cases = {}
    for technique in draw.sample((*ALL, SKIN), 4):
        case = brought(draw, knowledge, sides=(0.1, 0.16, 0.24), materials=URETHANE, method="hand rotation")
        cases[f"{case.subject}, {given(case.result.longest, 'mm')}, as a {technique}"] = (case, technique)
    if len(cases) < 4:
        return None

    def mass(name: str) -> Quantity:
        case, technique = cases[name]
        outcome = case.outcome(technique)
        return filled_mass(outcome.plan["mold_mass"], outcome.casting["mass"])

    size = Slip("went by size only", "That is the order by size.", "A block is heavy for its size.")
    cast = Slip("forgot the mold", "That is the order by the casting alone.", "The mold is in the hands as well.")
    question = f"{case.shop} turns four filled molds by hand. Put them in order by weight, the lightest first."
    hint = "Rubber weighs most. Which of them have much of it?"
    return order(
        draw, question, hint, {name: mass(name) for name in cases},
        {size: lambda name: cases[name][0].result.longest,
         cast: lambda name: cases[name][0].outcome(cases[name][1]).casting["mass"].at(0)},
    )  # fmt: skip


def list_of_stops(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask for the wrong line of a list of what can be used."""
    plain = brought(draw, knowledge, sides=(0.1, 0.16, 0.24, 0.3), materials=URETHANE)
    words = draw.sample(sorted(SITUATIONS), 2)
    cases = [changed(plain, **SITUATIONS[each]) for each in words]
    stops = {(place, name): case.outcome(name).stop_at() for place, case in enumerate(cases) for name in ALL}
    if len(set(stops.values())) < 2:
        return None
    at = draw.choice(sorted(stops))

    def line(place: int, name: str, stop: bool) -> str:
        return f"{'first' if place == 0 else 'second'} order, {name}: {'ruled out' if stop else 'can be used'}"

    hint = "Strike out first what cannot be done, order by order."
    wrong = {}
    for (place, name), stop in stops.items():
        if (place, name) != at:
            why = f" {why_stopped(cases[place], name)}" if stop else ""
            wrong[line(place, name, stop)] = Slip("a sound line", f"That line is right.{why}", hint)
    mass = ", ".join(f"{name} {given(cases[0].outcome(name).plan['mold_mass'], 'kg')}" for name in ALL)
    limit = given(plain.result.shop.quantity("hand_stop"), "kg")
    said = why_stopped(cases[at[0]], at[1]) if stops[at] else f"The {at[1]} can be used there."
    question = (
        f"{plain.pattern_words} It is to be cast twice, in two ways. First order: {words[0]} Second order: {words[1]} "
        f"The empty molds weigh: {mass}. One person may turn {limit}. One line of this list is wrong, and all the "
        "others are right. Which one is wrong?"
    )
    right = (line(*at, not stops[at]), said)
    return choice(draw, question, hint, right, wrong, (cases[at[0]].outcome(at[1]).plan["mold_mass"],), kind=MISTAKE,
                  mixed=False)  # fmt: skip


def what_stops_it(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask which change would rule a technique out."""
    technique = draw.choice(ALL)
    case = brought(draw, knowledge, sides=(0.1, 0.16, 0.24), materials=URETHANE, runs=(20, 40))
    if case.outcome(technique).stop_at():
        return None
    changes: dict[str, Mapping[str, Any]] = {
        "the castings must set under pressure": {"method": "pressure"},
        "the pattern is fixed to a floor": {"fixed_in_place": True},
        "the pattern is fixed to a wall": {"fixed_in_place": True, "vertical": True},
        "the pattern is too delicate for a box": {"fragile": True},
        "the castings are of gypsum plaster": {"material": "gypsum plaster"},
        "the run is twice as long": {"run": 2 * case.result.case.run},
        "an hour of work costs twice as much": {"shop": {"labor_rate": 80.0}},
        "the pattern is of sulfur clay, not sealed": {"surface": "sulfur clay"},
        "the pattern is lost after the first mold": {"survives": False},
    }
    return what_stops(draw, case, technique, changes)


MAKERS = (ruled_out, cheapest_allowed, in_the_hands, bore_of_the_pot, by_mass, list_of_stops, what_stops_it)
