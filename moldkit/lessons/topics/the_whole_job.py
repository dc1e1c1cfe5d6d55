"""The whole job: from what the client asks for to the technique, the pours, the days and the cost."""

from __future__ import annotations

import datetime
import random
from math import ceil

from moldkit.lessons.build import Asked, Line, choice, find_the_mistake, numeric, order, slipped
from moldkit.lessons.cases import BLOCK, CAVITY, SKIN, brought
from moldkit.lessons.figures import given, given_price
from moldkit.lessons.flips import Change, what_flips
from moldkit.lessons.problem import COUNT, MONEY, Problem, Slip
from moldkit.lessons.topics.what_the_method_rules_out import cheapest_allowed
from moldkit.quantity import Quantity
from moldkit.study.knowledge import Knowledge
from moldkit.study.run_plan import plan_run

NAME, PLACE = "the whole job", 12
ALL = (BLOCK, SKIN, CAVITY)
# A Monday, so that a plan does not hang on the day on which a lesson is taken.
START = datetime.date(2027, 3, 1)


def cost_of_a_good_casting(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask for the cost of a good casting, through rejects, molds and remakes."""
    life, good, run = draw.choice((20, 25, 30)), draw.choice((0.8, 0.85, 0.9)), draw.choice((50, 60, 75, 90, 110))
    name = draw.choice(ALL)
    case = brought(draw, knowledge, sides=(0.1, 0.16, 0.22), runs=(run,), good_share=good, life=float(life))
    outcome, total = case.outcome(name), case.total(name)
    if total is None or outcome.stop_at():
        return None
    pours = ceil(run / good - 1e-9)
    molds = ceil(pours / life)
    first, again, pour = (given_price(q, case.currency) for q in (outcome.first, outcome.remake, outcome.pour))

    def each(count: float = molds, poured: float = pours, remake: float = again.value) -> float:
        return (first.value + (count - 1) * remake + poured * pour.value) / run

    hint = "Pours first, then molds, then the whole cost. Share it among the good castings at the end."
    asked = Asked(
        f"A client asks {case.shop} for {run} good castings. Out of 100 pours {100 * good:.0f} are good. A {name} "
        f"lasts {life} pours. Its first mold costs {first}, a remake {again}, and each pour {pour}. What does each "
        "good casting cost the shop?",
        hint, MONEY, case.currency, 0.02,
    )  # fmt: skip
    slips = [
        slipped("total instead of per casting", each() * run, "That is the whole run.", "Share it among the castings."),
        slipped("forgot the rejects", each(ceil(run / life), run), "You have left the rejects out.",
                "Bad pours cost as much as good ones."),
        slipped("shared among all pours", each() * run / pours, "You have shared it among all pours.",
                "The client pays for the good ones only."),
        slipped("forgot the remakes", each(1), "You have left the remakes out.", hint),
        slipped("forgot the first mold", each() - first.value / run, "You have left the first mold out.", hint),
        slipped("counted one remake too many", each(molds + 1), "You have counted one remake too many.",
                "The first mold is no remake."),
        slipped("forgot the molds", pour.value, "That is a pour by itself.", "Castings pay for molds and rejects too."),
        slipped("charged a full first mold each time", each(remake=first.value),
                "You have charged a first mold for each remake.", "A remake has a price of its own."),
    ]  # fmt: skip
    figure = Quantity("cost of a good casting", total.at(0) / run, "money", "cost of the run / good castings", (total,))
    return numeric(asked, figure, each(), slips)


def days_of_casting(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask on how many working days is cast."""
    good, molds, run = draw.choice((0.8, 0.85, 0.9)), draw.choice((2, 3)), draw.choice((40, 60, 80, 100, 120))
    case = brought(draw, knowledge, sides=(0.06, 0.1, 0.14), runs=(run,), good_share=good, materials=(
        "rigid urethane resin", "gypsum plaster", "epoxy resin", "casting wax"))  # fmt: skip
    outcome = case.outcome(BLOCK)
    a_day, pours = int(outcome.casting["a_day"].at(0)), case.result.pours(outcome)
    needed = int(pours.at(0))
    days = ceil(needed / (a_day * molds))
    hint = "How many pours does the run take? How many pours do all molds give in a day? Round up."
    asked = Asked(
        f"{case.shop} needs {run} good castings of {case.result.case.material}. Out of 100 pours {100 * good:.0f} "
        f"are good. It casts in {molds} molds side by side, and each one gives {a_day} "
        f"{'pour' if a_day == 1 else 'pours'} a day. On how many days is there casting?",
        hint, COUNT, "days", 0.0,
    )  # fmt: skip
    slips = [
        slipped("forgot the rejects", ceil(run / (a_day * molds)), "You have left the rejects out.",
                "Bad pours take their time as well."),
        slipped("forgot the molds side by side", ceil(needed / a_day), "You have cast in one mold only.",
                "Several molds stand side by side."),
        slipped("rounded down", needed // (a_day * molds), "You have rounded down.", "A part of a day is a day too."),
        slipped("took one pour a day", ceil(needed / molds), "You have taken one pour a day from each mold.", hint),
        slipped("took the pours for days", needed, "Those are the pours.", "Share them among molds and days."),
        slipped("turned the yield round", ceil(run * good / (a_day * molds)), "You have taken the rejects off the run.",
                "Rejects make more pours, not fewer."),
        slipped("one day too many", days + 1, "That is one day more than is needed.", "Count again."),
    ]  # fmt: skip
    figure = Quantity("days of casting", float(days), "days", "pours / (pours a mold gives in a day x molds), up",
                      (pours, outcome.casting["a_day"]))  # fmt: skip
    return numeric(asked, figure, days, slips)


def what_holds_it_up(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask which one thing more would bring the end of the run nearest."""
    case = brought(draw, knowledge, sides=(0.1, 0.14), runs=(8, 12, 16), forms=("bust", "ball", "figure", "cylinder"),
                   materials=("rigid urethane resin", "epoxy resin", "gypsum plaster", "polyester resin"))  # fmt: skip
    people = draw.choice((2, 3))
    plan = plan_run(case.result, BLOCK, molds=1, start=START, people=people)
    saved = {each.what: each.saved.total_seconds() / 3600 for each in plan.extras if each.kind != "calendar"}
    ranked = sorted(saved, key=lambda what: -saved[what])
    if len(ranked) < 3 or saved[ranked[0]] < 8 or saved[ranked[0]] < 1.5 * max(0.1, saved[ranked[1]]):
        return None
    casting = case.outcome(BLOCK).casting
    hint = "Who or what works all day? What stands and waits? One more of what waits saves nothing."
    wrong = {what: Slip("not what holds it up", "One more of that would save much less.", hint) for what in ranked[1:4]}
    question = (
        f"{case.order_words} It is cast in one poured block, by {'two' if people == 2 else 'three'} people. A "
        f"pour takes {given(casting['attended'], 'min')} of work, and the casting sets for "
        f"{given(casting['cure'], 'h')}. The mold then rests for an hour. The shop works eight hours a day. What "
        "would bring the end of the run nearest?"
    )
    said = f"It would save {saved[ranked[0]]:.0f} hours, from Monday morning on."
    return choice(draw, question, hint, (ranked[0], said), wrong, (casting["a_day"],))


def steps_in_order(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask to put the steps of a mold in the order in which they are done."""
    case = brought(draw, knowledge, forms=("bust", "figure"), sides=(0.16, 0.24), undercut="moderate")
    name = draw.choice(ALL)
    steps = [step.name for step in case.outcome(name).plan.steps if step.attended.at(0) > 0]
    if len(steps) < 4:
        return None
    picked = sorted(draw.sample(range(len(steps)), 4))
    places = {steps[at]: Quantity(f"place of '{steps[at]}'", float(at + 1), "1", "as the plan has it") for at in picked}
    plan = case.outcome(name).plan.steps
    hours = {step.name: step.attended.at(0) for step in plan}
    longest = Slip("went by how long it takes", "You have gone by how long the steps take.",
                   "Think of what must be there before the next step can begin.")  # fmt: skip
    question = (
        f"{case.pattern_words} It is made as a {name}. Put these steps in the order of the work, the first one first."
    )
    return order(draw, question, longest.hint, places, {longest: lambda step: hours[step]})


def whole_plan(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask for the wrong line of a plan of the whole job."""
    life, good, run = draw.choice((20, 25, 30)), draw.choice((0.8, 0.85, 0.9)), draw.choice((50, 60, 75, 90))
    case = brought(draw, knowledge, sides=(0.12, 0.18, 0.24), runs=(run,), good_share=good, life=float(life))
    name = draw.choice(ALL)
    outcome, total = case.outcome(name), case.total(name)
    molds, pours = case.result.molds(outcome), case.result.pours(outcome)
    if total is None or molds is None:
        return None
    mass, count = outcome.plan["rubber_mass"], molds.at(0)
    all_rubber = Quantity("rubber of all molds", mass.at(0) * count, "kg", "molds x rubber of one", (molds, mass))
    each = Quantity("cost of a good casting", total.at(0) / run, "money", "cost of the run / good castings", (total,))
    lines = [
        Line("Pours", pours, {"The rejects were taken off the run": float(int(run * good))}),
        Line("Molds", molds, {"Bad pours and the last mold were left out": count - 1}),
        Line("Rubber of all molds", all_rubber, {"One mold only was counted": mass.at(0),
                                                 "Pounds were written as kilograms": all_rubber.at(0) / 0.45359237}),
        Line("Cost of the run", total, {"The remakes were left out":
                                        outcome.first.at(0) + pours.at(0) * outcome.pour.at(0)}),
        Line("Cost of a good casting", each, {"A pour by itself was taken": outcome.pour.at(0),
                                              "A slip of ten": each.at(0) / 10}),
    ]  # fmt: skip
    question = (
        f"A client asks {case.shop} for {run} good castings. Out of 100 pours {100 * good:.0f} are good. A {name} "
        f"lasts {life} pours and takes {given(mass, 'kg')} of rubber. The first mold costs "
        f"{given_price(outcome.first, case.currency)}, a remake {given_price(outcome.remake, case.currency)}, and each "
        f"pour {given_price(outcome.pour, case.currency)}."
    )
    return find_the_mistake(
        draw, question, lines, case.currency, "Redo the lines from the top: pours, molds, rubber, cost."
    )


def flips(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask which change would turn the choice between block and cavity pour."""
    names = (BLOCK, CAVITY)
    case = brought(draw, knowledge, sides=(0.1, 0.14, 0.2, 0.28), runs=(5, 15, 60, 150))
    run, longest = case.result.case.run, case.result.case.longest or 0.1
    changes = [
        Change(f"the client orders {max(1, run // 20)}", {"run": max(1, run // 20)}),
        Change(f"the client orders {20 * run}", {"run": 20 * run}),
        Change(f"the client wants it {given(longest * 2.2, 'mm')} long", {"longest": longest * 2.2}),
        Change(f"the client wants it {given(longest / 2.5, 'mm')} long", {"longest": longest / 2.5}),
        Change("undercuts and resin wear a mold out in 5 pours", {"life": 5.0}),
        Change(f"the client orders {run + 1}", {"run": run + 1}, small=True),
        Change("rubber costs a tenth less", {"rubber_price": 25.0}, small=True),
        Change("the pattern is of varnished wood", {"surface": "varnished wood"}, small=True),
    ]
    hint = "Size, run and life carry the choice. Small steps in price seldom turn it."
    return what_flips(draw, case, names, changes, hint)


MAKERS = (
    cheapest_allowed, cost_of_a_good_casting, days_of_casting, what_holds_it_up, steps_in_order, whole_plan, flips,
)  # fmt: skip
