"""An answer judged: right or not, and of a wrong one the kind of mistake, first with a hint, then the working."""

from __future__ import annotations

import math
from collections.abc import Sequence

from moldkit.lessons.entry import read_choice, read_figure, read_order
from moldkit.lessons.exercise import MISTAKE, NUMERIC, ORDERING, Feedback
from moldkit.lessons.figures import as_entered, shown, working_words
from moldkit.lessons.problem import COUNT, MATCH, MONEY, RATIO, Numeric, Order, Pick, Problem, Slipped


def kind_of(problem: Problem) -> str:
    """Return the kind of a problem, as exercises name it."""
    if isinstance(problem, Numeric):
        return NUMERIC
    return ORDERING if isinstance(problem, Order) else problem.kind


def judged(problem: Problem, entered: object, currency: str) -> Feedback:
    """Return what is said of an answer; raises InputError in one sentence for an answer that cannot be read."""
    if isinstance(problem, Numeric):
        return _figure(problem, entered, currency)
    if isinstance(problem, Pick):
        return _pick(problem, entered, currency)
    return _order(problem, entered, currency)


def _figure(problem: Numeric, entered: object, currency: str) -> Feedback:
    value = read_figure(entered, problem.dimension, problem.unit, currency)
    lines = working_lines(problem, currency)
    if is_right(problem, value):
        return Feedback(True, f"Right: the kit comes to {shown(problem.figure, currency)}.", "", "", lines)
    found = mistake_behind(problem, value)
    if found is not None:
        return Feedback(False, f"Not this time. {found.slip.words}", found.slip.hint, found.slip.mistake, lines)
    side = "too high" if value > problem.figure.at(0) else "too low"
    return Feedback(False, f"Not this time: your figure is {side}.", problem.hint, "", lines)


def is_right(problem: Numeric, value: float) -> bool:
    """Return whether a figure counts as right: within the tolerance, a whole number exactly."""
    right = problem.figure.at(0)
    if problem.dimension == COUNT:
        return abs(value - right) < 1e-6
    return abs(value / right - 1.0) <= problem.tolerance * (1 + 1e-9)


def mistake_behind(problem: Numeric, value: float) -> Slipped | None:
    """Return the mistake that leads to a figure, the nearest of those that come within 2 % of it; None for none."""
    if not value > 0:
        return None

    def off(each: Slipped) -> float:
        if problem.dimension == COUNT:
            return abs(value - round(each.value))
        return abs(math.log(value / each.value))

    nearest = min(problem.slips, key=off, default=None)
    limit = 1e-6 if problem.dimension == COUNT else MATCH
    return nearest if nearest is not None and off(nearest) <= limit else None


def _pick(problem: Pick, entered: object, currency: str) -> Feedback:
    picked = read_choice(entered, problem.choices)
    lines = working_lines(problem, currency)
    if picked == problem.right:
        return Feedback(True, f"Right. {problem.said}", "", "", lines)
    slip = problem.slips[picked]
    return Feedback(False, f"Not this time. {slip.words}", slip.hint, slip.mistake, lines)


def _order(problem: Order, entered: object, currency: str) -> Feedback:
    given = read_order(entered, problem.choices)
    lines = working_lines(problem, currency)
    if given == problem.right:
        return Feedback(True, "Right: that is the order.", "", "", lines)
    led = next((each for each in problem.slips if each.order == given), None)
    if led is not None:
        return Feedback(False, f"Not this time. {led.slip.words}", led.slip.hint, led.slip.mistake, lines)
    if _one_swap(given, problem.right):
        words = "Not this time: two neighbors have changed places, and all the rest is right."
        return Feedback(False, words, problem.hint, "two neighbors swapped", lines)
    in_place = sum(a == b for a, b in zip(given, problem.right, strict=True))
    words = f"Not this time: {in_place} of {len(given)} are in their place."
    return Feedback(False, words, problem.hint, "", lines)


def _one_swap(given: Sequence[str], right: Sequence[str]) -> bool:
    wrong = [place for place, (a, b) in enumerate(zip(given, right, strict=True)) if a != b]
    return len(wrong) == 2 and wrong[1] - wrong[0] == 1


def working_lines(problem: Problem, currency: str) -> tuple[str, ...]:
    """Return the working of the right answer in sentences, the answer first."""
    if isinstance(problem, Numeric):
        return working_words(problem.figure, currency)
    if isinstance(problem, Pick):
        head = f"{'Line at fault' if problem.kind == MISTAKE else 'Answer'}: {problem.right}. {problem.said}"
    else:
        head = f"In order: {'; '.join(problem.right)}."
    return (head, *(line for figure in problem.figures for line in working_words(figure, currency, depth=1)))


def key_entry(problem: Problem) -> str:
    """Return the right answer as it may be entered."""
    if isinstance(problem, Numeric):
        return as_entered(problem.figure.at(0), problem.dimension, problem.unit)
    return problem.right if isinstance(problem, Pick) else "; ".join(problem.right)


def entry_words(problem: Problem, currency: str) -> str:
    """Return how an answer to a problem is written, in a sentence."""
    if isinstance(problem, Pick):
        return "Write the letter of your choice, a for the first."
    if isinstance(problem, Order):
        return "Write the letters, the least first, for instance 'b, a, c'."
    if problem.dimension == COUNT:
        return f"Write a whole number of {problem.unit}."
    if problem.dimension == MONEY:
        return f"Write the money in {currency}, without commas."
    if problem.dimension == RATIO:
        return "Write a plain number with a decimal point."
    return f"Write a number and then its unit, such as {problem.unit}. Any usual unit will do."


def tolerance_words(problem: Problem) -> str:
    """Return how near is right, in plain words."""
    if not isinstance(problem, Numeric):
        return "One answer is right." if isinstance(problem, Pick) else "Only the whole order counts."
    if problem.dimension == COUNT:
        return "Only the exact whole number counts."
    each = {0.02: "one part in fifty", 0.03: "three parts in a hundred", 0.05: "one part in twenty",
            0.1: "one part in ten"}  # fmt: skip
    near = each.get(problem.tolerance, f"{problem.tolerance:.0%}")
    return f"Within {near} ({problem.tolerance:.0%}) of the kit's figure counts as right."
