"""A closed triangle mesh in metres, and loading one from a file whose unit somebody has said."""

from __future__ import annotations

import io
import logging
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from moldkit.errors import InputError, unknown
from moldkit.pattern.closed_surface import area_vectors, closed_surface, cone_volumes
from moldkit.pattern.mesh_file import check_faces, checked_bytes

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

METRES: dict[str, float] = {"mm": 1e-3, "cm": 1e-2, "m": 1.0, "in": 0.0254, "ft": 0.3048}
SHORTEST_SIDE, LONGEST_SIDE = 0.005, 5.0  # [m]
# A base face lies on the lowest plane to within this share of the longest side.
ON_BASE = 1e-6
# A closed mesh whose mean wall, 2 V / A, is less than this share of its longest side may be a hollow scan.
THIN_WALL = 0.02
FEWEST_FACES = 4
_Y_UP_TO_Z_UP = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, -1.0, 0.0]])


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


def load_mesh(path: str | Path, unit: str) -> Mesh:
    """Read a closed mesh from an STL, PLY, OBJ, 3MF or GLB file.

    path: the file; unit: what one unit in the file is, one of mm, cm, m, in, ft. Returns the mesh [m], z up
    (a GLB, which is y up, is turned). Raises InputError in one sentence for an unknown unit and for a file that
    is missing, of another kind, damaged, too large, open, flat, or not between 5 mm and 5 m in its longest side.
    """
    file = Path(path)
    if unit not in METRES:
        raise unknown("unit", unit, METRES, where=file.name)
    parsed = _parsed(file, checked_bytes(file))
    _check_numbers(parsed, file.name)
    # Stray vertices, which no face has, would widen the bounding box.
    parsed.remove_unreferenced_vertices()
    _check_size(float(np.ptp(parsed.vertices, axis=0).max()), unit, file.name)
    vertices, faces, notes = closed_surface(parsed, file.name)
    if file.suffix.lower() == ".glb":
        vertices = vertices @ _Y_UP_TO_Z_UP
    mesh = Mesh(file.stem, vertices * METRES[unit], faces)
    return replace(mesh, notes=(*notes, *_doubts(mesh)))


def _parsed(file: Path, content: bytes) -> Any:
    """Return trimesh's reading of a file, vertices not yet merged, so that no face has been dropped in silence.

    It is given bytes, not a path, so that a file cannot make the parser open its neighbours.
    """
    import trimesh

    # It writes to its log what went wrong on the way; without a handler that would reach the screen.
    log = logging.getLogger("trimesh")
    if not log.handlers:
        log.addHandler(logging.NullHandler())
    kind = file.suffix.lower()[1:]
    try:
        return trimesh.load_mesh(io.BytesIO(content), file_type=kind, process=False)
    except Exception:  # on rubbish the parsers raise anything at all
        raise InputError(f"{file.name}: cannot be read as {kind.upper()}; export or copy the file again.") from None


def _check_numbers(parsed: Any, name: str) -> None:
    vertices, faces = parsed.vertices, parsed.faces
    check_faces(len(faces), name)
    if len(faces) < FEWEST_FACES:
        raise InputError(f"{name}: has {len(faces)} triangles and a body needs at least 4; export it as a mesh.")
    if faces.min() < 0 or faces.max() >= len(vertices):
        raise InputError(f"{name}: a face names a vertex that isn't there; export or copy the file again.")
    bad = int((~np.isfinite(vertices[faces].reshape(len(faces), -1)).all(axis=1)).sum())
    if bad:
        raise InputError(f"{name}: {bad} triangles have coordinates that are no numbers; repair and export it again.")


def _check_size(longest: float, unit: str, name: str) -> None:
    if not SHORTEST_SIDE <= longest * METRES[unit] <= LONGEST_SIDE:
        raise InputError(
            f"{name}: the longest side is {longest:.4g} {unit}, and patterns are measured from 5 mm to 5 m; "
            f"is one unit in the file really 1 {unit}?"
        )


def _doubts(mesh: Mesh) -> tuple[str, ...]:
    """Return a sentence on a mesh that is closed but thin everywhere."""
    area = float(np.linalg.norm(mesh.area_vectors(), axis=1).sum())
    wall = 2.0 * mesh.volume() / area
    if wall >= THIN_WALL * float(np.ptp(mesh.vertices, axis=0).max()):
        return ()
    return (
        f"It is thin: about {wall * 1e3:.1f} mm from face to face; if it is a hollow scan, cap and fill it before "
        "measuring, or the inside counts as surface to be molded.",
    )
