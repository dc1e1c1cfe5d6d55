"""Make the demo patterns of Tidewater Lane Castings, an invented small casting shop, and the table in README.md.

Run it with the project's own environment: `python data/patterns/make_patterns.py [--to FOLDER]`. The same
version of numpy makes the same files; each is written beside its place and then put there whole.
"""

from __future__ import annotations

import argparse
import os
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from sculpting import corbel, finial, head, heron, knob, panel
from sculpting.tools import Surface

HERE = Path(__file__).resolve().parent
ORIGIN = "demo pattern of an invented shop, Tidewater Lane Castings; generated; in mm"


@dataclass(frozen=True)
class DemoPattern:
    """A demo pattern: the file it goes to, how it is made, and what README.md says of it."""

    file: str
    sculpt: Callable[[], Surface]
    what: str
    undercut: str
    surface: str


PATTERNS = (
    DemoPattern(
        "finial.stl",
        finial.sculpt,
        "gatepost finial: square foot, fluted stem, lobed vase, string of pearls, leaves and a scaled cone",
        "moderate",
        "varnished wood",
    ),
    DemoPattern(
        "head.ply",
        head.sculpt,
        "young person's head, the hair bound up behind, cut flat at the neck",
        "moderate",
        "sulfur-free clay",
    ),
    DemoPattern(
        "panel.stl",
        panel.sculpt,
        "relief panel with a rosette, leaf sprays and a beaded frame, flat back, drawn straight up",
        "none",
        "varnished wood",
    ),
    DemoPattern(
        "knob.stl",
        knob.sculpt,
        "ribbed control knob with a pointer, drafted to draw straight up",
        "none",
        "printed resin",
    ),
    DemoPattern(
        "heron.ply",
        heron.sculpt,
        "heron among reeds on a plinth, the legs joined to a reed so that they can be molded",
        "severe",
        "sulfur clay",
    ),
    DemoPattern(
        "corbel.stl",
        corbel.sculpt,
        "scrolled corbel with sharp moldings, lying on its wall face",
        "moderate",
        "stone",
    ),
)


def main() -> None:
    """Make every pattern, then the table."""
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--to", type=Path, default=HERE, help="folder to write to")
    folder: Path = options.parse_args().to
    folder.mkdir(parents=True, exist_ok=True)
    rows = []
    for pattern in PATTERNS:
        vertices, faces = pattern.sculpt()
        vertices = np.round(vertices, 4) + 0.0  # a tenth of a micron, and no minus zero
        content = (stl if pattern.file.endswith(".stl") else ply)(vertices, faces)
        write_whole(folder / pattern.file, content)
        rows.append(table_row(pattern, vertices, faces))
        print(rows[-1])
    write_whole(folder / "README.md", README.format(rows="\n".join(rows)).encode())


def stl(vertices: np.ndarray, faces: np.ndarray) -> bytes:
    """Return a binary STL file."""
    kind = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
    records = np.zeros(len(faces), dtype=kind)
    corners = vertices[faces]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    records["normal"] = normal / np.linalg.norm(normal, axis=1, keepdims=True)
    records["corners"] = corners
    count: bytes = np.array([len(faces)], dtype="<u4").tobytes()
    return ORIGIN.encode("ascii")[:80].ljust(80) + count + records.tobytes()


def ply(vertices: np.ndarray, faces: np.ndarray) -> bytes:
    """Return a binary PLY file."""
    header = (
        f"ply\nformat binary_little_endian 1.0\ncomment {ORIGIN}\n"
        f"element vertex {len(vertices)}\nproperty float x\nproperty float y\nproperty float z\n"
        f"element face {len(faces)}\nproperty list uchar int vertex_indices\nend_header\n"
    )
    records = np.zeros(len(faces), dtype=np.dtype([("count", "u1"), ("corners", "<i4", 3)]))
    records["count"] = 3
    records["corners"] = faces
    return header.encode("ascii") + vertices.astype("<f4").tobytes() + records.tobytes()


def table_row(pattern: DemoPattern, vertices: np.ndarray, faces: np.ndarray) -> str:
    """Return a pattern's row of the table in README.md: size in mm, volume in cubic centimetres."""
    a, b, c = (vertices[faces[:, k]] for k in range(3))
    volume = float(np.einsum("ij,ij->", a, np.cross(b, c))) / 6.0
    size = " x ".join(f"{side:.1f}" for side in np.ptp(vertices, axis=0))
    cells = (f"`{pattern.file}`", pattern.what, size, str(len(faces)), f"{volume / 1000.0:.1f}")
    return "| " + " | ".join((*cells, pattern.undercut, pattern.surface)) + " |"


def write_whole(path: Path, content: bytes) -> None:
    """Write a file so that a reader finds the old one or the new one, never a part."""
    beside = path.with_name(path.name + ".part")
    beside.write_bytes(content)
    os.replace(beside, path)


README = """# Demo patterns

Patterns of **Tidewater Lane Castings, an invented small casting shop**. Shop, pieces and clients are made up; no
piece copies an existing work or part. Every mesh is generated by our own script, `make_patterns.py` (its forms are in
`sculpting/`), which also writes this file:

    python data/patterns/make_patterns.py

Lengths in the files are in mm, z is up, and each piece stands flat on z = 0. Every mesh is one closed body, its
triangles counter-clockwise from outside. Licence: MIT, as the project.

| file | what it is | size, mm | triangles | volume, cm3 | undercut | sculpted in |
|---|---|---|---|---|---|---|
{rows}

*Undercut* is the grade a mold maker would give before anything is measured: none (draws straight up), moderate (soft
rubber springs off, or one parting line clears it), severe (several pull directions). *Sculpted in* is the surface the
shop received, in the words of `data/surfaces.csv`; it decides about sealing and cure inhibition.
"""


if __name__ == "__main__":
    main()
