"""`moldkit show`: which notebook, which job, and a page of our own that nothing of another host is in."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from moldkit.start import place, show
from moldkit.views import show_server

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with notebooks, as a clone has them, and the working folder in it."""
    folder = tmp_path / "home"
    (folder / "notebooks" / "lessons").mkdir(parents=True)
    for name in ("choose_a_technique", "the_client_meeting", "lessons/one"):
        (folder / "notebooks" / f"{name}.ipynb").write_text("{}")
    (folder / "mine.ipynb").write_text("{}")
    (folder / "job.toml").write_text("")
    monkeypatch.chdir(folder)
    monkeypatch.setattr(place, "clone_root", lambda: None)
    return folder


@pytest.fixture
def handed(monkeypatch: pytest.MonkeyPatch) -> list[tuple[list[str], dict[str, str], Path]]:
    """What is handed over in place of being run: command, environment, folder."""
    found: list[tuple[list[str], dict[str, str], Path]] = []

    def hand_over(command: list[str], environ: dict[str, str], folder: Path) -> int:
        found.append((command, environ, folder))
        return 0

    monkeypatch.setattr(show, "hand_over", hand_over)
    return found


@pytest.mark.parametrize(
    ("words", "notebook", "others"),
    [
        ([], "notebooks/the_client_meeting.ipynb", []),
        (["mine.ipynb"], "mine.ipynb", []),
        (["choose_a_technique"], "notebooks/choose_a_technique.ipynb", []),
        (["--port", "8123", "mine.ipynb"], "mine.ipynb", ["--port", "8123"]),
        (["--no-browser", "--port", "8123"], "notebooks/the_client_meeting.ipynb", ["--no-browser", "--port", "8123"]),
    ],
)
def test_a_notebook_is_found_as_named_else_among_the_notebooks_and_other_words_go_on(
    home: Path, handed: list[tuple[list[str], dict[str, str], Path]], words: list[str], notebook: str, others: list[str]
) -> None:
    assert show.run_show(words) == 0
    ((command, environ, folder),) = handed
    assert command == [sys.executable, "-m", show.SERVER, str((home / notebook).resolve()), *others]
    assert show.JOB_VARIABLE not in environ and folder == (home / notebook).parent.resolve()


@pytest.mark.parametrize("words", [["--job", "job.toml"], ["--job=job.toml"]])
def test_a_job_is_told_to_the_notebook_by_where_it_lies(
    home: Path, handed: list[tuple[list[str], dict[str, str], Path]], words: list[str]
) -> None:
    assert show.run_show(words) == 0
    assert handed[0][1][show.JOB_VARIABLE] == str((home / "job.toml").resolve())
    assert show.run_show(["--job", "finial"]) == 0
    assert handed[1][1][show.JOB_VARIABLE] == "finial"


@pytest.mark.parametrize(("words", "said"), [(["other"], "no notebook other"), (["--job"], "--job: names no job")])
def test_what_is_missing_is_said_in_one_sentence(
    home: Path, handed: list[object], capsys: pytest.CaptureFixture[str], words: list[str], said: str
) -> None:
    assert show.run_show(words) == 2
    told = capsys.readouterr().err
    assert told.startswith("moldkit show: ") and said in told and told.count("\n") == 1 and handed == []


def test_the_command_tells_how_it_is_used() -> None:
    environ = {**os.environ, "MOLDKIT_NO_VENV": "1"}
    words = [sys.executable, "-m", "moldkit", "show", "--help"]
    told = subprocess.run(words, env=environ, cwd=ROOT, capture_output=True, text=True, timeout=60, check=False)
    assert told.returncode == 0 and told.stdout.startswith("usage: moldkit show [NOTEBOOK] [--job JOB.toml]")


def test_the_template_stands_in_the_package_and_names_no_host() -> None:
    folder = show_server.TEMPLATES / "voila" / "templates" / show_server.TEMPLATE
    assert folder.is_relative_to(ROOT / "moldkit")
    texts = {path.name: path.read_text("utf-8") for path in folder.iterdir()}
    assert set(texts) == {"conf.json", "index.html.j2", "page.html", "error.html"}
    assert json.loads(texts["conf.json"]) == {"base_template": "lab"}
    assert all(re.search(r"//\w+\.\w", text) is None for text in texts.values())


def test_the_page_is_for_this_machine_only_behind_a_token_with_our_template_for_good() -> None:
    made = show_server.configuration()
    assert made.Voila.ip == "127.0.0.1" and made.Voila.auto_token is True
    assert made.VoilaConfiguration.template == show_server.TEMPLATE
    assert made.VoilaConfiguration.allow_template_override == made.VoilaConfiguration.allow_theme_override == "NO"
    assert made.VoilaConfiguration.strip_sources is True and made.VoilaConfiguration.file_allowlist == []


def test_all_of_the_meetings_notebook_but_its_panel_is_left_out_of_the_page() -> None:
    notebook = json.loads((ROOT / "notebooks" / "the_client_meeting.ipynb").read_text("utf-8"))
    shown = [
        "".join(cell["source"])
        for cell in notebook["cells"]
        if show_server.NOT_SHOWN not in cell["metadata"].get("tags", [])
    ]
    assert len(shown) == 1 and "ClientMeeting(" in shown[0]
