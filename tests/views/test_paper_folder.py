"""A folder is written whole or not at all, and what others put into it stays."""

from __future__ import annotations

import os
import time
from pathlib import Path

import pytest

from moldkit.errors import InputError
from moldkit.views.paper import folder as writing
from moldkit.views.paper.folder import write_folder

SET = {"build.pdf": b"new build", "all.html": b"new page"}
OURS = {"build.pdf", "all.html", "gone.pdf"}


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


def beside(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.parent.iterdir())


def test_a_set_is_written_into_a_new_folder(tmp_path: Path) -> None:
    target = tmp_path / "out" / "sheets"
    assert write_folder(target, SET, OURS) == [target / "build.pdf", target / "all.html"]
    assert contents(target) == SET
    assert beside(target) == ["sheets"]


def test_a_new_set_takes_the_place_of_an_old_one_and_foreign_files_stay(tmp_path: Path) -> None:
    target = tmp_path / "sheets"
    target.mkdir()
    for name, content in {"build.pdf": b"old", "gone.pdf": b"old", "my notes.txt": b"mine"}.items():
        (target / name).write_bytes(content)
    (target / "photos").mkdir()
    (target / "photos" / "one.jpg").write_bytes(b"photo")
    os.symlink("photos/one.jpg", target / "link")
    write_folder(target, SET, OURS)
    assert contents(target) == {**SET, "my notes.txt": b"mine", "link": b"photo"}
    assert (target / "photos" / "one.jpg").read_bytes() == b"photo"
    assert (target / "link").is_symlink()
    assert beside(target) == ["sheets"]


@pytest.mark.parametrize("step", ["_fill", "_carry_over", "rename"])
def test_a_failure_at_any_step_leaves_the_old_set_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    target = tmp_path / "sheets"
    write_folder(target, {"build.pdf": b"old", "gone.pdf": b"old"}, OURS)
    real = os.rename

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    def second_fails(source: Path, goal: Path) -> None:
        if Path(source).suffix == ".half":
            full()
        real(source, goal)

    if step == "rename":
        monkeypatch.setattr(writing.os, "rename", second_fails)
    else:
        monkeypatch.setattr(writing, step, full)
    with pytest.raises(InputError, match="nothing was changed"):
        write_folder(target, SET, OURS)
    assert contents(target) == {"build.pdf": b"old", "gone.pdf": b"old"}
    assert beside(target) == ["sheets"]


def test_a_process_that_died_between_two_moves_is_mended_by_the_next_one(tmp_path: Path) -> None:
    target = tmp_path / "sheets"
    write_folder(target, {"gone.pdf": b"old", "mine.txt": b"mine"}, {"gone.pdf"})
    os.rename(target, tmp_path / ".sheets.old")
    (tmp_path / ".sheets.abc.half").mkdir()
    long_ago = time.time() - 2 * writing.LEFT_BEHIND
    os.utime(tmp_path / ".sheets.abc.half", (long_ago, long_ago))
    write_folder(target, SET, OURS)
    assert contents(target) == {**SET, "mine.txt": b"mine"}
    assert beside(target) == ["sheets"]


def test_a_file_in_the_way_is_refused_in_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "sheets").write_text("in the way")
    with pytest.raises(InputError, match="is a file, not a folder"):
        write_folder(tmp_path / "sheets", SET, OURS)
    with pytest.raises(InputError, match="cannot be made"):
        write_folder(tmp_path / "sheets" / "further", SET, OURS)
    assert (tmp_path / "sheets").read_text() == "in the way"
