"""The start from a fresh clone: what is decided, told on pretended machines and without fetching anything."""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path

import pytest

from moldkit.__main__ import too_old
from moldkit.start import first, install, place, stamp

LOCK = "numpy==2.4.6 \\\n    --hash=sha256:00\n"


@pytest.fixture
def clone(tmp_path: Path) -> Path:
    (tmp_path / "pyproject.toml").write_text(
        '[project]\ndependencies = ["numpy>=2", "odd>=1 ; sys_platform == \'x\'"]\n'
        '[project.optional-dependencies]\nlab = ["jupyterlab>=4"]\ntest = ["pytest"]\n'
    )
    (tmp_path / place.USER_LOCK).write_text(LOCK)
    (tmp_path / place.TEST_LOCK).write_text(LOCK + "pytest==9.2.0 \\\n")
    (tmp_path / "moldkit").mkdir()
    return tmp_path


@pytest.fixture
def venv(clone: Path) -> Path:
    """Return a finished environment of the clone's, as far as files tell."""
    environment = clone / ".venv"
    python = place.python_of(environment)
    python.parent.mkdir(parents=True)
    python.write_text("")
    (environment / "pyvenv.cfg").write_text("")
    stamp.write_ready(clone, environment, place.USER_LOCK, stamp.this_python())
    return environment


@pytest.mark.parametrize(("major", "minor"), [(2, 7), (3, 8), (3, 10)])
def test_a_python_that_is_too_old_is_told_so_in_one_sentence(major: int, minor: int) -> None:
    sentence = too_old(major, minor, windows=False)
    assert f"this is Python {major}.{minor}:" in sentence
    assert "python3.13 -m moldkit lab" in sentence
    assert "py -3.13 -m moldkit lab" in too_old(major, minor, windows=True)


@pytest.mark.parametrize(("major", "minor"), [(3, 11), (3, 14), (4, 0)])
def test_a_python_that_will_do_is_told_nothing(major: int, minor: int) -> None:
    assert too_old(major, minor, windows=False) == ""


def test_a_clone_is_known_by_its_project_file_and_its_lock(clone: Path) -> None:
    assert place.clone_root(clone / "moldkit") == clone
    (clone / place.USER_LOCK).unlink()
    assert place.clone_root(clone / "moldkit") is None


def test_only_the_test_command_needs_the_test_lock() -> None:
    assert place.lock_for(["test", "--fast"]) == place.TEST_LOCK
    assert {place.lock_for(words) for words in ([], ["lab"], ["compare", "test"])} == {place.USER_LOCK}


def test_what_a_command_needs_is_read_from_the_project_without_what_only_some_machines_need(
    clone: Path,
) -> None:
    assert place.needed(clone / "pyproject.toml", []) == ["numpy"]
    assert place.needed(clone / "pyproject.toml", ["lab", "test"]) == ["numpy", "jupyterlab", "pytest"]


def test_a_finished_environment_is_ready_until_its_lock_changes(clone: Path, venv: Path) -> None:
    assert stamp.is_ready(clone, venv, place.USER_LOCK)
    (clone / place.USER_LOCK).write_text(LOCK + "# changed\n")
    assert not stamp.is_ready(clone, venv, place.USER_LOCK)


def test_line_ends_do_not_change_a_lock(clone: Path, venv: Path) -> None:
    (clone / place.USER_LOCK).write_bytes(LOCK.replace("\n", "\r\n").encode())
    assert stamp.is_ready(clone, venv, place.USER_LOCK)


def test_the_user_lock_is_not_enough_for_the_tests_but_the_test_lock_is_for_users(
    clone: Path, venv: Path
) -> None:
    assert not stamp.is_ready(clone, venv, place.TEST_LOCK)
    stamp.write_ready(clone, venv, place.TEST_LOCK, stamp.this_python())
    assert stamp.is_ready(clone, venv, place.TEST_LOCK)
    assert stamp.is_ready(clone, venv, place.USER_LOCK)


@pytest.mark.parametrize("content", ["{}", "", "not json", "[1]", '{"lock": "requirements.lock"}'])
def test_a_half_install_is_not_ready(clone: Path, venv: Path, content: str) -> None:
    (venv / stamp.NAME).write_text(content)
    assert not stamp.is_ready(clone, venv, place.USER_LOCK)


def test_a_clone_that_was_moved_is_not_ready(clone: Path, venv: Path) -> None:
    found = json.loads((venv / stamp.NAME).read_text())
    (venv / stamp.NAME).write_text(json.dumps({**found, "root": "/elsewhere"}))
    assert not stamp.is_ready(clone, venv, place.USER_LOCK)


class Machine:
    """A pretended machine: records what a start would do in place of doing it."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, clone: Path) -> None:
        self.handed_over: list[str] = []
        self.set_up: list[str] = []
        self.inside = self.in_another = False
        self.missing: list[str] = []
        monkeypatch.delenv("MOLDKIT_NO_VENV", raising=False)
        monkeypatch.delenv(first.ENTERED, raising=False)
        monkeypatch.setattr(place, "clone_root", lambda: clone)
        monkeypatch.setattr(place, "runs_in", lambda environment: self.inside)
        monkeypatch.setattr(place, "in_an_environment", lambda: self.in_another)
        monkeypatch.setattr(place, "missing_here", lambda root, arguments: self.missing)
        monkeypatch.setattr(first, "hand_over", self._hand_over)
        monkeypatch.setattr(first, "_set_up", lambda root, environment, lock: self.set_up.append(lock))

    def _hand_over(self, command: list[str], environ: dict[str, str] | None = None) -> int:
        self.handed_over = command
        return 7


@pytest.fixture
def machine(monkeypatch: pytest.MonkeyPatch, clone: Path) -> Machine:
    return Machine(monkeypatch, clone)


def test_a_fresh_clone_is_set_up_and_entered(machine: Machine, clone: Path) -> None:
    assert first.get_ready(["lab", "--no-browser"]) == 7
    assert machine.set_up == [place.USER_LOCK]
    python = str(place.python_of(clone / ".venv"))
    assert machine.handed_over == [python, "-m", "moldkit", "lab", "--no-browser"]


def test_a_second_start_sets_up_nothing(machine: Machine, venv: Path) -> None:
    assert first.get_ready(["lab"]) == 7
    assert machine.set_up == []


def test_the_tests_bring_a_user_environment_up_to_the_test_lock(machine: Machine, venv: Path) -> None:
    first.get_ready(["test"])
    assert machine.set_up == [place.TEST_LOCK]


def test_inside_its_own_environment_the_command_runs_on(machine: Machine, venv: Path) -> None:
    machine.inside = True
    assert first.get_ready(["lab"]) is None
    assert machine.handed_over == []


def test_inside_its_own_environment_a_changed_lock_is_installed_first(
    machine: Machine, clone: Path, venv: Path
) -> None:
    machine.inside = True
    (clone / place.USER_LOCK).write_text("new")
    assert first.get_ready(["lab"]) == 7
    assert machine.set_up == [place.USER_LOCK]


def test_an_environment_whose_python_was_exchanged_is_left_for_a_new_one(
    machine: Machine, clone: Path, venv: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    machine.inside = True
    monkeypatch.setattr(sys, "_base_executable", "/usr/bin/the-base-python")
    stamp.write_ready(clone, venv, place.USER_LOCK, "3.9")
    assert first.get_ready(["lab"]) == 7
    assert machine.handed_over[0] == "/usr/bin/the-base-python"
    assert stamp.read(venv) == {}


def test_another_environment_that_has_everything_is_used_as_it_is(machine: Machine, clone: Path) -> None:
    machine.in_another = True
    assert first.get_ready(["lab"]) is None
    assert not (clone / ".venv").exists()


def test_another_environment_that_lacks_something_is_not_touched(machine: Machine) -> None:
    machine.in_another, machine.missing = True, ["numpy"]
    assert first.get_ready(["lab"]) == 7
    assert machine.set_up == [place.USER_LOCK]


def test_moldkit_no_venv_runs_right_here(machine: Machine, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("MOLDKIT_NO_VENV", "1")
    assert first.get_ready(["lab"]) is None


def test_a_wheel_runs_right_where_it_is(machine: Machine, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(place, "clone_root", lambda: None)
    assert first.get_ready(["lab"]) is None


@pytest.mark.parametrize("arguments", [[], ["--help"]])
def test_help_on_a_fresh_clone_fetches_nothing(
    machine: Machine, arguments: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert first.get_ready(arguments) == 0
    assert machine.set_up == []
    assert "python3 -m moldkit lab" in capsys.readouterr().out


def test_a_venv_made_by_hand_is_entered_and_never_changed(machine: Machine, venv: Path) -> None:
    (venv / stamp.NAME).unlink()
    assert first.get_ready(["lab"]) == 7
    machine.inside = True
    assert first.get_ready(["lab"]) is None
    assert machine.set_up == []


def test_a_venv_made_by_hand_that_lacks_packages_is_named(
    machine: Machine, venv: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (venv / stamp.NAME).unlink()
    machine.inside, machine.missing = True, ["trimesh", "plotly"]
    assert first.get_ready(["lab"]) == 2
    assert "lacks trimesh, plotly" in capsys.readouterr().err
    assert machine.set_up == []


def test_a_venv_that_is_none_is_not_entered_over_and_over(
    machine: Machine, venv: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv(first.ENTERED, "1")
    assert first.get_ready(["lab"]) == 2
    assert "delete it and start again" in capsys.readouterr().err
    assert first.ENTERED not in os.environ


def test_a_venv_left_half_made_is_made_anew_and_a_finished_one_built_upon(
    clone: Path, venv: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(install, "version_of", lambda python: stamp.this_python())
    assert first._takes_new_packages(clone, venv)
    stamp.write_unfinished(venv)
    assert not first._takes_new_packages(clone, venv)


def test_a_missing_package_is_named_and_a_fault_of_our_own_is_not_hidden(machine: Machine) -> None:
    lost = ModuleNotFoundError(name="numpy.linalg")
    assert "numpy is not installed in this Python" in first.missing_package(lost)
    machine.inside = True
    assert "numpy is missing from .venv" in first.missing_package(lost)
    assert first.missing_package(ModuleNotFoundError(name="moldkit.nowhere")) == ""
