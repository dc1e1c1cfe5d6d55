"""The run at which another technique becomes the cheapest: published lines, stairs by hand, brute force."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from moldkit.economics.run_cost import crossings, lowest, total_cost

Floats = NDArray[np.float64]
OUT = np.inf


def lines(pairs: list[tuple[float, float]], farthest: int) -> tuple[Floats, NDArray[np.int64]]:
    """Return fixed + variable x run for each pair, over the runs 1 to `farthest`."""
    runs = np.arange(1, farthest + 1, dtype=np.int64)
    return np.array([fixed + variable * runs for fixed, variable in pairs], dtype=float), runs


def found(costs: Any, runs: NDArray[np.int64] | None = None) -> list[tuple[int, int, int]]:
    """Return the crossings as (run, before, after)."""
    table = np.asarray(costs, dtype=float)
    at = np.arange(1, table.shape[1] + 1) if runs is None else runs
    return [(c.run, c.before, c.after) for c in crossings(table, at)]


# ----------------------------------------------------------------------------------------------- published problems


@pytest.mark.parametrize(
    ("pairs", "farthest", "wanted"),
    [
        # Break-even of a product: fixed 20,000, price 400, variable 250: 134 units, the first whole number past 133.33.
        # https://psu.pb.unizin.org/acctg211/chapter/breakeven-analysis (adapted from an open accounting book, 3.2).
        # Revenue is the lower line until the cost falls below it.
        ([(0, 400), (20_000, 250)], 1000, [(134, 0, 1)]),
        # 1000 + 5x against 500 + 10x: equal at 100 (textbook problem, recomputed: 500 / 5). At a tie the first stays.
        ([(500, 10), (1000, 5)], 1000, [(101, 0, 1)]),
        # 9000 + 50x against 90,000 + 5x: equal at 1800 (textbook problem, recomputed: 81,000 / 45).
        ([(9000, 50), (90_000, 5)], 5000, [(1801, 0, 1)]),
        # Three machines: X 1200 + 35Q, Y 1000 + 42Q, Z 1500 + 30Q. Y below 28.571, X up to 60, Z above (textbook
        # problem as set at numerade.com, number 97176; recomputed). Y and Z meet at 41.667, above X: no crossing.
        ([(1200, 35), (1000, 42), (1500, 30)], 200, [(29, 1, 0), (61, 0, 2)]),
        # Four sites: 1.26 M + 60, 1.0 M + 70, 1.625 M + 55, 1.96 M + 50. Breaks at 26,000 and 70,000; the 55 line
        # never wins (textbook problem, recomputed: 260,000 / 10 and 700,000 / 10; 60 meets 55 only at 73,000).
        (
            [(1_260_000, 60), (1_000_000, 70), (1_625_000, 55), (1_960_000, 50)],
            100_000,
            [(26_001, 1, 0), (70_001, 0, 3)],
        ),
    ],
    ids=["break-even", "two lines", "two far lines", "three lines", "four lines"],
)
def test_published_lines_cross_where_the_book_says(
    pairs: list[tuple[float, float]], farthest: int, wanted: list[tuple[int, int, int]]
) -> None:
    costs, runs = lines(pairs, farthest)
    assert found(costs, runs) == wanted


def test_a_crossing_carries_the_new_curves_cost() -> None:
    costs, runs = lines([(500, 10), (1000, 5)], 200)
    (crossing,) = crossings(costs, runs)
    assert crossing.cost == 1000 + 5 * 101


# ---------------------------------------------------------------------------------------------------- stairs by hand


def test_stairs_that_cross_back_are_reported_each_time() -> None:
    # A: a mold at 10 that lasts 3 pours, nothing a pour: 10 10 10 20 20 20 30 30.
    # B: a mold at 12 that lasts 4 pours:                   12 12 12 12 24 24 24 24.
    # B is lower at 4 (12 < 20), A at 5 and 6 (20 < 24), B at 7 and 8 (24 < 30). Worked by hand.
    a = [10, 10, 10, 20, 20, 20, 30, 30]
    b = [12, 12, 12, 12, 24, 24, 24, 24]
    assert found([a, b]) == [(4, 0, 1), (5, 1, 0), (7, 0, 1)]
    assert lowest(np.array([a, b], dtype=float)).tolist() == [0, 0, 0, 1, 0, 0, 1, 1]


def test_stairs_from_the_cost_of_a_run_cross_back() -> None:
    # Certain lives: first mold 100 and remake 100, life 10; against first 150 and remake 50, life 20; 2 a pour.
    # A: 100 up to 10, 200 up to 20, 300 up to 30 ...; B: 150 up to 20, 200 up to 40, 250 up to 60.
    runs = np.arange(1, 31)
    a = total_cost(100.0, 100.0, 2.0, np.ceil(runs / 10), runs)
    b = total_cost(150.0, 50.0, 2.0, np.ceil(runs / 20), runs)
    assert a[[0, 9, 10, 29]].tolist() == [102.0, 120.0, 222.0, 360.0]
    assert b[[0, 19, 20]].tolist() == [152.0, 190.0, 242.0]
    assert found([a, b]) == [(11, 0, 1)]


def test_at_a_tie_the_incumbent_stays() -> None:
    assert found([[1, 2, 3], [2, 2, 3]]) == []
    assert lowest(np.array([[1.0, 2.0, 3.0], [2.0, 2.0, 3.0]])).tolist() == [0, 0, 0]


def test_an_incumbent_of_higher_place_stays_at_a_tie_too() -> None:
    assert found([[3, 2, 1, 1], [2, 2, 1, 2]]) == [(4, 1, 0)]
    assert lowest(np.array([[3.0, 2.0, 1.0, 1.0], [2.0, 2.0, 1.0, 2.0]])).tolist() == [1, 1, 1, 0]


def test_at_a_tie_at_the_start_the_first_in_the_table_stands() -> None:
    assert lowest(np.array([[5.0, 5.0], [5.0, 4.0]])).tolist() == [0, 1]


def test_a_difference_in_the_last_digits_of_a_sum_is_a_tie() -> None:
    third = 0.1 + 0.2
    assert third != 0.3
    assert found([[0.2, 0.3, third], [0.4, third, 0.3]]) == []


def test_a_pair_that_crosses_above_a_third_curve_is_no_crossing() -> None:
    assert found([[5, 6, 7, 8], [7, 6.5, 6.4, 6], [1, 1, 1, 1]]) == []


def test_a_curve_that_is_out_is_never_lowest_and_crosses_nothing() -> None:
    assert found([[OUT, OUT, OUT], [3, 4, 5], [4, 4, 4]]) == [(3, 1, 2)]


def test_nothing_feasible_has_no_lowest_and_no_crossing() -> None:
    costs = np.full((3, 4), OUT)
    assert lowest(costs).tolist() == [-1, -1, -1, -1]
    assert found(costs) == []


def test_a_gap_in_which_nothing_is_feasible_is_no_crossing() -> None:
    costs = [[1, OUT, OUT, 9], [2, OUT, OUT, 5]]
    assert lowest(np.array(costs, dtype=float)).tolist() == [0, -1, -1, 1]
    assert found(costs) == []


def test_a_curve_that_drops_out_hands_over_to_the_next() -> None:
    assert found([[1, 1, OUT, OUT], [2, 2, 2, 2]]) == [(3, 0, 1)]


# ------------------------------------------------------------------------------------------------------- brute force

COSTS = st.integers(0, 5).map(float) | st.just(OUT)


@st.composite
def tables(draw: Any) -> Floats:
    curves, runs = draw(st.integers(1, 5)), draw(st.integers(1, 25))
    cells = draw(st.lists(COSTS, min_size=curves * runs, max_size=curves * runs))
    return np.array(cells).reshape(curves, runs)


def walked(costs: Floats) -> list[int]:
    """Return the lowest curve at each run, by walking along the runs as a person would."""
    here, path = -1, []
    for column in costs.T:
        least = min(column)
        if least == OUT:
            here = -1
        elif here < 0 or column[here] > least:
            here = list(column).index(least)
        path.append(here)
    return path


@given(tables())
@settings(max_examples=200)
def test_the_lowest_curve_is_the_one_found_by_walking_along_the_runs(costs: Floats) -> None:
    assert lowest(costs).tolist() == walked(costs)


@given(tables())
@settings(max_examples=200)
def test_the_crossings_are_the_changes_met_by_walking_along_the_runs(costs: Floats) -> None:
    path = walked(costs)
    wanted = [
        (run, before, after)
        for run, (before, after) in enumerate(pairwise(path), start=2)
        if before != after and before >= 0 and after >= 0
    ]
    assert found(costs) == wanted


@given(tables())
def test_the_envelope_is_never_above_any_curve(costs: Floats) -> None:
    path = lowest(costs)
    for column, place in enumerate(path):
        if place >= 0:
            assert np.all(costs[place, column] <= costs[:, column])
        else:
            assert np.all(np.isinf(costs[:, column]))


@given(tables(), st.integers(0, 6))
def test_the_same_amount_on_every_curve_moves_no_crossing(costs: Floats, more: int) -> None:
    assert found(costs + more) == found(costs)


@given(tables())
def test_a_curve_that_is_out_everywhere_changes_nothing(costs: Floats) -> None:
    with_one_more = np.vstack([costs, np.full((1, costs.shape[1]), OUT)])
    assert found(with_one_more) == found(costs)
