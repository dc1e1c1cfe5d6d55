"""Triangles as a file gives them, before anything is known about the surface they make."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from moldkit.errors import InputError
from moldkit.pattern.intake.mesh_file import check_faces

FEWEST_FACES = 4
Integers = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Loose:
    """Triangles of a file in its own unit, z up, perhaps each with corners of its own.

    vertices: shape (n, 3), 32 or 64 bits a number; faces: three vertex numbers each, shape (m, 3); unit: what the
    file itself says its unit is, one of METRES, "" where it says nothing that can be believed.
    """

    vertices: NDArray[Any]
    faces: Integers
    unit: str = ""


def checked(loose: Loose, name: str) -> Loose:
    """Return the triangles with only the vertices they name.

    name: of the file. Raises InputError for too few or too many faces, a face that names no vertex, and coordinates
    that are no numbers.
    """
    vertices, faces = loose.vertices, loose.faces
    check_faces(len(faces), name)
    if len(faces) < FEWEST_FACES:
        raise InputError(f"{name}: has {len(faces)} triangles and a body needs at least 4; export it as a mesh.")
    if faces.min() < 0 or faces.max() >= len(vertices):
        raise names_no_vertex(name)
    vertices, faces = only_used(vertices, faces)
    if not np.isfinite(vertices).all():
        whole = np.isfinite(vertices).all(axis=1)
        bad = int((~whole[faces].all(axis=1)).sum())
        raise InputError(f"{name}: {bad} triangles have coordinates that are no numbers; repair and export it again.")
    return Loose(vertices, faces, loose.unit)


def names_no_vertex(name: str) -> InputError:
    """Return the error for a face whose vertices aren't all there; name: of the file."""
    return InputError(f"{name}: a face names a vertex that isn't there; export or copy the file again.")


def only_used(vertices: NDArray[Any], faces: Integers) -> tuple[NDArray[Any], Integers]:
    """Return the vertices that faces name, in their order, and the faces in the new numbers.

    vertices: shape (n, 3); faces: shape (m, 3).
    """
    used = np.zeros(len(vertices), dtype=bool)
    used[faces.ravel()] = True
    if used.all():
        return vertices, faces
    return vertices[used], (np.cumsum(used) - 1)[faces]
