"""Five hundred damaged files; `python -m tests.fuzz` does ten thousand."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from moldkit.errors import InputError
from moldkit.pattern.mesh import Mesh, load_mesh
from tests.fuzz import judge
from tests.fuzz.run import run
from tests.fuzz.sound import sound_files
from tests.pattern import solids

COUNT, SEED = 500, 20_261_125


def test_the_files_that_are_damaged_are_sound_and_enclose_what_they_say(tmp_path: Path) -> None:
    for number, sound in enumerate(sound_files()):
        path = tmp_path / f"{number}.{sound.kind}"
        path.write_bytes(sound.content)
        mesh = load_mesh(path, "mm")
        assert mesh.volume() * 1e9 == pytest.approx(sound.volume, rel=1e-5), path.name
        assert all("separate bodies" in note for note in mesh.notes), mesh.notes


@pytest.mark.slow
def test_every_damaged_file_is_refused_in_one_sentence_or_read_right(tmp_path: Path) -> None:
    report = run(COUNT, SEED, tmp_path / "kept")
    assert report.faults == []
    outcomes = {
        name: sum(count for key, count in report.outcomes.items() if name in key) for name in ("read", "refused")
    }
    # Neither may be so rare that the run says nothing.
    assert min(outcomes.values()) > COUNT / 10, outcomes


def _turned(mesh: Mesh) -> Mesh:
    return replace(mesh, faces=mesh.faces[:, ::-1])


def _beside(mesh: Mesh, other: Mesh) -> Mesh:
    shifted = other.vertices + np.array([0.1, 0.0, 0.0])
    faces = np.vstack([mesh.faces, other.faces + len(mesh.vertices)])
    return replace(mesh, vertices=np.vstack([mesh.vertices, shifted]), faces=faces)


BOX, SMALL = solids.box(0.03, 0.02, 0.01), solids.box(0.025, 0.015, 0.01)
WRONG = {
    "a volume of": _turned(BOX),
    "walked as often": replace(BOX, faces=BOX.faces[1:]),
    "no numbers": replace(BOX, vertices=np.where(BOX.vertices > 0.014, np.nan, BOX.vertices)),
    "faces inwards": _beside(BOX, _turned(SMALL)),
    "a size": replace(BOX, vertices=BOX.vertices * 1000.0),
    "instead of": solids.moved(BOX, 1.01),
}


@pytest.mark.parametrize("fault", WRONG)
def test_the_judge_sees_what_is_wrong_with_a_mesh(fault: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(judge, "load_mesh", lambda path, unit, mend: WRONG[fault])
    assert fault in judge.fault_of(Path("box.stl"), (), 6000.0)[0]
    monkeypatch.setattr(judge, "load_mesh", lambda path, unit, mend: BOX)
    assert judge.fault_of(Path("box.stl"), (), 6000.0) == ("", "read")


@pytest.mark.parametrize(
    "words", ["box.stl: one.\nTwo.", "nameless.", "box.stl: no end", "box.stl: took more than 9 s."]
)
def test_the_judge_sees_what_is_wrong_with_a_refusal(words: str, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(path: Path, unit: str, mend: tuple[str, ...]) -> Mesh:
        raise InputError(words)

    monkeypatch.setattr(judge, "load_mesh", refuse)
    assert judge.fault_of(Path("box.stl"), (), None)[0] != ""
