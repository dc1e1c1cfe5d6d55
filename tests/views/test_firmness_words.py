"""Firmness, doubt and worth in words: neither firmer nor weaker than the draws behind them."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from moldkit.study.case import Case, read_job
from moldkit.study.compare import Comparison
from moldkit.study.uncertainty.decision import Worth
from moldkit.study.uncertainty.sensitivity import Sensitivity, sensitivity_of
from moldkit.study.uncertainty.spread import Firmness, Spread, spread_of
from moldkit.study.uncertainty.switching import Flip, Switch, switching_values
from moldkit.study.uncertainty.totals import costs_at
from moldkit.views.how_sure import how_sure
from moldkit.views.sure_record import sure_record
from moldkit.views.sure_tables import switch_for, switch_rows
from moldkit.views.sure_words import bands_words, doubt_words, firm, firmness_words, plain_input, worth_words
from moldkit.views.switch_words import by_percent, change_words, switch_words
from moldkit.views.verdict import spoken

JOBS = Path(__file__).resolve().parents[2] / "data" / "jobs"
BUST = Case(form="bust", size=(0.14, 0.11, 0.20), material="rigid urethane resin", run=80)
NEVER_LOST = Firmness("poured block", 1.0, 1.0, None, 0.0, True, 0.0, 2000)
Compared = Callable[[Case], Comparison]


def plain(words: str) -> str:
    return words.replace("\u00a0", " ").replace("\u202f", " ")


@pytest.fixture(scope="module")
def bust(compared: Compared) -> Comparison:
    return compared(BUST)


@pytest.fixture(scope="module")
def spread(bust: Comparison) -> Spread:
    return spread_of(bust, draws=400, farthest=300)


@pytest.fixture(scope="module")
def doubt(bust: Comparison) -> Sensitivity:
    found = sensitivity_of(bust, points=64)
    assert found is not None
    return found


def with_firmness(spread: Spread, firmness: Firmness) -> Spread:
    told = replace(spread)
    told.__dict__["firmness"] = firmness
    return told


# ----------------------------------------------------------------------------------------------------------- firmness


def test_the_only_technique_that_works_is_not_said_to_be_the_cheapest(compared: Compared) -> None:
    lone = spread_of(compared(read_job(JOBS / "boss.toml")), draws=64)
    assert lone.firmness is not None and lone.firmness.alone
    said = firmness_words(lone)
    assert said == "The brushed skin is the only technique that works, in every plausible shop."
    assert "costs least" not in worth_words(lone) and "only technique that works" in worth_words(lone)
    assert firm(replace(lone.firmness, share=0.93)) == "the only technique that works, in 93 of 100 plausible shops"


def test_a_technique_that_works_in_some_shops_only_is_a_rival_all_the_same(spread: Spread) -> None:
    assert spread.firmness is not None and not spread.firmness.alone


def test_a_toss_up_in_money_that_is_never_lost_is_near_and_surely_the_cheapest(spread: Spread) -> None:
    near = replace(NEVER_LOST, beside="cavity pour", beside_share=0.83)
    said = plain(firmness_words(with_firmness(spread, near)))
    assert "Near in cost, but surely the cheapest: the cavity pour comes within 10 % of it in 83 of 100" in said
    far = replace(NEVER_LOST, beside="cavity pour", beside_share=0.2)
    assert "Near in cost" not in firmness_words(with_firmness(spread, far))
    open_choice = replace(near, share=0.6, rival="cavity pour", rival_share=0.4)
    assert "surely" not in firmness_words(with_firmness(spread, open_choice))


def test_who_comes_near_is_counted_in_the_draws(spread: Spread) -> None:
    found = spread.firmness
    assert found is not None and found.beside is not None and found.technique != found.beside
    costs = costs_at(spread.draws.shops, spread.run)
    near = np.mean(spread.draws.shops.feasible & (costs <= 1.1 * costs.min(axis=0)), axis=1)
    assert found.beside_share == near[spread.techniques.index(found.beside)]


def test_a_rival_with_the_same_number_of_shops_is_not_said_to_have_more(spread: Spread) -> None:
    alike = Firmness("poured block", 0.4975, 0.9, "cavity pour", 0.5025, True, 0.01, 2000)
    said = firmness_words(with_firmness(spread, alike))
    assert "cheapest in 50 of 100" in said and "The cavity pour is the cheapest as often (50)" in said
    assert "more often" not in said


# -------------------------------------------------------------------------------------------------------------- doubt


def test_a_choice_that_no_shop_turns_is_not_said_to_hang_on_anything(doubt: Sensitivity) -> None:
    said = doubt_words(replace(doubt, overtaken=0.0))
    cheapest, rival = spoken(doubt.cheapest), spoken(doubt.next)
    start = f"The {cheapest} is cheaper than the {rival} for 80 castings in every plausible shop"
    assert plain(said).startswith(f"{start}; by how much hangs most on ") and "Whether" not in said
    assert "in more than 99 of 100 plausible shops; by how much" in doubt_words(replace(doubt, overtaken=0.002))
    assert doubt_words(replace(doubt, overtaken=0.2)).startswith("Whether")


def test_how_often_the_next_technique_is_cheaper_is_counted(bust: Comparison, doubt: Sensitivity) -> None:
    # The same share from independent draws, within four standard errors of both.
    found = spread_of(bust, draws=2_000, seed=5)
    cheapest, rival = (found.techniques.index(name) for name in (doubt.cheapest, doubt.next))
    costs = costs_at(found.draws.shops, bust.case.run)
    assert doubt.overtaken == pytest.approx(np.mean(costs[rival] < costs[cheapest]), abs=4 * 0.5 / np.sqrt(128))


# --------------------------------------------------------------------------------------------------------- money


def test_what_is_worth_less_than_an_hour_s_wage_is_measured_by_the_wage_and_not_by_the_run(spread: Spread) -> None:
    assert spread.hour == pytest.approx(40.0)  # the demo shop's likely labor rate
    known = (Worth("pour loss", "shop", 5.0, 0.1),)
    for cost in (100.0, 100_000.0):
        decision = replace(spread.decision, cost=np.full(4, cost), worth=known)
        small, large = (
            plain(worth_words(replace(spread, decision=replace(decision, worth_of_all=worth)))) for worth in (39, 41)
        )
        assert small.endswith("worth less than an hour's wage (40 USD): decide by what else counts.")
        assert "hour's wage" not in large


def test_a_life_from_the_job_is_named_as_the_job_s_own(spread: Spread) -> None:
    own = Worth("median mold life, from the job", "life", 60.0, 0.5)
    said = worth_words(replace(spread, decision=replace(spread.decision, worth=(own,), worth_of_all=120.0)))
    assert "nowing the life of this job's molds from your own log would be worth" in said
    assert plain_input(own.name, own.kind) == "mold life given by the job"


def test_the_total_of_the_likely_figures_stands_beside_the_shops_that_keep_to_it(
    bust: Comparison, spread: Spread
) -> None:
    assert bust.cheapest is not None
    total = bust.total(bust.cheapest)
    assert total is not None and spread.likely == total.value
    costs = costs_at(spread.draws.shops, spread.run)[spread.techniques.index(bust.cheapest.name)]
    assert spread.within_likely == np.mean(costs <= total.value)
    told = re.search(r"(\d+) of 100 stay within the ([\d ]+) USD of the likely figures\.$", plain(bands_words(spread)))
    assert told is not None and int(told[1]) == round(100 * spread.within_likely)
    assert float(told[2].replace(" ", "")) == pytest.approx(total.value, rel=5e-3)


# ---------------------------------------------------------------------------------------------------------- switching


def test_how_plausible_a_switching_value_is_is_told_in_shops() -> None:
    rare, common, never = (
        switch_words(Switch("labor rate", "shop", None, None, Flip(0.5, None, "poured block", False, share), None))
        for share in (0.001, 0.23, 0.0)
    )
    assert common.endswith(", which is plausible: 23 of 100 plausible shops are that far off.")
    assert rare.endswith(", which is hardly plausible: fewer than 1 of 100 plausible shops is that far off.")
    assert never.endswith(", which is hardly plausible: none of the plausible shops is that far off.")


def test_a_share_and_its_switching_value_are_both_shares_or_both_numbers() -> None:
    flip = Flip(1.34, 1.14, "poured block", False, 0.0)
    factor = switch_words(Switch("life factor, undercut moderate", "life", "-", 0.85, None, flip))
    assert "(1.14 in place of 0.85)" in plain(factor)
    loss = switch_words(Switch("pour loss", "shop", "1", 0.03, None, Flip(2.0, 0.06, "poured block", False, 0.0)))
    assert "(6 % in place of 3 %)" in plain(loss)


@pytest.mark.parametrize(
    ("factor", "words"),
    [(1.00004, "under 0.1 % more"), (0.99996, "under 0.1 % less"), (1.001, "0.1 % more"), (1.0016, "0.16 % more")],
)
def test_what_is_too_small_to_be_told_is_told_as_a_bound(factor: float, words: str) -> None:
    assert plain(by_percent(factor)) == words
    flip = Flip(factor, None, "poured block", False, 0.4)
    moved = Switch("labor rate", "shop", None, None, *((flip, None) if factor < 1 else (None, flip)))
    assert plain(switch_words(moved)).startswith(
        f"The labor rate would have to be {words.replace('more', 'higher').replace('less', 'lower')} before"
    )


def test_where_nothing_works_no_figure_is_said_to_have_been_tried(compared: Compared) -> None:
    nothing = how_sure(compared(replace(BUST, material="tin alloy", life=30.0)), draws=64)
    assert nothing.switches == () and change_words(nothing.switches) == ""
    assert "turn the choice" not in nothing.words()


def test_a_step_that_techniques_share_is_moved_in_all_of_them(bust: Comparison) -> None:
    switches = switching_values(bust)
    shared = next(switch for switch in switches if switch.name.startswith("shared step: "))
    step = shared.name.removeprefix("shared step: ")
    assert not [switch for switch in switches if switch.name.endswith(f": {step}") and switch is not shared]
    assert switch_for(f"{step}, apart from pace", switches) is shared
    flip = Flip(1.5, None, "poured block", False, 0.1)
    said = plain(switch_words(replace(shared, below=None, above=flip)))
    assert said.startswith(f"“{step}” wherever it is done would have to take 50 % more time")


def test_the_table_of_switching_values_tells_the_shops(bust: Comparison) -> None:
    switches = switching_values(bust)
    head, *rows = switch_rows(switches)
    assert head[-1] == "that far off, of 100 shops" and len({len(row) for row in [head, *rows]}) == 1
    assert all(re.fullmatch(r"\d+|fewer than 1|more than 99", row[-1]) for row in rows)


# --------------------------------------------------------------------------------------------------------- for scripts


def test_the_record_says_what_the_spread_and_the_switching_values_say(bust: Comparison) -> None:
    sure = how_sure(bust, draws=64)
    spread, record = sure.spread, sure_record(sure)
    assert json.loads(json.dumps(record, allow_nan=False)) == record
    assert (record["draws"], record["seed"]) == (64, 1)
    for place, technique in enumerate(record["techniques"]):
        assert technique["technique"] == spread.techniques[place]
        assert technique["cheapest_share"] == spread.decision.chance[place]
        assert technique["cost_p10"] <= technique["cost_p50"] <= technique["cost_p90"]
    assert record["worth_of_knowing_all"] == spread.decision.worth_of_all
    named = {(switch.name, flip.factor) for switch in sure.switches for flip in (switch.below, switch.above) if flip}
    assert {(flip["figure"], flip["factor"]) for flip in record["switching_values"]} == named


def test_where_nothing_works_the_record_has_nulls_and_no_odd_numbers(compared: Compared) -> None:
    record = sure_record(how_sure(compared(replace(BUST, material="tin alloy")), draws=16))
    assert record["least_expected_cost"] is None and record["nothing_works_share"] == 1.0
    assert all(technique["cost_p50"] is None for technique in record["techniques"])
    json.dumps(record, allow_nan=False)
