"""The shopping list: every material of a run, in whole kits that cover it, with what is left over and the rule."""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable
from dataclasses import replace

import pytest

from moldkit.errors import InputError
from moldkit.quantity import working
from moldkit.study.bench.boards import board_of, box_of
from moldkit.study.case import Case
from moldkit.study.compare import Comparison
from moldkit.study.load_checks import load_checks
from moldkit.study.run_plan import plan_run
from moldkit.study.shopping import ShoppingLine, ShoppingList, shopping_list, shopping_of_plan

BUST = Case(form="bust", size=(0.144, 0.11, 0.2), run=100, good_share=0.95, name="Bust")
TECHNIQUES = ["poured block", "brushed skin", "cavity pour", "cavity pour, printed shell"]
compares = Callable[[Case], Comparison]


def line(found: ShoppingList, material: str) -> ShoppingLine:
    return next(each for each in (*found.lines, *found.at_hand) if each.material == material)


@pytest.mark.parametrize("technique", TECHNIQUES)
def test_the_list_holds_what_first_mold_whole_remakes_and_pours_take(technique: str, compared: compares) -> None:
    result = compared(BUST)
    outcome = next(o for o in result.outcomes if o.name == technique)
    found = shopping_list(result, technique)
    molds = result.molds(outcome)
    assert molds is not None
    remakes = max(0, math.ceil(molds.value - 1.1))
    assert (found.molds, found.pours) == (1 + remakes, math.ceil(100 / 0.95))
    rubber = next(each for each in found.lines if "rubber" in each.purposes)
    assert rubber.amount.value == pytest.approx((1 + remakes) * outcome.plan["rubber_mass"].value)
    casting = next(each for each in found.lines if "casting" in each.purposes)
    loss = result.shop.quantity("casting_loss").value
    assert casting.amount.value == pytest.approx(found.pours * outcome.casting["mass"].value * (1 + loss))
    assert found.rule.startswith("for the first mold and the remakes that the run is expected to need, in whole molds")


@pytest.mark.parametrize("technique", TECHNIQUES)
def test_every_material_of_the_plan_is_on_the_list_once(technique: str, compared: compares) -> None:
    result = compared(BUST)
    outcome = next(o for o in result.outcomes if o.name == technique)
    found = shopping_list(result, technique)
    purposes = [purpose for each in (*found.lines, *found.at_hand) for purpose in each.purposes]
    bill = {a.what for a in outcome.plan.amounts if a.amount.value > 0} - {"printer hours"}
    assert sorted(purposes) == sorted({*bill, "release agent", "casting"})


@pytest.mark.parametrize("technique", TECHNIQUES)
def test_kits_cover_what_is_needed_and_the_sums_are_those_of_the_lines(technique: str, compared: compares) -> None:
    found = shopping_list(compared(BUST), technique)
    for each in (*found.lines, *found.at_hand):
        assert each.sold_in_kits
        assert each.purchase.mass >= each.needed.value * (1 - 1e-9)
        assert each.left_over.value == pytest.approx(each.purchase.mass - each.needed.value)
        assert each.cost.value == each.purchase.cost
    assert found.cost.value == pytest.approx(sum(each.cost.value for each in found.lines))
    assert found.pro_rata.value == pytest.approx(sum(each.pro_rata.value for each in found.lines))
    # Demo kits cost no less a kilogram than the material by weight.
    assert found.cost.value >= found.pro_rata.value


def test_a_line_by_hand(compared: compares) -> None:
    result = compared(replace(BUST, life=40.0))
    found = shopping_list(result, "cavity pour")
    assert found.molds == math.ceil(106 / 40)
    rubber = line(found, "platinum silicone, slow")
    mass = result.outcomes[2].plan["rubber_mass"].value
    assert rubber.needed.value == pytest.approx(3 * mass)
    assert rubber.pro_rata.value == pytest.approx(3 * mass * 28.0)
    shell = line(found, "gypsum with fibre")
    assert shell.amount.value == pytest.approx(result.outcomes[2].plan.amounts[1].amount.value)


def test_what_serves_again_is_listed_apart_whole_and_in_no_sum(compared: compares) -> None:
    result = compared(BUST)
    found = shopping_list(result, "poured block")
    (board,) = found.at_hand
    assert board.material == "box board" and board.stays and "serves again" in board.note
    assert board.needed.value >= result.outcomes[0].plan["board_area"].value
    assert board.amount.value == pytest.approx(0.3 * result.outcomes[0].plan["board_area"].value)
    assert "box board" not in [each.material for each in found.lines]
    assert [each.material for each in shopping_list(result, "cavity pour").at_hand] == ["blanket clay"]


@pytest.mark.parametrize("size", [(0.05, 0.04, 0.06), (0.144, 0.11, 0.2), (0.4, 0.3, 0.1)])
def test_the_board_at_hand_is_enough_for_the_cut_list_and_its_offcuts(
    size: tuple[float, float, float], compared: compares
) -> None:
    result = compared(replace(BUST, form="box", size=size))
    box = box_of(result.outcomes[0].plan, board_of(load_checks(result, "poured block")))
    assert box is not None
    cut = sum(board.count * board.length * board.width for board in box.boards)
    (board,) = shopping_list(result, "poured block").at_hand
    assert board.needed.value == pytest.approx(1.1 * cut)
    assert board.purchase.mass >= board.needed.value


def test_a_plan_is_bought_for_with_its_molds_and_a_shell_for_each_in_use(compared: compares) -> None:
    result = compared(replace(BUST, life=40.0))
    plan = plan_run(result, "cavity pour", molds=3, start=datetime.date(2026, 11, 25))
    found = shopping_of_plan(result, plan)
    outcome = next(o for o in result.outcomes if o.name == "cavity pour")
    shell = next(a for a in outcome.plan.amounts if a.what == "shell").amount.value
    assert plan.in_use == 3
    assert found.molds >= plan.molds_made
    assert found.rule.endswith("; 3 molds are in use side by side")
    assert line(found, "gypsum with fibre").amount.value == pytest.approx(3 * shell)


def test_the_rule_for_remakes_is_said_plainly(compared: compares) -> None:
    assert "a tenth of a remake or more counts as one" in shopping_list(compared(BUST), "cavity pour").rule


def test_the_first_mold_alone_takes_no_castings_of_the_run(compared: compares) -> None:
    result = compared(BUST)
    found = shopping_list(result, "brushed skin", scope="first mold")
    assert (found.molds, found.pours) == (1, 0)
    assert "casting" not in [purpose for each in found.lines for purpose in each.purposes]
    assert found.rule == "for the first mold, without castings of the run"
    several = shopping_list(compared(replace(BUST, longest=0.06, cavities=4)), "poured block", scope="first mold")
    masters = next(each for each in several.lines if "casting" in each.purposes)
    assert masters.amount.value > 0.0


def test_a_lost_pattern_takes_a_master_casting_for_each_remake(compared: compares) -> None:
    kept, lost = (
        line(shopping_list(compared(replace(BUST, life=40.0, survives=survives)), "brushed skin"), BUST.material)
        for survives in (True, False)
    )
    assert lost.amount.value == pytest.approx(kept.amount.value * (106 + 2) / 106)


def test_molds_side_by_side_are_bought_for_where_they_are_more_than_wear_out(compared: compares) -> None:
    result = compared(replace(BUST, life=40.0))
    assert shopping_list(result, "cavity pour", molds=2).molds == 3
    more = shopping_list(result, "cavity pour", molds=8)
    assert more.molds == 8
    assert more.rule == "for the 8 molds asked for; the run is expected to wear out fewer"


def test_molds_side_by_side_take_a_shell_each(compared: compares) -> None:
    result = compared(replace(BUST, life=40.0))
    for technique, material in (
        ("cavity pour", "gypsum with fibre"),
        ("cavity pour, printed shell", "printed plastic"),
    ):
        outcome = next(o for o in result.outcomes if o.name == technique)
        shell = next(a for a in outcome.plan.amounts if a.what == "shell").amount.value
        assert line(shopping_list(result, technique, molds=8), material).amount.value == pytest.approx(shell)
        beside = shopping_list(result, technique, side_by_side=4)
        assert beside.molds == 4
        assert line(beside, material).amount.value == pytest.approx(4 * shell)
    # A brushed remake has a new shell anyhow.
    one, four = (shopping_list(result, "brushed skin", molds=4, side_by_side=n) for n in (1, 4))
    assert line(one, "gypsum with fibre").amount == line(four, "gypsum with fibre").amount
    with pytest.raises(InputError, match="0 molds; give a whole number from 1"):
        shopping_list(result, "cavity pour", side_by_side=0)


def test_every_amount_shows_its_working(compared: compares) -> None:
    found = shopping_list(compared(BUST), "poured block")
    lines = working(line(found, BUST.material).cost)
    assert lines[0].formula.startswith("cheapest kits: ")
    assert [each.name for each in lines if each.depth == 2][:3] == [
        f"{BUST.material}: first mold", f"{BUST.material}: remakes", f"{BUST.material}: castings",
    ]  # fmt: skip


def test_the_list_is_the_same_whether_the_costs_go_by_kits_or_by_weight(compared: compares) -> None:
    one, other = (shopping_list(compared(replace(BUST, whole_kits=on)), "poured block") for on in (True, False))
    assert [each.purchase for each in one.lines] == [each.purchase for each in other.lines]


def test_what_holds_water_says_that_nobody_buys_it(compared: compares) -> None:
    found = shopping_list(compared(replace(BUST, material="gypsum plaster")), "poured block")
    assert "the water it is mixed with is not bought" in line(found, "gypsum plaster").note
    assert line(found, "platinum silicone, slow").note == ""


def test_unknown_words_and_numbers_are_refused_with_the_mend(compared: compares) -> None:
    result = compared(BUST)
    with pytest.raises(InputError, match="unknown technique 'poured blok'; did you mean 'poured block'"):
        shopping_list(result, "poured blok")
    with pytest.raises(InputError, match="unknown scope 'everything'"):
        shopping_list(result, "poured block", scope="everything")  # type: ignore[arg-type]
    with pytest.raises(InputError, match="0 molds; give a whole number from 1"):
        shopping_list(result, "poured block", molds=0)


def test_without_a_known_life_the_molds_must_be_said(compared: compares) -> None:
    # Tin alloy is cast in no latex: the pair has no row of lives.
    result = compared(replace(BUST, rubber="latex", material="tin alloy"))
    assert result.outcomes[1].life is None
    with pytest.raises(InputError, match="nothing is known of the life of a brushed skin here; say for how many molds"):
        shopping_list(result, "brushed skin")
    assert shopping_list(result, "brushed skin", molds=2).rule == "for the 2 molds asked for"
