"""What is mended on loading, what it says, and what is refused with the choices there are."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
import trimesh

from moldkit.pattern.intake.choices import BODIES, MEND_MEANS, MENDS
from moldkit.pattern.mesh import load_mesh
from tests.pattern import solids
from tests.pattern.mesh_files import block, exported, loaded, only, refusal, stl, triangles_stl, written


def box(a: float, b: float, c: float, at: tuple[float, float, float] = (0.0, 0.0, 0.0)) -> trimesh.Trimesh:
    """A box with its lower corner somewhere."""
    shape: trimesh.Trimesh = trimesh.creation.box((a, b, c))
    shape.apply_translation(np.array([a / 2, b / 2, c / 2]) + at)
    return shape


def ball(radius: float, fineness: int = 4) -> trimesh.Trimesh:
    return trimesh.creation.icosphere(fineness, radius)


def cup(radius: float, height: float, sections: int = 64) -> trimesh.Trimesh:
    """A prism round the z axis from z = 0 up."""
    shape: trimesh.Trimesh = trimesh.creation.cylinder(radius, height, sections=sections)
    shape.apply_translation([0, 0, height / 2])
    return shape


def half_ball(radius: float) -> trimesh.Trimesh:
    """Half a ball on its flat side."""
    shape = solids.dome(radius)
    return trimesh.Trimesh(shape.vertices, shape.faces)


def bottomless(shape: trimesh.Trimesh) -> trimesh.Trimesh:
    """The shape without the faces that lie in its lowest plane."""
    low = shape.vertices[:, 2] < shape.vertices[:, 2].min() + 1e-9
    return trimesh.Trimesh(shape.vertices, shape.faces[~low[shape.faces].all(axis=1)], process=False)


def prism_area(radius: float, sections: int = 64) -> float:
    """Area of a regular polygon, (n / 2) r^2 sin(2 pi / n)."""
    return sections / 2 * radius**2 * math.sin(2 * math.pi / sections)


def test_triangles_without_area_and_twice_there_are_dropped_and_that_is_said(tmp_path: Path) -> None:
    corners = np.array(block().triangles)
    needle = np.array([[[0, 0, 0], [0, 0, 0], [30.0, 0, 0]]])
    mesh = loaded(tmp_path, corners, needle, corners[3:5])
    assert mesh.volume() == pytest.approx(6e-6)
    assert len(mesh.faces) == 12
    assert mesh.notes == ("1 triangles without area were dropped.", "2 triangles that were there twice were dropped.")


def test_a_triangle_there_twice_in_opposite_directions_is_kept_once(tmp_path: Path) -> None:
    corners = np.array(block().triangles)
    mesh = loaded(tmp_path, corners, corners[3:4, ::-1])
    assert mesh.volume() == pytest.approx(6e-6)
    assert len(mesh.faces) == 12


def test_a_small_hole_is_filled_and_its_length_said(tmp_path: Path) -> None:
    shape = ball(50.0, 6)
    rim = np.linalg.norm(shape.triangles[0] - np.roll(shape.triangles[0], 1, axis=0), axis=1).sum()
    mesh = loaded(tmp_path, only(shape, np.arange(len(shape.faces)) != 0))
    assert mesh.volume() * 1e9 == pytest.approx(shape.volume, rel=1e-6)
    assert mesh.notes == (f"1 small hole(s), the longest {rim:.3g} mm round, were filled.",)


def test_a_surface_full_of_small_holes_is_refused_and_filled_when_asked(tmp_path: Path) -> None:
    shape = ball(50.0, 6)
    torn = only(shape, np.arange(len(shape.faces)) % 20 != 0)
    assert "small holes take 5% of the surface" in refusal(stl(tmp_path, torn))
    mesh = loaded(tmp_path, torn, mend=["fill holes"])
    assert mesh.volume() * 1e9 == pytest.approx(shape.volume, rel=1e-3)


def test_a_side_split_on_one_face_only_is_closed(tmp_path: Path) -> None:
    # One of the two faces along the box's longest lower side is cut in two there, the other is not.
    corners = np.array(block().triangles)
    a, b, c = corners[0]
    middle = (a + b) / 2
    mesh = loaded(tmp_path, corners[1:], np.array([[a, middle, c], [middle, b, c]]))
    assert mesh.volume() == pytest.approx(6e-6)
    assert "hairline gap" in mesh.notes[0]


def test_an_open_base_is_closed_flat_unasked(tmp_path: Path) -> None:
    whole = cup(20.0, 50.0)
    mesh = loaded(tmp_path, bottomless(whole))
    assert mesh.volume() * 1e9 == pytest.approx(prism_area(20.0) * 50.0, rel=1e-6)
    assert mesh.notes == ("The open base was closed flat in the lowest plane.",)
    assert mesh.area_vectors()[mesh.base_faces(), 2].sum() * 1e6 == pytest.approx(-prism_area(20.0), rel=1e-6)


def test_an_open_base_of_a_surface_inside_out_is_closed_all_the_same(tmp_path: Path) -> None:
    mesh = loaded(tmp_path, np.array(bottomless(cup(20.0, 50.0)).triangles)[:, ::-1])
    assert mesh.volume() * 1e9 == pytest.approx(prism_area(20.0) * 50.0, rel=1e-6)


def test_a_base_that_is_nearly_flat_is_made_flat_and_the_way_its_rim_went_is_said(tmp_path: Path) -> None:
    shape = bottomless(cup(20.0, 50.0))
    low = shape.vertices[:, 2] < 1e-9
    shape.vertices[low, 2] += np.linspace(0.0, 0.08, int(low.sum()))
    mesh = loaded(tmp_path, shape)
    assert mesh.notes[0].startswith("The open base was closed flat in the lowest plane, its rim moved by up to 0.07")
    height = float(np.ptp(mesh.vertices[:, 2])) * 1e3
    assert mesh.volume() * 1e9 == pytest.approx(prism_area(20.0) * height, rel=1e-6)


def ragged(depth: float) -> trimesh.Trimesh:
    """An upright prism 50 high, open below along a rim that goes up and down by `depth`."""
    shape = bottomless(cup(20.0, 50.0))
    low = shape.vertices[:, 2] < 1e-9
    shape.vertices[low, 2] += depth * (np.arange(int(low.sum())) % 5) / 4
    return shape


def test_a_ragged_base_is_refused_with_the_choices_that_are_left(tmp_path: Path) -> None:
    words = refusal(stl(tmp_path, ragged(4.0)))
    assert "open along 64 edges: one hole" in words
    assert "from 0 mm to 4 mm above the lowest point" in words
    assert 'mend = "cap base"' in words
    assert 'mend = "fill holes"' in words


def test_a_ragged_base_is_cut_off_level_when_asked(tmp_path: Path) -> None:
    mesh = loaded(tmp_path, ragged(4.0), mend=["cap base"])
    height = float(np.ptp(mesh.vertices[:, 2])) * 1e3
    assert 45.5 < height < 46.0
    assert mesh.volume() * 1e9 == pytest.approx(prism_area(20.0) * height, rel=1e-6)
    assert mesh.notes[0].startswith("The open base was cut off level 4")
    assert mesh.area_vectors()[mesh.base_faces(), 2].sum() * 1e6 == pytest.approx(-prism_area(20.0), rel=1e-6)


def test_a_cut_that_would_take_off_a_quarter_is_refused(tmp_path: Path) -> None:
    words = refusal(stl(tmp_path, ragged(15.0)), mend=["cap base"])
    assert "its base cannot be capped: the opening reaches 15 mm up" in words


def test_two_open_legs_are_capped_each_by_itself_when_asked(tmp_path: Path) -> None:
    legs = trimesh.util.concatenate([bottomless(cup(5.0, 30.0)), bottomless(cup(4.0, 30.0))])
    legs.vertices[len(legs.vertices) // 2 :, 0] += 20.0
    assert "in 2" not in refusal(stl(tmp_path, legs))
    mesh = loaded(tmp_path, legs, mend=["cap base"])
    assert mesh.volume() * 1e9 == pytest.approx((prism_area(5.0) + prism_area(4.0)) * 30.0, rel=1e-6)


def test_an_open_back_is_refused_till_somebody_says_to_fill_it(tmp_path: Path) -> None:
    # Half a ball that looks sideways, as a lion's head on a wall would be scanned.
    closed = half_ball(50.0)
    half = bottomless(closed)
    for shape in (closed, half):
        shape.vertices = shape.vertices[:, [2, 0, 1]]
    words = refusal(stl(tmp_path, half))
    assert "from 0 mm to 100 mm above the lowest point" in words
    assert "cannot be capped: the opening reaches 100 mm up" in refusal(stl(tmp_path, half), mend=["cap base"])
    mesh = loaded(tmp_path, half, mend=["fill holes"])
    assert mesh.volume() * 1e9 == pytest.approx(closed.volume, rel=1e-5)
    assert mesh.notes == ("1 larger hole(s) were closed from rim to rim.",)


def test_a_wall_inside_where_three_faces_meet_is_refused(tmp_path: Path) -> None:
    tower = np.concatenate([box(10, 10, 10).triangles, only(box(10, 10, 10, (0, 0, 10)), np.arange(12) >= 0)])
    lid = np.isclose(tower[:, :, 2], 10.0).all(axis=1)
    once = np.flatnonzero(lid)[:2]
    kept = np.ones(len(tower), dtype=bool)
    kept[once] = False
    assert "three faces or more meet" in refusal(stl(tmp_path, tower[kept]))


def test_boxes_that_overlap_become_one_of_the_union_s_volume(tmp_path: Path) -> None:
    # 10^3 + 10^3 less the 5 x 5 x 5 they share.
    mesh = loaded(tmp_path, box(10, 10, 10), box(10, 10, 10, (5, 5, 5)))
    assert mesh.volume() * 1e9 == pytest.approx(1875.0)
    assert mesh.notes == ("2 bodies that overlap or touch were united into 1.",)


def test_boxes_that_share_a_face_become_one_without_a_wall_between(tmp_path: Path) -> None:
    mesh = loaded(tmp_path, box(10, 10, 10), box(10, 10, 10, (10, 0, 0)))
    assert mesh.volume() * 1e9 == pytest.approx(2000.0)
    assert np.linalg.norm(mesh.area_vectors(), axis=1).sum() * 1e6 == pytest.approx(1000.0)


def test_a_body_within_another_is_swallowed(tmp_path: Path) -> None:
    mesh = loaded(tmp_path, box(10, 10, 10), box(2, 2, 2, (4, 4, 4)))
    assert mesh.volume() * 1e9 == pytest.approx(1000.0)


def test_bodies_that_do_not_meet_stay_as_they_are(tmp_path: Path) -> None:
    # Their boxes overlap and they do not: a ring round a peg.
    ring, peg = trimesh.creation.annulus(10.0, 15.0, 10.0), cup(4.0, 10.0)
    mesh = loaded(tmp_path, ring, peg)
    assert len(mesh.faces) == len(ring.faces) + len(peg.faces)
    assert mesh.volume() * 1e9 == pytest.approx(ring.volume + peg.volume, rel=1e-6)
    assert "2 separate bodies" in mesh.notes[0]
    assert 'bodies = "largest", or a number from 1 (the largest) to 2' in mesh.notes[0]


@pytest.mark.parametrize(("bodies", "volume"), [("largest", 1000.0), ("1", 1000.0), ("2", 125.0), ("3", 8.0)])
def test_one_of_several_bodies_is_taken_by_its_volume(bodies: str, volume: float, tmp_path: Path) -> None:
    path = stl(tmp_path, box(2, 2, 2, (40, 0, 0)), box(10, 10, 10), box(5, 5, 5, (20, 0, 0)))
    # 8 mm long, so that even the smallest is no mistake of the unit.
    mesh = load_mesh(path, "cm", bodies=bodies)
    assert mesh.volume() * 1e6 == pytest.approx(volume)
    assert mesh.notes[0].startswith("Of 3 separate bodies, number")


def test_a_body_that_is_not_there_or_no_body_s_name_is_refused(tmp_path: Path) -> None:
    path = stl(tmp_path, block())
    assert "has only one body, so there is no body 2" in refusal(path, bodies="2")
    assert "unknown bodies 'biggest'" in refusal(path, bodies="biggest")
    assert "unknown bodies '0'" in refusal(path, bodies="0")
    assert BODIES == ("all", "largest")


def test_an_unknown_mend_is_refused_with_the_known_ones(tmp_path: Path) -> None:
    path = stl(tmp_path, block())
    assert "did you mean 'fill holes'" in refusal(path, mend=["fill hole"])
    assert "mend is a list of words" in refusal(path, mend="cap base")
    assert set(MENDS) == set(MEND_MEANS)


def bowl(outer: float, wall: float) -> trimesh.Trimesh:
    """Half a hollow ball standing on the rim of its wall."""
    large, small = half_ball(outer), half_ball(outer - wall)
    return trimesh.boolean.difference([large, small], engine="manifold")


def test_a_hollow_scan_on_the_rim_of_its_wall_is_doubted_and_filled_when_asked(tmp_path: Path) -> None:
    shape = bowl(50.0, 1.0)
    mesh = loaded(tmp_path, shape)
    assert mesh.volume() * 1e9 == pytest.approx(shape.volume, rel=1e-5)
    assert "It is thin: about 1.0 mm" in mesh.notes[0]
    assert 'mend = "fill hollow"' in mesh.notes[0]
    filled = loaded(tmp_path, shape, mend=["fill hollow"])
    assert filled.volume() * 1e9 == pytest.approx(half_ball(50.0).volume, rel=1e-5)
    assert filled.notes[0].startswith("The inside surface, ")


def test_two_open_shells_one_in_the_other_are_refused_and_filled_when_asked(tmp_path: Path) -> None:
    outer, inner = bottomless(cup(20.0, 50.0)), bottomless(cup(18.0, 48.0))
    shells = [np.array(outer.triangles), np.array(inner.triangles)]
    assert 'mend = "fill hollow"' in refusal(stl(tmp_path, *shells))
    mesh = loaded(tmp_path, *shells, mend=["fill hollow"])
    assert mesh.volume() * 1e9 == pytest.approx(prism_area(20.0) * 50.0, rel=1e-6)


def test_a_peg_in_a_ring_is_no_inside_surface(tmp_path: Path) -> None:
    ring, peg = trimesh.creation.annulus(10.0, 15.0, 10.0), cup(4.0, 10.0)
    mesh = loaded(tmp_path, ring, peg, mend=["fill hollow"])
    assert mesh.volume() * 1e9 == pytest.approx(ring.volume + peg.volume, rel=1e-6)
    assert "changed nothing here" in mesh.notes[0]


def test_a_mend_that_finds_nothing_to_do_says_so(tmp_path: Path) -> None:
    mesh = loaded(tmp_path, block(), mend=["cap base", "fill hollow"])
    assert mesh.volume() == pytest.approx(6e-6)
    assert [note.startswith("mend = ") for note in mesh.notes] == [True, True]


def test_triangles_back_to_back_are_dropped(tmp_path: Path) -> None:
    fin = np.array([[[30, 0, 0], [80, 0, 0], [30, 20, 0]]], dtype=float)
    mesh = loaded(tmp_path, block(), fin, fin[:, ::-1])
    assert np.ptp(mesh.vertices, axis=0).max() == pytest.approx(0.030)
    assert mesh.notes == ("2 triangles that lay back to back were dropped.",)


def test_a_surface_that_crosses_itself_is_noted_and_refused_where_much_of_it_faces_inwards(tmp_path: Path) -> None:
    # Spans of an hourglass that cross: the part below the crossing is a cone upside down, inside out.
    def hourglass(below: float) -> trimesh.Trimesh:
        shape = cup(20.0, 50.0)
        low = shape.vertices[:, 2] < 1e-9
        shape.vertices[low, :2] *= -below
        return shape

    assert "of it faces inwards" in refusal(stl(tmp_path, hourglass(1.0)))
    mesh = loaded(tmp_path, hourglass(0.15))
    assert "The surface crosses itself: about" in mesh.notes[0]


def test_a_sheet_beside_a_body_is_dropped(tmp_path: Path) -> None:
    front = np.array([[[50, 0, 0], [80, 0, 0], [80, 30, 0]], [[50, 0, 0], [80, 30, 0], [50, 30, 0]]], dtype=float)
    back = np.array([[[50, 0, 0], [50, 30, 0], [80, 0, 0]], [[80, 0, 0], [50, 30, 0], [80, 30, 0]]], dtype=float)
    mesh = loaded(tmp_path, block(), front, back)
    assert mesh.volume() == pytest.approx(6e-6)
    assert mesh.notes == ("1 sheet(s) that enclose no volume were dropped.",)


def test_two_boxes_that_touch_along_an_edge_are_two_and_each_faces_outwards(tmp_path: Path) -> None:
    inverted = np.array(box(10, 10, 10, (10, 0, 10)).triangles)[:, ::-1]
    mesh = loaded(tmp_path, box(10, 10, 11, (0, 0, -1)), inverted)
    assert mesh.volume() * 1e9 == pytest.approx(2100.0)


def test_the_refused_size_names_the_units_in_which_it_would_be_likely(tmp_path: Path) -> None:
    path = written(tmp_path, "part.stl", triangles_stl(np.array(block().triangles) * 7.0))
    assert "in mm it would be 210 mm, in cm it would be 2.1 m: is one unit" not in refusal(path, "ft")
    words = refusal(path, "ft")
    assert "210 ft" in words
    assert "in mm it would be 210 mm, in cm it would be 2.1 m" in words
    assert "in m it" not in words


def test_a_3mf_that_says_another_unit_is_read_as_told_with_a_note(tmp_path: Path) -> None:
    mesh = load_mesh(written(tmp_path, "block.3mf", exported(block(), "3mf")), "cm")
    assert mesh.volume() == pytest.approx(6e-3)
    assert mesh.notes == ("The file itself says that its unit is mm; it was read in cm.",)


def test_a_3mf_whose_model_lies_elsewhere_in_the_zip_is_read(tmp_path: Path) -> None:
    content = exported(block(), "3mf").replace(b"3D/3dmodel.model", b"3D/a_block.model")
    assert load_mesh(written(tmp_path, "block.3mf", content), "mm").volume() == pytest.approx(6e-6)


def test_a_hollow_polygon_is_cut_along_its_outline(tmp_path: Path) -> None:
    # An L-shaped prism, its ends one polygon of six corners, one of them hollow: area 3 x 1 + 1 x 1.
    outline = [(0, 0), (30, 0), (30, 10), (10, 10), (10, 20), (0, 20)]
    points = [(x, y, z) for z in (0, 10) for x, y in outline]
    lines = [f"v {x} {y} {z}" for x, y, z in points]
    lines += ["f 6 5 4 3 2 1", "f 7 8 9 10 11 12"]
    lines += [f"f {k + 1} {(k + 1) % 6 + 1} {(k + 1) % 6 + 7} {k + 7}" for k in range(6)]
    mesh = load_mesh(written(tmp_path, "l.obj", "\n".join(lines).encode()), "mm")
    assert mesh.volume() * 1e9 == pytest.approx(4000.0)
    assert -mesh.area_vectors()[mesh.base_faces(), 2].sum() * 1e6 == pytest.approx(400.0)
    assert np.linalg.norm(mesh.area_vectors(), axis=1).sum() * 1e6 == pytest.approx(2 * 400.0 + 100.0 * 10.0)


def test_a_mend_that_would_be_refused_is_not_offered(tmp_path: Path) -> None:
    shape = block()
    shape.update_faces(shape.face_normals[:, 2] < 0.9)
    said = refusal(stl(tmp_path, shape))
    assert '"fill holes"' in said
    assert "cap base" not in said and "fill hollow" not in said
