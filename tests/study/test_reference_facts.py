"""The comparison against facts of the trade and against pieces computed by hand.

A fact of the trade is common practice, no source; it is what a mold maker would answer when asked.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import integrate

from moldkit.pattern.reading import Reading
from moldkit.study.assess import Outcome
from moldkit.study.case import Case
from moldkit.study.compare import Comparison, run_costs
from moldkit.study.knowledge import Knowledge
from moldkit.study.patterns import pattern_of

BLOCK, BRUSHED, CAVITY, PRINTED = "poured block", "brushed skin", "cavity pour", "cavity pour, printed shell"
Compared = Callable[[Case], Comparison]

# Width, depth and height against the longest side, as such pieces commonly are (made up for the tests).
PROPORTIONS = {"figure": (0.45, 0.35, 1.0), "bust": (0.85, 0.95, 1.0), "ball": (0.86, 0.96, 1.0), "dome": (1, 1, 0.5)}


def piece(form: str, longest: float, **more: object) -> Case:
    width, depth, height = (0.28 * share for share in PROPORTIONS[form])
    undercut = "none" if form == "dome" else "moderate"
    # One size of each form is read, and scaled to the longest side asked for.
    case = Case(form=form, size=(width, depth, height), longest=longest, undercut=undercut)
    return replace(case, **more)  # type: ignore[arg-type]


def by_name(result: Comparison) -> dict[str, Outcome]:
    return {outcome.name: outcome for outcome in result.outcomes}


def cheapest_over(result: Comparison, runs: NDArray[np.int64]) -> list[str]:
    costs = run_costs(result.outcomes, result.case, runs)
    return [result.outcomes[place].name for place in np.argmin(costs, axis=0)]


TO_TEN_THOUSAND = np.unique(np.geomspace(1, 10_000, 400).astype(np.int64))

# ------------------------------------------------------------------------------------------------ facts of the trade


@pytest.mark.parametrize("form", ["bust", "ball"])
def test_a_head_takes_14_to_25_kg_as_a_block_and_2_4_to_4_2_kg_as_a_skin(form: str, compared: Compared) -> None:
    # Common practice, no source: a head about 28 cm tall; the block takes four to eight times the skin.
    found = by_name(compared(piece(form, 0.28)))
    block, brushed = (found[name].plan["rubber_mass"].at(0) for name in (BLOCK, BRUSHED))
    assert 14 <= block <= 25
    assert 2.4 <= brushed <= 4.2
    assert 4 <= block / brushed <= 8


@pytest.mark.parametrize(("form", "longest"), [("bust", 0.28), ("ball", 0.28), ("figure", 0.45), ("bust", 0.45)])
def test_labor_of_a_cavity_pour_is_about_a_brushed_skins_and_both_are_well_above_a_block(
    form: str, longest: float, compared: Compared
) -> None:
    # Common practice, no source. "About" is taken as 15 %, "well above" as twice and more.
    found = by_name(compared(piece(form, longest)))
    block, brushed, cavity = (found[name].attended_first.at(0) for name in (BLOCK, BRUSHED, CAVITY))
    assert cavity == pytest.approx(brushed, rel=0.15)
    assert min(cavity, brushed) >= 2 * block


@pytest.mark.parametrize(("form", "longest"), [("bust", 0.20), ("bust", 0.28), ("figure", 0.45), ("dome", 0.45)])
def test_a_re_pour_costs_a_quarter_to_a_half_and_a_brushed_remake_all_of_it(
    form: str, longest: float, compared: Compared
) -> None:
    # Common practice, no source: a cavity pour re-pours rubber only, keeping shell and pattern; a brushed skin
    # repeats all its steps.
    found = by_name(compared(piece(form, longest)))
    cavity, brushed = found[CAVITY], found[BRUSHED]
    assert 0.25 <= cavity.remake.at(0) / cavity.first.at(0) <= 0.50
    assert brushed.remake.at(0) == pytest.approx(brushed.first.at(0), rel=1e-12)
    assert brushed.attended_remake.at(0) == pytest.approx(brushed.attended_first.at(0), rel=1e-12)


@pytest.mark.parametrize("form", sorted(PROPORTIONS))
@pytest.mark.parametrize("life", [None, 3.0, 500.0])
def test_a_piece_of_50_mm_is_a_block_for_any_run_up_to_ten_thousand(
    form: str, life: float | None, compared: Compared
) -> None:
    # Common practice, no source: made as a block, never brushed.
    result = compared(piece(form, 0.05, life=life))
    assert set(cheapest_over(result, TO_TEN_THOUSAND)) == {BLOCK}
    assert "brushing a small piece" in {finding.rule for finding in by_name(result)[BRUSHED].findings()}


@pytest.mark.parametrize("form", sorted(PROPORTIONS))
@pytest.mark.parametrize("longest", [0.28, 0.45, 0.70])
@pytest.mark.parametrize("life", [None, 3.0, 500.0])
def test_a_head_sized_or_larger_piece_is_never_a_block(
    form: str, longest: float, life: float | None, compared: Compared
) -> None:
    # Common practice, no source: never where a skin is possible.
    result = compared(piece(form, longest, life=life))
    assert BLOCK not in cheapest_over(result, TO_TEN_THOUSAND)


@pytest.mark.parametrize("form", sorted(PROPORTIONS))
@pytest.mark.parametrize("longest", [0.28, 0.45, 0.70])
def test_at_about_a_thousand_large_castings_the_cavity_pour_beats_the_brushed_skin(
    form: str, longest: float, compared: Compared
) -> None:
    # Common practice, no source.
    result = compared(piece(form, longest, run=1000))
    found = by_name(result)
    cavity, brushed = result.total(found[CAVITY]), result.total(found[BRUSHED])
    assert cavity is not None and brushed is not None
    assert cavity.value < brushed.value
    assert result.cheapest is not None and result.cheapest.name in (CAVITY, PRINTED)


def test_a_figure_of_20_cm_passes_from_block_to_cavity_pour_at_some_run(compared: Compared) -> None:
    # Common practice, no source: at some tens to some hundreds of castings, whichever way the shell is made.
    result = compared(piece("figure", 0.20))
    (crossing,) = result.crossings
    assert result.outcomes[crossing.before].name == BLOCK
    assert result.outcomes[crossing.after].name in (CAVITY, PRINTED)
    assert 20 <= crossing.run <= 999


@pytest.mark.parametrize("form", sorted(PROPORTIONS))
def test_a_piece_of_12_cm_is_a_block_for_a_hundred_castings(form: str, compared: Compared) -> None:
    # Common practice, no source: small pieces are blocks; only a long run pays for a shell.
    assert set(cheapest_over(compared(piece(form, 0.12)), np.arange(1, 101))) == {BLOCK}


def test_where_two_techniques_cross_moves_with_the_life_of_the_mold(compared: Compared) -> None:
    # A mold that lasts three pours is remade often, and the cheap remake pays at once; one that lasts 500 pours is
    # never remade before its 501st. Arithmetic: with certain lives no curve steps before the first mold is worn out.
    runs = []
    for life in (3.0, 45.0, 500.0):
        (crossing,) = compared(piece("figure", 0.20, life=life, run=10_000)).crossings
        assert crossing.run % life == 1
        runs.append(crossing.run)
    assert runs == sorted(runs) and len(set(runs)) == 3


# ------------------------------------------------------------------------------------------ the reference head by hand

# An ellipsoid of 24 x 27 x 28 cm on its lowest point, margin 8 % and skin 3.5 % of 28 cm, rubber of 1080 kg/m3.
# Computed outside the kit: block 19.0 kg before losses, skin about 2.8 to 3.0 kg with 12 % brushing loss, cavity pour
# about 3.1 kg, and 2.2, 7.2 and 7.3 attended hours.
HEAD = Case(form="ball", size=(0.24, 0.27, 0.28))
DENSITY = 1080.0


def ellipsoid(width: float, depth: float, height: float) -> tuple[float, float]:
    """Return area [m2] and mean width [m] of an ellipsoid by quadrature over the unit sphere.

    Area: integral of |cofactor . u|; mean width: twice the mean support function, sqrt(a^2 x^2 + b^2 y^2 + c^2 z^2).
    """
    a, b, c = width / 2, depth / 2, height / 2

    def over_the_sphere(f: Callable[[float, float, float], float]) -> float:
        def at(turn: float, z: float) -> float:
            r = math.sqrt(1 - z * z)
            return f(r * math.cos(turn), r * math.sin(turn), z)

        value, _ = integrate.dblquad(at, -1, 1, 0, 2 * math.pi, epsabs=1e-10)
        return float(value)

    area = over_the_sphere(lambda x, y, z: math.sqrt((b * c * x) ** 2 + (a * c * y) ** 2 + (a * b * z) ** 2))
    width_mean = over_the_sphere(lambda x, y, z: 2 * math.sqrt((a * x) ** 2 + (b * y) ** 2 + (c * z) ** 2))
    return area, width_mean / (4 * math.pi)


def test_the_head_as_a_block_is_its_box_less_the_ellipsoid(compared: Compared) -> None:
    margin = 0.08 * 0.28
    box = (0.24 + 2 * margin) * (0.27 + 2 * margin) * (0.28 + margin)
    rubber = box - math.pi / 6 * 0.24 * 0.27 * 0.28
    assert rubber * DENSITY == pytest.approx(19.0, abs=0.05)
    block = by_name(compared(HEAD))[BLOCK].plan
    assert block["margin"].at(0) == pytest.approx(0.0224, rel=1e-6)
    assert block["container"].at(0) == pytest.approx(box, rel=0.001)
    assert block["pour_volume"].at(0) == pytest.approx(rubber, rel=0.002)


def test_the_heads_skin_follows_steiner(reading_of: Callable[[Case], Reading], compared: Compared) -> None:
    # Steiner for a convex body: W(t) = S t + 2 pi w t^2 + 4/3 pi t^3 (https://en.wikipedia.org/wiki/Steiner-minkowski_formula).
    area, mean_width = ellipsoid(0.24, 0.27, 0.28)
    t = by_name(compared(HEAD))[BRUSHED].plan["skin"]
    assert t.at(0) == pytest.approx(0.0098, rel=1e-6)
    steiner = area * t.value + 2 * math.pi * mean_width * t.value**2 + 4 / 3 * math.pi * t.value**3
    free = replace(HEAD, stands_on_base=False)
    all_round = pattern_of(free, reading_of(free), 1.0).skin_volume(t).value
    assert all_round == pytest.approx(steiner, rel=0.0035)
    # On its lowest point it misses what would lie below the base: a few per cent at the most.
    standing = pattern_of(HEAD, reading_of(HEAD), 1.0).skin_volume(t).value
    assert 0.96 * steiner <= standing < steiner
    assert standing * DENSITY * 1.12 == pytest.approx(2.9, rel=0.10)


def test_the_heads_rubber_and_hours_are_those_computed_outside(compared: Compared, knowledge: Knowledge) -> None:
    found = by_name(compared(HEAD))
    cavity = found[CAVITY].plan
    assert cavity["rubber_volume"].at(0) * DENSITY == pytest.approx(3.1, rel=0.10)
    hours = [found[name].attended_first.at(0) / 3600 for name in (BLOCK, BRUSHED, CAVITY)]
    assert hours == pytest.approx([2.2, 7.2, 7.3], rel=0.10)
    assert found[CAVITY].remake.at(0) / found[CAVITY].first.at(0) == pytest.approx(0.40, abs=0.05)


# ------------------------------------------------------------------------------------- closed forms: box and cylinder


def half_steiner(area: float, mean_width: float, t: float) -> float:
    """Return W(t) [m3] of a convex body on its base plane: half of the body mirrored in that plane."""
    return 0.5 * (area * t + 2 * math.pi * mean_width * t**2 + 4 / 3 * math.pi * t**3)


def half_steiner_area(area: float, mean_width: float, t: float) -> float:
    """Return dW/dt [m2] of the same."""
    return 0.5 * (area + 4 * math.pi * mean_width * t + 4 * math.pi * t**2)


def box_mirrored(a: float, b: float, h: float) -> tuple[float, float]:
    """Return area and mean width of a x b x 2h (mean width of a cuboid: half the sum of its sides,
    https://octave.sourceforge.io/matgeom/function/polyhedronMeanBreadth.html).
    """
    return 2 * a * b + 4 * h * (a + b), (a + b + 2 * h) / 2


def cylinder_mirrored(d: float, h: float) -> tuple[float, float]:
    """Return area and mean width of a cylinder of diameter d and height 2h (w = h/2 + pi r/2, from memory)."""
    r = d / 2
    return 2 * math.pi * r * (r + 2 * h), h + math.pi * r / 2


# form, size, mirrored area and mean width, volume, footprint perimeter
SOLIDS = [
    ("box", (0.16, 0.12, 0.20), box_mirrored(0.16, 0.12, 0.20), 0.16 * 0.12 * 0.20, 2 * (0.16 + 0.12)),
    ("box", (0.30, 0.30, 0.10), box_mirrored(0.30, 0.30, 0.10), 0.30 * 0.30 * 0.10, 4 * 0.30),
    ("cylinder", (0.18, 0.18, 0.26), cylinder_mirrored(0.18, 0.26), math.pi / 4 * 0.18**2 * 0.26, math.pi * 0.18),
]


@pytest.mark.parametrize(("form", "size", "mirrored", "volume", "perimeter"), SOLIDS)
class TestSolids:
    """Rubber of each technique on a plain solid that stands on its base and lifts straight out of one piece."""

    def found(self, form: str, size: tuple[float, float, float], compared: Compared) -> dict[str, Outcome]:
        return by_name(compared(Case(form=form, size=size)))

    def test_block(self, form, size, mirrored, volume, perimeter, compared) -> None:  # type: ignore[no-untyped-def]
        plan = self.found(form, size, compared)[BLOCK].plan
        width, depth, height = size
        m = min(max(0.08 * max(size), 0.010), 0.025)
        solid = (width + 2 * m) * (depth + 2 * m) * (height + m) - volume
        assert plan["pour_volume"].at(0) == pytest.approx(solid, rel=0.003)
        # To mix: 3 % lost and 20 g in each cup of 12 kg at most; the poured grade has 1100 kg/m3.
        cups = math.ceil(solid * 1100 * 1.03 / 12)
        assert plan["rubber_mass"].at(0) == pytest.approx(solid * 1100 * 1.03 + 0.020 * cups, rel=0.003)
        board = 2 * (width + depth + 4 * m) * (height + m + 0.025) + (width + 2 * m) * (depth + 2 * m)
        assert plan["board_area"].at(0) == pytest.approx(board, rel=0.003)

    def test_brushed(self, form, size, mirrored, volume, perimeter, compared) -> None:  # type: ignore[no-untyped-def]
        plan = self.found(form, size, compared)[BRUSHED].plan
        t = min(max(0.035 * max(size), 0.006), 0.012)
        assert plan["skin"].at(0) == pytest.approx(t, rel=1e-6)
        assert (plan["pieces"].at(0), plan["parting_length"].at(0)) == (1, 0)
        rubber = (half_steiner(*mirrored, t) + perimeter * 0.030 * t) * 1.12
        assert plan["rubber_volume"].at(0) == pytest.approx(rubber, rel=0.005)
        assert plan["shell_area"].at(0) == pytest.approx(half_steiner_area(*mirrored, t), rel=0.01)

    @pytest.mark.parametrize("name", [CAVITY, PRINTED])
    def test_cavity(self, name, form, size, mirrored, volume, perimeter, compared) -> None:  # type: ignore[no-untyped-def]
        plan = self.found(form, size, compared)[name].plan
        gap = max(min(max(0.035 * max(size), 0.006), 0.012) + 0.002, 0.008)
        bore, tall = min(max(2.5 * gap, 0.020), 0.050), min(max(size[2] / 3, 0.050), 0.100)
        # A spout, and two vents of half its bore: 1 + 2/4 times the spout.
        poured = half_steiner(*mirrored, gap) + 1.5 * math.pi / 4 * bore**2 * tall
        assert plan["gap"].at(0) == pytest.approx(gap, rel=1e-6)
        assert plan["pour_volume"].at(0) == pytest.approx(poured, rel=0.005)
        cups = math.ceil(poured * 1100 * 1.05 / 12)
        assert plan["rubber_mass"].at(0) == pytest.approx(poured * 1100 * 1.05 + 0.030 * cups, rel=0.005)
        assert plan["shell_area"].at(0) == pytest.approx(half_steiner_area(*mirrored, gap), rel=0.01)

    def test_hollow_wall(self, form, size, mirrored, volume, perimeter, compared) -> None:  # type: ignore[no-untyped-def]
        # A hollow casting is measured inward from the molded surface, and the open base has no wall: a solid with
        # the core taken out. Turned by hand, 15 % more for unevenness.
        wall = 0.006
        case = Case(form=form, size=size, method="hand rotation", wall=wall)
        width, depth, height = size
        core = (width - 2 * wall) * (depth - 2 * wall) * (height - wall) * (math.pi / 4 if form == "cylinder" else 1)
        casting = by_name(compared(case))[BLOCK].casting
        assert casting["volume"].at(0) == pytest.approx(1.15 * (volume - core), rel=0.01)
        assert casting["mass"].at(0) == pytest.approx(1080 * 1.15 * (volume - core), rel=0.01)


@pytest.mark.parametrize(("undercut", "fill"), [("none", 0.0), ("moderate", 0.08), ("severe", 0.20)])
def test_a_brushed_skin_of_two_halves_has_flanges_and_fill(
    undercut: str, fill: float, compared: Compared, reading_of: Callable[[Case], Reading]
) -> None:
    case = Case(form="ball", size=(0.20, 0.20, 0.20), undercut=undercut, pieces=2, stands_on_base=False)
    plan = by_name(compared(case))[BRUSHED].plan
    t = 0.007
    skin = 4 / 3 * math.pi * ((0.1 + t) ** 3 - 0.1**3)
    line = math.pi * 0.20  # a great circle
    assert plan["parting_length"].at(0) == pytest.approx(line, rel=0.01)
    assert plan["rubber_volume"].at(0) == pytest.approx((skin * (1 + fill) + 2 * line * 0.025 * t) * 1.12, rel=0.01)
    shell = 4 * math.pi * (0.1 + t) ** 2 + 2 * line * 0.050
    assert plan["shell_area"].at(0) == pytest.approx(shell, rel=0.01)


def test_a_round_container_is_taken_where_the_shop_has_the_tube_and_it_takes_less(compared: Compared) -> None:
    # Arithmetic: a cylinder of 100 mm with a margin of 25 mm needs a tube of 150 mm; 160 is at hand.
    case = Case(form="cylinder", size=(0.10, 0.10, 0.20), margin=0.025)
    tube = math.pi / 4 * 0.160**2 * 0.225
    box = 0.150 * 0.150 * 0.225
    assert tube < box
    plans = [
        by_name(compared(replace(case, shop={"tubes": tubes})))[BLOCK].plan for tubes in ([110, 160], [110], [200])
    ]
    assert [plan["container"].at(0) for plan in plans] == [
        pytest.approx(tube, rel=1e-6),
        pytest.approx(box, rel=0.003),
        pytest.approx(box, rel=0.003),
    ]
    assert plans[0]["round_diameter"].at(0) == pytest.approx(0.160)
    boxed = replace(case, shop={"tubes": [160]}, container="rectangular")
    assert by_name(compared(boxed))[BLOCK].plan["container"].at(0) == pytest.approx(box, rel=0.003)


def test_several_cavities_share_margins_in_a_grid(compared: Compared) -> None:
    # Six pieces of 40 x 40 mm in two rows of three, 10 mm between and round them: 160 x 110 mm.
    case = Case(form="cylinder", size=(0.04, 0.04, 0.05), cavities=6)
    plan = by_name(compared(case))[BLOCK].plan
    volume = 0.160 * 0.110 * 0.060 - 6 * math.pi / 4 * 0.04**2 * 0.05
    assert plan["container"].at(0) == pytest.approx(0.160 * 0.110 * 0.060, rel=0.003)
    assert plan["pour_volume"].at(0) == pytest.approx(volume, rel=0.004)
    assert plan.cavities == 6
