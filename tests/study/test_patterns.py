"""Patterns read once: from the session, from disk, anew when the file has changed; what is no mesh file is refused."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
import trimesh

from moldkit.errors import InputError
from moldkit.pattern import store
from moldkit.study.patterns import mesh_file, read_file


@pytest.fixture(autouse=True)
def own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv(store.PLACE, str(tmp_path / "kept"))
    return tmp_path / "kept"


def cube(path: Path, side: float) -> Path:
    trimesh.creation.box((side, side, side)).export(path)
    return path


def test_a_second_reading_comes_from_disk_and_is_the_same(tmp_path: Path, own_folder: Path) -> None:
    path = cube(tmp_path / "cube.stl", 20.0)
    first = read_file(mesh_file(path, "mm"))
    assert len(list(own_folder.glob("*.npz"))) == 1
    copy = tmp_path / "copy.stl"
    copy.write_bytes(path.read_bytes())
    second = read_file(mesh_file(copy, "mm"))
    assert len(list(own_folder.glob("*.npz"))) == 1
    assert (second.name, second.volume, second.extents) == ("copy", first.volume, first.extents)
    assert second.survey is not None and first.survey is not None
    assert second.survey.pull.axis == first.survey.pull.axis
    assert second.curve.volume(0.003) == first.curve.volume(0.003)


def test_a_file_that_changed_at_the_same_length_and_time_is_read_anew(tmp_path: Path) -> None:
    path = cube(tmp_path / "cube.stl", 20.0)
    before = path.stat()
    assert read_file(mesh_file(path, "mm")).volume == pytest.approx(8e-6)
    cube(path, 30.0)
    os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns))
    assert path.stat().st_size == before.st_size
    assert read_file(mesh_file(path, "mm")).volume == pytest.approx(27e-6)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="there are no named pipes here")
def test_a_pipe_is_refused_and_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.stl")
    with pytest.raises(InputError, match=r"pipe\.stl: is no ordinary file"):
        read_file(mesh_file(tmp_path / "pipe.stl", "mm"))


def test_a_file_that_is_too_large_is_refused_unread(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "huge.stl"
    with path.open("wb") as file:
        file.truncate(3_000_000_000)
    monkeypatch.setattr(store, "content_key", lambda *_: pytest.fail("it was read"))
    with pytest.raises(InputError, match="3000 MB and 200 MB is the most"):
        read_file(mesh_file(path, "mm"))


def test_a_box_that_stands_askew_is_said_to_have_no_base_and_is_poured_through_a_spout(tmp_path: Path) -> None:
    shape = trimesh.creation.box((60.0, 40.0, 30.0))
    shape.apply_transform(trimesh.transformations.rotation_matrix(0.035, (1.0, 0.3, 0.0)))
    shape.export(tmp_path / "askew.stl")
    askew = read_file(mesh_file(tmp_path / "askew.stl", "mm"))
    assert any("no flat base" in note for note in askew.notes)
    assert askew.survey is not None and not askew.survey.air.casting.open_top
    level = read_file(mesh_file(cube(tmp_path / "cube.stl", 20.0), "mm"))
    assert level.notes == () and level.survey is not None and level.survey.air.casting.open_top
