"""The verdict says nothing that the costs do not bear out."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

import pytest

from moldkit.economics.run_cost import lowest
from moldkit.study.case import Case
from moldkit.study.compare import TOSS_UP, Comparison
from moldkit.views.verdict import spoken, verdict

BUST = Case(form="bust", size=(0.144, 0.11, 0.2), run=40, name="Bust")
CASES = [
    replace(BUST, run=run, longest=longest, cavities=cavities, life=life, skin=skin)
    for run in (1, 12, 82, 400)
    for longest, cavities, skin in ((0.06, 4, None), (0.12, 1, 0.006), (0.2, 1, None))
    for life in (None, 40.0)
]
NUMBER = r"(\d[\d\u202f]*)"


def number(text: str) -> int:
    return int(text.replace("\u202f", ""))


def winners(result: Comparison, first: int, last: int) -> set[str]:
    """The techniques that are the cheapest from one run to another, by a direct look at the curves."""
    envelope = lowest(result.costs)
    return {spoken(result.outcomes[place].name) for place in envelope[first - 1 : last]}


@pytest.mark.parametrize("case", CASES, ids=lambda c: f"run {c.run}, {c.longest} m, x{c.cavities}, life {c.life}")
def test_every_stretch_that_the_verdict_names_is_won_by_the_technique_it_names(
    case: Case, compared: Callable[[Case], Comparison]
) -> None:
    result = compared(case)
    words = verdict(result).sentence
    for last, name in re.findall(rf"Up to {NUMBER} castings? the ([a-z ]+?) would win", words):
        assert winners(result, 1, number(last)) == {name}
    for first, last, name in re.findall(rf"[Ff]rom {NUMBER} to {NUMBER} castings? the ([a-z ]+?) would win", words):
        assert winners(result, number(first), number(last)) == {name}
    for first, last, name in re.findall(rf"[Ff]rom {NUMBER} castings? to {NUMBER} the ([a-z ]+?) would win", words):
        assert winners(result, number(first), number(last)) == {name}
    for first, name in re.findall(rf"[Ff]rom {NUMBER} castings? on the ([a-z ]+?) would win", words):
        assert winners(result, number(first), int(result.runs[-1])) == {name}
    if "changes the choice" in words:
        assert len(winners(result, 1, int(result.runs[-1]))) == 1


@pytest.mark.parametrize("case", CASES, ids=lambda c: f"run {c.run}, {c.longest} m, x{c.cavities}, life {c.life}")
def test_a_toss_up_names_every_technique_within_ten_per_cent_and_no_other(
    case: Case, compared: Callable[[Case], Comparison]
) -> None:
    result = compared(case)
    said = verdict(result)
    totals = {spoken(o.name): result.costs[place, case.run - 1] for place, o in enumerate(result.outcomes)}
    least = min(totals.values())
    near = {name for name, cost in totals.items() if cost <= (1 + TOSS_UP) * least}
    assert (said.kind == "near") == (len(near) > 1)
    if said.kind == "near":
        first = said.sentence.split(". ")[0]
        for name in totals:
            assert (re.search(rf"\b{name}(?! with a)", first) is not None) == (name in near)


def test_with_nothing_feasible_it_says_the_reason_that_all_share_and_what_would_work(
    compared: Callable[[Case], Comparison],
) -> None:
    said = verdict(compared(replace(BUST, method="lay-up")))
    assert said.kind == "none"
    assert "rigid urethane resin is not cast by lay-up" in said.sentence
    assert "Cast by open pour" in said.sentence


def test_a_saving_gives_its_largest_reason(compared: Callable[[Case], Comparison]) -> None:
    block = verdict(compared(replace(BUST, longest=0.05, run=1)))
    assert "hours less" in block.sentence
    large = verdict(compared(replace(BUST, longest=0.05, run=100, cavities=6)))
    assert "a pour gives 6 castings" in large.sentence
