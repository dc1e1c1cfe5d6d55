"""Lives and renewal functions by the thousand: against the one-life code, scipy, printed tables and closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from moldkit.economics.life import Life, weibull_shape
from moldkit.economics.many_lives import share_worn, weibull_shapes, whole_moments
from moldkit.economics.renewal import expected_molds, renewal_function
from moldkit.economics.renewal_grid import FEW, SEVERAL, molds_of_lives
from moldkit.economics.renewal_tables import renewal_functions

Floats = NDArray[np.float64]


def test_shapes_by_table_are_those_by_bisection() -> None:
    spreads = np.geomspace(0.011, 1.95, 40)
    assert weibull_shapes(spreads) == pytest.approx([weibull_shape(s) for s in spreads], rel=1e-6)


def test_the_share_worn_is_scipys_weibull_at_whole_pours() -> None:
    # scipy.stats.weibull_min: an independent implementation of the distribution.
    pours = np.arange(0, 120)
    for median, spread in [(1.0, 0.3), (38.25, 0.15), (45.0, 0.5), (7.5, 1.2)]:
        shape = weibull_shape(spread)
        life = stats.weibull_min(shape, scale=median / math.log(2) ** (1 / shape))
        assert share_worn(pours, median, spread) == pytest.approx(life.cdf(pours), abs=1e-6)


def test_a_certain_life_is_worn_out_at_its_last_pour() -> None:
    assert share_worn(np.array([39, 40, 41]), 40.0, 0.0).tolist() == [0.0, 1.0, 1.0]


@pytest.mark.parametrize("spread", [0.05, 0.15, 0.3, 0.5, 1.0, 2.0])
def test_moments_of_whole_lives_are_those_of_the_chances(spread: float) -> None:
    medians = np.array([1.0, 2.6, 17.0, 38.25, 260.0])
    means, variances = whole_moments(medians, spread)
    lives = [Life(float(median), spread) for median in medians]
    assert means == pytest.approx([life.mean for life in lives], rel=2e-6)
    assert np.sqrt(variances) == pytest.approx([life.sd for life in lives], rel=2e-4, abs=1e-6)


def test_inverted_generating_functions_are_the_recursion() -> None:
    lives = [Life(m, s) for m, s in [(1.0, 0.5), (3.0, 0.15), (38.25, 0.3), (90.0, 0.5), (20.0, 1.5)]]
    worn = np.stack([share_worn(np.arange(401), life.median, life.spread) for life in lives])
    found = renewal_functions(worn)
    chances = np.diff(worn, axis=1, prepend=0.0)
    assert found == pytest.approx(np.stack([renewal_function(c, 400) for c in chances]), abs=1e-7)


def test_a_life_that_may_end_at_any_pour_alike_renews_in_proportion() -> None:
    # Closed form: a geometric life with chance p at every pour has m(n) = n p.
    n = np.arange(501)
    found = renewal_functions(np.stack([1 - 0.97**n, 1 - 0.6**n]))
    assert found == pytest.approx(np.stack([0.03 * n, 0.4 * n]), abs=1e-7)


def test_the_printed_weibull_renewal_table_is_met_by_a_mold_of_a_thousand_pours() -> None:
    # A First Course in Stochastic Models (Wiley, 2003), Table 8.1.1, p. 312, squared coefficient of variation 0.25:
    # t, M(t). The ceiling's half pour in 1000, once for each mold, is the tolerance beside half a printed digit.
    printed = {0.4: 0.1087, 0.6: 0.2422, 1.0: 0.6091, 1.5: 1.124, 2.5: 2.125}
    shape = weibull_shape(0.5)
    median = 1000 * math.log(2) ** (1 / shape) / math.gamma(1 + 1 / shape)
    medians = median * np.geomspace(0.9, 1 / 0.9, 2 * SEVERAL + 3)
    pours = np.array([round(t * 1000) + 1 for t in printed])
    found = molds_of_lives(medians, np.full(medians.size, 0.5), pours).at(0, pours.size)
    middle = found[:, SEVERAL + 1] - 1
    assert middle == pytest.approx(list(printed.values()), abs=4e-3)


def random_lives(seed: int, median: float, scatter: float, spreads: tuple[float, float]) -> tuple[Floats, Floats]:
    """Return a thousand lives round a median [pours], a factor exp(scatter) apart."""
    draw = np.random.default_rng(seed)
    medians = np.maximum(1.0, median * np.exp(scatter * draw.standard_normal(1000)))
    return medians, draw.uniform(*spreads, 1000)


@pytest.mark.parametrize(
    ("median", "scatter", "spreads"),
    [
        (38.0, 0.6, (0.15, 0.5)),  # rigid urethane in silicone, as the tables have it
        (3.0, 0.6, (0.15, 0.5)),  # so short that whole pours tell
        (1.2, 0.3, (0.3, 0.8)),
        (200.0, 0.7, (0.15, 0.5)),
        (1500.0, 0.7, (0.15, 0.5)),  # so long that tables go in steps of several pours
        (30.0, 0.5, (0.05, 0.09)),
        (30.0, 0.5, (0.6, 2.0)),
    ],
)
def test_molds_read_off_the_grid_are_within_a_thousandth_of_the_exact_ones(
    median: float, scatter: float, spreads: tuple[float, float]
) -> None:
    medians, variations = random_lives(7, median, scatter, spreads)
    pours = np.unique(np.round(np.geomspace(1, max(1100, 5 * median), 150)).astype(np.int64))
    found = molds_of_lives(medians, variations, pours)
    read = found.at(0, pours.size)
    for draw in range(0, 1000, 50):
        exact = expected_molds(Life(float(medians[draw]), float(variations[draw])), pours)
        assert read[:, draw] == pytest.approx(exact, rel=1e-3)


def test_a_block_of_pours_is_a_part_of_all() -> None:
    medians, variations = random_lives(3, 30.0, 0.5, (0.2, 0.4))
    found = molds_of_lives(medians, variations, np.arange(1, 90))
    assert np.array_equal(found.at(20, 45), found.at(0, 89)[20:45])


def test_far_beyond_the_table_molds_follow_their_line() -> None:
    medians, variations = random_lives(5, 12.0, 0.4, (0.2, 0.5))
    pours = np.array([1, 50, 5_000, 200_000])
    found = molds_of_lives(medians, variations, pours).at(0, 4)
    for draw in range(0, 1000, 200):
        exact = expected_molds(Life(float(medians[draw]), float(variations[draw])), pours)
        assert found[:, draw] == pytest.approx(exact, rel=1e-3)


@pytest.mark.parametrize("different", [1, FEW, 30])
def test_where_lives_are_few_nothing_is_read_between(different: int) -> None:
    medians = np.tile(np.linspace(5.0, 60.0, different), 5)
    pours = np.arange(1, 400)
    found = molds_of_lives(medians, np.full(medians.size, 0.3), pours).at(0, pours.size)
    exact = np.stack([expected_molds(Life(float(m), 0.3), pours) for m in medians], axis=1)
    assert found == pytest.approx(exact, rel=1e-12 if different <= FEW else 2e-5)


@pytest.mark.parametrize("farthest", [90, 5_000])
def test_lives_of_many_spreads_are_computed_each_for_itself(farthest: int) -> None:
    # Near pours are tabulated for all lives together, far ones for each spread by itself; certain lives lie between.
    medians, spreads = np.linspace(2.0, 80.0, 40), np.linspace(0.1, 0.6, 40)
    spreads[::7] = 0.0
    pours = np.unique(np.round(np.geomspace(1, farthest, 60)).astype(np.int64))
    found = molds_of_lives(medians, spreads, pours).at(0, pours.size)
    lives = [Life(float(m), float(s)) for m, s in zip(medians, spreads, strict=True)]
    exact = np.stack([expected_molds(life, pours) for life in lives], axis=1)
    assert found == pytest.approx(exact, rel=2e-5)


def test_certain_lives_take_whole_molds() -> None:
    # Closed form: ceil(n / L).
    medians = np.repeat(np.arange(3.0, 12.0), 2)
    pours = np.arange(1, 100)
    found = molds_of_lives(medians, np.zeros(medians.size), pours).at(0, pours.size)
    assert np.array_equal(found, np.ceil(pours[:, None] / medians))
