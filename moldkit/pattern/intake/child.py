"""The process that reads meshes: it is handed bytes, never a path, and hands back numbers or one sentence.

It opens no file but the packages it needs, and ends when the process that started it does.
"""

from __future__ import annotations

import os
import queue
import sys
import threading
import traceback
from typing import Any, BinaryIO

import numpy as np

from moldkit.errors import InputError
from moldkit.pattern.intake import limits
from moldkit.pattern.intake.closed_surface import closed_surface
from moldkit.pattern.intake.formats import read_triangles
from moldkit.pattern.intake.frames import send_head, take, take_head
from moldkit.pattern.intake.surface import Wish

_LOOKING_ROUND = 2.0  # [s]


def serve() -> None:
    """Read meshes until the process that asks for them ends."""
    answers = os.fdopen(os.dup(1), "wb")
    # What a package prints must not get between the answers.
    os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
    limits.settle()
    requests: queue.SimpleQueue[tuple[dict[str, Any], bytearray]] = queue.SimpleQueue()
    threading.Thread(target=_receive, args=(sys.stdin.buffer, requests), daemon=True).start()
    while True:
        head, content = requests.get()
        _answer(answers, head, content)
        answers.flush()


def _receive(stream: BinaryIO, requests: queue.SimpleQueue[tuple[dict[str, Any], bytearray]]) -> None:
    """Take requests as they come, and end this process, whatever it is at, when none can come any more."""
    try:
        parent = os.getppid()
        while True:
            _wait_for_more(parent)
            head, size = take_head(stream)
            limits.allow(str(head["name"]), size)
            requests.put((head, take(stream, size)))
    finally:
        os._exit(0)


def _wait_for_more(parent: int) -> None:
    """Return when something can be read, or when this process has lost its parent."""
    if os.name != "posix":
        return
    import select

    # Another child of the parent may hold the other end of the pipe open; then only this tells that it is gone.
    while not select.select([0], [], [], _LOOKING_ROUND)[0]:
        if os.getppid() != parent:
            os._exit(0)


def _answer(stream: BinaryIO, head: dict[str, Any], content: bytearray) -> None:
    """Send what came of one file: a mesh, or the sentence that refuses it."""

    def progress(share: float) -> None:
        send_head(stream, {"share": share})
        stream.flush()

    try:
        vertices, faces, notes = read_surface(bytes(content) if content else b"", head, progress)
    except InputError as fault:
        send_head(stream, {"refused": str(fault)})
    except MemoryError:
        send_head(stream, {"refused": "", "memory": True})
    except Exception:  # whatever a damaged file makes of the reader, it must not end it
        send_head(stream, {"refused": "", "fault": traceback.format_exc()})
    else:
        shape = {"vertices": len(vertices), "faces": len(faces), "notes": notes}
        send_head(stream, shape, vertices.nbytes + faces.nbytes)
        stream.write(vertices.data)
        stream.write(faces.data)


def read_surface(content: bytes, head: dict[str, Any], progress: Any) -> tuple[Any, Any, tuple[str, ...]]:
    """Return vertices (n, 3) [m], faces (m, 3) and notes of the mesh in a file.

    content: the file's bytes; head: its name, unit, bodies and mend; progress: called with the finished share.
    Raises InputError.
    """
    wish = Wish(head["name"], head["unit"], head["bodies"], tuple(head["mend"]))
    with np.errstate(all="ignore"):
        loose = read_triangles(content, wish.name)
        progress(0.2)
        del content
        vertices, faces, notes = closed_surface(loose, wish, progress)
    return np.ascontiguousarray(vertices, "<f8"), np.ascontiguousarray(faces, "<i8"), notes
