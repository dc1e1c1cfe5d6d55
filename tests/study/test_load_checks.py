"""The checks for a case: what it calls for and nothing else, in agreement with the findings and with hand figures."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from moldkit.errors import InputError
from moldkit.loads.check import LEVELS, LoadCheck
from moldkit.loads.head import GRAVITY
from moldkit.quantity import Quantity, working
from moldkit.study.case import Case, case_from
from moldkit.study.compare import Comparison
from moldkit.study.job_file import job_text
from moldkit.study.load_checks import load_checks

BLOCK, BRUSHED, CAVITY, PRINTED = "poured block", "brushed skin", "cavity pour", "cavity pour, printed shell"
Compared = Callable[[Case], Comparison]

DOME = Case(form="dome", size=(0.30, 0.30, 0.20), run=10)
BALL = Case(form="ball", size=(0.20, 0.20, 0.20), stands_on_base=False, run=10)


def names(checks: tuple[LoadCheck, ...]) -> list[str]:
    return [check.name for check in checks]


def named(checks: tuple[LoadCheck, ...], name: str) -> LoadCheck:
    return next(check for check in checks if check.name == name)


# ------------------------------------------------------------------------------------------ what a case calls for


def test_a_block_has_a_box_and_no_flange(compared: Compared) -> None:
    found = names(load_checks(compared(DOME), BLOCK))
    assert found == [
        "box wall", "straps round the box", "pattern floats", "froth in the chamber", "lifted by hand",
    ]  # fmt: skip


def test_a_brushed_skin_has_no_rubber_to_hold(compared: Compared) -> None:
    assert names(load_checks(compared(DOME), BRUSHED)) == ["lifted by hand"]


@pytest.mark.parametrize("technique", [CAVITY, PRINTED])
def test_a_skin_in_a_shell_is_held_down_and_shut_and_has_no_box(compared: Compared, technique: str) -> None:
    standing = names(load_checks(compared(replace(DOME, pieces=2)), technique))
    assert standing == [
        "pattern floats", "shell lifts off its base", "rubber in the gap", "froth in the chamber",
        "casting in the mold", "lifted by hand",
    ]  # fmt: skip
    free = names(load_checks(compared(BALL), technique))
    assert "shell lifts off its base" not in free and "rubber in the gap" in free


def test_a_shell_of_one_piece_has_no_parting_to_hold(compared: Compared) -> None:
    result = compared(replace(DOME, pieces=1))
    assert not {"rubber in the gap", "casting in the mold"} & set(names(load_checks(result, CAVITY)))


CALLED_FOR: list[tuple[dict[str, Any], set[str]]] = [
    ({}, set()),
    ({"method": "foam fill", "material": "rigid urethane foam"}, {"foam pressure"}),
    ({"method": "hand rotation"}, {"turned by hand"}),
    ({"method": "machine rotation"}, {"turned by machine"}),
    ({"method": "pressure"}, {"pressure pot", "bubbles under pressure"}),
    ({"method": "vacuum"}, {"bubbles under vacuum"}),
]


@pytest.mark.parametrize(("job", "called_for"), CALLED_FOR)
@pytest.mark.parametrize("technique", [BLOCK, BRUSHED, CAVITY, PRINTED])
def test_foam_turning_and_air_are_looked_at_only_where_they_are_in_play(
    compared: Compared, job: dict[str, Any], called_for: set[str], technique: str
) -> None:
    everything = set().union(*(names for _, names in CALLED_FOR))
    found = set(names(load_checks(compared(replace(DOME, **job)), technique)))
    assert found & everything == called_for


def test_rubber_that_is_not_degassed_does_not_froth(compared: Compared) -> None:
    assert "froth in the chamber" not in names(load_checks(compared(replace(DOME, degassed=False)), BLOCK))


def test_a_tube_in_the_shop_takes_the_place_of_the_box(compared: Compared) -> None:
    post = Case(form="cylinder", size=(0.10, 0.10, 0.30), shop={"tubes": ["160 mm"]}, container="round")
    assert names(load_checks(compared(post), BLOCK))[0] == "tube wall"


def test_an_unknown_technique_is_refused_with_the_nearest(compared: Compared) -> None:
    with pytest.raises(InputError, match="unknown technique 'poured blok'; did you mean 'poured block'"):
        load_checks(compared(DOME), "poured blok")


# ------------------------------------------------------------------------------------------------- every check


@pytest.mark.parametrize(("job", "_"), CALLED_FOR)
@pytest.mark.parametrize("technique", [BLOCK, BRUSHED, CAVITY, PRINTED])
def test_every_check_has_words_a_source_a_range_and_a_working(
    compared: Compared, job: dict[str, Any], _: set[str], technique: str
) -> None:
    for check in load_checks(compared(replace(DOME, **job)), technique):
        assert check.level in LEVELS
        assert check.source
        assert len(working(check.figure)) >= 1 and (check.figure.formula or check.figure.source)
        assert check.level == "pass" or check.remedy, f"{check.name}: {check.words} but what to do?"
        for system in ("metric", "us"):
            text = f"{check.words_in(system)} {check.remedy_in(system)}"  # type: ignore[arg-type]
            assert "{" not in text and "nan" not in text and "  " not in text.strip()
        if check.limit is not None and check.safety is not None and math.isfinite(check.safety.value):
            assert check.figure.unit == check.limit.unit


def test_words_follow_the_unit_system(compared: Compared) -> None:
    check = named(load_checks(compared(DOME), BLOCK), "straps round the box")
    assert " N," in check.words and "lbf" not in check.words and check.words == check.words_in("metric")
    assert "lbf" in check.words_in("us") and " in above" in check.remedy_in("us")


# ------------------------------------------------------------------------------------------ figures by hand


def test_the_box_carries_the_full_head_of_the_rubber(compared: Compared) -> None:
    """A box of 26 x 26 x 20 cm inside (margin 2.5 cm) of rubber at 1100 kg/m3, worked out by hand."""
    cube = Case(form="box", size=(0.21, 0.21, 0.175), margin=0.025, run=10)
    checks = load_checks(compared(cube), BLOCK)
    pressure = named(checks, "box wall").parts["pressure"].value
    assert pressure == pytest.approx(1100 * GRAVITY * 0.20)
    push = named(checks, "straps round the box").figure.value
    assert push == pytest.approx(pressure / 2 * 0.20 * 0.26, rel=1e-6)


def test_a_box_shaped_pattern_floats_below_the_mass_of_its_rubber(compared: Compared) -> None:
    cube = Case(form="box", size=(0.20, 0.20, 0.20), run=10)
    assert named(load_checks(compared(cube), BLOCK), "pattern floats").figure.value == pytest.approx(8.8, rel=1e-3)


def test_a_weighed_pattern_is_taken_at_its_weight(compared: Compared) -> None:
    result = compared(Case(form="box", size=(0.20, 0.20, 0.20), run=10))
    light, heavy = (Quantity("pattern, weighed", kilograms, "kg") for kilograms in (3.0, 9.0))
    assert named(load_checks(result, BLOCK, weighed=light), "pattern floats").level == "caution"
    assert named(load_checks(result, BLOCK, weighed=heavy), "pattern floats").level == "pass"


@pytest.mark.parametrize(
    ("surface", "level", "says"),
    [
        ("wood", "caution", "Solid, the pattern weighs 2.8 kg to 7.2 kg; lighter than 8.8 kg it rises"),
        ("sealed plaster", "caution", "Solid, the pattern weighs 8.4 kg to 15.2 kg; lighter than 8.8 kg it rises"),
        ("stone", "pass", "Solid, the pattern weighs 16 kg to 22.4 kg; lighter than 8.8 kg it rises"),
        ("found object", "caution", "Nothing is known of the pattern's mass"),
    ],
)
def test_what_the_pattern_is_made_of_says_whether_it_floats(
    compared: Compared, surface: str, level: str, says: str
) -> None:
    """8 L of pattern in rubber of 1100 kg/m3; densities from pattern_densities.csv."""
    result = compared(Case(form="box", size=(0.20, 0.20, 0.20), surface=surface, sealed=True, run=10))
    check = named(load_checks(result, CAVITY), "pattern floats")
    assert check.level == level and says in check.words


def test_a_pattern_that_is_fixed_in_place_stays(compared: Compared) -> None:
    check = named(load_checks(compared(replace(DOME, surface="wood", fixed_in_place=True)), CAVITY), "pattern floats")
    assert (check.level, check.limit is None or check.safety is not None) == ("pass", True)


def test_the_casting_presses_as_it_is_poured_plaster_with_its_water(compared: Compared) -> None:
    """1106 kg/m3 dry at 70 parts of water is poured at 1585 kg/m3, 1.47 times the resin's 1080."""

    def push(material: str) -> float:
        case = replace(BALL, material=material, rubber="urethane rubber, soft")
        return float(named(load_checks(compared(case), CAVITY), "casting in the mold").figure.value)

    assert push("gypsum plaster") / push("rigid urethane resin") == pytest.approx(1585 / 1080, rel=1e-3)


def test_rubber_presses_to_the_top_of_the_spout(compared: Compared) -> None:
    result = compared(BALL)
    check = named(load_checks(result, CAVITY), "rubber in the gap")
    plan = next(outcome.plan for outcome in result.outcomes if outcome.name == CAVITY)
    head = plan["pour_head"].value
    assert head > 0.20 + plan["gap"].value
    assert check.parts["pressure"].value == pytest.approx(1100 * GRAVITY * head)


@pytest.mark.parametrize("bigger", [1.5, 2.0])
def test_loads_of_a_bigger_pattern_are_bigger(compared: Compared, bigger: float) -> None:
    def figures(size: tuple[float, float, float]) -> dict[str, float]:
        result = compared(replace(DOME, size=size, pieces=2))
        both = (*load_checks(result, BLOCK), *load_checks(result, CAVITY))
        return {check.name: float(check.figure.value) for check in both if check.name != "froth in the chamber"}

    once, grown = figures((0.15, 0.15, 0.10)), figures((0.15 * bigger, 0.15 * bigger, 0.10 * bigger))
    assert once.keys() == grown.keys()
    assert all(grown[name] > once[name] for name in once)


# --------------------------------------------------------------------------------------- agreement with findings


def _found(result: Comparison, technique: str, rule: str) -> str:
    outcome = next(outcome for outcome in result.outcomes if outcome.name == technique)
    return next((finding.level for finding in outcome.findings() if finding.rule == rule), "pass")


@pytest.mark.parametrize("size", [0.10, 0.20, 0.28, 0.40])
@pytest.mark.parametrize("technique", [BLOCK, BRUSHED, CAVITY])
def test_turning_is_judged_as_the_finding_judges_it(compared: Compared, size: float, technique: str) -> None:
    result = compared(Case(form="dome", size=(size, size, size), method="hand rotation", run=10))
    check = named(load_checks(result, technique), "turned by hand")
    assert check.level == _found(result, technique, "too heavy to turn by hand")


@pytest.mark.parametrize("size", [0.15, 0.35, 0.40, 0.60])
@pytest.mark.parametrize("technique", [BLOCK, CAVITY])
def test_foam_is_judged_as_the_finding_judges_it(compared: Compared, size: float, technique: str) -> None:
    case = Case(form="ball", size=(size,) * 3, method="foam fill", material="rigid urethane foam", run=10)
    result = compared(replace(case, stands_on_base=False))
    level = _found(result, technique, "foam pushes the mold")
    assert named(load_checks(result, technique), "foam pressure").level == ("pass" if level == "note" else level)


@pytest.mark.parametrize("rating", ["200 kPa", "550 kPa"])
def test_the_pot_is_judged_as_the_finding_judges_it(compared: Compared, rating: str) -> None:
    result = compared(replace(DOME, method="pressure", shop={"pressure_pot_rating": rating}))
    assert named(load_checks(result, BLOCK), "pressure pot").level == _found(result, BLOCK, "no pressure pot")


def test_without_a_pot_pressure_is_stopped(compared: Compared) -> None:
    result = compared(replace(DOME, method="pressure", shop={"has_pressure_pot": False}))
    assert named(load_checks(result, BLOCK), "pressure pot").level == "stop"


# ----------------------------------------------------------------------------------------- the shop's and job's own

BIG = Case(form="box", size=(0.50, 0.50, 0.45), run=10)


def test_the_shops_board_is_taken_with_its_thickness(compared: Compared) -> None:
    levels = {}
    for board, thickness in (("melamine-faced chipboard", "12 mm"), ("birch plywood", "18 mm")):
        shop = {"box_board": board, "box_board_thickness": thickness}
        check = named(load_checks(compared(replace(BIG, shop=shop)), BLOCK), "box wall")
        assert board in check.words and check.limit is not None
        assert check.limit.value == pytest.approx(float(thickness.split()[0]) / 1000)
        levels[board] = check.level
    assert levels == {"melamine-faced chipboard": "caution", "birch plywood": "pass"}


def test_a_board_that_nobody_sells_is_refused_with_the_nearest(compared: Compared) -> None:
    with pytest.raises(InputError, match="unknown board 'birch plywod'; did you mean 'birch plywood'"):
        load_checks(compared(replace(BIG, shop={"box_board": "birch plywod"})), BLOCK)


def test_weaker_clamps_are_more_clamps(compared: Compared) -> None:
    numbers = []
    for each in ("1 kN", "0.1 kN"):
        result = compared(replace(BALL, size=(0.4, 0.4, 0.4), shop={"clamp_limit": each}))
        numbers.append(named(load_checks(result, CAVITY), "rubber in the gap").parts["number"].value)
    assert numbers[1] > numbers[0]


def test_in_the_mountains_a_vacuum_of_sea_level_cannot_be_read(compared: Compared) -> None:
    levels = []
    for altitude in ("0 m", "2000 m"):
        result = compared(replace(DOME, method="vacuum", shop={"altitude": altitude}))
        levels.append(named(load_checks(result, CAVITY), "bubbles under vacuum").level)
    assert levels == ["caution", "stop"]


def test_a_job_may_say_what_its_pattern_weighs(compared: Compared) -> None:
    cube = Case(form="box", size=(0.20, 0.20, 0.20), surface="wood", run=10)
    assert named(load_checks(compared(replace(cube, mass=9.0)), BLOCK), "pattern floats").level == "pass"
    assert named(load_checks(compared(replace(cube, mass=5.0)), BLOCK), "pattern floats").level == "caution"


def test_the_mass_is_read_from_a_job_and_written_back() -> None:
    job = {"pattern": {"form": "ball", "size": ["20 cm"] * 3, "mass": "4.5 lb"}}
    case = case_from(job, "job.toml")
    assert case.mass == pytest.approx(2.0411657)
    assert 'mass = "2.04117 kg"' in job_text(case)
    with pytest.raises(InputError, match=r"job.toml \[pattern\] mass: '-1 kg' is outside 0 to 10,000 kg"):
        case_from({"pattern": {**job["pattern"], "mass": "-1 kg"}}, "job.toml")
