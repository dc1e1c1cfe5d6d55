"""Volumes and areas of the demo patterns and a scan by a second library, reading the file by itself."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
import trimesh

from moldkit.errors import InputError
from moldkit.pattern.mesh import load_mesh
from moldkit.pattern.second_opinion import second_opinion
from tests.pattern import solids

PATTERNS = solids.ROOT / "data" / "patterns"
FILES = [*sorted(PATTERNS.glob("*.stl")), *sorted(PATTERNS.glob("*.ply")), solids.MESHES / "bunny_npm.ply"]


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_ours_and_the_other_librarys_volume_and_area_agree(path: Path) -> None:
    other, mesh = second_opinion(path, "mm"), load_mesh(path, "mm")
    assert other.library.startswith("trimesh ")
    assert (other.triangles, other.watertight) == (len(mesh.faces), True)
    assert mesh.volume() == pytest.approx(other.volume, rel=1e-6)
    assert np.linalg.norm(mesh.area_vectors(), axis=1).sum() == pytest.approx(other.area, rel=1e-6)
    assert np.ptp(mesh.vertices, axis=0).max() == pytest.approx(other.longest, rel=1e-6)


def test_the_unit_is_taken_as_said(tmp_path: Path) -> None:
    path = tmp_path / "ball.stl"
    trimesh.creation.icosphere(4, 2.0).export(path)
    assert second_opinion(path, "in").volume == pytest.approx(4 / 3 * math.pi * (2 * 0.0254) ** 3, rel=0.01)


def test_what_it_cannot_read_is_said_in_a_sentence(tmp_path: Path) -> None:
    path = tmp_path / "bad.glb"
    path.write_bytes(b"no mesh at all")
    with pytest.raises(InputError, match=r"bad\.glb: trimesh cannot read it"):
        second_opinion(path, "mm")
