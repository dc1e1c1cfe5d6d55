"""Mesh files written for the tests, and the sentences with which they are refused."""

from __future__ import annotations

import struct
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
import trimesh
from numpy.typing import NDArray

from moldkit.errors import InputError
from moldkit.pattern.mesh import Mesh, load_mesh


def block() -> trimesh.Trimesh:
    """A box of 30 x 20 x 10, in millimetres, its lower corner in the origin."""
    shape: trimesh.Trimesh = trimesh.creation.box((30.0, 20.0, 10.0))
    shape.apply_translation([15.0, 10.0, 5.0])
    return shape


def exported(shape: trimesh.Trimesh, kind: str) -> bytes:
    content = shape.export(file_type=kind)
    return content.encode() if isinstance(content, str) else bytes(content)


def written(folder: Path, name: str, content: bytes) -> Path:
    path = folder / name
    path.write_bytes(content)
    return path


def refusal(path: Path, unit: str = "mm", bodies: str = "all", mend: Sequence[str] = ()) -> str:
    """The sentence with which a file is refused; it names the file and is one line."""
    with pytest.raises(InputError) as caught:
        load_mesh(path, unit, bodies=bodies, mend=mend)
    words = str(caught.value)
    # A sentence made of a fault inside the reader would hide the fault.
    assert caught.value.__cause__ is None
    assert path.name in words
    assert "\n" not in words
    assert words[-1] in ".?"
    return words


def triangles_stl(triangles: NDArray[np.float64]) -> bytes:
    """A binary STL: an 80-byte head, the count, and 50 bytes a triangle."""
    body = b"".join(struct.pack("<12fH", 0, 0, 0, *np.ravel(t), 0) for t in triangles)
    return b"\0" * 80 + struct.pack("<I", len(triangles)) + body


def stl(folder: Path, *shapes: trimesh.Trimesh | NDArray[np.float64]) -> Path:
    """An STL in millimetres of several shapes, or of triangles, shape (m, 3, 3)."""
    corners = [np.array(shape.triangles) if isinstance(shape, trimesh.Trimesh) else shape for shape in shapes]
    return written(folder, "part.stl", triangles_stl(np.concatenate(corners)))


def loaded(folder: Path, *shapes: trimesh.Trimesh | NDArray[np.float64], mend: Sequence[str] = ()) -> Mesh:
    return load_mesh(stl(folder, *shapes), "mm", mend=mend)


def only(shape: trimesh.Trimesh, kept: NDArray[np.bool_]) -> NDArray[np.float64]:
    """The triangles of a shape that are kept, shape (m, 3, 3)."""
    return np.array(shape.triangles)[kept]
