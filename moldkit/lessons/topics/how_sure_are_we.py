"""How sure are we: where a price turns the choice, which figure matters, how often the other way would be right."""

from __future__ import annotations

import random

import numpy as np

from moldkit.lessons.build import Asked, Line, choice, find_the_mistake, numeric, order, slipped
from moldkit.lessons.cases import BLOCK, CAVITY, SKIN, Brought, brought, changed, verdict
from moldkit.lessons.exercise import FLIP
from moldkit.lessons.figures import given, given_money, given_price
from moldkit.lessons.problem import MONEY, Problem, Slip
from moldkit.quantity import Quantity
from moldkit.study.compare import run_costs
from moldkit.study.knowledge import Knowledge
from moldkit.study.uncertainty.sensitivity import nearest_rivals
from moldkit.study.uncertainty.spread import draw as draw_shops
from moldkit.study.uncertainty.switching import Swing, swings
from moldkit.study.uncertainty.totals import costs_at
from moldkit.units import count_text

NAME, PLACE = "how sure are we", 11
SHOPS = 256
# Figures whose names an apprentice knows; the wide ones among them.
PLAIN = ("hours of", "median mold life", "price level", "labor rate", "pour loss", "skin pour loss", "cup loss",
         "skin cup loss", "brushing loss", "price of")  # fmt: skip
RUNS = (2, 4, 7, 12, 20, 35, 60, 100, 170, 300)
OFTEN = {"in about 5 shops of 10": 0.5, "in about 7 shops of 10": 0.7, "in about 9 shops of 10": 0.9}


def _rubber(case: Brought, technique: str) -> tuple[float, float]:
    """Return the rubber of one mold, and of all molds of the run [kg]."""
    outcome = case.outcome(technique)
    molds = case.result.molds(outcome)
    one = outcome.plan["rubber_mass"].at(0)
    return one, one * (molds.at(0) if molds is not None else 1.0)


def price_that_turns_it(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask at which price of rubber two ways cost the same."""
    other = draw.choice((SKIN, CAVITY))
    price = draw.choice((12.0, 15.0, 18.0, 20.0))
    case = brought(draw, knowledge, sides=(0.12, 0.18, 0.24), life=draw.choice((20.0, 30.0, 40.0)), rubber_price=price,
                   runs=(30, 50, 70, 90, 110))  # fmt: skip
    found = verdict(case, (BLOCK, other))
    dearer = changed(case, rubber_price=2 * price)
    here, there = ([each.total(name) for name in (BLOCK, other)] for each in (case, dearer))
    if found is None or found.best != BLOCK or None in here or None in there:
        return None
    gap, later = (dear.at(0) - cheap.at(0) for cheap, dear in (here, there) if cheap is not None and dear is not None)
    if later >= gap:
        return None
    tie = price * (1 + gap / (gap - later))
    if not 1.15 < tie / price < 4 or not _turns(case, other, tie):
        return None
    (one, much), (one_less, less) = _rubber(case, BLOCK), _rubber(case, other)
    a, b = (given_money(total.at(0), case.currency) for total in here if total is not None)
    many, few = given(much, "kg"), given(less, "kg")
    lead = b.value - a.value
    hint = "By how much is the block cheaper now? Each step in price eats the more of that, the more rubber it takes."
    asked = Asked(
        f"{case.shop} reckons a run of {case.result.case.run} with rubber at {given_price(price, case.currency)} a "
        f"kilogram. By poured block it costs {a}, and all its molds take {many} of rubber, {given(one, 'kg')} each. By "
        f"{other} it costs {b}, and all its molds take {few}, {given(one_less, 'kg')} each. At which price of a "
        "kilogram of rubber do both cost the same?",
        hint, MONEY, case.currency,
    )  # fmt: skip
    more = many.value - few.value
    slips = [
        slipped("forgot the price now", lead / more, "That is by how much the price must rise.",
                "Add it to what rubber costs now."),
        slipped("forgot the remakes", price + lead / (one - one_less), "You have used the rubber of one mold.",
                "The run wears out several molds."),
        slipped("looked at one side only", price + lead / many.value, "You have looked at the block's rubber only.",
                "The other way gets dearer too."),
        slipped("added the rubber", price + lead / (many.value + few.value), "You have added both masses of rubber.",
                "What counts is how much more the block takes."),
        slipped("wrong way round", price - lead / more, "Your price is lower than now.",
                "The block takes more rubber. What hurts it?"),
        slipped("per casting instead of total", price + lead / more / case.result.case.run,
                "You have shared the gap among the castings.", "Rubber and money must both be of the whole run."),
        slipped("went by the totals", price * b.value / a.value, "You have gone by the ratio of both totals.",
                "Only a part of each total is rubber."),
    ]  # fmt: skip
    figure = Quantity("price at which both cost the same", tie, "money/kg",
                      "price + lead of the block / (its rubber - the other's)",
                      tuple(total for total in here if total is not None))  # fmt: skip
    return numeric(asked, figure, price + lead / more, slips)


def _turns(case: Brought, other: str, tie: float) -> bool:
    """Return whether the block is the cheaper just below a price and not just above it."""
    below, above = (verdict(changed(case, rubber_price=tie * share), (BLOCK, other)) for share in (0.99, 1.01))
    return below is not None and above is not None and below.best == BLOCK and above.best == other


def how_often(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask in how many shops of ten the cheaper way stays the cheaper."""
    names = (BLOCK, draw.choice((SKIN, CAVITY)))
    case = brought(draw, knowledge, sides=(0.1, 0.14, 0.2, 0.26), runs=(1,))
    places = [[o.name for o in case.result.outcomes].index(name) for name in names]
    block, other = run_costs([case.result.outcomes[place] for place in places], case.result.case, np.array(RUNS))
    near = [run for run, a, b in zip(RUNS, block, other, strict=True) if 0.02 < abs(a / b - 1) < 0.2]
    if not near:
        return None
    both = draw_shops(case.result, SHOPS, seed=draw.randrange(1, 1000)).shops.only(places)
    fit = []
    for run in draw.sample(near, len(near)):
        at = RUNS.index(run)
        lead = np.diff(costs_at(both, run), axis=0)[0] * (1.0 if block[at] < other[at] else -1.0)
        share = float(np.mean(lead > 0))
        fit += [(run, lead, share, text) for text, each in OFTEN.items() if abs(share - each) <= 0.07]
    if not fit:
        return None
    run, lead, share, right = fit[0]
    now = verdict(changed(case, run=run), names)
    if now is None:
        return None
    tenths = ", ".join(_signed(float(value)) for value in np.quantile(lead, (0.1, 0.3, 0.5, 0.7, 0.9)))
    hint = "Where in the list does the lead change from loss to gain? Count the shops above that."
    wrong = {
        text: Slip("too sure" if OFTEN[text] > OFTEN[right] else "not sure enough", "Count again.", hint)
        for text in OFTEN if text != right
    }  # fmt: skip
    figure = Quantity(
        "share of shops", share, "share", f"of {SHOPS} plausible shops, those in which the lead is a gain"
    )
    question = (
        f"{case.shop} plans a run of {run} and drew {SHOPS} shops with other wages, prices, hours and lives. In each "
        f"one it took what the {now.next} costs more than the {now.best}. In order of size, 1, 3, 5, 7 and 9 shops "
        f"of ten lie below these figures in {case.currency}: {tenths}. At a loss the {now.next} is the cheaper. How "
        f"often is the {now.best} the cheaper of the two?"
    )
    said = f"It is in {share:.0%} of them."
    return choice(draw, question, hint, (right, said), wrong, (figure,), mixed=False)


def _signed(value: float) -> str:
    return f"{'loss' if value < 0 else 'gain'} {count_text(abs(value))}"


def _moves(draw: random.Random, knowledge: Knowledge, most: float) -> tuple[Brought, str, str, dict[str, Swing]] | None:
    """Return a case, its two cheapest ways, and what figures do to the lead of the first, by plain names.

    most: the greatest lead, as a share of the total; None where it is greater.
    """
    case = brought(draw, knowledge, sides=(0.1, 0.14, 0.2, 0.26), runs=(10, 30, 80, 200))
    rivals = nearest_rivals(case.result)
    if rivals is None:
        return None
    best, second = (case.result.outcomes[place].name for place in rivals)
    now = verdict(case, (best, second))
    if now is None or not 0.004 < now.margin < most:
        return None
    found = {each.name.partition(",")[0] if each.kind == "life" else each.name: each for each in swings(case.result)
             if each.name.startswith(PLAIN) and abs(each.high - each.low) >= 1.0}  # fmt: skip
    return case, best, second, found


def by_swing(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask to put figures in order by how far they move the lead."""
    moved = _moves(draw, knowledge, 0.15)
    if moved is None:
        return None
    case, best, second, found = moved
    texts: dict[str, tuple[Quantity, float, float]] = {}
    at = draw.uniform(3.0, 12.0)
    for name in sorted(found, key=lambda name: abs(found[name].high - found[name].low)):
        low, high = float(round(found[name].low)), float(round(found[name].high))
        if abs(high - low) >= at and len(texts) < 4:
            at = 1.3 * abs(high - low)
            width = Quantity(f"swing of {name}", abs(high - low), "money", "lead at the high end - lead at the low end")
            texts[f"{name}: {_signed(low)} to {_signed(high)}"] = (width, low, high)
    if len(texts) < 4:
        return None
    ends = Slip("looked at one end only", "You have looked at the greatest gain only.", "Take the way from end to end.")
    low_end = Slip("looked at the low end only", "You have looked at the first figure only.", ends.hint)
    question = (
        f"At {case.shop} the {best} is the cheapest way and the {second} comes next. Each figure below was set low, "
        f"then high. The two numbers say what the {best} gains or loses against the {second}, in {case.currency}. "
        "Put the figures in order by how far they move that, least first."
    )
    hint = "From a loss to a gain the way goes through zero, so both count together."
    return order(
        draw, question, hint, {text: each[0] for text, each in texts.items()},
        {ends: lambda text: max(texts[text][1:]), low_end: lambda text: abs(texts[text][1])},
    )  # fmt: skip


def which_turns_it(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask which figure, set to the end of its range, turns the choice."""
    moved = _moves(draw, knowledge, 0.05)
    if moved is None:
        return None
    case, best, second, found = moved
    ends = {name: (each.low, each.high) for name, each in found.items()}
    clear = {name: pair for name, pair in ends.items() if min(abs(pair[0]), abs(pair[1])) >= 3.0}
    total, next_total = case.total(best), case.total(second)
    if total is None or next_total is None:
        return None
    now = next_total.at(0) - total.at(0)
    turns = [name for name, pair in clear.items() if min(pair) < 0 and abs(pair[1] - pair[0]) > 1.1 * now]
    stays = [name for name, pair in clear.items() if min(pair) > 0 and abs(pair[1] - pair[0]) < 0.9 * now]
    if not turns or len(stays) < 3:
        return None
    right = draw.choice(turns)

    low, high = clear[right]
    hint = "Does the lead shrink to nothing within the range of the figure? Then the choice can turn."
    shown = {name: f"{name}: it moves the lead by {count_text(abs(pair[1] - pair[0]))}" for name, pair in clear.items()}
    wrong = {
        shown[name]: Slip(
            "does not flip it", f"The {best} keeps a lead of {count_text(min(clear[name]))} at the least.", hint
        )
        for name in draw.sample(stays, 3)
    }
    question = (
        f"At {case.shop} the {best} is the cheapest way, {count_text(now)} {case.currency} ahead of the {second}. Each "
        "figure below was moved from the low to the high end of what is plausible, all others at their likely value. "
        "Which one of them could flip the choice?"
    )
    said = f"At one end the {second} is {count_text(-min(low, high))} {case.currency} cheaper."
    return choice(draw, question, hint, (shown[right], said), wrong, (total, next_total), kind=FLIP)


def range_card(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask for the wrong line of a card of low and high ends."""
    case = brought(draw, knowledge, sides=(0.12, 0.18, 0.24))
    outcome = case.outcome(draw.choice((BLOCK, SKIN)))
    rubber = outcome.plan.rubber
    if rubber is None:
        return None
    price, mass, hours = (
        rubber.quantity("price"),
        outcome.plan["rubber_mass"].at(0),
        outcome.attended_first.at(0) / 3600,
    )
    low, high = price.low or price.at(0), price.high or price.at(0)
    wages = (32.0, 52.0)

    def money(name: str, value: float, formula: str) -> Quantity:
        return Quantity(name, value, "money", formula)

    lines = [
        Line("Rubber at the lowest price", money("rubber", low * mass, "lowest price x mass"),
             {"The highest price was taken": high * mass}),
        Line("Rubber at the highest price", money("rubber", high * mass, "highest price x mass"),
             {"Pounds were taken for kilograms": high * mass / 0.45359237, "A slip of ten": 10 * high * mass}),
        Line("Work at the lowest wage", money("work", wages[0] * hours, "lowest wage x hours"),
             {"Minutes were taken for hours": wages[0] * hours * 60}),
        Line("Work at the highest wage", money("work", wages[1] * hours, "highest wage x hours"),
             {"The lowest wage was taken": wages[0] * hours}),
        Line("Range of both together", money("range", (high - low) * mass + (wages[1] - wages[0]) * hours,
                                             "highest sum - lowest sum"),
             {"The highest sum was taken for the range": high * mass + wages[1] * hours,
              "The lowest sum was taken for the range": low * mass + wages[0] * hours}),
    ]  # fmt: skip
    question = (
        f"{case.shop} makes a {outcome.name} with {given(mass, 'kg')} of rubber in "
        f"{given(outcome.attended_first, 'h')}. A kilogram of rubber costs {given_price(low, case.currency)} to "
        f"{given_price(high, case.currency)}. An hour costs {wages[0]:g} to {wages[1]:g}."
    )
    return find_the_mistake(
        draw, question, lines, case.currency, "Redo each line. A range is the highest less the lowest."
    )


MAKERS = (price_that_turns_it, how_often, by_swing, which_turns_it, range_card)
