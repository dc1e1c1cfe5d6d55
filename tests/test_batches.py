"""Batches of a pour and their parts, against hand arithmetic."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from moldkit.batches import Clock, batches_of, parts_of
from moldkit.errors import InputError
from moldkit.quantity import Quantity
from moldkit.study.knowledge import Knowledge
from moldkit.tables import Row


def kg(value: Any) -> Quantity:
    return Quantity("mass", value, "kg", source="made up")


def clock(pot_life: Any, start: Any = 3.0, rate: Any = 1.1) -> Clock:
    """Return a clock of minutes, minutes and minutes a kilogram."""
    return Clock(
        Quantity("pot life", np.multiply(pot_life, 60.0), "s", source="made up"),
        Quantity("start", np.multiply(start, 60.0), "s", source="made up"),
        Quantity("rate", np.multiply(rate, 60.0), "s/kg", source="made up"),
    )


# ------------------------------------------------------------------------------------------------------- by the vessel


# mass to pour, vessel, left in a cup -> batches, each. By hand: 19.0 / 11.98 = 1.59, two cups of 9.5 + 0.02 kg.
BY_VESSEL = [
    (19.0, 12.0, 0.02, 2, 9.52),
    (11.98, 12.0, 0.02, 1, 12.0),
    (12.0, 12.0, 0.02, 2, 6.02),
    (24.0, 12.0, 0.0, 2, 12.0),
    (24.01, 12.0, 0.0, 3, 24.01 / 3),
    (0.25, 12.0, 0.03, 1, 0.28),
]


@pytest.mark.parametrize(("mass", "vessel", "left", "number", "each"), BY_VESSEL)
def test_a_vessel_is_never_overfilled_and_the_batches_are_alike(
    mass: float, vessel: float, left: float, number: int, each: float
) -> None:
    found = batches_of(kg(mass), kg(vessel), left=kg(left))
    assert found.number.at(0) == number
    assert found.each.at(0) == pytest.approx(each)
    assert not found.by_pot_life and not found.too_late


def test_two_pours_are_mixed_apart() -> None:
    # 13 kg in two pours of 6.5 kg: one cup of 12 kg each, where a single pour would take two as well; 26 kg: 2 x 2.
    assert batches_of(kg(13.0), kg(12.0), pours=2).number.at(0) == 2
    assert batches_of(kg(26.0), kg(12.0), pours=2).number.at(0) == 4
    assert batches_of(kg(5.0), kg(12.0), pours=2).number.at(0) == 2


def test_a_vessel_that_holds_no_more_than_what_stays_in_it_is_refused() -> None:
    with pytest.raises(InputError, match="batch_most: 100 g is no more than what stays in a cup"):
        batches_of(kg(1.0), kg(0.1), left=kg(0.1))


# ----------------------------------------------------------------------------------------------------- by the pot life


def test_the_pot_life_holds_what_can_be_mixed_and_poured_in_it() -> None:
    # (7 min - 3 min) / 1.1 min/kg = 3.64 kg; 10.6 kg / (3.64 - 0.02) kg = 2.93, three batches of 3.55 kg.
    found = batches_of(kg(10.6), kg(12.0), clock(7.0), kg(0.02))
    assert found.in_time is not None
    assert found.in_time.at(0) == pytest.approx(4 / 1.1)
    assert found.number.at(0) == 3
    assert found.each.at(0) == pytest.approx(10.6 / 3 + 0.02)
    assert found.by_pot_life and not found.too_late


def test_a_long_pot_life_leaves_it_to_the_vessel() -> None:
    # (35 - 3) / 1.1 = 29 kg, more than the vessel holds.
    found = batches_of(kg(19.0), kg(12.0), clock(35.0), kg(0.02))
    assert found.number.at(0) == 2
    assert not found.by_pot_life


@pytest.mark.parametrize("pot_life", [1.0, 3.0, 3.05])
def test_a_pot_life_in_which_no_batch_is_poured_is_too_late_and_leaves_the_figures_finite(pot_life: float) -> None:
    found = batches_of(kg(10.0), kg(12.0), clock(pot_life), kg(0.02))
    assert found.too_late and found.by_pot_life
    assert found.number.at(0) == 1
    assert found.each.at(0) == pytest.approx(10.02)


def test_more_than_fifty_batches_are_no_pour() -> None:
    assert batches_of(kg(49.0), kg(100.0), clock(4.1)).number.at(0) == 49
    assert batches_of(kg(51.0), kg(100.0), clock(4.1)).too_late


positive = st.floats(0.01, 200.0)


@given(mass=positive, vessel=st.floats(0.7, 60.0), left=st.floats(0.0, 0.5), pot_life=st.floats(0.2, 90.0))
def test_batches_add_up_fit_and_are_as_few_as_can_be(mass: float, vessel: float, left: float, pot_life: float) -> None:
    found = batches_of(kg(mass), kg(vessel), clock(pot_life), kg(left))
    number, each = found.number.at(0), found.each.at(0)
    assert number == int(number) >= 1
    assert number * each == pytest.approx(mass + number * left)
    assert found.mass.at(0) == pytest.approx(number * each)
    assert each <= vessel * (1 + 1e-8)
    assert found.in_time is not None
    if not found.too_late:
        assert each <= found.in_time.at(0) * (1 + 1e-6)
        largest = min(vessel, found.in_time.at(0)) - left
        assert (number - 1) * largest < mass


def test_many_sizes_and_draws_at_once_are_the_same_as_one_by_one() -> None:
    masses, lives = np.array([0.2, 5.0, 10.6, 40.0, 700.0]), np.array([2.0, 7.0, 7.0, 35.0, 4.0])
    many = batches_of(kg(masses), kg(12.0), clock(lives), kg(0.02))
    for place, (mass, life) in enumerate(zip(masses, lives, strict=True)):
        alone = batches_of(kg(mass), kg(12.0), clock(life), kg(0.02))
        assert many.number.at(place) == alone.number.at(0)
        assert many.each.at(place) == pytest.approx(alone.each.at(0))
        assert many.too_late[place] == alone.too_late


# ------------------------------------------------------------------------------------------------------------ the parts


def row(ratio: float, chemistry: str = "urethane", density: float = 1080.0, by_volume: float | None = None) -> Row:
    return Row(
        "stuff",
        "made up",
        {
            "chemistry": chemistry,
            "mix_ratio": Quantity("mix ratio", ratio, "parts", source="made up"),
            "density": Quantity("density", density, "kg/m3", source="made up"),
            "volume_ratio": by_volume,
            "source": "made up",
        },
    )


# parts B to 100 A, batch [g] -> A, B [g], by hand.
WEIGHED = [
    (100, 1000, 500, 500),
    (10, 1100, 1000, 100),
    (90, 950, 500, 450),
    (3, 515, 500, 15),
    (0, 800, 800, 0),
    # 67 parts of water to 100 of plaster: a liter of water to a kilogram and a half (by definition of the consistency).
    (200 / 3, 2500, 1500, 1000),
]


@pytest.mark.parametrize(("ratio", "batch", "a", "b"), WEIGHED)
def test_parts_by_weight_are_those_of_hand_arithmetic(ratio: float, batch: float, a: float, b: float) -> None:
    found = parts_of(kg(batch / 1000), row(ratio))
    assert (found.a.at(0), found.b.at(0)) == pytest.approx((a / 1000, b / 1000), abs=1e-12)
    assert found.a_volume is None and found.b_volume is None


def test_parts_by_volume_follow_from_density_and_ratio() -> None:
    # 1.08 kg of a resin of 1080 kg/m3 is a liter: half a liter of each at 1:1, 2/3 and 1/3 at 2:1 by volume.
    even, two_to_one = parts_of(kg(1.08), row(90, by_volume=100)), parts_of(kg(1.08), row(43, by_volume=50))
    assert even.a_volume is not None and even.b_volume is not None
    assert (even.a_volume.at(0), even.b_volume.at(0)) == pytest.approx((0.5e-3, 0.5e-3))
    assert two_to_one.a_volume is not None and two_to_one.b_volume is not None
    assert (two_to_one.a_volume.at(0), two_to_one.b_volume.at(0)) == pytest.approx((2e-3 / 3, 1e-3 / 3))


@pytest.mark.parametrize("chemistry", ["gypsum", "cement"])
def test_water_is_measured_by_volume_and_powder_is_weighed(chemistry: str) -> None:
    # 1.7 kg at 70 parts: 1 kg of powder and 0.7 kg of water, 0.70 L.
    found = parts_of(kg(1.7), row(70, chemistry, density=1106.0))
    assert (found.a.at(0), found.b.at(0)) == pytest.approx((1.0, 0.7))
    assert found.a_volume is None and found.b_volume is not None
    assert found.b_volume.at(0) == pytest.approx(0.7e-3, rel=0.003)


@given(ratio=st.floats(0, 300), batch=positive)
def test_parts_add_up_to_the_batch_in_their_ratio(ratio: float, batch: float) -> None:
    found = parts_of(kg(batch), row(ratio))
    assert found.a.at(0) + found.b.at(0) == pytest.approx(batch)
    assert found.b.at(0) == pytest.approx(found.a.at(0) * ratio / 100, abs=1e-9)
    assert math.isfinite(found.a.at(0))


def test_where_the_tables_know_a_ratio_by_volume_each_part_has_a_density_of_such_liquids(knowledge: Knowledge) -> None:
    # Uncured silicones, polyols and isocyanates lie between 950 and 1250 kg/m3 (from memory).
    rows = [*knowledge.materials.rubbers.values(), *knowledge.materials.castings.values()]
    known = [row for row in rows if row.values["volume_ratio"] is not None]
    assert len(known) >= 6
    for material in known:
        found = parts_of(kg(1.0), material)
        assert found.a_volume is not None and found.b_volume is not None
        for mass, volume in ((found.a, found.a_volume), (found.b, found.b_volume)):
            assert 950 <= mass.at(0) / volume.at(0) <= 1250, material.name
