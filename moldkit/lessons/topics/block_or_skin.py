"""Block or skin: rubber against hours, for one mold and over the run."""

from __future__ import annotations

import random

from moldkit.lessons.build import Asked, Line, choice, find_the_mistake, numeric, order, slipped
from moldkit.lessons.cases import BLOCK, SKIN, brought, totals, verdict
from moldkit.lessons.figures import given, given_money, given_price
from moldkit.lessons.flips import Change, what_flips
from moldkit.lessons.problem import MONEY, Problem, Slip
from moldkit.quantity import Quantity
from moldkit.study.knowledge import Knowledge
from moldkit.units import from_si, to_si

NAME, PLACE = "block or skin", 3
BOTH = (BLOCK, SKIN)


def first_mold(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask for the cost of a first mold from its rubber, weighed in pounds, its hours and its other materials."""
    technique = draw.choice(BOTH)
    case = brought(draw, knowledge, sides=(0.1, 0.16, 0.22, 0.3))
    outcome = case.outcome(technique)
    assert outcome.plan.rubber is not None
    rubber = given(outcome.plan["rubber_mass"], "lb")
    price = given_price(outcome.plan.rubber.quantity("price"), case.currency)
    hours = given(outcome.attended_first, "h")
    wage = given_price(3600 * case.result.shop.quantity("labor_rate").at(0), case.currency)
    others = given_money(sum(a.cost.at(0) for a in outcome.plan.amounts if a.what != "rubber"), case.currency)
    stuff, work = rubber.value * price.value, hours.value / 3600 * wage.value
    right = stuff + work + others.value
    as_kg = to_si(float(from_si(rubber.value, "lb")), "kg")
    hint = "Turn pounds into kilograms, then add up: rubber, work, and all other materials."
    asked = Asked(
        f"{case.shop} makes a mold by {technique}. It takes {rubber} of rubber at {price} a kilogram. It takes {hours} "
        f"of work at {wage} an hour. All other materials cost {others}. What does this first mold cost?",
        hint, MONEY, case.currency,
    )  # fmt: skip
    slips = [
        slipped("unit slip of 2.205: lb for kg", as_kg * price.value + work + others.value,
                "You have taken the pounds for kilograms.", "The price is for a kilogram. A pound is 0.4536 kg."),
        slipped("forgot the work", stuff + others.value, "You have left the work out.",
                "Hours cost money as rubber does."),
        slipped("forgot the rubber", work + others.value, "You have left the rubber out.", hint),
        slipped("forgot the other materials", stuff + work, "You have left the other materials out.",
                "Board or shell, release and sealer cost money too."),
        slipped("wrong way from pounds", rubber.value / 0.45359237**2 * price.value + work + others.value,
                "You have gone from pounds to kilograms the wrong way.", "A kilogram is more than a pound."),
        slipped("counted rubber only", stuff, "That is the rubber by itself.", hint),
        slipped("counted work only", work, "That is the work by itself.", hint),
    ]  # fmt: skip
    return numeric(asked, outcome.first, right, slips)


def cheaper(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask which of the two is the cheaper over the run."""
    case = brought(draw, knowledge, sides=(0.06, 0.1, 0.2, 0.3, 0.4))
    found = verdict(case, BOTH)
    if found is None or not found.clear:
        return None
    rubber = {name: case.outcome(name).plan["rubber_mass"] for name in BOTH}
    hours = {name: case.outcome(name).attended_first for name in BOTH}
    first = min(BOTH, key=lambda name: case.outcome(name).first.at(0))
    hint = "Look at rubber and hours together, and at how many molds the run wears out."
    words = "That one costs more over the run."
    if found.next == first:
        words = "That one has the cheaper first mold, but the run wears out several."
    wrong = {found.next: Slip("compared at the wrong run" if found.next == first else "the dearer one", words, hint)}
    listed = " ".join(
        f"The {name} takes {given(rubber[name], 'kg')} of rubber and {given(hours[name], 'h')} of work."
        for name in BOTH
    )
    question = f"{case.order_words} {listed} Which one costs less over the whole run?"
    said = f"The {found.next} costs {found.margin:.0%} more."
    return choice(draw, question, hint, (found.best, said), wrong, totals(case, BOTH))


def flips(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask which change would turn the choice."""
    case = brought(draw, knowledge, sides=(0.08, 0.12, 0.2, 0.3))
    longest, run = case.result.case.longest or 0.1, case.result.case.run
    other = next(word for word in ("gypsum plaster", "casting wax") if word != case.result.case.material)
    changes = [
        Change(f"the piece is {given(longest / 3, 'mm')} long", {"longest": longest / 3}),
        Change(f"the piece is {given(longest * 2.5, 'mm')} long", {"longest": longest * 2.5}),
        Change("an hour of work costs a tenth more", _wage(case.result.shop.quantity("labor_rate"), 1.1), small=True),
        Change("an hour of work costs a tenth less", _wage(case.result.shop.quantity("labor_rate"), 0.9), small=True),
        Change("the pattern has a varnished wood surface", {"surface": "varnished wood"}, small=True),
        Change("rubber costs four times as much", {"rubber_price": 112.0}),
        Change(f"the run is {run + 5}", {"run": run + 5}, small=True),
        Change("rubber costs a tenth less", {"rubber_price": 25.0}, small=True),
        Change(f"the castings are of {other}", {"material": other}),
    ]
    hint = "Rubber grows fast with size. The hours of a skin are many, however small the piece."
    return what_flips(draw, case, BOTH, changes, hint)


def _wage(rate: Quantity, times: float) -> dict[str, dict[str, float]]:
    return {"shop": {"labor_rate": round(3600 * rate.at(0) * times, 2)}}


def by_value(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask to put jobs in order by what the first mold costs."""
    cases = {}
    for technique in draw.sample((*BOTH, *BOTH), 4):
        case = brought(draw, knowledge, sides=(0.08, 0.14, 0.22, 0.34), shop={"labor_rate": 40.0})
        cases[f"{case.subject}, {given(case.result.longest, 'mm')}, as a {technique}"] = (case, technique)
    if len(cases) < 4:
        return None
    costs = {name: case.outcome(technique).first for name, (case, technique) in cases.items()}
    rubber_only = Slip(
        "forgot the work", "That is the order by rubber alone.", "A skin takes little rubber, but many hours."
    )
    hours_only = Slip("forgot the rubber", "That is the order by hours alone.", "A large block takes much rubber.")
    question = (
        f"Four molds are to be made at {case.shop}. An hour of work costs 40 {case.currency}. "
        "Put them in order by what the first mold costs, least first."
    )
    return order(
        draw, question, "Cost is rubber and hours together. Reckon both for each one.", costs,
        {rubber_only: lambda name: cases[name][0].outcome(cases[name][1]).plan["rubber_mass"].at(0),
         hours_only: lambda name: cases[name][0].outcome(cases[name][1]).attended_first.at(0)},
    )  # fmt: skip


def skin_plan(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask for the wrong line of a brushed skin's plan."""
    case = brought(draw, knowledge, forms=("bust", "figure", "ball", "capsule"), sides=(0.16, 0.22, 0.3))
    outcome = case.outcome(SKIN)
    plan, pattern = outcome.plan, case.result.pattern
    pounds = to_si(float(from_si(plan["rubber_mass"].at(0), "lb")), "kg")
    minutes = outcome.attended_first.at(0) / 60
    wage = case.result.shop.quantity("labor_rate").at(0)
    lines = [
        Line("Skin", plan["skin"], {"8 % of the longest side was taken, the rule for a block's margin":
                                    0.08 * pattern.longest.at(0)}),
        Line("Coats", plan["coats"], {"One coat was taken for each millimeter of skin":
                                      float(round(plan["skin"].at(0) * 1000))}),
        Line("Rubber to mix", plan["rubber_mass"], {"Pounds were written as kilograms": pounds}),
        Line("Work", outcome.attended_first, {"Minutes were written as hours": 60 * outcome.attended_first.at(0),
                                              "Hours were written as minutes": minutes}),
        Line("Cost of the mold", outcome.first, {"The work was left out":
                                                 outcome.first.at(0) - outcome.attended_first.at(0) * wage}),
    ]  # fmt: skip
    wages = given_price(3600 * wage, case.currency)
    question = (
        f"{case.pattern_words} It is planned as a brushed skin. The shop takes 3.5 % of the longest side, held between "
        f"6 and 12 mm, in coats of about 2.5 mm. An hour of work costs {wages}."
    )
    return find_the_mistake(draw, question, lines, case.currency, "Redo each line. Which one does not fit the others?")


MAKERS = (first_mold, cheaper, flips, by_value, skin_plan)
