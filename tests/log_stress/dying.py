"""`python -m tests.log_stress.dying FOLDER STEP WHEN`: add a mold and be killed at one step of it."""

from __future__ import annotations

import os
import signal
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

from moldkit.mold_log import add_record

# Every step that touches the disk, in the order in which a write takes them.
STEPS = ("lock", "read", "make half", "write", "flush to disk", "put in place", "unlock")
MOMENTS = [(step, when) for step in STEPS for when in ("before", "after") if (step, when) != ("write", "after")]


def _die() -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def _deadly(done: Callable[..., Any], when: str) -> Callable[..., Any]:
    """Return a function that kills this process before or after it does what it did."""

    def step(*given: Any, **named: Any) -> Any:
        if when == "after":
            done(*given, **named)
        _die()

    return step


class _HalfWriting:
    """A file of which only half reaches the disk before the process is killed."""

    def __init__(self, handle: int, mode: str) -> None:
        self.handle = handle

    def __enter__(self) -> _HalfWriting:
        return self

    def __exit__(self, *fault: object) -> None:
        os.close(self.handle)

    def write(self, content: bytes) -> None:
        os.write(self.handle, content[: len(content) // 2])
        _die()


def main(folder: Path, step: str, when: str) -> None:
    """Add the mold "dying" and be killed before or after one step."""
    import fcntl

    match step:
        case "lock":
            fcntl.flock = _deadly(fcntl.flock, when)
        case "read":
            Path.read_bytes = _only_of_the_log(Path.read_bytes, when)  # type: ignore[method-assign]
        case "make half":
            tempfile.mkstemp = _deadly(tempfile.mkstemp, when)
        case "write":
            os.fdopen = _HalfWriting  # type: ignore[assignment]
        case "flush to disk":
            os.fsync = _deadly(os.fsync, when)
        case "put in place":
            os.replace = _deadly(os.replace, when)
        case "unlock":
            os.unlink = _deadly(os.unlink, when)
    add_record(folder, {"mold": "dying", "rubber": "latex", "casting": "plaster"})


def _only_of_the_log(read: Callable[[Path], bytes], when: str) -> Callable[[Path], bytes]:
    """Return a way to read a file that is deadly for the log alone; the tables are read before it."""
    deadly = _deadly(read, when)
    return lambda path: deadly(path) if path.name == "mold_log.csv" else read(path)


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2], sys.argv[3])
