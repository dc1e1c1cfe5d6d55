"""Loading a mesh: every format reads the same, every fault is said in one sentence, every mend is noted."""

from __future__ import annotations

import io
import struct
import subprocess
import sys
import zipfile
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import trimesh

from moldkit.pattern.mesh import load_mesh
from tests.pattern import solids
from tests.pattern.mesh_files import block, exported, loaded, refusal, triangles_stl, written


@pytest.mark.parametrize("kind", ["stl", "stl_ascii", "ply", "obj", "3mf", "glb"])
def test_every_format_gives_the_same_block_in_metres(kind: str, tmp_path: Path) -> None:
    shape = block()
    if kind == "glb":
        # A GLB has y up: what stands up 10 in it must stand up 10 in the mesh.
        shape.vertices = shape.vertices[:, [0, 2, 1]] * [1, 1, -1]
    mesh = load_mesh(written(tmp_path, f"block.{kind[:3]}", exported(shape, kind)), "mm")
    assert (mesh.name, mesh.vertices.shape, mesh.faces.shape, mesh.notes) == ("block", (8, 3), (12, 3), ())
    assert mesh.vertices.min(axis=0) == pytest.approx([0, 0, 0], abs=1e-9)
    assert np.ptp(mesh.vertices, axis=0) == pytest.approx([0.030, 0.020, 0.010])
    assert mesh.volume() == pytest.approx(6e-6)


# 1 in = 25.4 mm exactly, 1 ft = 12 in (NIST Handbook 44, Appendix C).
@pytest.mark.parametrize(("unit", "metres"), [("mm", 0.001), ("cm", 0.01), ("m", 1.0), ("in", 0.0254), ("ft", 0.3048)])
def test_the_unit_somebody_said_is_what_one_unit_in_the_file_is(unit: str, metres: float, tmp_path: Path) -> None:
    shape = block()
    shape.vertices *= 0.3 / metres / 30.0
    mesh = load_mesh(written(tmp_path, "block.stl", exported(shape, "stl")), unit)
    assert np.ptp(mesh.vertices, axis=0).max() == pytest.approx(0.3)


def test_a_scan_keeps_the_volume_and_area_that_a_library_measured() -> None:
    # Read off by trimesh from the same file: 674297.2 and 50129.9; longest side 150.
    mesh = load_mesh(solids.MESHES / "bunny_npm.ply", "mm")
    assert mesh.volume() * 1e9 == pytest.approx(674297.2, abs=0.1)
    assert np.linalg.norm(mesh.area_vectors(), axis=1).sum() * 1e6 == pytest.approx(50129.9, abs=0.1)


def test_an_unknown_unit_is_refused_with_the_known_ones(tmp_path: Path) -> None:
    path = written(tmp_path, "block.stl", exported(block(), "stl"))
    assert "did you mean 'mm'" in refusal(path, "mms")
    assert "cm, ft, in, m, mm" in refusal(path, "furlong")


@pytest.mark.parametrize("name", ["block.step", "block"])
def test_a_file_of_another_kind_is_refused_with_the_kinds_that_are_read(name: str, tmp_path: Path) -> None:
    assert "STL, PLY, OBJ, 3MF, GLB" in refusal(written(tmp_path, name, b"anything"))


def test_a_missing_file_a_folder_and_an_empty_file_are_told_apart(tmp_path: Path) -> None:
    assert "no such file" in refusal(tmp_path / "lost.stl")
    (tmp_path / "folder.stl").mkdir()
    assert "is a folder" in refusal(tmp_path / "folder.stl")
    assert "is empty" in refusal(written(tmp_path, "empty.stl", b""))


def test_a_file_over_200_mb_is_refused_unread(tmp_path: Path) -> None:
    path = tmp_path / "huge.stl"
    with path.open("wb") as file:
        file.truncate(201_000_000)
    assert "201 MB and 200 MB is the most" in refusal(path)


def test_a_cut_off_stl_is_refused_with_the_bytes_that_are_missing(tmp_path: Path) -> None:
    whole = exported(block(), "stl")
    assert len(whole) == 84 + 50 * 12
    words = refusal(written(tmp_path, "cut.stl", whole[:-70]))
    assert "announces 12 triangles, which take 684 bytes, but the file holds 614" in words


def test_rubbish_named_stl_is_refused(tmp_path: Path) -> None:
    assert "cut off or damaged" in refusal(written(tmp_path, "rubbish.stl", bytes(range(256)) * 3))
    assert "too few for an STL" in refusal(written(tmp_path, "rubbish.stl", b"not a mesh"))


def test_an_stl_of_text_that_breaks_off_is_refused(tmp_path: Path) -> None:
    text = exported(block(), "stl_ascii")
    assert "breaks off" in refusal(written(tmp_path, "cut.stl", text[: len(text) // 2]))


def test_what_the_parser_notes_on_the_way_never_reaches_the_screen(tmp_path: Path) -> None:
    # A normal that is no number is no harm, normals are worked out anew; the parser logs a traceback over it.
    text = exported(block(), "stl_ascii").replace(b"normal 0", b"normal x", 1)
    path = written(tmp_path, "odd.stl", text)
    words = f"from moldkit.pattern.mesh import load_mesh; print(len(load_mesh({str(path)!r}, 'mm').faces))"
    run = subprocess.run([sys.executable, "-c", words], capture_output=True, text=True, check=True, cwd=solids.ROOT)
    assert (run.stdout.strip(), run.stderr) == ("12", "")


@pytest.mark.parametrize("number", ["nan", "inf"])
def test_a_coordinate_that_is_no_number_is_refused(number: str, tmp_path: Path) -> None:
    triangles = np.array(block().triangles)
    triangles[3, 1, 2] = float(number)
    assert "1 triangles have coordinates that are no numbers" in refusal(
        written(tmp_path, "bad.stl", triangles_stl(triangles))
    )


def test_more_than_five_million_faces_are_refused_by_the_head_alone(tmp_path: Path) -> None:
    head = b"ply\nformat ascii 1.0\nelement vertex 8\nelement face 6000000\nend_header\n"
    assert "has 6,000,000 faces and 5,000,000 is the most" in refusal(written(tmp_path, "many.ply", head))


def test_a_ply_without_a_head_faces_or_its_end_is_refused(tmp_path: Path) -> None:
    assert "no PLY head" in refusal(written(tmp_path, "a.ply", b"nothing of the kind"))
    points = b"ply\nformat ascii 1.0\nelement vertex 1\nproperty float x\nend_header\n0\n"
    assert "holds points and no faces" in refusal(written(tmp_path, "b.ply", points))
    assert "cannot be read as PLY" in refusal(written(tmp_path, "c.ply", exported(block(), "ply")[:-20]))


def test_a_face_that_names_a_missing_vertex_is_refused(tmp_path: Path) -> None:
    corners = b"0 0 0\n30 0 0\n0 30 0\n0 0 30\n"
    faces = b"3 0 2 1\n3 0 1 3\n3 1 2 3\n3 0 3 9\n"
    names = b"property float x\nproperty float y\nproperty float z\n"
    head = b"ply\nformat ascii 1.0\nelement vertex 4\n" + names + b"element face 4\n"
    listed = b"property list uchar int vertex_indices\nend_header\n"
    words = refusal(written(tmp_path, "bad.ply", head + listed + corners + faces))
    assert "names a vertex that isn't there" in words


def test_an_obj_without_faces_and_one_that_breaks_off_are_refused(tmp_path: Path) -> None:
    assert "no faces" in refusal(written(tmp_path, "a.obj", b"v 0 0 0\nv 1 0 0\n"))
    text = exported(block(), "obj").replace(b"\nf ", b"\nf 99 ", 1)
    assert "cannot be read as OBJ" in refusal(written(tmp_path, "b.obj", text))


def zipped(parts: dict[str, bytes], said: Callable[[zipfile.ZipInfo], None] = lambda part: None) -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
        said(archive.filelist[0])
    return buffer.getvalue()


def test_a_3mf_that_would_unpack_without_end_is_refused_unpacked(tmp_path: Path) -> None:
    bomb = zipped({"3D/3dmodel.model": b" " * 20_000_000})
    assert "to 20 MB, more than" in refusal(written(tmp_path, "bomb.3mf", bomb))

    def declare(part: zipfile.ZipInfo) -> None:
        part.file_size, part.compress_size = 251_000_000, 50_000_000

    assert "to 251 MB, more than" in refusal(
        written(tmp_path, "large.3mf", zipped({"3D/3dmodel.model": b"x"}, declare))
    )


def test_a_3mf_that_is_damaged_empty_or_declares_entities_is_refused(tmp_path: Path) -> None:
    whole = exported(block(), "3mf")
    assert "not a whole 3MF" in refusal(written(tmp_path, "cut.3mf", whole[:-60]))
    middle = whole.index(b"3dmodel.model") + 60
    garbled = whole[:middle] + b"\xff" * 40 + whole[middle + 40 :]
    assert "not a whole 3MF" in refusal(written(tmp_path, "garbled.3mf", garbled))
    assert "without a 3MF model" in refusal(written(tmp_path, "other.3mf", zipped({"notes.txt": b"none"})))
    unfolding = b'<?xml version="1.0"?><!DOCTYPE m [<!ENTITY a "aaaa">]><model>&a;</model>'
    assert "document type" in refusal(written(tmp_path, "x.3mf", zipped({"3D/3dmodel.model": unfolding})))
    assert "cannot be read as 3MF" in refusal(written(tmp_path, "y.3mf", zipped({"3D/3dmodel.model": b"<model"})))


def test_a_glb_that_is_cut_off_of_another_kind_or_without_a_mesh_is_refused(tmp_path: Path) -> None:
    whole = exported(block(), "glb")
    words = refusal(written(tmp_path, "cut.glb", whole[:-40]))
    assert f"announces {len(whole):,} bytes and the file holds {len(whole) - 40:,}" in words
    assert "no head of GLB" in refusal(written(tmp_path, "other.glb", b"glTF" + b"x" * 40))
    bare = struct.pack("<4sIIII", b"glTF", 2, 22, 2, 0x4E4F534A) + b"{}"
    assert "holds no mesh" in refusal(written(tmp_path, "bare.glb", bare))


def test_fewer_than_four_triangles_are_no_body(tmp_path: Path) -> None:
    few = triangles_stl(np.array(block().triangles)[:3])
    assert "has 3 triangles" in refusal(written(tmp_path, "few.stl", few))


def test_an_open_surface_is_refused_with_the_number_of_open_edges(tmp_path: Path) -> None:
    lidless = triangles_stl(np.array(block().triangles)[1:])
    assert "is open along 3 edges" in refusal(written(tmp_path, "open.stl", lidless))


def test_a_vertex_that_no_face_has_widens_nothing(tmp_path: Path) -> None:
    text = exported(block(), "obj").replace(b"\nf ", b"\nv 900 900 900\nf ", 1)
    mesh = load_mesh(written(tmp_path, "block.obj", text), "mm")
    assert np.ptp(mesh.vertices, axis=0) == pytest.approx([0.030, 0.020, 0.010])


def test_triangles_without_area_are_refused(tmp_path: Path) -> None:
    needle = np.zeros((6, 3, 3)) + np.array([[0, 0, 0], [0, 0, 0], [30.0, 0, 0]])
    assert "no triangle in it has an area" in refusal(written(tmp_path, "needle.stl", triangles_stl(needle)))


def test_a_sheet_of_two_sides_encloses_nothing(tmp_path: Path) -> None:
    quad = np.array([[[0, 0, 0], [30, 0, 0], [30, 30, 0]], [[0, 0, 0], [30, 30, 0], [0, 30, 0]]], dtype=float)
    sheet = triangles_stl(np.vstack([quad, quad[:, ::-1]]))
    assert "encloses no volume" in refusal(written(tmp_path, "sheet.stl", sheet))


def test_a_surface_with_one_side_only_is_refused(tmp_path: Path) -> None:
    # The projective plane in six vertices (half an icosahedron): each edge has two faces, and no side is out.
    cap = [[0, 1, 2], [0, 2, 3], [0, 3, 4], [0, 4, 5], [0, 5, 1]]
    band = [[1, 2, 4], [2, 3, 5], [3, 4, 1], [4, 5, 2], [5, 1, 3]]
    faces = np.array([*cap, *band])
    corners = np.random.default_rng(6).uniform(0, 30, (6, 3))
    assert "disagree on which side is out" in refusal(written(tmp_path, "plane.stl", triangles_stl(corners[faces])))


@pytest.mark.parametrize(("scale", "size"), [(1000.0, "3e+04 mm"), (0.1, "3 mm")])
def test_a_size_out_of_range_asks_whether_the_unit_is_right(scale: float, size: str, tmp_path: Path) -> None:
    shape = block()
    shape.vertices *= scale
    words = refusal(written(tmp_path, "block.stl", exported(shape, "stl")))
    assert f"the longest side is {size}" in words
    assert words.endswith("is one unit in the file really 1 mm?")


def test_a_surface_inside_out_is_turned_and_that_is_said(tmp_path: Path) -> None:
    mesh = loaded(tmp_path, np.array(block().triangles)[:, ::-1])
    assert mesh.volume() == pytest.approx(6e-6)
    assert "inside out" in mesh.notes[0]


def test_single_faces_inside_out_are_turned_and_that_is_said(tmp_path: Path) -> None:
    triangles = np.array(block().triangles)
    triangles[4] = triangles[4][::-1]
    mesh = loaded(tmp_path, triangles)
    assert mesh.volume() == pytest.approx(6e-6)
    assert "disagreed along 3 edges" in mesh.notes[0]


def test_a_hairline_gap_is_closed_and_that_is_said(tmp_path: Path) -> None:
    triangles = np.array(block().triangles)
    triangles[0] += 4e-5
    mesh = loaded(tmp_path, triangles)
    assert mesh.volume() == pytest.approx(6e-6, rel=1e-4)
    assert "hairline gap" in mesh.notes[0]


def test_a_closed_hollow_counts_as_solid_since_no_rubber_reaches_it(tmp_path: Path) -> None:
    hollow = np.array(block().triangles)[:, ::-1] * 0.5 + [7.5, 5.0, 2.5]
    mesh = loaded(tmp_path, np.vstack([np.array(block().triangles), hollow]))
    assert len(mesh.faces) == 12
    assert mesh.volume() == pytest.approx(6e-6)
    assert "1 closed hollow(s)" in mesh.notes[0]


def test_one_of_several_bodies_inside_out_is_turned(tmp_path: Path) -> None:
    beside = np.array(block().triangles)[:, ::-1] * 0.5 + [40.0, 0.0, 0.0]
    mesh = loaded(tmp_path, np.vstack([np.array(block().triangles), beside]))
    assert mesh.volume() == pytest.approx(6e-6 * 1.125)
    assert mesh.notes[0] == "1 of the bodies were inside out and have been turned."
    assert "2 separate bodies" in mesh.notes[1]


def test_a_thin_mesh_is_measured_and_doubted(tmp_path: Path) -> None:
    plate = trimesh.creation.box((100.0, 100.0, 1.0))
    mesh = loaded(tmp_path, np.array(plate.triangles))
    # 2 V / A = 2 x 10000 / 20400.
    assert "It is thin: about 1.0 mm from face to face" in mesh.notes[0]


def test_the_base_is_what_lies_on_the_lowest_plane_and_looks_down() -> None:
    assert solids.box(3, 2, 1).base_faces().sum() == 2
    assert solids.moved(solids.box(3, 2, 1), turn=solids.skew_turn()).base_faces().sum() == 0
    assert solids.ball(1.0).base_faces().sum() == 0
