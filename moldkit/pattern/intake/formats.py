"""Which reader reads which kind of mesh file."""

from __future__ import annotations

from moldkit.pattern.intake.loose import Loose
from moldkit.pattern.intake.mesh_file import kind_of
from moldkit.pattern.intake.read_3mf import read_3mf
from moldkit.pattern.intake.read_glb import read_glb
from moldkit.pattern.intake.read_obj import read_obj
from moldkit.pattern.intake.read_ply import read_ply
from moldkit.pattern.intake.read_stl import read_stl

_READERS = {"STL": read_stl, "PLY": read_ply, "OBJ": read_obj, "3MF": read_3mf, "GLB": read_glb}


def read_triangles(content: bytes, name: str) -> Loose:
    """Return the triangles of a mesh file, z up; content: its bytes; name: with its ending. Raises InputError."""
    return _READERS[kind_of(name)](content, name)
