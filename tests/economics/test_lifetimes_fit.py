"""Fits of mold lives: a second opinion, molds by whole pours, hard cases, laws."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy import stats

from moldkit.economics.life import Life
from moldkit.economics.lifetimes.families import LOGNORMAL, WEIBULL, width_of
from moldkit.economics.lifetimes.fit import LifeFit, fit_life, fit_lognormal, fit_weibull
from moldkit.economics.lifetimes.likelihood import gradient, log_likelihood
from moldkit.economics.lifetimes.molds import gathered, observed
from moldkit.economics.lifetimes.no_failures import least_median
from moldkit.economics.lifetimes.product_limit import product_limit
from moldkit.errors import InputError

Floats = NDArray[np.float64]

# An invented log of 14 molds: castings, and whether the mold is worn out.
CASTINGS = [31, 44, 52, 38, 60, 47, 25, 55, 41, 20, 33, 12, 48, 58]
WORN = [True, True, True, True, False, True, False, True, True, False, False, False, True, False]


def interval_data(castings: list[int], worn: list[bool]) -> Any:
    """Return scipy's censored data with a failure at k pours as the interval (k-1, k]."""
    ended = [(max(k - 1, 0), k) for k, over in zip(castings, worn, strict=True) if over]
    return stats.CensoredData(interval=ended, right=[k for k, over in zip(castings, worn, strict=True) if not over])


# --------------------------------------------------------------------------------------------- a second opinion: scipy


def test_whole_pours_weibull_agrees_with_scipys_interval_censored_fit() -> None:
    shape, _, scale = stats.weibull_min.fit(interval_data(CASTINGS, WORN), floc=0)
    fit = fit_weibull(CASTINGS, WORN, whole=True)
    assert fit.parameters["shape"] == pytest.approx(shape, rel=1e-4)
    assert fit.parameters["scale"] == pytest.approx(scale, rel=1e-4)


def test_whole_pours_lognormal_agrees_with_scipys_interval_censored_fit() -> None:
    sigma, _, median = stats.lognorm.fit(interval_data(CASTINGS, WORN), floc=0)
    fit = fit_lognormal(CASTINGS, WORN, whole=True)
    assert fit.width == pytest.approx(sigma, rel=1e-4)
    assert fit.median == pytest.approx(median, rel=1e-4)


@pytest.mark.parametrize("seed", range(4))
def test_exact_lives_agree_with_scipys_right_censored_fit(seed: int) -> None:
    chance = np.random.default_rng(seed)
    lives, ends = 40 * chance.weibull(2.5, 25), chance.uniform(5, 80, 25)
    worn = lives <= ends
    data = stats.CensoredData.right_censored(np.minimum(lives, ends), ~worn)
    shape, _, scale = stats.weibull_min.fit(data, floc=0)
    fit = fit_weibull(np.minimum(lives, ends), worn)
    assert (fit.parameters["shape"], fit.parameters["scale"]) == pytest.approx((shape, scale), rel=1e-4)


def test_the_likelihood_is_that_of_the_models_whole_pours() -> None:
    # The model's f(k) = F(k) - F(k-1) for a failure, 1 - F(k) for a mold in use.
    life = Life(44.0, 0.3)
    molds = gathered(observed(CASTINGS, WORN), whole=True)
    width = width_of(WEIBULL, 0.3)
    place = math.log(44.0) - width * WEIBULL.quantile(0.5)
    worn_out = np.cumsum(life.chances)
    by_hand = sum(
        math.log(life.chances[k]) if over else math.log(1.0 - worn_out[k])
        for k, over in zip(CASTINGS, WORN, strict=True)
    )
    assert float(log_likelihood(WEIBULL, molds, place, width, whole=True)) == pytest.approx(by_hand, abs=1e-9)


@pytest.mark.parametrize("family", [WEIBULL, LOGNORMAL])
@pytest.mark.parametrize("whole", [True, False])
def test_the_gradient_is_the_likelihoods_slope(family: Any, whole: bool) -> None:
    molds = gathered(observed([1, 2, *CASTINGS], [True, False, *WORN]), whole=whole)
    found = gradient(family, molds, 3.7, 0.5, whole=whole)

    def likelihood(place: float, log_width: float) -> float:
        return float(log_likelihood(family, molds, place, math.exp(log_width), whole=whole))

    h, v = 1e-5, math.log(0.5)
    by_place = (likelihood(3.7 + h, v) - likelihood(3.7 - h, v)) / (2 * h)
    by_width = (likelihood(3.7, v + h) - likelihood(3.7, v - h)) / (2 * h)
    assert found == pytest.approx([by_place, by_width], rel=1e-6, abs=1e-6)


def test_whole_and_exact_lives_differ_by_half_a_pour() -> None:
    # A failure counted at k pours lies in (k-1, k], on average half a pour earlier.
    whole, exact = (fit_weibull(CASTINGS, WORN, whole=way).median for way in (True, False))
    assert exact - whole == pytest.approx(0.5, abs=0.3)


@pytest.mark.parametrize("name", ["weibull", "lognormal"])
def test_a_fits_chances_are_scipys_by_whole_pours(name: str) -> None:
    fit = fit_life(CASTINGS, WORN, family=name)
    k = np.arange(80)
    if name == "weibull":
        worn_out = stats.weibull_min.cdf(k, fit.parameters["shape"], scale=fit.parameters["scale"])
        assert fit.chances[k] == pytest.approx(Life(fit.median, fit.spread).chances[k], abs=1e-9)
    else:
        worn_out = stats.lognorm.cdf(k, fit.parameters["sigma"], scale=math.exp(fit.parameters["mu"]))
    assert fit.chances[k] == pytest.approx(np.diff(worn_out, prepend=0.0), abs=1e-9)


# ----------------------------------------------------------------------------------------------------------- choice


def test_the_family_with_the_clearly_lower_aic_is_taken() -> None:
    lives = np.exp(3.5 + 0.6 * stats.norm.ppf((np.arange(60) + 0.5) / 60))
    chosen = fit_life(np.ceil(lives), np.ones(60, dtype=bool))
    assert chosen.family is LOGNORMAL
    assert chosen.aic < fit_weibull(np.ceil(lives), np.ones(60, dtype=bool), whole=True).aic - 2
    assert fit_life(np.ceil(lives), np.ones(60, dtype=bool), family="Weibull").family is WEIBULL


# -------------------------------------------------------------------------------------------------------- hard cases


@pytest.mark.parametrize("fit", [fit_weibull, fit_lognormal])
@pytest.mark.parametrize("whole", [True, False])
@pytest.mark.parametrize(
    ("castings", "worn", "words"),
    [
        ([40, 40, 40], [True] * 3, "nearly alike"),
        ([40], [True], "held at 0.3"),
        ([40, 40], [True, False], "held at 0.3"),
        ([30, 50, 60], [True, False, False], "held at 0.3"),
        ([3, 40_000], [True, True], "so widely"),
        ([1, 1, 1], [True] * 3, "nearly alike"),
        ([40, 41, 0, 0], [True, True, False, False], ""),
    ],
    ids=["all alike", "one mold", "two molds", "one failure", "far apart", "all at the first pour", "new molds"],
)
def test_hard_cases_give_a_life_and_say_what_is_wrong(
    fit: Any, whole: bool, castings: list[int], worn: list[bool], words: str
) -> None:
    found: LifeFit = fit(castings, worn, whole=whole)
    assert words in found.note
    assert 0.009 < found.spread < 2.01
    assert math.isfinite(found.log_likelihood)
    assert min(castings) / 1.2 - 0.6 < found.median < 3 * max(castings)


def test_one_failure_holds_the_spread_and_puts_the_scale_by_hand() -> None:
    # With the shape b given, scale^b = sum of castings^b / failures: the derivative of the log-likelihood set to 0.
    fit = fit_weibull([30, 50, 60], [True, False, False])
    shape = fit.parameters["shape"]
    assert Life(50, fit.spread).spread == pytest.approx(0.3, abs=1e-9)
    assert fit.parameters["scale"] == pytest.approx((30**shape + 50**shape + 60**shape) ** (1 / shape), rel=1e-9)
    assert fit.free == 1


def test_no_failure_is_no_fit_but_a_lower_bound() -> None:
    with pytest.raises(InputError, match="none of 3 molds is worn out"):
        fit_life([30, 50, 60], [False] * 3)
    # (sum of castings^b / -log(0.1))^(1/b) x (log 2)^(1/b), by hand.
    shape = fit_weibull([30], [True]).parameters["shape"]
    scale = ((30**shape + 50**shape + 60**shape) / -math.log(0.1)) ** (1 / shape)
    bound = least_median([30, 50, 60], [False] * 3, spread=0.3, confidence=0.9)
    assert bound.life == pytest.approx(scale * math.log(2) ** (1 / shape), rel=1e-9)


@pytest.mark.parametrize(
    ("share_good", "confidence", "molds"), [(0.90, 0.90, 22), (0.95, 0.95, 59), (0.95, 0.90, 45), (0.99, 0.95, 299)]
)
@pytest.mark.parametrize("spread", [0.15, 0.3, 0.5, 1.2])
def test_molds_without_a_failure_prove_what_the_success_run_tables_say(
    share_good: float, confidence: float, molds: int, spread: float
) -> None:
    # Success run: n tests without failure show reliability R with confidence 1 - R^n. Known sample sizes 22 for 90/90,
    # 59 for 95/95, 45 for 95/90, 299 for 99/95 (from memory). True whatever the spread, and false for one mold fewer.
    def least(n: int) -> float:
        bound = least_median([40] * n, [False] * n, spread=spread, confidence=confidence, share=1 - share_good)
        return bound.life

    assert least(molds) >= 40 > least(molds - 1)


def test_a_lower_bound_with_failures_is_the_chi_square_bound() -> None:
    # Exponential life (shape 1): mean >= 2 total time / chi-square(confidence; 2 r + 2). 5 failures in 1000 pours, at
    # 90 %: 2000 / 18.549 = 107.8 (chi-square table: 18.549 at .90 with 12 degrees of freedom).
    bound = least_median([100] * 10, [True] * 5 + [False] * 5, spread=1.0, confidence=0.9)
    assert bound.life / math.log(2) == pytest.approx(2000 / 18.549, rel=1e-4)


@pytest.mark.parametrize(
    ("castings", "worn", "words"),
    [
        ([30, -1], [True, False], "mold 2 of 2: castings must be a number, 0 or more"),
        ([30, math.nan], [True, False], "mold 2 of 2"),
        ([0, 30], [True, True], "mold 1 of 2: a mold that is worn out has given at least one casting"),
        ([30, 40], [True], "2 castings, 1 states"),
    ],
)
def test_molds_that_cannot_be_are_named(castings: list[float], worn: list[bool], words: str) -> None:
    with pytest.raises(InputError, match=words):
        fit_life(castings, worn)


def test_an_unknown_family_or_band_is_named() -> None:
    with pytest.raises(InputError, match="did you mean 'weibull'"):
        fit_life(CASTINGS, WORN, family="weibul")
    with pytest.raises(InputError, match="unknown band"):
        product_limit(CASTINGS, WORN, band="wide")
    with pytest.raises(InputError, match="no mold has given a casting"):
        least_median([0, 0], [False, False])


# -------------------------------------------------------------------------------------------------------------- laws


@st.composite
def some_log(draw: Any) -> tuple[list[int], list[bool]]:
    castings = draw(st.lists(st.integers(2, 120), min_size=3, max_size=20))
    worn = draw(st.lists(st.booleans(), min_size=len(castings), max_size=len(castings)))
    worn[0] = worn[1] = True
    castings[1] = castings[0] + draw(st.integers(1, 30))
    return castings, worn


@given(some_log(), st.floats(0.05, 50))
@settings(max_examples=30)
def test_a_longer_unit_of_life_scales_the_fit(log: tuple[list[int], list[bool]], factor: float) -> None:
    castings, worn = log
    fit, scaled = (fit_weibull(np.array(castings) * by, worn) for by in (1.0, factor))
    assert scaled.median == pytest.approx(factor * fit.median, rel=1e-6)
    assert scaled.width == pytest.approx(fit.width, rel=1e-6)


@given(some_log(), st.sampled_from(["weibull", "lognormal"]))
@settings(max_examples=30)
def test_a_mold_that_outlasted_all_others_raises_the_median(log: tuple[list[int], list[bool]], name: str) -> None:
    castings, worn = log
    before = fit_life(castings, worn, family=name)
    after = fit_life([*castings, max(castings) + 1], [*worn, False], family=name)
    assert after.median > before.median - 1e-9


@given(some_log(), st.booleans())
@settings(max_examples=30)
def test_nothing_near_agrees_better_than_the_fit(log: tuple[list[int], list[bool]], whole: bool) -> None:
    fit = fit_weibull(*log, whole=whole)
    widths = fit.width * np.exp(np.linspace(-0.3, 0.3, 41))[:, None]
    widths = np.clip(widths, width_of(WEIBULL, 0.01), width_of(WEIBULL, 2.0))
    places = fit.place + np.linspace(-0.3, 0.3, 41)
    assert log_likelihood(WEIBULL, fit.molds, places, widths, whole=whole).max() <= fit.log_likelihood + 1e-9


@given(some_log())
@settings(max_examples=30)
def test_a_weight_of_two_is_the_mold_twice(log: tuple[list[int], list[bool]]) -> None:
    castings, worn = log
    twice = fit_weibull([*castings, castings[0]], [*worn, worn[0]])
    heavy = fit_weibull(castings, worn, weight=[2.0, *[1.0] * (len(castings) - 1)])
    assert heavy.log_likelihood == pytest.approx(twice.log_likelihood, abs=1e-8)
    assert heavy.median == pytest.approx(twice.median, rel=1e-7)


@given(some_log(), st.sampled_from(["plain", "log-log"]))
def test_the_product_limit_curve_falls_within_its_band(log: tuple[list[int], list[bool]], band: str) -> None:
    table = product_limit(*log, band=band)
    assert np.all(np.diff(table.survival) < 0)
    assert np.all((table.low >= 0) & (table.low <= table.survival + 1e-12))
    assert np.all((table.survival <= table.high + 1e-12) & (table.high <= 1))


def test_without_survivors_the_curve_is_the_share_still_good() -> None:
    castings = [5, 9, 9, 14, 20]
    table = product_limit(castings, [True] * 5)
    assert table.survival == pytest.approx([np.mean(np.array(castings) > k) for k in table.castings], abs=1e-15)
