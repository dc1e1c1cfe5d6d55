"""How thin a pattern is and how narrow its gaps: shapes whose walls, gaps and shares are plain geometry."""

from __future__ import annotations

import math

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from moldkit.pattern.mesh import Mesh
from moldkit.pattern.survey.across import Across
from moldkit.pattern.survey.rays import Rays
from moldkit.pattern.survey.results import Walls
from moldkit.pattern.survey.samples import surface_samples
from moldkit.pattern.survey.walls import PATCH, hollow_wall_closes, survey_walls
from tests.pattern import solids

Floats = NDArray[np.float64]
SIDES = 192
SHARE = 0.005  # shares of the area are kept within half a percentage point


def free(mesh: Mesh) -> Walls:
    return survey_walls(mesh, stands_on_base=False)


def block(low: tuple[float, float, float], high: tuple[float, float, float]) -> Mesh:
    a, b = np.array(low), np.array(high)
    return Mesh("block", solids.box(*(b - a).tolist()).vertices + (a + b) / 2, solids.box(1, 1, 1).faces)


def beside(*parts: Mesh) -> Mesh:
    """Several bodies in one mesh."""
    firsts = np.cumsum([0, *[len(part.vertices) for part in parts]])
    faces = [part.faces + first for part, first in zip(parts, firsts, strict=False)]
    return Mesh("several", np.vstack([part.vertices for part in parts]), np.vstack(faces))


def joined(*parts: Mesh) -> Mesh:
    shapes = [trimesh.Trimesh(part.vertices, part.faces) for part in parts]
    return solids.mesh_of(trimesh.boolean.union(shapes, engine="manifold"), "joined")


def cut_out(body: Mesh, *tools: Mesh) -> Mesh:
    shapes = [trimesh.Trimesh(part.vertices, part.faces) for part in (body, *tools)]
    return solids.mesh_of(trimesh.boolean.difference(shapes, engine="manifold"), "cut out")


def turned(outline: list[tuple[float, float]]) -> Mesh:
    """A shape from the lathe; outline: radius and height, from the axis round to the axis."""
    return solids.mesh_of(trimesh.creation.revolve(np.array(outline), sections=SIDES), "turned")


def area(mesh: Mesh) -> float:
    return float(trimesh.Trimesh(mesh.vertices, mesh.faces, process=False).area)


def test_a_plate_is_as_thin_as_it_is() -> None:
    plate = solids.box(1.0, 0.8, 0.04)
    walls = free(plate)
    assert walls.thinnest == pytest.approx(0.04, rel=1e-4)
    assert walls.thinner_than(0.039) == 0.0
    assert walls.thinner_than(0.041) == pytest.approx(2 * 0.8 / area(plate), abs=SHARE)
    assert walls.thinner_than(0.81) == pytest.approx(2 * (0.8 + 0.04) / area(plate), abs=SHARE)
    assert walls.thinner_than(1.01) == pytest.approx(1.0, abs=1e-9)
    assert abs(walls.thinnest_at[2]) < 1e-4
    assert walls.narrowest is None
    assert walls.narrowest_at is None
    assert walls.bridged_by(10.0) == 0.0


def test_a_box_is_nowhere_thinner_than_its_shortest_side() -> None:
    walls = free(solids.box(3, 2, 1))
    assert walls.thinnest == pytest.approx(1.0, rel=1e-4)
    assert walls.thinner_than(0.999) == 0.0


def test_on_its_base_the_base_is_no_surface_but_the_far_side_of_the_wall() -> None:
    walls = survey_walls(block((0, 0, 0), (3, 2, 1)), stands_on_base=True)
    assert walls.thinner_than(1.001) == pytest.approx(6 / 16, abs=SHARE)


def test_a_tube_has_its_wall_and_its_bore() -> None:
    tube = turned([(0.9, 0), (1, 0), (1, 2), (0.9, 2), (0.9, 0)])
    walls = free(tube)
    # A mesh of 192 sides is up to 0.013 % thinner in the middle of a side.
    assert walls.thinnest == pytest.approx(0.1, rel=1e-3)
    round_it = 2 * math.pi * 2 * 1.9
    assert walls.thinner_than(0.101) == pytest.approx(round_it / area(tube), abs=SHARE)
    assert walls.narrowest == pytest.approx(1.8, rel=1e-3)
    assert walls.bridged_by(0.95) == pytest.approx(2 * math.pi * 2 * 0.9 / area(tube), abs=SHARE)
    assert walls.bridged_by(0.85) == 0.0
    assert walls.narrowest_at is not None
    assert np.hypot(*walls.narrowest_at[:2]) < 0.05


def test_the_wall_of_a_cup_is_found_beside_its_thicker_floor() -> None:
    cup = turned([(0, 0), (1, 0), (1, 2), (0.95, 2), (0.95, 0.1), (0, 0.1)])
    walls = survey_walls(cup, stands_on_base=True)
    assert walls.thinnest == pytest.approx(0.05, rel=1e-3)
    molded = area(cup) - math.pi
    wall = 2 * math.pi * (1.0 * 1.9 + 0.95 * 1.9)
    assert walls.thinner_than(0.051) == pytest.approx(wall / molded, abs=SHARE)
    assert walls.thinner_than(0.101) == pytest.approx((wall + math.pi * 0.95**2) / molded, abs=SHARE)


@pytest.mark.parametrize("half_angle", [4.0, 8.0, 12.0])
def test_the_tip_of_a_thin_cone_is_as_thin_as_half_of_the_patch_round_it(half_angle: float) -> None:
    # At a distance s from the tip the wall square to the side measures s tan(2 a); half of the cone's area within a
    # radius of the tip lies beyond radius / sqrt(2).
    angle = math.radians(half_angle)
    walls = free(turned([(0, 0), (math.tan(angle), 0), (0, 1)]))
    assert walls.thinnest == pytest.approx(PATCH / math.sqrt(2) * math.tan(2 * angle), rel=0.3)
    assert walls.thinnest_at[2] > 0.985


def test_a_horn_on_a_ball_is_found_though_it_is_a_thousandth_of_the_surface() -> None:
    horn = turned([(0, 0.95), (0.02, 0.95), (0.02, 1.2), (0, 1.2)])
    body = joined(solids.ball(1.0), horn)
    assert 2 * math.pi * 0.02 * 0.2 / area(body) < 0.0025
    walls = free(body)
    assert walls.thinnest == pytest.approx(0.04, rel=0.01)
    assert 1.0 < walls.thinnest_at[2] < 1.2


def test_a_fin_and_the_edge_of_a_leaf_are_thin_but_square_and_blunt_edges_are_not() -> None:
    fin = joined(block((0, 0, 0), (1, 1, 0.5)), block((0.4, 0.2, 0.4), (0.41, 0.8, 0.9)))
    assert free(fin).thinnest == pytest.approx(0.01, rel=1e-3)
    edge = np.array([(0, 0), (1, -math.tan(math.radians(8))), (1, math.tan(math.radians(8)))])
    leaf = solids.mesh_of(trimesh.creation.extrude_triangulation(edge, np.array([[0, 1, 2]]), 1.0))
    assert free(leaf).thinnest < 0.005
    assert abs(free(leaf).thinnest_at[0]) < 0.02
    # 90 degrees between faces; 70.5 in a tetrahedron, of which no two faces look away from each other: half of the
    # points have less than that behind them.
    assert free(solids.box(1, 1, 1)).thinnest == pytest.approx(1.0, rel=1e-3)
    assert 0.15 < free(solids.platonic("tetrahedron")).thinnest < 0.6


def test_a_sliver_is_a_speck() -> None:
    ball, chip = solids.ball(1.0), block((0, 0, 0.99), (0.001, 0.004, 1.006))
    assert free(joined(ball, chip)).thinnest > 1.9


def test_a_groove_of_known_width_is_the_narrowest_gap() -> None:
    body = cut_out(block((0, 0, 0), (2, 1, 1)), block((0.9, -1, 0.7), (0.95, 2, 2)))
    walls = survey_walls(body, stands_on_base=True)
    assert walls.narrowest == pytest.approx(0.05, rel=1e-3)
    molded = area(body) - 2.0
    assert walls.gap_share[-1] == pytest.approx(2 * 0.3 / molded, abs=SHARE)
    # A skin of just over half the width closes it from both sides.
    assert walls.bridged_by(0.0249) == 0.0
    assert walls.bridged_by(0.0251) == pytest.approx(2 * 0.3 / molded, abs=SHARE)
    x, _, z = walls.narrowest_at or (0, 0, 0)
    assert x == pytest.approx(0.925, abs=1e-3)
    assert z > 0.7


def test_two_plates_have_a_gap_between_them() -> None:
    pair = beside(block((0, 0, 0), (1, 1, 0.1)), block((0, 0, 0.25), (1, 1, 0.35)))
    walls = free(pair)
    assert walls.thinnest == pytest.approx(0.1, rel=1e-3)
    assert walls.narrowest == pytest.approx(0.15, rel=1e-3)
    assert walls.bridged_by(0.08) == pytest.approx(2 / area(pair), abs=SHARE)


def test_a_comb_has_its_teeth_and_the_gaps_between_them() -> None:
    teeth = [block((0.1 * k, 0, 0.2), (0.1 * k + 0.04, 0.3, 1.2)) for k in range(11)]
    comb = joined(block((0, 0, 0), (1.04, 0.3, 0.21)), *teeth)
    walls = free(comb)
    assert walls.thinnest == pytest.approx(0.04, rel=1e-3)
    assert walls.narrowest == pytest.approx(0.06, rel=1e-3)
    between = 20 * 0.3 * (1.2 - 0.21)
    assert walls.bridged_by(0.031) == pytest.approx(between / area(comb), abs=SHARE)


def test_the_board_is_no_side_of_a_gap() -> None:
    table = joined(block((0.4, 0.4, 0), (0.6, 0.6, 0.1)), block((0, 0, 0.1), (1, 1, 0.2)))
    assert survey_walls(table, stands_on_base=True).narrowest is None


def test_a_hollow_ball_has_the_difference_of_its_radii_for_a_wall() -> None:
    outer, inner = solids.ball(1.0), solids.ball(0.8)
    hollow = beside(outer, Mesh("inner", inner.vertices, np.ascontiguousarray(inner.faces[:, ::-1])))
    walls = free(hollow)
    assert walls.thinnest == pytest.approx(0.2, rel=2e-3)
    assert walls.thinner_than(0.203) == pytest.approx(1.0, abs=SHARE)
    assert walls.narrowest == pytest.approx(1.6, rel=2e-3)


def test_where_bodies_overlap_only_what_is_outside_counts() -> None:
    one, other = block((0, 0, 0), (1, 1, 1)), block((0.5, 0.25, 0.25), (2, 0.75, 0.75))
    overlapping, union = free(beside(one, other)), free(joined(one, other))
    for t in (0.6, 1.1, 2.1):
        assert overlapping.thinner_than(t) == pytest.approx(union.thinner_than(t), abs=2 * SHARE)
    assert overlapping.thinnest == pytest.approx(0.5, rel=1e-3)


@settings(max_examples=4)
@given(scale=st.floats(1e-3, 1e3), shift=st.floats(-20.0, 20.0))
def test_size_and_place_change_no_share(scale: float, shift: float) -> None:
    body = cut_out(block((0, 0, 0), (2, 1, 1)), block((0.9, -1, 0.7), (0.95, 2, 2)))
    one, other = (survey_walls(m, stands_on_base=True) for m in (body, solids.moved(body, scale, shift=shift * scale)))
    assert other.thinnest == pytest.approx(scale * one.thinnest, rel=1e-3)
    assert other.narrowest == pytest.approx(scale * (one.narrowest or 0.0), rel=1e-3)
    for t in (0.3, 0.71, 0.901, 1.001, 1.5):
        assert other.thinner_than(scale * t) == pytest.approx(one.thinner_than(t), abs=1e-3)


def test_turning_a_pattern_changes_little() -> None:
    cup = turned([(0, 0), (1, 0), (1, 2), (0.95, 2), (0.95, 0.1), (0, 0.1)])
    one, other = free(cup), free(solids.moved(cup, turn=solids.skew_turn()))
    assert other.thinnest == pytest.approx(one.thinnest, rel=1e-3)
    assert other.thinner_than(0.5) == pytest.approx(one.thinner_than(0.5), abs=SHARE)


def rabbit() -> Mesh:
    return solids.mesh_of(trimesh.load_mesh(solids.MESHES / "bunny_npm.ply"))


def test_shares_rise_and_the_same_mesh_gives_the_same_answer() -> None:
    one, other = free(rabbit()), survey_walls(rabbit(), stands_on_base=False, rays=Rays(rabbit()))
    for at, share in ((one.thickness, one.thickness_share), (one.gap, one.gap_share)):
        assert (np.diff(at) > 0).all()
        assert (np.diff(share) >= 0).all()
        assert 0.0 <= share[0] <= share[-1] <= 1.0
    assert (one.thickness == other.thickness).all()
    assert (one.gap_share == other.gap_share).all()


def test_a_rabbit_is_thinnest_in_its_ears() -> None:
    # Measured by eye in the scan: the edges of the ears, at y above 110 of 149 (y is up), some 3 mm.
    walls = free(rabbit())
    assert walls.thinnest_at[1] > 110
    assert 2.0 < walls.thinnest < 5.0


def first_by_trying_every_triangle(mesh: Mesh, origin: Floats, direction: Floats) -> float:
    """Distance along a ray by T. Moller and B. Trumbore (1997), without a tree."""
    a, b, c = np.moveaxis(mesh.corners(), 1, 0)
    one, two, start = b - a, c - a, origin - a
    across = np.cross(direction, two)
    scale = (one * across).sum(axis=1)
    u = (start * across).sum(axis=1) / scale
    turned_start = np.cross(start, one)
    v, distance = turned_start @ direction / scale, (two * turned_start).sum(axis=1) / scale
    return float(distance[(u >= 0) & (v >= 0) & (u + v <= 1) & (distance > 0)].min())


def test_thicknesses_agree_with_trying_every_triangle() -> None:
    mesh = rabbit()
    samples = surface_samples(mesh, 300, stands_on_base=False)
    inside = samples.points - samples.lift * samples.normals
    tried = [
        first_by_trying_every_triangle(mesh, origin, -normal)
        for origin, normal in zip(inside, samples.normals, strict=True)
    ]
    found = Across(mesh).measure(samples.points, samples.normals)
    assert found.through == pytest.approx(np.array(tried) + samples.lift, rel=1e-4)
    assert not found.hidden.any()


def test_points_can_be_asked_one_by_one() -> None:
    across = Across(cut_out(block((0, 0, 0), (2, 1, 1)), block((0.9, -1, 0.7), (0.95, 2, 2))))
    points = np.array([[0.3, 0.3, 1.0], [0.9, 0.5, 0.8], [2.0, 0.5, 0.2]])
    normals = np.array([[0, 0, 1.0], [1.0, 0, 0], [1.0, 0, 0]])
    assert across.thickness(points, normals) == pytest.approx([1.0, 0.9, 2.0], rel=1e-3)
    assert across.gap(points, normals).tolist() == pytest.approx([np.inf, 0.05, np.inf], rel=1e-3)


def test_a_hollow_casting_closes_where_the_pattern_is_thinner_than_two_walls() -> None:
    plate = solids.box(1.0, 0.8, 0.04)
    walls = free(plate)
    assert hollow_wall_closes(walls, 0.019) == 0.0
    assert hollow_wall_closes(walls, 0.021) == pytest.approx(1.6 / area(plate), abs=SHARE)
    assert hollow_wall_closes(walls, np.array([0.019, 0.021])).shape == (2,)


def awkward() -> dict[str, Mesh]:
    noisy = solids.ball(1.0, 3)
    jitter = np.random.default_rng(3).normal(size=noisy.vertices.shape) * 0.02
    return {
        "sheet": solids.box(1, 1, 1e-3),
        "needle": solids.box(1e-3, 1e-3, 1),
        "tetrahedron": solids.platonic("tetrahedron"),
        "balls that overlap": beside(solids.ball(1.0, 3), solids.moved(solids.ball(1.0, 3), shift=0.4)),
        "box within a box": beside(solids.box(2, 2, 2), solids.box(1, 1, 1)),
        "far from the origin": solids.moved(solids.box(3, 2, 1), shift=1e5),
        "noise": Mesh("noise", noisy.vertices + jitter, noisy.faces),
        "crumpled": Mesh("crumpled", noisy.vertices + 10 * jitter, noisy.faces),
    }


@pytest.mark.parametrize("shape", awkward())
@pytest.mark.parametrize("on_base", [True, False])
def test_an_awkward_mesh_gets_finite_answers(shape: str, on_base: bool) -> None:
    mesh = awkward()[shape]
    walls = survey_walls(mesh, stands_on_base=on_base)
    for values in (walls.thickness, walls.thickness_share, walls.thinnest_at, walls.gap, walls.gap_share):
        assert np.isfinite(values).all()
    assert 0.0 < walls.thinnest <= np.linalg.norm(np.ptp(mesh.vertices, axis=0))
    assert (walls.narrowest is None) == (walls.narrowest_at is None)


def test_noise_on_a_ball_makes_neither_thin_walls_nor_narrow_gaps() -> None:
    # 0.1 % of the diameter, as on a good scan. It tilts facets by up to some 20 degrees, and a chord that leans by
    # 25 is 1.81 long.
    ball = solids.ball(1.0, 5)
    jitter = np.random.default_rng(3).normal(size=ball.vertices.shape) * 0.002
    walls = free(Mesh("noise", ball.vertices + jitter, ball.faces))
    assert walls.thinnest > 1.81
    assert walls.narrowest is None
