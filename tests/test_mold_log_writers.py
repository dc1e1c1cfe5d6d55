"""Many writers of one mold log, some killed in the middle: no row is lost, none torn, nobody is kept out."""

from __future__ import annotations

import errno
import os
import shutil
import subprocess
import sys
import threading
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest

from moldkit.errors import InputError
from moldkit.mold_log import add_record, change_record, log_words, read_log
from moldkit.mold_log.lock import locked
from tests.log_stress.dying import MOMENTS
from tests.log_stress.stress import BEGINNING, TABLES, stress

ROOT = Path(__file__).resolve().parents[1]
DATA = ROOT / "data"
MOLD = {"rubber": "latex", "casting": "plaster"}
POSIX = pytest.mark.skipif(sys.platform == "win32", reason="kills itself by a signal")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Return a folder with the tables and a log of one mold."""
    for table in TABLES:
        shutil.copy(DATA / table, tmp_path)
    (tmp_path / "mold_log.csv").write_bytes(BEGINNING.encode())
    return tmp_path


def left_in(folder: Path) -> set[str]:
    """Return what lies in a folder besides the tables."""
    return set(os.listdir(folder)) - set(TABLES)


@POSIX
@pytest.mark.parametrize(("step", "when"), MOMENTS)
def test_a_writer_killed_at_any_step_leaves_the_log_whole_and_keeps_nobody_out(
    folder: Path, step: str, when: str
) -> None:
    words = [sys.executable, "-m", "tests.log_stress.dying", str(folder), step, when]
    ended = subprocess.run(words, cwd=ROOT, capture_output=True, text=True, check=False)
    assert (ended.returncode, ended.stderr) == (-9, "")
    placed = MOMENTS.index((step, when)) >= MOMENTS.index(("put in place", "after"))
    assert [record.mold for record in read_log(folder)] == ["24-001", *["dying"] * placed]
    assert (folder / "mold_log.csv").read_bytes().startswith(BEGINNING.encode())
    # With no patience at all: what the killed one held is free at once.
    add_record(folder, {**MOLD, "mold": "next"}, patience_s=0.0)
    assert [record.mold for record in read_log(folder)] == ["24-001", *["dying"] * placed, "next"]
    assert left_in(folder) == {"mold_log.csv"}


@POSIX
def test_eight_writers_at_once_and_killed_again_and_again_lose_nothing(tmp_path: Path) -> None:
    tally = stress(tmp_path, writers=8, writes=48, seed=3, kill_within=8)
    assert tally.faults == []
    assert tally.written >= 48 and tally.kills >= 2 and tally.reads > 0


def test_eight_writers_at_once_lose_nothing(tmp_path: Path) -> None:
    tally = stress(tmp_path, writers=8, writes=32, seed=4, kill_within=None)
    assert (tally.faults, tally.kills) == ([], 0)
    assert tally.written == 32


def test_threads_of_one_process_lose_nothing_either(folder: Path) -> None:
    words = log_words(folder)

    def write(name: str) -> None:
        for number in range(5):
            add_record(folder, {**MOLD, "mold": f"{name}-{number}"}, words)
            change_record(folder, "24-001", {}, words, more=1)

    with ThreadPoolExecutor(6) as pool:
        list(pool.map(write, "abcdef"))
    records = {record.mold: record for record in read_log(folder)}
    assert set(records) == {"24-001"} | {f"{name}-{number}" for name in "abcdef" for number in range(5)}
    assert records["24-001"].castings == 88 + 30


def test_of_two_who_add_the_same_mold_one_is_refused(folder: Path) -> None:
    def add(note: str) -> str:
        try:
            return add_record(folder, {**MOLD, "mold": "new", "note": note}).note
        except InputError as fault:
            return str(fault).partition(";")[0]

    with ThreadPoolExecutor(2) as pool:
        said = sorted(pool.map(add, ("a", "b")))
    assert said[1] == "mold 'new': stands in the log already (mold_log.csv, row 6)"
    assert [record.note for record in read_log(folder) if record.mold == "new"] == said[:1]


def test_a_writer_waits_for_another_and_says_so_when_that_takes_too_long(folder: Path) -> None:
    path = folder / "mold_log.csv"
    before = path.read_bytes()
    with locked(path):
        with pytest.raises(InputError) as refused:
            add_record(folder, {**MOLD, "mold": "new"}, patience_s=0.0)
        assert len(read_log(folder)) == 1  # reading waits for nobody
    assert str(refused.value) == (
        "mold_log.csv: another moldkit has been writing to it for 0 s; nothing was changed. "
        "Look for one that hangs, then try again."
    )
    assert path.read_bytes() == before
    add_record(folder, {**MOLD, "mold": "new"}, patience_s=0.0)


def test_a_writer_that_waits_gets_its_turn(folder: Path) -> None:
    path, trying = folder / "mold_log.csv", threading.Event()

    def add() -> str:
        trying.set()
        return add_record(folder, {**MOLD, "mold": "new"}).where

    with ThreadPoolExecutor(1) as pool:
        with locked(path):
            turn = pool.submit(add)
            trying.wait()
            assert not turn.done()
        assert turn.result() == "mold_log.csv, row 6"


def test_a_lock_that_was_left_by_another_user_or_a_crash_is_taken_over(folder: Path) -> None:
    neighbour = folder / ".mold_log.csv.lock"
    neighbour.touch(mode=0o444)
    add_record(folder, {**MOLD, "mold": "new"}, patience_s=0.0)
    assert left_in(folder) <= {"mold_log.csv", neighbour.name}


def test_a_folder_that_cannot_be_written_is_named(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # Root may write anywhere, so that the refusal is the system's word and not its deed.
    real = os.open

    def refused(path: Any, flags: int, *more: Any, **named: Any) -> int:
        if flags & os.O_CREAT:
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(path))
        return real(path, flags, *more, **named)

    before = (folder / "mold_log.csv").read_bytes()
    monkeypatch.setattr(os, "open", refused)
    with pytest.raises(InputError, match=r"mold_log.csv': cannot be written \(Permission denied\); nothing was"):
        add_record(folder, {**MOLD, "mold": "new"})
    monkeypatch.undo()
    assert (folder / "mold_log.csv").read_bytes() == before


def test_a_place_that_takes_no_lock_is_named(folder: Path) -> None:
    (folder / ".mold_log.csv.lock").mkdir()
    with pytest.raises(InputError, match=r"mold_log.csv': cannot be written \(.*\); nothing was changed"):
        add_record(folder, {**MOLD, "mold": "new"})
