"""What a process that reads an unknown file may use, by the limits a POSIX system offers; Windows has none of them."""

from __future__ import annotations

import contextlib

from moldkit.pattern.intake.mesh_file import MOST_UNPACKED_BYTES, kind_of

_BYTES_FOR_ANY, _BYTES_PER_BYTE = 2_000_000_000, 14
_SECONDS_FOR_ANY, _SECONDS_PER_MB = 20.0, 1.0
# A busy machine may make a process wait that takes little time of its own.
_WAITING = 3.0


def _weight(name: str, size: int) -> int:
    """Return how many bytes there may be to read in a file, unpacked."""
    return MOST_UNPACKED_BYTES if kind_of(name) == "3MF" else size


def most_memory(name: str, size: int) -> int:
    """Return how much memory the reading of a file may take [bytes]; name: with its ending; size: [bytes]."""
    return _BYTES_FOR_ANY + _BYTES_PER_BYTE * _weight(name, size)


def most_computing(name: str, size: int) -> float:
    """Return how long the reading of a file may compute [s]; name: with its ending; size: [bytes]."""
    return _SECONDS_FOR_ANY + _SECONDS_PER_MB * _weight(name, size) / 1e6


def most_waiting(name: str, size: int) -> float:
    """Return how long may be waited for a file's reading [s]; name: with its ending; size: [bytes]."""
    return _WAITING * most_computing(name, size)


def settle() -> None:
    """Keep this process from writing any file, and from leaving a picture of its memory when it breaks."""
    with contextlib.suppress(ImportError):
        import resource

        for kind in (resource.RLIMIT_CORE, resource.RLIMIT_FSIZE):
            with contextlib.suppress(ValueError, OSError):
                resource.setrlimit(kind, (0, 0))


def allow(name: str, size: int) -> None:
    """Set what this process may use for its next file; name: with its ending; size: [bytes]."""
    with contextlib.suppress(ImportError):
        import resource

        used = resource.getrusage(resource.RUSAGE_SELF)
        seconds = int(used.ru_utime + used.ru_stime + most_computing(name, size)) + 1
        for kind, most in ((resource.RLIMIT_AS, most_memory(name, size)), (resource.RLIMIT_CPU, seconds)):
            # Some systems know a limit and refuse to set it.
            with contextlib.suppress(ValueError, OSError):
                resource.setrlimit(kind, (most, resource.getrlimit(kind)[1]))
