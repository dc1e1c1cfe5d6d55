"""Pot life and batches: how long rubber can be poured, how much goes in one batch, and its two parts."""

from __future__ import annotations

import random
from dataclasses import replace
from typing import Any

from moldkit.batches import Clock, parts_of
from moldkit.cure import time_in_room
from moldkit.lessons.build import Asked, Line, choice, find_the_mistake, numeric, order, slipped
from moldkit.lessons.cases import BLOCK, brought, changed
from moldkit.lessons.exercise import FLIP
from moldkit.lessons.figures import given
from moldkit.lessons.problem import Problem, Slip
from moldkit.quantity import Quantity
from moldkit.shop import with_overrides
from moldkit.study.knowledge import Knowledge
from moldkit.tables import Row
from moldkit.units import show, to_si

NAME, PLACE = "pot life and batches", 8
POURED = ("platinum silicone, slow", "platinum silicone, extra soft", "tin-cured silicone, pourable",
          "urethane rubber, soft")  # fmt: skip
ROOMS = (16, 17, 18, 28, 29, 30, 31)
RULE = "Pot life halves for each 10 degrees warmer and doubles for each 10 degrees colder."


def _shop(knowledge: Knowledge, room: float, **more: str) -> Row:
    return with_overrides(knowledge.shop, {"room_temperature": f"{room} degC", **more}, "lesson")


def in_this_room(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask for the pot life in a room, from the table's at 23 degrees."""
    rubber, room = knowledge.materials.rubbers[draw.choice(POURED)], draw.choice(ROOMS)
    figure = time_in_room(rubber, "pot_life", _shop(knowledge, room))
    table = given(rubber.quantity("pot_life"), "min")
    colder = (23 - room) / 10
    hint = f"{RULE} Is this room warmer or colder than 23 °C, and by how much of ten degrees?"
    asked = Asked(
        f"The tables give {rubber.name} a pot life of {table} at 23 °C. {RULE} The room is at {room} °C. "
        "How long is the pot life in this room?",
        hint, "time", "min",
    )  # fmt: skip
    slips = [
        slipped("wrong way round", table.value * 2**-colder, "You have gone the wrong way.",
                "Rubber sets sooner when it is warm."),
        slipped("took the table's time as it is", table.value, "That is the time at 23 °C.",
                "This room has another temperature."),
        slipped("took a straight line", table.value * (1 + colder), "You have taken a straight line.",
                "Half of ten degrees does not take off half of a half. Use a power of two."),
        slipped("took the whole step", table.value * 2.0 ** (1 if colder > 0 else -1),
                "You have taken a whole step of ten degrees.", "The room is less than ten degrees off."),
        slipped("doubled in five degrees", table.value * 4**colder, "You have doubled for each five degrees.", RULE),
        slipped("went by the ratio of degrees", table.value * 23 / room, "You have gone by the ratio of the degrees.",
                "The rule goes by the difference of the degrees."),
    ]  # fmt: skip
    return numeric(asked, figure, table.value * 2**colder, slips)


def in_time(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask how much rubber can be used up within the pot life."""
    rubber, room = knowledge.materials.rubbers[draw.choice(POURED)], draw.choice(ROOMS)
    start, rate = draw.choice((3, 4, 5, 6)), draw.choice((0.9, 1.0, 1.2, 1.5))
    shop = with_overrides(_shop(knowledge, room), {"mixing_start": start, "mixing_rate": rate}, "lesson")
    pot = time_in_room(rubber, "pot_life", shop)
    figure = Clock(pot, shop.quantity("mixing_start"), shop.quantity("mixing_rate")).holds()
    here, table = given(pot, "min"), given(rubber.quantity("pot_life"), "min")
    wait, each = 60.0 * start, 60.0 * rate
    right = (here.value - wait) / each
    hint = "Take off what goes by before the first kilogram. Then see how many kilograms the rest is good for."
    asked = Asked(
        f"{rubber.name[:1].upper()}{rubber.name[1:]} has a pot life of {table} at 23 °C, but of {here} in this room. "
        f"Weighing and mixing a batch take {start} min, and then each kilogram takes {rate:g} min to degas and pour. "
        "How much rubber can be used up in time?",
        hint, "mass", "kg",
    )  # fmt: skip
    slips = [
        slipped("forgot the start", here.value / each, "You have left out the time for weighing and mixing.",
                "The clock runs while you weigh and mix."),
        slipped("took the table's time as it is", (table.value - wait) / each, "You have used the time at 23 °C.",
                "Use the pot life in this room."),
        slipped("multiplied by the time", right * rate * rate, "You have multiplied by the time for a kilogram.",
                "Divide the time that is left by the time for a kilogram."),
        slipped("added the start", (here.value + wait) / each, "You have added the time for weighing and mixing.",
                "That time is lost for pouring."),
        slipped("took the start off each kilogram", here.value / (wait + each),
                "You have taken the start for each kilogram.", "A batch is weighed and mixed once."),
        slipped("forgot the rate", (here.value - wait) / 60.0, "You have given minutes as kilograms.", hint),
    ]  # fmt: skip
    return numeric(asked, figure, right, slips)


def part_b(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask how much of part B goes in a batch."""
    listed = {**knowledge.materials.rubbers, **knowledge.materials.castings}
    rows = [row for row in listed.values() if row.text("chemistry") not in ("gypsum", "cement")
            and 20 <= row.quantity("mix_ratio").at(0) <= 90]  # fmt: skip
    row = draw.choice(rows)
    batch = draw.choice((0.6, 0.8, 1.4, 2.2, 3.5, 4.5)) * draw.choice((1.0, 1.1, 1.2))
    mass, ratio = given(batch, "kg"), row.quantity("mix_ratio").at(0)
    figure = parts_of(Quantity("batch", mass.value, "kg", "as asked"), row).b
    hint = "Batch and parts: 100 of A and so much of B make how many parts in all?"
    asked = Asked(
        f"The label of {row.name} says: to 100 parts of A take {ratio:g} parts of B, by weight. The batch must weigh "
        f"{mass} in all. How much of part B goes in it?",
        hint, "mass", "g", 0.03,
    )  # fmt: skip
    slips = [
        slipped("took it of the whole batch", mass.value * ratio / 100, "You have taken the parts of the whole batch.",
                "The parts of B go to 100 parts of A, not to 100 parts of the batch."),
        slipped("took A for B", mass.value / (1 + ratio / 100), "That is part A.", "The question asks for part B."),
        slipped("took halves", mass.value / 2, "You have taken half and half.", "Read the label again."),
        slipped("divided by the parts of B", mass.value / ratio, "You have divided by the parts of B.", hint),
        slipped("took it off the batch", mass.value * (1 - ratio / 100),
                "You have taken the parts off the batch.", hint),
    ]  # fmt: skip
    return numeric(asked, figure, mass.value * ratio / (100 + ratio), slips)


def how_many(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask in how many batches a block is mixed."""
    room = draw.choice(ROOMS)
    case = brought(draw, knowledge, sides=(0.22, 0.26, 0.3, 0.34), shop={"room_temperature": f"{room} degC"})
    batches, shop = case.outcome(BLOCK).plan.batches, case.result.shop
    if batches is None or batches.in_time is None or not 2 <= batches.number.at(0) <= 5:
        return None
    cup = shop.quantity("cup_loss").at(0)
    solid, most = given(batches.mass.at(0) - batches.number.at(0) * cup, "kg"), given(batches.vessel, "kg")
    in_time = given(batches.in_time, "kg")
    exact = solid.value / (min(most.value, in_time.value) - cup)
    if abs(exact - round(exact)) < 0.08:
        return None
    number = int(batches.number.at(0))
    hint = "Two limits hold: what the pail takes, and what can be used up in time. The lower one counts."
    by_pail = -int(-solid.value // (most.value - cup))
    by_time = -int(-solid.value // (in_time.value - cup))
    told = {by_time: "forgot the pail", by_pail: "forgot the pot life", int(exact): "rounded down"}
    wrong = {}
    for each in range(1, 7):
        if each != number:
            why = told.get(each, "miscounted")
            wrong[f"{each} {'batch' if each == 1 else 'batches'}"] = Slip(
                why, f"{'Too few' if each < number else 'More than are needed'}: {each}.", hint
            )
    question = (
        f"{case.shop} pours {solid} of rubber for a block. A pail takes {most} at once. Within the pot life "
        f"{in_time} can be used up. About {given(cup, 'g')} stay in each pail. In how many equal batches is it "
        "mixed, as few as will do?"
    )
    said = f"Each batch is {show(batches.each.at(0), 'kg')}."
    return choice(draw, question, hint, (f"{number} batches", said), wrong, (batches.number,), mixed=False)


def by_pot_life(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask to put rubbers and resins in their rooms in order by pot life."""
    listed = {**knowledge.materials.rubbers, **knowledge.materials.castings}
    names = draw.sample((*POURED, "platinum silicone, fast", "epoxy resin", "polyester resin"), 4)
    here, table = {}, {}
    for name in names:
        room = draw.choice((16, 20, 23, 27, 31))
        time = given(listed[name].quantity("pot_life"), "min")
        text = f"{name}: {time} at 23 °C, room {room} °C"
        found = time_in_room(listed[name], "pot_life", _shop(knowledge, room))
        here[text] = replace(found, name=f"pot life of {name}, room {room} °C")
        table[text] = time.value
    cold = Slip("took the table's time as it is", "That is the order at 23 °C.", "Each room has its own temperature.")
    return order(
        draw, f"{RULE} Put these in order by pot life in their room, shortest first.",
        "Turn each time into the time in its room.", here, {cold: lambda text: table[text]},
    )  # fmt: skip


def one_more_batch(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask which change makes several batches of one."""
    case = brought(draw, knowledge, sides=(0.16, 0.2, 0.22))
    batches = case.outcome(BLOCK).plan.batches
    if batches is None or batches.number.at(0) != 1:
        return None
    longest = case.result.case.longest or 0.1
    changes: dict[str, dict[str, Any]] = {
        "the fast grade of the rubber is taken": {"rubber": "platinum silicone, fast"},
        f"the piece is {given(longest * 1.6, 'mm')} long": {"longest": longest * 1.6},
        f"the piece is {given(longest * 0.7, 'mm')} long": {"longest": longest * 0.7},
        "the run is ten times as long": {"run": 10 * case.result.case.run},
        "the room is at 33 °C": {"shop": {"room_temperature": "33 degC"}},
        "the room is at 17 °C": {"shop": {"room_temperature": "17 degC"}},
        "the castings are of epoxy resin": {"material": "epoxy resin"},
        "an hour of work costs twice as much": {"shop": {"labor_rate": 80.0}},
    }
    after = {words: changed(case, **other).outcome(BLOCK).plan.batches for words, other in changes.items()}
    more = [words for words, each in after.items() if each is not None and each.number.at(0) > 1]
    stays = [words for words, each in after.items() if each is not None and each.number.at(0) == 1]
    near = [each for each in after.values() if each is not None and each.in_time is not None
            and abs(each.mass.at(0) / min(each.in_time.at(0), each.vessel.at(0)) - 1) < 0.1]  # fmt: skip
    if not more or len(stays) < 3 or near:
        return None
    right = draw.choice(more)
    then = after[right]
    assert then is not None
    hint = "What makes the pour larger? What makes the rubber set sooner?"
    wrong = {words: Slip("does not flip it", "One batch still does then.", hint) for words in draw.sample(stays, 3)}
    room = given(case.result.shop.quantity("room_temperature"), "degC")
    question = (
        f"{case.pattern_words} A block for it takes {given(batches.each, 'kg')} of slow rubber, mixed in one batch "
        f"in a room of {room}. A pail takes {given(batches.vessel, 'kg')} at once. Which one of these changes would "
        "make several batches of it?"
    )
    said = f"It takes {then.number.at(0):.0f} batches then."
    return choice(draw, question, hint, (right, said), wrong, (then.number,), kind=FLIP)


def batch_card(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask for the wrong line of a mixing card."""
    room = draw.choice(ROOMS)
    case = brought(draw, knowledge, sides=(0.2, 0.26, 0.3), shop={"room_temperature": f"{room} degC"},
                   rubber=draw.choice(("urethane rubber", "tin-cured silicone")))  # fmt: skip
    plan, shop = case.outcome(BLOCK).plan, case.result.shop
    batches, rubber = plan.batches, plan.rubber
    if batches is None or batches.in_time is None or rubber is None:
        return None
    pot, table = time_in_room(rubber, "pot_life", shop), rubber.quantity("pot_life")
    parts, ratio = parts_of(batches.each, rubber), rubber.quantity("mix_ratio").at(0)
    start, rate = shop.quantity("mixing_start").at(0), shop.quantity("mixing_rate").at(0)
    other_way = table.at(0) ** 2 / pot.at(0)
    lines = [
        Line("Pot life in this room", pot, {"The rule was taken the wrong way round": other_way}),
        Line("Used up within it at the most", batches.in_time, {"The start was left out and the rate taken twice":
                                                                (pot.at(0)) / rate / 2}),
        Line("Batches", batches.number, {"Half the batches: the limit was left out": batches.number.at(0) / 2}),
        Line("Each batch", batches.each, {"The whole was not shared out": batches.mass.at(0)}),
        Line("Part A of each batch", parts.a, {"Part B was left out": batches.each.at(0)}),
        Line("Part B of each batch", parts.b, {"A slip of ten": 10 * parts.b.at(0),
                                               "Part B was taken of the whole batch":
                                               batches.each.at(0) * ratio / 100}),
    ]  # fmt: skip
    question = (
        f"{case.shop} mixes {given(batches.mass, 'kg')} of {rubber.name} for a block. Its pot life is "
        f"{given(table, 'min')} at 23 °C, and the room is at {room} °C. {RULE} A batch takes {given(start, 'min')} "
        f"and then {given(to_si(1.0, 'min') * rate / 60.0, 'min')} a kilogram. A pail takes "
        f"{given(batches.vessel, 'kg')}, and {given(shop.quantity('cup_loss'), 'g')} stay in it. To 100 parts of A "
        f"go {ratio:g} of B."
    )
    hint = "Go down the card line by line, each one from the one above."
    return find_the_mistake(draw, question, lines, case.currency, hint)


MAKERS = (in_this_room, in_time, part_b, how_many, by_pot_life, one_more_batch, batch_card)
