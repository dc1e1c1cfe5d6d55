"""An exercise as the apprentice sees it, and what is said of an answer."""

from __future__ import annotations

from dataclasses import dataclass, field

from moldkit.study.knowledge import Knowledge

NUMERIC, CHOICE, ORDERING = "numeric", "choice", "ordering"
MISTAKE, FLIP = "find the mistake", "what would flip it"
KINDS = (NUMERIC, CHOICE, ORDERING, MISTAKE, FLIP)


@dataclass(frozen=True)
class Exercise:
    """One exercise. The answer does not stand in it: a check works it out anew from topic, seed and number.

    kind: one of KINDS; question: in plain words, with every figure that is needed; unit: one that a figure may be
    entered in, empty for counts and words; choices: to pick from or to put in order; tolerance: how near is right, in
    plain words; entry: how an answer is written; hint: for the first wrong answer; knowledge: the tables behind it.
    """

    topic: str
    seed: int
    number: int
    kind: str
    question: str
    unit: str
    choices: tuple[str, ...]
    tolerance: str
    entry: str
    hint: str
    knowledge: Knowledge = field(repr=False, compare=False)


@dataclass(frozen=True)
class Feedback:
    """What is said of an answer.

    right; words: whether it is right, and of a wrong one the kind of mistake, never the figure; hint: what to look at,
    empty for a right one; mistake: the kind in a few words, empty where none was recognised; working: of the right
    answer, to be shown after the hint, kept out of what is printed by itself.
    """

    right: bool
    words: str
    hint: str
    mistake: str = ""
    working: tuple[str, ...] = field(default=(), repr=False)


@dataclass(frozen=True)
class KeyEntry:
    """One line of a teacher's key: which exercise, an answer as it may be entered, the working behind it."""

    number: int
    kind: str
    entered: str
    working: tuple[str, ...]
