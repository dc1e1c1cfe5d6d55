"""Whole kits in the costs of a run: off unless asked for, then exact, a staircase, and the same everywhere."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from moldkit.cli import main
from moldkit.economics.kits import cheapest_kits
from moldkit.economics.purchases import whole_remakes
from moldkit.economics.renewal import expected_molds
from moldkit.economics.run_cost import lowest, total_cost
from moldkit.kit_sizes import Kit
from moldkit.study.assess import Outcome, assess, pours_for
from moldkit.study.case import Case, case_from
from moldkit.study.compare import Comparison, compare, comparison_record, run_costs
from moldkit.study.curves import EVERY_RUN, curve_table
from moldkit.study.job_file import load_job, save_job
from moldkit.study.knowledge import Knowledge
from moldkit.study.quote import quote
from moldkit.study.sweep import casting_methods, decision_map
from moldkit.study.uncertainty.sensitivity import sensitivity_of
from moldkit.study.uncertainty.spread import spread_of
from moldkit.study.uncertainty.switching import switching_values
from moldkit.tables import Row
from moldkit.views.sure_words import firmness_words
from moldkit.views.tables import working_text
from moldkit.views.verdict import verdict

DATA = Path(__file__).resolve().parents[2] / "data"
BUST = Case(form="bust", size=(0.144, 0.11, 0.2), run=40, name="Bust")
CASES = [
    BUST,
    replace(BUST, longest=0.06, cavities=4, run=300, life=40.0),
    replace(BUST, longest=0.06, cavities=4, survives=False, good_share=0.9),
    replace(BUST, rubber="tin-cured silicone", material="gypsum plaster", undercut="moderate", keep_shell=True),
    replace(BUST, form="panel", size=(0.3, 0.05, 0.2), rubber="urethane rubber", material="concrete", run=150),
]
NAMES = ["bust", "four at once", "lost pattern", "plaster", "concrete"]
compares = Callable[[Case], Comparison]


def in_kits(case: Case) -> Case:
    return replace(case, whole_kits=True)


def cut(row: Row, kits: tuple[Kit, ...]) -> Row:
    return Row(row.name, row.where, {**row.values, "kits": kits})


def sold_in(knowledge: Knowledge, kits: tuple[Kit, ...]) -> Knowledge:
    """Return the knowledge with every material sold in the same kits."""
    known = knowledge.materials
    return replace(
        knowledge,
        materials=replace(
            known,
            rubbers={name: cut(row, kits) for name, row in known.rubbers.items()},
            castings={name: cut(row, kits) for name, row in known.castings.items()},
            shells={name: cut(row, kits) for name, row in known.shells.items()},
            supplies={name: cut(row, kits) for name, row in known.supplies.items()},
        ),
    )


# ------------------------------------------------------------------------------------------------------------- off


@pytest.mark.parametrize("case", CASES, ids=NAMES)
def test_without_the_switch_costs_are_first_mold_remakes_and_pours_to_the_last_bit(
    case: Case, compared: compares
) -> None:
    result = compared(case)
    runs = np.arange(1, 1_001)
    for place, outcome in enumerate(result.outcomes):
        assert outcome.life is not None
        pours = pours_for(case, outcome.plan.cavities, runs)
        molds = expected_molds(outcome.life, pours)
        by_formula = total_cost(outcome.first.at(0), outcome.remake.at(0), outcome.pour.at(0), molds, pours)
        costs = run_costs(result.outcomes, case, runs, feasible=False)[place]
        assert np.array_equal(costs, by_formula)
        total = result.total(outcome)
        assert total is not None and total.value == costs[case.run - 1]


def test_the_switch_is_off_unless_a_job_says_so(compared: compares) -> None:
    job = {"pattern": {"form": "ball", "size": ["5 cm"] * 3}, "mold": {"whole_kits": True}}
    assert not Case().whole_kits
    assert case_from(job, "job").whole_kits
    assert "whole_kits" not in comparison_record(compared(BUST))
    assert "whole kits" not in verdict(compared(BUST)).sentence
    assert compared(BUST).by_weight is compared(BUST) or compared(BUST).by_weight.case == BUST


# ------------------------------------------------------------------------------------------------- what a run takes


@pytest.mark.parametrize("case", CASES, ids=NAMES)
def test_what_a_run_takes_by_weight_costs_what_the_plan_says_its_materials_cost(case: Case, compared: compares) -> None:
    result = compared(case)
    for outcome in result.outcomes:
        plan, casting = outcome.plan, outcome.casting
        bill = [a for a in plan.amounts if a.amount.unit != "s"]
        of_pour = casting["material_cost"].value + casting["release_cost"].value
        masters = of_pour / plan.cavities
        first = sum(a.cost.value for a in bill) + (plan.cavities - 1) * masters
        remake = sum(a.remake * a.cost.value for a in bill) + (0.0 if case.survives else masters)
        needs = outcome.needs
        assert sum(n.first * n.price.value for n in needs) == pytest.approx(first)
        assert sum(n.remake * n.price.value for n in needs) == pytest.approx(remake)
        assert sum(n.pour * n.price.value for n in needs) == pytest.approx(of_pour)
        assert len({n.material for n in needs}) == len(needs)


def test_expected_remakes_are_rounded_up_to_whole_ones_from_a_tenth_of_one_on() -> None:
    assert whole_remakes(np.array([1.0, 1.05, 1.2, 2.0, 2.09, 2.11, 3.0])).tolist() == [0, 0, 1, 1, 1, 2, 2]
    assert whole_remakes(3.5) == 3


def test_a_short_run_buys_for_no_remake(compared: compares) -> None:
    # Of molds with a median life of some 45 pours next to none is worn out by two.
    result = compared(in_kits(replace(BUST, run=2)))
    outcome = result.outcomes[0]
    molds = result.molds(outcome)
    assert molds is not None and 1.0 < molds.value < 1.01
    assert whole_remakes(molds.value) == 0


def test_the_working_shows_the_kits_of_the_rubber_by_hand(compared: compares) -> None:
    result = compared(in_kits(replace(BUST, run=2)))
    block = result.outcomes[0]
    total, mass = result.total(block), block.plan["rubber_mass"].value
    assert total is not None
    kits = next(q for q in total.inputs if q.name == "whole kits beyond the weight")
    rubber = next(q for q in kits.inputs if q.name == "kits of platinum silicone, slow")
    # Some 4.5 kg of rubber: one kit of 5 kg for 150 and not five of 1 kg for 170.
    assert 4.0 < mass < 5.0
    assert rubber.value == 150.0


# -------------------------------------------------------------------------------------------------------------- on


@pytest.mark.parametrize("case", CASES, ids=NAMES)
@pytest.mark.parametrize("run", [1, 17, 40])
def test_a_total_in_whole_kits_is_what_is_no_kit_and_the_kits_one_by_one(
    case: Case, run: int, compared: compares
) -> None:
    result = compared(in_kits(replace(case, run=run)))
    for outcome in result.outcomes:
        molds, pours, total = result.molds(outcome), result.pours(outcome).value, result.total(outcome)
        weight = result.by_weight.total(outcome)
        assert molds is not None and total is not None and weight is not None
        cost = weight.value
        for need in outcome.needs:
            if need.material in ("box board", "blanket clay"):
                continue
            by_weight = need.first + (molds.value - 1.0) * need.remake + pours * need.pour
            bought = need.first + max(0.0, np.ceil(molds.value - 1.1)) * need.remake + pours * need.pour
            cost += cheapest_kits(bought, need.sizes, need.prices).cost - by_weight * need.price.value
        assert total.value == pytest.approx(cost)
        assert total.value == pytest.approx(run_costs([outcome], result.case, np.array([run]), feasible=False)[0, 0])


@pytest.mark.parametrize("case", CASES, ids=NAMES)
def test_kits_of_a_gram_at_the_price_of_a_kilogram_change_next_to_nothing_where_no_mold_is_rounded_up(
    case: Case, knowledge: Knowledge, compared: compares
) -> None:
    certain = replace(case, life=60.0)
    grams = sold_in(knowledge, (Kit(0.001),))
    reading = compared(case).reading
    fine = compare(in_kits(certain), grams, reading)
    coarse = compare(certain, grams, reading)
    assert fine.costs == pytest.approx(coarse.costs, abs=1.0)


@pytest.mark.parametrize("case", CASES, ids=NAMES)
def test_the_costs_in_whole_kits_never_fall_as_the_run_grows(case: Case, compared: compares) -> None:
    costs = run_costs(compared(in_kits(case)).outcomes, in_kits(case), np.arange(1, 3_001), feasible=False)
    assert np.all(np.diff(costs, axis=1) >= -1e-6)


def test_one_large_kit_for_everything_makes_a_staircase(knowledge: Knowledge, compared: compares) -> None:
    # A kit of 1000 kg of anything for 500, a mold that lasts: one run costs more than the one before by its labor, and
    # by 500 where one more kit is opened: a bust of 0.4 kg opens a second kit of resin after some 2,000 castings.
    large = sold_in(knowledge, (Kit(1000.0, 500.0),))
    case = replace(in_kits(BUST), life=5_000.0, run=10)
    result = compare(case, large, compared(BUST).reading)
    for place, outcome in enumerate(result.outcomes):
        costs = run_costs(result.outcomes, case, np.arange(1, 4_001), feasible=False)[place]
        each = outcome.casting["mass"].value * (1 + result.shop.quantity("casting_loss").value)
        opened = 2 + np.flatnonzero(np.diff(np.ceil(np.arange(1, 4_001) * each / 1000.0)))
        steps = np.diff(costs) - outcome.casting["labor_cost"].value
        assert [n + 2 for n in np.flatnonzero(steps > 1.0)] == opened.tolist()
        assert len(opened) >= 1
        assert steps[steps > 1.0] == pytest.approx(500.0)
        assert steps[steps <= 1.0] == pytest.approx(0.0, abs=1e-6)
        kits = [need for need in outcome.needs if need.in_kits]
        weight = sum((need.first + need.pour) * need.price.value for need in kits)
        assert costs[0] == pytest.approx(outcome.first.at(0) + outcome.pour.at(0) - weight + 500.0 * len(kits))


@pytest.mark.parametrize("case", CASES, ids=NAMES)
def test_crossings_in_whole_kits_are_those_of_the_totals_run_by_run(case: Case, compared: compares) -> None:
    result = compared(in_kits(case))
    totals = np.full((len(result.outcomes), 120), np.inf)
    for run in range(1, 121):
        at = compared(in_kits(replace(case, run=run)))
        for place, outcome in enumerate(at.outcomes):
            total = at.total(outcome)
            if total is not None and not outcome.stop_at():
                totals[place, run - 1] = total.value
    envelope = lowest(totals)
    turns = [n + 2 for n in np.flatnonzero(np.diff(envelope))]
    assert turns == [c.run for c in result.crossings if c.run <= 120]


def test_the_map_the_methods_and_the_price_go_by_whole_kits_too(knowledge: Knowledge, compared: compares) -> None:
    result = compared(in_kits(BUST))
    assert result.cheapest is not None
    total = result.total(result.cheapest)
    assert total is not None
    shown = decision_map(result.case, knowledge, result.reading, np.array([0.1, result.longest]), np.array([7, 40]))
    assert shown.costs[1, 1] == pytest.approx(total.value)
    smaller = compared(replace(in_kits(BUST), longest=0.1, run=7))
    assert shown.costs[0, 0] == pytest.approx(smaller.costs[:, 6].min())
    own = next(m for m in casting_methods(result) if m.method == BUST.method)
    assert own.cost == pytest.approx(total.value)
    assert quote(result).asked.cost == pytest.approx(total.value)


def test_every_run_is_drawn_where_the_curves_have_steps(compared: compares) -> None:
    table = curve_table(compared(in_kits(BUST)), 3_000)
    assert table.whole_kits
    assert table.runs[:EVERY_RUN].tolist() == list(range(1, EVERY_RUN + 1))
    assert len(curve_table(compared(BUST), 3_000).runs) < 300
    assert not curve_table(compared(BUST), 3_000).whole_kits


def test_the_working_of_a_total_names_the_kits(compared: compares) -> None:
    result = compared(in_kits(BUST))
    assert result.cheapest is not None
    total = result.total(result.cheapest)
    assert total is not None
    words = working_text(total)
    assert "whole kits beyond the weight" in words
    assert "the cheapest kits: " in words
    assert "rounded up to whole molds" in words


def test_the_verdict_and_the_record_say_that_kits_are_bought(compared: compares) -> None:
    result = compared(in_kits(BUST))
    assert " in whole kits" in verdict(result).sentence
    assert comparison_record(result)["whole_kits"] is True


def test_a_rubber_at_the_jobs_own_price_has_kits_at_that_price(compared: compares) -> None:
    def rubber(outcome: Outcome) -> tuple[float, ...]:
        return next(need.prices for need in outcome.needs if "rubber" in need.purposes)

    table = rubber(compared(BUST).outcomes[0])
    doubled = rubber(compared(replace(BUST, rubber_price=56.0)).outcomes[0])
    assert table == (34.0, 150.0, 560.0)
    assert doubled == pytest.approx((68.0, 300.0, 1120.0))


def test_needs_follow_an_array_of_sizes(knowledge: Knowledge, compared: compares) -> None:
    reading = compared(BUST).reading
    scale = np.array([0.1, 0.2]) / max(reading.extents)
    both = assess(BUST, knowledge, reading, scale)
    alone = assess(BUST, knowledge, reading, float(scale[1]))
    for many, one in zip(both, alone, strict=True):
        for needs, need in zip(many.needs, one.needs, strict=True):
            assert np.broadcast_to(needs.first, 2)[1] == pytest.approx(need.first)
            assert np.broadcast_to(needs.pour, 2)[1] == pytest.approx(need.pour)


# ------------------------------------------------------------------------------------------------------ uncertainty


def test_odds_are_reckoned_by_weight_and_say_so(compared: compares) -> None:
    weight, kits = (spread_of(compared(case), draws=200) for case in (BUST, in_kits(BUST)))
    assert np.array_equal(weight.chance, kits.chance)
    assert firmness_words(kits).startswith("Reckoned by weight, without whole kits, the ")
    assert "whole kits" not in firmness_words(weight)
    result = compared(in_kits(BUST))
    one, other = sensitivity_of(result, 64), sensitivity_of(result.by_weight, 64)
    assert one is not None and other is not None
    assert (one.cheapest, one.mean) == (other.cheapest, other.mean)
    assert switching_values(result) == switching_values(result.by_weight)


# ---------------------------------------------------------------------------------------------- job file and command


def test_a_saved_job_keeps_the_switch(tmp_path: Path) -> None:
    job = load_job(DATA / "jobs" / "figure.toml")
    saved = save_job(in_kits(job.case), tmp_path / "kits.toml", job)
    assert "whole_kits = true" in saved.text
    assert load_job(tmp_path / "kits.toml").case.whole_kits


def test_the_command_compares_in_whole_kits(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    job = load_job(DATA / "jobs" / "figure.toml")
    save_job(in_kits(job.case), tmp_path / "kits.toml", job)
    path = str(tmp_path / "kits.toml")
    assert main(["compare", path, "--data", str(DATA)]) == 0
    assert " in whole kits" in capsys.readouterr().out
    assert main(["compare", path, "--data", str(DATA), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["whole_kits"] is True
