"""What a start does first: see to an environment that has what the command needs, and go on inside it."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from moldkit import __version__
from moldkit.start import place, stamp
from moldkit.start.handover import hand_over
from moldkit.start.place import OWN_ENVIRONMENT, StartError

# What only a first start needs is imported there, so that every other start is instant.
if TYPE_CHECKING:
    from moldkit.start.progress import Progress

# Set for the step from outside into `.venv`, so that a broken one is not entered over and over.
ENTERED = "MOLDKIT_ENTERED"

WELCOME = """\
moldkit compares rubber-mold techniques by rubber, hours, mold life and cost over a production run.
  python3 -m moldkit lab     open the notebooks        (Windows: py -m moldkit lab)
  python3 -m moldkit test    run the tests             (Windows: py -m moldkit test)
The first start makes its own environment in the folder .venv here; it takes a minute or so, about 1 GB,
and the network."""


def get_ready(arguments: list[str]) -> int | None:
    """See to everything the command in `arguments` needs.

    Returns None when this very Python is ready to run it, or else the exit code: when it cannot be run, or
    after it ran in the clone's own environment (on Windows; elsewhere that run takes the place of this one).
    """
    came_from_outside = os.environ.pop(ENTERED, "") != ""
    root = place.clone_root()
    if root is None or os.environ.get("MOLDKIT_NO_VENV", "0") not in ("", "0"):
        return None
    try:
        if place.runs_in(root / OWN_ENVIRONMENT):
            return _go_on_inside(root, arguments)
        if came_from_outside:
            raise StartError(
                f"{root / OWN_ENVIRONMENT} is no working environment: delete it and start again."
            )
        return _enter(root, arguments)
    except StartError as error:
        print(f"moldkit: {error}", file=sys.stderr)
        return 2


def missing_package(error: ModuleNotFoundError) -> str:
    """Return the sentence for a package that turned out to be missing, or "" when a module of our own is."""
    name = (error.name or "").partition(".")[0]
    if name in ("", "moldkit"):
        return ""
    root = place.clone_root()
    if root is not None and place.runs_in(root / OWN_ENVIRONMENT):
        return f"moldkit: {name} is missing from .venv, which has been changed: delete .venv and start again."
    return (
        f"moldkit: {name} is not installed in this Python ({sys.prefix}): "
        "install it there, or start without MOLDKIT_NO_VENV in a clone of moldkit, which brings its own."
    )


def _enter(root: Path, arguments: list[str]) -> int | None:
    """Go on in the clone's own environment, made or brought up to date first, unless this one will do."""
    environment, lock_name = root / OWN_ENVIRONMENT, place.lock_for(arguments)
    if place.in_an_environment() and not place.missing_here(root, arguments):
        return None
    if not _is_foreign(environment) and not stamp.is_ready(root, environment, lock_name):
        if arguments in ([], ["-h"], ["--help"], ["--version"]):
            print(f"moldkit {__version__}" if arguments == ["--version"] else WELCOME)
            return 0
        _set_up(root, environment, lock_name)
    command = [str(place.python_of(environment)), "-m", "moldkit", *arguments]
    return hand_over(command, {**os.environ, ENTERED: "1"})


def _go_on_inside(root: Path, arguments: list[str]) -> int | None:
    """Go on in the environment `.venv` of the clone, in which this Python runs already."""
    environment, lock_name = root / OWN_ENVIRONMENT, place.lock_for(arguments)
    found = stamp.read(environment)
    if found is None:
        _check_foreign(root, environment, arguments)
        return None
    if found.get("python") != stamp.this_python():
        return _leave_for_a_new_one(environment, arguments)
    if stamp.is_ready(root, environment, lock_name):
        return None
    _set_up(root, environment, lock_name)
    return hand_over([sys.executable, "-m", "moldkit", *arguments])


def _check_foreign(root: Path, environment: Path, arguments: list[str]) -> None:
    """Raise StartError if a `.venv` that someone made by hand lacks packages; it is theirs to change."""
    missing = place.missing_here(root, arguments)
    if missing:
        raise StartError(
            f"{environment} is not of moldkit's making and lacks {', '.join(missing)}: move it away and "
            f"start again, or fill it with `pip install -r {place.lock_for(arguments)}`."
        )


def _leave_for_a_new_one(environment: Path, arguments: list[str]) -> int:
    """Start over with the Python that `.venv` was made from, which is not the one that its packages fit."""
    base = getattr(sys, "_base_executable", sys.executable)
    if base == sys.executable:
        raise StartError(f"{environment} does not fit its Python any more: delete it and start again.")
    stamp.write_unfinished(environment)
    return hand_over([base, "-m", "moldkit", *arguments])


def _is_foreign(environment: Path) -> bool:
    """Tell whether a `.venv` stands there that moldkit did not make; raise StartError if it is no use."""
    if stamp.read(environment) is not None or not environment.exists() or not any(environment.iterdir()):
        return False
    if not place.python_of(environment).exists() or not (environment / "pyvenv.cfg").exists():
        raise StartError(
            f"{environment} is not of moldkit's making and has no Python: move it away and start again."
        )
    return True


def _set_up(root: Path, environment: Path, lock_name: str) -> None:
    """Make or mend the environment, while no other start does."""
    from moldkit.start import install, trouble
    from moldkit.start.progress import Progress
    from moldkit.start.turn import turn

    progress = Progress()
    trouble.check_room(root)
    with turn(root / f"{OWN_ENVIRONMENT}.lock", progress):
        if stamp.is_ready(root, environment, lock_name):
            return
        if not _takes_new_packages(root, environment):
            _make_anew(environment, progress)
        install.fill(root, environment, lock_name, progress)


def _takes_new_packages(root: Path, environment: Path) -> bool:
    """Tell whether the environment was once finished, in this place and for the Python it still has.

    A half-finished one is not built upon: a package may have been cut off in the middle.
    """
    from moldkit.start import install

    found = stamp.read(environment)
    if not found or found.get("root") != str(root):
        return False
    return found.get("python") == install.version_of(place.python_of(environment))


def _make_anew(environment: Path, progress: Progress) -> None:
    """Make the environment from nothing; only one of moldkit's own making, or none, may stand there."""
    import importlib.util

    from moldkit.start import install, trouble

    has_ensurepip = importlib.util.find_spec("ensurepip") is not None
    trouble.check_ensurepip(has_ensurepip, debian=Path("/etc/debian_version").exists())
    install.take_away(environment, progress)
    install.make(environment, progress)
