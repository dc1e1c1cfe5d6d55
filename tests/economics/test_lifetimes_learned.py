"""The table's word and the log's together: the table's without a log, the log's with many molds, Bayes between."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy import stats

from moldkit.economics.life import weibull_shape
from moldkit.economics.lifetimes.fit import fit_weibull
from moldkit.economics.lifetimes.learned import LearnedLife, learned_life
from moldkit.economics.lifetimes.pooling import Pair, Similar, UsedMold, pool
from moldkit.economics.lifetimes.prior import Range
from moldkit.errors import InputError
from moldkit.quantity import Quantity

Floats = NDArray[np.float64]
# The table's row of silicone with rigid urethane: 10 / 50 / 90 % between shops, and the spread from mold to mold.
LIFE, SPREAD = Range(20, 45, 80), Range(0.15, 0.3, 0.5)
NINE_IN_TEN = stats.norm.ppf(0.9)


def learned(molds: list[UsedMold], similar: tuple[Similar, ...] = ()) -> LearnedLife:
    return learned_life(LIFE, SPREAD, molds, similar)


def figures(life: LearnedLife) -> list[float]:
    ranges = (life.median, life.spread, life.ten_percent)
    return [*(end for each in ranges for end in (each.low, each.likely, each.high)), life.next_mold]


def worn(*castings: float) -> list[UsedMold]:
    return [UsedMold(each, True) for each in castings]


def in_use(*castings: float) -> list[UsedMold]:
    return [UsedMold(each, False) for each in castings]


# --------------------------------------------------------------------------------------------------- the two far ends


def test_without_a_log_the_life_is_the_tables() -> None:
    life = learned([])
    for found, table in ((life.median, LIFE), (life.spread, SPREAD)):
        assert (found.low, found.likely, found.high) == pytest.approx((table.low, table.likely, table.high), rel=8e-3)
    assert life.log_weight == 0.0
    assert "the life is the table's" in life.words


def test_a_mold_hardly_used_changes_next_to_nothing() -> None:
    life = learned(in_use(1))
    assert life.median.likely == pytest.approx(45, rel=1e-3)
    assert life.log_weight < 0.01
    assert "hardly move the table" in life.words


def test_with_many_molds_the_life_is_the_logs_whatever_the_table_says() -> None:
    lives = np.ceil(300 * np.random.default_rng(4).weibull(5.0, 400))
    fit = fit_weibull(lives, np.ones(400, dtype=bool), whole=True)
    life = learned(worn(*lives))
    assert life.median.likely == pytest.approx(fit.median, rel=5e-3)
    assert life.spread.likely == pytest.approx(fit.spread, rel=2e-2)
    assert life.ten_percent.likely == pytest.approx(fit.ten_percent_life, rel=1e-2)
    assert life.next_mold == pytest.approx(fit.ten_percent_life, rel=2e-2)
    assert life.median.high / life.median.low < 1.05
    assert life.log_weight > 0.99
    assert life.surprising


# ------------------------------------------------------------------------------------------------------------ between


def by_draws(molds: list[UsedMold], similar: tuple[Similar, ...] = (), draws: int = 300_000) -> list[float]:
    """Return the same figures another way: draws of median and spread from the table, weighed by scipy's Weibull."""
    chance = np.random.default_rng(11)

    def from_table(row: Range) -> Floats:
        z = chance.standard_normal(draws)
        down, up = (math.log(ratio) / NINE_IN_TEN for ratio in (row.likely / row.low, row.high / row.likely))
        return np.asarray(row.likely * np.exp(np.where(z < 0, down, up) * z))

    median, spread = from_table(LIFE), np.clip(from_table(SPREAD), 0.01, 2)
    spreads = np.geomspace(0.01, 2, 600)
    shape = np.interp(spread, spreads, [weibull_shape(each) for each in spreads])

    def agreement(group: tuple[UsedMold, ...] | list[UsedMold], of_median: Floats) -> Floats:
        total = np.zeros(draws)
        for mold in group:
            weibull = stats.weibull_min(shape, scale=of_median * mold.factor / math.log(2) ** (1 / shape))
            end = weibull.logsf(mold.castings)
            if mold.worn:
                start = weibull.logsf(mold.castings - 1)
                end = start + np.log(np.maximum(-np.expm1(end - start), 1e-300))
            total += end
        return total

    log_weight = agreement(molds, median)
    for group in similar:
        other = math.log(group.between) / NINE_IN_TEN * chance.standard_normal(draws)
        log_weight += agreement(group.molds, median * np.exp(other))
    weight = np.exp(log_weight - log_weight.max())
    weight /= weight.sum()
    scale = median / math.log(2) ** (1 / shape)

    def quantiles(values: Floats, shares: list[float]) -> list[float]:
        order = np.argsort(values)
        return list(np.interp(shares, np.cumsum(weight[order]), values[order]))

    tenth = scale * (-math.log(0.9)) ** (1 / shape)
    tenths = [0.1, 0.5, 0.9]
    drawn = quantiles(scale * chance.weibull(shape), [0.1])
    return [*quantiles(median, tenths), *quantiles(spread, tenths), *quantiles(tenth, tenths), *drawn]


@pytest.mark.parametrize(
    ("molds", "similar"),
    [
        ([], ()),
        (worn(30), ()),
        (in_use(60, 60, 60), ()),
        ([UsedMold(30, True), UsedMold(50, True, 0.8), UsedMold(44, False, 1.2), UsedMold(70, True)], ()),
        (worn(50), (Similar((*worn(20, 25), *in_use(40)), 1.5, ""), Similar((*worn(90, 80), *in_use(99)), 2.0, ""))),
        ([], (Similar(tuple(worn(*range(40, 80, 4))), 1.5, ""),)),
    ],
    ids=["no log", "one failure", "no failure", "used differently", "similar molds", "similar molds only"],
)
def test_the_grid_agrees_with_weighted_draws(molds: list[UsedMold], similar: tuple[Similar, ...]) -> None:
    # Within 1.5 %: the grid's half percent and what 300,000 draws leave open.
    assert figures(learned(molds, similar)) == pytest.approx(by_draws(molds, similar), rel=0.015)


def test_a_known_spread_and_a_lognormal_table_by_hand() -> None:
    # With the spread certain, a failure at 30 pours is one observation of the log median: at the top of the belief its
    # slope is 0, prior (log 45 - x) / s^2 + b [(30 / scale)^b - 1] = 0 for the density at 29.5. Solved by bisection.
    deviation = math.log(2) / NINE_IN_TEN
    life = learned_life(Range(22.5, 45, 90), Range(0.3, 0.3, 0.3), worn(30))
    shape = weibull_shape(0.3)

    def slope(x: float) -> float:
        return (math.log(45) - x) / deviation**2 + shape * (math.log(2) * (29.5 / math.exp(x)) ** shape - 1)

    low, high = math.log(10), math.log(90)
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if slope(middle) > 0 else (low, middle)
    top = life.medians[np.argmax(life.chances.sum(axis=1))]
    assert top == pytest.approx(math.exp(low), rel=2 * math.log(life.medians[1] / life.medians[0]))
    assert life.spread.likely == pytest.approx(0.3, rel=1e-2)


# --------------------------------------------------------------------------------------------------------------- laws


@given(st.lists(st.tuples(st.integers(1, 120), st.booleans()), max_size=12), st.integers(10, 200))
@settings(max_examples=25)
def test_one_more_mold_in_use_never_lowers_the_median(log: list[tuple[int, bool]], castings: int) -> None:
    molds = [UsedMold(given_, over) for given_, over in log]
    before, after = learned(molds), learned([*molds, UsedMold(castings, False)])
    assert after.median.likely > before.median.likely * (1 - 2e-3)


@given(st.lists(st.tuples(st.integers(1, 120), st.booleans()), max_size=12))
@settings(max_examples=25)
def test_beliefs_stay_in_order_and_add_up_to_one(log: list[tuple[int, bool]]) -> None:
    life = learned([UsedMold(castings, over) for castings, over in log])
    assert life.chances.sum() == pytest.approx(1.0, abs=1e-12)
    assert 0 <= life.log_weight <= 1
    assert life.next_mold <= life.ten_percent.likely * 1.02
    assert life.ten_percent.likely < life.median.likely


def test_more_failures_narrow_the_belief_and_raise_the_logs_weight() -> None:
    weights, widths = [], []
    for times in (0, 1, 3, 10, 30):
        life = learned(worn(*[38, 52] * times))
        weights.append(life.log_weight)
        widths.append(life.median.high / life.median.low)
    assert weights == sorted(weights)
    assert widths == sorted(widths, reverse=True)


def test_a_mold_used_hard_counts_for_more_castings() -> None:
    # 24 castings at 0.6 of the life are 40 at the table's use; of a whole pour there, 1.67 here.
    hard, plain = (learned([UsedMold(castings, True, f)] * 30) for castings, f in ((24, 0.6), (40, 1.0)))
    assert hard.median.likely == pytest.approx(plain.median.likely, rel=0.02)


def test_a_longer_table_and_a_longer_log_scale_the_belief() -> None:
    # Castings 20 times as many make the whole pour small: all lives scale.
    molds = [(31, True), (44, True), (60, False), (52, True), (40, False)]
    short = learned_life(Range(200, 450, 800), SPREAD, [UsedMold(10 * k, over) for k, over in molds])
    long = learned_life(Range(4000, 9000, 16000), SPREAD, [UsedMold(200 * k, over) for k, over in molds])
    assert long.median.likely == pytest.approx(20 * short.median.likely, rel=5e-3)
    assert long.spread.likely == pytest.approx(short.spread.likely, rel=5e-3)


def test_similar_molds_narrow_the_belief_but_less_than_the_pairs_own() -> None:
    molds = worn(*range(50, 74, 2))
    near, far = (learned([], (Similar(tuple(molds), between, "others"),)) for between in (1.5, 2.0))
    widths = [life.median.high / life.median.low for life in (learned(molds), near, far, learned([]))]
    assert widths == sorted(widths)
    assert near.words.endswith("12 of others (12 worn out).")


def test_the_life_for_the_model_is_the_likely_one() -> None:
    life = learned(worn(30, 41, 38))
    assert (life.life.median, life.life.spread) == (life.median.likely, life.spread.likely)


# ------------------------------------------------------------------------------------------------------- who is heard

OWN = Pair("platinum silicone, slow", "platinum silicone", "rigid urethane resin", "rigid urethane", 45)
GRADE = Pair("platinum silicone, fast", "platinum silicone", "rigid urethane resin", "rigid urethane", 45)
OTHER = Pair("platinum silicone, slow", "platinum silicone", "casting plaster", "plaster", 200)
STRANGER = Pair("latex", "latex", "casting plaster", "plaster", 120)


def test_similar_pairs_are_always_heard_at_their_distance() -> None:
    log = [(OWN, mold) for mold in worn(30, 40, 50)] + [(GRADE, UsedMold(60, True)), (OTHER, UsedMold(100, True, 0.9))]
    found = pool(OWN, [*log, (STRANGER, UsedMold(70, True))])
    assert [mold.castings for mold in found.own] == [30, 40, 50]
    grade, other = found.similar
    assert (grade.between, grade.words) == (1.5, "platinum silicone, fast with rigid urethane resin")
    # The table gives the other casting 200 pours where this pair has 45: 100 there are 22.5 here, before its own use.
    (mold,) = other.molds
    assert other.between == 2.0
    assert mold.castings / mold.factor == pytest.approx(100 / 0.9 * 45 / 200)


def test_another_casting_tells_no_more_closely_than_the_table_knows_either_pair() -> None:
    vague = Pair("platinum silicone, slow", "platinum silicone", "casting plaster", "plaster", 200, within=2.5)
    (group,) = pool(vague, [(OWN, UsedMold(30, True))]).similar
    assert group.between == 2.5
    (group,) = pool(OWN, [(vague, UsedMold(30, True))]).similar
    assert group.between == 2.5


@pytest.mark.parametrize("failures", range(1, 7))
def test_one_more_failure_of_its_own_never_makes_the_life_jump(failures: int) -> None:
    similar = (Similar(tuple(worn(*range(40, 100, 6))), 2.0, "another casting"),)
    lives = [20, 26, 17, 23, 19, 28, 22]
    before, after = (learned(worn(*lives[:n]), similar).median for n in (failures, failures + 1))
    assert abs(math.log(after.likely / before.likely)) < 0.25


@pytest.mark.parametrize("castings", [3, 5, 6, 8, 12])
def test_a_log_that_contradicts_the_table_is_never_said_to_count_for_nothing(castings: float) -> None:
    life = learned(worn(castings))
    assert life.median.likely < 25
    assert life.log_weight > 0.4
    assert "count for" in life.words


def test_each_similar_pair_is_a_group_of_its_own() -> None:
    wax = Pair("platinum silicone, slow", "platinum silicone", "casting wax", "wax", 400)
    log = [(OTHER, UsedMold(100, True)), (wax, UsedMold(300, False)), (OTHER, UsedMold(150, False))]
    assert [len(group.molds) for group in pool(OWN, log).similar] == [2, 1]


def test_a_rubber_that_no_mold_is_of_has_an_empty_pool() -> None:
    found = pool(STRANGER, [(OWN, UsedMold(30, True)), (OTHER, UsedMold(100, True))])
    assert found.own == found.similar == ()


# ---------------------------------------------------------------------------------------------------------- bad input


def test_ranges_and_factors_that_cannot_be_are_named() -> None:
    with pytest.raises(InputError, match="give low, likely and high above 0, in order"):
        Range(20, 10, 80)
    with pytest.raises(InputError, match="factor of a mold's use must be a number above 0"):
        learned([UsedMold(20, True, 0.0)])
    with pytest.raises(InputError, match="worn out has given at least one casting"):
        learned([UsedMold(0, True)])


def test_a_figure_without_a_range_is_certain() -> None:
    assert Range.of(Quantity("life", 45.0, "pours")) == Range(45, 45, 45)
    assert Range.of(Quantity("life", 45.0, "pours", low=20, high=80)) == LIFE
    certain = learned_life(Range(45, 45, 45), SPREAD, worn(10, 12, 9))
    assert certain.median.likely == pytest.approx(45, rel=0.02)


@pytest.mark.parametrize("molds", [worn(5), in_use(100_000), [*worn(5), *in_use(100_000)]])
@pytest.mark.parametrize("spread", [Range(0.01, 0.01, 0.01), SPREAD, Range(1.9, 2.0, 2.0)])
def test_a_log_that_the_table_thinks_impossible_still_gives_figures(molds: list[UsedMold], spread: Range) -> None:
    for table in (Range(9_999, 10_000, 10_001), Range(1, 1, 1), LIFE):
        life = learned_life(table, spread, molds)
        assert all(math.isfinite(each) and each > 0 for each in figures(life))
