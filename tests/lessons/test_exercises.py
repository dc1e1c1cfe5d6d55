"""Exercises: every kind, for 25 seeds each, solvable, told apart, plain; the same for a seed; nothing given away."""

from __future__ import annotations

import pytest

from moldkit.errors import InputError
from moldkit.lessons.exercise import FLIP, KINDS, NUMERIC, Exercise
from moldkit.lessons.exercises import check, count, exercise, key, problem_of, shown_to_the_apprentice, topics
from moldkit.study.knowledge import Knowledge
from tests.lessons.proofs import faults

SEEDS = range(1, 26)
EVERY = [(topic, number) for topic in topics() for number in range(1, count(topic) + 1)]


@pytest.mark.parametrize(("topic", "number"), EVERY, ids=lambda part: str(part).replace(" ", "_"))
def test_every_exercise_holds_for_every_seed(topic: str, number: int, knowledge: Knowledge) -> None:
    found = []
    for seed in SEEDS:
        problem = problem_of(topic, seed, number, knowledge)
        shown = shown_to_the_apprentice(problem, topic, seed, number, knowledge)
        found += [f"seed {seed}: {words}" for words in faults(shown, problem)]
    assert found == []


def test_there_is_a_topic_for_every_lesson_and_a_figure_to_work_out_in_each(knowledge: Knowledge) -> None:
    assert len(topics()) == 12
    kinds = {topic: {exercise(topic, 1, n, knowledge).kind for n in range(1, count(topic) + 1)} for topic in topics()}
    assert {topic for topic in kinds if NUMERIC not in kinds[topic]} == set()
    assert set().union(*kinds.values()) == set(KINDS)
    for kind in KINDS:
        assert sum(kind in found for found in kinds.values()) >= 10


@pytest.mark.parametrize(("topic", "number"), EVERY[::9])
def test_a_seed_gives_the_same_exercise_each_time_and_another_seed_another_one(
    topic: str, number: int, knowledge: Knowledge
) -> None:
    assert exercise(topic, 7, number, knowledge) == exercise(topic, 7, number, knowledge)
    questions = {(e.question, e.choices) for seed in range(1, 13) for e in [exercise(topic, seed, number, knowledge)]}
    assert len(questions) > 8


@pytest.mark.parametrize("topic", topics())
def test_the_key_opens_every_exercise_and_no_other_seeds(topic: str, knowledge: Knowledge) -> None:
    for entry in key(topic, 3, knowledge):
        feedback = check(exercise(topic, 3, entry.number, knowledge), entry.entered)
        assert feedback.right
        assert feedback.working == entry.working
    numeric = [entry for entry in key(topic, 3, knowledge) if entry.kind == NUMERIC]
    others = [check(exercise(topic, seed, each.number, knowledge), each.entered).right
              for each in numeric for seed in range(20, 32)]  # fmt: skip
    assert sum(others) < len(others) / 2


def test_an_exercise_holds_no_answer(knowledge: Knowledge) -> None:
    held = set(Exercise.__dataclass_fields__)
    assert held == {"topic", "seed", "number", "kind", "question", "unit", "choices", "tolerance", "entry", "hint",
                    "knowledge"}  # fmt: skip
    shown = exercise("how much rubber", 4, 1, knowledge)
    entered = next(each.entered for each in key("how much rubber", 4, knowledge) if each.number == 1)
    assert "knowledge" not in repr(shown)
    assert entered.split()[0] not in repr(shown)


def test_a_first_wrong_answer_gets_a_hint_and_prints_no_figure(knowledge: Knowledge) -> None:
    shown = exercise("how much rubber", 4, 1, knowledge)
    feedback = check(shown, "123 kg")
    assert not feedback.right
    assert feedback.hint == shown.hint
    assert "working" not in repr(feedback)
    assert any("rubber to mix" in line for line in feedback.working)


def test_the_change_that_flips_is_one_of_four(knowledge: Knowledge) -> None:
    flips = [(topic, number) for topic, number in EVERY if exercise(topic, 2, number, knowledge).kind == FLIP]
    assert flips
    for topic, number in flips:
        shown = exercise(topic, 2, number, knowledge)
        assert sum(check(shown, choice).right for choice in shown.choices) == 1
        assert len(shown.choices) == 4


@pytest.mark.parametrize(
    ("topic", "seed", "number", "words"),
    [
        ("block or sknn", 1, 1, "did you mean 'block or skin'"),
        ("block or skin", 0, 1, "seed: 0 is not a whole number from 1"),
        ("block or skin", True, 1, "seed: True"),
        ("block or skin", 1.5, 1, "seed: 1.5"),
        ("block or skin", 1, 99, "number: 99 is not a whole number from 1 to 5"),
    ],
)
def test_what_there_is_not_is_told_in_a_sentence(
    topic: str, seed: int, number: int, words: str, knowledge: Knowledge
) -> None:
    with pytest.raises(InputError, match=words):
        exercise(topic, seed, number, knowledge)
