"""Writing files so that a reader, or a crash, never finds half of one."""

from __future__ import annotations

import contextlib
import os
import tempfile
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
