"""Uncertain figures: their distributions, what moves together, the points they are drawn at."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from moldkit.errors import InputError
from moldkit.study.case import Case
from moldkit.study.compare import Comparison
from moldkit.study.uncertainty.figures import Figure, figures_of
from moldkit.study.uncertainty.inputs import PACE, PACE_SHARE, at_score, inputs_of
from moldkit.study.uncertainty.mattering import mattering
from moldkit.study.uncertainty.ranges import pert_mean, pert_quantile, pert_variance, tenths_quantile
from moldkit.study.uncertainty.sampling import SOBOL, _scores, scores

ROOT = Path(__file__).resolve().parents[2]
BUST = Case(form="bust", size=(0.20, 0.15, 0.28), undercut="moderate", run=60)
RANGES = [(0.0, 1.0, 4.0), (0.6, 1.0, 1.7), (0.0, 0.0, 1.0), (2.0, 5.0, 5.0), (-1.0, 0.0, 1.0), (0.02, 0.03, 0.06)]


# --------------------------------------------------------------------------------------------------- distributions


def test_three_points_have_the_mean_and_the_exact_variance_of_their_beta_distribution() -> None:
    # Beta-PERT of 0, 1, 4: mean 4/3, variance (mean - a)(b - mean)/7 = .507937, where the rule of six gives .444444.
    # Closed form of the beta distribution; recomputed, not seen in print.
    assert pert_mean(0.0, 1.0, 4.0) == pytest.approx(4 / 3)
    assert pert_variance(0.0, 1.0, 4.0) == pytest.approx(0.507937, abs=5e-7)
    assert abs(pert_variance(0.0, 1.0, 4.0) - (4.0 / 6.0) ** 2) > 0.06


@pytest.mark.parametrize(("low", "likely", "high"), RANGES)
def test_three_point_moments_and_quantiles_are_scipys_beta(low: float, likely: float, high: float) -> None:
    # scipy.stats.beta: an independent implementation, shapes 1 + 4 (m - a)/(b - a) and 1 + 4 (b - m)/(b - a).
    mode = (likely - low) / (high - low)
    beta = stats.beta(1 + 4 * mode, 5 - 4 * mode, loc=low, scale=high - low)
    assert pert_mean(low, likely, high) == pytest.approx(beta.mean(), abs=1e-12)
    assert pert_variance(low, likely, high) == pytest.approx(beta.var(), abs=1e-12)
    at = np.linspace(-5.5, 5.5, 999)
    assert pert_quantile(at, low, likely, high) == pytest.approx(beta.ppf(stats.norm.cdf(at)), abs=2e-6 * (high - low))


def test_drawn_figures_have_the_moments_of_their_range() -> None:
    drawn = pert_quantile(scores(20_000, 1, 3)[0], 0.6, 1.0, 1.7)
    assert drawn.mean() == pytest.approx(pert_mean(0.6, 1.0, 1.7), rel=1e-4)
    assert drawn.var() == pytest.approx(pert_variance(0.6, 1.0, 1.7), rel=1e-3)


def test_a_figure_without_a_range_is_itself() -> None:
    assert pert_quantile(np.linspace(-3, 3, 5), 0.25, 0.25, 0.25).tolist() == [0.25] * 5


@pytest.mark.parametrize(("low", "likely", "high"), [(20.0, 45.0, 80.0), (150.0, 400.0, 1000.0), (8.0, 20.0, 20.0)])
def test_one_shop_in_ten_lies_beyond_each_end_of_a_life(low: float, likely: float, high: float) -> None:
    # data/README.md: low and high of a life are what one shop in ten stays below, and what one in ten exceeds.
    at = stats.norm.ppf([0.1, 0.5, 0.9])
    assert tenths_quantile(at, low, likely, high) == pytest.approx([low, likely, high])
    assert tenths_quantile(np.array([-5.0]), low, likely, high)[0] > 0


# ---------------------------------------------------------------------------------------------------------- points


@pytest.mark.parametrize("seed", [0, 1, 99])
def test_a_latin_hypercube_draws_once_from_every_stratum_of_every_input(seed: int) -> None:
    shares = stats.norm.cdf(scores(500, 7, seed))
    assert np.array_equal(np.sort(np.floor(shares * 500), axis=1), np.tile(np.arange(500.0), (7, 1)))


def test_sobol_points_are_a_power_of_two_and_fill_every_stratum() -> None:
    shares = stats.norm.cdf(scores(500, 7, 1, SOBOL))
    assert shares.shape == (7, 512)
    assert np.array_equal(np.sort(np.floor(shares * 512), axis=1), np.tile(np.arange(512.0), (7, 1)))


def test_the_same_seed_draws_the_same_and_another_draws_otherwise() -> None:
    first = scores(64, 3, 5).copy()
    _scores.cache_clear()
    assert np.array_equal(first, scores(64, 3, 5))
    assert not np.array_equal(first, scores(64, 3, 6))


@pytest.mark.parametrize(
    ("draws", "seed", "kind", "words"),
    [
        (4, 1, SOBOL, "draws"),
        (10**7, 1, SOBOL, "draws"),
        (64, -1, SOBOL, "seed"),
        (64, 1, "sobel", "did you mean 'sobol'"),
    ],
)
def test_unusable_draws_are_refused_in_one_sentence(draws: int, seed: int, kind: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        scores(draws, 2, seed, kind)


# --------------------------------------------------------------------------------------------------------- figures


def names(result: Comparison) -> set[str]:
    return {figure.name for figure in mattering(result, figures_of(result))}


def test_only_figures_that_the_techniques_use_are_uncertain(compared: Callable[[Case], Comparison]) -> None:
    found = names(compared(BUST))
    assert "labor rate" in found
    assert "price of platinum silicone, slow" in found
    assert "median mold life, platinum silicone with rigid urethane" in found
    assert "brushed skin: support shell, time for each m2" in found
    assert not [name for name in found if "latex" in name or "tin-cured" in name or "turn by hand" in name]
    # A gap between coats takes time and no money; no pot is used here.
    idle = ("coat gap", "shrinkage", "tear", "life factor, method pressure")
    assert not [name for name in found if name.startswith(idle)]


def test_turning_by_hand_brings_in_its_hours_and_the_unevenness(compared: Callable[[Case], Comparison]) -> None:
    found = names(compared(replace(BUST, method="hand rotation")))
    assert "casting: turn by hand, fixed time" in found
    assert "unevenness of hand rotation" in found
    assert "life factor, method hand rotation" in found


def test_a_certain_life_stays_certain_and_a_range_of_the_jobs_own_is_drawn(
    compared: Callable[[Case], Comparison],
) -> None:
    assert not [f for f in figures_of(compared(replace(BUST, life=40.0))) if f.kind == "life"]
    result = compared(replace(BUST, life=(15.0, 30.0, 90.0)))
    own = {figure.name: figure for figure in mattering(result, figures_of(result))}
    life = own["median mold life, from the job"]
    assert (life.low, life.likely, life.high, life.tenths) == (15.0, 30.0, 90.0, True)
    assert "median mold life, platinum silicone with rigid urethane" not in own
    # The factors of the use multiply the job's median too.
    assert "life factor, undercut moderate" in own


def test_a_price_from_the_job_is_certain(compared: Callable[[Case], Comparison]) -> None:
    assert not [name for name in names(compared(replace(BUST, rubber_price=30.0))) if "price of platinum" in name]


# --------------------------------------------------------------------------------------------- what moves together


def test_hours_move_with_one_workers_pace(compared: Callable[[Case], Comparison]) -> None:
    result = compared(BUST)
    inputs = inputs_of(figures_of(result))
    drawn = inputs.values(scores(4_000, len(inputs.inputs), 2))
    hours = [f for f in inputs.figures if f.kind == "hours"]
    assert PACE in {each.name for each in inputs.inputs}
    assert {"casting", "poured_block", "brushed_skin", "cavity_pour", "printed_shell"} == {f.of for f in hours}
    shell = next(f for f in hours if f.name == "brushed skin: support shell, time for each m2")
    finish = next(f for f in hours if f.name == "casting: finish, fixed time")
    # Spearman's correlation of a Gaussian copula: 6/pi asin(rho / 2).
    found = stats.spearmanr(drawn[shell.place], drawn[finish.place]).statistic
    assert found == pytest.approx(6 / np.pi * np.arcsin(PACE_SHARE / 2), abs=0.03)


def test_one_steps_own_part_is_the_same_in_every_technique(compared: Callable[[Case], Comparison]) -> None:
    inputs = inputs_of(figures_of(compared(BUST)))
    drawn = inputs.values(scores(256, len(inputs.inputs), 2))
    pours = [f for f in inputs.figures if f.place[1].endswith("/ open, demold, trim") and f.place[2] == "fixed"]
    assert len(pours) == 2
    assert np.allclose(*(drawn[f.place] / f.likely for f in pours))


def test_prices_of_one_chemistry_are_one_level_and_of_two_are_apart(compared: Callable[[Case], Comparison]) -> None:
    inputs = inputs_of(figures_of(compared(BUST)))
    drawn = inputs.values(scores(4_000, len(inputs.inputs), 2))
    slow, brushable, resin = (
        drawn[table, row, "price"]
        for table, row in [
            ("rubbers", "platinum silicone, slow"),
            ("rubbers", "platinum silicone, brushable"),
            ("casting_materials", "rigid urethane resin"),
        ]
    )
    assert stats.spearmanr(slow, brushable).statistic == pytest.approx(1.0)
    assert abs(stats.spearmanr(slow, resin).statistic) < 0.05


def test_a_spread_of_lives_has_its_tenths_where_the_table_and_the_log_have_them(
    compared: Callable[[Case], Comparison],
) -> None:
    # Low and high of a row of mold lives are what one shop in ten stays below and exceeds, for the spread too.
    inputs = inputs_of(figures_of(compared(BUST)))
    spread = next(f for f in inputs.figures if f.place[0] == "mold_life" and f.place[2] == "spread")
    drawn = inputs.values(scores(4_000, len(inputs.inputs), 2))[spread.place]
    assert np.quantile(drawn, [0.1, 0.5, 0.9]) == pytest.approx([spread.low, spread.likely, spread.high], rel=0.01)


def test_a_drawn_spread_stays_within_what_a_table_may_hold() -> None:
    wide = Figure(("mold_life", "a / b", "spread"), "spread", "1", 0.02, 0.5, 1.9, "life", "", True)
    ends = at_score(wide, np.array([-4.0, 0.0, 4.0]))
    assert ends == pytest.approx([0.01, 0.5, 2.0])


def test_inputs_stand_in_the_same_order_in_every_process() -> None:
    # Sets of words have another order in each process; a draw that followed one would be another shop each time.
    code = (
        "from moldkit.study.case import Case\nfrom moldkit.study.compare import compare\n"
        "from moldkit.study.knowledge import load_knowledge\n"
        "from moldkit.study.uncertainty.figures import Figure, figures_of\n"
        "from moldkit.study.uncertainty.inputs import inputs_of\n"
        "result = compare(Case(form='dome', size=(0.1, 0.1, 0.05)), load_knowledge())\n"
        "print([each.name for each in inputs_of(figures_of(result)).inputs])"
    )
    told = {
        subprocess.run(
            [sys.executable, "-c", code], check=True, capture_output=True, cwd=ROOT,
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(ROOT), "MOLDKIT_DATA": str(ROOT / "data")},
        ).stdout
        for seed in ("0", "1", "2")
    }  # fmt: skip
    assert len(told) == 1 and b"pace" in told.pop()
