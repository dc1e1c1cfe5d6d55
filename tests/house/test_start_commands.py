"""`moldkit lab` and `moldkit test`: the commands they give, and how a test run is counted."""

from __future__ import annotations

import importlib
import json
from pathlib import Path

import pytest

from moldkit.start import lab, testing


def test_lab_opens_the_first_notebook_quietly_and_lets_the_user_have_the_last_word(tmp_path: Path) -> None:
    command = lab.lab_command(tmp_path, ["--port=9000"])
    assert f"--ServerApp.root_dir={tmp_path}" in command
    assert "--LabApp.default_url=/lab/tree/notebooks/choose_a_technique.ipynb" in command
    assert "--ServerApp.tornado_settings={'websocket_max_message_size': 209715200}" in command
    assert command[-1] == "--port=9000"
    settings = json.loads((lab.SETTINGS / "overrides.json").read_text())
    quiet = {"checkForUpdates": False, "fetchNews": "false"}
    assert settings["@jupyterlab/apputils-extension:notification"] == quiet


def test_the_socket_that_lab_names_is_there() -> None:
    module, _, name = lab.SOCKET.rpartition(".")
    assert f"--ServerApp.kernel_websocket_connection_class={lab.SOCKET}" in lab.lab_command(Path(), [])
    assert hasattr(importlib.import_module(module), name)


def test_lab_takes_the_nearest_notebooks_then_the_clone(tmp_path: Path) -> None:
    clone, shop = tmp_path / "clone", tmp_path / "shop"
    for home in (clone, shop):
        (home / "notebooks").mkdir(parents=True)
        (home / "notebooks" / lab.FIRST_NOTEBOOK).write_text("{}")
    assert lab.notebook_home(shop / "notebooks", clone) == shop
    assert lab.notebook_home(tmp_path, clone) == clone
    assert lab.notebook_home(tmp_path, None) is None


REPORT = '<testsuites><testsuite tests="7" failures="1" errors="1" skipped="2"/></testsuites>'


def test_a_stage_is_counted_from_its_report(tmp_path: Path) -> None:
    report = tmp_path / "report.xml"
    report.write_text(REPORT)
    assert testing.count_stage(report, 1).line() == "3 passed, 2 failed, 2 skipped"


@pytest.mark.parametrize(("code", "line"), [(0, "1 passed, 0 failed"), (1, "0 passed, 1 failed")])
def test_a_stage_without_a_report_is_one_check(code: int, line: str) -> None:
    assert testing.count_stage(None, code).line() == line


@pytest.mark.parametrize("code", [-1, 1, 2, 3, 4])
def test_a_stage_that_broke_off_is_a_failure_whatever_its_report_says(tmp_path: Path, code: int) -> None:
    assert testing.count_stage(tmp_path / "none.xml", code).failed == 1
    report = tmp_path / "good.xml"
    report.write_text('<testsuites><testsuite tests="3" failures="0" errors="0" skipped="0"/></testsuites>')
    assert testing.count_stage(report, code).line() == "3 passed, 1 failed"


def test_a_folder_without_tests_is_no_failure(tmp_path: Path) -> None:
    assert testing.count_stage(tmp_path / "none.xml", testing.NO_TESTS_COLLECTED) == testing.Count()


def _names(stages: list[testing.Stage]) -> list[str]:
    return [stage.name for stage in stages]


def test_only_stages_with_something_to_do_are_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(testing, "find_browser", lambda: "/usr/bin/a-browser")
    assert _names(testing.stages(tmp_path, False, [], tmp_path)) == ["lint", "types", "tests"]
    (tmp_path / "notebooks" / "lessons").mkdir(parents=True)
    (tmp_path / "notebooks" / "lessons" / "one.ipynb").write_text("{}")
    (tmp_path / "tests" / "browser").mkdir(parents=True)
    (tmp_path / "tests" / "browser" / "test_screen.py").write_text("")
    every = ["lint", "types", "tests", "notebooks", "browser"]
    assert _names(testing.stages(tmp_path, False, [], tmp_path)) == every
    assert _names(testing.stages(tmp_path, True, [], tmp_path)) == every[:3]


def test_a_path_narrows_the_run_to_itself(tmp_path: Path) -> None:
    (tmp_path / "tests").mkdir()
    (tmp_path / "tests" / "test_one.py").write_text("")
    (stage,) = testing.stages(tmp_path, False, ["tests/test_one.py::test_it", "-x"], tmp_path)
    assert stage.command[-2:] == ("tests/test_one.py::test_it", "-x")


def test_a_missing_browser_is_said_and_is_a_failure_only_where_one_is_required(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(testing, "find_browser", lambda: None)
    monkeypatch.delenv("MOLDKIT_REQUIRE_BROWSER", raising=False)
    assert testing._browser_missing(tmp_path) == testing.Count()
    (tmp_path / "tests" / "browser").mkdir(parents=True)
    (tmp_path / "tests" / "browser" / "test_screen.py").write_text("")
    assert testing._browser_missing(tmp_path) == testing.Count(skipped=1)
    assert "no Chromium or Chrome was found" in capsys.readouterr().out
    monkeypatch.setenv("MOLDKIT_REQUIRE_BROWSER", "1")
    assert testing._browser_missing(tmp_path) == testing.Count(failed=1)
