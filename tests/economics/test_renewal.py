"""Molds worn out by a run: the renewal function against printed tables, closed forms, bounds and simulation."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from fractions import Fraction
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy import stats

from moldkit.economics.life import Life, weibull_shape
from moldkit.economics.renewal import expected_molds, renewal_function

Floats = NDArray[np.float64]


def whole_pours(share_worn: Callable[[Floats], Floats], per_unit: int, longest: int) -> Floats:
    """Return f(k) = F(k) - F(k-1) of a continuous life cut into `per_unit` steps a unit of time."""
    return np.diff(share_worn(np.arange(longest + 1) / per_unit), prepend=0.0)


def continuous(share_worn: Callable[[Floats], Floats], times: tuple[float, ...], per_unit: int = 400) -> Floats:
    """Return m(t) of a continuous life from the whole-pour recursion at two step sizes.

    Making a life whole by ceiling lengthens it by half a step on average, an error that halves with the step:
    twice the finer answer less the coarser one removes it (Richardson).
    """
    found = []
    for steps in (per_unit, 2 * per_unit):
        longest = round(max(times) * steps)
        m = renewal_function(whole_pours(share_worn, steps, longest), longest)
        found.append(m[[round(t * steps) for t in times]])
    return np.asarray(2 * found[1] - found[0])


# ------------------------------------------------------------------------------------- printed tables, closed forms

# A First Course in Stochastic Models (Wiley, 2003), Table 8.1.1, p. 312: renewal function of the Weibull
# distribution with mean 1. Columns: squared coefficient of variation, shape printed beside it, t, M(t) as printed.
WEIBULL_TABLE = [
    (0.25, 2.10135, "0.1", ".0061"),
    (0.25, 2.10135, "0.2", ".0261"),
    (0.25, 2.10135, "0.4", ".1087"),
    (0.25, 2.10135, "0.6", ".2422"),
    (0.25, 2.10135, "0.8", ".4141"),
    (0.25, 2.10135, "1.0", ".6091"),
    (0.25, 2.10135, "1.2", ".8143"),
    (0.25, 2.10135, "1.5", "1.124"),
    (0.25, 2.10135, "2.0", "1.627"),
    (0.25, 2.10135, "2.5", "2.125"),
    (2.0, 0.720905, "0.2", ".3841"),
    (2.0, 0.720905, "0.5", ".7785"),
    (2.0, 0.720905, "1.0", "1.357"),
    (2.0, 0.720905, "1.5", "1.901"),
    (2.0, 0.720905, "2.0", "2.428"),
    (2.0, 0.720905, "2.5", "2.947"),
    (2.0, 0.720905, "3.0", "3.460"),
    (2.0, 0.720905, "3.5", "3.969"),
    (2.0, 0.720905, "5.0", "5.485"),
    (2.0, 0.720905, "7.5", "7.995"),
]


@pytest.mark.parametrize(("squared_cv", "shape", "t", "printed"), WEIBULL_TABLE)
def test_fine_steps_reproduce_the_printed_weibull_renewal_table(
    squared_cv: float, shape: float, t: str, printed: str
) -> None:
    life = stats.weibull_min(shape, scale=1 / math.gamma(1 + 1 / shape))
    (found,) = continuous(life.cdf, (float(t),))
    # Half a printed digit, and a tenth of that for the solution of the table itself (.41405 stands as .4141).
    half_a_digit = 0.55 * 10.0 ** -len(printed.split(".")[1])
    assert found == pytest.approx(float(printed), abs=half_a_digit)


@pytest.mark.parametrize(("squared_cv", "t", "printed"), [(c, t, m) for c, _, t, m in WEIBULL_TABLE if t != "0.1"])
def test_a_mold_of_two_thousand_pours_follows_the_printed_table(squared_cv: float, t: str, printed: str) -> None:
    # The whole chain: spread -> shape -> chances -> expected molds. The ceiling's half pour in 2000, once for each
    # mold worn out and once for the last, is the tolerance beside half a printed digit.
    spread = math.sqrt(squared_cv)
    shape = weibull_shape(spread)
    median = 2000 * math.log(2) ** (1 / shape) / math.gamma(1 + 1 / shape)
    pours = round(float(t) * 2000)
    found = expected_molds(Life(median, spread), np.array([pours + 1]))[0] - 1
    tolerance = 0.5 * 10.0 ** -len(printed.split(".")[1]) + (float(printed) + 1) / 2000
    assert found == pytest.approx(float(printed), abs=tolerance)


@pytest.mark.parametrize(("squared_cv", "shape"), sorted({(c, s) for c, s, _, _ in WEIBULL_TABLE}))
def test_the_shape_for_a_spread_is_the_one_printed_over_the_table(squared_cv: float, shape: float) -> None:
    # Same table, the shapes printed in its heads.
    assert weibull_shape(math.sqrt(squared_cv)) == pytest.approx(shape, rel=1e-5)


@pytest.mark.parametrize("spread", [0.01, 0.05, 0.15, 0.3, 0.5, 1.0, 1.4, 2.0])
def test_the_shape_gives_the_spread_that_scipy_finds_for_it(spread: float) -> None:
    # scipy.stats.weibull_min: an independent implementation of the moments.
    mean, variance = stats.weibull_min.stats(weibull_shape(spread), moments="mv")
    assert math.sqrt(variance) / mean == pytest.approx(spread, rel=1e-6)


def test_spread_one_is_the_exponential_life() -> None:
    # Closed form: a Weibull with shape 1 is exponential, whose standard deviation is its mean.
    assert weibull_shape(1.0) == pytest.approx(1.0, abs=1e-9)


# Erlang lives with rate 1 (gamma, whole shape). Closed forms from memory, by Laplace transform:
# Erlang-2: m(t) = t/2 - 1/4 + exp(-2t)/4.
# Erlang-3: m(t) = t/3 - 1/3 + exp(-3t/2) [cos(sqrt(3) t/2) + sin(sqrt(3) t/2)/sqrt(3)] / 3.
def erlang_2(t: float) -> float:
    return t / 2 - 0.25 + math.exp(-2 * t) / 4


def erlang_3(t: float) -> float:
    turn = math.sqrt(3) * t / 2
    return t / 3 - 1 / 3 + math.exp(-1.5 * t) * (math.cos(turn) + math.sin(turn) / math.sqrt(3)) / 3


@pytest.mark.parametrize(
    ("shape", "closed_form", "t", "value"),
    [
        (2, erlang_2, 1.0, 0.283834),
        (2, erlang_2, 3.0, 1.250620),
        (2, erlang_2, 6.0, 2.750002),
        (3, erlang_3, 1.0, 0.080897),
        (3, erlang_3, 3.0, 0.664603),
        (3, erlang_3, 6.0, 1.666665),
    ],
)
def test_fine_steps_reproduce_erlang_lives(
    shape: int, closed_form: Callable[[float], float], t: float, value: float
) -> None:
    assert closed_form(t) == pytest.approx(value, abs=5e-7)
    (found,) = continuous(stats.gamma(shape).cdf, (t,))
    assert found == pytest.approx(value, abs=2e-6)


@pytest.mark.parametrize("t", [0.25, 0.5, 1.0])
def test_fine_steps_reproduce_a_uniform_life(t: float) -> None:
    # Life uniform on 0 to 1: m(t) = exp(t) - 1 up to t = 1. Closed form, from memory; m(1) = 1.718282.
    (found,) = continuous(stats.uniform().cdf, (t,))
    assert found == pytest.approx(math.expm1(t), abs=1e-5)


@pytest.mark.parametrize("t", [0.5, 2.0, 5.0])
def test_fine_steps_reproduce_an_exponential_life(t: float) -> None:
    # Exponential life: m(t) = t / mean. Closed form.
    (found,) = continuous(stats.expon(scale=2.0).cdf, (t,))
    assert found == pytest.approx(t / 2.0, abs=1e-5)


@pytest.mark.parametrize("p", [1.0, 0.5, 0.1, 0.02])
def test_geometric_life_wears_out_n_p_molds_exactly(p: float) -> None:
    # Each pour wears the mold out with chance p, whatever its age: m(n) = n p. Closed form.
    k = np.arange(1, 301)
    chances = np.concatenate([[0.0], p * (1 - p) ** (k - 1)])
    assert renewal_function(chances, 300) == pytest.approx(p * np.arange(301), abs=1e-11)


@pytest.mark.parametrize("lasts", [1, 2, 7, 40])
def test_certain_life_takes_one_mold_for_every_whole_life(lasts: int) -> None:
    # n pours from molds of L pours take ceil(n / L) molds. Arithmetic.
    pours = np.arange(1, 200)
    wanted = [math.ceil(Fraction(int(n), lasts)) for n in pours]
    assert expected_molds(Life(lasts, 0.0), pours).tolist() == wanted
    assert (1 + renewal_function(Life(lasts, 0.0).chances, 199)[pours - 1]).tolist() == wanted


def test_a_mold_that_lasts_one_or_two_pours_by_hand() -> None:
    # f(1) = f(2) = 1/2. m(1) = 1/2; m(2) = 1 + m(1)/2 = 5/4; m(3) = 1 + m(2)/2 + m(1)/2 = 15/8;
    # m(4) = 1 + m(3)/2 + m(2)/2 = 41/16. Worked by hand from the renewal equation.
    assert renewal_function(np.array([0.0, 0.5, 0.5]), 4).tolist() == [0.0, 0.5, 1.25, 1.875, 2.5625]


@pytest.mark.parametrize("pours", [1, 2, 3, 4, 5, 6])
def test_expected_molds_equal_the_sum_over_every_possible_sequence_of_lives(pours: int) -> None:
    # Lives 1, 2 or 4 pours with chances 1/5, 1/2, 3/10: every sequence enumerated in fractions.
    chances = {1: Fraction(1, 5), 2: Fraction(1, 2), 4: Fraction(3, 10)}
    expected = Fraction(0)
    for sequence in itertools.product(chances, repeat=pours):
        weight = math.prod(chances[life] for life in sequence)
        molds = next(k for k in range(1, pours + 1) if sum(sequence[:k]) >= pours)
        expected += weight * molds
    m = renewal_function(np.array([0.0, 0.2, 0.5, 0.0, 0.3]), pours)
    assert 1 + m[pours - 1] == pytest.approx(float(expected), abs=1e-14)


# ------------------------------------------------------------------------------------------------ laws and bounds


@pytest.mark.parametrize("life", [Life(45, 0.3), Life(20, 0.15), Life(8, 0.5), Life(200, 0.3), Life(3, 1.4)])
def test_far_on_the_molds_follow_their_asymptote(life: Life) -> None:
    # E[M] - n/mean tends to (sd^2 + mean^2 - mean) / (2 mean^2): key renewal theorem for lives of whole pours.
    # The geometric life checks it by hand: mean 1/p, variance (1-p)/p^2, E[M] - n p = 1 - p.
    n = math.ceil(120 * life.mean)
    (found,) = 1 + renewal_function(life.chances, n)[[n - 1]]
    limit = (life.sd**2 + life.mean**2 - life.mean) / (2 * life.mean**2)
    assert found - n / life.mean == pytest.approx(limit, abs=1e-6)
    assert expected_molds(life, np.array([n]))[0] == pytest.approx(found, abs=1e-8)


def test_a_billion_pours_are_answered_from_the_asymptote() -> None:
    # No table is that long: the answer rests on slope and offset alone.
    life = Life(45, 0.3)
    limit = (life.sd**2 + life.mean**2 - life.mean) / (2 * life.mean**2)
    found = expected_molds(life, np.array([1, 1_000_000_000]))
    assert found[0] == 1.0
    assert found[1] - 1e9 / life.mean == pytest.approx(limit, abs=1e-6)


@pytest.mark.parametrize("life", [Life(45, 0.3), Life(30, 0.05), Life(6, 0.8), Life(2.5, 2.0)])
def test_the_shortened_table_equals_the_whole_recursion(life: Life) -> None:
    pours = np.unique(np.geomspace(1, 5000, 60).astype(np.int64))
    whole = 1 + renewal_function(life.chances, 5000)[pours - 1]
    assert expected_molds(life, pours) == pytest.approx(whole, abs=1e-7)


@pytest.mark.parametrize("life", [Life(45, 0.3), Life(30, 0.05), Life(6, 0.8)])
def test_a_run_costs_the_same_molds_whatever_other_runs_are_asked_for(life: Life) -> None:
    pours = np.arange(1, 400)
    one_by_one = np.array([expected_molds(life, np.array([n]))[0] for n in pours])
    assert expected_molds(life, pours) == pytest.approx(one_by_one, abs=1e-9)


@st.composite
def some_chances(draw: Any) -> Floats:
    weights = draw(st.lists(st.integers(0, 9), min_size=1, max_size=12).filter(any))
    return np.array([0.0, *weights]) / sum(weights)


@given(some_chances(), st.integers(1, 80))
def test_molds_worn_out_keep_within_the_renewal_bounds(chances: Floats, pours: int) -> None:
    # n/mean - 1 < m(n) <= n/mean + c^2 (lower: elementary renewal theorem, from Wald's identity, for whole pours
    # even (n+1)/mean - 1; upper: Lorden's inequality, Annals of Mathematical Statistics 41, 1970; from memory).
    k = np.arange(chances.size)
    mean = float(chances @ k)
    squared_cv = float(chances @ (k - mean) ** 2) / mean**2
    m = renewal_function(chances, pours)
    n = np.arange(pours + 1)
    assert np.all(m >= (n + 1) / mean - 1 - 1e-9)
    assert np.all(m <= n / mean + squared_cv + 1e-9)
    assert np.all(np.diff(m) >= -1e-12)


@given(st.floats(2, 60), st.floats(0.05, 0.95), st.integers(1, 200))
def test_a_mold_that_ages_wears_out_no_faster_than_its_mean_says(median: float, spread: float, pours: int) -> None:
    # m(n) <= n/mean for lives that are new better than used in expectation, as a Weibull with a shape over 1 is
    # (renewal theory, from memory).
    life = Life(median, spread)
    m = renewal_function(life.chances, pours)
    assert np.all(m <= np.arange(pours + 1) / life.mean + 1e-9)


@pytest.mark.parametrize(("life", "pours"), [(Life(12, 0.4), 30), (Life(45, 0.3), 100), (Life(5, 0.15), 23)])
def test_expected_molds_agree_with_molds_thrown_away_one_by_one(life: Life, pours: int) -> None:
    # Brute force: 100,000 runs of random lives; within four standard errors.
    chance = np.random.default_rng(20251125)
    lives = chance.choice(life.chances.size, p=life.chances, size=(100_000, 3 * math.ceil(pours / life.mean) + 10))
    total = np.cumsum(lives, axis=1)
    assert total[:, -1].min() >= pours
    molds = 1 + np.sum(total < pours, axis=1)
    error = molds.std() / math.sqrt(molds.size)
    assert expected_molds(life, np.array([pours]))[0] == pytest.approx(molds.mean(), abs=4 * error)


@given(st.floats(1, 300), st.floats(0.02, 1.9), st.integers(1, 400))
@settings(max_examples=40)
def test_one_more_pour_never_takes_fewer_molds_nor_more_than_one_more(median: float, spread: float, pours: int) -> None:
    molds = expected_molds(Life(median, spread), np.arange(1, pours + 2))
    assert molds[0] == 1.0
    steps = np.diff(molds)
    assert np.all(steps >= -1e-12)
    assert np.all(steps <= 1 + 1e-12)


# --------------------------------------------------------------------------------------------------- the life itself


@pytest.mark.parametrize(("median", "spread"), [(45, 0.3), (200, 0.15), (20, 0.5), (400, 1.2)])
def test_mean_and_deviation_of_a_life_follow_scipys_weibull(median: float, spread: float) -> None:
    # scipy.stats.weibull_min with the same median: E[ceil X] = sum of S(k) over k >= 0 exactly, about E[X] + 1/2.
    shape = weibull_shape(spread)
    weibull = stats.weibull_min(shape, scale=median / math.log(2) ** (1 / shape))
    life = Life(median, spread)
    k = np.arange(life.chances.size)
    survives = weibull.sf(k)
    mean = survives.sum()
    assert life.mean == pytest.approx(mean, rel=1e-9)
    assert life.mean == pytest.approx(weibull.mean() + 0.5, abs=0.02 * spread * median)
    second = ((2 * k + 1) * survives).sum()
    assert life.sd == pytest.approx(math.sqrt(second - mean**2), rel=1e-7)
    assert weibull.median() == pytest.approx(median, rel=1e-12)


@pytest.mark.parametrize(("median", "spread"), [(45, 0.3), (200, 0.15), (20, 0.5)])
@pytest.mark.parametrize("share", [0.1, 0.5, 0.9])
def test_a_quantile_of_a_life_is_scipys_rounded_up(median: float, spread: float, share: float) -> None:
    shape = weibull_shape(spread)
    weibull = stats.weibull_min(shape, scale=median / math.log(2) ** (1 / shape))
    assert Life(median, spread).quantile(share) == math.ceil(weibull.ppf(share) - 1e-9)


def test_half_of_the_molds_are_worn_out_at_the_median() -> None:
    assert Life(45, 0.3).quantile(0.5) == 45
    assert np.cumsum(Life(45, 0.3).chances)[45] == pytest.approx(0.5, abs=1e-12)


@given(st.floats(1, 2000), st.floats(0.01, 2))
@settings(max_examples=40)
def test_the_chances_of_a_life_are_chances(median: float, spread: float) -> None:
    chances = Life(median, spread).chances
    assert chances[0] == 0.0
    assert np.all(chances >= 0)
    assert chances.sum() == pytest.approx(1.0, abs=1e-12)


def test_a_certain_life_has_no_spread() -> None:
    life = Life(40, 0.0)
    assert (life.mean, life.sd, life.quantile(0.1), life.quantile(0.9)) == (40.0, 0.0, 40, 40)
