"""How the process that reads meshes and the one that asked talk: a length, a head in JSON, then raw bytes."""

from __future__ import annotations

import json
import struct
from typing import Any, BinaryIO

_MARK = b"MESH"
_HEAD = struct.Struct("<4sIQ")
_LONGEST_TEXT = 10_000_000
_PIECE = 1 << 20


class Broken(Exception):
    """The other side has ended, or sends what is no frame."""


def send_head(stream: BinaryIO, head: dict[str, Any], size: int = 0) -> None:
    """Send the beginning of a frame; head: JSON; size: how many raw bytes the sender will write after it."""
    text = json.dumps(head).encode("ascii")
    stream.write(_HEAD.pack(_MARK, len(text), size) + text)


def take_head(stream: BinaryIO) -> tuple[dict[str, Any], int]:
    """Return the head of the next frame and how many raw bytes follow it; raises Broken."""
    mark, length, size = _HEAD.unpack(take(stream, _HEAD.size))
    if mark != _MARK or length > _LONGEST_TEXT:
        raise Broken
    try:
        head = json.loads(take(stream, length))
    except ValueError:
        raise Broken from None
    if not isinstance(head, dict):
        raise Broken
    return head, size


def take(stream: BinaryIO, size: int) -> bytearray:
    """Return exactly so many bytes; raises Broken where the stream ends before."""
    found = bytearray(size)
    view = memoryview(found)
    done = 0
    while done < size:
        got = stream.readinto(view[done : done + _PIECE])  # type: ignore[attr-defined]
        if not got:
            raise Broken
        done += got
    return found
