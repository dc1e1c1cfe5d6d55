"""A closed triangle mesh in metres, and loading one from a file whose unit somebody has said."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from moldkit.errors import unknown
from moldkit.pattern.intake.choices import check_bodies, check_mend
from moldkit.pattern.intake.mesh_file import opened, shown
from moldkit.pattern.intake.server import server
from moldkit.pattern.intake.size import METRES
from moldkit.pattern.triangles import area_vectors, cone_volumes

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

# A base face lies on the lowest plane to within this share of the longest side.
ON_BASE = 1e-6


@dataclass(frozen=True, eq=False)
class Mesh:
    """A closed surface of triangles, seen counter-clockwise from outside, with z up.

    name: what to call it; vertices: shape (n, 3) [m]; faces: three vertex numbers a face, shape (m, 3);
    notes: sentences on what was mended or looks doubtful.
    """

    name: str
    vertices: Floats
    faces: NDArray[np.int64]
    notes: tuple[str, ...] = ()

    def corners(self) -> Floats:
        """Return the three corners of each face, shape (m, 3, 3) [m]."""
        return self.vertices[self.faces]

    def area_vectors(self) -> Floats:
        """Return the outward normal of each face, as long as its area, shape (m, 3) [m2]."""
        return area_vectors(self.corners())

    def volume(self) -> float:
        """Return the enclosed volume, a part covered twice counted twice [m3]."""
        # From one of its own points, so that a mesh far from the origin loses no digits.
        return float(cone_volumes(self.corners() - self.vertices[self.faces[0, 0]]).sum())

    def base_faces(self) -> Flags:
        """Return which faces lie on the lowest plane and look down, shape (m,)."""
        height = self.vertices[:, 2] - self.vertices[:, 2].min()
        low = height < ON_BASE * np.ptp(self.vertices, axis=0).max()
        flat: Flags = low[self.faces].all(axis=1)
        flat[flat] = area_vectors(self.vertices[self.faces[flat]])[:, 2] <= 0.0
        return flat


def load_mesh(
    path: str | Path,
    unit: str,
    *,
    bodies: str = "all",
    mend: Sequence[str] = (),
    progress: Callable[[float], None] | None = None,
) -> Mesh:
    """Read a closed mesh from an STL, PLY, OBJ, 3MF or GLB file.

    path: the file; unit: what one unit in the file is, one of mm, cm, m, in, ft; bodies: which of several separate
    bodies, "all", "largest" or a number counted by volume from "1"; mend: larger mends that are allowed, of
    intake.choices.MENDS; progress: called with the finished share, 0 to 1. Returns the mesh [m], z up (a GLB, which
    is y up, is turned). Raises InputError in one sentence for an unknown word and for a file that is missing, of
    another kind, damaged, too large, open in a way that cannot be judged, flat, or not between 5 mm and 5 m in its
    longest side. The file is read in a process of its own, with limits to its time and, except on Windows, to its
    memory and computing; it stays for the next file and ends with this process.
    """
    file = Path(path)
    name = shown(file.name)
    if unit not in METRES:
        raise unknown("unit", unit, METRES, where=name)
    check_bodies(bodies, name)
    check_mend(mend, name)
    with opened(file) as (stream, size):
        head = {"name": name, "unit": unit, "bodies": bodies, "mend": list(mend)}
        vertices, faces, notes = server().read(stream, size, head, progress)
    return Mesh(file.stem, vertices, faces, notes)
