"""How problems are put together: each function returns None where the draw gives a degenerate or a doubtful one."""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from moldkit.lessons.exercise import CHOICE, MISTAKE
from moldkit.lessons.figures import shown
from moldkit.lessons.problem import COUNT, Misled, Numeric, Order, Pick, Slip, Slipped
from moldkit.lessons.slips import told_apart
from moldkit.quantity import Quantity

# Neighbours in an order differ by this share at least, a line with a mistake by that.
APART, WRONG_BY = 0.15, 0.20


@dataclass(frozen=True)
class Asked:
    """What a numeric problem asks: the question, a hint, what the figure is measured in, how near is right."""

    question: str
    hint: str
    dimension: str
    unit: str
    tolerance: float = 0.05


def slipped(mistake: str, value: float, words: str, hint: str) -> Slipped:
    """Return where a mistake leads to: its value [SI or money], and what is said of it."""
    return Slipped(Slip(mistake, words, hint), float(value))


def numeric(asked: Asked, figure: Quantity, by_hand: float, slips: Sequence[Slipped]) -> Numeric | None:
    """Return a problem that asks for a figure of the kit.

    by_hand: the working redone from the figures as the question prints them; a problem that could not be solved so,
    within half the tolerance, is None, as is one with too few mistakes that can be told apart, and one whose
    answer happens to be a figure of the question. slips: first the one that the problem is about, which must be kept.
    """
    right = figure.at(0)
    if not (math.isfinite(right) and right > 0 and math.isfinite(by_hand)):
        return None
    exact = asked.dimension == COUNT
    if abs(by_hand / right - 1.0) > (1e-9 if exact else asked.tolerance / 2):
        return None
    kept = told_apart(right, slips, asked.dimension, asked.tolerance)
    stands_there = not exact and shown(figure, asked.unit) in asked.question
    if kept is None or stands_there:
        return None
    return Numeric(asked.question, asked.hint, figure, asked.dimension, asked.unit, asked.tolerance, kept)


def choice(
    draw: random.Random,
    question: str,
    hint: str,
    right: tuple[str, str],
    wrong: Mapping[str, Slip],
    figures: tuple[Quantity, ...],
    *,
    kind: str = CHOICE,
    mixed: bool = True,
) -> Pick:
    """Return a problem that asks for one of several.

    right: the choice and why; wrong: the other choices with what each tells; mixed: in a drawn order.
    """
    choices = [right[0], *wrong]
    if mixed:
        draw.shuffle(choices)
    else:
        choices.sort()
    return Pick(kind, question, hint, tuple(choices), right[0], right[1], dict(wrong), figures)


def order(
    draw: random.Random,
    question: str,
    hint: str,
    things: Mapping[str, Quantity],
    misled: Mapping[Slip, Callable[[str], float]],
    apart: float = APART,
) -> Order | None:
    """Return a problem that asks to put things in order by a figure, least first; None where two lie too near.

    things: name -> figure, all above zero; misled: mistake -> the figure one would then order by.
    """
    right = tuple(sorted(things, key=lambda name: things[name].at(0)))
    values = [things[name].at(0) for name in right]
    if values[0] <= 0 or any(after / before < 1.0 + apart for before, after in pairwise(values)):
        return None
    choices = list(right)
    while tuple(choices) in (right, right[::-1]):
        draw.shuffle(choices)
    turned = Slip(
        "turned round", "You have the right order, but from the other end.", "The question asks for the least first."
    )
    slips = [Misled(turned, right[::-1])]
    for slip, by in misled.items():
        led = tuple(sorted(things, key=by))
        if led != right and all(led != other.order for other in slips):
            slips.append(Misled(slip, led))
    return Order(question, hint, tuple(choices), right, tuple(slips), tuple(things[name] for name in right))


@dataclass(frozen=True)
class Line:
    """A line of a plan: what it says, the figure, and mistakes that would make another figure of it.

    faults: mistake -> figure with it, in the same unit.
    """

    label: str
    figure: Quantity
    faults: Mapping[str, float]
    why: str = ""

    def text(self, value: float, currency: str) -> str:
        """Return the line with a figure."""
        return f"{self.label}: {shown(replace(self.figure, value=value), currency)}"


def find_the_mistake(
    draw: random.Random, question: str, lines: Sequence[Line], currency: str, hint: str
) -> Pick | None:
    """Return a plan in which one line is wrong; None where no mistake of the line drawn shows clearly."""
    at = draw.choice([place for place, line in enumerate(lines) if line.faults])
    faulty = lines[at]
    true = faulty.figure.at(0)
    clear = {
        why: value
        for why, value in faulty.faults.items()
        if value > 0 and true > 0 and abs(math.log(value / true)) > math.log1p(WRONG_BY)
    }
    if not clear:
        return None
    mistake = draw.choice(sorted(clear))
    wrong = faulty.text(clear[mistake], currency)
    if wrong == faulty.text(true, currency):
        return None
    texts = [wrong if place == at else line.text(line.figure.at(0), currency) for place, line in enumerate(lines)]
    sound = {
        text: Slip("a sound line", f"That line is right: {line.why or line.figure.formula}.", hint)
        for place, (text, line) in enumerate(zip(texts, lines, strict=True))
        if place != at
    }
    said = f"{mistake}. It should be {shown(faulty.figure, currency)}: {faulty.why or faulty.figure.formula}."
    asked = f"{question} One line of the plan is wrong, and all the others are right. Which one is wrong?"
    return Pick(MISTAKE, asked, hint, tuple(texts), wrong, said, sound, (faulty.figure,))
