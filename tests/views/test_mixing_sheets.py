"""What is mixed on the bench: plaster that fills its mold, powder that is bought, times that are those of the plan."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from moldkit.study.bench.layers import coat_step, coats_of
from moldkit.study.bench.mixes import casting_mix, rubber_mix
from moldkit.study.bench.moments import rubber_begins
from moldkit.study.case import Case, read_job
from moldkit.study.compare import Comparison, compare
from moldkit.study.knowledge import Knowledge
from moldkit.study.load_checks import load_checks
from moldkit.study.run_plan import plan_run
from moldkit.study.shopping import shopping_list
from moldkit.units import System
from moldkit.views.paper.document import ClockTimes, Document, KeyFigures, Number, Sentence, Table
from moldkit.views.sheets.bench import Bench, bench_for
from moldkit.views.sheets.build import build_sheet
from moldkit.views.sheets.in_units import scale_for
from moldkit.views.sheets.mixing import how_to_mix, mixing_sheet
from moldkit.views.sheets.pouring import pour_plan
from moldkit.views.sheets.schedule import schedule_sheet
from moldkit.views.sheets.whole_set import whole_set
from moldkit.views.sheets.words import hours_and_minutes

JOBS = Path(__file__).resolve().parents[2] / "data" / "jobs"
DAY, NINE = datetime.date(2026, 11, 25), datetime.time(9)
DOME = Case(form="dome", size=(0.30, 0.30, 0.15), run=40, name="Dome")
BALL = Case(form="ball", size=(0.45, 0.45, 0.45), run=40, name="Ball", material="rigid urethane resin")
Compared = Callable[[Case], Comparison]


@pytest.fixture(scope="module")
def boss(knowledge: Knowledge) -> Comparison:
    """Return the demo job of plaster domes from a latex skin."""
    return compare(read_job(JOBS / "boss.toml"), knowledge)


def blocks(document: Document, kind: type) -> Iterator[object]:
    return (block for page in document.pages for block in page.blocks if isinstance(block, kind))


def table(document: Document, heading: str) -> Table:
    """Return the first table with a column of this heading."""
    found = (t for t in blocks(document, Table) if isinstance(t, Table))
    return next(t for t in found if heading in [column.heading for column in t.columns])


def column(of: Table, heading: str) -> list[object]:
    place = [column.heading for column in of.columns].index(heading)
    return [row[place] for row in of.rows]


# ------------------------------------------------------------------------------------------- plaster fills its mold


# Densities of powder and water [kg/m3], from memory: hemihydrate 2600 to 2750, tap water 998.
POWDER, WATER = 2650.0, 998.0


@pytest.mark.parametrize("material", ["gypsum plaster", "gypsum cement", "polymer-modified gypsum"])
def test_powder_and_water_of_a_plaster_casting_fill_its_mold(compared: Compared, material: str) -> None:
    """The volumes of the powder and of the water on the sheet together are the mold's, and the loss."""
    result = compared(replace(DOME, material=material))
    bench = bench_for(result, "cavity pour", date=DAY)
    sheet = table(mixing_sheet(bench), "Powder")
    powder, water = (
        sum(cell.value for cell in column(sheet, name) if isinstance(cell, Number)) for name in ("Powder", "Water")
    )
    kilograms = 1.0 if next(c for c in sheet.columns if c.heading == "Powder").unit == "kg" else 1e-3
    slurry = kilograms * (powder / POWDER + water / WATER)
    loss = result.shop.quantity("casting_loss").at(0)
    wanted = result.pattern.volume.at(0) * (1 + loss)
    if material == "polymer-modified gypsum":
        # Its polymer and fillers stay in the casting too: counted as gypsum it is mixed amply, never too little.
        assert 0.97 * wanted <= slurry <= 1.2 * wanted
    else:
        assert slurry == pytest.approx(wanted, rel=0.03)


def test_the_boss_by_hand(boss: Comparison) -> None:
    """6.434 L of dome at (100 + 70) / 118.62 x 1106 = 1585 kg/m3 and 5 % loss: 10.71 kg, of them 6.30 kg of powder."""
    sheet = table(mixing_sheet(bench_for(boss, date=DAY)), "Powder")
    assert [cell.text for cell in sheet.rows[0][1:3] if isinstance(cell, Number)] == ["6.30", "4.41"]
    # 64 pours of 6.299 kg
    bought = next(line for line in shopping_list(boss, "brushed skin").lines if "casting" in line.purposes)
    assert bought.needed.at(0) == pytest.approx(403.1, abs=0.5)
    assert boss.cheapest is not None
    price = boss.knowledge.materials.castings["gypsum plaster"].quantity("price").at(0)
    assert boss.cheapest.casting["material_cost"].at(0) == pytest.approx(6.299 * price, rel=1e-3)


def test_concrete_is_bought_dry(knowledge: Knowledge) -> None:
    """155 pours of 4.081 kg with 13 parts of water to 100: 155 x 4.081 / 1.13 = 560 kg, 23 bags of 25 kg."""
    panel = compare(read_job(JOBS / "panel.toml"), knowledge)
    bought = next(line for line in shopping_list(panel, "poured block").lines if "casting" in line.purposes)
    assert bought.needed.at(0) == pytest.approx(559.8, abs=0.5)
    assert bought.purchase.words == "23 x 25 kg"


def test_a_filled_mold_weighs_what_was_poured_in_the_finding_and_in_the_load_check(boss: Comparison) -> None:
    """Mold 3.2 kg and 6.434 L at 1585 kg/m3: 13.4 kg, not the 10.3 kg of the dry casting."""
    check = next(c for c in load_checks(boss, "brushed skin") if c.name.startswith("lift"))
    assert check.figure.at(0) == pytest.approx(13.4, abs=0.1)
    turned = replace(boss.case, method="hand rotation", wall=0.02, shop={"hand_caution": "1 kg"})
    result = compare(turned, boss.knowledge)
    outcome = next(o for o in result.outcomes if o.name == "brushed skin")
    found = next(f for f in outcome.findings() if "the filled mold weighs" in f.words)
    whole = outcome.plan["mold_mass"].at(0) + outcome.casting["mass"].at(0)
    assert f"weighs {Bench(result, outcome, 'metric', DAY).say(whole, 'kg')}" in found.words


def test_latex_on_the_shopping_list_says_that_it_is_reckoned_dry(boss: Comparison) -> None:
    latex = next(line for line in shopping_list(boss, "brushed skin").lines if "rubber" in line.purposes)
    # 60 % of solids: 1 / 0.6 = 1.67
    assert "when dry" in latex.note and "1.67 times as much" in latex.note
    assert latex.purchase.words == "2 x 600 g" and "600 g dry is a container of 1 kg" in latex.note


# ---------------------------------------------------------------------------------------- times are those of the plan


def test_coats_are_begun_when_the_schedule_of_the_same_set_begins_them(boss: Comparison) -> None:
    sheets = {sheet.title: sheet for sheet in whole_set(bench_for(boss, date=DAY, start=NINE))}
    planned = table(sheets["Schedule"], "Begins")
    steps = dict(zip(column(planned, "Step"), column(planned, "Begins"), strict=True))
    coats = [begins for step, begins in steps.items() if str(step).startswith("each coat")]
    assert len(coats) == 10
    assert column(table(sheets["Mold build sheet"], "Thick"), "Begin at") == coats
    assert column(table(sheets["Mixing sheet"], "Mixed at"), "Mixed at") == coats
    # Work begins at nine with the cleaning, and nothing is brushed after the shift of eight hours.
    assert steps["clean, seal, release"] == "Wed 25 Nov, 09:00"
    assert all("09:00" <= str(words)[-5:] <= "17:00" for words in coats)


def test_poured_rubber_is_mixed_when_the_schedule_pours_it(compared: Compared) -> None:
    result = compared(DOME)
    plan = plan_run(result, "cavity pour", molds=1, start=DAY)
    bench = bench_for(result, "cavity pour", date=DAY, start=NINE)
    (begins,) = rubber_begins(plan, bench.outcome)
    assert begins == next(bar.start for bar in plan.bars if bar.step == "mix, degas, pour" and bar.mold == 1)
    assert column(table(mixing_sheet(bench, plan), "Mixed at"), "Mixed at")[0] == (
        f"{begins:%a} {begins.day} {begins:%b}, {begins:%H:%M}"
    )


def test_without_a_start_of_work_times_are_left_to_fill_in(boss: Comparison) -> None:
    plan = plan_run(boss, "brushed skin", molds=1, start=DAY)
    bench = bench_for(boss, date=DAY)
    assert mixing_sheet(bench, plan) == mixing_sheet(bench)
    assert build_sheet(bench, run=plan) == build_sheet(bench)


def test_cups_of_a_coat_are_mixed_as_they_are_brushed_on(compared: Compared) -> None:
    """Three cups in a coat: each is begun when a third of the brushing more is done, and is on within its pot life."""
    result = compared(replace(BALL, rubber="platinum silicone, fast"))
    bench = bench_for(result, "brushed skin", date=DAY)
    mix = rubber_mix(result, bench.outcome)
    assert mix is not None
    coats = coats_of(bench.outcome, result.shop)
    brushing = coat_step(bench.outcome).attended.at(0) / len(coats)
    cups = [batch for batch in mix.batches if batch.name.startswith("2.")]
    assert len(cups) > 1
    spans = [cup.begins - coats[1].begins for cup in cups]
    assert spans == pytest.approx([k * brushing / len(cups) for k in range(len(cups))])


def test_the_halves_of_a_block_are_mixed_apart_by_a_cure(compared: Compared) -> None:
    result = compared(replace(DOME, pours="two", shop={"batch_most": "6 kg"}))
    outcome = next(o for o in result.outcomes if o.name == "poured block")
    mix = rubber_mix(result, outcome)
    assert mix is not None
    half = len(mix.batches) // 2
    assert half >= 1
    cure = next(s.wait.at(0) for s in outcome.plan.steps if s.name == "mix, degas, pour") / 2
    assert mix.batches[half].begins - mix.batches[half - 1].begins > cure


# --------------------------------------------------------------------------------------------------------- pot life


def test_a_pour_in_several_batches_that_outlasts_its_pot_life_is_a_caution(compared: Compared) -> None:
    """A ball of 45 cm takes 54 kg of resin: five batches of some 5 minutes each, and the first sets after 7.5."""
    result = compared(BALL)
    outcome = next(o for o in result.outcomes if o.name == "poured block")
    mix = casting_mix(result, outcome)
    assert len(mix.batches) == 5
    start, rate = (result.shop.quantity(f"casting_mixing_{name}").at(0) for name in ("start", "rate"))
    assert mix.all_in == pytest.approx(5 * start + rate * mix.mass)
    assert mix.all_in > mix.pot_life
    found = next(f for f in outcome.findings() if f.rule == "casting sets before it is poured")
    assert found.level == "caution"
    assert "5 batches in 26" in found.words


def test_one_batch_and_batches_that_are_in_in_time_raise_nothing(compared: Compared) -> None:
    slow = replace(BALL, material="clear epoxy resin")
    for case in (replace(DOME, size=(0.1, 0.1, 0.05), material="rigid urethane resin"), slow):
        for outcome in compared(case).outcomes:
            assert "casting sets before it is poured" not in {f.rule for f in outcome.findings()}


def test_each_batch_of_a_casting_has_its_time(compared: Compared) -> None:
    result = compared(BALL)
    bench = bench_for(result, "poured block", date=DAY, start=NINE)
    mix = casting_mix(result, bench.outcome)
    (clock,) = (block for block in blocks(mixing_sheet(bench), ClockTimes) if isinstance(block, ClockTimes))
    labels = [time.label for time in clock.times]
    assert labels[1:-1] == [f"batch {n} in the mold by" for n in range(1, 6)]
    assert clock.times[-1].at == bench.clock(mix.batches[-1].begins + bench.outcome.casting["cure"].at(0))


@pytest.mark.parametrize(
    ("seconds", "words"), [(450, "7 min"), (119.9, "119 s"), (3599, "59 min"), (600, "10 min"), (7199.99, "1 h 59 min")]
)
def test_what_must_not_be_overrun_is_never_rounded_up(seconds: float, words: str) -> None:
    assert hours_and_minutes(seconds, latest=True) == words


@pytest.mark.parametrize("technique", ["poured block", "brushed skin", "cavity pour"])
def test_no_sheet_gives_more_than_the_pot_life(compared: Compared, technique: str) -> None:
    result = compared(replace(DOME, material="rigid urethane resin"))
    bench = bench_for(result, technique, date=DAY, start=NINE)
    mix = casting_mix(result, bench.outcome)
    (clock,) = (block for block in blocks(mixing_sheet(bench), ClockTimes) if isinstance(block, ClockTimes))
    # 7 min at 23 degC are 7 x 2^0.1 = 7.5 in the demo shop's 22 degC.
    assert mix.pot_life == pytest.approx(7.5 * 60, abs=2)
    assert (clock.times[1].after, clock.times[1].at) == ("after 7 min", "09:07")
    keys = [key for block in blocks(mixing_sheet(bench), KeyFigures) for key in getattr(block, "figures", ())]
    assert "7 min" in [key.value for key in keys if key.label == "Pot life in this room"]
    told = " ".join(str(cell) for t in blocks(pour_plan(bench), Table) for row in t.rows for cell in row)  # type: ignore[attr-defined]
    assert "within 7 min" in told and "8 min" not in told


def test_a_batch_of_degassed_rubber_is_no_larger_than_its_froth_allows(compared: Compared) -> None:
    """A pail nine tenths of a chamber of 40 x 45 cm holds 41.2 L, a quarter of it rubber: the pail is never larger."""
    pail = 3.14159265 / 4 * 0.36**2 * 0.405
    big = replace(DOME, size=(0.45, 0.45, 0.45), material="soft silicone")
    result = compared(big)
    for name in ("poured block", "cavity pour"):
        outcome = next(o for o in result.outcomes if o.name == name)
        assert outcome.plan.batches is not None and outcome.plan.rubber is not None
        density = outcome.plan.rubber.quantity("density").at(0)
        assert 4 * outcome.plan.batches.each.at(0) / density <= pail * (1 + 1e-6)
        froth = next(c for c in load_checks(result, name) if c.name == "froth in the chamber")
        assert froth.level == "pass"
    undegassed = compared(replace(big, degassed=False))
    block = next(o for o in undegassed.outcomes if o.name == "poured block").plan.batches
    assert block is not None
    assert block.vessel.at(0) == result.shop.quantity("batch_most").at(0)


# ------------------------------------------------------------------------------------------------ words on the sheets


# Material, what its way of mixing says, what it must not say. Common practice, no source.
WAYS = [
    ("gypsum plaster", "Sift the powder", "part B"),
    ("concrete", "dry mix", "part B"),
    ("casting wax", "Melt it", "part B"),
    ("tin alloy", "Melt it", "cup"),
    ("rigid urethane foam", "pour at once", "second cup"),
    ("rigid urethane resin", "part B into it", "powder"),
]


@pytest.mark.parametrize(("material", "says", "never"), WAYS)
def test_each_material_is_mixed_in_its_own_way(knowledge: Knowledge, material: str, says: str, never: str) -> None:
    words = how_to_mix(knowledge.materials.castings[material])
    assert says in words
    assert never not in words


def test_latex_has_no_second_part(boss: Comparison) -> None:
    words = [s.text for s in blocks(mixing_sheet(bench_for(boss, date=DAY)), Sentence) if isinstance(s, Sentence)]
    (latex,) = (text for text in words if text.startswith("Natural latex"))
    assert "part B" not in latex
    assert any(text.startswith("Gypsum plaster: Weigh the water") for text in words)


def test_the_build_sheet_of_a_printed_shell_tells_its_wall_weight_and_parts(compared: Compared) -> None:
    bench = bench_for(compared(DOME), "cavity pour, printed shell", date=DAY)
    printed = table(build_sheet(bench), "Parts to print")
    row = dict(zip((column.heading for column in printed.columns), printed.rows[0], strict=True))
    plan = bench.outcome.plan
    assert plan.shell is not None
    wall, parts = row["Wall"], row["Parts to print"]
    assert isinstance(wall, Number) and isinstance(parts, Number)
    assert wall.value == pytest.approx(1000 * plan.shell.quantity("thickness").at(0))
    assert parts.value == plan["printed_parts"].at(0)


def test_a_skin_in_one_piece_has_no_parting_wall(boss: Comparison, compared: Compared) -> None:
    assert boss.cheapest is not None
    assert boss.cheapest.plan["pieces"].at(0) == 1
    hours = {step.name: step.attended.at(0) for step in boss.cheapest.plan.steps}
    assert hours["parting wall, keys"] == 0.0
    two = next(o for o in compared(replace(DOME, pieces=2)).outcomes if o.name == "brushed skin")
    assert next(s.attended.at(0) for s in two.plan.steps if s.name == "parting wall, keys") > 1800.0


def test_the_schedule_says_that_something_holds_the_run_up(boss: Comparison) -> None:
    plan = plan_run(boss, "brushed skin", molds=1, start=DAY)
    sheet = schedule_sheet(bench_for(boss, date=DAY), plan)
    strong = next(s for s in blocks(sheet, Sentence) if isinstance(s, Sentence) and s.strong)
    assert strong.text == f"Held up by {plan.bottleneck}"


@pytest.mark.parametrize("system", ["metric", "us"])
@pytest.mark.parametrize("rubber", ["platinum silicone, slow", "tin-cured silicone"])
def test_a_batch_is_weighed_in_the_same_unit_on_the_pour_plan_and_the_mixing_sheet(
    compared: Compared, rubber: str, system: System
) -> None:
    for size in ((0.1, 0.1, 0.05), (0.3, 0.3, 0.15)):
        bench = bench_for(compared(replace(DOME, rubber=rubber, size=size)), "cavity pour", system=system, date=DAY)
        told = next(
            str(row[2]) for row in table(pour_plan(bench), "In this order").rows if "weights on the" in str(row[2])
        )
        mix = rubber_mix(bench.result, bench.outcome)
        assert mix is not None
        scale = scale_for([mix.batches[0].mass], "kg", system)
        assert f"{scale.of(mix.batches[0].mass).text} {scale.typeset}:" in told


def test_a_casting_in_several_batches_is_poured_batch_by_batch(compared: Compared) -> None:
    plan = pour_plan(bench_for(compared(BALL), "poured block", date=DAY))
    told = " ".join(str(cell) for t in blocks(plan, Table) for row in t.rows for cell in row)  # type: ignore[attr-defined]
    assert "within 7 min of mixing each batch" in told
