"""What lies round many points is found from their outermost corners alone."""

from __future__ import annotations

import numpy as np
import pytest

from moldkit.pattern.all_round import half_sphere
from moldkit.pattern.footprint import convex_hull, outermost


@pytest.mark.parametrize("shift", [0.0, 100.0], ids=["at the origin", "far from it"])
def test_the_outermost_of_many_points_reach_as_far_in_every_direction(shift: float) -> None:
    points = np.random.default_rng(5).normal(size=(50_000, 3)) * [0.05, 0.02, 0.01] + shift
    corners = outermost(points)
    assert len(corners) < 500
    ways = np.vstack([half_sphere(300), -half_sphere(300)])
    reach = ((points - shift) @ ways.T).max(axis=0)
    assert ((corners - shift) @ ways.T).max(axis=0) == pytest.approx(reach, rel=1e-9)


def test_the_outline_of_the_outermost_points_is_the_outline_of_all() -> None:
    # A grid over a box: flat sides, many points in line.
    grid = np.linspace(0.0, 1.0, 30)
    points = np.stack(np.meshgrid(grid, 0.5 * grid, 0.2 * grid), axis=-1).reshape(-1, 3)
    assert len(points) > 20_000
    box = {(0.0, 0.0), (1.0, 0.0), (1.0, 0.5), (0.0, 0.5)}
    assert {tuple(corner) for corner in convex_hull(outermost(points)[:, :2]).tolist()} == box
    assert {tuple(corner) for corner in convex_hull(points[:, :2]).tolist()} == box


def test_few_points_are_left_as_they_are() -> None:
    points = np.random.default_rng(6).random((100, 3))
    assert outermost(points) is points
