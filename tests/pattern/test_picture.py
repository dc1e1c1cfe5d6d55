"""The picture of a pattern: light enough for a page, true to the form, coloured by what geometry says."""

from __future__ import annotations

import math

import numpy as np
import pytest
import trimesh

from moldkit.pattern.mesh import Mesh
from moldkit.pattern.survey.picture import Picture, picture_of
from moldkit.pattern.survey.results import Air, Peel, Piece, Point, Pull, Survey, Trap, Walls, WayUp
from moldkit.pattern.survey.thinning import LONGEST_EDGE, fit_to_look_at, thinned
from tests.pattern.solids import ball, box, cylinder, mesh_of, moved, platonic, torus

UP: Point = (0.0, 0.0, 1.0)
X: Point = (1.0, 0.0, 0.0)


def survey(axis: Point = UP, *, halves: int = 2, standing: tuple[Trap, ...] = (), tops: tuple[Trap, ...] = (),
           open_top: bool = True) -> Survey:  # fmt: skip
    """A survey of which only what a picture needs is filled in."""
    pieces = (Piece(axis, 0.5), Piece(tuple(-a for a in axis), 0.5))[:halves]  # type: ignore[arg-type]
    pull = Pull(axis, 1.0, 0.5, 1.0, 0.0, 0.0, "none", 0.4, pieces, pieces, (), 0.0, 0.0)
    stands = WayUp(UP, False, (), standing, None, (), 1.0)
    casts = WayUp(UP, open_top, tops, (), None, (), 1.0)
    walls = Walls(np.array([0.01]), np.array([0.1]), (0.0, 0.0, 0.0), np.empty(0), np.empty(0), None)
    return Survey(pull, Peel(axis, (), 0), Air(stands, casts, ()), walls)


def middles(picture: Picture) -> np.ndarray:
    return picture.vertices.astype(float)[picture.faces].mean(axis=1)


def turned_body(profile: list[tuple[float, float]]) -> Mesh:
    """A body of revolution from radius and height, bottom to top."""
    return mesh_of(trimesh.creation.revolve(np.array(profile), sections=96), "turned body")


def mushroom(stem: float, cap: float) -> Mesh:
    """A straight stem of 60 mm with a cap of 20 mm on it."""
    return turned_body([(0, 0), (stem, 0), (stem, 0.060), (cap, 0.060), (cap, 0.080), (0, 0.080)])


@pytest.mark.parametrize("most", [20_000, 5_000])
def test_a_thinned_ball_keeps_its_volume_and_its_area(most: int) -> None:
    fine = ball(0.1, 7)
    vertices, faces = thinned(fine.vertices, fine.faces, most)
    light = Mesh("thinned", vertices, faces)
    assert 0.4 * most < len(faces) <= most
    # A ball of radius r: 4/3 pi r^3 and 4 pi r^2.
    assert light.volume() == pytest.approx(4 / 3 * math.pi * 0.1**3, rel=0.01)
    area = np.linalg.norm(light.area_vectors(), axis=1).sum()
    assert area == pytest.approx(4 * math.pi * 0.1**2, rel=0.02)


def test_a_thin_sheet_keeps_its_two_sides() -> None:
    sheet = mesh_of(trimesh.creation.box((1.0, 1.0, 0.002)).subdivide_loop(0), "sheet")
    fine = mesh_of(trimesh.Trimesh(*trimesh.remesh.subdivide_to_size(sheet.vertices, sheet.faces, 0.02)), "sheet")
    vertices, faces = thinned(fine.vertices, fine.faces, 2_000)
    assert len(faces) <= 2_000
    assert Mesh("thinned", vertices, faces).volume() == pytest.approx(0.002, rel=0.05)


def test_large_faces_are_split_without_a_gap_and_without_a_change_of_form() -> None:
    block = box(1.0, 0.5, 0.3)
    vertices, faces = fit_to_look_at(block.vertices, block.faces, 40_000)
    light = Mesh("split", vertices, faces)
    edges = vertices[faces] - vertices[np.roll(faces, 1, axis=1)]
    assert np.linalg.norm(edges, axis=2).max() <= LONGEST_EDGE * (1 + 1e-9)
    assert light.volume() == pytest.approx(0.15)
    assert trimesh.Trimesh(vertices, faces, process=False).is_watertight


@pytest.mark.parametrize("most", [100, 3_000, 40_000])
def test_there_are_never_more_faces_than_allowed(most: int) -> None:
    for mesh in (box(1.0, 0.1, 0.01), cylinder(0.01, 1.0), torus(0.3, 0.05), platonic("tetrahedron")):
        picture = picture_of(mesh, survey(), stands_on_base=False, most=most)
        assert 0 < len(picture.faces) <= max(most, 4)


def test_a_mushroom_reaches_behind_its_cap_by_the_caps_overhang() -> None:
    # Pulled up in one piece, what lies under a cap of radius R on a stem of radius r reaches behind the cap's edge by
    # R - r at the stem and by less nearer to the edge: by geometry.
    mesh = mushroom(0.010, 0.025)
    picture = picture_of(mesh, survey(UP, halves=1), stands_on_base=True)
    x, y, z = middles(picture).T
    radius = np.hypot(x, y)
    stem = (np.abs(radius - 0.010) < 5e-4) & (z > 0.005) & (z < 0.055)
    assert picture.undercut[stem] == pytest.approx(np.full(stem.sum(), 0.015), rel=0.06)
    under = (np.abs(z - 0.060) < 1e-5) & (radius > 0.012) & (radius < 0.023)
    # Measured at some of the faces and between them taken from the nearest.
    error = np.abs(picture.undercut[under] - (0.025 - radius[under]))
    assert np.quantile(error, 0.95) < 1e-3
    assert error.max() < 3e-3
    free = z > 0.0601
    assert not picture.undercut[free].any()


def test_pulled_sideways_a_round_body_is_free_all_over() -> None:
    for mesh in (cylinder(0.02, 0.08), mushroom(0.010, 0.025)):
        assert not picture_of(mesh, survey(X), stands_on_base=True).undercut.max() > 5e-4


def test_a_slot_is_closed_by_a_skin_of_half_its_width() -> None:
    # Two slabs 6 mm apart on a common foot; every point of the slot's walls looks across 6 mm.
    outline = np.array([(0, 0), (26, 0), (26, 40), (16, 40), (16, 10), (10, 10), (10, 40), (0, 40)]) * 1e-3
    triangles = np.array([[0, 1, 4], [0, 4, 5], [1, 2, 3], [1, 3, 4], [0, 5, 6], [0, 6, 7]])
    body = mesh_of(trimesh.creation.extrude_triangulation(outline, triangles, 0.05), "slot")
    picture = picture_of(body, survey((0.0, 1.0, 0.0)), stands_on_base=False)
    x, y, _ = middles(picture).T
    walls = ((np.abs(x - 0.010) < 1e-6) | (np.abs(x - 0.016) < 1e-6)) & (y > 0.0101)
    assert walls.sum() > 20
    assert picture.skin[walls] == pytest.approx(np.full(walls.sum(), 0.003), rel=1e-3)
    outside = (x < 1e-9) | (x > 0.026 - 1e-9)
    assert not picture.skin[outside].any()


def test_air_is_as_deep_as_a_place_stands_over_the_way_out_and_only_in_its_own_top() -> None:
    # Two cones on one foot, 50 and 30 mm high: the lower one, filled as it stands, keeps air above the foot.
    foot = trimesh.creation.box((0.12, 0.04, 0.01), transform=trimesh.transformations.translation_matrix((0, 0, 0.005)))
    cones = []
    for at, height in ((-0.03, 0.05), (0.03, 0.03)):
        cone = trimesh.creation.cone(0.015, height, sections=48)
        cone.apply_translation((at, 0, 0.009))
        cones.append(cone)
    mesh = mesh_of(trimesh.boolean.union([foot, *cones], engine="manifold"), "two cones")
    low = Trap((0.03, 0.0, 0.039), 0.029, 1e-4, False)
    picture = picture_of(mesh, survey(tops=(low,)), stands_on_base=False)
    x, _, z = middles(picture).T
    inside = (x > 0.01) & (z > 0.0101)
    assert picture.air_casting[inside] == pytest.approx(z[inside] - 0.010, abs=1e-5)
    assert not picture.air_casting[x < 0.0].any()
    spouted = picture_of(mesh, survey(tops=(low,), open_top=False), stands_on_base=False)
    assert not spouted.air_casting.any(), "with a closed mold the first top takes the spout"


def test_the_base_is_no_molded_surface_and_stays_plain() -> None:
    picture = picture_of(box(0.1, 0.1, 0.1), survey(X), stands_on_base=True)
    z = middles(picture)[:, 2]
    assert not picture.undercut[z < z.min() + 1e-9].any()


AWKWARD = {
    "a tetrahedron": platonic("tetrahedron"),
    "a box of twelve faces": box(1.0, 2.0, 3.0),
    "needles": cylinder(0.5, 40.0, 3),
    "far from the origin": moved(ball(0.1, 3), shift=1e4),
    "two bodies": mesh_of(
        trimesh.util.concatenate(
            [trimesh.creation.icosphere(3), trimesh.creation.icosphere(3).apply_translation((4, 0, 0))]
        ),
        "two bodies",
    ),
    "overlapping bodies": mesh_of(
        trimesh.util.concatenate([trimesh.creation.box(), trimesh.creation.box().apply_translation((0.5, 0.1, 0.2))]),
        "overlapping",
    ),
    "a sheet": box(1.0, 1.0, 1e-4),
}


@pytest.mark.parametrize("name", AWKWARD)
@pytest.mark.parametrize("stands_on_base", [True, False])
def test_awkward_meshes_give_finite_figures_and_the_same_every_time(name: str, stands_on_base: bool) -> None:
    trap = Trap(tuple(AWKWARD[name].vertices[0].tolist()), 0.01, 1e-4, True)
    asked = survey((0.6, 0.0, 0.8), standing=(trap,), tops=(trap,))
    one, two = (picture_of(AWKWARD[name], asked, stands_on_base=stands_on_base) for _ in range(2))
    for field in ("undercut", "skin", "air_standing", "air_casting"):
        figures = getattr(one, field)
        assert figures.shape == (len(one.faces),)
        assert np.isfinite(figures).all() and (figures >= 0.0).all()
        assert (figures == getattr(two, field)).all()
    assert (one.vertices == two.vertices).all() and (one.faces == two.faces).all()
