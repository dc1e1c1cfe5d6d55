"""The measure of plain reading itself: it tells a plain text from a stiff one."""

from __future__ import annotations

import pytest

from tests.lessons.reading_level import grade, longest_sentence, sentences, syllables


@pytest.mark.parametrize(
    ("word", "count"), [("mold", 1), ("rubber", 2), ("casting", 2), ("cavity", 3), ("made", 1), ("little", 2), ("a", 1)]
)
def test_syllables_are_counted(word: str, count: int) -> None:
    assert syllables(word) == count


def test_a_plain_text_reads_at_a_low_grade_and_a_stiff_one_at_a_high_grade() -> None:
    plain = "The cat sat on the mat. It was warm. The dog came in and sat down too."
    stiff = (
        "Notwithstanding considerable organizational difficulties, the administration subsequently implemented "
        "comprehensive regulatory modifications concerning institutional accountability."
    )
    assert grade(plain) < 3
    assert grade(stiff) > 20


def test_a_point_in_a_number_ends_no_sentence() -> None:
    assert sentences("It is 3.5 mm thick. Is it?") == ["It is 3.5 mm thick.", "Is it?"]
    assert longest_sentence("It is 3.5 mm thick. Is it so?") == 4
