"""The folder that holds the shop's tables: where it is found, and giving a shop one of its own."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

from moldkit.errors import InputError

MARKER = "techniques.csv"


def find_data_folder(explicit: str | os.PathLike[str] | None = None) -> Path:
    """Return the data folder: the one given, else MOLDKIT_DATA, else the nearest `data/` upwards from
    the working folder, else the one beside an editable install, else the copy shipped in the wheel.

    Raises InputError when a folder that was named has no techniques.csv, or none is found at all.
    """
    for named, origin in ((explicit, "the data folder"), (os.environ.get("MOLDKIT_DATA"), "MOLDKIT_DATA")):
        if named:
            return _checked_folder(Path(named), origin)
    here = Path.cwd()
    package = Path(__file__).resolve().parent
    places = [folder / "data" for folder in (here, *here.parents)]
    places += [package.parent / "data", package / "_data"]
    for place in places:
        if (place / MARKER).is_file():
            return place
    raise InputError("no data folder found; name one with --data or MOLDKIT_DATA, or run inside a moldkit folder.")


def _checked_folder(folder: Path, origin: str) -> Path:
    try:
        there = folder.is_dir()
    except OSError as fault:
        raise InputError(f"{origin}: {str(folder)!r} is no usable path ({fault.strerror}).") from None
    if not there:
        raise InputError(f"{origin}: {str(folder)!r} is not a folder that exists; give the folder that holds {MARKER}.")
    if not (folder / MARKER).is_file():
        raise InputError(f"{origin}: {str(folder)!r} holds no {MARKER}; give a moldkit data folder.")
    return folder


def copy_data_folder(source: Path, target: Path) -> int:
    """Copy a data folder to a place that does not exist yet, whole or not at all; return the number of files.

    Raises InputError when the target exists or cannot be written.
    """
    if target.exists() and (not target.is_dir() or any(target.iterdir())):
        raise InputError(f"{str(target)!r}: exists already and is not empty; name a new folder.")
    half = target.parent / f".{target.name}.half-copied"
    try:
        shutil.rmtree(half, ignore_errors=True)
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copytree(source, half, ignore=shutil.ignore_patterns("__pycache__", ".*"))
        if target.exists():
            target.rmdir()
        half.rename(target)
    except OSError as fault:
        shutil.rmtree(half, ignore_errors=True)
        raise InputError(f"{str(target)!r}: cannot be written ({fault.strerror}).") from None
    return sum(1 for path in target.rglob("*") if path.is_file())
