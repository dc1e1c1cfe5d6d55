"""The files that belong to the project: those git tracks or would, or else all that no tool left behind."""

from __future__ import annotations

import subprocess
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
LEFT_BEHIND = {
    ".git",
    ".venv",
    ".venv.old",
    "__pycache__",
    "build",
    "dist",
    ".hypothesis",
    ".ipynb_checkpoints",
}
LEFT_BEHIND |= {".mypy_cache", ".pytest_cache", ".ruff_cache"}


@cache
def tracked_files() -> tuple[Path, ...]:
    """Return the project's files, sorted; those not committed yet included, ignored ones left out."""
    if (ROOT / ".git").exists():
        command = ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"]
        listed = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True).stdout.split(
            "\0"
        )
        found = [ROOT / name for name in listed if name]
    else:
        found = [path for path in ROOT.rglob("*") if not LEFT_BEHIND & set(path.relative_to(ROOT).parts)]
    return tuple(sorted(path for path in found if path.is_file()))
