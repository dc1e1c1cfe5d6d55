"""How much rubber: a block from its box, a skin from its surface, and how both grow."""

from __future__ import annotations

import random

from moldkit.lessons.build import Asked, Line, choice, find_the_mistake, numeric, order, slipped
from moldkit.lessons.cases import BLOCK, CAVITY, SKIN, brought, changed
from moldkit.lessons.figures import given, given_share
from moldkit.lessons.problem import Problem, Slip
from moldkit.quantity import Quantity
from moldkit.study.knowledge import Knowledge
from moldkit.techniques.brushed_skin import BASE_FLANGE
from moldkit.units import from_si, to_si

NAME, PLACE = "how much rubber", 2
ROUND_FORMS = ("bust", "figure", "ball", "capsule", "dome", "cylinder")


def block(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask for the rubber of a block from the pattern's sides, margin and volume."""
    case = brought(draw, knowledge, forms=ROUND_FORMS, sides=(0.1, 0.14, 0.2, 0.26))
    pattern, plan, shop = case.result.pattern, case.outcome(BLOCK).plan, case.result.shop
    wide, deep, tall = (given(side, "mm") for side in (pattern.width, pattern.depth, pattern.height))
    margin, inside = given(plan["margin"], "mm"), given(pattern.volume, "L")
    assert plan.rubber is not None
    density, loss = given(plan.rubber.quantity("density"), "kg/m3", 4), given_share(shop.quantity("pour_loss"))
    mixed = density.value * (1 + loss.value)

    def rubber(m: float, below: float = 0.0, pattern_in: float = 1.0) -> float:
        box = (wide.value + 2 * m) * (deep.value + 2 * m) * (tall.value + m + below)
        return (box - pattern_in * inside.value) * mixed

    right = rubber(margin.value)
    hint = "Find the inside of the box first. Then take the pattern away, and turn liters into kilograms."
    asked = Asked(
        f"A client brings {case.subject} to {case.shop}. It is {wide} wide, {deep} deep and {tall} high, and its "
        f"volume is {inside}. It stands on its base in a box. All four sides and the top have a margin of {margin}. "
        f"The rubber weighs {density}. Allow {loss} for loss. How much rubber is mixed for the block?",
        hint, "mass", "kg", 0.05,
    )  # fmt: skip
    all_round = "Draw the box from the side. Where is there rubber, and where does the pattern touch the board?"
    slips = [
        slipped("forgot to take the pattern away", rubber(margin.value, pattern_in=0.0),
                "You have filled the whole box with rubber, as if no pattern stood in it.",
                "The pattern takes up room in the box. No rubber goes there."),
        slipped("forgot the base", rubber(margin.value, below=margin.value),
                "You have put a margin under the pattern too.", all_round),
        slipped("one margin only", (
            (wide.value + margin.value) * (deep.value + margin.value) * (tall.value + margin.value) - inside.value
        ) * mixed, "You have added the margin on one side only.", all_round),
        slipped("forgot the margin", rubber(0.0), "You have left the margin out.", all_round),
        slipped("used the volume of the pattern", inside.value * mixed, "That is the pattern cast in rubber.", hint),
        slipped("took liters for kilograms", right / mixed, "You have given liters as kilograms, without the loss.",
                "A liter of this rubber weighs more than a kilogram."),
    ]  # fmt: skip
    return numeric(asked, plan["rubber_mass"], right, slips)


def skin(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask for the rubber of a brushed skin from the surfaces inside and outside, the flange and the loss."""
    case = brought(draw, knowledge, forms=("bust", "dome", "cylinder", "figure"), sides=(0.1, 0.16, 0.22), pieces=1)
    pattern, plan, shop = case.result.pattern, case.outcome(SKIN).plan, case.result.shop
    thick = given(plan["skin"], "mm")
    within, over = given(pattern.molded_area, "cm2"), given(pattern.outer_area(plan["skin"]), "cm2")
    foot, loss = given(pattern.footprint_perimeter, "mm"), given_share(shop.quantity("brushing_loss"))
    assert plan.rubber is not None
    density = given(plan.rubber.quantity("density"), "kg/m3", 4)
    mixed = density.value * (1 + loss.value)
    flange = foot.value * BASE_FLANGE * thick.value
    middle = (within.value + over.value) / 2 * thick.value

    hint = "A skin is wider outside than inside. Take the middle of both surfaces, times the thickness."
    asked = Asked(
        f"A client brings {case.subject} to {case.shop}, {case.size}. A skin of {thick} is brushed on in one piece. "
        f"The surface under the skin is {within}, the surface over it {over}. Round the foot, {foot} long, runs a "
        f"flange {given(BASE_FLANGE, 'mm')} wide and as thick as the skin. The rubber weighs {density}, and {loss} is "
        "lost in brushing. How much rubber is mixed?",
        hint, "mass", "kg", 0.04,
    )  # fmt: skip
    whole = (middle + flange) * mixed
    slips = [
        slipped("area times thickness on a small pattern", (within.value * thick.value + flange) * mixed,
                "You have used the surface under the skin only.",
                "On a small pattern the outside of the skin is much larger than the inside."),
        slipped("used the outer surface only", (over.value * thick.value + flange) * mixed,
                "You have used the surface over the skin only.",
                "The skin is narrower where it touches the pattern."),
        slipped("forgot the base", middle * mixed, "You have left out the flange round the foot.",
                "Rubber lies on the board too, round the foot of the pattern."),
        slipped("forgot the loss", whole / (1 + loss.value), "You have left out what is lost in brushing.",
                "Some rubber stays on brush and cup, so more is mixed."),
        slipped("thickness in centimeters", whole * 10, "You have taken the millimeters for centimeters.",
                "Ten millimeters make a centimeter. How thick is the skin in centimeters?"),
        slipped("both surfaces added", ((within.value + over.value) * thick.value + flange) * mixed,
                "You have added both surfaces in place of taking the middle.", hint),
    ]  # fmt: skip
    return numeric(asked, plan["rubber_mass"], whole, slips)


def twice_the_size(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask how rubber grows with size: with a margin that grows too, or with a skin that stays as it is."""
    technique = draw.choice((BLOCK, SKIN))
    thick = draw.choice((0.008, 0.009, 0.01))
    case = brought(draw, knowledge, forms=("bust", "ball", "figure", "cylinder"), sides=(0.14, 0.24), skin=thick)
    large = changed(case, longest=2 * (case.result.case.longest or 0.1))
    before, after = (each.outcome(technique).plan["rubber_mass"] for each in (case, large))
    ratio = after.at(0) / before.at(0)
    choices = (2.0, 4.0, 8.0, 16.0)
    right = min(choices, key=lambda times: abs(times / ratio - 1))
    if abs(right / ratio - 1) > 0.12:
        return None
    hint = "Does the thickness of the rubber grow with the piece, or does it stay as it is?"
    stays = f"the skin stays at {given(thick, 'mm')}" if technique == SKIN else "margins follow the shop's rule"
    why = {4.0: "surface grows four-fold and the thickness stays", 8.0: "margin and all sides grow together"}
    wrong = {
        f"about {times:.0f} times": Slip("wrong power of size", f"That is not it: {times:.0f} is far off.", hint)
        for times in choices if times != right
    }  # fmt: skip
    grown = Quantity("growth of the rubber", ratio, "1", "rubber for the larger / for the smaller", (after, before))
    question = (
        f"{case.pattern_words} The client asks for it twice as long as well. Both are made by {technique}, and "
        f"{stays}. How does the rubber to mix grow?"
    )
    said = f"It grows {ratio:.2g} times: {why.get(right, 'sides and thickness grow each in their way')}."
    return choice(draw, question, hint, (f"about {right:.0f} times", said), wrong, (grown,))


def by_rubber(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask to put jobs in order by the rubber that they take."""
    cases = {}
    for technique in draw.sample((BLOCK, SKIN, CAVITY, BLOCK), 4):
        case = brought(draw, knowledge, forms=ROUND_FORMS, sides=(0.12, 0.18, 0.24, 0.3))
        cases[f"{case.subject}, {given(case.result.longest, 'mm')}, as a {technique}"] = (case, technique)
    if len(cases) < 4:
        return None
    rubber = {name: case.outcome(technique).plan["rubber_mass"] for name, (case, technique) in cases.items()}
    by_size = Slip(
        "went by size only", "You have put them in order by their longest side.",
        "How a mold is built counts as much as its size. A block fills a whole box.",
    )  # fmt: skip
    by_volume = Slip(
        "went by the volume of the pattern", "You have put them in order by the volume of the pattern.",
        "The pattern is just where the rubber is not.",
    )  # fmt: skip
    question = f"Four jobs stand on the board of {case.shop}. Put them in order by rubber to mix, least first."
    return order(
        draw, question, "Blocks fill the box round the pattern, skins only cover its surface.", rubber,
        {by_size: lambda name: cases[name][0].result.longest,
         by_volume: lambda name: cases[name][0].result.pattern.volume.at(0)},
    )  # fmt: skip


def block_plan(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask for the wrong line of a block's plan."""
    case = brought(draw, knowledge, forms=ROUND_FORMS, sides=(0.12, 0.18, 0.24))
    pattern, plan = case.result.pattern, case.outcome(BLOCK).plan
    box, solid, mass = plan["container"], plan["pour_volume"], plan["rubber_mass"]
    pounds = to_si(float(from_si(mass.at(0), "lb")), "kg")
    lines = [
        Line("Margin", plan["margin"], {"The margin was taken at both sides at once": 2 * plan["margin"].at(0)}),
        Line("Block height", plan["height"], {"The margin was taken ten times as thick":
                                              plan["height"].at(0) + 9 * plan["margin"].at(0)}),
        Line("Inside of the box", box, {"The margin was left out": float(
            pattern.width.value * pattern.depth.value * pattern.height.value)}),
        Line("Rubber in the box", solid, {"The pattern was not taken away": box.at(0),
                                          "That is the pattern, not the rubber": pattern.volume.at(0)}),
        Line("Rubber to mix", mass, {"Pounds were written as kilograms": pounds, "A slip of ten": mass.at(0) / 10}),
    ]  # fmt: skip
    question = (
        f"{case.pattern_words} Its sides are {given(pattern.width, 'mm')}, {given(pattern.depth, 'mm')} and "
        f"{given(pattern.height, 'mm')} and its volume is {given(pattern.volume, 'L')}. It is planned as a block, with "
        "a margin of 8 % of the longest side, held between 10 and 25 mm."
    )
    return find_the_mistake(draw, question, lines, case.currency, "Redo each line from the one above it.")


MAKERS = (block, skin, twice_the_size, by_rubber, block_plan)
