"""The room's temperature reaches every wait, elapsed times and castings a day, and no hour of work on a mold."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from moldkit.quantity import working
from moldkit.study.assess import Outcome
from moldkit.study.case import Case
from moldkit.study.compare import Comparison

BLOCK, BRUSHED, CAVITY, PRINTED = "poured block", "brushed skin", "cavity pour", "cavity pour, printed shell"
BUST = Case(form="bust", size=(0.20, 0.15, 0.28), undercut="moderate", run=40)
Compared = Callable[[Case], Comparison]


def outcomes(compared: Compared, room: str, **more: object) -> dict[str, Outcome]:
    case = replace(BUST, shop={"room_temperature": room}, **more)  # type: ignore[arg-type]
    return {outcome.name: outcome for outcome in compared(case).outcomes}


def waits(outcome: Outcome) -> float:
    return sum(step.wait.at(0) for step in outcome.plan.steps)


def test_a_block_waits_for_its_cure_alone_and_half_as_long_ten_degrees_warmer(compared: Compared) -> None:
    # The slow silicone demolds after 5 h at 23 degC: 10 h at 13 would be past the rule, 5 h x 2^0.8 at 15, 2.5 h at 33.
    for room, hours in (("23 degC", 5.0), ("33 degC", 2.5), ("15 degC", 5.0 * 2**0.8), ("28 degC", 5.0 / 2**0.5)):
        block = outcomes(compared, room)[BLOCK]
        assert waits(block) == pytest.approx(hours * 3600)
        assert block.elapsed_first.at(0) == pytest.approx(block.attended_first.at(0) + hours * 3600)


def test_coats_wait_for_each_other_by_the_room_and_a_plaster_shell_does_not(compared: Compared) -> None:
    cool, warm = (outcomes(compared, room)[BRUSHED] for room in ("23 degC", "33 degC"))
    coats = {step.name: (step.wait.at(0), again.wait.at(0)) for step, again in zip(
        cool.plan.steps, warm.plan.steps, strict=True)}  # fmt: skip
    before, after = coats["each coat"]
    assert after == pytest.approx(before / 2)
    assert coats["support shell"][0] == coats["support shell"][1] > 0


def test_a_shell_of_polyester_follows_the_room(compared: Compared) -> None:
    cool, warm = (outcomes(compared, room, shell="glass-polyester")[CAVITY] for room in ("23 degC", "33 degC"))
    assert waits(warm) == pytest.approx(waits(cool) / 2)


def test_a_printer_prints_no_faster_in_a_warm_room(compared: Compared) -> None:
    cool, warm = (outcomes(compared, room)[PRINTED] for room in ("23 degC", "33 degC"))
    # Slow silicone cures 5 h, and 2.5 h at 33 degC; the rest of the waits is the printer's.
    assert waits(cool) - waits(warm) == pytest.approx(2.5 * 3600)


def test_latex_dries_and_plaster_sets_as_the_tables_say_in_any_room(compared: Compared) -> None:
    cool, warm = (
        outcomes(compared, room, rubber="latex", material="gypsum plaster")[BRUSHED] for room in ("15 degC", "35 degC")
    )
    assert waits(cool) == waits(warm)
    assert cool.casting["cure"].at(0) == warm.casting["cure"].at(0) == 0.75 * 3600


def test_a_mold_gives_more_castings_a_day_in_a_warm_room(compared: Compared) -> None:
    # A shift of 8 h less 0.3 h to set up, an hour's rest: 8.7 h / (work at the mold + cure + 1 h), whole; cleaning and
    # finishing are done off the mold. The resin cures 1.5 h at 23 degC.
    for room, cure in (("15 degC", 1.5 * 2**0.8), ("23 degC", 1.5), ("33 degC", 0.75)):
        casting = outcomes(compared, room)[BLOCK].casting
        assert casting["cure"].at(0) == pytest.approx(cure * 3600)
        at_mold = ("time to release and close", "time to mix, degas and pour", "time to open and demold")
        work = sum(step.at(0) for step in casting.steps if step.name in at_mold) / 3600
        assert casting["a_day"].at(0) == max(1, np.floor(8.7 / (work + cure + 1)))
    cold, warm = (outcomes(compared, room)[BLOCK].casting["a_day"].at(0) for room in ("15 degC", "33 degC"))
    assert warm > cold


@pytest.mark.parametrize("name", [BLOCK, BRUSHED, CAVITY, PRINTED])
def test_the_room_changes_no_hour_of_work_on_a_mold_and_no_kilogram(name: str, compared: Compared) -> None:
    cool, warm = (outcomes(compared, room)[name] for room in ("18 degC", "30 degC"))
    assert cool.attended_first.at(0) == warm.attended_first.at(0)
    assert cool.plan["rubber_mass"].at(0) == warm.plan["rubber_mass"].at(0)


@pytest.mark.parametrize("name", [BLOCK, BRUSHED, CAVITY, PRINTED])
def test_colder_is_never_sooner(name: str, compared: Compared) -> None:
    elapsed = [outcomes(compared, f"{room} degC")[name].elapsed_first.at(0) for room in (5, 15, 19, 23, 30, 35, 45)]
    assert all(before >= after for before, after in pairwise(elapsed))
    assert elapsed[0] == elapsed[1] and elapsed[-2] == elapsed[-1]


def test_the_working_of_the_elapsed_time_shows_the_room_and_the_rule(compared: Compared) -> None:
    lines = working(outcomes(compared, "18 degC")[BRUSHED].elapsed_first)
    assert any("rule of thumb" in line.source for line in lines)
    assert any(line.name == "room temperature" and line.result == "18 °C" for line in lines)


def test_every_plan_that_mixes_rubber_says_in_which_batches(compared: Compared) -> None:
    found = outcomes(compared, "22 degC")
    for name, outcome in found.items():
        batches = outcome.plan.batches
        assert batches is not None, name
        count = outcome.plan["coats"].at(0) if name == BRUSHED else 1
        assert batches.mass.at(0) * count == pytest.approx(outcome.plan["rubber_mass"].at(0))
    # The block of 19 kg is two batches, the vessel holding 12.
    block = found[BLOCK].plan
    assert block["mixing_cups"].at(0) == np.ceil(block["rubber_mass"].at(0) / 12)


def test_a_block_in_two_pours_is_mixed_for_each(compared: Compared) -> None:
    block = outcomes(compared, "22 degC", longest=0.15, pours="two")[BLOCK].plan
    assert block.batches is not None
    assert block.batches.number.at(0) == 2
    assert block.batches.each.at(0) * 2 == pytest.approx(block["rubber_mass"].at(0))


def test_a_casting_is_mixed_with_its_loss_in_batches_of_the_vessel(compared: Compared) -> None:
    casting = outcomes(compared, "22 degC", longest=0.60, material="concrete")[BLOCK].casting
    poured = casting["mass"].at(0) * 1.05
    assert casting.batches.number.at(0) == np.ceil(poured / 12) > 1
    assert casting.batches.each.at(0) * casting.batches.number.at(0) == pytest.approx(poured)
