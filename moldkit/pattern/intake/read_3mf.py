"""Reading 3MF: a zip of XML, in which a build places objects, made of triangles or of other objects."""

from __future__ import annotations

import io
import lzma
import zipfile
import zlib
from collections.abc import Callable, Hashable
from dataclasses import dataclass, field
from typing import Any
from xml.parsers import expat

import numpy as np
from numpy.typing import NDArray

from moldkit.errors import InputError
from moldkit.pattern.intake.loose import Loose
from moldkit.pattern.intake.mesh_file import MOST_UNPACKED_BYTES, check_faces
from moldkit.pattern.intake.placing import Placed, gathered

# Triangles written as text shrink to about a tenth; a hundredfold is no honest mesh.
MOST_SHRINKING = 100
_MOST_PARTS = 10_000
_PIECE = 1 << 20
_DAMAGED_ZIP = (
    zipfile.BadZipFile, zlib.error, lzma.LZMAError, OSError, NotImplementedError, RuntimeError, EOFError, ValueError
)  # fmt: skip
_ROOT = "3d/3dmodel.model"
_SPACE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
_UNITS = {"millimeter": "mm", "centimeter": "cm", "meter": "m", "inch": "in", "foot": "ft"}
_LEFT_OUT = ("support", "other")

# An object by the part of the zip it stands in and its number there.
ObjectKey = Hashable


@dataclass
class _Model:
    """What the models of one file hold: meshes and assemblies by (part, id), and what the build places.

    root: the model whose build counts; left_out: objects that are no part of the pattern.
    """

    meshes: dict[ObjectKey, Loose] = field(default_factory=dict)
    assemblies: dict[ObjectKey, list[tuple[ObjectKey, NDArray[np.float64]]]] = field(default_factory=dict)
    build: list[tuple[ObjectKey, NDArray[np.float64]]] = field(default_factory=list)
    left_out: set[ObjectKey] = field(default_factory=set)
    unit: str = ""
    root: str = _ROOT


def read_3mf(content: bytes, name: str) -> Loose:
    """Return the triangles that a 3MF file's build places; content: its bytes; name: of the file.

    Raises InputError for a damaged zip, one that unpacks to over 250 MB or a hundredfold, and a model that is no
    3MF or declares a document type.
    """
    parts = _models(content, name)
    model = _Model(root=_ROOT if _ROOT in parts else min(parts))
    for part, text in parts.items():
        _PartReader(part, model, name).read(text)
    placed = [Placed(key, turn) for key, turn in model.build if key not in model.left_out]
    if not placed:
        raise InputError(f"{name}: its build places no object; export it again as 3MF.")
    loose = gathered(placed, model.meshes, model.assemblies, name)
    return Loose(loose.vertices, loose.faces, unit=_UNITS.get(model.unit, ""))


def _models(content: bytes, name: str) -> dict[str, bytes]:
    """Return the XML of each model in the zip by its path."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            parts = archive.infolist()
            _check_unpacked(sum(part.file_size for part in parts), len(content), name)
            found = {part.filename: part for part in parts if part.filename.lower().endswith(".model")}
            if not found:
                raise InputError(f"{name}: is a zip without a 3MF model in it; export it again as 3MF.")
            if len(parts) > _MOST_PARTS:
                raise InputError(f"{name}: holds {len(parts):,} files, more than any 3MF; export it again.")
            return {path.strip("/").lower(): _unpacked(archive, found[path]) for path in sorted(found)}
    except _DAMAGED_ZIP:
        raise InputError(f"{name}: is not a whole 3MF file; export or copy it again.") from None


def _unpacked(archive: zipfile.ZipFile, part: zipfile.ZipInfo) -> bytes:
    """Return one file of a zip, unpacked piece by piece, as one that is longer than it says would be unpacked whole."""
    with archive.open(part) as stream:
        return b"".join(iter(lambda: stream.read(_PIECE), b""))


def _check_unpacked(unpacked: int, packed: int, name: str) -> None:
    if unpacked > MOST_UNPACKED_BYTES or unpacked > 1e6 + MOST_SHRINKING * packed:
        raise InputError(
            f"{name}: unpacks from {packed / 1e6:.1f} MB to {unpacked / 1e6:.0f} MB, more than a mesh of "
            f"{MOST_UNPACKED_BYTES / 1e6:.0f} MB or one that shrinks a hundredfold; reduce it, or export it as STL."
        )


class _PartReader:
    """Reads one XML part of the zip into the model, one element at a time."""

    def __init__(self, part: str, model: _Model, name: str) -> None:
        self._part, self._model, self._name = part, model, name
        self._object: ObjectKey | None = None
        # As text till an object ends: millions of single numbers are read faster together.
        self._vertices: list[str] = []
        self._faces: list[str] = []
        self._in_build = False
        begins = {
            "vertex": self._vertex, "triangle": self._triangle, "object": self._begin_object,
            "component": self._component, "build": self._begin_build, "item": self._place, "model": self._begin_model,
        }  # fmt: skip
        self._begins = {f"{space}{word}": begin for word, begin in begins.items() for space in (f"{_SPACE} ", "")}

    def read(self, text: bytes) -> None:
        """Read the part; raises InputError where it is no 3MF model."""
        parser = expat.ParserCreate(namespace_separator=" ")
        parser.StartElementHandler = self._begin
        parser.EndElementHandler = self._end
        parser.StartDoctypeDeclHandler = self._refuse_document_type
        try:
            parser.Parse(text, True)
        except expat.ExpatError as fault:
            raise InputError(
                f"{self._name}: cannot be read as 3MF: its XML breaks at line {fault.lineno}; export it again."
            ) from None
        except (LookupError, ValueError, OverflowError):
            raise InputError(
                f"{self._name}: cannot be read as 3MF: a part of it has not the numbers it needs; export it again."
            ) from None

    def _refuse_document_type(self, *_: Any) -> None:
        # An entity declared in a document type can unfold to gigabytes; a 3MF needs none.
        raise InputError(f"{self._name}: declares a document type, which no 3MF does; export it again.")

    def _begin(self, tag: str, said: dict[str, str]) -> None:
        begin = self._begins.get(tag)
        if begin is not None:
            begin(said)

    def _vertex(self, said: dict[str, str]) -> None:
        self._vertices += (said["x"], said["y"], said["z"])

    def _triangle(self, said: dict[str, str]) -> None:
        self._faces += (said["v1"], said["v2"], said["v3"])

    def _begin_object(self, said: dict[str, str]) -> None:
        self._object = (self._part, said["id"])
        self._vertices, self._faces = [], []
        if self._object in self._model.meshes or self._object in self._model.assemblies:
            raise InputError(f"{self._name}: has two objects with the number {said['id'][:20]!r}; export it again.")
        if said.get("type") in _LEFT_OUT:
            self._model.left_out.add(self._object)

    def _component(self, said: dict[str, str]) -> None:
        if self._object is not None:
            self._model.assemblies.setdefault(self._object, []).append(self._reference(said))

    def _begin_build(self, said: dict[str, str]) -> None:
        self._in_build = self._part == self._model.root

    def _place(self, said: dict[str, str]) -> None:
        if self._in_build:
            self._model.build.append(self._reference(said))

    def _begin_model(self, said: dict[str, str]) -> None:
        if self._part == self._model.root:
            self._model.unit = said.get("unit", "")

    def _end(self, tag: str) -> None:
        if tag in (f"{_SPACE} build", "build"):
            self._in_build = False
        elif tag in (f"{_SPACE} object", "object") and self._object is not None:
            if self._faces:
                check_faces(len(self._faces) // 3, self._name)
                vertices = np.array(_numbers(self._vertices, float), dtype=np.float64).reshape(-1, 3)
                faces = np.array(_numbers(self._faces, int), dtype=np.int64).reshape(-1, 3)
                self._model.meshes[self._object] = Loose(vertices, faces)
            self._object = None

    def _reference(self, said: dict[str, str]) -> tuple[ObjectKey, NDArray[np.float64]]:
        """Return which object an element names, perhaps in another part of the zip, and the turn and shift it gets."""
        path = next((value for key, value in said.items() if key.rpartition(" ")[2] == "path"), self._part)
        return (path.strip("/").lower(), said["objectid"]), _transform(said.get("transform"))


def _numbers(words: list[str], kind: Callable[[str], Any]) -> list[Any]:
    """Return words as numbers; raises ValueError for one that isn't, or that only Python would read as one."""
    if "_" in "".join(words):
        raise ValueError("an underscore in a number")
    return list(map(kind, words))


def _transform(text: str | None) -> NDArray[np.float64]:
    """Return a 4 x 4 matrix for columns from the twelve numbers of a 3MF, which is written for rows."""
    matrix = np.eye(4)
    if text is not None:
        matrix[:3, :] = np.array(_numbers(text.split(), float)).reshape(4, 3).T
    return matrix
