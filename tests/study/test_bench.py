"""What the bench needs to know: boards, coats, layers, molds in turn, and the cautions in play."""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable
from dataclasses import replace

import pytest

from moldkit.errors import InputError
from moldkit.study.assess import Outcome
from moldkit.study.bench.boards import BASE_STANDS_OUT, box_of
from moldkit.study.bench.cautions import cautions_for, load_cautions
from moldkit.study.bench.layers import coats_of, layers_of
from moldkit.study.bench.mixes import casting_mix, rubber_mix
from moldkit.study.bench.turns import side_by_side, turns_of
from moldkit.study.case import Case
from moldkit.study.compare import Comparison
from moldkit.study.knowledge import Knowledge
from moldkit.study.load_checks import load_checks
from moldkit.study.run_plan import plan_run
from moldkit.tables import column_dictionary

Compared = Callable[[Case], Comparison]
BOX = Case(form="box", size=(0.20, 0.10, 0.08), margin=0.02, run=40, name="Box")
DOME = Case(form="dome", size=(0.30, 0.30, 0.15), run=40, name="Dome")


def by_name(result: Comparison, name: str) -> Outcome:
    return next(outcome for outcome in result.outcomes if outcome.name == name)


# ---------------------------------------------------------------------------------------------------------- boards


def test_the_boards_of_a_box_by_hand(compared: Compared) -> None:
    """A pattern of 200 x 100 x 80 mm on its base, margins of 20 mm: rubber 240 x 140 x 100 mm, walls 125 mm high."""
    box = box_of(by_name(compared(BOX), "poured block").plan, 0.018)
    assert box is not None
    assert box.inside == pytest.approx((0.240, 0.140, 0.100))
    sizes = {board.name: (board.count, board.length, board.width) for board in box.boards}
    assert sizes["long wall"] == pytest.approx((2, 0.276, 0.125))  # 240 + 2 x 18 mm, over the ends of the short walls
    assert sizes["short wall"] == pytest.approx((2, 0.140, 0.125))
    # 30 mm beyond the walls' outside all round: 240 + 36 + 60 mm
    assert sizes["base"] == pytest.approx((1, 0.336, 0.236))
    assert box.tube is None


@pytest.mark.parametrize("cavities", [1, 6])
@pytest.mark.parametrize("thickness", [0.012, 0.018, 0.025])
def test_a_box_holds_its_rubber_and_its_pattern_whatever_the_board(
    compared: Compared, thickness: float, cavities: int
) -> None:
    result = compared(replace(BOX, cavities=cavities))
    plan = by_name(result, "poured block").plan
    box = box_of(plan, thickness)
    assert box is not None
    long, short = box.boards[0], box.boards[1]
    inside = (long.length - 2 * thickness) * short.length * box.inside[2]
    wanted = plan["pour_volume"].at(0) + cavities * result.pattern.volume.at(0)
    assert inside == pytest.approx(wanted)
    assert long.width - box.inside[2] == pytest.approx(0.025)  # the freeboard that the block is planned with


def test_a_round_box_is_a_tube_and_a_base(compared: Compared) -> None:
    case = replace(DOME, container="round", shop={"tubes": ["400 mm"]})
    box = box_of(by_name(compared(case), "poured block").plan)
    assert box is not None
    assert box.tube is not None
    assert box.tube[0] == pytest.approx(0.4)
    assert box.tube[1] == pytest.approx(box.inside[2] + 0.025)
    assert [(board.name, board.length) for board in box.boards] == [("base", pytest.approx(0.4 + 2 * BASE_STANDS_OUT))]


def test_a_mold_in_a_shell_has_no_box(compared: Compared) -> None:
    result = compared(DOME)
    assert all(box_of(by_name(result, name).plan) is None for name in ("brushed skin", "cavity pour"))


# ------------------------------------------------------------------------------------------------- coats and layers


@pytest.mark.parametrize("skin", [0.005, 0.006, 0.0075, 0.0098, 0.010, 0.012])
def test_coats_make_up_the_skin_and_the_rubber_the_first_one_thin(compared: Compared, skin: float) -> None:
    result = compared(replace(DOME, skin=skin))
    outcome = by_name(result, "brushed skin")
    coats = coats_of(outcome, result.shop)
    rubber = outcome.plan.rubber
    assert rubber is not None
    assert sum(coat.thickness for coat in coats) == pytest.approx(skin)
    assert sum(coat.mass for coat in coats) == pytest.approx(outcome.plan["rubber_mass"].at(0))
    assert len(coats) == outcome.plan["coats"].at(0)
    assert coats[0].thickness < coats[1].thickness
    assert len({round(coat.thickness, 9) for coat in coats[1:]}) == 1
    # "coats of about 2 to 3 mm": the greatest of the rubber's own range
    assert coats[1].thickness <= rubber.quantity("coat").high + 1e-9


def test_a_coat_begins_when_the_one_before_is_on_and_has_stood_for_the_gap(compared: Compared) -> None:
    """By hand, at 23 degC, where times are as in the table: 50 min between coats, and a coat's own time."""
    result = compared(replace(DOME, shop={"room_temperature": "23 degC"}))
    outcome = by_name(result, "brushed skin")
    coats = coats_of(outcome, result.shop)
    brushing = next(s.attended.at(0) for s in outcome.plan.steps if s.name == "each coat") / len(coats)
    assert [coat.begins for coat in coats] == pytest.approx([k * (50 * 60 + brushing) for k in range(len(coats))])


def test_nothing_is_brushed_in_a_poured_mold(compared: Compared) -> None:
    result = compared(DOME)
    assert coats_of(by_name(result, "cavity pour"), result.shop) == ()


# A shell of 5 mm in mats of about 1 mm, 450 g/m2 of chopped strand (from memory): five layers.
LAYERS = [("glass-polyester", 5), ("gypsum with fibre", 3), ("plaster bandage", 6)]


@pytest.mark.parametrize(("shell", "layers"), LAYERS)
def test_a_shell_is_laid_up_in_whole_layers_that_make_up_its_thickness_and_weight(
    compared: Compared, shell: str, layers: int
) -> None:
    plan = by_name(compared(replace(DOME, shell=shell)), "cavity pour").plan
    found = layers_of(plan)
    assert plan.shell is not None
    assert len(found) == layers
    assert sum(layer.thickness for layer in found) == pytest.approx(plan.shell.quantity("thickness").at(0))
    bought = next(amount.amount.at(0) for amount in plan.amounts if amount.what == "shell")
    assert sum(layer.mass for layer in found) == pytest.approx(bought)


def test_a_block_and_a_printed_shell_have_no_layers(compared: Compared) -> None:
    result = compared(DOME)
    assert all(layers_of(by_name(result, n).plan) == () for n in ("poured block", "cavity pour, printed shell"))


# --------------------------------------------------------------------------------------------------------- batches


def test_the_batches_of_a_mold_are_all_its_rubber_and_follow_each_other(compared: Compared) -> None:
    result = compared(replace(DOME, size=(0.4, 0.4, 0.4), shop={"batch_most": "4 kg"}))
    outcome = by_name(result, "poured block")
    mix = rubber_mix(result, outcome)
    assert mix is not None
    assert len(mix.batches) > 2
    assert mix.mass == pytest.approx(outcome.plan["rubber_mass"].at(0))
    assert max(batch.mass for batch in mix.batches) <= 4.0 + 1e-9
    spans = [later.begins - batch.begins for batch, later in zip(mix.batches, mix.batches[1:], strict=False)]
    assert spans == pytest.approx([mix.needed] * len(spans))
    assert all(batch.ends - batch.begins == pytest.approx(mix.pot_life) for batch in mix.batches)


def test_pot_life_is_told_for_the_shops_room(compared: Compared) -> None:
    """Ten degrees colder doubles a pot life: the ten-degree rule, from 25 to 15 degC here."""
    mixes = [
        rubber_mix(result := compared(replace(DOME, shop={"room_temperature": t})), by_name(result, "cavity pour"))
        for t in ("25 degC", "15 degC")
    ]
    assert mixes[0] is not None and mixes[1] is not None
    assert mixes[1].pot_life == pytest.approx(2 * mixes[0].pot_life)


def test_a_heavy_casting_is_mixed_in_several_batches(compared: Compared) -> None:
    case = replace(DOME, size=(0.4, 0.4, 0.4), material="concrete", rubber="urethane rubber")
    result = compared(case)
    outcome = by_name(result, "poured block")
    mix = casting_mix(result, outcome)
    poured = outcome.casting["mass"].at(0) * (1 + result.shop.quantity("casting_loss").at(0))
    assert mix.mass == pytest.approx(poured)
    assert len(mix.batches) == math.ceil(poured / result.shop.quantity("batch_most").at(0))


# ------------------------------------------------------------------------------------------------- molds in their turn


@pytest.mark.parametrize("run", [1, 5, 40, 150, 700])
def test_the_molds_of_a_run_make_its_pours(compared: Compared, run: int) -> None:
    result = compared(replace(DOME, run=run))
    turns = turns_of(result, by_name(result, "cavity pour"), most=1000)
    assert turns is not None
    assert sum(turns.each) == turns.pours == run
    assert min(turns.each) >= 1


def test_a_certain_life_is_used_to_its_end(compared: Compared) -> None:
    result = compared(replace(DOME, run=100, life=40))
    turns = turns_of(result, by_name(result, "cavity pour"))
    assert turns is not None
    assert turns.each == (40, 40, 20)
    assert not turns.planned


def test_a_long_run_is_planned_by_the_rule_without_end_and_lists_only_its_first_molds(compared: Compared) -> None:
    result = compared(replace(DOME, run=100_000))
    turns = turns_of(result, by_name(result, "cavity pour"), most=8)
    assert turns is not None
    assert len(turns.each) == 8
    assert len(set(turns.each)) == 1


def test_molds_side_by_side_share_the_pours_as_the_plan_has_them(compared: Compared) -> None:
    result = compared(replace(DOME, run=60, life=25))
    plan = plan_run(result, "cavity pour", molds=3, start=datetime.date(2026, 11, 25))
    turns = side_by_side(by_name(result, "cavity pour"), plan)
    assert turns is not None
    assert turns.in_use == 3 and len(turns.each) == plan.molds_made
    assert sum(turns.each) == plan.pours
    assert max(turns.each) <= 25
    assert "3 molds are in use side by side" in turns.advice


def test_without_a_life_nothing_is_said_of_turns(compared: Compared) -> None:
    result = compared(replace(DOME, material="tin alloy", rubber="latex"))
    assert turns_of(result, by_name(result, "brushed skin")) is None


# --------------------------------------------------------------------------------------------------------- cautions


def in_play(result: Comparison, technique: str) -> set[str]:
    return {caution.row.name for caution in cautions_for(result, by_name(result, technique))}


RESIN = {"isocyanate", "solvent"}
SILICONE_BLOCK = {"solvent", "wood dust", "blade", "vacuum"}
# Case, technique, and what a careful shop minds there (common practice, no source); nothing else may be on the page.
IN_PLAY = [
    (Case(material="soft silicone"), "poured block", SILICONE_BLOCK),
    (Case(material="rigid urethane resin"), "poured block", SILICONE_BLOCK | RESIN),
    (Case(material="rigid urethane resin", degassed=False), "poured block", (SILICONE_BLOCK | RESIN) - {"vacuum"}),
    (Case(material="rigid urethane resin", method="pressure"), "poured block", SILICONE_BLOCK | RESIN | {"pressure"}),
    (Case(material="polyester resin"), "poured block", SILICONE_BLOCK | {"styrene", "peroxide"}),
    (Case(material="polyester resin"), "brushed skin", {"solvent", "styrene", "peroxide", "dust", "alkali"}),
    (Case(material="casting wax"), "cavity pour, printed shell", {"solvent", "vacuum", "heat", "dust"}),
    (
        Case(material="tin alloy", rubber="platinum silicone, high-temperature"),
        "poured block",
        SILICONE_BLOCK | {"hot metal", "heat"},
    ),
    (
        Case(material="concrete", rubber="urethane rubber"),
        "poured block",
        SILICONE_BLOCK | {"isocyanate", "silica dust", "alkali"},
    ),
    (Case(material="gypsum plaster", rubber="latex"), "brushed skin", {"latex", "solvent", "dust", "alkali"}),
    (Case(material="rigid urethane foam", method="foam fill"), "poured block", SILICONE_BLOCK | RESIN | {"foam"}),
    (
        Case(material="epoxy resin", rubber="tin-cured silicone"),
        "cavity pour",
        {"amine", "tin compound", "solvent", "vacuum", "dust", "alkali"},
    ),
    (
        Case(material="rigid urethane resin", method="machine rotation"),
        "poured block",
        SILICONE_BLOCK | RESIN | {"turning"},
    ),
]


@pytest.mark.parametrize(("case", "technique", "hazards"), IN_PLAY)
def test_only_the_cautions_in_play_are_given(compared: Compared, case: Case, technique: str, hazards: set[str]) -> None:
    small = replace(case, form="dome", size=(0.10, 0.10, 0.05), run=20)
    assert in_play(compared(small), technique) == hazards


def test_a_heavy_mold_brings_up_its_own_caution(compared: Compared) -> None:
    heavy = replace(DOME, size=(0.4, 0.4, 0.4))
    assert "heavy" in in_play(compared(heavy), "poured block")


@pytest.mark.parametrize("method", ["open pour", "hand rotation"])
@pytest.mark.parametrize("size", [0.10, 0.16, 0.20, 0.24, 0.30])
def test_a_mold_is_heavy_on_the_safety_page_where_the_load_checks_say_so(
    compared: Compared, size: float, method: str
) -> None:
    result = compared(replace(DOME, size=(size, size, size / 2), method=method))
    for technique in ("poured block", "brushed skin", "cavity pour"):
        checks = {check.name: check.level for check in load_checks(result, technique)}
        heavy = any(checks.get(name, "pass") != "pass" for name in ("turned by hand", "lifted by hand"))
        assert ("heavy" in in_play(result, technique)) == heavy


def test_every_hazard_that_a_table_may_name_has_its_caution(knowledge: Knowledge) -> None:
    rows = load_cautions(knowledge.folder)
    words = {
        word
        for table in ("rubbers", "casting_materials", "shell_materials", "supplies")
        for word in column_dictionary(table)["hazards"].choices
    }
    assert words <= set(rows)
    assert set(rows) - words == {"pressure", "vacuum", "foam", "turning", "heavy", "blade"}


# Published limits, each with the page it was read on; "from memory" where the row says so too.
LIMITS = [
    ("isocyanate", "0.02 ppm"),  # NIOSH IDLH page 101688: OSHA ceiling for MDI
    ("isocyanate", "0.005 ppm"),  # the same page: NIOSH, over a shift
    ("styrene", "100 ppm"),  # OSHA chemical sampling page CH_268200
    ("styrene", "50 ppm"),  # NIOSH IDLH page 100425
    ("silica dust", "50 µg/m³"),  # 29 CFR 1910.1053
    ("silica dust", "25 µg/m³"),  # the same, action level
    ("solvent", "1000 ppm"),  # 29 CFR 1910.1000 Table Z-1, acetone (read in an open data set)
    ("peroxide", "0.2 ppm"),  # NIOSH ceiling for methyl ethyl ketone peroxide (from memory)
]


@pytest.mark.parametrize(("hazard", "limit"), LIMITS)
def test_limits_are_the_published_ones(knowledge: Knowledge, hazard: str, limit: str) -> None:
    assert limit in load_cautions(knowledge.folder)[hazard].text("limit")


def test_isocyanates_carry_the_words_of_their_hazard_statements(knowledge: Knowledge) -> None:
    """H334 and H317, EU CLP Annex I (Regulation (EC) No 1272/2008), Table 3.4.7."""
    words = load_cautions(knowledge.folder)["isocyanate"].text("words").lower()
    assert "may cause allergy or asthma symptoms or breathing difficulties if inhaled" in words
    assert "allergic skin reaction" in words


def test_a_hazard_without_a_row_is_told_with_its_mend(compared: Compared, copied_data: object) -> None:
    from pathlib import Path

    folder = Path(str(copied_data))
    path = folder / "cautions.csv"
    kept = [line for line in path.read_text(encoding="utf-8").splitlines() if not line.startswith("solvent,")]
    path.write_text("\n".join(kept) + "\n", encoding="utf-8")
    result = compared(DOME)
    spoilt = replace(result, knowledge=replace(result.knowledge, folder=folder))
    with pytest.raises(InputError, match=r"has no row 'solvent', which .* calls for; add it"):
        cautions_for(spoilt, by_name(spoilt, "poured block"))
