"""Loads on a box: pressure at the foot, push on a wall, what floats and what holds it down."""

from __future__ import annotations

import random
from typing import Any

from moldkit.lessons.build import Asked, Line, choice, find_the_mistake, numeric, order, slipped
from moldkit.lessons.cases import BLOCK, SUBJECTS, Brought, brought, changed
from moldkit.lessons.exercise import FLIP
from moldkit.lessons.figures import given
from moldkit.lessons.problem import Problem, Slip
from moldkit.loads.box_walls import ring_tension, wall_force
from moldkit.loads.check import LoadCheck
from moldkit.loads.float_off import HOLD_DOWN_SAFETY, hold_down_mass
from moldkit.loads.head import GRAVITY, head_pressure, pushed_aside
from moldkit.quantity import Quantity
from moldkit.study.knowledge import Knowledge
from moldkit.study.load_checks import load_checks

NAME, PLACE = "loads on a box", 10
SIDES = (0.12, 0.18, 0.24, 0.3, 0.4)


def _box(case: Brought) -> tuple[Quantity, Quantity, Quantity, Quantity]:
    """Return density of the rubber, its head, and the longer and the shorter side of the box."""
    plan = case.outcome(BLOCK).plan
    assert plan.rubber is not None
    long, short = sorted((plan["width"], plan["depth"]), key=lambda side: -side.at(0))
    return plan.rubber.quantity("density"), plan["pour_head"], long, short


def _check(case: Brought, name: str) -> LoadCheck | None:
    return next((each for each in load_checks(case.result, BLOCK) if each.name == name), None)


def at_the_foot(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask for the pressure at the foot of a box."""
    case = brought(draw, knowledge, sides=SIDES)
    density, head, long, _ = _box(case)
    rho, tall = given(density, "kg/m3", 4), given(head, "mm")
    pattern = given(case.result.pattern.height, "mm")
    right = rho.value * GRAVITY * tall.value
    hint = "Pressure is density times 9.81 times the full height of the rubber, in meters."
    asked = Asked(
        f"{case.shop} pours a block. The pattern is {pattern} high, and the rubber stands {tall} high in a box "
        f"{given(long, 'mm')} long. The rubber weighs {rho}. With what pressure does it press on the foot of the "
        "walls? Gravity is 9.81 N to each kilogram.",
        hint, "pressure", "kPa", 0.03,
    )  # fmt: skip
    slips = [
        slipped("forgot gravity", right / GRAVITY, "You have left gravity out.",
                "A kilogram presses with 9.81 newtons."),
        slipped("took half the height", right / 2, "That is the mean over the wall.",
                "The foot carries the full height."),
        slipped("used the height of the pattern", rho.value * GRAVITY * pattern.value,
                "You have used the height of the pattern.", "Rubber stands over the pattern as well."),
        slipped("took it for water", 1000 * GRAVITY * tall.value, "You have taken the rubber for water.",
                "Rubber is heavier than water."),
        slipped("used the length of the box", rho.value * GRAVITY * long.at(0), "You have used the length of the box.",
                "Pressure goes by height only, however wide the box is."),
        slipped("added the air outside", right + 101_325.0, "You have added the air outside.",
                "Air presses on both sides of the wall."),
    ]  # fmt: skip
    return numeric(asked, head_pressure(density, head), right, slips)


def on_the_wall(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask for the push on the longer wall of a box."""
    case = brought(draw, knowledge, sides=SIDES, forms=("bust", "figure", "panel", "box", "capsule"))
    density, head, long, short = _box(case)
    rho, tall, wide, narrow = given(density, "kg/m3", 4), given(head, "mm"), given(long, "mm"), given(short, "mm")
    right = rho.value * GRAVITY * tall.value**2 / 2 * wide.value
    hint = "Pressure grows from nothing at the top to the most at the foot. Take the mean, times the wall."
    asked = Asked(
        f"A box at {case.shop} is {wide} long and {narrow} wide inside. Rubber of {rho} stands {tall} high in it. With "
        "what force does it push on one of the longer walls? Gravity is 9.81 N to each kilogram.",
        hint, "force", "N",
    )  # fmt: skip
    slips = [
        slipped("took the foot for the whole wall", right * 2, "You have put the foot's pressure on all of the wall.",
                "Near the top there is hardly any pressure. Take the mean."),
        slipped("took the shorter wall", right * narrow.value / wide.value, "That is the shorter wall.",
                "The question asks for the longer one."),
        slipped("forgot gravity", right / GRAVITY, "You have left gravity out.",
                "A kilogram presses with 9.81 newtons."),
        slipped("counted all the walls", right * 2 * (1 + narrow.value / wide.value),
                "You have counted all four walls.",
                "The question asks for one wall."),
        slipped("took the floor for the wall", rho.value * GRAVITY * tall.value * wide.value * narrow.value,
                "That is the push on the floor.", "A wall is as long as the box and as high as the rubber."),
        slipped("took the pressure for the force", rho.value * GRAVITY * tall.value,
                "That is the pressure at the foot.", "A force is a pressure times an area."),
    ]  # fmt: skip
    return numeric(asked, wall_force(density, head, long), right, slips)


def to_hold_it_down(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask for the mass that holds a light pattern down."""
    case = brought(draw, knowledge, sides=(0.12, 0.18, 0.24), forms=("bust", "figure", "ball", "capsule", "cylinder"))
    density, volume = _box(case)[0], case.result.pattern.volume
    rho, room = given(density, "kg/m3", 4), given(volume, "L")
    own = given(volume.at(0) * draw.choice((350.0, 450.0, 550.0, 650.0)), "kg")
    safety, aside = HOLD_DOWN_SAFETY.value, rho.value * room.value
    right = safety * (aside - own.value)
    hint = "How much rubber does the pattern push aside? What of that does its own weight not hold?"
    asked = Asked(
        f"A hollow pattern at {case.shop} has a volume of {room} and weighs {own}. It is loose on its board, with "
        f"rubber under its edge. The rubber weighs {rho}. It is to be held down with {safety:g} times what is just "
        "enough. What mass must press on it?",
        hint, "mass", "kg",
    )  # fmt: skip
    slips = [
        slipped("forgot the safety", right / safety, "You have left the safety out.",
                f"Hold it down with {safety:g} times what is just enough."),
        slipped("forgot its own weight", safety * aside, "You have left out that the pattern weighs something.", hint),
        slipped("safety on the rubber only", safety * aside - own.value, "You have put the safety on the rubber alone.",
                "First what is just enough, then the safety."),
        slipped("added its own weight", safety * (aside + own.value), "You have added the weight of the pattern.",
                "Its own weight helps to hold it down."),
        slipped("took the rubber pushed aside", aside, "That is the rubber pushed aside.", hint),
        slipped("took its own weight", own.value, "That is what the pattern weighs.", hint),
        slipped("divided by the safety", right / safety**2, "You have divided by the safety.",
                "Safety asks for more, not for less."),
    ]  # fmt: skip
    mass = Quantity("pattern, weighed", own.value, "kg", "weighed")
    return numeric(asked, hold_down_mass(density, volume, mass), right, slips)


def twice_as_high(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask how a load grows when the rubber stands higher, or the wall is longer."""
    case = brought(draw, knowledge, sides=SIDES)
    density, head, long, _ = _box(case)
    times = draw.choice((2.0, 3.0))
    tall = Quantity("height of the rubber", head.at(0) * times, "m", f"{times:g} x as high")
    wide = Quantity("length of the wall", long.at(0) * times, "m", f"{times:g} x as long")
    named = {
        ("the rubber stands", "high", "pressure at the foot"):
            (head_pressure(density, head), head_pressure(density, tall)),
        ("the wall is", "long", "pressure at the foot"): (head_pressure(density, head), head_pressure(density, head)),
        ("the rubber stands", "high", "push on the longer wall"):
            (wall_force(density, head, long), wall_force(density, tall, long)),
        ("the wall is", "long", "push on the longer wall"):
            (wall_force(density, head, long), wall_force(density, head, wide)),
    }  # fmt: skip
    what = draw.choice(sorted(named))
    before, after = named[what]
    ratio = after.at(0) / before.at(0)
    choices = {"it stays as it is": 1.0, f"it grows {times:g} times": times, f"it grows {times**2:g} times": times**2,
               f"it grows {times**3:g} times": times**3}  # fmt: skip
    right = min(choices, key=lambda text: abs(choices[text] / ratio - 1))
    hint = "Pressure goes by height alone. A push is the mean pressure times the wall."
    wrong = {text: Slip("wrong power of size", "It does not grow so.", hint) for text in choices if text != right}
    grown = Quantity(f"growth of the {what[2]}", ratio, "1", "after / before", (after, before))
    question = (
        f"In a box at {case.shop}, rubber stands {given(head, 'mm')} high along a wall {given(long, 'mm')} long. Now "
        f"{what[0]} {times:g} times as {what[1]}, and all else stays. What becomes of the {what[2]}?"
    )
    return choice(draw, question, hint, (right, f"After over before is {ratio:.3g}."), wrong, (grown,))


def by_pressure(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask to put boxes in order by the pressure at their foot."""
    boxes = {}
    for form in draw.sample(("panel", "dome", "figure", "bust", "ball", "capsule"), 4):
        case = brought(draw, knowledge, forms=(form,), sides=(0.12, 0.2, 0.3))
        density, head, long, short = _box(case)
        text = f"{case.subject}: box {given(long, 'mm')} x {given(short, 'mm')}, rubber {given(head, 'mm')} high"
        boxes[text] = (head_pressure(density, head), long.at(0), case.outcome(BLOCK).plan["rubber_mass"].at(0))
    mass = Slip("went by the mass of rubber", "You have gone by how much rubber there is.",
                "A wide box holds much rubber, and presses no harder for it.")  # fmt: skip
    length = Slip("went by the length of the box", "You have gone by the length of the box.", "Height alone counts.")
    question = (
        f"Four blocks of the same rubber stand at {knowledge.shop.text('name')} (an invented shop). Put them in "
        "order by the pressure at the foot of their walls, lowest first."
    )
    return order(
        draw, question, "Pressure is density times gravity times height.",
        {text: found[0] for text, found in boxes.items()},
        {mass: lambda text: boxes[text][2], length: lambda text: boxes[text][1]},
    )  # fmt: skip


def to_keep_it_down(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask which change keeps a pattern from rising in the rubber."""
    case = brought(draw, knowledge, forms=tuple(set(SUBJECTS.values()) - {"panel"}), sides=(0.12, 0.18, 0.24),
                   surface=draw.choice(("wood", "varnished wood", "wax")))  # fmt: skip
    now = _check(case, "pattern floats")
    if now is None or now.level == "pass":
        return None
    longest = case.result.case.longest or 0.1
    changes: dict[str, dict[str, Any]] = {
        "it is of solid stone": {"surface": "stone"},
        "it is of solid metal": {"surface": "metal"},
        "it is of solid brick or terracotta": {"surface": "brick or terracotta"},
        f"it is {given(longest * 1.5, 'mm')} long": {"longest": longest * 1.5},
        f"it is {given(longest * 0.6, 'mm')} long": {"longest": longest * 0.6},
        "the rubber is tin-cured silicone": {"rubber": "tin-cured silicone"},
        "the margin is 20 mm": {"margin": 0.02},
        "the run is twice as long": {"run": 2 * case.result.case.run},
    }
    checks = {words: _check(changed(case, **other), "pattern floats") for words, other in changes.items()}
    sinks = [words for words, each in checks.items() if each is not None and each.level == "pass"]
    rises = [words for words, each in checks.items() if each is not None and each.level != "pass"]
    right = draw.choice(sinks)
    then = checks[right]
    assert then is not None
    hint = "A thing rises when it is lighter than the rubber that it pushes aside."
    wrong = {words: Slip("does not flip it", "It still rises then.", hint) for words in draw.sample(rises, 3)}
    question = (
        f"{case.pattern_words} It is solid, of {case.result.case.surface}, and rises in liquid rubber when it is "
        "loose. Which one of these changes would keep it down?"
    )
    said = "It is heavier than the rubber that it pushes aside."
    return choice(draw, question, hint, (right, said), wrong, (then.figure,), kind=FLIP)


def box_card(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask for the wrong line of a box's card."""
    case = brought(draw, knowledge, sides=SIDES)
    density, head, long, short = _box(case)
    foot, push = head_pressure(density, head), wall_force(density, head, long)
    tension, aside = ring_tension(push), pushed_aside(density, case.result.pattern.volume)
    lines = [
        Line("Pressure at the foot", foot, {"Gravity was left out": foot.at(0) / GRAVITY,
                                            "The mean was taken": foot.at(0) / 2}),
        Line("Push on the longer wall", push, {"The pressure of the foot was put on the whole wall": 2 * push.at(0)}),
        Line("Tension in the straps round the box", tension, {"The push was not shared by both sides": push.at(0),
                                                              "A slip of ten": 10 * tension.at(0)}),
        Line("Rubber that the pattern pushes aside", aside,
             {"The rubber in the box was taken": case.outcome(BLOCK).plan["rubber_mass"].at(0),
              "A slip of ten": aside.at(0) / 10}),
    ]  # fmt: skip
    question = (
        f"A box at {case.shop} is {given(long, 'mm')} long and {given(short, 'mm')} wide. Rubber of "
        f"{given(density, 'kg/m3', 4)} stands {given(head, 'mm')} high in it. The pattern has a volume of "
        f"{given(case.result.pattern.volume, 'L')}. Straps at both sides share the push on a wall."
    )
    hint = "Redo each line. Gravity is 9.81 N to each kilogram."
    return find_the_mistake(draw, question, lines, case.currency, hint)


MAKERS = (at_the_foot, on_the_wall, to_hold_it_down, twice_as_high, by_pressure, to_keep_it_down, box_card)
