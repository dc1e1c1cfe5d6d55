"""Starting the process that reads meshes, asking it, and ending it; one for all files of a session."""

from __future__ import annotations

import atexit
import errno
import importlib.util
import os
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import IO, Any, BinaryIO, cast

import numpy as np
from numpy.typing import NDArray

from moldkit.errors import InputError
from moldkit.pattern.intake.frames import Broken, send_head, take, take_head
from moldkit.pattern.intake.limits import most_computing, most_memory, most_waiting

Answer = tuple[NDArray[np.float64], NDArray[np.int64], tuple[str, ...]]

_PIECE = 1 << 20
# Signals by their numbers, which Windows has not by name.
_KILLED, _COMPUTED_TOO_LONG = 9, 24
_DYING = 0.5  # [s]
_NEEDED = ("moldkit", "numpy", "scipy", "igl", "manifold3d")
_BEGIN = "import sys; sys.path.extend(sys.argv[1:]); from moldkit.pattern.intake.child import serve; serve()"
# One thread each: a library that starts more reserves memory for all of them, which the limit counts.
_ONE_THREAD = {name: "1" for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")}


class MeshServer:
    """A process that reads meshes, started when the first is asked for and again after it was ended."""

    def __init__(self) -> None:
        """Start nothing yet."""
        self._lock = threading.Lock()
        self._process: subprocess.Popen[bytes] | None = None

    def read(
        self, stream: BinaryIO, size: int, head: dict[str, Any], progress: Callable[[float], None] | None
    ) -> Answer:
        """Return vertices (n, 3) [m], faces (m, 3) and notes of the mesh in a file.

        stream, size: the file, open, and its length [bytes]; head: its name, unit, bodies and mend; progress: called
        with the finished share, 0 to 1. Raises InputError. Several threads may ask; one file is read at a time.
        """
        with self._lock:
            try:
                return self._asked(stream, size, head, progress)
            except InputError:
                raise
            except BaseException:
                # What is still to come belongs to no later question.
                self._end()
                raise

    def end(self) -> None:
        """End the process; a later question starts a new one."""
        with self._lock:
            self._end()

    def pid(self) -> int | None:
        """Return the number of the process, None where none runs."""
        return self._process.pid if self._process is not None and self._process.poll() is None else None

    def _asked(
        self, stream: BinaryIO, size: int, head: dict[str, Any], progress: Callable[[float], None] | None
    ) -> Answer:
        name = str(head["name"])
        process = self._running(name)
        seconds = most_waiting(name, size)
        try:
            with _ended_after(process, seconds) as too_late:
                _send(_pipe(process.stdin), stream, size, head)
                return _received(_pipe(process.stdout), name, progress)
        except (Broken, OSError) as broken:
            # Where it ended of itself, how tells why.
            with suppress(subprocess.TimeoutExpired):
                process.wait(_DYING)
            code = process.returncode
            self._end()
            if isinstance(broken, Shortened):
                raise InputError(f"{name}: became shorter while it was read; wait till it is written whole.") from None
            spent = isinstance(broken, Spent) or code == -_KILLED
            raise _why(name, size, seconds if too_late.is_set() else None, spent, code) from None

    def _running(self, name: str) -> subprocess.Popen[bytes]:
        if self._process is None or self._process.poll() is not None:
            self._end()
            try:
                self._process = _start()
            except OSError as fault:
                raise InputError(
                    f"{name}: cannot be read, as no second process can be started ({fault.strerror}); close other "
                    "programs and try again."
                ) from None
        return self._process

    def _end(self) -> None:
        process, self._process = self._process, None
        if process is None:
            return
        process.kill()
        for pipe in (process.stdin, process.stdout):
            try:
                if pipe is not None:
                    pipe.close()
            except OSError:  # what was not sent yet cannot be any more
                continue
        process.wait()


class Spent(Broken):
    """The process ran out of memory."""


class Shortened(Broken):
    """The file lost its end while it was sent."""


class ReaderFault(Exception):
    """What went wrong within the process that reads, as it told it: a fault of moldkit's, not of the file's."""


def _start() -> subprocess.Popen[bytes]:
    """Start the process: with no settings, start-up code or packages of the user's, on the paths that are in use."""
    # In a Windows venv sys.executable is a launcher, and ending it would not end the Python it started.
    python = getattr(sys, "_base_executable", sys.executable) if os.name == "nt" else sys.executable
    if not python:
        raise OSError(errno.ENOENT, "this program does not say where its Python is")
    return subprocess.Popen(
        [python, "-I", "-S", "-c", _BEGIN, *_package_folders()],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        env={**os.environ, **_ONE_THREAD},
        # A folder that is there as long as moldkit is, whatever becomes of the one the user is in.
        cwd=str(Path(__file__).parent),
        # Ctrl-C in the terminal is for the process that asks, which then ends this one.
        start_new_session=os.name == "posix",
        creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
    )


def _package_folders() -> Sequence[str]:
    """Return the folders in which the packages needed lie."""
    found: dict[str, None] = {}
    for name in _NEEDED:
        spec = importlib.util.find_spec(name)
        if spec is not None and spec.origin is not None:
            origin = Path(spec.origin).absolute()
            # A package's folder lies where a single module would.
            found[str(origin.parents[1] if spec.submodule_search_locations else origin.parent)] = None
    return list(found)


def _pipe(pipe: IO[bytes] | None) -> BinaryIO:
    assert pipe is not None, "both pipes were asked for"
    return cast(BinaryIO, pipe)


@contextmanager
def _ended_after(process: subprocess.Popen[bytes], seconds: float) -> Iterator[threading.Event]:
    """End a process that isn't done in time; yields what then is set."""
    too_late = threading.Event()

    def end() -> None:
        too_late.set()
        process.kill()

    timer = threading.Timer(seconds, end)
    timer.daemon = True
    timer.start()
    try:
        yield too_late
    finally:
        timer.cancel()
        timer.join()


def _send(pipe: BinaryIO, stream: BinaryIO, size: int, head: dict[str, Any]) -> None:
    send_head(pipe, head, size)
    left = size
    while left:
        piece = stream.read(min(_PIECE, left))
        if not piece:
            raise Shortened
        pipe.write(piece)
        left -= len(piece)
    pipe.flush()


def _received(pipe: BinaryIO, name: str, progress: Callable[[float], None] | None) -> Answer:
    """Return what comes of a file, having passed on how far it is."""
    while True:
        head, bytes_to_come = take_head(pipe)
        if "share" in head:
            if progress is not None:
                progress(float(head["share"]))
        elif head.get("memory"):
            raise Spent
        elif "fault" in head:
            raise InputError(f"{name}: cannot be read; export or copy the file again.") from ReaderFault(head["fault"])
        elif "refused" in head:
            raise InputError(str(head["refused"]))
        else:
            return _checked(pipe, head, bytes_to_come)


def _checked(pipe: BinaryIO, head: dict[str, Any], size: int) -> Answer:
    """Return the arrays that follow, which must be what they are said to be."""
    n, m = int(head["vertices"]), int(head["faces"])
    if size != 24 * (n + m) or min(n, m) < 1:
        raise Broken
    vertices = np.frombuffer(take(pipe, 24 * n), dtype="<f8").reshape(n, 3).astype(np.float64, copy=False)
    faces = np.frombuffer(take(pipe, 24 * m), dtype="<i8").reshape(m, 3).astype(np.int64, copy=False)
    if faces.min() < 0 or faces.max() >= n or not np.isfinite(vertices).all():
        raise Broken
    return vertices, faces, tuple(str(note) for note in head["notes"])


def _why(name: str, size: int, seconds: float | None, spent: bool, code: int | None) -> InputError:
    """Return the sentence for a process that ended without an answer.

    seconds: how long was waited, None where it ended of itself; spent: for want of memory; code: it ended with.
    """
    if seconds is not None:
        what = f"reading it took more than {seconds:.0f} s"
    elif code == -_COMPUTED_TOO_LONG:
        what = f"reading it took more than {most_computing(name, size):.0f} s of computing"
    elif spent:
        what = f"reading it took more than {most_memory(name, size) / 1e9:.1f} GB of memory"
    else:
        return InputError(f"{name}: its reading broke off; export or copy the file again.")
    return InputError(f"{name}: {what}, more than an ordinary mesh of its length; reduce it, or export it as STL.")


_server = MeshServer()
atexit.register(_server.end)


def _forget() -> None:
    """Leave the process of the parent to the parent, after a fork."""
    global _server  # noqa: PLW0603 - a forked process has no other way to be rid of what it inherited
    _server = MeshServer()


if hasattr(os, "register_at_fork"):
    os.register_at_fork(after_in_child=_forget)


def server() -> MeshServer:
    """Return the process that reads the meshes of this session."""
    return _server
