"""The ways that the benchmark compares measure the same thing."""

from __future__ import annotations

import pytest

from moldkit.pattern.distance import measure_distance
from moldkit.pattern.mesh import Mesh
from tests.bench.bodies import bumpy_ball, egg, scattered, steiner
from tests.bench.offsets import WAYS, Way

SKIN = 0.010  # [m]


def test_scattered_points_and_steiners_formula_agree() -> None:
    body = egg(3)
    assert scattered(body, SKIN, 100_000) == pytest.approx(steiner(body, SKIN), rel=0.003)


@pytest.mark.parametrize("body", [egg(3), bumpy_ball(1_000)], ids=["convex", "bumpy"])
def test_the_curve_agrees_with_scattered_points(body: Mesh) -> None:
    assert measure_distance(body, stands_on_base=False).volume(SKIN) == pytest.approx(
        scattered(body, SKIN, 100_000), rel=0.005
    )


AT_HAND = [way for way in WAYS if not way.missing()]


def test_some_other_library_is_at_hand_to_compare_with() -> None:
    assert AT_HAND


@pytest.mark.slow
@pytest.mark.parametrize("way", AT_HAND, ids=lambda way: way.name)
def test_each_way_finds_the_skin_of_a_convex_body_as_well_as_it_can(way: Way) -> None:
    body = egg(2)
    # The voxels are half a cell too large all round, the faceted ball too small.
    assert way.skin(body, SKIN) == pytest.approx(steiner(body, SKIN), rel=0.08)
