"""A move from one figure to the next: a patch gives the same figure, and is taken only where it can be."""

from __future__ import annotations

import copy
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from moldkit.study.case import Case
from moldkit.study.compare import Comparison
from moldkit.study.curves import curve_table
from moldkit.views.charts import cost_chart
from moldkit.views.moves import MOVES, moved

BUST = Case(form="bust", size=(0.144, 0.11, 0.2), run=40, name="Bust")


def applied(figure: dict[str, Any], patch: dict[str, Any]) -> dict[str, Any]:
    """The figure with a patch put in, as the page does it."""
    if isinstance(patch["data"], list):
        return patch
    whole = copy.deepcopy(figure)
    for place, changes in patch["data"].items():
        whole["data"][place] |= changes
    whole["layout"] |= patch["layout"]
    return whole


def same(one: Any, other: Any) -> bool:
    if isinstance(one, dict):
        return one.keys() == other.keys() and all(same(one[key], other[key]) for key in one)
    if isinstance(one, list):
        return len(one) == len(other) and all(same(a, b) for a, b in zip(one, other, strict=True))
    return bool(np.array_equal(one, other)) if isinstance(one, np.ndarray) else one == other


@pytest.fixture
def drawn(compared: Callable[[Case], Comparison]) -> Callable[[Case], dict[str, Any]]:
    return lambda case: cost_chart(curve_table(compared(case), 1000))


@pytest.mark.parametrize("longest", [0.19, 0.199, 0.205, 0.3, 0.06])
@pytest.mark.parametrize("run", [40, 55, 900])
def test_a_patch_gives_the_figure_that_was_asked_for(
    longest: float, run: int, drawn: Callable[[Case], dict[str, Any]]
) -> None:
    before, after = drawn(BUST), drawn(replace(BUST, run=run, longest=longest))
    assert same(applied(before, moved(before, after)), after)


def test_another_run_moves_shapes_only(drawn: Callable[[Case], dict[str, Any]]) -> None:
    patch = moved(drawn(BUST), drawn(replace(BUST, run=55)))
    assert patch["data"] == {}
    assert list(patch["layout"]) == ["shapes"]


def test_another_size_moves_points_and_shapes_only(drawn: Callable[[Case], dict[str, Any]]) -> None:
    patch = moved(drawn(BUST), drawn(replace(BUST, longest=0.199)))
    assert isinstance(patch["data"], dict)
    assert all(set(changes) <= set(MOVES) for changes in patch["data"].values())


def test_what_cannot_move_in_place_is_drawn_whole(drawn: Callable[[Case], dict[str, Any]]) -> None:
    before = drawn(BUST)
    assert moved(None, before) is before
    for other in (replace(BUST, method="pressure"), replace(BUST, longest=0.8)):
        after = drawn(other)
        assert moved(before, after) is after


def test_axes_end_at_one_two_or_five_of_a_decade(drawn: Callable[[Case], dict[str, Any]]) -> None:
    for longest in (0.05, 0.1, 0.2, 0.5):
        for end in drawn(replace(BUST, longest=longest))["layout"]["yaxis"]["range"]:
            assert min(abs(10 ** (end % 1) - step) for step in (1, 2, 5, 10)) < 1e-9
