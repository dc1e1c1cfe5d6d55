"""What is read off a pattern: sizes, outlines, boxes and tubes round it, the parting line."""

from __future__ import annotations

import itertools
import math
from functools import lru_cache

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp
from numpy.typing import NDArray

from moldkit.pattern.footprint import (
    convex_hull,
    enclosed_area,
    enclosing_circle,
    enclosing_rectangles,
    perimeter,
)
from moldkit.pattern.mesh import Mesh
from moldkit.pattern.reading import Reading, read_mesh
from moldkit.pattern.silhouette import Silhouette, covered_pixels, outline_length, silhouette, with_holes_filled
from tests.pattern import solids

Floats = NDArray[np.float64]
X, Y, Z = np.eye(3)

# Points on a grid of whole numbers, so that many lie in line and many on one circle.
point_sets = hnp.arrays(
    np.float64, st.tuples(st.integers(3, 40), st.just(2)), elements=st.integers(-9, 9).map(float)
).filter(lambda points: np.linalg.matrix_rank(points - points[0]) == 2)


@lru_cache
def read(name: str, stands_on_base: bool) -> Reading:
    made: dict[str, Mesh] = {
        "box": solids.box(3, 2, 1),
        "box turned": solids.moved(solids.box(3, 2, 1), turn=solids.about_z(0.37)),
        "cylinder": solids.cylinder(1.0, 2.0),
        "ball": solids.ball(1.0),
        "dome": solids.dome(1.0),
        "sheet": solids.box(3, 2, 0.004),
    }
    return read_mesh(made[name], stands_on_base=stands_on_base)


@given(points=point_sets)
def test_the_convex_outline_is_the_one_of_a_general_library(points: Floats) -> None:
    from scipy.spatial import ConvexHull

    hull, other = convex_hull(points), ConvexHull(points)
    assert enclosed_area(hull) == pytest.approx(other.volume)  # in the plane scipy calls the area volume
    assert perimeter(hull) == pytest.approx(other.area)
    assert {tuple(corner) for corner in hull.tolist()} <= {tuple(point) for point in points.tolist()}


def smallest_circle_by_trying_all(points: Floats) -> float:
    """Radius of the smallest circle through two or three of the points that holds them all."""
    best = math.inf
    for a, b in itertools.combinations(points, 2):
        centre, radius = (a + b) / 2, float(np.linalg.norm(a - b)) / 2
        if (np.linalg.norm(points - centre, axis=1) <= radius * (1 + 1e-9)).all():
            best = min(best, radius)
    for chosen in itertools.combinations(points, 3):
        # The centre c of a circle through p: 2 p.c + k = p.p for all three.
        rows = np.column_stack([2 * np.array(chosen), np.ones(3)])
        if abs(np.linalg.det(rows)) < 1e-9:
            continue
        x, y, _ = np.linalg.solve(rows, (np.array(chosen) ** 2).sum(axis=1))
        radius = float(np.linalg.norm(chosen[0] - [x, y]))
        if (np.linalg.norm(points - [x, y], axis=1) <= radius * (1 + 1e-9)).all():
            best = min(best, radius)
    return best


@given(points=point_sets)
def test_no_circle_through_two_or_three_of_the_points_is_smaller(points: Floats) -> None:
    hull = convex_hull(points)
    centre, radius = enclosing_circle(hull)
    assert (np.linalg.norm(points - centre, axis=1) <= radius * (1 + 1e-9)).all()
    assert radius == pytest.approx(smallest_circle_by_trying_all(hull))


def test_the_circle_round_a_thousand_points_on_a_circle_is_that_circle() -> None:
    angle = np.linspace(0, 2 * math.pi, 1000, endpoint=False)
    centre, radius = enclosing_circle(convex_hull(np.column_stack([np.cos(angle) + 5, np.sin(angle)])))
    assert (radius, *centre) == pytest.approx((1.0, 5.0, 0.0))


@settings(max_examples=50)
@given(points=point_sets, margin=st.floats(0.0, 50.0))
def test_no_turned_box_with_the_margin_is_smaller(points: Floats, margin: float) -> None:
    hull = convex_hull(points)
    length, width = enclosing_rectangles(hull).T + 2 * margin
    angle = np.linspace(0, math.pi / 2, 2001)
    turned = [np.ptp(hull @ np.array([np.cos(a), np.sin(a)]), axis=0) for a in (angle, angle + math.pi / 2)]
    by_turning = ((turned[0] + 2 * margin) * (turned[1] + 2 * margin)).min()
    assert (length * width).min() <= by_turning * (1 + 1e-12)
    # Nor is it too small: the finest turning comes down to it.
    assert (length * width).min() == pytest.approx(by_turning, rel=2e-3)


def test_a_long_and_a_square_box_each_win_at_some_margin() -> None:
    # A right triangle of legs 4 and 3: on a leg 4 x 3, area 12 and sides 7; on the hypotenuse 5 x 12/5, area 12, 7.4.
    sides = enclosing_rectangles(convex_hull(np.array([[0.0, 0.0], [4.0, 0.0], [0.0, 3.0]])))
    assert np.sort(sides[np.argmin(sides.sum(axis=1))]) == pytest.approx([3.0, 4.0])


def seen_along(mesh: Mesh, right: Floats, up: Floats, pixels: int) -> Silhouette:
    return silhouette(mesh.vertices, mesh.faces, right, up, pixels)


@pytest.mark.parametrize("angle", [0.0, 5.0, 15.0, 22.5, 40.0, 77.0])
@pytest.mark.parametrize("pixels", [160, 640])
def test_the_silhouette_of_a_box_at_any_slope_is_its_rectangle(angle: float, pixels: int) -> None:
    a = math.radians(angle)
    right, up = X * math.cos(a) + Z * math.sin(a), Z * math.cos(a) - X * math.sin(a)
    seen = seen_along(solids.box(3, 1, 2), right, up, pixels)
    assert seen.area == pytest.approx(6.0, rel=0.02 if pixels < 300 else 0.005)
    assert seen.outline == pytest.approx(10.0, rel=0.02 if pixels < 300 else 0.01)


def test_the_silhouette_of_a_ball_is_a_disc() -> None:
    seen = seen_along(solids.ball(1.0), X, Z, 640)
    assert seen.area == pytest.approx(math.pi, rel=0.003)
    assert seen.outline == pytest.approx(2 * math.pi, rel=0.005)


def test_a_hole_counts_neither_in_the_area_nor_in_the_outline() -> None:
    # A torus from above: a ring of radii 0.7 and 1.3.
    seen = seen_along(solids.torus(1.0, 0.3), X, Y, 640)
    assert seen.area == pytest.approx(math.pi * (1.3**2 - 0.7**2), rel=0.005)
    assert seen.outline == pytest.approx(2 * math.pi * 1.3, rel=0.01)


def test_pixels_are_covered_where_their_centre_is_and_once_where_triangles_meet() -> None:
    # Two halves of the square from (1, 1) to (5, 4): the centres of 4 x 3 pixels.
    corners = np.array([[1, 5, 5, 1], [1, 1, 4, 4]], dtype=float)
    halves = np.array([[0, 1, 2], [0, 2, 3]])
    expected = np.zeros((8, 8), dtype=bool)
    expected[1:4, 1:5] = True
    assert (covered_pixels(corners, halves, 8) == expected).all()
    assert not (covered_pixels(corners, halves[:1], 8) & covered_pixels(corners, halves[1:], 8)).any()
    # Seen from behind, the same faces are the far side.
    assert not covered_pixels(corners, halves[:, ::-1], 8).any()


def test_a_spiral_is_filled_only_where_it_is_closed() -> None:
    walls = [
        "..............",
        "..............",
        "..............",
        "...########...",
        "...#......#...",
        "...#.####.#...",
        "...#.#..#.#...",
        "...#.####.#...",
        "...#......#...",
        "...######.#...",
        "..............",
        "..............",
        "..............",
        "..............",
    ]
    mask = np.array([[mark == "#" for mark in line] for line in walls])
    expected = mask.copy()
    expected[6, 6:8] = True
    assert (with_holes_filled(mask) == expected).all()


@settings(max_examples=30)
@given(slope=st.floats(0.0, math.pi))
def test_a_straight_edge_is_as_long_at_every_slope(slope: float) -> None:
    # Cauchy and Crofton count with few directions: the worst slope is 1 % out.
    y, x = np.mgrid[-150:150, -150:150] + 0.5
    half = (x * math.sin(slope) - y * math.cos(slope) > 0.137) & (x**2 + y**2 < 120**2)
    assert outline_length(half) == pytest.approx(120 * (2 + math.pi), rel=0.011)


# Closed forms: outline in the best pull, less what rests on the plane.
@pytest.mark.parametrize(
    ("name", "stands_on_base", "length", "area"),
    [
        ("box", True, 2 * 1 + 2, 2 * 1),  # across its narrow side 2: up, over, down
        ("box turned", True, 4.0, 2.0),
        ("box", False, 2 * (2 + 1), 2.0),
        ("box turned", False, 6.0, 2.0),
        ("cylinder", True, 2 * 2 + 2, 4.0),
        ("cylinder", False, 2 * math.pi, math.pi),  # straight up: the rim
        ("ball", True, 2 * math.pi, math.pi),  # touches the plane in one point
        ("ball", False, 2 * math.pi, math.pi),
        ("dome", True, math.pi, math.pi / 2),
        ("sheet", True, 2.008, 0.008),
        ("sheet", False, 4.008, 0.008),
        ("dome", False, 2 + math.pi, math.pi / 2),
    ],
)
def test_the_parting_line_of_a_plain_form(name: str, stands_on_base: bool, length: float, area: float) -> None:
    reading = read(name, stands_on_base)
    assert reading.parting_length == pytest.approx(length, rel=0.01)
    assert reading.silhouette_area == pytest.approx(area, rel=0.01, abs=0.001)


def test_a_box_reads_as_its_sides_say() -> None:
    reading = read("box turned", True)
    assert reading.triangles == 12
    assert reading.watertight
    assert reading.volume == pytest.approx(6.0)
    assert reading.area == pytest.approx(22.0)
    assert reading.molded_area == pytest.approx(16.0)
    assert reading.footprint_area == pytest.approx(6.0)
    assert reading.footprint_perimeter == pytest.approx(10.0)
    assert reading.upright_circle_diameter == pytest.approx(math.hypot(3, 2))
    assert np.sort(reading.containers.boxes[0, :2]) == pytest.approx([2.0, 3.0])
    assert reading.centre_of_mass[2] == pytest.approx(0.5)
    assert reading.curve.reach == pytest.approx(max(reading.extents) / 2)
    assert reading.notes == ()


def test_free_standing_the_base_is_molded_too_and_looks_down() -> None:
    reading = read("box", False)
    assert reading.molded_area == pytest.approx(22.0)
    assert reading.downward_share == pytest.approx(6 / 22)
    assert read("box", True).downward_share == 0.0


def test_a_shell_lifts_off_a_dome_and_not_off_a_ball() -> None:
    assert read("dome", True).downward_share == 0.0
    # All but the band of n_z > -0.02 of the lower half: (1 - 0.02) / 2.
    assert read("ball", True).downward_share == pytest.approx(0.49, abs=0.01)


def test_the_centre_of_mass_of_a_half_ball_is_three_eighths_up() -> None:
    x, y, z = read("dome", True).centre_of_mass
    assert (x, y) == pytest.approx((1.0, 1.0), abs=1e-3)
    assert z == pytest.approx(3 / 8, rel=2e-3)


def test_a_scan_reads_as_general_libraries_measured_it() -> None:
    # tests/meshes/README.md; the circle by a second library, longest side 150.
    mesh = solids.mesh_of(trimesh.load_mesh(solids.MESHES / "bunny_npm.ply"))
    reading = read_mesh(mesh)
    assert reading.volume == pytest.approx(674297.2, rel=1e-6)
    assert reading.area == pytest.approx(50129.9, rel=1e-6)
    assert reading.upright_circle_diameter == pytest.approx(177.3113, rel=1e-6)
    other = trimesh.Trimesh(mesh.vertices, mesh.faces, process=False)
    assert reading.centre_of_mass == pytest.approx(other.center_mass - other.bounds[0])


@settings(max_examples=4)
@given(scale=st.floats(0.01, 100.0))
def test_a_reading_grows_with_the_pattern(scale: float) -> None:
    mesh = solids.moved(solids.angle_bracket(1.5), turn=solids.about_z(0.2))
    one, other = read_mesh(mesh), read_mesh(solids.moved(mesh, scale))
    for name, power in (
        ("volume", 3), ("area", 2), ("molded_area", 2), ("footprint_area", 2), ("silhouette_area", 2),
        ("footprint_perimeter", 1), ("upright_circle_diameter", 1), ("parting_length", 1), ("downward_share", 0),
    ):  # fmt: skip
        assert getattr(other, name) == pytest.approx(scale**power * getattr(one, name), rel=2e-3)
    assert other.containers.boxes == pytest.approx(scale * one.containers.boxes)


def test_progress_of_a_reading_rises_to_one() -> None:
    shares: list[float] = []
    read_mesh(solids.box(3, 2, 1), progress=shares.append)
    assert shares == sorted(shares)
    assert shares[-1] == 1.0
