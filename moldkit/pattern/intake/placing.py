"""Meshes that a file places, turns and repeats, gathered into one."""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldkit.errors import InputError
from moldkit.pattern.intake.loose import Loose, names_no_vertex
from moldkit.pattern.intake.mesh_file import check_faces

_DEEPEST = 64
_MOST_PLACES = 100_000


@dataclass(frozen=True, eq=False)
class Placed:
    """One use of a mesh or an assembly; key: its name in the file; turn: 4 x 4 matrix for columns."""

    key: Hashable
    turn: NDArray[np.float64]


def gathered(
    placed: Sequence[Placed],
    meshes: Mapping[Hashable, Loose],
    assemblies: Mapping[Hashable, Sequence[tuple[Hashable, NDArray[np.float64]]]],
    name: str,
) -> Loose:
    """Return all meshes that are placed, directly or within assemblies, as one.

    placed: what the file shows; meshes, assemblies: by name, an assembly as names with their turns; name: of the
    file. Raises InputError for an assembly that holds itself, a name that stands for nothing, and too many faces.
    """
    found: list[tuple[Loose, NDArray[np.float64]]] = []
    waiting = [(each.key, each.turn, 0) for each in reversed(placed)]
    places = faces = 0
    while waiting:
        key, turn, depth = waiting.pop()
        places += 1
        if depth > _DEEPEST or places > _MOST_PLACES:
            raise InputError(f"{name}: an assembly in it holds itself, or parts without end; export it again.")
        mesh, parts = meshes.get(key), assemblies.get(key, ())
        if mesh is None and not parts:
            raise InputError(f"{name}: places an object that isn't there; export or copy the file again.")
        if mesh is not None:
            faces += len(mesh.faces)
            check_faces(faces, name)
            found.append((mesh, turn))
        waiting.extend((part, _product(turn, more), depth + 1) for part, more in reversed(parts))
    return _joined(found, name)


def _product(outer: NDArray[np.float64], inner: NDArray[np.float64]) -> NDArray[np.float64]:
    with np.errstate(all="ignore"):
        result: NDArray[np.float64] = outer @ inner
    return result


def _joined(found: Sequence[tuple[Loose, NDArray[np.float64]]], name: str) -> Loose:
    vertices, faces, before = [], [], 0
    for mesh, turn in found:
        # Checked one by one, or a number too large would name a vertex of the next mesh.
        if len(mesh.faces) and (mesh.faces.min() < 0 or mesh.faces.max() >= len(mesh.vertices)):
            raise names_no_vertex(name)
        with np.errstate(all="ignore"):
            moved = mesh.vertices if (turn == np.eye(4)).all() else mesh.vertices @ turn[:3, :3].T + turn[:3, 3]
            mirrored = np.linalg.det(turn[:3, :3]) < 0.0
        vertices.append(moved)
        faces.append((mesh.faces[:, ::-1] if mirrored else mesh.faces) + before)
        before += len(moved)
    return Loose(np.concatenate(vertices), np.concatenate(faces))
