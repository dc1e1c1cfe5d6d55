"""One writer at a time: a lock on a file against other threads, processes and machines."""

from __future__ import annotations

import contextlib
import os
import random
import sys
import time
from collections.abc import Iterator
from pathlib import Path

from moldkit.errors import InputError

if sys.platform == "win32":
    import msvcrt
else:
    import fcntl

PATIENCE_S = 30.0


@contextlib.contextmanager
def locked(path: Path, patience_s: float = PATIENCE_S) -> Iterator[None]:
    """Keep every other writer of a file away for a while; reading goes on as ever.

    The system itself holds the lock, on a neighbour file, and lets go of it when its holder ends in whatever way, so
    that a killed process keeps nobody out. patience_s: how long to wait for another writer [s]. Raises InputError when
    another holds it longer than that, or the folder takes no lock.
    """
    neighbour = path.with_name(f".{path.name}.lock")
    try:
        handle = _waited_for(neighbour, path, patience_s)
    except OSError as fault:
        raise InputError(
            f"{str(path)!r}: cannot be written ({fault.strerror}); nothing was changed. "
            "Keep the data folder where files can be written and locked."
        ) from None
    try:
        yield
    finally:
        _release(handle, neighbour)


def _waited_for(neighbour: Path, path: Path, patience_s: float) -> int:
    last = time.monotonic() + patience_s
    while True:
        handle = _opened(neighbour)
        try:
            if _taken(handle) and _still_there(handle, neighbour):
                return handle
        except BaseException:
            os.close(handle)
            raise
        os.close(handle)
        if time.monotonic() >= last:
            raise InputError(
                f"{path.name}: another moldkit has been writing to it for {patience_s:g} s; nothing was changed. "
                "Look for one that hangs, then try again."
            )
        # Of uneven length, so that several who wait don't meet again and again.
        time.sleep(random.uniform(0.001, 0.01))


def _opened(neighbour: Path) -> int:
    try:
        return os.open(neighbour, os.O_RDWR | os.O_CREAT, 0o666)
    except PermissionError:
        # Left there by another user: it can be locked all the same, only a missing one cannot.
        if not neighbour.exists():
            raise
        return os.open(neighbour, os.O_RDONLY)


if sys.platform == "win32":

    def _taken(handle: int) -> bool:
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except PermissionError:
            return False
        return True

    def _still_there(handle: int, neighbour: Path) -> bool:
        return True

    def _release(handle: int, neighbour: Path) -> None:
        # The neighbour stays: a file that others have open cannot be removed here.
        with contextlib.suppress(OSError):
            msvcrt.locking(handle, msvcrt.LK_UNLCK, 1)
        os.close(handle)

else:

    def _taken(handle: int) -> bool:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True

    def _still_there(handle: int, neighbour: Path) -> bool:
        """Return whether the file that was locked is the one that others will find, not one removed meanwhile."""
        try:
            return os.path.samestat(os.fstat(handle), os.stat(neighbour))
        except FileNotFoundError:
            return False

    def _release(handle: int, neighbour: Path) -> None:
        # Removed while it is still held: whoever waits for it then finds that it is gone and takes a new one.
        with contextlib.suppress(OSError):
            os.unlink(neighbour)
        os.close(handle)
