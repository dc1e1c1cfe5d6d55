"""What is entered: numbers in many spellings, units by many names; what cannot be read gets one sentence."""

from __future__ import annotations

import pytest

from moldkit.errors import InputError
from moldkit.lessons.entry import read_choice, read_figure, read_order
from moldkit.lessons.problem import COUNT, MONEY, RATIO

THREE = ("poured block", "brushed skin", "cavity pour")


@pytest.mark.parametrize(
    ("entered", "dimension", "value"),
    [
        ("3.2 kg", "mass", 3.2),
        ("3200 g", "mass", 3.2),
        ("3 200 g", "mass", 3.2),
        ("3\u202f200 g", "mass", 3.2),
        ("3.2e3 grams", "mass", 3.2),
        ("~3.2 Kg", "mass", 3.2),
        ("about 3.2 kilos", "mass", 3.2),
        # 1 lb = 0.45359237 kg exactly, 1 oz = a sixteenth of it (NIST Handbook 44, appendix C, from memory).
        ("10 lbs", "mass", 4.5359237),
        ("10 1/2 lb", "mass", 4.762719885),
        ("16 ounces", "mass", 0.45359237),
        # 1 in = 25.4 mm exactly (the same source).
        ('3/8"', "length", 0.009525),
        ("3/8 in", "length", 0.009525),
        ("1-1/2 inches", "length", 0.0381),
        ("1 1/2 in.", "length", 0.0381),
        (".5 feet", "length", 0.1524),
        ("1 gallon", "volume", 0.003785411784),
        ("250 cc", "volume", 0.00025),
        ("2 litres", "volume", 0.002),
        ("90 mins", "time", 5400.0),
        ("1.5 hrs", "time", 5400.0),
        ("120 cm²", "area", 0.012),
        ("3 bar", "pressure", 300_000.0),
        ("35 %", "share", 0.35),
        ("35 percent", "share", 0.35),
        ("0.35", "share", 0.35),
    ],
)  # fmt: skip
def test_a_figure_is_read_as_people_write_it(entered: str, dimension: str, value: float) -> None:
    assert read_figure(entered, dimension, "", "USD") == pytest.approx(value, rel=1e-9)


@pytest.mark.parametrize("entered", ["1240", "1240.00", "$1240", "$ 1 240", "1240 USD", "USD 1240", "1 240 usd", 1240])
def test_money_is_read_as_people_write_it(entered: object) -> None:
    assert read_figure(entered, MONEY, "USD", "USD") == 1240.0


@pytest.mark.parametrize("entered", ["42", "42 castings", "42.0", 42, " +42 "])
def test_a_count_is_read_with_and_without_its_noun(entered: object) -> None:
    assert read_figure(entered, COUNT, "castings", "USD") == 42.0


@pytest.mark.parametrize("entered", ["2.5", "2.5 times", "2.5x", 2.5, "5/2"])
def test_a_ratio_is_read(entered: object) -> None:
    assert read_figure(entered, RATIO, "", "USD") == 2.5


@pytest.mark.parametrize(
    ("entered", "dimension", "words"),
    [
        ("3,2 kg", "mass", "has a comma, which may mean a decimal point or thousands"),
        ("1,240", MONEY, "has a comma"),
        ("3.2", "mass", "has no unit"),
        ("3.2 L", "mass", "'L' is not a unit of mass"),
        ("heavy", "mass", "does not begin with a number"),
        ("", "mass", "does not begin with a number"),
        ("1/0 in", "length", "divides by nothing"),
        ("12 EUR", MONEY, "money in USD is asked for"),
        ("12 molds", COUNT, "a number of castings is asked for"),
        ("9**9 kg", "mass", "is not a unit of mass"),
        ("1e999 kg", "mass", "is not a finite number"),
        ("nan", COUNT, "does not begin with a number"),
        (None, "mass", "does not begin with a number"),
        (True, COUNT, "does not begin with a number"),
    ],
)
def test_a_figure_that_cannot_be_read_is_told_in_a_sentence(entered: object, dimension: str, words: str) -> None:
    with pytest.raises(InputError) as told:
        read_figure(entered, dimension, "castings" if dimension == COUNT else "", "USD")
    assert words in str(told.value)
    assert str(told.value).startswith("answer: ")


@pytest.mark.parametrize("entered", ["b", "B", "(b)", "b.", "2", 2, "line 2", "Brushed  Skin", " brushed skin "])
def test_a_choice_is_named_by_letter_place_or_text(entered: object) -> None:
    assert read_choice(entered, THREE) == "brushed skin"


@pytest.mark.parametrize("entered", ["d", "0", "4", "skin", "", None])
def test_what_is_no_choice_is_told(entered: object) -> None:
    with pytest.raises(InputError, match="none of the choices; write a letter from a to c"):
        read_choice(entered, THREE)


@pytest.mark.parametrize(
    "entered", ["cab", "c, a, b", "c a b", "c < a < b", "C-A-B", "312", ["c", "a", "b"], (3, 1, 2),
                "cavity pour; poured block; brushed skin"],
)  # fmt: skip
def test_an_order_is_named_by_letters_or_texts(entered: object) -> None:
    assert read_order(entered, THREE) == ("cavity pour", "poured block", "brushed skin")


@pytest.mark.parametrize(
    ("entered", "words"),
    [("ab", "2 of 3 are named"), ("aab", "stands there twice"), ("abd", "none of the choices"), ("", "is no order"),
     ("first the block", "is no order")],
)  # fmt: skip
def test_what_is_no_order_is_told(entered: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        read_order(entered, THREE)
