"""Reading a pattern: its volume, its surface, its parts, and how they grow with size."""

from __future__ import annotations

import random
from typing import Any

from moldkit.lessons.build import Asked, Line, choice, find_the_mistake, numeric, order, slipped
from moldkit.lessons.cases import FORMS, brought, changed
from moldkit.lessons.exercise import FLIP
from moldkit.lessons.figures import given, given_share
from moldkit.lessons.problem import Problem, Slip
from moldkit.quantity import Quantity
from moldkit.study.knowledge import Knowledge
from moldkit.units import from_si, to_si

NAME, PLACE = "reading a pattern", 1


def volume(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask for the pattern's volume from its box, given in inches, and the share of the box that it fills."""
    case = brought(draw, knowledge, forms=("bust", "figure", "ball", "dome", "capsule"))
    pattern = case.result.pattern
    sides = [given(side, "in") for side in (pattern.width, pattern.depth, pattern.height)]
    box = sides[0].value * sides[1].value * sides[2].value
    share = given_share(pattern.volume.at(0) / box)
    right = box * share.value
    as_cm = right * to_si(1.0, "cm") ** 3 / to_si(1.0, "in") ** 3
    as_mm = right * to_si(1.0, "mm") ** 3 / to_si(1.0, "in") ** 3
    hint = "Multiply the three sides, then take the share that the pattern fills. An inch is 25.4 mm."
    units = "The sides are in inches. Turn each one into centimeters before you multiply."
    asked = Asked(
        f"A client brings {case.subject} to {case.shop}. A box that just holds it is {sides[0]} wide, {sides[1]} deep "
        f"and {sides[2]} high. The pattern fills {share} of that box. What is the volume of the pattern?",
        hint, "volume", "L",
    )  # fmt: skip
    slips = [
        slipped("took the whole box", box, "That is the volume of the whole box.", "How much of the box is pattern?"),
        slipped("took the empty part", box * (1 - share.value), "That is the empty part of the box.",
                "The share given is what the pattern fills, not what it leaves."),
        slipped("took inches for centimeters", as_cm, "You have read the inches as centimeters.", units),
        slipped("unit slip of 25.4", as_mm, "You have read the inches as millimeters.", units),
        slipped("used 25.4 only once", right / 25.4**2 * 1e2, "You have turned only one of three sides into metric.",
                "A volume has three sides, so the unit counts three times."),
        slipped("used the radius for the diameter", right / 8, "You have halved every side.",
                "The sides given go all the way across, so none of them is halved."),
        slipped("doubled every side", right * 8, "You have doubled every side.", "The sides go all the way across."),
    ]  # fmt: skip
    return numeric(asked, pattern.volume, right, slips)


def growth(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask how a figure grows when the pattern is made larger."""
    times = draw.choice((1.5, 2.0, 3.0))
    case = brought(draw, knowledge, sides=(0.1, 0.15, 0.2))
    large = changed(case, longest=times * (case.result.case.longest or 0.1))
    one, other = case.result.pattern, large.result.pattern
    named = {
        "volume": (one.volume, other.volume, "volume counts in all three ways, length, width and height"),
        "surface": (one.molded_area, other.molded_area, "a surface counts in two ways"),
        "parting line": (one.one_parting_line, other.one_parting_line, "a line counts in one way only"),
    }
    what = draw.choice(sorted(named))
    before, after, why = named[what]
    ratio = after.at(0) / before.at(0)
    choices = {f"{times**power:.4g} times": power for power in (1, 2, 3, 4)}
    right = min(choices, key=lambda text: abs(times ** choices[text] / ratio - 1))
    if abs(times ** choices[right] / ratio - 1) > 0.01:
        return None
    hint = "Think of a cube first. Make each edge longer, and count its edges, faces and little cubes."
    wrong = {
        text: Slip("wrong power of size", f"{text[:1].upper()}{text[1:]} would be right for "
                   f"{('a line', 'a surface', 'a volume', 'nothing on a pattern')[power - 1]}.", hint)
        for text, power in choices.items()
        if text != right
    }  # fmt: skip
    grown = Quantity(f"growth of the {what}", ratio, "1", "larger / smaller", (after, before))
    question = (
        f"{case.pattern_words} Now the client wants it {times:.2g} times as long, with the same shape. "
        f"How does its {what} grow?"
    )
    return choice(draw, question, hint, (right, f"The {what} grows so, since {why}."), wrong, (grown,))


def by_surface(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask to put patterns of one height in order by the surface that the mold touches."""
    forms = draw.sample(FORMS, 4)
    side = draw.choice((0.12, 0.18, 0.24, 0.3))
    patterns = {}
    for form in forms:
        case = changed(brought(draw, knowledge, forms=(form,)), longest=side)
        patterns[case.subject] = case.result.pattern
    by_name = {name: pattern.molded_area for name, pattern in patterns.items()}
    around = Slip(
        "went by the outline from above",
        "You have gone by how much room each takes on the table.",
        "The mold goes up the sides too. Think of the cloth that would wrap each one.",
    )
    inside = Slip(
        "went by the volume",
        "That is the order by volume, not by surface.",
        "A slim piece has much surface for its volume. Think of cloth, not of water.",
    )
    question = (
        f"These four patterns are all {given(side, 'mm')} at their longest, and all stand on their base. "
        "Put them in order by the surface that the mold touches, least first."
    )
    return order(
        draw, question, "The base is not molded. Think of the cloth that would wrap the rest.", by_name,
        {inside: lambda name: patterns[name].volume.at(0), around: lambda name: patterns[name].footprint_area.at(0)},
    )  # fmt: skip


def card(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask for the wrong line of a pattern's card."""
    case = brought(draw, knowledge, forms=("bust", "figure", "ball", "dome", "cylinder", "box"), undercut="moderate")
    pattern, plan = case.result.pattern, case.outcome("brushed skin").plan
    box = pattern.width.value * pattern.depth.value * pattern.height.value
    line, pieces = plan["parting_length"], plan["pieces"]
    inches = float(from_si(to_si(float(from_si(pattern.longest.at(0), "in")), "cm"), "m"))
    lines = [
        Line("Longest side", pattern.longest, {"An inch was taken for a centimeter": inches}),
        Line("Volume of the pattern", pattern.volume,
             {"That is the whole box that holds the pattern": float(box),
              "A slip of ten": pattern.volume.at(0) * 10}),
        Line("Surface that the mold touches", pattern.molded_area,
             {"The base is in it, which no mold touches": pattern.area.at(0),
              "A slip of ten": pattern.molded_area.at(0) / 10}),
        Line(f"Parting line, mold in {pieces.at(0):.0f} pieces", line,
             {"A line was counted for each piece": float(pattern.one_parting_line.value * pieces.value),
              "A slip of ten": line.at(0) * 10}),
        Line("Margin of a block", case.outcome("poured block").plan["margin"],
             {"8 % was taken of half the side": case.outcome("poured block").plan["margin"].at(0) / 2}),
    ]  # fmt: skip
    question = (
        f"{case.pattern_words} It has moderate undercuts. A box that holds it is {given(pattern.width, 'mm')} by "
        f"{given(pattern.depth, 'mm')} by {given(pattern.height, 'mm')}."
    )
    hint = "Go line by line. Which figure is too large or too small for a piece of this size?"
    return find_the_mistake(draw, question, lines, case.currency, hint)


def another_piece(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask which change gives the mold another piece."""
    case = brought(draw, knowledge, materials=("gypsum plaster",), runs=(20, 40), undercut="moderate")
    longest = case.result.case.longest or 0.1
    changes: dict[str, dict[str, Any]] = {
        "the undercuts are severe": {"undercut": "severe"},
        f"the pattern is {given(longest * 1.5, 'mm')} long": {"longest": longest * 1.5},
        "the castings are of wax": {"material": "casting wax"},
        "the run is ten times as long": {"run": 10 * case.result.case.run},
        "the rubber skin is 2 mm thicker": {"skin": case.outcome("brushed skin").plan["skin"].at(0) + 0.002},
    }
    before = case.outcome("brushed skin").plan["pieces"]
    after = {words: changed(case, **other).outcome("brushed skin").plan["pieces"] for words, other in changes.items()}
    flips = [words for words, pieces in after.items() if pieces.at(0) != before.at(0)]
    if len(flips) != 1:
        return None
    kept = draw.sample([words for words in changes if words not in flips], 3)
    hint = "Pieces follow from how the shape comes out of the rubber, not from what is cast or how often."
    wrong = {words: Slip("does not flip it", "The mold keeps its pieces then.", hint) for words in kept}
    question = (
        f"{case.pattern_words} It has moderate undercuts, and its brushed skin is made in {before.at(0):.0f} pieces. "
        "Which one of these changes would give the mold another piece?"
    )
    said = f"The mold needs {after[flips[0]].at(0):.0f} pieces then."
    return choice(draw, question, hint, (flips[0], said), wrong, (after[flips[0]],), kind=FLIP)


MAKERS = (volume, growth, by_surface, card, another_piece)
