"""A comparison under uncertainty: the whole model over draws, who is the cheapest how often, the decision under it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy import stats

from moldkit.pattern.reading import Reading
from moldkit.quantity import Quantity
from moldkit.study.assess import assess
from moldkit.study.case import Case
from moldkit.study.compare import Comparison, compare, run_costs
from moldkit.study.knowledge import Knowledge
from moldkit.study.uncertainty.decision import worth_of
from moldkit.study.uncertainty.drawn import drawn_tables
from moldkit.study.uncertainty.figures import figures_of
from moldkit.study.uncertainty.spread import Spread, draw, spread_of
from moldkit.study.uncertainty.totals import costs_at
from moldkit.tables import Row

Compared = Callable[[Case], Comparison]
BUST = Case(form="bust", size=(0.20, 0.15, 0.28), undercut="moderate", run=60, good_share=0.95)
# A heavy head turned by hand: in some shops it weighs more than hands may turn.
HEAVY = Case(form="bust", size=(0.353, 0.286, 0.42), method="hand rotation", run=30, wall=0.008)
CASES = [
    BUST,
    HEAVY,
    replace(BUST, cavities=4, run=200),
    replace(BUST, life=(12.0, 30.0, 70.0), run=80),
    replace(BUST, life=25.0),
    replace(BUST, rubber="latex", material="gypsum plaster"),
    replace(BUST, method="pressure"),
    replace(BUST, material="rigid urethane foam", method="foam fill", survives=False),
]


@pytest.fixture(scope="module")
def bust(knowledge: Knowledge, reading_of: Callable[[Case], Reading]) -> Spread:
    return spread_of(compare(BUST, knowledge, reading_of(BUST)), draws=2_000, seed=1)


# ----------------------------------------------------------------------------------------- the model over all draws


@pytest.mark.parametrize("case", CASES)
def test_all_draws_at_once_are_the_draws_one_by_one(compared: Compared, case: Case) -> None:
    result = compared(case)
    drawn = draw(result, draws=32, seed=8)
    for place in (0, 13, 31):
        one, knowledge = drawn_tables(result, {key: float(v[place]) for key, v in drawn.values.items()})
        for t, outcome in enumerate(assess(one, knowledge, result.reading, result.scale)):
            assert drawn.shops.first[t, place] == pytest.approx(outcome.first.value, rel=1e-12)
            assert drawn.shops.remake[t, place] == pytest.approx(outcome.remake.value, rel=1e-12)
            assert drawn.shops.pour[t, place] == pytest.approx(outcome.pour.value, rel=1e-12)
            assert drawn.shops.feasible[t, place] == (not outcome.stop_at())
            if outcome.life is not None:
                assert drawn.shops.median[t, place] == pytest.approx(outcome.life.median, rel=1e-12)
                assert drawn.shops.spread[t, place] == pytest.approx(outcome.life.spread, rel=1e-12)


def test_a_limit_in_the_midst_of_a_range_rules_a_technique_out_in_some_shops(compared: Compared) -> None:
    works = spread_of(compared(HEAVY), draws=1_000).decision.works
    assert np.any((works > 0.05) & (works < 0.95))


def certain(row: Row) -> Row:
    """Return a row whose figures have no range."""
    sure = {
        column: replace(value, low=value.value, high=value.value) if isinstance(value, Quantity) else value
        for column, value in row.values.items()
    }
    return Row(row.name, row.where, sure)


def certain_knowledge(known: Knowledge) -> Knowledge:
    """Return the knowledge with every low and high at its likely figure."""

    def sure(rows: Any) -> Any:
        return {key: certain(row) for key, row in rows.items()}

    materials = known.materials
    return replace(
        known,
        techniques=tuple(replace(t, steps=replace(t.steps, rows=sure(t.steps.rows))) for t in known.techniques),
        methods={name: replace(m, row=certain(m.row)) for name, m in known.methods.items()},
        casting_steps=sure(known.casting_steps),
        materials=replace(
            materials,
            rubbers=sure(materials.rubbers),
            castings=sure(materials.castings),
            shells=sure(materials.shells),
            supplies=sure(materials.supplies),
        ),
        life=replace(known.life, pairs=sure(known.life.pairs), factors=sure(known.life.factors)),
        shop=certain(known.shop),
    )


@pytest.mark.parametrize("case", [*CASES[:3], replace(BUST, life=25.0), replace(BUST, life=(30.0, 30.0, 30.0))])
def test_without_ranges_every_shop_is_the_comparison_itself(
    knowledge: Knowledge, reading_of: Callable[[Case], Reading], case: Case
) -> None:
    result = compare(case, certain_knowledge(knowledge), reading_of(case))
    assert figures_of(result) == ()
    found = spread_of(result, draws=16)
    costs = run_costs(result.outcomes, case, found.runs, feasible=False)
    for band in found.bands:
        assert band == pytest.approx(costs, rel=1e-9)
    assert found.totals.mean == pytest.approx(costs, rel=1e-9)
    place = result.outcomes.index(result.cheapest) if result.cheapest else None
    assert found.chance[place, np.searchsorted(found.runs, case.run)] == 1.0
    assert found.decision.choice == place
    assert found.decision.worth_of_all == pytest.approx(0.0, abs=1e-9)
    assert all(worth.money == 0.0 for worth in found.decision.worth)
    turns = [(turn.before, turn.after, turn.runs) for turn in found.turns]
    first_of_pair = {(c.before, c.after): c.run for c in reversed(result.crossings) if c.run <= found.runs[-1]}
    assert sorted(turns) == sorted((b, a, (run, run, run)) for (b, a), run in first_of_pair.items())


# ------------------------------------------------------------------------------------------------- over the runs


def test_the_same_seed_gives_the_same_answer_and_another_nearly_the_same(compared: Compared, bust: Spread) -> None:
    again, other = (spread_of(compared(BUST), draws=2_000, seed=seed) for seed in (1, 2))
    assert np.array_equal(again.chance, bust.chance) and np.array_equal(again.bands, bust.bands)
    assert again.decision.worth == bust.decision.worth
    assert not np.array_equal(other.bands, bust.bands)
    assert other.chance == pytest.approx(bust.chance, abs=0.05)


@pytest.mark.parametrize("case", CASES)
def test_in_every_shop_one_technique_is_the_cheapest_or_nothing_works(compared: Compared, case: Case) -> None:
    found = spread_of(compared(case), draws=300)
    assert found.chance.sum(axis=0) + found.totals.nothing == pytest.approx(np.ones(found.runs.size))
    assert np.all(found.chance >= 0.0)
    assert found.decision.chance == pytest.approx(found.chance[:, np.searchsorted(found.runs, case.run)])


def test_bands_are_the_costs_that_tenths_of_shops_stay_within(bust: Spread) -> None:
    # numpy.quantile, by rank: an independent way to the same draws.
    for run in (1, 60, 1_000):
        costs = costs_at(bust.draws.shops, run)
        by_rank = np.quantile(costs, [0.1, 0.5, 0.9], axis=1, method="inverted_cdf")
        assert bust.bands[:, :, np.searchsorted(bust.runs, run)] == pytest.approx(by_rank, rel=1e-7)
    assert bust.bands_per_casting[:, :, -1] == pytest.approx(bust.bands[:, :, -1] / bust.runs[-1])


def test_bands_are_in_order_and_rise_with_the_run(bust: Spread) -> None:
    assert np.all(np.diff(bust.bands, axis=0) >= 0.0)
    assert np.all(np.diff(bust.bands, axis=2) > 0.0)


def test_a_turn_lies_where_the_next_techniques_cost_falls_below(bust: Spread) -> None:
    turns = bust.totals.turns
    before, after = bust.turns[0].before, bust.turns[0].after
    for place in np.flatnonzero(~np.isnan(turns[before, after]))[:40]:
        run = int(turns[before, after, place])
        # Where runs are drawn one by one the turn is exact; further out within one in a hundred.
        slack = 0 if run < 40 else max(1, run // 100)
        costs_before = costs_at(bust.draws.shops, max(1, run - 1 - slack))[:, place]
        costs_after = costs_at(bust.draws.shops, run + slack)[:, place]
        assert costs_before[before] <= costs_before[after] * (1 + 1e-9)
        assert costs_after[after] < costs_after[before]


def test_a_turn_is_told_with_the_share_of_shops_in_which_it_happens(bust: Spread) -> None:
    for turn in bust.turns:
        runs = bust.totals.turns[turn.before, turn.after]
        assert turn.share == pytest.approx(np.mean(~np.isnan(runs)))
        low, middle, high = turn.runs
        assert 2 <= low <= middle <= high <= bust.runs[-1]


# --------------------------------------------------------------------------------------------------- the decision


@pytest.mark.parametrize("case", CASES)
def test_knowing_more_is_never_worth_less_than_nothing_nor_more_than_knowing_all(
    compared: Compared, case: Case
) -> None:
    decision = spread_of(compared(case), draws=500).decision
    assert decision.choice is not None
    assert 0.0 <= decision.worth_of_all <= np.nanmax(decision.regret) + 1e-9
    assert decision.worth_of_all == pytest.approx(decision.regret[decision.choice])
    for worth in decision.worth:
        assert 0.0 <= worth.money <= decision.worth_of_all * (1 + 1e-12)
    money = [worth.money for worth in decision.worth]
    assert money == sorted(money, reverse=True)


def test_regret_is_the_mean_excess_over_the_best_of_each_shop(bust: Spread) -> None:
    costs = costs_at(bust.draws.shops, BUST.run)
    assert bust.draws.shops.feasible.all()
    assert bust.decision.cost == pytest.approx(costs.mean(axis=1))
    assert bust.decision.regret == pytest.approx((costs - costs.min(axis=0)).mean(axis=1))


def test_a_choice_that_turns_out_not_to_work_costs_its_first_mold_on_top(compared: Compared) -> None:
    found = spread_of(compared(HEAVY), draws=400)
    shops = found.draws.shops
    costs = costs_at(shops, HEAVY.run)
    some = shops.feasible.any(axis=0)
    least = np.where(shops.feasible, costs, np.inf).min(axis=0)
    for t in range(len(costs)):
        lived = [costs[t, d] if shops.feasible[t, d] else shops.first[t, d] + least[d] for d in np.flatnonzero(some)]
        assert found.decision.cost[t] == pytest.approx(np.mean(lived))


def normal_loss(mean: float, sd: float) -> float:
    """Return E[max(0, -X)] of a normal X: the unit normal loss integral, closed form."""
    return float(sd * stats.norm.pdf(mean / sd) - mean * stats.norm.cdf(-mean / sd))


def test_the_worth_of_knowing_is_the_normal_loss_integral() -> None:
    # Closed form: with two choices whose costs differ by a normal D of mean 10 and variance 36 + 64, knowing all saves
    # E[max(0, -D)], knowing the part of variance 64 saves the same of its conditional mean.
    draw_of = np.random.default_rng(3)
    large, small, idle = draw_of.standard_normal((3, 200_000))
    excess = np.stack([np.zeros(200_000), 10.0 + 8.0 * large + 6.0 * small])
    of_all = float(np.maximum(0.0, -excess[1]).mean())
    named = [("large", "price"), ("small", "price"), ("idle", "price")]
    found = {w.name: w for w in worth_of(excess, np.stack([large, small, idle]), named, of_all)}
    assert of_all == pytest.approx(normal_loss(10.0, 10.0), rel=0.02)
    assert found["large"].money == pytest.approx(normal_loss(10.0, 8.0), rel=0.04)
    assert found["small"].money == pytest.approx(normal_loss(10.0, 6.0), rel=0.08)
    assert found["idle"].money < 0.01 * of_all
    assert found["large"].share == pytest.approx(found["large"].money / of_all)


def test_firmness_is_the_verdicts_share_of_plausible_shops(bust: Spread, compared: Compared) -> None:
    result, firmness = compared(BUST), bust.firmness
    assert firmness is not None and result.cheapest is not None
    assert firmness.technique == result.cheapest.name
    assert firmness.share == bust.decision.chance[bust.techniques.index(firmness.technique)]
    assert firmness.near >= firmness.share
    assert firmness.share + firmness.rival_share <= 1.0
    assert 0.0 < firmness.error < 0.012


def test_where_nothing_works_there_is_no_decision(compared: Compared) -> None:
    found = spread_of(compared(replace(BUST, method="hand rotation", material="tin alloy")), draws=64)
    assert found.firmness is None
    assert found.decision.choice is None
    assert found.totals.nothing == 1.0


def test_the_decision_at_another_run_rests_on_the_same_shops(bust: Spread) -> None:
    for run in (1, 1_000):
        decision = bust.decision_at(run)
        assert decision.chance == pytest.approx(bust.chance[:, np.searchsorted(bust.runs, run)])


def test_knowing_the_workers_pace_better_narrows_the_band(knowledge: Knowledge, reading_of: Any) -> None:
    sure = {step: certain(row) for step, row in knowledge.casting_steps.items()}
    narrow = spread_of(compare(BUST, replace(knowledge, casting_steps=sure), reading_of(BUST)), draws=500)
    wide = spread_of(compare(BUST, knowledge, reading_of(BUST)), draws=500)
    assert np.all((narrow.bands[2] - narrow.bands[0])[:, -1] < (wide.bands[2] - wide.bands[0])[:, -1])


def test_a_dearer_hour_costs_more_in_every_shop(knowledge: Knowledge, reading_of: Any) -> None:
    cheap, dear = (
        spread_of(compare(replace(BUST, shop={"labor_rate": rate}), knowledge, reading_of(BUST)), draws=200)
        for rate in (30.0, 60.0)
    )
    assert np.all(dear.bands > cheap.bands)
