"""Shrinkage over generations, against pattern makers' and potters' arithmetic and against a simulation."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from moldkit.errors import InputError
from moldkit.quantity import Quantity
from moldkit.study.case import Case, case_from
from moldkit.study.compare import Comparison
from moldkit.study.job_file import job_text
from moldkit.study.knowledge import Knowledge
from moldkit.study.scale import generations, shrunk, size_for
from moldkit.tables import Row

BLOCK = "poured block"
DOME = Case(form="dome", size=(0.30, 0.30, 0.15), run=10)
Compared = Callable[[Case], Comparison]


def stuff(name: str, low: float, likely: float, high: float) -> Row:
    """Return a material with a shrinkage in per cent."""
    figure = Quantity(f"{name}: shrinkage", likely / 100, "share", source="made up", low=low / 100, high=high / 100)
    return Row(name, "made up", {"shrinkage": figure})


def certain(per_cent: float, name: str = "stuff") -> Row:
    return stuff(name, per_cent, per_cent, per_cent)


# ------------------------------------------------------------------------------------------------- published arithmetic


# Potters, whose clay shrinks the most of all: a tile that is to be 6 in. of a clay that shrinks by 11.5 % is cut at
# 6 / 0.885 = 6.78 in. (a potters' mailing list, November 2003); 15 % asks for a drawing at 118 % (a metal-clay guild's
# weblog, 2015).
@pytest.mark.parametrize(("per_cent", "wanted", "made"), [(11.5, 6.0, 6.78), (15.0, 100.0, 118.0)])
def test_the_allowance_is_that_of_the_potters(per_cent: float, wanted: float, made: float) -> None:
    assert wanted * shrunk([certain(per_cent)]).scale == pytest.approx(made, rel=0.004)


def test_a_master_pattern_has_the_pattern_makers_double_allowance() -> None:
    # A master pattern for an aluminum pattern for bronze castings: 5/32 + 3/16 = 11/32 in. a foot (a pattern maker's
    # pages on master patterns). An allowance x is for a shrinkage of x / (1 + x); chained, the two multiply.
    allowances = (5 / 32 / 12, 3 / 16 / 12)
    found = shrunk([certain(100 * x / (1 + x), f"metal {x}") for x in allowances])
    assert found.allowance.at(0) == pytest.approx(11 / 32 / 12, rel=0.01)
    assert found.scale == pytest.approx((1 + allowances[0]) * (1 + allowances[1]))


def test_casting_and_mold_by_hand() -> None:
    # Silicone 0.4 % and resin 0.5 %: 0.996 x 0.995 = 0.99102; over two generations 0.99102^2 = 0.98212.
    one = [certain(0.4, "rubber"), certain(0.5, "resin")]
    assert shrunk(one).factor == pytest.approx(0.99102)
    assert shrunk(one * 2).factor == pytest.approx(0.9821206, rel=1e-6)
    # 300 mm wanted: a pattern of 302.72 mm.
    assert 300 * shrunk(one).scale == pytest.approx(302.72, abs=0.005)


def test_plaster_expands_and_its_pattern_is_made_smaller() -> None:
    # Published expansion of a molding plaster 0.20 % (Properties of Typical Gypsum Plasters and Cements, 2009).
    found = shrunk([certain(-0.2)])
    assert found.factor == pytest.approx(1.002)
    assert found.scale == pytest.approx(1 / 1.002) and found.allowance.at(0) < 0


def test_rubber_that_shrinks_and_plaster_that_grows_by_as_much_cancel_to_first_order() -> None:
    assert shrunk([certain(0.2, "rubber"), certain(-0.2, "plaster")]).factor == pytest.approx(1.0, abs=5e-6)


# ----------------------------------------------------------------------------------------------------------- the spread


def pert(rng: np.random.Generator, low: float, likely: float, high: float, count: int) -> np.ndarray:
    a, b = 1 + 4 * (likely - low) / (high - low), 1 + 4 * (high - likely) / (high - low)
    return low + (high - low) * rng.beta(a, b, count)


@pytest.mark.parametrize(
    "parts",
    [
        [("rubber", 0.2, 0.6, 1.2, 1)],
        [("rubber", 0.2, 0.6, 1.2, 1), ("resin", 0.2, 0.5, 0.9, 1)],
        [("rubber", 0.2, 0.6, 1.2, 3), ("resin", 1.7, 2.5, 4.3, 2), ("plaster", -0.39, -0.2, -0.08, 1)],
    ],
)
def test_eight_shops_in_ten_lie_between_low_and_high_as_simulated(
    parts: list[tuple[str, float, float, float, int]],
) -> None:
    rng, count = np.random.default_rng(7), 400_000
    size = np.ones(count)
    for _, low, likely, high, times in parts:
        size *= (1 - pert(rng, low, likely, high, count) / 100) ** times
    found = shrunk([stuff(name, low, likely, high) for name, low, likely, high, times in parts for _ in range(times)])
    small, large = np.quantile(size, [0.1, 0.9])
    assert found.shrinkage.low == pytest.approx(1 - large, abs=0.01 * (large - small))
    assert found.shrinkage.high == pytest.approx(1 - small, abs=0.01 * (large - small))
    assert found.least <= 1 - size.max() and 1 - size.min() <= found.most


def width(steps: list[Row]) -> float:
    found = shrunk(steps).shrinkage
    assert found.low is not None and found.high is not None
    return found.high - found.low


def test_the_same_rubber_twice_is_one_unknown_and_two_rubbers_are_two() -> None:
    # One unknown twice: the spread doubles. Two alike but independent: it grows by the root of two.
    one, other = stuff("rubber", 0.4, 0.6, 0.8), stuff("another rubber", 0.4, 0.6, 0.8)
    assert width([one, one]) / width([one]) == pytest.approx(2.0, rel=0.02)
    assert width([one, other]) / width([one]) == pytest.approx(2**0.5, rel=0.03)


def test_a_certain_shrinkage_has_no_spread() -> None:
    found = shrunk([certain(0.5)])
    assert (found.shrinkage.low, found.shrinkage.high) == pytest.approx((0.005, 0.005))
    assert (found.least, found.most) == pytest.approx((0.005, 0.005))


def test_a_chain_of_nothing_is_refused() -> None:
    with pytest.raises(InputError, match="name at least one"):
        shrunk([])


# -------------------------------------------------------------------------------------------------- of a comparison


def test_every_generation_is_smaller_by_the_same_factor(compared: Compared) -> None:
    first, second, third = generations(compared(DOME), BLOCK, 3)
    # Slow platinum silicone 0.05 % and rigid urethane resin 0.5 %: 0.9995 x 0.995.
    assert first.shrunk.factor == pytest.approx(0.9995 * 0.995)
    assert second.shrunk.factor == pytest.approx(first.shrunk.factor**2)
    assert third.shrunk.factor == pytest.approx(first.shrunk.factor**3)
    assert [g.words for g in (first, second)] == [
        "from a mold of the pattern",
        "from a mold of a casting of generation 1",
    ]


def test_a_client_measures_the_casting_with_its_spread(compared: Compared) -> None:
    (first,) = generations(compared(DOME), BLOCK, 1)
    width, depth, height = first.sides
    assert (width.name, depth.name, height.name) == ("width", "depth", "height")
    assert width.pattern == pytest.approx(0.30, rel=1e-3)
    assert width.likely == pytest.approx(width.pattern * 0.9995 * 0.995)
    for side in first.sides:
        assert side.least <= side.low <= side.likely <= side.high <= side.most < side.pattern


def test_a_pattern_made_to_the_allowance_gives_the_size_wanted(compared: Compared) -> None:
    wanted = size_for(compared(DOME), BLOCK, 0.30)
    scaled = compared(replace(DOME, longest=wanted.pattern.at(0)))
    assert size_for(scaled, BLOCK, 0.30).now.at(0) == pytest.approx(0.30, rel=1e-3)
    assert wanted.pattern.at(0) == pytest.approx(0.30 / (0.9995 * 0.995))
    assert wanted.pattern.low is not None and wanted.pattern.high is not None
    assert wanted.pattern.low < wanted.pattern.at(0) < wanted.pattern.high


def test_a_plaster_from_platinum_silicone_comes_out_larger_than_its_pattern(
    compared: Compared, knowledge: Knowledge
) -> None:
    result = compared(replace(DOME, material="gypsum plaster"))
    (first,) = generations(result, BLOCK, 1)
    assert all(side.likely > side.pattern for side in first.sides)
    plaster = knowledge.materials.castings["gypsum plaster"].quantity("shrinkage")
    assert plaster.at(0) < 0


@pytest.mark.parametrize(
    ("technique", "most", "words"), [("poured blok", 1, "did you mean"), (BLOCK, 0, "outside 1 to")]
)
def test_unusable_questions_are_refused(compared: Compared, technique: str, most: int, words: str) -> None:
    with pytest.raises(InputError, match=words):
        generations(compared(DOME), technique, most)


def test_a_size_of_nothing_is_refused(compared: Compared) -> None:
    with pytest.raises(InputError, match="not above zero"):
        size_for(compared(DOME), BLOCK, 0.0)


def test_a_job_says_the_size_wanted_of_the_casting_and_keeps_it_when_it_is_saved() -> None:
    job = {
        "pattern": {"form": "dome", "size": ["30 cm", "30 cm", "15 cm"]},
        "casting": {"size_wanted": "12 in"},
    }
    case = case_from(job, "the job")
    assert case.size_wanted == pytest.approx(0.3048)
    assert case_from(tomllib.loads(job_text(case)), "the job").size_wanted == pytest.approx(0.3048)


@pytest.mark.parametrize(("size", "words"), [("30", "has no unit"), ("30 m", "is outside 5 mm to 5 m")])
def test_a_size_wanted_that_cannot_be_is_refused(size: str, words: str) -> None:
    job = {"pattern": {"form": "dome", "size": ["30 cm", "30 cm", "15 cm"]}, "casting": {"size_wanted": size}}
    with pytest.raises(InputError, match=rf"\[casting\] size_wanted: .*{words}"):
        case_from(job, "the job")
