"""One start at a time works on `.venv`: an operating-system lock on a file, gone with whoever holds it."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from moldkit.start.progress import Progress


def _try(file: IO[bytes]) -> bool:
    """Take the lock on `file` if nobody holds it."""
    try:
        if sys.platform == "win32":
            import msvcrt

            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True


@contextmanager
def turn(path: Path, progress: Progress) -> Iterator[None]:
    """Hold the lock file `path`; while another start holds it, wait and say so."""
    with path.open("ab") as file:
        if not _try(file):
            progress.step("another start is setting up .venv; waiting for it")
            while not _try(file):
                progress.still("still waiting for the other start")
                time.sleep(0.2)
        yield
