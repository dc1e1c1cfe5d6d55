"""Expected costs against whole runs played through mold by mold."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from moldkit.economics.life import Life, weibull_shape
from moldkit.economics.renewal import expected_molds
from moldkit.economics.run_cost import total_cost
from moldkit.study.assess import pours_for
from moldkit.study.case import Case
from moldkit.study.compare import Comparison
from moldkit.study.uncertainty.spread import draw
from moldkit.study.uncertainty.totals import costs_at
from tests.study.simulate_runs import played_to_the_last_good_casting, simulated_costs

PLAYS = 20_000
BUST = Case(form="bust", size=(0.20, 0.15, 0.28), undercut="moderate", run=120, good_share=0.95)


def four_errors(costs: np.ndarray) -> float:
    """Return four standard errors of a mean: one in some 16,000 true means lies beyond."""
    return 4.0 * float(costs.std(ddof=1)) / math.sqrt(costs.size) + 1e-9


@pytest.mark.parametrize(
    ("run", "cavities", "good_share", "median", "spread"),
    [
        (60, 1, 1.0, 38.25, 0.3),
        (60, 1, 0.95, 38.25, 0.3),
        (200, 1, 0.8, 12.0, 0.5),
        (25, 1, 0.9, 2.4, 0.3),
        (300, 6, 0.95, 40.5, 0.3),
        (90, 4, 0.7, 7.0, 0.15),
        (40, 1, 1.0, 15.0, 1.0),
    ],
)
def test_the_expected_cost_of_a_run_is_that_of_many_runs_played(
    run: int, cavities: int, good_share: float, median: float, spread: float
) -> None:
    first, remake, pour = 310.0, 120.0, 17.5
    case = replace(BUST, run=run, good_share=good_share)
    pours = pours_for(case, cavities, run)
    molds = expected_molds(Life(median, spread), np.array([pours]))[0]
    costs = simulated_costs(
        run=run, cavities=cavities, good_share=good_share, median=median, shape=weibull_shape(spread),
        first=first, remake=remake, pour=pour, plays=PLAYS, seed=run,
    )  # fmt: skip
    assert total_cost(first, remake, pour, molds, pours) == pytest.approx(costs.mean(), abs=four_errors(costs))


@pytest.mark.parametrize("cavities", [1, 4])
def test_a_drawn_shop_costs_what_its_runs_cost_when_played(
    compared: Callable[[Case], Comparison], cavities: int
) -> None:
    result = compared(replace(BUST, cavities=cavities))
    shops = draw(result, draws=512, seed=4).shops
    costs = costs_at(shops, result.case.run)
    for place in range(0, 512, 100):
        for technique in range(len(costs)):
            played = simulated_costs(
                run=result.case.run, cavities=shops.cavities[technique], good_share=result.case.good_share,
                median=shops.median[technique, place], shape=weibull_shape(float(shops.spread[technique, place])),
                first=shops.first[technique, place], remake=shops.remake[technique, place],
                pour=shops.pour[technique, place], plays=4_000, seed=place,
            )  # fmt: skip
            # The renewal function is read off a grid within a thousandth.
            near = four_errors(played) + 1e-3 * costs[technique, place]
            assert costs[technique, place] == pytest.approx(played.mean(), abs=near)


def test_counting_rejects_on_average_is_within_a_pour_of_counting_them_by_chance() -> None:
    # Closed form: k good castings take k / p starts on average (negative binomial); the kit takes that number, up.
    pours, molds = played_to_the_last_good_casting(
        run=60, good_share=0.9, median=38.25, shape=weibull_shape(0.3), plays=4_000, seed=2
    )
    assert pours.mean() == pytest.approx(60 / 0.9, abs=four_errors(pours))
    wanted = pours_for(replace(BUST, run=60, good_share=0.9), 1, 60)
    assert 0.0 <= wanted - 60 / 0.9 < 1.0
    expected = expected_molds(Life(38.25, 0.3), np.array([wanted - 1, wanted]))
    assert expected[0] - 0.02 < molds.mean() + four_errors(molds)
    assert expected[1] + 0.02 > molds.mean() - four_errors(molds)
