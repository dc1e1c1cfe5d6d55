"""A surface while it is mended, and what was said about the file it comes from."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from moldkit.pattern.intake.edges import Edges, edges_of
from moldkit.pattern.intake.loose import only_used
from moldkit.pattern.intake.size import longest_side

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]


@dataclass(frozen=True)
class Wish:
    """What was said about a file: its name; what its unit is; which bodies to take; larger mends that are allowed."""

    name: str
    unit: str
    bodies: str = "all"
    mend: tuple[str, ...] = ()


@dataclass(eq=False)
class Surface:
    """A surface while it is mended: vertices, shape (n, 3) [units of the file]; faces, shape (m, 3); notes so far."""

    vertices: Floats
    faces: Integers
    notes: list[str] = field(default_factory=list)

    @cached_property
    def edges(self) -> Edges:
        """The edges of the faces as they are now."""
        return edges_of(self.faces)

    @cached_property
    def longest(self) -> float:
        """The longest side of the bounding box [units of the file]."""
        return longest_side(self.vertices)

    def change(self, faces: Integers, vertices: Floats | None = None) -> None:
        """Give the surface other faces, shape (m, 3), and perhaps other vertices, shape (n, 3)."""
        self.faces = np.ascontiguousarray(faces)
        self.__dict__.pop("edges", None)
        if vertices is not None:
            self.vertices = vertices
            self.__dict__.pop("longest", None)

    def keep(self, kept: NDArray[np.bool_]) -> None:
        """Drop the other faces; kept: shape (m,)."""
        vertices, faces = only_used(self.vertices, self.faces[kept])
        self.change(faces, vertices)
