"""Mold life and remakes: pours, molds worn out, and what they cost."""

from __future__ import annotations

import random
from math import ceil, floor
from typing import Any

from moldkit.economics.life import Life
from moldkit.lessons.build import Asked, Line, choice, find_the_mistake, numeric, order, slipped
from moldkit.lessons.cases import BLOCK, CAVITY, SKIN, brought, changed
from moldkit.lessons.exercise import FLIP
from moldkit.lessons.figures import given_price
from moldkit.lessons.problem import COUNT, MONEY, Problem, Slip
from moldkit.quantity import Quantity
from moldkit.study.knowledge import Knowledge

NAME, PLACE = "mold life and remakes", 6
YIELDS = (0.8, 0.85, 0.9, 0.94)


def pours(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask how many pours a run takes, with rejects and several cavities."""
    good, cavities, run = draw.choice(YIELDS), draw.choice((2, 3, 4)), draw.choice(range(60, 260, 7))
    case = brought(draw, knowledge, sides=(0.08, 0.1), runs=(run,), good_share=good, cavities=cavities)
    figure = case.result.pours(case.outcome(BLOCK))
    right = ceil(run / (good * cavities) - 1e-9)
    hint = "How many castings must come out, so that enough good ones are among them? How many does a pour give?"
    asked = Asked(
        f"{case.shop} needs {run} good castings. Out of 100 castings {100 * good:.0f} are good. The block has "
        f"{cavities} cavities, so a pour gives as many castings. How many pours does the run take?",
        hint, COUNT, "pours", 0.0,
    )  # fmt: skip
    slips = [
        slipped("forgot the rejects", ceil(run / cavities), "You have left the rejects out.",
                "Some castings are bad, so more than the run must be poured."),
        slipped("forgot the cavities", ceil(run / good), "You have counted one casting a pour.",
                "Each pour fills all the cavities."),
        slipped("turned the yield round", ceil(run * good / cavities), "You have taken the rejects away from the run.",
                "Rejects make more pours, not fewer."),
        slipped("rounded down", floor(run / (good * cavities)), "You have rounded down.",
                "A part of a pour is a whole pour. Round up."),
        slipped("added the rejects of the run only", ceil(run * (2 - good) / cavities),
                "You have added the rejects of the run, but of those added some are bad too.",
                "Divide by the share that is good."),
        slipped("counted castings for pours", ceil(run * cavities / good), "You have multiplied by the cavities.",
                "More cavities make fewer pours."),
        slipped("took the run for the pours", run, "That is the run itself.", hint),
    ]  # fmt: skip
    return numeric(asked, figure, right, slips)


def cost_of_remakes(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask what all the remakes of a run cost."""
    life, good, run = draw.choice((20, 25, 30, 35)), draw.choice(YIELDS), draw.choice(range(80, 200, 9))
    technique = draw.choice((BLOCK, SKIN, CAVITY))
    case = brought(draw, knowledge, sides=(0.1, 0.16, 0.22), runs=(run,), good_share=good, life=float(life))
    outcome = case.outcome(technique)
    molds = case.result.molds(outcome)
    pours_of_it = ceil(run / good - 1e-9)
    count = ceil(pours_of_it / life)
    if molds is None or pours_of_it % life == 0 or ceil(run / life) == count:
        return None
    first, again = (given_price(each, case.currency) for each in (outcome.first, outcome.remake))
    figure = Quantity("cost of the remakes", (molds.at(0) - 1) * outcome.remake.at(0), "money",
                      "(molds - 1) x cost of a remake", (molds, outcome.remake))  # fmt: skip
    hint = "First the pours, then the molds, then the remakes. The first mold is not a remake."
    asked = Asked(
        f"{case.shop} needs {run} good castings, one a pour. Out of 100 pours {100 * good:.0f} are good. Each mold "
        f"lasts {life} pours, good and bad. The first mold, by {technique}, costs {first} and a remake {again}. What "
        "do all the remakes cost together?",
        hint, MONEY, case.currency, 0.02,
    )  # fmt: skip
    each = again.value
    slips = [
        slipped("counted the first mold as a remake", count * each, "You have counted the first mold as a remake.",
                "There is one remake less than there are molds."),
        slipped("forgot the rejects", (ceil(run / life) - 1) * each, "You have left the bad pours out.",
                "Bad pours wear the mold as well."),
        slipped("charged a full first mold each time", (count - 1) * first.value,
                "You have charged a first mold for each remake.", "A remake has a price of its own."),
        slipped("rounded the molds down", (pours_of_it // life - 1) * each, "You have rounded the molds down.",
                "A mold is made whole."),
        slipped("counted parts of molds", (pours_of_it / life - 1) * each, "You have counted a part of a mold.",
                "A mold is made whole."),
        slipped("added the first mold", (count - 1) * each + first.value, "You have added the first mold.",
                "The question asks for the remakes only."),
        slipped("one remake only", each, "That is one remake.", hint),
    ]  # fmt: skip
    return numeric(asked, figure, (count - 1) * each, slips)


def chance(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask how likely one mold is to last a run."""
    case = brought(draw, knowledge, sides=(0.12, 0.2))
    outcome = case.outcome(BLOCK)
    if outcome.median is None or outcome.spread is None:
        return None
    median, spread = outcome.median.at(0), outcome.spread.at(0)
    pours_of_it = round(median * draw.choice((0.5, 0.55, 1.0, 1.45, 1.55)))
    lasts = float(1.0 - Life(median, spread).chances[:pours_of_it].sum())
    choices = {"in about 1 shop of 10": 0.1, "in about half of the shops": 0.5, "in about 9 shops of 10": 0.9,
               "in every shop": 1.0}  # fmt: skip
    right = min(choices, key=lambda text: abs(choices[text] - lasts))
    if abs(choices[right] - lasts) > 0.06 or right == "in every shop":
        return None
    hint = "Half of all molds are worn out by the middle life. Is the run shorter or longer than that?"
    high = Slip("trusted the life too much", "It lasts less often than that.", hint)
    low = Slip("trusted the life too little", "It lasts more often than that.", hint)
    wrong = {text: high if choices[text] > choices[right] else low for text in choices if text != right}
    figure = Quantity("chance that one mold lasts", lasts, "share", "molds that last the run / all molds",
                      (outcome.median, outcome.spread))  # fmt: skip
    question = (
        f"Many shops cast {case.result.case.material} in the same rubber. The middle life of a mold is {median:.0f} "
        f"pours. One mold differs from the next by about {spread:.0%} of that. A run takes {pours_of_it} pours. How "
        "often does one mold last the whole run?"
    )
    return choice(draw, question, hint, (right, f"The chance is {lasts:.0%}."), wrong, (figure,))


def by_life(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask to put ways of casting in order by mold life."""
    base = brought(draw, knowledge, sides=(0.14,))
    uses: dict[str, dict[str, Any]] = {
        "rigid urethane resin": {"material": "rigid urethane resin"},
        "rigid urethane resin, no release agent": {"material": "rigid urethane resin", "release": False},
        "gypsum plaster": {"material": "gypsum plaster"},
        "casting wax": {"material": "casting wax"},
        "polyester resin": {"material": "polyester resin"},
        "gypsum plaster, severe undercuts": {"material": "gypsum plaster", "undercut": "severe"},
        "rigid urethane resin, severe undercuts": {"material": "rigid urethane resin", "undercut": "severe"},
        "casting wax, severe undercuts": {"material": "casting wax", "undercut": "severe"},
    }
    lives, plain = {}, {}
    for name in draw.sample(sorted(uses), 4):
        median = changed(base, **uses[name]).outcome(BLOCK).median
        alone = changed(base, material=uses[name]["material"]).outcome(BLOCK).median
        if median is None or alone is None:
            return None
        lives[name], plain[name] = median, alone.at(0)
    factors = Slip(
        "forgot what wears a mold", "You have gone by the material alone.",
        "Undercuts and a missing release agent tear a mold sooner.",
    )  # fmt: skip
    question = (
        f"{base.shop} casts in platinum silicone molds. Put these ways of casting in order by how many pours a mold "
        "gives, fewest first."
    )
    hint = "Cool and soft castings are kind to rubber. Resin heat, sharp hooks and dry molds are not."
    return order(draw, question, hint, lives, {factors: lambda name: plain[name]})


def a_second_mold(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask which change makes the run take another mold."""
    life = draw.choice((30, 40, 50, 60))
    run = life - draw.choice((1, 2, 3))
    case = brought(draw, knowledge, sides=(0.12, 0.2), runs=(run,), life=float(life))
    changes: dict[str, dict[str, Any]] = {
        "one casting of ten is bad": {"good_share": 0.9},
        "one casting of five is bad": {"good_share": 0.8},
        f"the run is {life + 4}": {"run": life + 4},
        f"a mold lasts {run - 3} pours": {"life": float(run - 3)},
        f"the run is {life}": {"run": life},
        "rubber costs half as much again": {"rubber_price": 42.0},
        "an hour of work costs twice as much": {"shop": {"labor_rate": 80.0}},
        "the client pays for a larger piece": {"longest": 1.3 * (case.result.case.longest or 0.1)},
        f"a mold lasts {life + 10} pours": {"life": float(life + 10)},
    }
    after = {}
    for words, other in changes.items():
        then = changed(case, **other)
        after[words] = then.result.molds(then.outcome(BLOCK))
    more = [words for words, molds in after.items() if molds is not None and molds.at(0) > 1.0]
    stays = [words for words, molds in after.items() if molds is not None and molds.at(0) == 1.0]
    right = draw.choice(more)
    hint = "Count pours, good and bad, and hold them against the life."
    wrong = {
        words: Slip("does not flip it", "One mold still does the run then.", hint) for words in draw.sample(stays, 3)
    }
    molds = after[right]
    assert molds is not None
    question = (
        f"{case.shop} casts a run of {run}. Each mold lasts {life} pours, and all castings are good. One mold is "
        "enough. Which one of these changes would make a second mold needed?"
    )
    return choice(
        draw, question, hint, (right, f"The run takes {molds.at(0):.0f} molds then."), wrong, (molds,), kind=FLIP
    )


def life_plan(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask for the wrong line of a plan of pours, molds and remakes."""
    life, good, run = draw.choice((20, 25, 30)), draw.choice(YIELDS), draw.choice(range(90, 200, 9))
    case = brought(draw, knowledge, sides=(0.1, 0.16), runs=(run,), good_share=good, life=float(life))
    outcome = case.outcome(BLOCK)
    molds, needed = case.result.molds(outcome), case.result.pours(outcome)
    if molds is None:
        return None
    count, again = molds.at(0), outcome.remake.at(0)
    remakes = Quantity("remakes", count - 1, "molds", "molds - 1", (molds,))
    cost = Quantity(
        "cost of the remakes", (count - 1) * again, "money", "remakes x cost of one", (remakes, outcome.remake)
    )
    castings = Quantity(
        "pours", needed.at(0) * outcome.pour.at(0), "money", "pours x cost of one", (needed, outcome.pour)
    )
    lines = [
        Line("Pours", needed, {"The rejects were taken away from the run": float(floor(run * good))}),
        Line("Molds", molds, {"One mold too few: a part of a mold is made whole": count - 1,
                              "Two molds too many": count + 2}),
        Line("Remakes", remakes, {"The first mold was counted as a remake": count}),
        Line("All remakes together", cost, {"The first mold was counted as a remake": count * again,
                                            "One remake was charged only": again}),
        Line("All pours together", castings, {"Only the pours of one mold were charged": life * outcome.pour.at(0)}),
    ]  # fmt: skip
    question = (
        f"{case.shop} plans {run} good castings, one a pour. Out of 100 pours {100 * good:.0f} are good. Each mold "
        f"lasts {life} pours. A remake costs {given_price(again, case.currency)}, a pour "
        f"{given_price(outcome.pour, case.currency)}."
    )
    return find_the_mistake(draw, question, lines, case.currency, "Redo each line from the one above it.")


MAKERS = (pours, cost_of_remakes, chance, by_life, a_second_mold, life_plan)
