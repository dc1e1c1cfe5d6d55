"""Laws that hold for any piece: nothing negative, more is more, one size at a time as good as many at once."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from moldkit.economics.run_cost import lowest
from moldkit.pattern.reading import Reading
from moldkit.quantity import Quantity
from moldkit.study.assess import assess, pours_for
from moldkit.study.case import Case
from moldkit.study.compare import Comparison, comparison_record, run_costs
from moldkit.study.knowledge import Knowledge
from moldkit.study.patterns import pattern_of
from moldkit.study.sweep import decision_map, map_axes

# Readings are cached by form and size, so the shapes are few and the size is drawn as a scale.
SHAPES = [
    {"form": "dome", "size": (0.20, 0.20, 0.12)},
    {"form": "box", "size": (0.14, 0.10, 0.20)},
    {"form": "bust", "size": (0.20, 0.15, 0.28)},
    {"form": "ball", "size": (0.10, 0.10, 0.10), "stands_on_base": False},
    {"form": "panel", "size": (0.30, 0.20, 0.03)},
]

# The fixtures hold nothing that a test changes.
quick = settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])


@st.composite
def cases(draw: Any) -> Case:
    return Case(
        **draw(st.sampled_from(SHAPES)),
        undercut=draw(st.sampled_from(["none", "moderate", "severe"])),
        material=draw(st.sampled_from(["rigid urethane resin", "gypsum plaster", "epoxy resin", "casting wax"])),
        method=draw(st.sampled_from(["open pour", "hand rotation", "pressure"])),
        rubber=draw(st.sampled_from(["platinum silicone", "tin-cured silicone", "urethane rubber"])),
        good_share=draw(st.sampled_from([1.0, 0.95, 0.7])),
        run=draw(st.integers(1, 400)),
        cavities=draw(st.sampled_from([1, 1, 4])),
        life=draw(st.sampled_from([None, None, 7.0, (10.0, 25.0, 60.0)])),
    )


scales = st.floats(0.3, 3.0)


def figures(outcome: Any, index: int = 0) -> dict[str, float]:
    """Return every number of an outcome at one size."""
    found = {name: q.at(index) for name, q in outcome.plan.quantities.items()}
    found |= {f"casting {name}": q.at(index) for name, q in outcome.casting.quantities.items()}
    found |= {
        name: getattr(outcome, name).at(index)
        for name in ("first", "remake", "pour", "attended_first", "attended_remake", "elapsed_first")
    }
    return found


@given(case=cases(), scale=scales)
@quick
def test_no_figure_is_negative_or_missing(
    case: Case, scale: float, knowledge: Knowledge, reading_of: Callable[[Case], Reading]
) -> None:
    for outcome in assess(case, knowledge, reading_of(case), scale):
        for name, value in figures(outcome).items():
            assert np.isfinite(value) and value >= 0, f"{outcome.name}: {name}"


@given(case=cases(), scale=scales, growth=st.floats(1.01, 2.0))
@quick
def test_a_larger_piece_takes_more_rubber_and_more_time(
    case: Case, scale: float, growth: float, knowledge: Knowledge, reading_of: Callable[[Case], Reading]
) -> None:
    small = assess(case, knowledge, reading_of(case), scale)
    large = assess(case, knowledge, reading_of(case), scale * growth)
    for before, after in zip(small, large, strict=True):
        for name in ("rubber_volume", "rubber_mass", "mold_mass"):
            assert after.plan[name].at(0) > before.plan[name].at(0), f"{before.name}: {name}"
        assert after.attended_first.at(0) > before.attended_first.at(0), before.name
        assert after.casting["mass"].at(0) > before.casting["mass"].at(0)


@given(case=cases(), scale=scales)
@quick
def test_a_remake_never_costs_more_than_a_first_mold_while_the_pattern_survives(
    case: Case, scale: float, knowledge: Knowledge, reading_of: Callable[[Case], Reading]
) -> None:
    for outcome in assess(case, knowledge, reading_of(case), scale):
        assert outcome.remake.at(0) <= outcome.first.at(0), outcome.name


@given(case=cases(), scale=scales)
@quick
def test_a_lost_pattern_adds_one_casting_to_every_remake_and_nothing_else(
    case: Case, scale: float, knowledge: Knowledge, reading_of: Callable[[Case], Reading]
) -> None:
    kept = assess(case, knowledge, reading_of(case), scale)
    lost = assess(replace(case, survives=False), knowledge, reading_of(case), scale)
    for with_pattern, without in zip(kept, lost, strict=True):
        casting = with_pattern.pour.at(0) / with_pattern.plan.cavities
        assert without.remake.at(0) == pytest.approx(with_pattern.remake.at(0) + casting, rel=1e-12)
        assert without.first.at(0) == with_pattern.first.at(0)


@given(case=cases())
@quick
def test_a_longer_run_never_costs_less(case: Case, compared: Callable[[Case], Comparison]) -> None:
    result = compared(case)
    costs = run_costs(result.outcomes, case, np.arange(1, 401), feasible=False)
    known = np.isfinite(costs).all(axis=1)
    assert np.all(np.diff(costs[known], axis=1) >= -1e-9)


@given(case=cases())
@quick
def test_the_lower_envelope_lies_on_or_below_every_feasible_curve(
    case: Case, compared: Callable[[Case], Comparison]
) -> None:
    result = compared(case)
    place = lowest(result.costs)
    feasible = [index for index, outcome in enumerate(result.outcomes) if not outcome.stop_at()]
    assert set(np.unique(place)) <= {-1, *feasible}
    if feasible:
        envelope = result.costs[place, np.arange(place.size)]
        assert np.all(envelope <= result.costs.min(axis=0) * (1 + 1e-8) + 1e-8)
        assert np.all(np.isfinite(envelope))


@given(case=cases())
@quick
def test_the_total_is_first_mold_and_remakes_and_pours(case: Case, compared: Callable[[Case], Comparison]) -> None:
    result = compared(case)
    record = comparison_record(result)
    for technique, outcome in zip(record["techniques"], result.outcomes, strict=True):
        if technique["cost_total"] is None:
            continue
        pours = pours_for(case, outcome.plan.cavities, case.run)
        remakes = (technique["expected_molds"] - 1) * technique["cost_remake"]
        total = technique["cost_first"] + remakes + pours * technique["cost_casting"]
        assert technique["cost_total"] == pytest.approx(total, rel=1e-12)
        assert technique["cost_per_casting"] * case.run == pytest.approx(total, rel=1e-12)


@given(
    run=st.integers(1, 100_000), cavities=st.integers(1, 12), hundredths=st.integers(1, 100)
)  # fmt: skip
def test_pours_are_the_least_whole_number_that_gives_the_run(run: int, cavities: int, hundredths: int) -> None:
    case = Case(good_share=hundredths / 100)
    pours = int(pours_for(case, cavities, run))
    # In whole numbers: pours x cavities x hundredths castings a hundred.
    assert pours * cavities * hundredths >= 100 * run
    assert pours == 1 or (pours - 1) * cavities * hundredths < 100 * run


# ------------------------------------------------------------------------------------------------------- size and scale


@given(shape=st.sampled_from(SHAPES), scale=scales, share=st.floats(0.01, 0.12))
@quick
def test_skin_and_shell_scale_with_the_piece(
    shape: dict[str, Any], scale: float, share: float, reading_of: Callable[[Case], Reading]
) -> None:
    # W_s(t) = s^3 W(t/s), and its derivative, the area over the skin, with s^2. Geometry.
    case = Case(**shape)
    reading = reading_of(case)
    longest = max(reading.extents)
    at_one, at_scale = pattern_of(case, reading, 1.0), pattern_of(case, reading, scale)
    t, scaled_t = Quantity("t", share * longest, "m"), Quantity("t", share * longest * scale, "m")
    assert at_scale.skin_volume(scaled_t).value == pytest.approx(scale**3 * at_one.skin_volume(t).value, rel=1e-9)
    assert at_scale.outer_area(scaled_t).value == pytest.approx(scale**2 * at_one.outer_area(t).value, rel=1e-9)
    assert at_scale.wall_volume(scaled_t).value == pytest.approx(scale**3 * at_one.wall_volume(t).value, rel=1e-9)


@pytest.mark.parametrize("shape", SHAPES[:3], ids=lambda shape: shape["form"])
def test_a_form_made_twice_as_large_is_the_form_scaled_by_two(
    shape: dict[str, Any], knowledge: Knowledge, reading_of: Callable[[Case], Reading]
) -> None:
    case = Case(**shape)
    width, depth, height = case.size or (0, 0, 0)
    double = replace(case, size=(2 * width, 2 * depth, 2 * height))
    scaled = assess(case, knowledge, reading_of(case), 2.0)
    made = assess(double, knowledge, reading_of(double))
    for one, other in zip(scaled, made, strict=True):
        assert figures(one) == pytest.approx(figures(other), rel=1e-6, abs=1e-9)


@given(case=cases())
@settings(max_examples=8, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_many_sizes_at_once_equal_one_size_at_a_time(
    case: Case, knowledge: Knowledge, reading_of: Callable[[Case], Reading]
) -> None:
    reading = reading_of(case)
    sizes = np.array([0.3, 0.8, 1.0, 2.7])
    together = assess(case, knowledge, reading, sizes)
    for index, scale in enumerate(sizes):
        for many, one in zip(together, assess(case, knowledge, reading, float(scale)), strict=True):
            assert figures(many, index) == pytest.approx(figures(one), rel=1e-12, abs=1e-15)
            assert many.findings(index) == one.findings()
            assert many.stop_at(index) == one.stop_at()
            assert many.life == one.life


@given(case=cases(), more=st.integers(0, 2**31))
@settings(max_examples=8, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_the_decision_map_says_what_a_comparison_says(
    case: Case, more: int, knowledge: Knowledge, reading_of: Callable[[Case], Reading],
    compared: Callable[[Case], Comparison],
) -> None:  # fmt: skip
    reading = reading_of(case)
    sizes, runs = map_axes(case, max(reading.extents), 12)
    table = decision_map(case, knowledge, reading, sizes, runs)
    pick = np.random.default_rng(more)
    for _ in range(3):
        row, column = int(pick.integers(sizes.size)), int(pick.integers(runs.size))
        result = compared(replace(case, longest=float(sizes[row]), run=int(runs[column])))
        best = result.cheapest
        if best is None:
            assert table.cheapest[row, column] == -1
            continue
        total = result.total(best)
        assert total is not None
        assert table.costs[row, column] == pytest.approx(total.value, rel=1e-9)
        assert table.names[table.cheapest[row, column]] == best.name


def test_the_axes_of_the_map_hold_the_case(knowledge: Knowledge) -> None:
    for longest, run in ((0.006, 1), (0.05, 40), (0.28, 300), (3.0, 100_000)):
        sizes, runs = map_axes(Case(run=run), longest)
        assert sizes[0] <= longest <= sizes[-1]
        assert runs[0] == 1 and runs[-1] >= max(1000, run)
        assert np.all(np.diff(sizes) > 0) and np.all(np.diff(runs) > 0)
        assert sizes[0] >= 0.005 - 1e-12 and sizes[-1] <= 5.0 + 1e-12


@given(case=cases(), factor=st.floats(0.2, 5.0))
@quick
def test_a_dearer_hour_makes_labor_dearer_in_proportion(
    case: Case, factor: float, knowledge: Knowledge, reading_of: Callable[[Case], Reading]
) -> None:
    def totals(rate: float) -> list[float]:
        own = replace(case, shop={"labor_rate": rate})
        return [o.first.at(0) for o in assess(own, knowledge, reading_of(case))]

    hours = [o.attended_first.at(0) / 3600 for o in assess(case, knowledge, reading_of(case))]
    base, other = totals(40.0), totals(40.0 * factor)
    masters = [
        o.casting["attended"].at(0) / 3600 / o.plan.cavities * (o.plan.cavities - 1)
        for o in assess(case, knowledge, reading_of(case))
    ]
    for hour, master, before, after in zip(hours, masters, base, other, strict=True):
        assert after - before == pytest.approx((hour + master) * 40.0 * (factor - 1), rel=1e-9, abs=1e-9)
