"""Make `.venv` and fill it from a hashed lock with pip, in words that a person can follow."""

from __future__ import annotations

import os
import subprocess
import sys
from collections import deque
from pathlib import Path

from moldkit.start import stamp
from moldkit.start.place import StartError, python_of
from moldkit.start.progress import Progress, watched
from moldkit.start.tally import Tally
from moldkit.start.trouble import failure

LEADS_ASTRAY = (
    "PYTHONHOME", "PYTHONPATH", "VIRTUAL_ENV", "PIP_TARGET", "PIP_PREFIX", "PIP_ROOT", "PIP_NO_BINARY",
)  # fmt: skip


def take_away(environment: Path, progress: Progress) -> None:
    """Delete an environment of no more use; it is moved aside first, so that nobody meets half of one."""
    aside = environment.with_name(environment.name + ".old")
    _delete(aside, progress)
    try:
        if environment.exists():
            os.replace(environment, aside)
    except OSError as error:
        raise StartError(
            f"the old {environment} cannot be moved aside ({error.strerror}): close everything that runs "
            "from it and start again."
        ) from error
    _delete(aside, progress)


def make(environment: Path, progress: Progress) -> None:
    """Make a new environment with pip in it, marked as ours and unfinished from the first moment."""
    progress.step(f"making .venv with Python {sys.version.split()[0]}")
    environment.mkdir(parents=True, exist_ok=True)
    stamp.write_unfinished(environment)
    command = [sys.executable, "-m", "venv", str(environment)]
    _run(command, environment.parent, "still making .venv", progress)


def fill(root: Path, environment: Path, lock_name: str, progress: Progress) -> None:
    """Install the lock, then moldkit itself as an editable package, and stamp the environment."""
    python = python_of(environment)
    lock = (root / lock_name).read_text(encoding="utf-8")
    # Until all is fetched nothing is changed: an environment that was ready for an older lock stays whole.
    tally = Tally(lock, environment, begins=lambda: stamp.write_unfinished(environment))
    progress.step(f"fetching the packages of {lock_name}; this takes a minute or so, and the network")
    _pip(python, ["--require-hashes", "--only-binary", ":all:", "-r", lock_name], root, progress, tally)
    progress.step(f"all {tally.wanted} packages are in; installing moldkit itself")
    itself = ["--no-build-isolation", "--no-index", "--editable", "."]
    _pip(python, itself, root, progress, "still installing moldkit")
    stamp.write_ready(root, environment, lock_name, version_of(python) or "")
    progress.step("ready; later starts skip all this")


def version_of(python: Path) -> str | None:
    """Return "3.11" for a Python of that version that runs and has pip, None when it does not."""
    asked = "import sys, pip; print('%d.%d' % sys.version_info[:2])"
    try:
        answer = subprocess.run(
            [str(python), "-c", asked],
            capture_output=True,
            text=True,
            timeout=60,
            check=True,
            env=clean_environ(dict(os.environ)),
        )
    except (OSError, subprocess.SubprocessError):
        return None
    return answer.stdout.strip()


def clean_environ(environ: dict[str, str]) -> dict[str, str]:
    """Return `environ` without what would lead venv or pip away from the environment they work on."""
    kept = {name: value for name, value in environ.items() if name not in LEADS_ASTRAY}
    return {**kept, "PIP_USER": "0", "PIP_NO_INPUT": "1", "PYTHONUNBUFFERED": "1"}


def _delete(folder: Path, progress: Progress) -> None:
    if folder.exists():
        progress.step("taking away the old .venv, which was left unfinished or no longer works here")
        delete = "import shutil, sys; shutil.rmtree(sys.argv[1])"
        _run([sys.executable, "-c", delete, str(folder)], folder.parent, "still taking it away", progress)


def _pip(python: Path, what: list[str], root: Path, progress: Progress, doing: str | Tally) -> None:
    command = [str(python), "-m", "pip", "install", "--disable-pip-version-check", "--progress-bar", "off"]
    _run([*command, "--no-deps", *what], root, doing, progress)


def _run(command: list[str], folder: Path, doing: str | Tally, progress: Progress) -> None:
    """Run `command` in `folder`, saying now and then what it is `doing`; raise StartError when it fails."""
    heard: deque[str] = deque(maxlen=200)
    try:
        for line in watched(command, folder, clean_environ(dict(os.environ))):
            if line:
                heard.append(line)
            if line and isinstance(doing, Tally):
                doing.hear(line)
            progress.still(doing if isinstance(doing, str) else doing.words())
    except subprocess.CalledProcessError as error:
        raise failure("setting up .venv did not work", heard) from error
