"""How firm a verdict is, in words: what the figures say and nothing firmer."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from moldkit.economics.life import Life
from moldkit.economics.retirement import when_to_retire
from moldkit.errors import InputError
from moldkit.pattern.reading import Reading
from moldkit.study.case import FROM_LOG, Case
from moldkit.study.compare import Comparison, compare
from moldkit.study.knowledge import Knowledge, load_knowledge
from moldkit.study.logged_life import logged_life
from moldkit.study.retire_curve import retire_curve
from moldkit.study.uncertainty.decision import Worth
from moldkit.study.uncertainty.spread import Firmness, Spread, spread_of
from moldkit.study.uncertainty.switching import Flip, Switch, switching_values
from moldkit.views.how_sure import how_sure
from moldkit.views.life_words import basis_words, life_words, retirement_words
from moldkit.views.sure_tables import switch_for
from moldkit.views.sure_words import (
    firm,
    firmness_words,
    money_words,
    odds_words,
    of_hundred,
    plain_input,
    worth_words,
)
from moldkit.views.switch_words import by_percent, switch_words

BUST = Case(form="bust", size=(0.14, 0.11, 0.20), material="rigid urethane resin", run=80)
SURE = Firmness("poured block", 0.941, 1.0, "cavity pour", 0.05, True, 0.005, 2000)


@pytest.fixture(scope="module")
def bust(compared: Callable[[Case], Comparison]) -> Comparison:
    return compared(BUST)


@pytest.fixture(scope="module")
def spread(bust: Comparison) -> Spread:
    return spread_of(bust, draws=400, farthest=300)


def test_the_verdict_gains_its_firmness_as_a_number_of_a_hundred() -> None:
    assert firm(SURE) == "cheapest in 94 of 100 plausible shops"


@pytest.mark.parametrize(
    ("share", "words"), [(0.0, "0"), (0.001, "fewer than 1"), (0.5, "50"), (0.9996, "more than 99"), (1.0, "100")]
)
def test_what_is_nearly_all_or_nearly_none_is_not_told_as_all_or_none(share: float, words: str) -> None:
    assert of_hundred(share) == words
    assert firm(replace(SURE, share=1.0)) == "cheapest in every plausible shop"


def test_the_odds_in_the_sentence_are_those_of_the_draws(spread: Spread) -> None:
    place = spread.techniques.index(spread.cheapest or "")
    counted = f"{100 * spread.decision.chance[place]:.0f} of 100"
    assert spread.firmness is not None and counted in firmness_words(spread)
    told = [int(figure) for figure in re.findall(r" in (\d+)", odds_words(spread))]
    assert told == sorted(told, reverse=True) and abs(sum(told) - 100) <= 2


def test_a_rival_that_wins_more_often_than_the_cheapest_is_said_to(spread: Spread) -> None:
    often = replace(SURE, share=0.36, rival_share=0.38)
    object.__setattr__(often, "rival", "cavity pour")
    told = _with_firmness(spread, often)
    assert "The cavity pour is the cheapest more often (38)" in firmness_words(told)
    assert "Otherwise it is mostly the cavity pour (5 of 100)" in firmness_words(_with_firmness(spread, SURE))


def _with_firmness(spread: Spread, firmness: Firmness) -> Spread:
    told = replace(spread)
    told.__dict__["firmness"] = firmness
    return told


def test_where_nothing_works_nothing_is_promised(compared: Callable[[Case], Comparison]) -> None:
    nothing = how_sure(compared(replace(BUST, material="tin alloy", life=30.0)), draws=64)
    assert firmness_words(nothing.spread) == ""
    assert "Nothing works" in nothing.words()
    assert "nothing to decide" in worth_words(nothing.spread)


# ------------------------------------------------------------------------------------------------------------- money


def test_what_finding_out_is_worth_is_told_in_money_and_never_more_than_knowing_everything(spread: Spread) -> None:
    decision = spread.decision
    assert money_words(decision.worth_of_all, spread.currency) in worth_words(spread)
    assert all(each.money <= decision.worth_of_all for each in decision.worth)


def test_each_kind_of_figure_is_found_out_in_its_own_way(spread: Spread) -> None:
    known = (
        Worth("hours of a first mold, cavity pour, printed shell", "hours", 60.0, 0.5),
        Worth("median mold life, platinum silicone with rigid urethane", "life", 40.0, 0.4),
        Worth("price level, addition silicone", "price", 30.0, 0.3),
        Worth("each coat, apart from pace", "hours", 20.0, 0.2),
        Worth("pour loss", "shop", 0.2, 0.0),
    )
    told = replace(spread, decision=replace(spread.decision, worth=known, worth_of_all=120.0))
    words = worth_words(told, most=5)
    assert "iming a first mold made as a cavity pour with a printed shell would be worth up to 60\u00a0USD" in words
    assert "knowing the life of platinum silicone with rigid urethane from your own log" in words
    assert "asking the price of addition silicone would be worth up to 30\u00a0USD" in words
    assert "timing “each coat”" in words
    assert "knowing the pour loss would be worth less than 1\u00a0USD" in words


@pytest.mark.parametrize(
    ("value", "words"),
    [(0.0, "0 USD"), (0.3, "less than 1 USD"), (6.784, "6.78 USD"), (41.6, "42 USD"), (2576, "2 580 USD")],
)
def test_money_is_rounded_as_one_says_it(value: float, words: str) -> None:
    assert money_words(value, "USD").replace("\u202f", " ").replace("\u00a0", " ") == words


# ---------------------------------------------------------------------------------------------------------- switching


@pytest.mark.parametrize(
    ("factor", "words"),
    [
        (0.6, "40 % less"),
        (1.18, "18 % more"),
        (0.986, "1.4 % less"),
        (3.5, "3.5 times as much"),
    ],
)
def test_a_factor_is_told_as_more_or_less(factor: float, words: str) -> None:
    assert by_percent(factor).replace("\u00a0", " ") == words


def switch(name: str, kind: str, factor: float, unit: str | None = None, likely: float | None = None) -> Switch:
    flip = Flip(factor, None if likely is None else likely * factor, "poured block", False, 0.25)
    return Switch(name, kind, unit, likely, flip if factor < 1 else None, flip if factor > 1 else None)


@pytest.mark.parametrize(
    ("moved", "words"),
    [
        (switch("hours of brushed skin", "hours", 0.6),
         "A first mold made as a brushed skin would have to take 40 % less time before the poured block is"),
        (switch("worker's pace: all hours", "hours", 1.2), "All work would have to take 20 % more time"),
        (switch("brushed skin: each coat", "hours", 3.2),
         "“each coat” of a brushed skin would have to take 3.2 times as long"),
        (switch("price level, latex", "price", 0.5), "The price of latex would have to be 50 % less"),
        (switch("median mold life, latex with plaster", "life", 1.5, "pours", 120.0),
         "The mold life, latex with plaster would have to be 50 % longer (180 pours in place of 120 pours)"),
        (switch("labor rate", "shop", 0.75, "money/s", 40 / 3600),
         "The labor rate would have to be 25 % lower (30.00 USD an hour in place of 40.00 USD an hour)"),
        (switch("pour loss", "shop", 2.0, "1", 0.03),
         "The pour loss would have to be 100 % higher (6 % in place of 3 %)"),
    ],
)  # fmt: skip
def test_a_switching_value_is_a_sentence(moved: Switch, words: str) -> None:
    said = switch_words(moved, currency="USD").replace("\u00a0", " ")
    assert said.startswith(words) and ", which is plausible: 25 of 100" in said


def test_a_length_that_turns_the_choice_is_told_in_the_reader_s_units() -> None:
    coat = switch("coat of latex", "material", 2.0, "m", 0.00127)
    assert "(2.54 mm in place of 1.27 mm)" in switch_words(coat)
    assert "(0.1 in in place of 0.05 in)" in switch_words(coat, "us")


def test_a_choice_that_is_ruled_out_or_implausible_is_said_to_be() -> None:
    flip = Flip(0.5, None, "poured block", True, 0.0)
    said = switch_words(Switch("demold time of latex", "material", None, None, flip, None))
    assert "no longer works, which is hardly plausible" in said
    assert "nothing sane turns" in switch_words(Switch("cup loss", "shop", None, None, None, None))


def test_at_the_switching_value_told_another_technique_is_indeed_the_cheapest(bust: Comparison) -> None:
    rate = next(each for each in switching_values(bust) if each.name == "labor rate" and each.nearest)
    flip = rate.nearest
    assert flip is not None and flip.value is not None
    over = compare(replace(bust.case, shop={"labor_rate": flip.value * 3600}), bust.knowledge, bust.reading)
    under = replace(bust.case, shop={"labor_rate": flip.value * 3600 / (1 + 2e-3 * np.sign(flip.factor - 1))})
    assert over.cheapest is not None and over.cheapest.name == flip.technique
    assert compare(under, bust.knowledge, bust.reading).cheapest.name == bust.cheapest.name  # type: ignore[union-attr]


def test_a_step_s_own_hours_find_the_switching_value_of_that_step() -> None:
    moved = [switch("cavity pour: open, demold, trim", "hours", 0.7), switch("worker's pace: all hours", "hours", 1.3),
             switch("casting: finish", "hours", 1.5), switch("labor rate", "shop", 1.4)]  # fmt: skip
    assert switch_for("open, demold, trim, apart from pace", moved) is moved[0]
    assert switch_for("worker's pace", moved) is moved[1]
    assert switch_for("casting: finish, apart from pace", moved) is moved[2]
    assert switch_for("labor rate", moved) is moved[3]
    assert switch_for("print speed", moved) is None


def test_names_are_plain() -> None:
    assert plain_input("each coat, apart from pace", "hours") == "hours: each coat"
    assert plain_input("price level, latex", "price") == "price of latex"


# ---------------------------------------------------------------------------------------------------------- mold life


def test_the_life_in_words_has_its_bounds_and_says_what_comes_from_log_and_table(bust: Comparison) -> None:
    life = logged_life(bust)
    words = life_words(life)
    assert f"about {life.median.likely:.0f} castings" in words
    assert f"sure of {life.median.low:.0f} to {life.median.high:.0f}" in words
    assert f"count for {100 * life.learned.log_weight:.0f} %" in words
    assert f"({int(life.worn.sum())} worn out)" in words


def test_a_pair_without_a_failure_gets_a_lower_bound_and_no_error(compared: Callable[[Case], Comparison]) -> None:
    life = logged_life(compared(replace(BUST, material="epoxy resin")))
    assert life.castings.size and not life.worn.any() and life.fit is None and life.least is not None
    assert "No mold has worn out yet: half of them outlast" in life_words(life)


def test_a_life_learned_already_or_given_is_not_learned_from_twice(
    bust: Comparison, knowledge: Knowledge, reading_of: Callable[[Case], Reading]
) -> None:
    for given in (FROM_LOG, 25.0, (10.0, 20.0, 30.0)):
        again = logged_life(compare(replace(BUST, life=given), knowledge, reading_of(BUST)))
        assert again.prior == logged_life(bust).prior
        assert again.median == logged_life(bust).median


def test_molds_of_another_use_are_brought_to_the_job_s_use(
    bust: Comparison, compared: Callable[[Case], Comparison]
) -> None:
    plain, careless = logged_life(bust), logged_life(compared(replace(BUST, release=False)))
    assert careless.castings == pytest.approx(plain.castings * careless.factor / plain.factor)
    assert careless.median.likely == pytest.approx(plain.median.likely * careless.factor / plain.factor)


def test_without_a_log_the_life_is_the_table_s(copied_data: Path, reading_of: Callable[[Case], Reading]) -> None:
    (copied_data / "mold_log.csv").unlink()
    life = logged_life(compare(BUST, load_knowledge(copied_data), reading_of(BUST)))
    assert life.castings.size == 0 and "so the life is the table's" in life_words(life)
    assert life.median.likely == pytest.approx(life.prior.likely, rel=0.02)


def test_a_pair_or_a_technique_that_is_not_known_is_refused(
    bust: Comparison, compared: Callable[[Case], Comparison]
) -> None:
    with pytest.raises(InputError, match=r"has no row for .* with tin alloy; add one"):
        logged_life(compared(replace(BUST, material="tin alloy")))
    with pytest.raises(InputError, match="unknown technique 'glove'"):
        logged_life(bust, "glove")


# --------------------------------------------------------------------------------------------------------- retirement


def test_the_curve_s_least_is_the_long_run_rule(bust: Comparison) -> None:
    curve = retire_curve(bust, bust.outcomes[0], Life(30.0, 0.3), lost=100.0)
    assert curve.ages[curve.costs.argmin()] == curve.advice.long_run.age
    assert curve.costs.min() == pytest.approx(curve.advice.long_run.cost_rate)
    assert curve.costs[-1] == pytest.approx(curve.to_failure, rel=0.02)


def test_the_advice_in_words_is_that_of_the_run_at_hand_and_its_saving_in_money(bust: Comparison) -> None:
    life = Life(30.0, 0.3)
    curve = retire_curve(bust, bust.outcomes[0], life, lost=200.0)
    planned, failed = curve.planned, curve.planned + float(bust.outcomes[0].pour.at(0)) + 200.0
    advice = when_to_retire(life.chances, int(bust.pours(bust.outcomes[0]).value), planned, failed)
    assert advice.retires and advice.verdict() in retirement_words(curve)
    assert f"that is {money_words(advice.saving, 'USD')}" in retirement_words(curve)


def test_a_life_without_wear_is_used_to_failure(bust: Comparison) -> None:
    words = retirement_words(retire_curve(bust, bust.outcomes[0], Life(30.0, 1.0), lost=200.0))
    assert "Use each mold until it fails" in words and "Over" not in words


def test_a_loss_below_nothing_is_refused(bust: Comparison) -> None:
    with pytest.raises(InputError, match="must be 0 or more, not -1"):
        retire_curve(bust, bust.outcomes[0], Life(30.0, 0.3), lost=-1.0)


def test_a_verdict_says_whose_life_it_goes_by(bust: Comparison) -> None:
    by_table = basis_words(bust)
    assert by_table.startswith("Mold life by the table: half of the molds outlast about 45 castings.")
    assert "The log holds 24 molds of this pair, 16 worn out" in by_table
    by_log = basis_words(compare(replace(bust.case, life=FROM_LOG), bust.knowledge, bust.reading))
    assert by_log.startswith("Mold life by the log and the table") and "24 of this pair (16 worn out)" in by_log
    own = basis_words(compare(replace(bust.case, life=(20.0, 40.0, 60.0)), bust.knowledge, bust.reading))
    assert own == "Mold life by the job: half of the molds outlast about 40 castings."
