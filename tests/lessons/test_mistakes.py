"""Mistakes are told by their kind: each one redone here by hand, apart from the kit, for a case with round figures."""

from __future__ import annotations

import math
import re

import pytest

from moldkit.lessons.exercises import check, exercise, problem_of
from moldkit.lessons.problem import COUNT, MATCH, Numeric
from moldkit.lessons.slips import told_apart, unit_slips
from moldkit.study.knowledge import Knowledge
from moldkit.units import THIN_SPACE

SEEDS = range(1, 9)


def _figures(question: str, unit: str) -> list[float]:
    """Return the figures that a question gives in a unit, in the order in which they stand."""
    plain = question.replace(THIN_SPACE, "")
    return [float(found) for found in re.findall(rf"(\d+(?:\.\d+)?) {re.escape(unit)}(?![\w/²³])", plain)]


@pytest.mark.parametrize("seed", SEEDS)
def test_a_block_worked_by_hand_from_the_question_is_right_and_its_mistakes_are_told(
    seed: int, knowledge: Knowledge
) -> None:
    shown = exercise("how much rubber", seed, 1, knowledge)
    wide, deep, tall, margin = (each / 1000 for each in _figures(shown.question, "mm"))
    (liters,), (density,), (loss,) = (_figures(shown.question, unit) for unit in ("L", "kg/m³", "%"))

    def rubber(box: float, pattern: float = liters / 1000) -> str:
        return f"{(box - pattern) * density * (1 + loss / 100):.4g} kg"

    box = (wide + 2 * margin) * (deep + 2 * margin) * (tall + margin)
    assert check(shown, rubber(box)).right
    told = {
        "forgot to take the pattern away": rubber(box, 0.0),
        "forgot the base": rubber((wide + 2 * margin) * (deep + 2 * margin) * (tall + 2 * margin)),
        "one margin only": rubber((wide + margin) * (deep + margin) * (tall + margin)),
    }
    known = {each.slip.mistake for each in _numeric("how much rubber", seed, 1, knowledge).slips}
    assert set(told) & known >= {"forgot to take the pattern away"}
    for mistake, entered in told.items():
        if mistake in known:
            feedback = check(shown, entered)
            assert not feedback.right
            assert feedback.mistake == mistake


@pytest.mark.parametrize("seed", SEEDS)
def test_area_times_thickness_on_a_small_pattern_is_told(seed: int, knowledge: Knowledge) -> None:
    shown = exercise("how much rubber", seed, 2, knowledge)
    under, over = (each / 1e4 for each in _figures(shown.question, "cm²"))
    lengths = [each / 1000 for each in _figures(shown.question, "mm")]
    thick, foot, flange = lengths[-3], lengths[-2], lengths[-1]
    (density,), (loss,) = _figures(shown.question, "kg/m³"), _figures(shown.question, "%")
    on_the_board = foot * flange * thick

    def mixed(volume: float) -> str:
        return f"{volume * density * (1 + loss / 100):.4g} kg"

    assert check(shown, mixed((under + over) / 2 * thick + on_the_board)).right
    assert check(shown, mixed(under * thick + on_the_board)).mistake == "area times thickness on a small pattern"
    known = {each.slip.mistake for each in _numeric("how much rubber", seed, 2, knowledge).slips}
    if "forgot the base" in known:
        assert check(shown, mixed((under + over) / 2 * thick)).mistake == "forgot the base"


@pytest.mark.parametrize("seed", SEEDS)
def test_pounds_for_kilograms_are_told_in_a_cost(seed: int, knowledge: Knowledge) -> None:
    shown = exercise("block or skin", seed, 1, knowledge)
    (pounds,), (hours,) = _figures(shown.question, "lb"), _figures(shown.question, "h")
    price, wage, others = _figures(shown.question, "USD")
    # 1 lb = 0.45359237 kg exactly (NIST Handbook 44, appendix C, from memory).
    assert check(shown, pounds * 0.45359237 * price + hours * wage + others).right
    told = check(shown, pounds * price + hours * wage + others)
    assert told.mistake == "unit slip of 2.205: lb for kg"
    assert check(shown, pounds * 0.45359237 * price + others).mistake == "forgot the work"


@pytest.mark.parametrize("seed", SEEDS)
def test_a_gauge_taken_for_absolute_is_told(seed: int, knowledge: Knowledge) -> None:
    shown = exercise("pressure, vacuum and bubbles", seed, 1, knowledge)
    psi, (air, _), (size,) = _figures(shown.question, "psi")[0], _figures(shown.question, "kPa"), _figures(
        shown.question, "mm"
    )  # fmt: skip
    # 1 psi = 6.894757 kPa (NIST SP 811, appendix B.8, from memory); volume goes as 1/p (Boyle).
    gauge = 6.894757 * psi
    assert check(shown, f"{size * math.cbrt(air / (air + gauge)):.4g} mm").right
    assert check(shown, f"{size * math.cbrt(air / gauge):.4g} mm").mistake == "gauge for absolute"
    assert check(shown, f"{size * air / (air + gauge):.4g} mm").mistake == "forgot the cube root"
    assert check(shown, f"{size * math.cbrt(air / (air + psi)):.4g} mm").mistake == "psi for kPa"


@pytest.mark.parametrize("seed", SEEDS)
def test_the_smallest_order_that_pays_is_found_by_trying_every_lot(seed: int, knowledge: Knowledge) -> None:
    shown = exercise("reading a cost curve and a crossing", seed, 1, knowledge)
    first, each, dear, pour = _figures(shown.question, "USD")
    lot = int(_figures(shown.question, "cavities")[0])
    order = next(n for n in range(lot, 10_000, lot) if dear + n / lot * pour < first + n * each)
    assert check(shown, order).right
    assert check(shown, order - lot).mistake == "one lot too early"


@pytest.mark.parametrize("seed", SEEDS)
def test_a_stop_that_is_ignored_is_told(seed: int, knowledge: Knowledge) -> None:
    shown = exercise("what the casting method rules out", seed, 2, knowledge)
    costs = dict(zip(re.findall(r"By ([a-z ]+), the run", shown.question), _figures(shown.question, "USD")[1:],
                     strict=True))  # fmt: skip
    cheapest = min(costs, key=lambda name: costs[name])
    assert check(shown, cheapest).mistake == "ignored the stop"


def test_a_unit_slip_has_the_factor_of_its_units() -> None:
    # 25.4 mm to the inch, 453.59237 g to the pound, 3.785411784 L to the US gallon: exact by definition.
    named = {
        each.slip.mistake: each.value
        for dimension in ("length", "mass", "volume")
        for each in unit_slips(1.0, dimension)
    }
    assert named["unit slip of 25.4: in for mm"] == pytest.approx(1 / 25.4)
    assert named["unit slip of 2.205: lb for kg"] == pytest.approx(1 / 0.45359237)
    assert named["unit slip of 3.785: L for gal"] == pytest.approx(3.785411784)
    assert named["unit slip of 1000: g for kg"] == pytest.approx(1000.0)


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("number", [1, 2])
def test_no_two_mistakes_can_be_taken_for_each_other(seed: int, number: int, knowledge: Knowledge) -> None:
    problem = _numeric("mold life and remakes", seed, number, knowledge)
    values = [problem.figure.at(0), *(each.value for each in problem.slips)]
    for place, one in enumerate(values):
        for other in values[:place]:
            far = 0.5 if problem.dimension == COUNT else 2 * MATCH
            off = abs(round(one) - round(other)) if problem.dimension == COUNT else abs(math.log(one / other))
            assert off > far


def test_a_problem_whose_mistakes_run_together_is_refused() -> None:
    assert told_apart(100.0, [], "mass", 0.05) is None


def _numeric(topic: str, seed: int, number: int, knowledge: Knowledge) -> Numeric:
    problem = problem_of(topic, seed, number, knowledge)
    assert isinstance(problem, Numeric)
    return problem
