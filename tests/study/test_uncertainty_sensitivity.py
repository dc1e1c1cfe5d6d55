"""Sensitivity, swings and switching values: against the published test function, closed forms, the model itself."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from moldkit.errors import InputError
from moldkit.pattern.reading import Reading
from moldkit.study.case import Case
from moldkit.study.compare import Comparison, compare
from moldkit.study.knowledge import Knowledge
from moldkit.study.uncertainty.sensitivity import sensitivity_of, variance_shares
from moldkit.study.uncertainty.switching import Switch, swings, switching_values

Floats = NDArray[np.float64]
Compared = Callable[[Case], Comparison]
BUST = Case(form="bust", size=(0.20, 0.15, 0.28), undercut="moderate", run=60, good_share=0.95)


# ---------------------------------------------------------------------------------------------- published function


def ishigami(at: Floats) -> Floats:
    """sin x1 + 7 sin^2 x2 + 0.1 x3^4 sin x1, each x uniform from -pi to pi, here from standard normal scores."""
    x = np.pi * (2.0 * stats.norm.cdf(at) - 1.0)
    return np.asarray(np.sin(x[0]) + 7.0 * np.sin(x[1]) ** 2 + 0.1 * x[2] ** 4 * np.sin(x[0]))


def test_the_ishigami_function_has_its_published_indices() -> None:
    # Risk analysis framework RAVEN (Idaho National Laboratory), tests/framework/AnalyticModels/ishigami.py: variance
    # 13.8446, first order .3138, .4424, 0, interaction of 1 and 3 .2436; to six digits by the closed form: .313905,
    # .442411, 0; total .557589, .442411, .243684.
    found = variance_shares(ishigami, 3, points=16_384, seed=1)
    assert found.variance == pytest.approx(13.844588, rel=1e-3)
    assert found.first == pytest.approx([0.313905, 0.442411, 0.0], abs=0.003)
    assert found.total == pytest.approx([0.557589, 0.442411, 0.243684], abs=0.003)
    assert found.total[0] - found.first[0] == pytest.approx(0.243684, abs=0.005)


def test_the_shares_are_those_of_scipys_own_routine() -> None:
    # scipy.stats.sobol_indices: an independent implementation, on the same function.
    found = variance_shares(ishigami, 3, points=4_096, seed=2)
    theirs = stats.sobol_indices(
        func=lambda x: np.sin(x[0]) + 7 * np.sin(x[1]) ** 2 + 0.1 * x[2] ** 4 * np.sin(x[0]),
        n=4_096,
        dists=[stats.uniform(loc=-np.pi, scale=2 * np.pi)] * 3,
        rng=np.random.default_rng(2),
    )
    assert found.first == pytest.approx(theirs.first_order, abs=0.02)
    assert found.total == pytest.approx(theirs.total_order, abs=0.02)


def test_errors_bound_the_distance_from_the_true_shares() -> None:
    found = variance_shares(ishigami, 3, points=512, seed=4)
    assert np.all(np.abs(found.first - [0.313905, 0.442411, 0.0]) < 3 * found.first_error)
    assert np.all(np.abs(found.total - [0.557589, 0.442411, 0.243684]) < 3 * found.total_error)


def test_a_sum_of_independent_inputs_has_shares_by_their_variances() -> None:
    # Closed form: variances 1, 4, 9 of 14, first order and total alike, and an idle input has none.
    found = variance_shares(lambda z: 5.0 + z[0] + 2.0 * z[1] + 3.0 * z[2], 4, points=4_096)
    for shares in (found.first, found.total):
        assert shares == pytest.approx([1 / 14, 4 / 14, 9 / 14, 0.0], abs=0.01)
    assert found.mean == pytest.approx(5.0, abs=0.01)


def test_a_result_that_never_varies_has_no_shares() -> None:
    found = variance_shares(lambda z: np.full(z.shape[1], 3.0), 2, points=64)
    assert found.total.tolist() == [0.0, 0.0] and found.variance == 0.0


# ----------------------------------------------------------------------------------------------- of a comparison


def test_the_difference_of_the_two_cheapest_is_explained_by_its_inputs(compared: Compared) -> None:
    result = compared(BUST)
    found = sensitivity_of(result, points=256)
    assert found is not None and result.cheapest is not None
    assert found.cheapest == result.cheapest.name
    assert list(found.shares.total) == sorted(found.shares.total, reverse=True)
    # What inputs do alone cannot be more than all there is, nor their totals less.
    assert found.shares.first.sum() < 1.15 and found.shares.total.sum() > 0.85


def test_trials_serve_every_run_of_a_case_and_say_what_new_ones_would(compared: Compared) -> None:
    first = sensitivity_of(compared(BUST), points=64)
    assert first is not None and first.trials is not None
    moved = compared(replace(BUST, run=7))
    again, anew = sensitivity_of(moved, points=64, before=first.trials), sensitivity_of(moved, points=64)
    assert again is not None and anew is not None
    assert again.trials is first.trials and anew.trials is not first.trials
    assert again.run == 7 and again.names == anew.names and again.mean == anew.mean != first.mean
    assert np.array_equal(again.shares.total, anew.shares.total)
    assert np.array_equal(again.shares.first, anew.shares.first)


@pytest.mark.parametrize(
    ("other", "points", "seed"),
    [
        (replace(BUST, undercut="none"), 64, 1),
        (replace(BUST, longest=0.3), 64, 1),
        (replace(BUST, shop={"labor_rate": 60.0}), 64, 1),
        (BUST, 128, 1),
        (BUST, 64, 2),
    ],
)
def test_trials_of_another_case_or_of_other_points_are_not_used(
    compared: Compared, other: Case, points: int, seed: int
) -> None:
    first = sensitivity_of(compared(BUST), points=64)
    assert first is not None and first.trials is not None
    result = compared(other)
    found, anew = sensitivity_of(result, points, seed, first.trials), sensitivity_of(result, points, seed)
    assert found is not None and anew is not None and found.trials is not first.trials
    assert np.array_equal(found.shares.total, anew.shares.total) and found.mean == anew.mean


def test_unusable_points_are_refused(compared: Compared) -> None:
    with pytest.raises(InputError, match="points"):
        sensitivity_of(compared(BUST), points=3)


def named(switches: tuple[Switch, ...], name: str) -> Switch:
    return next(switch for switch in switches if switch.name == name)


def test_at_a_switching_wage_another_technique_is_the_cheapest(
    knowledge: Knowledge, reading_of: Callable[[Case], Reading]
) -> None:
    # The comparison itself, run on either side of the value, is the check.
    case = replace(BUST, run=60)
    reading = reading_of(case)
    result = compare(case, knowledge, reading)
    assert result.cheapest is not None
    switch = named(switching_values(result), "labor rate")
    flips = [flip for flip in (switch.below, switch.above) if flip is not None]
    assert flips
    for flip in flips:
        towards = 1.0 + np.sign(flip.factor - 1.0) * 1e-3
        within, beyond = (
            compare(replace(case, shop={"labor_rate": 40.0 * factor}), knowledge, reading).cheapest
            for factor in (flip.factor / towards, flip.factor * towards)
        )
        assert within is not None and within.name == result.cheapest.name
        assert beyond is not None and beyond.name == flip.technique
        assert flip.value == pytest.approx(40.0 / 3600.0 * flip.factor)


def test_a_techniques_hours_switch_where_its_labor_makes_up_the_difference(compared: Compared) -> None:
    # By hand: the cost of a run is linear in the hours of a technique's steps, first molds and remakes.
    result = compared(BUST)
    assert result.cheapest is not None
    totals = {o.name: result.total(o) for o in result.outcomes}
    rate = float(result.shop.quantity("labor_rate").value)
    switches = switching_values(result)
    checked = 0
    for outcome in result.outcomes:
        total, molds = totals[outcome.name], result.molds(outcome)
        flip = named(switches, f"hours of {outcome.name}").below
        if outcome is result.cheapest or flip is None or total is None or molds is None:
            continue
        seconds = outcome.attended_first.at(0) + (molds.value - 1.0) * outcome.attended_remake.at(0)
        excess = total.value - min(t.value for t in totals.values() if t is not None)
        assert 1.0 - flip.factor == pytest.approx(excess / (seconds * rate), rel=5e-3)
        checked += 1
    assert checked


def test_beyond_the_sane_nothing_is_told(compared: Compared) -> None:
    # A small piece stays a block whatever one figure does. Common practice, no source.
    small = Case(form="dome", size=(0.05, 0.05, 0.02), run=20, life=(40.0, 60.0, 80.0))
    switches = switching_values(compared(small))
    assert switches
    assert named(switches, "pour loss").nearest is None
    assert [s.nearest is None for s in switches] == sorted(s.nearest is None for s in switches)


def test_a_flip_says_when_the_choice_is_ruled_out_and_not_beaten(compared: Compared) -> None:
    # Turned by hand the mold may get too heavy: the cheapest technique stops working, whatever it costs.
    heavy = Case(form="bust", size=(0.353, 0.286, 0.42), method="hand rotation", run=30, wall=0.008)
    flips = [flip for s in switching_values(compared(heavy)) for flip in (s.below, s.above) if flip is not None]
    assert any(flip.ruled_out for flip in flips)


def test_a_flip_within_the_range_is_plausible(compared: Compared) -> None:
    for switch in switching_values(compared(BUST)):
        for flip in (switch.below, switch.above):
            assert flip is None or (0.19 <= flip.factor <= 5.01 and flip.technique is not None)


def test_a_swing_below_nothing_means_that_the_choice_flips_within_the_tenths(compared: Compared) -> None:
    result = compared(BUST)
    switches = switching_values(result)
    for swing in swings(result):
        if min(swing.low, swing.high) < -0.01:
            nearest = named(switches, swing.name).nearest
            assert nearest is not None and nearest.plausible
    widths = [abs(swing.high - swing.low) for swing in swings(result)]
    assert widths == sorted(widths, reverse=True) and widths[0] > 0.0


def test_with_nothing_to_choose_from_there_is_nothing_to_switch(compared: Compared) -> None:
    lone = compared(replace(BUST, rubber="latex", material="gypsum plaster"))
    assert sensitivity_of(lone) is None and swings(lone) == ()
    assert all(flip is None or flip.technique is None for s in switching_values(lone) for flip in (s.below, s.above))
