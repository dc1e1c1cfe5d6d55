"""The lesson: a seed gives a clear case, nothing is shown before an answer, the check is computed."""

from __future__ import annotations

import pytest

from moldkit.errors import InputError
from moldkit.study.compare import TOSS_UP
from moldkit.study.knowledge import Knowledge
from moldkit.study.lesson import judge_rubber, judge_technique, lesson_case, rubber_mass
from moldkit.views.panel.lesson import NOT_YET, BlockOrSkin


@pytest.mark.parametrize("seed", range(1, 13))
def test_a_seed_gives_a_case_that_is_no_toss_up_and_always_the_same(seed: int, knowledge: Knowledge) -> None:
    lesson = lesson_case(seed, knowledge)
    totals = {o.name: float(lesson.result.total(o).value) for o in lesson.result.outcomes if o.name in lesson.choices}  # type: ignore[union-attr]
    low, high = sorted(totals.values())
    assert high > (1 + TOSS_UP) * low
    assert totals[lesson.answer.name] == low
    assert lesson_case(seed, knowledge).situation == lesson.situation


def test_both_answers_turn_up_among_the_seeds(knowledge: Knowledge) -> None:
    answers = {lesson_case(seed, knowledge).answer.name for seed in range(1, 13)}
    assert answers == {"poured block", "brushed skin"}


def test_the_right_technique_is_right_and_the_other_is_not(knowledge: Knowledge) -> None:
    lesson = lesson_case(7, knowledge)
    best = lesson.answer.name
    other = next(name for name in lesson.choices if name != best)
    assert judge_technique(lesson, best).right
    assert not judge_technique(lesson, other).right
    with pytest.raises(InputError, match="is not one of"):
        judge_technique(lesson, "glove mold")


@pytest.mark.parametrize(("factor", "right"), [(1.0, True), (1.2, True), (1.3, False), (0.7, False)])
def test_a_guess_of_the_rubber_counts_within_a_quarter(factor: float, right: bool, knowledge: Knowledge) -> None:
    lesson = lesson_case(7, knowledge)
    mass = float(rubber_mass(lesson, "poured block").value)
    assert judge_rubber(lesson, "poured block", factor * mass).right is right


def test_nothing_is_shown_before_an_answer_is_committed(
    knowledge: Knowledge, capsys: pytest.CaptureFixture[str]
) -> None:
    lesson = BlockOrSkin(7, knowledge)
    lesson.show_working("Rubber")
    assert lesson.show_sizes() is None
    assert capsys.readouterr().out == f"{NOT_YET}\n{NOT_YET}\n"
    widgets = len(lesson.children)
    lesson.button.click()
    assert "Choose one of the two first" in lesson.feedback.value
    lesson.choice.value = "poured block"
    lesson.button.click()
    assert len(lesson.children) == widgets + 1
    assert lesson.choice.disabled
    lesson.show_working("Rubber")
    assert "rubber to mix" in capsys.readouterr().out
    with pytest.raises(InputError, match="committed already"):
        lesson.commit("brushed skin", 1.0)


def test_the_answer_does_not_stand_in_the_notebook(knowledge: Knowledge) -> None:
    lesson = BlockOrSkin(7, knowledge)
    shown = lesson.children[0].value + lesson.feedback.value
    assert "cheaper" not in shown
    assert f"{rubber_mass(lesson.lesson, 'poured block').value:.2f}" not in shown
