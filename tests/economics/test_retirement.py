"""When to retire a mold: printed age replacements, every rule tried out, molds used up one by one."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy import stats

from moldkit.economics.age_replacement import age_replacement, long_run
from moldkit.economics.life import Life
from moldkit.economics.renewal import expected_molds
from moldkit.economics.retirement import Retirement, pours_words, when_to_retire
from moldkit.economics.wear import hazards, survivals
from moldkit.errors import InputError

Floats = NDArray[np.float64]
GEOMETRIC = np.concatenate([[0.0], 0.1 * 0.9 ** np.arange(600)])


# ----------------------------------------------------------------------------------------------------- printed cases


def test_weibull_age_replacement_costs_what_is_printed() -> None:
    # Shape 2.5, scale 1000, planned 1, failure 5: documentation of the public library `reliability`, page Optimal
    # replacement time: 493.19 and 0.0035, by a search on a grid. The cost is flat about its least, so the cost is
    # compared: exact .00346204274 at 493.04696; run to failure 5 / (1000 Gamma(1.4)) = .00563530.
    found = age_replacement(lambda t: np.exp(-((t / 1000) ** 2.5)), 5000, 1, 5)
    assert found.cost_rate == pytest.approx(0.00346204274, abs=1e-11)
    assert found.age == pytest.approx(493.04696, abs=1e-3)
    assert found.to_failure == pytest.approx(5 / (1000 * math.gamma(1.4)), rel=1e-9)
    assert found.saving_share == pytest.approx(1 - 0.00346204274 / 0.00563530, abs=1e-5)


def uniform_life(t: Floats) -> Floats:
    return np.clip(1 - t / 40_000, 0, 1)


def test_uniform_age_replacement_costs_what_is_printed() -> None:
    # Life even on 0 to 40,000, planned 100, failure 200: Maintenance, Replacement and Reliability, chapter 2,
    # problem 2: C(10,000) = .0143, C(20,000) = .0100, C(30,000) = .0093, C(40,000) = .0100. In closed form
    # C(t) = 100 (1 + t/40,000) / (t - t^2/80,000), least at 40,000 (sqrt 3 - 1) = 29,282: .00933013.
    for age, printed in ((10_000, 0.0143), (20_000, 0.0100), (30_000, 0.0093), (40_000, 0.0100)):
        lived = age - age**2 / 80_000
        assert 100 * (1 + age / 40_000) / lived == pytest.approx(printed, abs=5e-5)
    found = age_replacement(uniform_life, 40_000, 100, 200)
    assert found.cost_rate == pytest.approx(0.00933013, abs=5e-9)
    assert found.age == pytest.approx(40_000 * (math.sqrt(3) - 1), rel=5e-5)


@pytest.mark.parametrize("survival", [lambda t: np.exp(-t / 10), lambda t: np.exp(-np.sqrt(t / 10))])
def test_a_life_without_growing_wear_has_no_best_age(survival: Callable[[Floats], Floats]) -> None:
    # Exponential: the cost falls with T for ever, closed form; the more so where wear lessens with age.
    found = age_replacement(survival, 20_000, 1, 5)
    assert found.age == math.inf
    assert found.cost_rate == found.to_failure


# ------------------------------------------------------------------------------------------------- run without end


@pytest.mark.parametrize("spoils", [True, False])
def test_fine_pours_give_the_age_replacement_over_time(spoils: bool) -> None:
    # The printed Weibull with 20 pours to the hour: half a pour either way is lost or gained.
    k = np.arange(80_001) / 20
    chances = np.diff(-np.expm1(-((k / 1000) ** 2.5)), prepend=0.0)
    found = long_run(chances, 1, 5, spoils=spoils)
    assert 20 * found.cost_rate == pytest.approx(0.00346204274, rel=2e-4)
    assert found.age / 20 == pytest.approx(493.05, rel=5e-3)


@pytest.mark.parametrize("spoils", [True, False])
def test_the_long_run_cost_by_hand(spoils: bool) -> None:
    # Lives 2, 3, 4 with chances 1/4, 1/4, 1/2; planned 1, failure 3.
    # Last pour good. T = 2: every mold lasts 2, none fails before: 1/2. T = 3: F(2) = 1/4: (3/4 + 3/4) / (1 + 1 + 3/4)
    # = 1.5/2.75 = .545; T = 4: F(3) = 1/2: (1/2 + 3/2) / 3.25 = .615; to failure 3 / 3.25.
    # Last pour lost. T = 1: none fails: 1/1. T = 2: S(2) = 3/4: (3/4 + 3/4) / 1.75 = .857; T = 3: (1/2 + 3/2) / 2.25
    # = .889; to failure 3 / 2.25.
    found = long_run(np.array([0, 0, 0.25, 0.25, 0.5]), 1, 3, spoils=spoils)
    assert found.age == 2
    assert found.cost_rate == pytest.approx(1.5 / 1.75 if spoils else 0.5)
    assert found.to_failure == pytest.approx(3 / 2.25 if spoils else 3 / 3.25)


@pytest.mark.parametrize("spoils", [True, False])
@pytest.mark.parametrize("life", [Life(20, 0.3), Life(20, 0.15), Life(12, 0.5)])
def test_over_a_long_run_each_pour_costs_the_long_run_rate(life: Life, spoils: bool) -> None:
    less, more = (when_to_retire(life.chances, pours, 100, 220, spoils=spoils) for pours in (1500, 2500))
    rule = long_run(life.chances, 100, 220, spoils=spoils)
    assert (more.cost - less.cost) / 1000 == pytest.approx(rule.cost_rate, rel=5e-5)
    assert (more.to_failure - less.to_failure) / 1000 == pytest.approx(rule.to_failure, rel=5e-5)


@pytest.mark.parametrize("spoils", [True, False])
def test_a_geometric_life_is_used_until_it_fails(spoils: bool) -> None:
    # Each pour fails with p = 1/10 whatever the age: n pours cost n p failures where the last is good, less the run's
    # last; n p / (1 - p) where failing pours are poured again.
    found = when_to_retire(GEOMETRIC, 200, 1, 5, spoils=spoils)
    assert not found.retires and not found.grows
    assert found.cost == found.to_failure
    assert found.cost == pytest.approx(5 * (200 * 0.1 / 0.9 if spoils else 199 * 0.1), rel=1e-9)
    assert found.long_run.age == math.inf
    assert "an old mold is no likelier to fail" in found.verdict()


# ----------------------------------------------------------------------------------------------- the model's own molds


@pytest.mark.parametrize("life", [Life(45, 0.3), Life(20, 0.5), Life(8, 0.15), Life(40, 0.0), Life(6, 1.2)])
@pytest.mark.parametrize("pours", [1, 2, 40, 81, 500])
def test_where_a_failure_costs_a_remake_only_the_cost_is_the_models_remakes(life: Life, pours: int) -> None:
    # The run's molds less the first, as the renewal function has them: E[M] - 1.
    found = when_to_retire(life.chances, pours, 1.0, 1.0, spoils=False)
    assert found.cost == pytest.approx(expected_molds(life, np.array([pours]))[0] - 1, abs=1e-9)
    assert found.saving == pytest.approx(0, abs=1e-9)


def test_certain_molds_are_retired_with_their_last_good_pour() -> None:
    kept, lost = (when_to_retire(Life(40, 0.0).chances, 100, 10, 25, spoils=spoils) for spoils in (False, True))
    assert (kept.schedule, kept.first_retired, kept.cost, kept.to_failure) == ((40, 40, 20), 40, 20, 50)
    # Every 40th pour would be lost: three failures in 117 pours against two planned remakes.
    assert (lost.first_retired, lost.cost, lost.to_failure) == (39, 20, 50)
    assert sum(lost.schedule) == 100


# -------------------------------------------------------------------------------------------------- every rule tried


SHARES = {2: Fraction(1, 4), 3: Fraction(1, 4), 4: Fraction(1, 2)}
POURS = 4


def cost_of(rule: tuple[int, ...], lives: tuple[int, ...], spoils: bool, planned: int, failed: int) -> int:
    """Return what remakes and failures cost with molds of these lives, retired at rule[pours to come] (0: never)."""
    mold, age, left, cost = 0, 0, POURS, 0
    while left:
        if spoils and 0 < rule[left] <= age:
            mold, age, cost = mold + 1, 0, cost + planned
        age += 1
        fails = age == lives[mold]
        left -= not (fails and spoils)
        if not spoils and left and 0 < rule[left] <= age:
            mold, age, cost = mold + 1, 0, cost + planned
        elif fails and (spoils or left):
            mold, age, cost = mold + 1, 0, cost + failed
    return cost


@pytest.mark.parametrize("spoils", [True, False])
@pytest.mark.parametrize("failed", [2, 3, 10])
def test_no_rule_of_all_is_cheaper(spoils: bool, failed: int) -> None:
    # All 5^4 rules (retire at 0 to 4 pours, for each number of pours to come), all lives of the molds, in fractions.
    found = when_to_retire(np.array([0, 0, 0.25, 0.25, 0.5]), POURS, 1, failed, spoils=spoils)
    sequences = [(lives, math.prod(SHARES[each] for each in lives)) for lives in itertools.product(SHARES, repeat=5)]

    def expected(rule: tuple[int, ...]) -> Fraction:
        return sum((weight * cost_of((0, *rule), lives, spoils, 1, failed) for lives, weight in sequences), Fraction(0))

    costs = {rule: float(expected(rule)) for rule in itertools.product(range(5), repeat=POURS)}
    assert found.cost == pytest.approx(min(costs.values()), abs=1e-12)
    assert found.to_failure == pytest.approx(costs[0, 0, 0, 0], abs=1e-12)
    own = tuple(int(age) for age in found.retire_at[1:])
    assert costs[own] == pytest.approx(found.cost, abs=1e-12)


# ----------------------------------------------------------------------------------------- molds used up one by one


def simulated(
    rule: Retirement, chances: Floats, planned: float, failed: float, *, spoils: bool, retire: bool
) -> Floats:
    """Return what remakes and failures cost in each of 20,000 runs, molds drawn one by one."""
    chance, runs = np.random.default_rng(20251125), 20_000
    retire_at = rule.retire_at if retire else np.zeros_like(rule.retire_at)
    lives = chance.choice(chances.size, p=chances, size=runs)
    # A mold that has given `age` pours already outlasts them.
    while rule.age and (lives <= rule.age).any():
        again = lives <= rule.age
        lives[again] = chance.choice(chances.size, p=chances, size=int(again.sum()))
    age, left, cost = np.full(runs, rule.age), np.full(runs, rule.pours), np.zeros(runs)

    def remake(which: NDArray[np.bool_], price: float) -> None:
        cost[which] += price
        age[which] = 0
        lives[which] = chance.choice(chances.size, p=chances, size=int(which.sum()))

    while (left > 0).any():
        going = left > 0
        if spoils:
            at = retire_at[left]
            remake(going & (at > 0) & (age >= at), planned)
        age[going] += 1
        fails = going & (age == lives)
        left[going & ~(fails & spoils)] -= 1
        more = going & (left > 0)
        if not spoils:
            at = retire_at[left]
            planned_now = more & (at > 0) & (age >= at)
            remake(planned_now, planned)
            fails &= ~planned_now & more
        remake(fails, failed)
    return cost


@pytest.mark.parametrize("spoils", [True, False])
@pytest.mark.parametrize(
    ("life", "pours", "age"), [(Life(12, 0.3), 50, 0), (Life(20, 0.5), 70, 0), (Life(12, 0.3), 50, 6)]
)
def test_the_expected_costs_agree_with_molds_drawn_one_by_one(life: Life, pours: int, age: int, spoils: bool) -> None:
    # Within four standard errors of 20,000 runs.
    found = when_to_retire(life.chances, pours, 100, 220, spoils=spoils, age=age)
    for retire, expected in ((True, found.cost), (False, found.to_failure)):
        costs = simulated(found, life.chances, 100, 220, spoils=spoils, retire=retire)
        assert expected == pytest.approx(costs.mean(), abs=4 * costs.std() / math.sqrt(costs.size))
    assert found.saving_share > 0.01


# ----------------------------------------------------------------------------------------------------------- verdicts


def test_a_run_shorter_than_a_mold_needs_no_rule() -> None:
    found = when_to_retire(Life(45, 0.3).chances, 20, 100, 220)
    assert (found.schedule, found.first_retired, found.retires) == ((20,), 0, False)
    assert found.verdict() == "Use each mold until it fails: in this run a planned remake never pays."


def test_a_failure_hardly_dearer_than_a_remake_is_not_worth_a_rule() -> None:
    found = when_to_retire(Life(45, 0.3).chances, 500, 100, 104)
    assert found.small
    assert "use to failure is as good" in found.verdict() or "never pays" in found.verdict()


def test_an_old_mold_is_retired_at_once_and_the_next_by_the_rule() -> None:
    found = when_to_retire(Life(45, 0.3).chances, 90, 100, 220, age=60)
    fresh = when_to_retire(Life(45, 0.3).chances, 90, 100, 220)
    assert found.at_once and not fresh.at_once
    assert found.cost == pytest.approx(fresh.cost + 100)
    assert found.schedule == fresh.schedule
    assert found.first_retired == fresh.first_retired == fresh.schedule[0]


def test_the_verdict_names_castings_and_saving() -> None:
    found = when_to_retire(Life(45, 0.3).chances, 400, 100, 220)
    ages = found.schedule[:-1]
    assert f"after {min(ages)} to {max(ages)} castings" in found.verdict()
    assert f"saves {100 * found.saving_share:.0f} %" in found.verdict()


# --------------------------------------------------------------------------------------------------------------- laws


@given(st.floats(3, 60), st.floats(0.05, 1.9), st.integers(1, 150), st.floats(1, 10), st.booleans())
@settings(max_examples=40)
def test_retiring_never_costs_more_and_all_pours_are_made(
    median: float, spread: float, pours: int, dearer: float, spoils: bool
) -> None:
    found = when_to_retire(Life(median, spread).chances, pours, 1.0, dearer, spoils=spoils)
    assert found.cost <= found.to_failure + 1e-9
    assert sum(found.schedule) == pours
    assert min(found.schedule) >= 1


@given(st.floats(5, 60), st.floats(0.1, 0.6), st.booleans())
@settings(max_examples=25)
def test_the_dearer_a_failure_the_earlier_a_mold_is_retired(median: float, spread: float, spoils: bool) -> None:
    ages = [long_run(Life(median, spread).chances, 1.0, failed, spoils=spoils).age for failed in (1.5, 3.0, 10.0, 50.0)]
    assert ages == sorted(ages, reverse=True)


def test_survivals_and_hazards_are_scipys() -> None:
    shape, scale = 2.0, 30.0
    chances = np.diff(stats.weibull_min.cdf(np.arange(250), shape, scale=scale), prepend=0.0)
    k = np.arange(100)
    good = stats.weibull_min.sf(np.arange(101), shape, scale=scale)
    assert survivals(chances)[k] == pytest.approx(good[:-1], rel=1e-9)
    assert hazards(chances)[k] == pytest.approx(1 - good[1:] / good[:-1], rel=1e-6)


# ---------------------------------------------------------------------------------------------------------- bad input


def test_what_cannot_be_is_named() -> None:
    with pytest.raises(InputError, match="every mold fails at its first pour"):
        when_to_retire(np.array([0.0, 1.0]), 10, 1, 2)
    with pytest.raises(InputError, match="cost of a failure in use must be a number, 0 or more"):
        when_to_retire(Life(20, 0.3).chances, 10, 1, math.nan)
    with pytest.raises(InputError, match="at least 1 pour"):
        when_to_retire(Life(20, 0.3).chances, 0, 1, 2)
    with pytest.raises(InputError, match="chances must be"):
        when_to_retire(np.array([0.5, 0.5]), 10, 1, 2)


def test_several_cavities_are_told_in_pours_with_the_castings_they_give() -> None:
    found = when_to_retire(Life(45, 0.3).chances, 300, 100, 320)
    ages = found.schedule[:-1]
    words = found.verdict(cavities=6)
    assert f"after {min(ages)} to {max(ages)} pours ({6 * min(ages)} to {6 * max(ages)} castings)" in words
    assert pours_words(18, 18, 6) == "18 pours (108 castings)" and pours_words(18, 18) == "18 castings"


def test_a_life_without_wear_is_told_so_whatever_rounding_leaves_of_its_hazard() -> None:
    # A spread of 1 is a Weibull shape of 1: the exponential life, without wear.
    found = when_to_retire(Life(40, 1.0).chances, 200, 100, 220)
    assert not found.grows and "an old mold is no likelier to fail" in found.verdict()
