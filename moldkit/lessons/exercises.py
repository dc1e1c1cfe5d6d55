"""The exercises of a topic: one for a seed, an answer checked, the key for the teacher."""

from __future__ import annotations

import importlib
import pkgutil
import random
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache

from moldkit.errors import InputError, unknown
from moldkit.lessons import topics as folder
from moldkit.lessons.exercise import Exercise, Feedback, KeyEntry
from moldkit.lessons.judge import entry_words, judged, key_entry, kind_of, tolerance_words, working_lines
from moldkit.lessons.problem import Numeric, Problem
from moldkit.study.knowledge import Knowledge, load_knowledge

TRIES = 400
MOST_SEED = 999_999
Maker = Callable[[random.Random, Knowledge], Problem | None]


@dataclass(frozen=True)
class Topic:
    """One lesson's exercises: its name, its place among the lessons, and what makes each exercise."""

    name: str
    place: int
    makers: tuple[Maker, ...]


@lru_cache(maxsize=1)
def topics() -> Mapping[str, Topic]:
    """Return the topics by name, in the order of the lessons: one file each in the folder `topics`."""
    found = []
    for each in pkgutil.iter_modules(folder.__path__):
        module = importlib.import_module(f"{folder.__name__}.{each.name}")
        found.append(Topic(module.NAME, module.PLACE, tuple(module.MAKERS)))
    return {topic.name: topic for topic in sorted(found, key=lambda topic: topic.place)}


@lru_cache(maxsize=1)
def _own_knowledge() -> Knowledge:
    return load_knowledge()


def topic_named(name: str) -> Topic:
    """Return a topic; raises InputError for an unknown one, with the nearest."""
    if name not in topics():
        raise unknown("topic", name, topics())
    return topics()[name]


def count(topic: str) -> int:
    """Return how many exercises a topic has; raises InputError for an unknown topic."""
    return len(topic_named(topic).makers)


def exercise(topic: str, seed: int, number: int, knowledge: Knowledge | None = None) -> Exercise:
    """Return an exercise, always the same for a topic, a seed and a number.

    number: 1 to `count(topic)`; knowledge: the tables, else those of the data folder. Raises InputError for an unknown
    topic, a seed or a number out of bounds, and where the tables give no clear case.
    """
    knowledge = knowledge or _own_knowledge()
    return shown_to_the_apprentice(problem_of(topic, seed, number, knowledge), topic, seed, number, knowledge)


def shown_to_the_apprentice(problem: Problem, topic: str, seed: int, number: int, knowledge: Knowledge) -> Exercise:
    """Return the exercise that shows a problem, without its answer."""
    currency = knowledge.shop.text("currency")
    return Exercise(
        topic,
        seed,
        number,
        kind_of(problem),
        problem.question,
        problem.unit if isinstance(problem, Numeric) else "",
        () if isinstance(problem, Numeric) else problem.choices,
        tolerance_words(problem),
        entry_words(problem, currency),
        problem.hint,
        knowledge,
    )


def check(exercise: Exercise, entered: object) -> Feedback:
    """Return what is said of an answer, the right one worked out anew; raises InputError for what cannot be read."""
    problem = problem_of(exercise.topic, exercise.seed, exercise.number, exercise.knowledge)
    return judged(problem, entered, exercise.knowledge.shop.text("currency"))


def key(topic: str, seed: int, knowledge: Knowledge | None = None) -> tuple[KeyEntry, ...]:
    """Return the answers to all exercises of a topic for a seed, for the teacher; raises as `exercise` does."""
    knowledge = knowledge or _own_knowledge()
    currency = knowledge.shop.text("currency")
    found = []
    for number in range(1, count(topic) + 1):
        problem = problem_of(topic, seed, number, knowledge)
        found.append(KeyEntry(number, kind_of(problem), key_entry(problem), working_lines(problem, currency)))
    return tuple(found)


def problem_of(topic: str, seed: int, number: int, knowledge: Knowledge) -> Problem:
    """Return the problem behind an exercise, its answer with it; raises as `exercise` does."""
    makers = topic_named(topic).makers
    _check_whole("seed", seed, 1, MOST_SEED)
    _check_whole("number", number, 1, len(makers))
    draw = random.Random(f"{topic}/{seed}/{number}")
    for _ in range(TRIES):
        problem = makers[number - 1](draw, knowledge)
        if problem is not None:
            return problem
    raise InputError(
        f"{topic}, exercise {number}, seed {seed}: these tables give no clear case; take another seed, or look at what "
        "was changed in the data folder."
    )


def _check_whole(name: str, value: object, least: int, most: int) -> None:
    if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most:
        raise InputError(f"{name}: {value!r} is not a whole number from {least} to {most}.")
