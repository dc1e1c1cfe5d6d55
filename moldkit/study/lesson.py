"""Lesson cases: a seed gives each apprentice a case of the invented shop that is no toss-up, and checks answers."""

from __future__ import annotations

import random
from collections.abc import Mapping
from dataclasses import dataclass

from moldkit.errors import InputError
from moldkit.quantity import Quantity
from moldkit.study.assess import Outcome
from moldkit.study.case import Case
from moldkit.study.choices import PROPORTIONS
from moldkit.study.compare import TOSS_UP, Comparison, compare
from moldkit.study.knowledge import Knowledge
from moldkit.units import count_text

TRIES = 60
CLOSE_ENOUGH = 0.25
# What the client brings, each with the form that stands in for it.
SUBJECTS: Mapping[str, str] = {
    "a portrait bust": "bust",
    "a standing figure": "figure",
    "a newel ball": "ball",
    "a domed boss": "dome",
    "a relief panel": "panel",
}
MATERIALS = ("rigid urethane resin", "gypsum plaster", "casting wax")
SIDES_M = (0.06, 0.08, 0.12, 0.18, 0.25, 0.3, 0.4, 0.5)
RUNS = (5, 12, 30, 80, 150, 300)


@dataclass(frozen=True)
class LessonCase:
    """A case to predict: the situation in words, the techniques to choose from, and the comparison behind it."""

    seed: int
    situation: str
    choices: tuple[str, ...]
    result: Comparison

    @property
    def answer(self) -> Outcome:
        """The cheapest technique among the choices."""
        return next(o for o in self.result.outcomes if o.name == _cheapest(self.result, self.choices))


@dataclass(frozen=True)
class Judged:
    """How an answer did: right or not, and why, in words."""

    right: bool
    words: str


def lesson_case(
    seed: int, knowledge: Knowledge, choices: tuple[str, ...] = ("poured block", "brushed skin")
) -> LessonCase:
    """Return the case that a seed gives: feasible in every choice, and the cheapest clear by more than a toss-up.

    Raises InputError when no such case turns up, which a shop's own data may bring about.
    """
    draw = random.Random(seed)
    for _ in range(TRIES):
        subject, form = draw.choice(list(SUBJECTS.items()))
        longest, run, material = draw.choice(SIDES_M), draw.choice(RUNS), draw.choice(MATERIALS)
        width, depth, height = (longest * share for share in PROPORTIONS[form])
        case = Case(form=form, size=(width, depth, height), material=material, run=run, name=f"lesson {seed}")
        result = compare(case, knowledge)
        if _fit_for_a_lesson(result, choices):
            situation = (
                f"{knowledge.shop.name} (an invented shop) is brought {subject}, {longest * 1000:.0f} mm at the "
                f"longest, and asked for {run} castings in {material}, open pour. "
                "The pattern is sturdy, loose and without undercuts."
            )
            return LessonCase(seed, situation, choices, result)
    raise InputError(f"seed {seed}: found no clear case with these data; try another seed or look at the tables.")


def _totals(result: Comparison, choices: tuple[str, ...]) -> dict[str, float]:
    totals = {o.name: result.total(o) for o in result.outcomes if o.name in choices and not o.stop_at()}
    return {name: float(total.value) for name, total in totals.items() if total is not None}


def _cheapest(result: Comparison, choices: tuple[str, ...]) -> str:
    totals = _totals(result, choices)
    return min(totals, key=lambda name: totals[name])


def _fit_for_a_lesson(result: Comparison, choices: tuple[str, ...]) -> bool:
    totals = sorted(_totals(result, choices).values())
    return len(totals) == len(choices) and totals[1] > (1 + TOSS_UP) * totals[0]


def judge_technique(lesson: LessonCase, answer: str) -> Judged:
    """Return whether the technique named is the cheapest of the choices, with both totals."""
    if answer not in lesson.choices:
        raise InputError(f"answer {answer!r}: is not one of {', '.join(lesson.choices)}.")
    totals = _totals(lesson.result, lesson.choices)
    best = lesson.answer.name
    other = next(name for name in lesson.choices if name != best)
    currency = lesson.result.currency
    cheap, dear = count_text(totals[best]), count_text(totals[other])
    words = f"{best} costs {cheap} {currency} over the run, {other} {dear}."
    return Judged(answer == best, words)


def judge_rubber(lesson: LessonCase, technique: str, kilograms: float) -> Judged:
    """Return whether a guess of the rubber to mix [kg] is within a quarter of the computed figure."""
    figure = rubber_mass(lesson, technique)
    ratio = kilograms / float(figure.value)
    right = abs(ratio - 1) <= CLOSE_ENOUGH
    size = "about right" if right else ("too much" if ratio > 1 else "too little")
    return Judged(right, f"{kilograms:.3g} kg is {size}: the {technique} takes {figure.value:.3g} kg.")


def rubber_mass(lesson: LessonCase, technique: str) -> Quantity:
    """Return the rubber to mix for a technique of the lesson [kg]."""
    outcome = next((o for o in lesson.result.outcomes if o.name == technique), None)
    if outcome is None:
        raise InputError(f"technique {technique!r}: is not in this lesson.")
    return outcome.plan["rubber_mass"]
