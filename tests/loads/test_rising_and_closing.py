"""What rises and what opens: Archimedes, gates from the textbooks, a dome over liquid, clamps for a force."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from moldkit.loads.closure import (
    CLOSURE_SAFETY,
    FLANGE_SPACING,
    fasteners,
    holding_force,
    mean_pressure,
    opened_outline,
)
from moldkit.loads.closure_checks import Flange, foam_check, head_check
from moldkit.loads.float_off import HOLD_DOWN_SAFETY, grown_outline, hold_down_mass, shell_lift, uplift
from moldkit.loads.head import GRAVITY, head_pressure
from moldkit.loads.rise_checks import float_check, lift_check
from moldkit.loads.statics import closure_force
from moldkit.quantity import Quantity

WATER = Quantity("density", 9810 / GRAVITY, "kg/m3")
SILICONE = Quantity("density", 1100.0, "kg/m3")
FLANGE = Flange(Quantity("seam", 0.9, "m"), Quantity("one clamp", 1000.0, "N"), Quantity("closure limit", 6000.0, "N"))


def metres(value: float) -> Quantity:
    return Quantity("length", value, "m")


def area(value: float) -> Quantity:
    return Quantity("outline", value, "m2")


def kilograms(value: float) -> Quantity:
    return Quantity("mass", value, "kg")


def litres(value: float) -> Quantity:
    return Quantity("volume", value / 1000, "m3")


# Upright rectangular gates of worked examples (gamma 9.81 kN/m3): width, height, depth of the top edge, force in kN.
GATES = [(1.5, 3.0, 2.0, 154.51), (3.0, 3.0, 7.875, 827.72), (2.0, 3.0, 1.0, 147.15)]


@pytest.mark.parametrize(("width", "height", "top", "force"), GATES)
def test_a_head_on_an_upright_rectangle_is_the_textbook_gate(
    width: float, height: float, top: float, force: float
) -> None:
    pressure = mean_pressure(WATER, metres(top + height), area(width * height), metres(width))
    assert closure_force(pressure, area(width * height)).value == pytest.approx(force * 1000, rel=1e-4)


def test_a_round_gate_is_pushed_a_little_less_than_the_pressure_taken_for_its_outline() -> None:
    """Worked example: circle of 1.2 m, centre 2.5 m down, 27.73 kN. Only outline and width are known here, and the
    outline is taken as low as they allow, which is on the safe side by at most a tenth."""
    outline = area(math.pi / 4 * 1.2**2)
    force = closure_force(mean_pressure(WATER, metres(3.1), outline, metres(1.2)), outline).value
    assert 27_730 <= force <= 27_730 * 1.1


@given(st.floats(0.05, 2.0), st.floats(0.05, 1.0), st.floats(0.1, 1.0), st.floats(0.0, 0.2))
def test_the_mean_pressure_lies_between_half_and_all_of_the_full_head(
    height: float, width: float, filled: float, spout: float
) -> None:
    head = metres(height + spout)
    mean = mean_pressure(SILICONE, head, area(filled * height * width), metres(width)).value
    full = head_pressure(SILICONE, head).value
    assert full / 2 * (1 - 1e-9) <= mean <= full


# ----------------------------------------------------------------------------------------------------------- rising


def test_a_light_body_rises_with_the_weight_it_pushes_aside_less_its_own() -> None:
    """Archimedes by hand: 5 L at 1.2 kg in rubber of 1100 kg/m3 rise with (5.5 - 1.2) x 9.80665 N."""
    assert uplift(SILICONE, litres(5), kilograms(1.2)).value == pytest.approx(42.168595)
    assert hold_down_mass(SILICONE, litres(5), kilograms(1.2)).value == pytest.approx(1.5 * 4.3)


@given(st.floats(0.01, 100), st.floats(0, 200))
def test_a_body_with_its_hold_down_mass_on_it_stays_down(volume: float, mass: float) -> None:
    ballast = hold_down_mass(SILICONE, litres(volume), kilograms(mass)).value
    assert uplift(SILICONE, litres(volume), kilograms(mass + ballast)).value <= 1e-9
    heavier = hold_down_mass(SILICONE, litres(volume), kilograms(mass + 1)).value
    assert heavier <= ballast


@pytest.mark.parametrize("radius", [0.1, 0.25, 1.0])
def test_liquid_lifts_a_dome_with_the_weight_it_lacks_over_it(radius: float) -> None:
    """Textbook: a hemispherical dome filled to its top is lifted with rho g (pi R^3 - 2/3 pi R^3)."""
    base, inside = area(math.pi * radius**2), Quantity("inside", 2 / 3 * math.pi * radius**3, "m3")
    lift = shell_lift(WATER, metres(radius), base, inside).value
    assert lift == pytest.approx(9810 * math.pi * radius**3 / 3)


@given(st.floats(0.05, 1.0), st.floats(0.0, 0.3))
def test_a_straight_box_is_lifted_by_its_spout_alone(height: float, spout: float) -> None:
    base = area(0.04)
    inside = Quantity("inside", 0.04 * height, "m3")
    lift = shell_lift(SILICONE, metres(height + spout), base, inside).value
    assert lift == pytest.approx(1100 * GRAVITY * 0.04 * spout, abs=1e-9)


def test_a_grown_square_has_round_corners() -> None:
    """Steiner in the plane: a square of 1 m grown by 0.1 m has 1 + 4 x 0.1 + pi 0.01 m2."""
    grown = grown_outline(area(1.0), metres(4.0), metres(0.1))
    assert grown.value == pytest.approx(1.4 + math.pi * 0.01)


# ----------------------------------------------------------------------------------------------------------- checks

WOOD = Quantity("density of wood", 600.0, "kg/m3", low=350.0, high=900.0)
PLASTER = Quantity("density of plaster", 1160.0, "kg/m3", low=1050.0, high=1900.0)
STONE = Quantity("density of stone", 2500.0, "kg/m3", low=2000.0, high=2800.0)


@pytest.mark.parametrize(
    ("body", "weighed", "fixed", "level", "says", "mends"),
    [
        (WOOD, None, False, "caution", "Solid, the pattern weighs 1.75 kg to 4.5 kg", "hold it down with 5.63 kg"),
        (PLASTER, None, False, "caution", "Solid, the pattern weighs 5.25 kg to 9.5 kg", "Weigh it."),
        (STONE, None, False, "pass", "Solid, the pattern weighs 10 kg to 14 kg", "A hollow pattern is lighter"),
        (None, None, False, "caution", "Nothing is known", "hold it down with up to 8.25 kg"),
        (STONE, kilograms(2.0), False, "caution", "The pattern weighs 2 kg", "hold it down with 5.25 kg"),
        (WOOD, kilograms(6.0), False, "pass", "The pattern weighs 6 kg", ""),
        (WOOD, None, True, "pass", "fixed in place", ""),
    ],
)
def test_a_pattern_is_said_to_rise_by_what_is_known_of_it(
    body: Quantity | None, weighed: Quantity | None, fixed: bool, level: str, says: str, mends: str
) -> None:
    check = float_check(SILICONE, litres(5), body, weighed, fixed=fixed)
    assert check.level == level
    assert says in check.words and "5.5 kg" in check.words
    assert mends in check.remedy
    assert (check.remedy == "") == (mends == "")


def test_a_shell_is_held_until_it_outweighs_the_lift_with_safety() -> None:
    base, inside = area(math.pi * 0.04), Quantity("inside", 2 / 3 * math.pi * 0.008, "m3")
    lift = shell_lift(SILICONE, metres(0.2), base, inside).value

    def level(shell: float, closure: float = 6000.0) -> str:
        each, holds = FLANGE.each, Quantity("closure", closure, "N")
        check = lift_check(SILICONE, metres(0.2), base, inside, kilograms(shell), metres(1.2), each, holds)
        assert (check.remedy == "") == (check.level == "pass")
        return check.level

    enough = HOLD_DOWN_SAFETY.value * lift / GRAVITY
    assert [level(enough * 0.99), level(enough * 1.01)] == ["caution", "pass"]
    assert level(0.1, closure=lift * 0.9) == "stop"


def test_clamps_follow_the_force_and_their_spacing() -> None:
    few = fasteners(Quantity("push", 10.0, "N"), FLANGE.each, metres(0.9))
    assert few.value == math.ceil(0.9 / FLANGE_SPACING.value)
    many = fasteners(Quantity("push", 10_000.0, "N"), FLANGE.each, metres(0.9))
    assert many.value == math.ceil(10_000 * CLOSURE_SAFETY.value / 1000)
    assert fasteners(Quantity("push", 0.0, "N"), FLANGE.each, metres(0.01)).value == 2


@given(st.floats(1, 50_000), st.floats(50, 20_000), st.floats(0.05, 5))
def test_clamps_always_hold_the_push_with_safety(push: float, each: float, seam: float) -> None:
    opens = Quantity("push", push, "N")
    number = fasteners(opens, Quantity("each", each, "N"), metres(seam)).value
    assert number * each >= holding_force(opens).value * (1 - 1e-6)
    assert seam / number <= FLANGE_SPACING.value * (1 + 1e-6)


@pytest.mark.parametrize(("kilopascals", "level"), [(25, "pass"), (40, "caution"), (58, "caution"), (62, "stop")])
def test_foam_is_passed_at_half_of_the_closure_and_stopped_above_it(kilopascals: float, level: str) -> None:
    pressure = Quantity("foam pressure", kilopascals * 1000.0, "Pa", low=1e3, high=60e3)
    check = foam_check(pressure, area(0.1), FLANGE)
    assert check.level == level
    assert "6 kN at the upper end" in check.words and "Ask the foam's maker" in check.remedy
    assert ("Don't pour" in check.remedy) == (level == "stop")


@pytest.mark.parametrize(("high", "level"), [(59e3, "pass"), (61e3, "caution"), (None, "pass")])
def test_foam_whose_upper_end_opens_the_mold_is_never_passed(high: float | None, level: str) -> None:
    """The shop holds 6 kN: 60 kPa on 0.1 m2."""
    pressure = Quantity("foam pressure", 20e3, "Pa", low=1e3, high=high)
    check = foam_check(pressure, area(0.1), FLANGE)
    assert check.level == level
    assert ("boards and straps" in check.remedy) == (level != "pass")


def test_a_mold_without_flanges_is_held_by_straps_round_boards() -> None:
    pressure = Quantity("p", 2000.0, "Pa")
    block = head_check("casting in the mold", "Resin", pressure, area(0.05), replace(FLANGE, bolted=False))
    shell = head_check("casting in the mold", "Resin", pressure, area(0.05), FLANGE)
    assert "straps of 1 kN round them" in block.remedy and "bolts" not in block.remedy
    assert "clamps or bolts of 1 kN" in shell.remedy


def test_a_shells_weight_is_told_as_a_scale_shows_it() -> None:
    base, inside = area(math.pi * 0.04), Quantity("inside", 2 / 3 * math.pi * 0.008, "m3")
    check = lift_check(SILICONE, metres(0.2), base, inside, kilograms(0.843), metres(1.2), FLANGE.each, FLANGE.closure)
    assert "the shell weighs 843 g" in check.words and "the shell weighs 29.7 oz" in check.words_in("us")


def test_of_several_patterns_each_is_looked_at_by_itself() -> None:
    check = float_check(SILICONE, litres(5), WOOD, None, several=True)
    assert check.words.startswith("For each pattern: solid, the pattern weighs 1.75 kg")
    assert check.remedy.endswith("That is for each of them.")
    assert float_check(SILICONE, litres(5), WOOD, kilograms(6.0), several=True).remedy == ""


def test_a_head_says_what_presses_even_where_its_name_holds_braces() -> None:
    check = head_check("casting in the mold", "Resin {special}", Quantity("p", 2000.0, "Pa"), area(0.05), FLANGE)
    assert check.words.startswith(
        "Resin {special} presses on the parting with 2 kPa and drives the mold open with 100 N"
    )
    assert check.words_in("us").count("lbf") == 2


def test_a_mold_opens_along_its_parting_or_at_its_base_in_all_cavities() -> None:
    side, base = area(0.03), area(0.02)
    one, two = Quantity("pieces", 1.0, "pieces"), Quantity("pieces", 2.0, "pieces")
    assert opened_outline(side, base, one, 1, stands=True).value == 0.02
    assert opened_outline(side, base, two, 3, stands=True).value == pytest.approx(0.09)
    assert opened_outline(side, base, one, 1, stands=False).value == 0.0
