"""Reading STL, as bytes or as text: three corners a triangle, nothing shared, no unit."""

from __future__ import annotations

import re
import struct

import numpy as np

from moldkit.errors import InputError
from moldkit.pattern.intake.loose import Loose
from moldkit.pattern.intake.mesh_file import check_faces
from moldkit.pattern.intake.numbers import decimals

_HEAD, _FACE = 84, 50  # [bytes]
_TRIANGLE = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("more", "<u2")])
_VERTEX = rb"vertex\s++(\S++)\s++(\S++)\s++(\S++)\s++"
# Normals are worked out anew, so what stands there does no harm.
_FACET = re.compile(
    rb"\s*+facet(?:\s++normal(?:\s++(?!outer\s)\S++){0,3}+)?+\s++outer\s++loop\s++"
    + 3 * _VERTEX
    + rb"endloop\s++endfacet(?=\s)",
    re.IGNORECASE,
)
_BETWEEN = re.compile(rb"\s*+(?:end)?+solid(?=\s|\Z)[^\r\n]*+", re.IGNORECASE)


def read_stl(content: bytes, name: str) -> Loose:
    """Return the triangles of an STL file; content: its bytes; name: of the file. Raises InputError."""
    said = struct.unpack_from("<I", content, _HEAD - 4)[0] if len(content) >= _HEAD else 0
    if said and len(content) == _HEAD + _FACE * said:
        check_faces(said, name)
        # 32 bits a number till the corners are merged: half the memory.
        corners = np.frombuffer(content, dtype=_TRIANGLE, offset=_HEAD)["corners"].reshape(-1, 3)
        return Loose(corners, np.arange(len(corners)).reshape(-1, 3))
    if content.lstrip()[:5].lower() == b"solid" and b"facet" in content[:2000].lower():
        return _read_text(content, name)
    if len(content) < _HEAD + _FACE:
        raise InputError(f"{name}: {len(content)} bytes are too few for an STL; export or copy the file again.")
    raise InputError(
        f"{name}: its head announces {said:,} triangles, which take {_HEAD + _FACE * said:,} bytes, "
        f"but the file holds {len(content):,}; it was cut off or damaged, so export or copy it again."
    )


def _read_text(content: bytes, name: str) -> Loose:
    if b"endsolid" not in content[-2000:].lower():
        raise InputError(f"{name}: the text breaks off before 'endsolid'; export or copy the file again.")
    check_faces(content.count(b"endfacet"), name)
    words: list[bytes] = []
    here, end = 0, len(content.rstrip())
    while here < end:
        found = _FACET.match(content, here)
        if found is not None:
            words.extend(found.groups())
        else:
            found = _BETWEEN.match(content, here)
            if found is None:
                line = content.count(b"\n", 0, here + 1) + 1
                raise InputError(
                    f"{name}: the text from line {line} on is no facet of an STL; export or copy the file again."
                )
        here = found.end()
    corners = decimals(words, name).reshape(-1, 3)
    return Loose(corners, np.arange(len(corners)).reshape(-1, 3))
