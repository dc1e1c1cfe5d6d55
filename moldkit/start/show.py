"""`moldkit show`: a notebook as a page to be shown to a client, without its code."""

from __future__ import annotations

import importlib.util
import sys
from collections.abc import Sequence
from pathlib import Path

from moldkit.start import place
from moldkit.start.handover import hand_over
from moldkit.start.lab import importable, notebook_home

MEETING_NOTEBOOK = "the_client_meeting.ipynb"
# Named only: it imports the server.
SERVER = "moldkit.views.show_server"
# In which the notebook finds the job that it opens.
JOB_VARIABLE = "MOLDKIT_JOB"
USAGE = """\
usage: moldkit show [NOTEBOOK] [--job JOB.toml] [further words for the server]

Show a notebook as a page, without its code: the client meeting, where none is named.
  --job JOB.toml   open this job in it (a file, or the name of one in the data folder's jobs)
  --port N         port of this machine; else 8866 or the next one that is free
  --no-browser     only tell the address"""


def run_show(arguments: Sequence[str] = ()) -> int:
    """Show a notebook on this machine, behind a token; further `arguments` are the server's own.

    Returns an exit code only where the server cannot take the place of this run: on Windows, or for want of a
    notebook or a job.
    """
    if any(word in ("-h", "--help") for word in arguments):
        print(USAGE)
        return 0
    if importlib.util.find_spec("voila") is None:
        return _refuse(f"Voila is not installed in {sys.prefix}: install moldkit's extra `lab` there.")
    named, job, others = _parted(arguments)
    notebook = found_notebook(named, Path.cwd(), place.clone_root())
    if notebook is None:
        return _refuse(
            f"there is no notebook {named or MEETING_NOTEBOOK} here or in notebooks/ above; the notebooks come with "
            "moldkit's source (the clone or the source archive), so run `moldkit show` in that folder."
        )
    if job == "":
        return _refuse("--job: names no job; give a file, or the name of a job in the data folder's jobs.")
    environ = importable(notebook.parent.parent)
    if job is not None:
        environ[JOB_VARIABLE] = str(Path(job).resolve()) if Path(job).is_file() else job
    return hand_over(show_command(notebook, others), environ, notebook.parent)


def _parted(arguments: Sequence[str]) -> tuple[str, str | None, list[str]]:
    """Return the notebook named (empty for none), the job (None for none), and the other words."""
    notebook, job, others = "", None, []
    words = list(arguments)
    if words and not words[0].startswith("-"):
        notebook = words.pop(0)
    while words:
        word = words.pop(0)
        if word == "--job":
            job = words.pop(0) if words else ""
        elif word.startswith("--job="):
            job = word[len("--job=") :]
        elif word.endswith(".ipynb") and not notebook:
            notebook = word
        else:
            others.append(word)
    return notebook, job, others


def found_notebook(named: str, working_folder: Path, clone: Path | None) -> Path | None:
    """Return where a notebook lies: as named, else by that name among the notebooks; None where it is in neither."""
    home = notebook_home(working_folder, clone)
    names = [named, f"{named}.ipynb"] if named else [MEETING_NOTEBOOK]
    folders = [working_folder, *([home / "notebooks"] if home else [])]
    places = [folder / name for folder in folders for name in names]
    return next((each.resolve() for each in places if each.suffix == ".ipynb" and each.is_file()), None)


def show_command(notebook: Path, arguments: Sequence[str]) -> list[str]:
    """Return the command that shows a notebook."""
    return [sys.executable, "-m", SERVER, str(notebook), *arguments]


def _refuse(sentence: str) -> int:
    print(f"moldkit show: {sentence}", file=sys.stderr)
    return 2
