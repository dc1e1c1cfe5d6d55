"""Where this moldkit stands: in a clone, in the clone's own environment, in someone else's, or in a wheel."""

from __future__ import annotations

import os
import re
import sys
from pathlib import Path

USER_LOCK = "requirements.lock"
TEST_LOCK = "requirements-test.lock"
OWN_ENVIRONMENT = ".venv"


class StartError(Exception):
    """A start that cannot go on: one sentence with the mend."""


def clone_root(package: Path | None = None) -> Path | None:
    """Return the clone that holds `package` (this one by default), or None for a wheel's copy."""
    root = (package or Path(__file__).resolve().parents[1]).parent
    return root if (root / "pyproject.toml").is_file() and (root / USER_LOCK).is_file() else None


def lock_for(arguments: list[str]) -> str:
    """Return the name of the lock that holds what the command in `arguments` needs."""
    return TEST_LOCK if arguments[:1] == ["test"] else USER_LOCK


def python_of(environment: Path, windows: bool = os.name == "nt") -> Path:
    """Return the path of the Python in `environment`."""
    return environment / "Scripts" / "python.exe" if windows else environment / "bin" / "python"


def runs_in(environment: Path) -> bool:
    """Tell whether this Python is the one of `environment`."""
    try:
        return os.path.samefile(sys.prefix, environment)
    except OSError:
        return False


def in_an_environment() -> bool:
    """Tell whether this Python stands in a virtual or a conda environment, whoever made it."""
    return sys.prefix != sys.base_prefix or (Path(sys.prefix) / "conda-meta").is_dir()


def needed(pyproject: Path, extras: list[str]) -> list[str]:
    """Return the names of the packages that moldkit needs with these `extras`, read from `pyproject`.

    A requirement with a marker is left out: it holds on some machines only.
    """
    import tomllib

    project = tomllib.loads(pyproject.read_text(encoding="utf-8"))["project"]
    groups = [project["dependencies"], *(project["optional-dependencies"][extra] for extra in extras)]
    names = [re.match(r"[A-Za-z0-9._-]+", line) for group in groups for line in group if ";" not in line]
    return [name.group() for name in names if name]


def missing_here(root: Path, arguments: list[str]) -> list[str]:
    """Return the packages that the command in `arguments` needs and this Python lacks."""
    extras = {"lab": ["lab"], "show": ["lab"], "test": ["lab", "test"]}.get(arguments[0] if arguments else "", [])
    return [name for name in needed(root / "pyproject.toml", extras) if not is_installed(name)]


def is_installed(distribution: str) -> bool:
    """Tell whether this Python has the package `distribution`, in whatever version."""
    from importlib import metadata

    try:
        metadata.distribution(distribution)
    except metadata.PackageNotFoundError:
        return False
    return True
