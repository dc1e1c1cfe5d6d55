"""When the cavity pour pays: the same first mold or a dearer one, and a cheap remake."""

from __future__ import annotations

import random
from math import ceil

import numpy as np

from moldkit.economics.run_cost import crossings, total_cost
from moldkit.lessons.build import Asked, Line, choice, find_the_mistake, numeric, order, slipped
from moldkit.lessons.cases import BLOCK, CAVITY, SKIN, Brought, brought, changed, totals, verdict
from moldkit.lessons.figures import Given, given, given_price
from moldkit.lessons.flips import Change, what_flips
from moldkit.lessons.problem import COUNT, MONEY, Problem, Slip
from moldkit.quantity import Quantity
from moldkit.study.compare import run_costs
from moldkit.study.knowledge import Knowledge
from moldkit.units import count_text

NAME, PLACE = "when the cavity pour pays", 4
LIVES = (20.0, 25.0, 30.0, 40.0, 50.0)


def _costs(case: Brought, technique: str) -> tuple[Given, Given, Given]:
    outcome = case.outcome(technique)
    first, remake, pour = (given_price(each, case.currency) for each in (outcome.first, outcome.remake, outcome.pour))
    return first, remake, pour


def molds_by_cavity_pour(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask for the cost of all molds of a run by cavity pour, from its first mold, its re-pour and the life."""
    life, run = draw.choice(LIVES), draw.choice((70, 90, 110, 130, 170, 210))
    case = brought(draw, knowledge, sides=(0.12, 0.18, 0.24, 0.3), runs=(run,), life=life)
    outcome = case.outcome(CAVITY)
    needed = case.result.molds(outcome)
    first, again, pour = _costs(case, CAVITY)
    if needed is None or run % life == 0:
        return None
    total = Quantity("cost of all molds", outcome.first.at(0) + (needed.at(0) - 1) * outcome.remake.at(0), "money",
                     "first mold + (molds - 1) x re-pour", (outcome.first, needed, outcome.remake))  # fmt: skip
    molds = ceil(run / life)

    def cost(count: float, remake: float = again.value) -> float:
        return first.value + (count - 1) * remake

    hint = "How many molds does the run take? The first is the dear one, and each of the others is a re-pour."
    asked = Asked(
        f"{case.shop} casts {run} pieces by cavity pour. The first mold costs {first}, a re-pour {again}, and each "
        f"casting {pour}. Each mold lasts {life:.0f} pours, and each pour gives one casting. What do all the molds "
        "of the run cost, without the castings?",
        hint, MONEY, case.currency, 0.02,
    )  # fmt: skip
    slips = [
        slipped("charged a full first mold each time", cost(molds, first.value),
                "You have charged a full first mold for each remake.",
                "Shell and pattern are still there. Only the rubber is poured again."),
        slipped("forgot the remakes", cost(1), "You have left the re-pours out.",
                "Does one mold last for the whole run?"),
        slipped("added the castings", cost(molds) + run * pour.value, "You have added the castings.",
                "The question asks for the molds only."),
        slipped("counted the first mold twice", cost(molds + 1), "You have counted one re-pour too many.",
                "The first mold is one of the molds, so there is one re-pour less than there are molds."),
        slipped("rounded the molds down", cost(run // life), "You have counted one re-pour too few.",
                "A part of a mold must be made whole. Round up."),
        slipped("per mold instead of total", cost(molds) / molds, "That is the mean of one mold.",
                "The question asks for all of them."),
        slipped("forgot the first mold", cost(molds) - first.value, "You have left the first mold out.", hint),
    ]  # fmt: skip
    return numeric(asked, total, cost(molds), slips)


def from_which_run(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask from which run on the cavity pour costs less, where each mold lasts a known number of pours."""
    # Against a brushed skin the cavity pour wins with the first remake, which would be the same answer every time.
    life, other = int(draw.choice(range(12, 61, 4))), BLOCK
    case = brought(draw, knowledge, sides=(0.2, 0.24, 0.28), life=float(life))
    pair = (case.outcome(other), case.outcome(CAVITY))
    runs = np.arange(1, 401, dtype=np.int64)
    costs = run_costs(pair, case.result.case, runs)
    found = [each for each in crossings(costs, runs) if each.after == 1]
    if len(found) != 1 or costs[0, found[0].run - 1] < 1.01 * costs[1, found[0].run - 1]:
        return None
    run = found[0].run
    one, two = _costs(case, other), _costs(case, CAVITY)
    molds = np.ceil(runs / life)

    def turns(count: np.ndarray, again: float = two[1].value, *, castings: bool = True) -> float:
        """Return the first run at which the cavity pour is the cheaper; 0 where there is none."""
        pours = runs * castings
        old = total_cost(one[0].value, one[1].value, one[2].value, count, pours)
        less = total_cost(two[0].value, again, two[2].value, count, pours) < old - 1e-9
        return float(runs[int(np.argmax(less))]) if less.any() else 0.0

    hint = "Write both totals for one mold, then for two, then for three. When does the cavity pour get ahead?"
    asked = Asked(
        f"{case.shop} can make a mold by {other} or by cavity pour. By {other}, the first mold costs {one[0]}, a "
        f"remake {one[1]}, and each casting {one[2]}. By cavity pour, the first mold costs {two[0]}, a re-pour "
        f"{two[1]}, and each casting {two[2]}. Each mold lasts {life} pours, one casting a pour. From which run on "
        "does the cavity pour cost less?",
        hint, COUNT, "castings", 0.0,
    )  # fmt: skip
    slips = [
        slipped("one run too early", run - 1, "That is the last run at which the cavity pour is not yet cheaper.",
                "The question asks for the first run at which it is cheaper."),
        slipped("charged a full first mold each time", turns(molds, two[0].value),
                "You have charged a full first mold for each re-pour.", "Only the rubber is poured again."),
        slipped("ignored the remakes", turns(np.ones(runs.size)), "You have left the remakes out.",
                f"After {life} pours a mold is worn out."),
        slipped("counted parts of molds", turns(np.maximum(1.0, runs / life)), "You have counted parts of molds.",
                "A mold is made whole, at the pour after the last one wore out."),
        slipped("remade one pour too soon", turns(1.0 + runs // life), "You have made the next mold one pour too soon.",
                f"The first mold still gives casting number {life}."),
        slipped("waited for one remake more", run + life, "You have waited for one remake more than is needed.", hint),
        slipped("took the life for the run", life, "That is the life of a mold.", hint),
        slipped("two runs too late", run + 1, "At that run it is cheaper already.", "Try one casting less."),
    ]  # fmt: skip
    figure = Quantity("first run at which the cavity pour costs less", float(run), "castings",
                      "first whole run at which its total is the lower",
                      (pair[0].first, pair[1].first, pair[1].remake))  # fmt: skip
    return numeric(asked, figure, turns(molds), slips)


def cheapest(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask for the cheapest of two ways over the run."""
    names = (draw.choice((BLOCK, SKIN)), CAVITY)
    case = brought(draw, knowledge, sides=(0.06, 0.1, 0.2, 0.3, 0.4), runs=(5, 20, 60, 200, 400))
    found = verdict(case, names)
    if found is None or not found.clear:
        return None
    lines = " ".join(
        f"By {name}, the first mold costs {a}, a remake {b}, a casting {c}."
        for name in names for a, b, c in [_costs(case, name)]
    )  # fmt: skip
    life = case.result.life(case.outcome(CAVITY))
    assert life is not None
    hint = "How many molds does this run take? Add the first mold, the remakes and the castings for both."
    small = min(names, key=lambda name: case.outcome(name).first.at(0)) == found.next
    slip = Slip("compared at the wrong run" if small else "the dearer one",
                "It has the cheaper first mold, but not the cheaper run." if small else "It costs more over the run.",
                hint)  # fmt: skip
    question = (
        f"{case.order_words} A mold lasts about {life.at(0):.0f} pours. {lines} Which one costs less over the whole "
        "run?"
    )
    said = f"The {found.next} costs {found.margin:.0%} more."
    return choice(draw, question, hint, (found.best, said), {found.next: slip}, totals(case, names))


def flips(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask which change would turn the choice."""
    names = (draw.choice((BLOCK, SKIN)), CAVITY)
    case = brought(draw, knowledge, sides=(0.08, 0.12, 0.2, 0.3), runs=(5, 20, 60, 200))
    run, longest = case.result.case.run, case.result.case.longest or 0.1
    changes = [
        Change(f"the piece is {given(longest / 3, 'mm')} long", {"longest": longest / 3}),
        Change(f"the piece is {given(longest * 2.5, 'mm')} long", {"longest": longest * 2.5}),
        Change("rubber costs a tenth less", {"rubber_price": 25.0}, small=True),
        Change("the pattern has a varnished wood surface", {"surface": "varnished wood"}, small=True),
        Change(f"the run is {count_text(20 * run)}", {"run": 20 * run}),
        Change("a mold lasts 4 pours only", {"life": 4.0}),
        Change("rubber costs four times as much", {"rubber_price": 112.0}),
        Change(f"the run is {run + 2}", {"run": run + 2}, small=True),
    ]
    hint = "The cavity pour lives on cheap remakes. What brings more remakes, or makes each one dearer?"
    return what_flips(draw, case, names, changes, hint)


def by_remake(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask to put the techniques in order by what a remake costs."""
    case = brought(draw, knowledge, sides=(0.12, 0.2, 0.3, 0.4))
    names = (BLOCK, SKIN, CAVITY)
    costs = {name: case.outcome(name).remake for name in names}
    first = Slip(
        "took the first mold for a remake", "That is the order by the first mold.",
        "What of the first mold is still there when the rubber is worn out?",
    )  # fmt: skip
    rubber = Slip("forgot the work", "That is the order by rubber alone.", "Hours cost money too.")
    listed = " ".join(
        f"A {name} takes {given(case.outcome(name).plan['rubber_mass'], 'kg')} of rubber." for name in names
    )
    question = f"{case.order_words} {listed} Put the three in order by what a remake costs, least first."
    hint = "A block keeps its box, a brushed skin keeps nothing, a cavity pour keeps shell and pattern."
    return order(
        draw, question, hint, costs,
        {first: lambda name: case.outcome(name).first.at(0),
         rubber: lambda name: case.outcome(name).plan["rubber_mass"].at(0)},
    )  # fmt: skip


def run_plan(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask for the wrong line of the costs of a run."""
    life, run = draw.choice(LIVES), draw.choice((70, 90, 110, 130))
    if run % life == 0:
        return None
    case = changed(brought(draw, knowledge, sides=(0.12, 0.18, 0.24)), life=life, run=run)
    outcome, total = case.outcome(CAVITY), case.total(CAVITY)
    molds = case.result.molds(outcome)
    if total is None or molds is None:
        return None
    count, first, again, pour = molds.at(0), outcome.first.at(0), outcome.remake.at(0), outcome.pour.at(0)
    remakes = Quantity("re-pours", (count - 1) * again, "money", "(molds - 1) x cost of a re-pour", (molds,))
    castings = Quantity("castings", run * pour, "money", "castings x cost of one", (outcome.pour,))
    lines = [
        Line("First mold", outcome.first, {}),
        Line("Molds that the run takes", molds, {"The molds were counted with one too many": count + 1,
                                                 "The molds were rounded down": count - 1}),
        Line("All re-pours together", remakes, {"The first mold was counted as a re-pour": count * again,
                                                "A full first mold was charged each time": (count - 1) * first}),
        Line("All castings together", castings, {"Only the castings of one mold were counted": life * pour}),
        Line("Cost of the run", total, {"The re-pours were left out": first + run * pour,
                                        "The castings were left out": first + (count - 1) * again}),
    ]  # fmt: skip
    question = (
        f"{case.shop} plans a run of {run} by cavity pour. A re-pour costs {given_price(again, case.currency)}, a "
        f"casting {given_price(pour, case.currency)}. Each mold lasts {life:.0f} pours."
    )
    return find_the_mistake(draw, question, lines, case.currency, "Redo each line from the figures in the text.")


MAKERS = (molds_by_cavity_pour, from_which_run, cheapest, flips, by_remake, run_plan)
