"""Reading OBJ: lines of text, of which only those with points and faces are used."""

from __future__ import annotations

import itertools
import re
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from moldkit.errors import InputError
from moldkit.pattern.intake.loose import Loose
from moldkit.pattern.intake.mesh_file import check_faces
from moldkit.pattern.intake.numbers import decimals, whole_numbers
from moldkit.pattern.intake.polygons import triangles_of

Integers = NDArray[np.int64]

# What else may begin a line. A line that begins otherwise is damaged, and might have been a point.
_PASSED_OVER = frozenset(
    b"# vt vn vp g o s mg usemtl mtllib usemap maplib l p cstype deg bmat step curv curv2 surf parm trim hole scrv sp "
    b"end con bevel c_interp d_interp lod shadow_obj trace_obj ctech stech call csh".split()
)


def read_obj(content: bytes, name: str) -> Loose:
    """Return the faces of an OBJ file; content: its bytes; name: of the file. Raises InputError.

    Materials, which would stand in other files, are passed over.
    """
    if b"\0" in content:
        raise InputError(f"{name}: holds no faces in OBJ form; export it again as a polygon mesh.")
    check_faces(len(re.findall(rb"^[ \t]*f[ \t]", content, re.MULTILINE)), name)
    points, faces, before = _sorted_out(re.sub(rb"\\\r?\n", b" ", content).splitlines(), name)
    if not faces:
        raise InputError(f"{name}: holds no faces in OBJ form; export it again as a polygon mesh.")
    if any(len(row) < 3 for row in points):
        raise InputError(f"{name}: a point has fewer than three coordinates; export or copy the file again.")
    flat = list(itertools.chain.from_iterable(row[:3] for row in points))
    vertices = decimals(flat, name).reshape(-1, 3)
    groups = _polygons(faces, before, len(vertices), name)
    check_faces(sum(len(group) * (group.shape[1] - 2) for group in groups), name)
    return Loose(vertices, triangles_of(vertices, groups))


def _sorted_out(lines: Sequence[bytes], name: str) -> tuple[list[list[bytes]], list[list[bytes]], list[int]]:
    """Return the words of each point, the words of each face, and how many points stood before each face."""
    points, faces, before = [], [], []
    for number, line in enumerate(lines, 1):
        words = line.split()
        if not words:
            continue
        first = words[0]
        if first == b"v":
            points.append(words[1:])
        elif first == b"f":
            faces.append(words[1:])
            before.append(len(points))
        elif first not in _PASSED_OVER and not first.startswith(b"#"):
            told = first[:20].decode("ascii", errors="replace")
            raise InputError(f"{name}: line {number} begins with {told!r}, which no OBJ does; export it again.")
    return points, faces, before


def _polygons(faces: list[list[bytes]], before: list[int], count: int, name: str) -> list[Integers]:
    """Return the vertex numbers from 0 of the faces, one array for each number of corners."""
    corners = np.array([len(words) for words in faces])
    if corners.min() < 3:
        raise InputError(f"{name}: cannot be read as OBJ: a face has fewer than three corners; export it again.")
    words = itertools.chain.from_iterable(faces)
    flat = whole_numbers((word.partition(b"/")[0] for word in words), name)
    # Numbers count from 1 at the file's beginning, or from -1 back from the last point so far.
    flat = np.where(flat < 0, np.repeat(np.array(before), corners) + flat, flat - 1)
    if flat.min() < 0 or flat.max() >= count:
        raise InputError(f"{name}: cannot be read as OBJ: a face names a vertex that isn't there; export it again.")
    starts = np.cumsum(corners) - corners
    return [flat[starts[corners == number][:, None] + np.arange(number)] for number in np.unique(corners).tolist()]
