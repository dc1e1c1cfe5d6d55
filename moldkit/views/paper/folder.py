"""A folder of files that is there whole or not at all, whatever happens while it is written."""

from __future__ import annotations

import contextlib
import os
import shutil
import tempfile
import time
from collections.abc import Collection, Mapping
from pathlib import Path

from moldkit.errors import InputError

# A half folder older than this was left by a process that died [s].
LEFT_BEHIND = 3600.0


def write_folder(folder: Path, contents: Mapping[str, bytes], ours: Collection[str]) -> list[Path]:
    """Put a set of files into a folder, made if missing, and return where they are.

    contents: by file name; ours: names that a set may have, of which those not in `contents` go; every other file of
    the folder stays. All is written into a neighbour, which then takes the folder's place; where that fails, or the
    process dies, the folder is as it was. Raises InputError in one sentence where it cannot be written.
    """
    target = folder.resolve()
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        _tidy(target)
        if target.exists() and not target.is_dir():
            raise InputError(f"{str(folder)!r}: is a file, not a folder; choose another folder.")
        half = Path(tempfile.mkdtemp(dir=target.parent, prefix=f".{target.name}.", suffix=".half"))
    except OSError as fault:
        raise InputError(f"{str(folder)!r}: cannot be made ({fault.strerror}); choose another folder.") from None
    try:
        _fill(half, contents)
        if target.exists():
            _carry_over(target, half, ours)
        _take_the_place(half, target)
    except OSError as fault:
        raise InputError(f"{str(folder)!r}: cannot be written ({fault.strerror}); nothing was changed.") from None
    finally:
        shutil.rmtree(half, ignore_errors=True)
    return [folder / name for name in contents]


def _old(target: Path) -> Path:
    return target.with_name(f".{target.name}.old")


def _tidy(target: Path) -> None:
    """Put back or take away what a process that died left beside the folder."""
    old = _old(target)
    if old.exists():
        if target.exists():
            shutil.rmtree(old)
        else:
            os.rename(old, target)
    for half in target.parent.glob(f".{target.name}.*.half"):
        with contextlib.suppress(OSError):
            if time.time() - half.stat().st_mtime > LEFT_BEHIND:
                shutil.rmtree(half, ignore_errors=True)


def _fill(half: Path, contents: Mapping[str, bytes]) -> None:
    for name, content in contents.items():
        with (half / name).open("wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
    half.chmod(0o755)


def _carry_over(target: Path, half: Path, ours: Collection[str]) -> None:
    """Bring along what others have put into the folder."""
    half.chmod(target.stat().st_mode & 0o777)
    for entry in target.iterdir():
        if entry.name in ours or (half / entry.name).exists():
            continue
        if entry.is_symlink():
            os.symlink(os.readlink(entry), half / entry.name)
        elif entry.is_dir():
            shutil.copytree(entry, half / entry.name, symlinks=True)
        else:
            shutil.copy2(entry, half / entry.name)


def _take_the_place(half: Path, target: Path) -> None:
    old = _old(target)
    if not target.exists():
        os.rename(half, target)
        return
    os.rename(target, old)
    try:
        os.rename(half, target)
    except OSError:
        os.rename(old, target)
        raise
    shutil.rmtree(old, ignore_errors=True)
