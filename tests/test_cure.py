"""Times of a cure follow the room by the ten-degree rule, within its range, and only where a cure is what happens."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from moldkit.cure import FOLLOWING, OTHERWISE, REFERENCE, at_temperature, follows, time_in_room
from moldkit.errors import InputError
from moldkit.quantity import Quantity, working
from moldkit.shop import with_overrides
from moldkit.study.knowledge import Knowledge
from moldkit.tables import Row, column_dictionary

GAS = 8.314462618
MATERIALS = ("rubbers", "casting_materials", "shell_materials")


def minutes(value: float) -> Quantity:
    return Quantity("pot life", value * 60, "s", source="made up", low=value * 48, high=value * 90)


def celsius(value: float) -> Quantity:
    return Quantity("room temperature", 273.15 + value, "K", source="made up")


def material(chemistry: str) -> Row:
    return Row("stuff", "made up", {"chemistry": chemistry, "pot_life": minutes(30)})


def bench(room: float) -> Row:
    return Row("shop", "made up", {"room_temperature": celsius(room)})


# Stated by a maker of two-part adhesives as "the 10 degree rule": gel of 10 min and cure of 60 min at 25 degC are 5 and
# 30 min at 35 degC. A resin maker's glossary: hardening takes half the time at 30 instead of 20 degC.
# A maker of epoxies for floors: 18 degF below 77 degF (25 degC) the pot life is double.
PUBLISHED = [(10, 25, 35, 5), (60, 25, 35, 30), (7, 20, 30, 3.5), (20, 25, 15, 40)]


@pytest.mark.parametrize(("at_reference", "reference", "room", "published"), PUBLISHED)
def test_ten_degrees_halve_or_double_a_time_as_published(
    at_reference: float, reference: float, room: float, published: float
) -> None:
    found = at_temperature(minutes(at_reference), celsius(room), celsius(reference))
    assert found.at(0) == pytest.approx(published * 60)


# Arrhenius: rate ~ exp(-E / RT), so that a doubling from T1 to T2 is E = R ln 2 / (1/T1 - 1/T2).
@pytest.mark.parametrize(("cold", "warm", "energy"), [(20, 30, 51.2e3), (25, 35, 52.9e3)])
def test_the_rule_is_arrhenius_law_at_some_52_kj_a_mole(cold: float, warm: float, energy: float) -> None:
    arrhenius = math.exp(energy / GAS * (1 / (273.15 + cold) - 1 / (273.15 + warm)))
    found = at_temperature(minutes(10), celsius(warm), celsius(cold))
    assert 600 / found.at(0) == pytest.approx(arrhenius, rel=0.002)


@pytest.mark.parametrize("room", [15, 18, 20, 23, 26, 30, 35])
def test_over_its_range_the_rule_stays_within_four_per_cent_of_arrhenius_law(room: float) -> None:
    arrhenius = math.exp(52.0e3 / GAS * (1 / (273.15 + room) - 1 / REFERENCE))
    assert at_temperature(minutes(1), celsius(room)).at(0) / 60 == pytest.approx(arrhenius, rel=0.04)


@pytest.mark.parametrize("energy", [40e3, 45e3])
@pytest.mark.parametrize("room", [15, 20, 30, 35])
def test_concrete_by_its_published_activation_energy_differs_from_the_rule_by_less_than_a_quarter(
    energy: float, room: float
) -> None:
    # ASTM C1074, equivalent age: 40 to 45 kJ/mol for a plain Portland cement (from memory).
    arrhenius = math.exp(energy / GAS * (1 / (273.15 + room) - 1 / REFERENCE))
    assert at_temperature(minutes(1), celsius(room)).at(0) / 60 == pytest.approx(arrhenius, rel=0.25)


def test_the_tables_hold_for_23_degrees() -> None:
    assert at_temperature(minutes(35), celsius(23)).at(0) == pytest.approx(35 * 60)
    assert at_temperature(minutes(35), celsius(25), REFERENCE).at(0) < 35 * 60


def test_two_changes_of_room_are_one() -> None:
    once = at_temperature(minutes(12), celsius(33), celsius(17))
    twice = at_temperature(at_temperature(minutes(12), celsius(24), celsius(17)), celsius(33), celsius(24))
    assert twice.at(0) == pytest.approx(once.at(0))


def test_the_range_and_every_draw_of_a_time_follow() -> None:
    found = at_temperature(minutes(30), celsius(33))
    assert (found.low, found.at(0), found.high) == pytest.approx((12 * 60, 15 * 60, 22.5 * 60))
    drawn = Quantity("pot life", np.array([600.0, 1200.0]), "s")
    assert at_temperature(drawn, celsius(13 + 10), celsius(33)).value == pytest.approx([1200.0, 2400.0])


@pytest.mark.parametrize("room", [14.9, 35.1, 45.0, 5.0])
def test_outside_15_to_35_degrees_nothing_is_extrapolated(room: float) -> None:
    with pytest.raises(InputError, match="is outside 15 °C to 35 °C"):
        at_temperature(minutes(30), celsius(room))


@pytest.mark.parametrize(("room", "end"), [(5, 15), (14, 15), (36, 35), (45, 35)])
def test_a_shop_outside_the_range_gets_the_time_at_its_end_and_the_working_says_so(room: float, end: float) -> None:
    found = time_in_room(material("urethane"), "pot_life", bench(room))
    assert found.at(0) == pytest.approx(time_in_room(material("urethane"), "pot_life", bench(end)).at(0))
    assert "held between 15 and 35" in " ".join(line.formula for line in working(found))


def test_the_working_shows_the_table_the_room_and_that_it_is_a_rule_of_thumb() -> None:
    first, *below = working(time_in_room(material("epoxy"), "pot_life", bench(18)))
    assert "rule of thumb" in first.source
    assert first.result == "42.4 min"
    assert {line.result for line in below} == {"30 min", "23 °C", "18 °C"}


@pytest.mark.parametrize("chemistry", sorted(OTHERWISE))
@pytest.mark.parametrize("room", [5, 15, 35])
def test_what_dries_sets_with_water_or_cools_keeps_its_time(chemistry: str, room: float) -> None:
    # Gypsum: between 0 and 50 degC temperature has a comparatively small effect, and the induction period is mostly
    # constant from 0 to 40 degC (Ridge, Effect of Temperature on the Rate of Setting of Gypsum Plaster, Nature 184,
    # 47-48, 1959). Drying and cooling: common practice, no source.
    found = time_in_room(material(chemistry), "pot_life", bench(room))
    assert found.at(0) == 30 * 60
    assert OTHERWISE[chemistry] in found.formula


def test_every_chemistry_of_the_tables_either_follows_the_rule_or_says_why_not() -> None:
    known = {word for table in MATERIALS for word in column_dictionary(table)["chemistry"].choices}
    assert not FOLLOWING & set(OTHERWISE)
    assert known <= FOLLOWING | set(OTHERWISE)
    with pytest.raises(InputError, match="nothing says how it cures"):
        follows("magic")


def test_in_a_room_of_33_degrees_every_cure_of_the_tables_takes_half(knowledge: Knowledge) -> None:
    warm = with_overrides(knowledge.shop, {"room_temperature": "33 degC"}, "[shop]")
    for row in [*knowledge.materials.rubbers.values(), *knowledge.materials.castings.values()]:
        share = 0.5 if row.text("chemistry") in FOLLOWING else 1.0
        for column in ("pot_life", "demold_time"):
            assert time_in_room(row, column, warm).at(0) == pytest.approx(share * row.quantity(column).at(0)), row.name


def test_the_tables_own_comment_says_the_temperature_they_hold_for() -> None:
    columns = Path(__file__).resolve().parents[1] / "moldkit" / "columns"
    for table in ("rubbers", "casting_materials"):
        assert "at 23 degC" in (columns / f"{table}.csv").read_text("utf-8")
