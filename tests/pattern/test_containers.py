"""Boxes and tubes round a pattern, over the ways it may be set down."""

from __future__ import annotations

import math

import numpy as np
import pytest
import trimesh

from moldkit.loads.fit import shortfall_in_vessel, shortfall_of_tubes
from moldkit.pattern.containers import containers
from moldkit.pattern.mesh import load_mesh
from tests.pattern import solids


def test_a_free_box_lies_as_it_fits_whatever_way_it_came() -> None:
    turned = solids.moved(solids.box(0.3, 0.2, 0.1), turn=solids.skew_turn()).vertices
    found = containers(turned, stands_on_base=False)
    # The box itself is the smallest box round it; 1 % is what is promised.
    assert 0.006 * (1 - 1e-9) <= found.boxes.prod(axis=1).min() <= 1.01 * 0.006


def test_a_box_on_its_base_stays_upright() -> None:
    found = containers(solids.box(0.3, 0.2, 0.1).vertices, stands_on_base=True)
    assert np.sort(found.boxes[0]) == pytest.approx([0.1, 0.2, 0.3])
    assert found.boxes[0, 2] == pytest.approx(0.1)
    assert found.tubes == pytest.approx(np.array([[math.hypot(0.3, 0.2), 0.1]]))


def test_a_long_cylinder_lies_down_in_a_low_tube_and_stands_in_a_slim_one() -> None:
    lying = solids.moved(solids.cylinder(0.05, 0.4), turn=solids.skew_turn()).vertices
    slim, low = containers(lying, stands_on_base=False).tubes[[0, -1]]
    assert slim == pytest.approx([0.1, 0.4], rel=0.01)
    # On its side it is as high as it is thick, and the tube spans its diagonal.
    assert low == pytest.approx([math.hypot(0.4, 0.1), 0.1], rel=0.02)


@pytest.mark.parametrize("name", ["heron.ply", "finial.stl", "head.ply"])
def test_boxes_and_tubes_are_as_small_as_a_general_librarys(name: str) -> None:
    """Second algorithm: trimesh's oriented bounds and minimum cylinder."""
    mesh = load_mesh(solids.ROOT / "data" / "patterns" / name, "mm")
    found = containers(mesh.vertices, stands_on_base=False)
    other = np.prod(trimesh.bounds.oriented_bounds(mesh.vertices)[1])
    assert found.boxes.prod(axis=1).min() <= 1.01 * other
    cylinder = trimesh.bounds.minimum_cylinder(trimesh.Trimesh(mesh.vertices, mesh.faces))
    ours = (math.pi / 4 * found.tubes[:, 0] ** 2 * found.tubes[:, 1]).min()
    assert ours <= 1.01 * math.pi * cylinder["radius"] ** 2 * cylinder["height"]


def test_every_point_is_in_every_box_and_tube() -> None:
    points = solids.moved(solids.torus(0.1, 0.03), turn=solids.skew_turn()).vertices
    found = containers(points, stands_on_base=False)
    for (_, height), up in zip(found.tubes, found.tube_ups, strict=True):
        assert np.ptp(points @ up) == pytest.approx(height)
    for (_, _, height), up in zip(found.boxes, found.box_ups, strict=True):
        assert np.ptp(points @ up) == pytest.approx(height)


def test_an_open_faced_mold_may_not_be_laid_on_its_side() -> None:
    panel = (0.34, 0.30, 0.08)
    across = math.hypot(0.34, 0.30)
    assert shortfall_in_vessel(panel, across, 0.36, 0.40, upright=True) == pytest.approx(across - 0.36)
    assert shortfall_in_vessel(panel, across, 0.36, 0.40, upright=False) < 0.0


def test_the_best_of_some_tubes_decides() -> None:
    tubes = (np.array([0.1, 0.3]), np.array([0.5, 0.1]))
    # Grown by 2 cm all round: 14 x 54 cm lacks 14 cm of height, 34 x 14 cm fits a bore of 36.
    assert shortfall_of_tubes(tubes, 0.02, 0.36, 0.40) == pytest.approx(-0.02)
    assert shortfall_of_tubes((tubes[0][:1], tubes[1][:1]), 0.02, 0.36, 0.40) == pytest.approx(0.14)
