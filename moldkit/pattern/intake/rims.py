"""The rims of an open surface: loops of edges that have one face only."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldkit.errors import InputError
from moldkit.pattern.intake.edges import Edges
from moldkit.pattern.intake.polygons import cut_one

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Rim:
    """One loop round a hole; vertices: their numbers, in the order in which a face that fills it has them.

    lowest, highest: of its points [units of the file]; length: once round [units of the file].
    """

    vertices: Integers
    lowest: float
    highest: float
    length: float


def rims_of(vertices: Floats, faces: Integers, edges: Edges, name: str) -> list[Rim]:
    """Return the rims of a surface whose faces agree which side is out, the longest first.

    vertices: shape (n, 3); faces: shape (m, 3); edges: of the faces; name: of the file. Raises InputError where
    three faces or more meet at an open edge.
    """
    many = int((edges.open() & (edges.count > 1)).sum())
    if many:
        raise InputError(
            f"{name}: the surface is open along {int(edges.open().sum())} edges, and along {many} of them three faces "
            "or more meet; take out walls inside it and close the holes, then export it again."
        )
    half = edges.halves[edges.first[edges.count == 1]]
    start, end = faces.ravel()[half], np.roll(faces, -1, axis=1).ravel()[half]
    loops = _loops(end.tolist(), start.tolist())
    return sorted((_rim(vertices, np.array(loop)) for loop in loops), key=lambda rim: -rim.length)


def _loops(start: list[int], end: list[int]) -> list[list[int]]:
    """Return loops, none of which meets itself, that walk each edge once."""
    onward: dict[int, list[int]] = {}
    for a, b in zip(start, end, strict=True):
        onward.setdefault(a, []).append(b)
    found = []
    for first in start:
        path, place = [first], {first: 0}
        while onward.get(path[-1]):
            here = onward[path[-1]].pop()
            if here in place:
                found.append(path[place[here] :])
                for passed in path[place[here] + 1 :]:
                    del place[passed]
                del path[place[here] + 1 :]
            else:
                place[here] = len(path)
                path.append(here)
    return found


def _rim(vertices: Floats, loop: Integers) -> Rim:
    points = vertices[loop]
    length = float(np.linalg.norm(points - np.roll(points, -1, axis=0), axis=1).sum())
    return Rim(loop, float(points[:, 2].min()), float(points[:, 2].max()), length)


def filled(vertices: Floats, rims: list[Rim]) -> Integers:
    """Return triangles that close rims one by one, from rim to rim without new vertices, shape (k, 3).

    vertices: shape (n, 3).
    """
    return np.concatenate(
        [np.empty((0, 3), dtype=np.int64), *(cut_one(vertices[rim.vertices], rim.vertices) for rim in rims)]
    )


def areas(vertices: Floats, faces: Integers) -> Floats:
    """Return the area of each face; vertices: shape (n, 3); faces: shape (m, 3)."""
    a, b, c = (vertices[faces[:, k]] for k in range(3))
    result: Floats = np.linalg.norm(np.cross(b - a, c - a), axis=1) / 2.0
    return result
