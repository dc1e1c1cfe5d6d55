"""The stamp in `.venv` says which lock filled it, so that a half install or a changed lock is done again."""

from __future__ import annotations

import hashlib
import json
import os
import sys
from pathlib import Path

from moldkit.start.place import TEST_LOCK, USER_LOCK

NAME = "moldkit-stamp.json"


def lock_hash(lock: Path) -> str:
    """Return the SHA-256 of a lock's text, the same whichever line ends the checkout has."""
    return hashlib.sha256(lock.read_bytes().replace(b"\r\n", b"\n")).hexdigest()


def this_python() -> str:
    """Return the version of this Python as far as packages depend on it: "3.11"."""
    return f"{sys.version_info[0]}.{sys.version_info[1]}"


def read(environment: Path) -> dict[str, str] | None:
    """Return the stamp of `environment`: {} when its install was not finished, None when it has no stamp."""
    try:
        found = json.loads((environment / NAME).read_text(encoding="utf-8"))
    except FileNotFoundError:
        return None
    except (OSError, ValueError):
        return {}
    return found if isinstance(found, dict) else {}


def write_unfinished(environment: Path) -> None:
    """Mark `environment` as made by moldkit and not filled yet."""
    _write(environment, {})


def write_ready(root: Path, environment: Path, lock_name: str, python: str) -> None:
    """Mark `environment` as filled from the lock `lock_name` of the clone at `root`, for Python `python`."""
    content = {"lock": lock_name, "sha256": lock_hash(root / lock_name), "root": str(root), "python": python}
    _write(environment, content)


def is_ready(root: Path, environment: Path, lock_name: str) -> bool:
    """Tell whether `environment` holds what `lock_name` asks for; the test lock holds the user lock's too."""
    stamp = read(environment)
    if not stamp or stamp.get("root") != str(root):
        return False
    enough = {lock_name, TEST_LOCK} if lock_name == USER_LOCK else {lock_name}
    lock = stamp.get("lock", "")
    return lock in enough and stamp.get("sha256") == lock_hash(root / lock)


def _write(environment: Path, content: dict[str, str]) -> None:
    beside = environment / (NAME + ".new")
    beside.write_text(json.dumps(content, indent=1) + "\n", encoding="utf-8")
    os.replace(beside, environment / NAME)
