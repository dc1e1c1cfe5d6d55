"""What every exercise of every seed must hold; each proof returns sentences that say what does not."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise

from moldkit.lessons.exercise import FLIP, KINDS, Exercise
from moldkit.lessons.figures import as_entered, shown
from moldkit.lessons.judge import judged, key_entry, kind_of
from moldkit.lessons.problem import COUNT, RATIO, Numeric, Order, Pick, Problem
from moldkit.study.compare import TOSS_UP
from tests.lessons.reading_level import grade, longest_sentence
from tests.lessons.spellings import spelt

LEAST_MISTAKES = 5
# A text for apprentices: what an eighth grade reads with ease, with room for names of materials.
MOST_GRADE, MOST_WORDS = 9.0, 32
TOTAL = "cost of the run, "


def faults(exercise: Exercise, problem: Problem) -> list[str]:
    """Return what an exercise does not hold, a sentence each; none for a sound one."""
    currency = exercise.knowledge.shop.text("currency")
    found = [*_solvable(problem, currency), *_plain(exercise, problem), *_kept_apart(exercise, problem, currency)]
    if isinstance(problem, Numeric):
        found += _numeric(problem, currency)
    elif isinstance(problem, Pick):
        found += _pick(problem, currency)
    else:
        found += _order(problem, currency)
    return found


def _solvable(problem: Problem, currency: str) -> Iterator[str]:
    feedback = judged(problem, key_entry(problem), currency)
    if not feedback.right or feedback.hint or feedback.mistake:
        yield f"the key {key_entry(problem)!r} is not taken as right: {feedback}"
    if not feedback.working:
        yield "no working is shown"
    if kind_of(problem) not in KINDS:
        yield f"unknown kind {kind_of(problem)!r}"


def _numeric(problem: Numeric, currency: str) -> Iterator[str]:
    for text in spelt(problem, currency):
        if not judged(problem, text, currency).right:
            yield f"{text!r} is the right figure {problem.figure.at(0)} and not taken as right"
    if len(problem.slips) < LEAST_MISTAKES:
        yield f"only {len(problem.slips)} mistakes can be told"
    for slip in problem.slips:
        # As a person would write it down: four digits.
        entered = as_entered(slip.value, problem.dimension, problem.unit, 4)
        feedback = judged(problem, entered, currency)
        if feedback.right or feedback.mistake != slip.slip.mistake or not feedback.hint:
            yield f"{entered!r}, made by {slip.slip.mistake!r}, is told as {feedback}"
    for off in (1.0 + 0.9 * problem.tolerance, 1.0 - 0.9 * problem.tolerance):
        value = off * problem.figure.at(0)
        if not judged(problem, as_entered(value, problem.dimension, problem.unit, 12), currency).right:
            yield f"{value} lies within the tolerance and is not taken as right"
    if problem.dimension != COUNT and problem.figure.at(0) <= 0:
        yield "the figure is not above zero"


def _pick(problem: Pick, currency: str) -> Iterator[str]:
    if len(set(problem.choices)) != len(problem.choices) or len(problem.choices) < 2:
        yield f"choices are not apart: {problem.choices}"
    for place, text in enumerate(problem.choices):
        by_letter, by_text = (judged(problem, entered, currency) for entered in ("abcdefgh"[place], text.upper()))
        if by_letter != by_text:
            yield f"letter and text of {text!r} are told differently"
        if by_letter.right != (text == problem.right):
            yield f"{text!r} is taken as {'right' if by_letter.right else 'wrong'}"
        if not by_letter.right and not (by_letter.hint and by_letter.mistake):
            yield f"nothing is said of {text!r}"
    yield from _no_toss_up(problem)


def _no_toss_up(problem: Pick) -> Iterator[str]:
    """Yield a fault where the totals of the techniques that can be used lie within a toss-up."""
    if problem.kind == FLIP and "flip the choice" in problem.question:
        return  # there the question itself is how near the two are
    stopped = {text for text, slip in problem.slips.items() if slip.mistake == "ignored the stop"}
    costs = {
        figure.name.removeprefix(TOTAL): figure.at(0) for figure in problem.figures if figure.name.startswith(TOTAL)
    }
    costs = {name: cost for name, cost in costs.items() if name not in stopped}
    if len(costs) < 2:
        return
    low, high = sorted(costs.values())[:2]
    if high <= (1 + TOSS_UP) * low:
        yield f"a toss-up: {costs}"
    if problem.kind != FLIP and min(costs, key=lambda name: costs[name]) != problem.right:
        yield f"{problem.right!r} is not the cheapest of {costs}"


def _order(problem: Order, currency: str) -> Iterator[str]:
    values = [figure.at(0) for figure in problem.figures]
    if any(after < 1.04 * before for before, after in pairwise(values)):
        yield f"a toss-up: {values}"
    if problem.choices in (problem.right, problem.right[::-1]):
        yield "the choices stand in order already"
    letters = {text: "abcdefgh"[place] for place, text in enumerate(problem.choices)}
    in_letters = [letters[text] for text in problem.right]
    for entered in ("".join(in_letters), ", ".join(in_letters), " < ".join(in_letters), list(problem.right),
                    "; ".join(problem.right)):  # fmt: skip
        if not judged(problem, entered, currency).right:
            yield f"{entered!r} is the right order and not taken as right"
    if judged(problem, in_letters[::-1], currency).mistake != "turned round":
        yield "the order from the other end is not told"
    for slip in problem.slips:
        feedback = judged(problem, list(slip.order), currency)
        if feedback.right or feedback.mistake != slip.slip.mistake:
            yield f"the order made by {slip.slip.mistake!r} is told as {feedback}"


def _kept_apart(exercise: Exercise, problem: Problem, currency: str) -> Iterator[str]:
    """Yield a fault where the answer shows in what is printed before it is given."""
    if not isinstance(problem, Numeric):
        return
    answer, entered = shown(problem.figure, currency), as_entered(problem.figure.at(0), problem.dimension, problem.unit)
    if problem.dimension == RATIO:
        return  # a plain ratio may stand anywhere
    # A count of the question may happen to be the answer's, a figure of three digits cannot.
    question = "" if problem.dimension == COUNT else exercise.question
    before = f"{question} {exercise.hint} {exercise.entry} {exercise.tolerance} {exercise.unit}"
    said = " ".join(f"{slip.slip.words} {slip.slip.hint} {slip.slip.mistake}" for slip in problem.slips)
    for what, text in (("the exercise", before), ("what is said of a wrong answer", said)):
        for print_of_it in (answer, entered):
            if re.search(rf"(?<![\d.]){re.escape(print_of_it)}(?![\d.]*\d)", text):
                yield f"the answer {answer!r} shows in {what}"


def _plain(exercise: Exercise, problem: Problem) -> Iterator[str]:
    if grade(f"{exercise.question} {exercise.hint}") > MOST_GRADE:
        yield f"reads at grade {grade(exercise.question):.1f}: {exercise.question}"
    if longest_sentence(exercise.question) > MOST_WORDS:
        yield f"a sentence of {longest_sentence(exercise.question)} words: {exercise.question}"
