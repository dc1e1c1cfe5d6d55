"""Writing files so that a reader, or a crash, never finds half of one."""

from __future__ import annotations

import contextlib
import os
import tempfile
from collections.abc import Collection, Iterator, Mapping
from pathlib import Path

from moldkit.errors import InputError


def write_atomic(path: Path, content: bytes) -> None:
    """Write a file whole or not at all: to a temporary neighbour first, then moved into place.

    Raises InputError in one sentence when the folder is missing, read-only or full.
    """
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".half")
    except OSError as fault:
        raise InputError(f"{str(path)!r}: cannot be written ({fault.strerror}); choose another folder.") from None
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(name, path.stat().st_mode & 0o777 if path.exists() else 0o644)
        os.replace(name, path)
    except OSError as fault:
        with contextlib.suppress(OSError):
            os.unlink(name)
        raise InputError(f"{str(path)!r}: cannot be written ({fault.strerror}); nothing was changed.") from None


@contextlib.contextmanager
def written_together(folder: Path, contents: Mapping[str, bytes], gone: Collection[str] = ()) -> Iterator[list[Path]]:
    """Write files into a folder, made if missing, all of them or none, and yield where they will be.

    contents: by file name; gone: names of files that are taken away. All is written beside its place before the block,
    and moved there after it: where a file cannot be written, or the block raises, nothing is changed. Raises
    InputError in one sentence when the folder cannot be made, or a file cannot be written.
    """
    made = not folder.exists()
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise InputError(f"{str(folder)!r}: cannot be made ({fault.strerror}); choose another folder.") from None
    ready: dict[Path, Path] = {}
    try:
        for name, content in contents.items():
            _stand_ready(folder / name, content, ready)
        yield list(ready)
        for path, half in ready.items():
            os.replace(half, path)
        for name in gone:
            (folder / name).unlink(missing_ok=True)
    finally:
        for half in ready.values():
            half.unlink(missing_ok=True)
        if made:
            # Empty only where nothing came of it.
            with contextlib.suppress(OSError):
                folder.rmdir()


def _stand_ready(path: Path, content: bytes, ready: dict[Path, Path]) -> None:
    """Write what is to take a file's place into a neighbour of it."""
    if path.is_dir():
        raise InputError(f"{str(path)!r}: is a folder, where a file is to be written; choose another folder.")
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".half")
        ready[path] = Path(name)
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(name, path.stat().st_mode & 0o777 if path.exists() else 0o644)
    except OSError as fault:
        raise InputError(f"{str(path)!r}: cannot be written ({fault.strerror}); nothing was changed.") from None
