"""Reading a cost curve and a crossing: what a curve is made of, where two of them cross, what holds at which run."""

from __future__ import annotations

import random
from math import floor

import numpy as np

from moldkit.economics.run_cost import crossings
from moldkit.lessons.build import Asked, Line, choice, find_the_mistake, numeric, order, slipped
from moldkit.lessons.cases import BLOCK, CAVITY, SKIN, brought, changed, totals, verdict
from moldkit.lessons.figures import given, given_price
from moldkit.lessons.flips import Change, what_flips
from moldkit.lessons.problem import COUNT, MONEY, Problem, Slip
from moldkit.quantity import Quantity
from moldkit.study.compare import TOSS_UP, run_costs
from moldkit.study.knowledge import Knowledge
from moldkit.units import count_text

NAME, PLACE = "reading a cost curve and a crossing", 7
# So many pours that no mold of these runs wears out.
EVER = 10_000.0


def crossing(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask where two straight cost lines cross: a block with one cavity, and one with several."""
    lot = draw.choice((2, 3, 4, 6))
    one = brought(draw, knowledge, sides=(0.05, 0.07, 0.09, 0.12), life=EVER)
    many = changed(one, cavities=lot)
    pair = (one.outcome(BLOCK), many.outcome(BLOCK))
    runs = lot * np.arange(1, 401, dtype=np.int64)
    costs = np.concatenate([run_costs(pair[:1], one.result.case, runs), run_costs(pair[1:], many.result.case, runs)])
    found = crossings(costs, runs)
    if len(found) != 1 or found[0].before != 0 or found[0].run < 3 * lot:
        return None
    (first, each), (dear, pour) = (
        (given_price(o.first, one.currency), given_price(o.pour, one.currency)) for o in pair
    )
    saved, more = each.value - pour.value / lot, dear.value - first.value
    if saved <= 0 or more <= 0:
        return None

    def lots(money: float, a_casting: float) -> int:
        """Return the first whole lots, in castings, that earn the money."""
        return lot * (floor(money / (lot * a_casting)) + 1)

    run = lots(more, saved)
    hint = "How much dearer is mold B? What does each casting save? How many savings pay for it?"
    asked = Asked(
        f"Mold A at {one.shop} is a block with one cavity. It costs {first}, and each pour, which gives one casting, "
        f"{each}. Mold B is a block with {lot} cavities. It costs {dear}, and each pour, which gives {lot} castings, "
        f"{pour}. Neither wears out in this run. The client buys in lots of {lot}. What is the smallest order, in "
        "castings, at which mold B costs less in all?",
        hint, COUNT, "castings", 0.0,
    )  # fmt: skip
    slips = [
        slipped("one lot too early", run - lot, "At that order mold B is not yet cheaper.", "Try one lot more."),
        slipped("counted lots for castings", run / lot, "You have counted lots or pours.",
                "The question asks for castings."),
        slipped("divided the whole mold", lots(dear.value, saved), "You have divided the whole cost of mold B.",
                "Mold A would cost money anyway. Only the difference must be earned."),
        slipped("divided by the cost of a casting", lots(more, each.value),
                "You have divided by the cost of a casting.", "What pays for mold B is what each casting saves."),
        slipped("added the molds", lots(dear.value + first.value, saved), "You have added both molds.",
                "Only the difference of the two must be earned."),
        slipped("one lot too late", run + lot, "At that order mold B is cheaper already.", "Try one lot less."),
        slipped("not in whole lots", floor(more / saved) + 1, "You have left the lots out.",
                "The client buys in whole lots."),
    ]  # fmt: skip
    figure = Quantity("crossing", float(found[0].run), "castings",
                      "first order in whole lots at which mold B has the lower total",
                      (pair[0].first, pair[0].pour, pair[1].first, pair[1].pour))  # fmt: skip
    return numeric(asked, figure, run, slips)


def per_casting(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask for the cost of a casting in a run."""
    life, run = draw.choice((20, 30, 40)), draw.choice((25, 35, 50, 70))
    name = draw.choice((BLOCK, SKIN, CAVITY))
    case = brought(draw, knowledge, sides=(0.1, 0.16, 0.22), runs=(run,), life=float(life))
    outcome, total = case.outcome(name), case.total(name)
    molds = -(-run // life)
    if total is None or molds == 1:
        return None
    first, again, pour = (given_price(q, case.currency) for q in (outcome.first, outcome.remake, outcome.pour))
    whole = first.value + (molds - 1) * again.value + run * pour.value
    hint = "Add up the whole run first: all molds, all castings. Then share it among the castings."
    asked = Asked(
        f"{case.shop} casts a run of {run} from a {name}. The first mold costs {first}, a remake {again}, and each "
        f"pour {pour}. A pour gives one casting, and a mold lasts {life} pours. What does one casting cost, with its "
        "share of the molds?",
        hint, MONEY, case.currency, 0.02,
    )  # fmt: skip
    slips = [
        slipped("total instead of per casting", whole, "That is the whole run.", "Share it among the castings."),
        slipped("forgot the remakes", (first.value + run * pour.value) / run, "You have left the remakes out.",
                "Does one mold last for the run?"),
        slipped("forgot the molds", pour.value, "That is a pour by itself.",
                "Each casting carries a share of the molds."),
        slipped("compared at the wrong run", (first.value + life * pour.value) / life,
                "You have reckoned with the run of one mold only.", "Share out the whole run that is asked for."),
        slipped("counted one remake too many", (whole + again.value) / run, "You have counted one remake too many.",
                "The first mold is no remake."),
        slipped("divided by the molds", whole / molds, "You have divided by the molds.", hint),
        slipped("forgot the first mold", (whole - first.value) / run, "You have left the first mold out.", hint),
    ]  # fmt: skip
    figure = Quantity("cost of a casting", total.at(0) / run, "money", "cost of the run / castings", (total,))
    return numeric(asked, figure, whole / run, slips)


def which_at_this_run(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask what a small table of totals says of a run between its rows."""
    names = (BLOCK, draw.choice((SKIN, CAVITY)))
    case = brought(draw, knowledge, sides=(0.08, 0.12, 0.18, 0.26), life=draw.choice((8.0, 12.0, 20.0)),
                   rubber_price=draw.choice((20.0, 30.0, 45.0)))  # fmt: skip
    listed, between = (5, 20, 80, 320), (10, 40, 160)
    pair = tuple(case.outcome(name) for name in names)
    costs = run_costs(pair, case.result.case, np.array([*listed, *between], dtype=np.int64))
    best = costs.argmin(axis=0)
    clear = costs.max(axis=0) > (1.0 + TOSS_UP) * costs.min(axis=0)
    fit = [place for place in range(3) if clear[4 + place] and best[place] == best[4 + place] == best[place + 1]]
    if not np.isfinite(costs).all() or len(set(best[:4])) < 2 or not fit:
        return None
    asked_at = between[draw.choice(fit)]
    case = changed(case, run=asked_at)
    now = verdict(case, names)
    if now is None or not now.clear:
        return None
    rows = " ".join(
        f"Run {run}: {names[0]} {count_text(a)}, {names[1]} {count_text(b)}."
        for run, (a, b) in zip(listed, costs.T, strict=False)
    )
    hint = "Find the two rows that the run lies between. Who is the cheaper in both of them?"
    slip = Slip("compared at the wrong run", "That one is the cheaper at another run, not at this one.", hint)
    question = (
        f"{case.pattern_words} It is cast in {case.result.case.material}. These are the totals in {case.currency}. "
        f"{rows} The client orders {asked_at}. Which one costs less?"
    )
    said = f"The {now.next} costs {now.margin:.0%} more at that run."
    return choice(draw, question, hint, (now.best, said), {now.next: slip}, totals(case, names))


def by_cost_a_casting(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask to put runs in order by what one casting costs."""
    name = draw.choice((BLOCK, SKIN, CAVITY))
    base = brought(draw, knowledge, sides=(0.12, 0.2, 0.3))
    runs = draw.sample((1, 2, 4, 8, 16, 40), 4)
    whole, each = {}, {}
    for run in runs:
        total = changed(base, run=run).total(name)
        if total is None:
            return None
        text = f"a run of {run}"
        whole[text] = total.at(0)
        each[text] = Quantity(f"cost of a casting, {text}", total.at(0) / run, "money", "cost of the run / castings",
                              (total,))  # fmt: skip
    by_total = Slip("total instead of per casting", "That is the order by the whole run.",
                    "Share each total among its castings.")  # fmt: skip
    question = (
        f"{base.pattern_words} A mold is made by {name}, and cast in {base.result.case.material}. Put these runs in "
        "order by what one casting costs, least first."
    )
    hint = "The mold is shared among all castings of a run."
    return order(draw, question, hint, each, {by_total: lambda text: whole[text]}, 0.1)


def flips(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask which change would move the run to the other side of the crossing."""
    names = (BLOCK, draw.choice((SKIN, CAVITY)))
    case = brought(draw, knowledge, sides=(0.1, 0.14, 0.2, 0.28), runs=(4, 10, 40, 150))
    run, longest = case.result.case.run, case.result.case.longest or 0.1
    changes = [
        Change(f"the run is {count_text(max(1, run // 20))}", {"run": max(1, run // 20)}),
        Change(f"the run is {count_text(20 * run)}", {"run": 20 * run}),
        Change(f"the run is {run + 1}", {"run": run + 1}, small=True),
        Change(f"the piece is {given(longest / 2.5, 'mm')} long", {"longest": longest / 2.5}),
        Change(f"the piece is {given(longest * 2.2, 'mm')} long", {"longest": longest * 2.2}),
        Change("the pattern stands on varnished wood", {"surface": "varnished wood"}, small=True),
        Change("rubber costs a tenth less", {"rubber_price": 25.0}, small=True),
        Change("a mold lasts 5 pours only", {"life": 5.0}),
    ]
    hint = "Which change brings many more molds, or none? Which one hardly moves either total?"
    return what_flips(draw, case, names, changes, hint)


def curve_card(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask for the wrong line of a card that reads a cost curve."""
    case = changed(brought(draw, knowledge, sides=(0.12, 0.18, 0.24), runs=(10, 20, 40)), life=EVER)
    name = draw.choice((BLOCK, SKIN, CAVITY))
    outcome, total, run = case.outcome(name), case.total(name), case.result.case.run
    twice = changed(case, run=2 * run).total(name)
    if total is None or twice is None:
        return None
    each = Quantity("cost of a casting", total.at(0) / run, "money", "cost of the run / castings", (total,))
    lines = [
        Line("First mold", outcome.first, {"A slip of ten": outcome.first.at(0) / 10}),
        Line("Each pour", outcome.pour, {"The mold's share is in it already": each.at(0)}),
        Line(f"Run of {run} in all", total, {"The first mold was left out": run * outcome.pour.at(0),
                                             "The mold was charged for each casting":
                                             run * (outcome.pour.at(0) + outcome.first.at(0))}),
        Line(f"Run of {2 * run} in all", twice, {"The first mold was charged twice": 2 * total.at(0)}),
        Line(f"One casting in the run of {run}", each, {"The mold's share was left out": outcome.pour.at(0),
                                                        "The whole run was not shared out": total.at(0)}),
    ]  # fmt: skip
    question = f"{case.shop} reads a cost curve of a {name}. The mold does not wear out, and a pour gives one casting."
    return find_the_mistake(draw, question, lines, case.currency, "Total = first mold + castings x cost of a pour.")


MAKERS = (crossing, per_casting, which_at_this_run, by_cost_a_casting, flips, curve_card)
