"""What a mesh file is asked before anything reads it: there, of a kind that is read, neither empty nor too large."""

from __future__ import annotations

import contextlib
import os
import stat
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

from moldkit.errors import InputError

KINDS = ("STL", "PLY", "OBJ", "3MF", "GLB")
MOST_BYTES = 200_000_000
MOST_UNPACKED_BYTES = 250_000_000
MOST_FACES = 5_000_000


def kind_of(name: str) -> str:
    """Return the kind of mesh file that a name's ending says, in capitals, or the ending where it is none."""
    return Path(name).suffix[1:].upper()


def shown(name: str) -> str:
    """Return a file's name as it may stand in a sentence: on one line, with nothing a screen would obey."""
    return "".join(each if each.isprintable() else "?" for each in name)


@contextlib.contextmanager
def opened(file: Path) -> Iterator[tuple[BinaryIO, int]]:
    """Open a mesh file that is worth reading; yields it with its length in bytes.

    file: its path. Raises InputError in one sentence for a file of another kind, missing, empty or over 200 MB.
    """
    name = shown(file.name)
    if kind_of(file.name) not in KINDS:
        ending = f"{shown(file.suffix)!r} files" if file.suffix else "a file without an ending"
        raise InputError(f"{name}: {ending} cannot be read as a mesh; export it as {', '.join(KINDS)}.")
    try:
        found = file.stat()
    except (OSError, ValueError):
        raise InputError(f"{shown(str(file))}: there is no such file; check the name and the folder.") from None
    if stat.S_ISDIR(found.st_mode):
        raise InputError(f"{name}: is a folder; name the mesh file in it.")
    # Opening a pipe would wait for ever.
    if not stat.S_ISREG(found.st_mode):
        raise InputError(f"{name}: is no ordinary file; name a mesh file.")
    try:
        stream = file.open("rb")
    except OSError as fault:
        raise InputError(f"{name}: cannot be read ({fault.strerror}); check its permissions.") from None
    with stream:
        size = os.fstat(stream.fileno()).st_size
        _check_bytes(size, name)
        yield stream, size


def _check_bytes(size: int, name: str) -> None:
    if size == 0:
        raise InputError(f"{name}: is empty; export or copy it again.")
    if size > MOST_BYTES:
        raise InputError(
            f"{name}: holds {size / 1e6:.0f} MB and {MOST_BYTES / 1e6:.0f} MB is the most; "
            "reduce the number of triangles."
        )


def check_faces(count: int, name: str) -> None:
    """Refuse more faces than are measured in reasonable time.

    count: number of faces; name: of the file. Raises InputError.
    """
    if count > MOST_FACES:
        raise InputError(f"{name}: has {count:,} faces and {MOST_FACES:,} is the most; reduce the number of triangles.")
