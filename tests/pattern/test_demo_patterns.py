"""The demo patterns: each file is the clean single body that its table says, read by a general-purpose library."""

from __future__ import annotations

import csv
import importlib
import sys
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh
from numpy.typing import NDArray

from moldkit.pattern.mesh import Mesh, load_mesh

DATA = Path(__file__).parents[2] / "data"
PATTERNS = DATA / "patterns"


def table() -> list[dict[str, str]]:
    """The rows of the table in README.md."""
    lines = [line for line in (PATTERNS / "README.md").read_text().splitlines() if line.startswith("|")]
    cells = [[cell.strip().strip("`") for cell in line.strip("|").split("|")] for line in lines]
    return [dict(zip(cells[0], row, strict=True)) for row in cells[2:]]


ROWS = {row["file"]: row for row in table()}
FILES = sorted(ROWS)


@cache
def raw(file: str) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Vertices and faces as the library reads them, corners at the very same place made one."""
    read: Any = trimesh.load_mesh(PATTERNS / file, process=False)
    corners = np.asarray(read.vertices, dtype=np.float64)
    vertices, index = np.unique(corners, axis=0, return_inverse=True)
    return vertices, index.reshape(-1)[np.asarray(read.faces)].astype(np.int64)


@cache
def loaded(file: str) -> Mesh:
    return load_mesh(PATTERNS / file, "mm")


def test_the_table_names_the_mesh_files_there_are() -> None:
    there = {path.name for path in PATTERNS.iterdir() if path.suffix in {".stl", ".ply", ".obj"}}
    assert set(ROWS) == there
    assert len(there) >= 6


@pytest.mark.parametrize("file", FILES)
def test_each_edge_is_walked_once_in_each_direction(file: str) -> None:
    vertices, faces = raw(file)
    one_way = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    there = one_way[:, 0] * len(vertices) + one_way[:, 1]
    assert len(np.unique(there)) == len(there)
    np.testing.assert_array_equal(np.sort(there), np.sort(one_way[:, 1] * len(vertices) + one_way[:, 0]))


@pytest.mark.parametrize("file", FILES)
def test_each_is_a_single_body_of_positive_volume_without_a_flattened_triangle(file: str) -> None:
    vertices, faces = raw(file)
    assert np.isfinite(vertices).all()
    mesh: Any = trimesh.Trimesh(vertices, faces, process=False)
    assert mesh.body_count == 1
    assert mesh.volume > 0.0
    assert mesh.area_faces.min() > 1e-4  # mm2


@pytest.mark.parametrize("file", FILES)
def test_each_is_as_the_table_says(file: str) -> None:
    vertices, faces = raw(file)
    row = ROWS[file]
    size = [float(side) for side in row["size, mm"].split(" x ")]
    np.testing.assert_allclose(np.ptp(vertices, axis=0), size, atol=0.051)
    assert len(faces) == int(row["triangles"])
    assert 20_000 <= len(faces) <= 80_000
    mesh: Any = trimesh.Trimesh(vertices, faces, process=False)
    assert mesh.volume / 1000.0 == pytest.approx(float(row["volume, cm3"]), abs=0.06)


@pytest.mark.parametrize("file", FILES)
def test_each_stands_flat_on_zero(file: str) -> None:
    vertices, faces = raw(file)
    assert vertices[:, 2].min() == 0.0
    down = vertices[faces][:, :, 2].max(axis=1) == 0.0
    mesh: Any = trimesh.Trimesh(vertices, faces, process=False)
    assert mesh.area_faces[down].sum() > 0.15 * np.prod(np.ptp(vertices[:, :2], axis=0))
    np.testing.assert_allclose(mesh.face_normals[down], np.tile([0.0, 0.0, -1.0], (down.sum(), 1)), atol=1e-9)


@pytest.mark.parametrize("file", FILES)
def test_each_loads_without_a_doubt_and_keeps_its_volume(file: str) -> None:
    mesh = loaded(file)
    assert mesh.notes == ()
    assert mesh.volume() * 1e6 == pytest.approx(float(ROWS[file]["volume, cm3"]), abs=0.06)


@pytest.mark.parametrize("file", FILES)
def test_a_pattern_without_undercut_draws_straight_up_and_the_others_do_not(file: str) -> None:
    mesh = loaded(file)
    facing = mesh.area_vectors()[~mesh.base_faces()]
    looks_down = facing[:, 2] < -1e-3 * np.linalg.norm(facing, axis=1)
    assert ROWS[file]["undercut"] in {"none", "moderate", "severe"}
    assert looks_down.any() == (ROWS[file]["undercut"] != "none")


def test_each_surface_is_one_that_the_data_know() -> None:
    with (DATA / "surfaces.csv").open(newline="") as rows:
        known = {row["name"] for row in csv.DictReader(rows)}
    assert {row["sculpted in"] for row in ROWS.values()} <= known


@pytest.mark.parametrize("file", FILES)
def test_each_file_is_under_three_megabytes(file: str) -> None:
    assert (PATTERNS / file).stat().st_size < 3_000_000


@pytest.mark.parametrize("piece", ["finial", "knob", "panel", "corbel"])
def test_the_script_still_makes_the_file(piece: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.syspath_prepend(str(PATTERNS))
    vertices, faces = importlib.import_module(f"sculpting.{piece}").sculpt()
    # Not corner by corner: another machine's last digit may turn the diagonal of a square.
    stored: Any = trimesh.load_mesh(PATTERNS / f"{piece}.stl")
    made: Any = trimesh.Trimesh(vertices, faces, process=False)
    assert len(made.faces) == pytest.approx(len(stored.faces), rel=1e-3)
    np.testing.assert_allclose(made.bounds, stored.bounds, atol=1e-3)
    assert made.volume == pytest.approx(stored.volume, rel=1e-5)
    assert made.area == pytest.approx(stored.area, rel=1e-4)
    for name in [name for name in sys.modules if name.split(".")[0] == "sculpting"]:
        monkeypatch.delitem(sys.modules, name)


def test_the_folder_says_that_all_of_it_is_invented() -> None:
    text = (PATTERNS / "README.md").read_text()
    assert "invented small casting shop" in text
    assert "MIT" in text
