"""Filling the environment on a first start: progress, one start at a time, and what may go wrong."""

from __future__ import annotations

import os
import subprocess
import sys
import types
from pathlib import Path

import pytest

from moldkit.start import install, place, stamp, trouble
from moldkit.start.place import StartError
from moldkit.start.progress import Progress, watched
from moldkit.start.tally import Tally
from moldkit.start.turn import turn

LOCK = (
    "numpy==2.4.6 ; python_full_version < '3.12' \\\n    --hash=sha256:00\n"
    "numpy==2.5.5 ; python_full_version >= '3.12' \\\n"
    "jupyter-core==5.9.1 \\\n"
)


def test_missing_ensurepip_names_the_package_to_install() -> None:
    with pytest.raises(StartError, match=rf"apt-get install python{stamp.this_python()}-venv"):
        trouble.check_ensurepip(found=False, debian=True)
    with pytest.raises(StartError, match="package with venv, then start again"):
        trouble.check_ensurepip(found=False, debian=False)
    trouble.check_ensurepip(found=True, debian=True)


def test_a_full_disk_is_told_before_anything_is_fetched(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(trouble.shutil, "disk_usage", lambda path: types.SimpleNamespace(free=3e8))
    with pytest.raises(StartError, match=r"^0\.3 GB are free .* needs about 2 GB"):
        trouble.check_room(tmp_path)


# What pip was seen to say when it failed, shortened.
PIP_SAID = {
    "WARNING: Retrying after connection broken by 'NewConnectionError(...)'": "check the network",
    "OSError: [Errno 28] No space left on device": "The disk is full",
    "ERROR: THESE PACKAGES DO NOT MATCH THE HASHES FROM THE REQUIREMENTS FILE.": "not the one in the lock",
    "ERROR: No matching distribution found for libigl==2.6.3": "libigl==2.6.3 has no ready-made build",
    "something never heard before": "The lines above say why",
}


@pytest.mark.parametrize("said", PIP_SAID)
def test_what_pip_says_is_turned_into_a_mend(said: str) -> None:
    error = str(trouble.failure("it did not work", ["Collecting numpy", said]))
    assert said in error
    assert PIP_SAID[said] in error.splitlines()[-1]


def test_progress_counts_what_is_fetched_and_then_what_is_installed(tmp_path: Path) -> None:
    begun: list[str] = []
    tally = Tally(LOCK, tmp_path, begins=lambda: begun.append("begun"))
    assert tally.wanted == 3
    tally.hear("Ignoring numpy: markers 'x' don't match your environment")
    tally.hear("Collecting numpy==2.4.6")
    assert tally.words() == "fetching: 1 of 2 numpy"
    assert begun == []
    tally.hear("Installing collected packages: numpy, jupyter-core")
    assert begun == ["begun"]
    site = tmp_path / "lib" / "python3.11" / "site-packages"
    for name in ("jupyter_core-5.9.1.dist-info", "numpy-2.3.0.dist-info", "pip-23.0.dist-info"):
        (site / name).mkdir(parents=True)
    assert tally.words() == "installing: 1 of 2"


def test_progress_is_never_silent_for_long() -> None:
    seconds = iter([0.0, 1.0, 2.0, 5.5, 5.5, 6.0])
    said: list[str] = []
    progress = Progress(said.append, lambda: next(seconds))
    progress.step("begun")
    progress.still("too early")
    progress.still("still at it")
    progress.still("too early again")
    assert said == ["[   1 s] begun", "[   6 s] still at it"]


def test_a_command_that_fails_is_told_after_its_lines(tmp_path: Path) -> None:
    heard = []
    with pytest.raises(subprocess.CalledProcessError):
        for line in watched(
            [sys.executable, "-c", "print('last words'); exit(3)"], tmp_path, dict(os.environ)
        ):
            heard.append(line)
    assert [line for line in heard if line] == ["last words"]


def test_settings_that_lead_pip_astray_are_left_behind() -> None:
    environ = install.clean_environ({"PYTHONPATH": "/x", "PIP_USER": "1", "PIP_TARGET": "/y", "PATH": "/bin"})
    assert environ == {"PATH": "/bin", "PIP_USER": "0", "PIP_NO_INPUT": "1", "PYTHONUNBUFFERED": "1"}


@pytest.mark.skipif(os.name == "nt", reason="a second lock in one Windows process is granted")
def test_one_start_at_a_time_works_on_the_environment(tmp_path: Path) -> None:
    said: list[str] = []
    take = """
import sys
from pathlib import Path
from moldkit.start.progress import Progress
from moldkit.start.turn import turn
with turn(Path(sys.argv[1]), Progress(lambda words: print(words, flush=True))):
    pass
"""
    root = Path(place.__file__).resolve().parents[2]
    with turn(tmp_path / "lock", Progress(said.append)):
        other = subprocess.Popen(
            [sys.executable, "-c", take, str(tmp_path / "lock")], cwd=root, stdout=subprocess.PIPE, text=True
        )
        assert other.stdout is not None
        assert "another start is setting up .venv" in other.stdout.readline()
        assert other.poll() is None
    assert other.wait(timeout=30) == 0
    assert said == []
