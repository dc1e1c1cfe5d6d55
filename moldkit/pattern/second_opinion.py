"""What another library measures on the same file, so that nobody has to take our word for it."""

from __future__ import annotations

import io
import logging
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from moldkit.errors import InputError
from moldkit.pattern.intake.size import METRES


@dataclass(frozen=True)
class SecondOpinion:
    """A file as a general mesh library reads and measures it.

    library: its name and version; triangles; watertight; volume [m3]; area [m2]; longest: side of the box [m].
    """

    library: str
    triangles: int
    watertight: bool
    volume: float
    area: float
    longest: float


def second_opinion(path: str | Path, unit: str) -> SecondOpinion:
    """Return what trimesh reads in a mesh file and measures on it, with none of our code in between.

    path: a file that `load_mesh` has taken: here nothing is checked or mended, and nothing is limited; unit: what one
    unit in it is. Raises InputError where the library cannot read it.
    """
    import trimesh

    log = logging.getLogger("trimesh")
    if not log.handlers:
        log.addHandler(logging.NullHandler())
    file = Path(path)
    try:
        read: Any = trimesh.load_mesh(io.BytesIO(file.read_bytes()), file_type=file.suffix[1:].lower())
        read.merge_vertices(merge_tex=True, merge_norm=True)
        measures = float(read.volume), float(read.area), float(np.ptp(read.vertices, axis=0).max())
    except Exception as fault:  # on what it cannot read the library raises anything at all
        raise InputError(f"{file.name}: trimesh cannot read it ({type(fault).__name__}).") from None
    metre = METRES[unit]
    return SecondOpinion(
        f"trimesh {trimesh.__version__}", len(read.faces), bool(read.is_watertight), measures[0] * metre**3,
        measures[1] * metre**2, measures[2] * metre,
    )  # fmt: skip
