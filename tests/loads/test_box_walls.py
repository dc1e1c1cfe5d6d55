"""Pouring boxes: head pressure, push on walls, straps, boards and battens, by hydrostatics and plate theory."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from moldkit.loads.box_checks import PouringBox, box_checks, strap_check, tube_check, wall_check
from moldkit.loads.box_walls import (
    BOARD_SAFETY,
    BOW_SHARE,
    Board,
    batten_spacing,
    board_from,
    hoop_tension,
    ring_tension,
    strap_heights,
    wall_factors,
    wall_force,
    wall_thickness,
)
from moldkit.loads.head import GRAVITY, head_pressure, pushed_aside, slurry_density
from moldkit.loads.plates import bending_stress, deflection, strip_factors
from moldkit.quantity import Quantity
from moldkit.study.knowledge import Knowledge
from moldkit.tables import load_table

# The published cases take 9.81 kN/m3 for water.
WATER = Quantity("density", 9810 / GRAVITY, "kg/m3")
SILICONE = Quantity("density", 1100.0, "kg/m3")
BOARD = Board("chipboard", Quantity("E", 1.35e9, "Pa"), Quantity("f", 9.5e6, "Pa"), (0.012, 0.016, 0.019, 0.025))
KN = Quantity("one strap", 1000.0, "N")
CLOSURE = Quantity("closure limit", 6000.0, "N")


def metres(value: float) -> Quantity:
    return Quantity("length", value, "m")


# ------------------------------------------------------------------------------------------------ pressure and push


@pytest.mark.parametrize("depth", [0.1, 1.0, 2.0, 7.5])
def test_a_head_presses_with_density_times_g_times_depth(depth: float) -> None:
    assert head_pressure(WATER, metres(depth)).value == pytest.approx(9810 * depth)


def test_a_full_wall_is_pushed_by_half_of_the_foot_pressure_on_its_face() -> None:
    """Closed form F = gamma B H^2 / 2: a wall 2 m wide under 3 m of water carries 88.29 kN."""
    assert wall_force(WATER, metres(3.0), metres(2.0)).value == pytest.approx(88_290)


# Wall formula of ACI 347R for a rise under 7 ft/h: 150 + 9000 R / T lb/ft2 (R ft/h, T degF), evaluated: R 4 T 60 ->
# 750, R 5 T 60 -> 900, R 3 T 60 -> 600; column form 150 + 43400 / T + 2800 R / T (recalled): R 4 T 60 -> 1060, R 4
# T 50 -> 1242. Both are held below the weight of a full head.
FORMWORK = [750.0, 900.0, 600.0, 1060.0, 1242.0]


@pytest.mark.parametrize("formula", FORMWORK)
@given(feet=st.floats(0.1, 14.0))
def test_no_formwork_pressure_is_above_the_full_head_that_is_taken_here(formula: float, feet: float) -> None:
    weight, psf = 150.0, 47.880259
    capped = min(formula, weight * feet) * psf
    concrete = Quantity("density", weight * 16.01846337, "kg/m3")
    assert capped <= head_pressure(concrete, metres(feet * 0.3048)).value * (1 + 1e-6)


def test_plaster_is_poured_heavier_than_it_dries() -> None:
    """100 parts of hemihydrate bind 18.62 of water (1.5 x 18.015 / 145.148): at 70 parts, 1106 kg/m3 dry (Properties
    of Typical Gypsum Plasters and Cements) are poured at 1106 x 170 / 118.62."""
    dry, water = Quantity("dry", 1106.0, "kg/m3"), Quantity("water", 70.0, "parts")
    assert slurry_density(dry, water).value == pytest.approx(1585, abs=1)
    bound = Quantity("water", 18.62, "parts")
    assert slurry_density(dry, bound).value == pytest.approx(1106.0)


def test_a_body_pushes_its_own_volume_aside() -> None:
    assert pushed_aside(SILICONE, Quantity("volume", 0.002, "m3")).value == pytest.approx(2.2)


# -------------------------------------------------------------------------------------------------------- straps


@given(st.integers(1, 12), st.floats(0.05, 3.0))
def test_straps_carry_equal_bands_whose_mean_is_the_centre_of_pressure(straps: int, height: float) -> None:
    """Equal pushes act together at the centre of pressure of the wall, a third of the height above its foot."""
    placed = [q.value for q in strap_heights(metres(height), straps)]
    assert placed == sorted(placed)
    assert np.mean(placed) == pytest.approx(height / 3)
    assert placed[0] > 0 and placed[-1] < height


def test_two_straps_lie_where_the_integral_of_pressure_puts_them() -> None:
    """Hand computation for 1 m: bands meet at a depth of sqrt(1/2); centres at 2/3 (b^3 - a^3) / (b^2 - a^2)."""
    low, high = (q.value for q in strap_heights(metres(1.0), 2))
    assert high == pytest.approx(1 - 2 / 3 * math.sqrt(0.5))
    assert low == pytest.approx(1 - 2 / 3 * (1 - 0.5**1.5) / 0.5)


def test_a_ring_holds_half_of_a_wall_at_each_end() -> None:
    assert ring_tension(Quantity("push", 300.0, "N")).value == 150.0


def test_a_tube_carries_its_head_as_the_textbook_ring() -> None:
    """Thin ring: tension p r for each metre; the whole of it is half of the push on the tube's diameter."""
    height, bore = metres(0.5), metres(0.2)
    assert hoop_tension(WATER, height, bore).value == pytest.approx(9810 * 0.5 * 0.1)
    whole = ring_tension(wall_force(WATER, height, bore)).value
    assert whole == pytest.approx(hoop_tension(WATER, height, bore).value * height.value / 2)


# ------------------------------------------------------------------------------------------------- boards, battens


def test_the_height_rules_how_a_wall_bends() -> None:
    low, span = wall_factors(metres(0.2), metres(0.6), top_held=True)
    assert span.value == 0.2 and "across" in low.stress.formula
    high, span = wall_factors(metres(0.6), metres(0.2), top_held=True)
    assert span.value == 0.2 and "along" in high.stress.formula
    free, span = wall_factors(metres(0.2), metres(0.6), top_held=False)
    assert span.value == 0.6 and "top free" in free.stress.formula


sides = st.floats(0.05, 1.5)


@given(sides, sides, st.floats(900, 1400))
def test_a_held_top_never_asks_for_a_thicker_wall(height: float, width: float, density: float) -> None:
    rubber = Quantity("density", density, "kg/m3")
    free = wall_thickness(rubber, metres(height), metres(width), BOARD).value
    held = wall_thickness(rubber, metres(height), metres(width), BOARD, top_held=True).value
    assert held <= free * 1.01


@given(sides, sides, st.floats(1.05, 2.0))
def test_thickness_grows_with_height_width_and_density(height: float, width: float, more: float) -> None:
    def thickness(h: float, w: float, d: float) -> float:
        return float(wall_thickness(Quantity("density", d, "kg/m3"), metres(h), metres(w), BOARD).value)

    once = thickness(height, width, 1100)
    assert thickness(more * height, width, 1100) > once
    assert thickness(height, width, more * 1100) > once
    # A low wall under a free top hardly notices its width; it never wants less.
    assert thickness(height, more * width, 1100) > 0.97 * once


@given(sides, sides, st.floats(1.1, 3.0))
def test_a_box_that_grows_alike_wants_boards_between_the_laws_of_stress_and_bow(
    height: float, width: float, more: float
) -> None:
    """Pressure grows with the size, so by stress t goes as size^(3/2), by deflection as size^(4/3)."""
    once = wall_thickness(SILICONE, metres(height), metres(width), BOARD).value
    grown = wall_thickness(SILICONE, metres(more * height), metres(more * width), BOARD).value
    assert more ** (4 / 3) * 0.999 <= grown / once <= more**1.5 * 1.001


@given(sides, sides, st.sampled_from([0.009, 0.012, 0.018, 0.025]))
def test_battens_at_the_spacing_given_hold_the_board_between_them(height: float, width: float, board: float) -> None:
    thickness, wall = metres(board), metres(width)
    spacing = batten_spacing(SILICONE, metres(height), wall, BOARD, thickness)
    spans = round(width / spacing.value)
    assert spans * spacing.value == pytest.approx(width)
    pressure, factors = head_pressure(SILICONE, metres(height)), strip_factors(spans)
    assert bending_stress(factors, pressure, spacing, thickness).value <= BOARD.allowed.value * (1 + 1e-9)
    bow = deflection(factors, pressure, spacing, thickness, BOARD.modulus).value
    assert bow <= spacing.value * BOW_SHARE.value * (1 + 1e-9)


@given(sides, sides)
def test_one_span_fewer_would_not_hold(height: float, width: float) -> None:
    thickness = metres(0.012)
    spacing = batten_spacing(SILICONE, metres(height), metres(width), BOARD, thickness)
    spans = round(width / spacing.value)
    assume(spans > 1)
    wider, fewer = metres(width / (spans - 1)), strip_factors(spans - 1)
    pressure = head_pressure(SILICONE, metres(height))
    stress = bending_stress(fewer, pressure, wider, thickness).value / BOARD.allowed.value
    bow = deflection(fewer, pressure, wider, thickness, BOARD.modulus).value / (wider.value * BOW_SHARE.value)
    assert max(stress, bow) > 1 - 1e-9


def test_a_board_is_taken_at_the_least_of_its_range(knowledge: Knowledge) -> None:
    for row in load_table(knowledge.folder, "boards"):
        board = board_from(row)
        assert board.modulus.value == row.quantity("modulus").low
        assert board.allowed.value == pytest.approx(row.quantity("strength").low / BOARD_SAFETY.value)
        assert board.thickness_for(0.0101).value > 0.0101  # type: ignore[union-attr]
        assert board.thickness_for(1.0) is None


# -------------------------------------------------------------------------------------------------------- checks


def box(height: float, length: float, *, is_round: bool = False) -> PouringBox:
    return PouringBox(SILICONE, metres(height), metres(length), metres(length), is_round)


def test_a_small_box_passes_and_a_large_one_wants_battens_and_a_huge_one_is_stopped() -> None:
    small, large = wall_check(box(0.2, 0.15), BOARD, None), wall_check(box(0.9, 0.55), BOARD, None)
    assert (small.level, small.remedy) == ("pass", "")
    assert large.level == "caution" and "battens" in large.remedy
    thin = wall_check(box(2.5, 1.5), BOARD, metres(0.006))
    assert thin.level == "stop" and "two lifts" in thin.remedy


def test_the_board_in_the_shop_goes_before_the_thinnest_on_sale() -> None:
    named = wall_check(box(0.4, 0.5), BOARD, metres(0.012))
    chosen = wall_check(box(0.4, 0.5), BOARD, None)
    assert named.level == "caution" and named.limit is not None and named.limit.value == 0.012
    assert chosen.level == "pass" and chosen.limit is not None and chosen.limit.value in BOARD.thicknesses


@given(st.floats(0.05, 1.2), st.floats(0.1, 1.2))
def test_a_passing_board_has_its_safety_factor(height: float, length: float) -> None:
    check = wall_check(box(height, length), BOARD, None)
    assert check.safety is not None
    if check.level == "pass":
        assert check.safety.value >= BOARD_SAFETY.value * (1 - 1e-9)


def test_straps_are_named_with_their_heights_and_their_number_grows_with_the_push() -> None:
    one, two = strap_check(box(0.1, 0.3), KN, CLOSURE), strap_check(box(0.4, 0.4), KN, CLOSURE)
    assert "one strap or clamp" in one.remedy and "33.3 mm above the foot" in one.remedy
    assert "2 straps or clamps round it at" in two.remedy
    many = strap_check(box(1.5, 1.2), KN, CLOSURE)
    assert many.level == "stop" and "closer together towards the foot" in many.remedy
    assert f"{math.ceil(many.figure.value / 2 * 2 / 1000)} straps" in many.remedy


def test_the_closure_is_passed_at_half_its_limit_and_stopped_above_it() -> None:
    levels = []
    for push in (2900.0, 3100.0, 5900.0, 6100.0):
        height = math.sqrt(2 * push / (1100 * GRAVITY * 1.0))
        levels.append(strap_check(box(height, 1.0), KN, CLOSURE).level)
    assert levels == ["pass", "caution", "caution", "stop"]


@given(st.floats(0.1, 2.0), st.floats(0.1, 1.2))
def test_no_board_is_named_that_nobody_sells(height: float, length: float) -> None:
    for at_hand in (None, metres(0.012)):
        check = wall_check(box(height, length), BOARD, at_hand)
        named = [float(number) for number in re.findall(r"board of ([\d.]+) mm", check.remedy)]
        assert all(any(math.isclose(mm / 1000, sold, rel_tol=1e-3) for sold in BOARD.thicknesses) for mm in named)
        assert "thicker" not in check.remedy
        if check.level == "caution":
            enough = BOARD.thickness_for(check.figure.value)
            assert ("Without battens: board of" in check.remedy) == (enough is not None)


def test_straps_are_said_to_be_enough_and_not_how_often_they_would_hold() -> None:
    words = strap_check(box(0.05, 0.12), KN, CLOSURE).words
    assert "one strap or clamp of 1 kN is enough, with a safety factor of 2" in words


def test_a_tube_takes_the_place_of_a_box() -> None:
    checks = box_checks(box(0.3, 0.2, is_round=True), BOARD, None, KN, CLOSURE)
    assert [check.name for check in checks] == ["tube wall", "straps round the box"]
    assert tube_check(box(0.3, 0.2)).figure.value == pytest.approx(1100 * GRAVITY * 0.3 * 0.1)
