"""Bounds on the mold life: exact where theory has them, the truth within them as often as they promise."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import optimize, stats

from moldkit.economics.lifetimes.bounds import critical, life_bounds, plausible
from moldkit.economics.lifetimes.fit import LifeFit, fit_lognormal, fit_weibull
from moldkit.errors import InputError
from tests.bench.coverage import Shop, coverage

CASTINGS = [31, 44, 52, 38, 60, 47, 25, 55, 41, 20, 33, 12, 48, 58]
WORN = [True, True, True, True, False, True, False, True, True, False, False, False, True, False]


@pytest.mark.parametrize("confidence", [0.8, 0.9, 0.99])
@pytest.mark.parametrize("lives", [[20.0, 31.0, 44.0, 50.0, 60.0], [31.0, 33.0, 40.0, 55.0, 61.0, 90.0, 72.0]])
def test_the_median_of_a_complete_lognormal_sample_has_students_bounds(lives: list[float], confidence: float) -> None:
    # Log lives are normal: mean +- t s / sqrt(n), exact. William Gosset, Biometrika 6 (1908).
    logs = np.log(lives)
    n = logs.size
    t = stats.t.ppf(0.5 + confidence / 2, n - 1)
    half = t * logs.std(ddof=1) / math.sqrt(n)
    found = life_bounds(fit_lognormal(lives, [True] * n), 0.5, confidence)
    assert found.low == pytest.approx(math.exp(logs.mean() - half), rel=2e-4)
    assert found.high == pytest.approx(math.exp(logs.mean() + half), rel=2e-4)


def test_with_many_failures_the_bounds_are_the_large_sample_ones() -> None:
    lives = np.ceil(45 * np.random.default_rng(1).weibull(3.5, 4000))
    fit = fit_weibull(lives, np.ones(4000, dtype=bool), whole=True)
    assert critical(fit, 0.9) == pytest.approx(stats.chi2.ppf(0.9, 1), rel=2e-3)


@pytest.mark.parametrize("share", [0.5, 0.1])
def test_at_the_bounds_the_likelihood_has_fallen_by_what_is_allowed(share: float) -> None:
    # Profile likelihood by scipy's optimiser over scipy's Weibull, failures as lives in (k-1, k].
    fit = fit_weibull(CASTINGS, WORN, whole=True)
    castings, worn = np.array(CASTINGS, dtype=float), np.array(WORN)

    def profile(life: float) -> float:
        def against(shape: float) -> float:
            weibull = stats.weibull_min(shape, scale=life / (-math.log(1 - share)) ** (1 / shape))
            start, end = weibull.logsf(castings[worn] - 1), weibull.logsf(castings[worn])
            return -float(np.sum(start + np.log(-np.expm1(end - start))) + weibull.logsf(castings[~worn]).sum())

        return -float(optimize.minimize_scalar(against, bounds=(0.6, 12), method="bounded").fun)

    found = life_bounds(fit, share, 0.9)
    for end in (found.low, found.high):
        assert 2 * (fit.log_likelihood - profile(end)) == pytest.approx(critical(fit, 0.9), abs=2e-3)
    assert found.low < found.estimate < found.high
    assert plausible(fit, share, found.low * 1.001) and not plausible(fit, share, found.low * 0.999)
    assert plausible(fit, share, found.high * 0.999) and not plausible(fit, share, found.high * 1.001)


@pytest.mark.parametrize("kind", ["run over", "looked at any day", "closed at a failure"])
def test_ninety_percent_bounds_hold_the_truth_85_to_95_times_in_a_hundred(kind: str) -> None:
    # Seeded; 10, 20 and 40 molds, 30 to 70 % in use. 600 logs: the coverage of each kind is known within about 2.5 %.
    shops = [Shop(0.3, 10, 0.3, kind), Shop(0.5, 10, 0.7, kind), Shop(0.15, 20, 0.5, kind), Shop(0.3, 40, 0.7, kind)]
    found = np.mean([coverage(shop, 150, 7 + place) for place, shop in enumerate(shops)], axis=0)
    assert np.all((found >= 0.85) & (found <= 0.95)), found


def test_plain_large_sample_bounds_would_fall_short_with_three_failures() -> None:
    # Why the bounds are widened: the same logs against chi-square alone.
    shop, chance = Shop(0.3, 10, 0.7, "closed at a failure"), np.random.default_rng(5)
    held: list[tuple[bool, bool]] = []
    for _ in range(300):
        fit = fit_weibull(*shop.log(chance), whole=True)
        plain = _confidence_of(fit, stats.chi2.ppf(0.9, 1))
        held.append((plausible(fit, 0.1, shop.life(0.1), plain), plausible(fit, 0.1, shop.life(0.1), 0.9)))
    plain_share, widened_share = np.mean(held, axis=0)
    assert plain_share < 0.82
    assert widened_share > 0.85


def _confidence_of(fit: LifeFit, wanted: float) -> float:
    """Return the confidence at which the bounds allow so large a fall."""
    return float(optimize.brentq(lambda confidence: critical(fit, confidence) - wanted, 0.01, 0.999))


@pytest.mark.parametrize(
    ("castings", "worn"), [([40], [True]), ([40, 40], [True, False]), ([30, 50, 60], [True, False, False])]
)
def test_one_failure_gives_wide_bounds_for_any_usual_spread(castings: list[int], worn: list[bool]) -> None:
    found = life_bounds(fit_weibull(castings, worn, whole=True))
    assert 0 < found.low < found.estimate / 1.8
    assert found.high > 3 * found.estimate


def test_more_confidence_takes_wider_bounds() -> None:
    fit = fit_weibull(CASTINGS, WORN, whole=True)
    widths = [b.high / b.low for b in (life_bounds(fit, 0.5, c) for c in (0.5, 0.8, 0.9, 0.99))]
    assert widths == sorted(widths)
    assert widths[0] < 1.3 < widths[-1]


def test_molds_that_all_wore_out_at_the_first_pour_set_no_lower_bound() -> None:
    found = life_bounds(fit_weibull([1, 1, 1], [True] * 3, whole=True))
    assert found.low == 0.0
    assert found.high < 5


@pytest.mark.parametrize(("share", "confidence", "word"), [(0.0, 0.9, "share"), (0.5, 1.0, "confidence")])
def test_shares_out_of_range_are_named(share: float, confidence: float, word: str) -> None:
    with pytest.raises(InputError, match=f"{word} must lie between 0 and 1"):
        life_bounds(fit_weibull(CASTINGS, WORN), share, confidence)
