"""Reading PLY, as bytes of either order or as text: a head that says what follows, then exactly that."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldkit.errors import InputError
from moldkit.pattern.intake.loose import Loose, names_no_vertex
from moldkit.pattern.intake.mesh_file import check_faces
from moldkit.pattern.intake.numbers import decimals
from moldkit.pattern.intake.polygons import triangles_of

_TYPES = {
    "char": "i1", "uchar": "u1", "short": "i2", "ushort": "u2", "int": "i4", "uint": "u4", "float": "f4",
    "double": "f8", "int8": "i1", "uint8": "u1", "int16": "i2", "uint16": "u2", "int32": "i4", "uint32": "u4",
    "float32": "f4", "float64": "f8",
}  # fmt: skip
_ORDERS = {"ascii": "", "binary_little_endian": "<", "binary_big_endian": ">"}
_CORNERS = ("vertex_indices", "vertex_index")
_LONGEST_HEAD, _MOST_ROWS, _MOST_PROPERTIES = 100_000, 50_000_000, 200


@dataclass(frozen=True)
class _Property:
    """One value of a row, or a list of values; counted_by: the type of a list's length, "" for one value."""

    name: str
    type: str
    counted_by: str = ""


@dataclass(frozen=True)
class _Element:
    """One table of the file."""

    name: str
    rows: int
    properties: tuple[_Property, ...]


def read_ply(content: bytes, name: str) -> Loose:
    """Return the faces of a PLY file; content: its bytes; name: of the file. Raises InputError."""
    order, elements, start = _head(content, name)
    faces = next((each for each in elements if each.name == "face" and each.rows), None)
    if faces is None:
        raise InputError(f"{name}: holds points and no faces; make a surface of the scan before exporting it.")
    check_faces(faces.rows, name)
    body = _Text(content[start:], name) if order == "" else _Bytes(content, start, order, name)
    found: dict[str, dict[str, list[NDArray[np.float64]]]] = {}
    for element in elements:
        found.setdefault(element.name, {}).update(_table(body, element))
    body.check_end()
    vertex, face = found.get("vertex", {}), found["face"]
    if not all(axis in vertex for axis in "xyz"):
        raise InputError(f"{name}: its vertices have no x, y and z; export it again.")
    corners = next((face[word] for word in _CORNERS if word in face), None)
    if corners is None:
        raise InputError(f"{name}: its faces name no vertices; export it again as a polygon mesh.")
    vertices = np.concatenate([vertex[axis][0] for axis in "xyz"], axis=1)
    return Loose(vertices, _triangles(vertices, corners, name))


def _triangles(vertices: NDArray[np.float64], corners: list[NDArray[np.float64]], name: str) -> NDArray[np.int64]:
    groups = [group for group in corners if len(group)]
    if any(group.shape[1] < 3 for group in groups):
        raise InputError(f"{name}: a face has fewer than three corners; export or copy the file again.")
    check_faces(sum(len(group) * (group.shape[1] - 2) for group in groups), name)
    for group in groups:
        if not ((group >= 0) & (group < len(vertices)) & (group == np.floor(group))).all():
            raise names_no_vertex(name)
    return triangles_of(vertices, [group.astype(np.int64) for group in groups])


def _head(content: bytes, name: str) -> tuple[str, list[_Element], int]:
    """Return the byte order ("" for text), the tables announced, and where they begin."""
    end = re.search(rb"(?:^|[\r\n])end_header[ \t]*(\r\n|\n|\r)", content[:_LONGEST_HEAD])
    if not content.startswith(b"ply") or end is None:
        raise InputError(f"{name}: has no PLY head; export or copy the file again.")
    order, elements = None, []
    for line in content[: end.start()].decode("ascii", errors="replace").splitlines()[1:]:
        words = line.split()
        match words:
            case [] | ["comment" | "obj_info", *_]:
                continue
            case ["format", kind, "1.0"] if kind in _ORDERS and order is None:
                order = _ORDERS[kind]
            case ["element", table, count] if count.isascii() and count.isdigit() and len(count) < 12:
                elements.append(_Element(table, int(count), ()))
            case ["property", *rest] if elements and (read := _property(rest)) is not None:
                last = elements[-1]
                elements[-1] = _Element(last.name, last.rows, (*last.properties, read))
            case _:
                raise InputError(f"{name}: its head holds the line {line[:40]!r}, which no PLY has; export it again.")
    _check_head(order, elements, name)
    return order or "", elements, end.end()


def _check_head(order: str | None, elements: list[_Element], name: str) -> None:
    if order is None:
        raise InputError(f"{name}: its head does not say whether it holds text or bytes; export it again.")
    for element in elements:
        check_faces(element.rows if element.name == "face" else 0, name)
        own = [each.name for each in element.properties]
        if element.rows > _MOST_ROWS or len(own) > _MOST_PROPERTIES or len(own) != len(set(own)):
            raise InputError(f"{name}: its head is damaged at element {element.name[:40]!r}; export it again.")
    tables = [each.name for each in elements]
    if len(tables) != len(set(tables)):
        raise InputError(f"{name}: its head announces an element twice; export it again.")


def _property(words: list[str]) -> _Property | None:
    match words:
        case ["list", count, kind, name] if count in _TYPES and kind in _TYPES and not _TYPES[count].startswith("f"):
            return _Property(name, _TYPES[kind], _TYPES[count])
        case [kind, name] if kind in _TYPES:
            return _Property(name, _TYPES[kind])
    return None


def _table(body: _Text | _Bytes, element: _Element) -> dict[str, list[NDArray[np.float64]]]:
    """Return each property's values: one array (rows, 1), or for a list one array (p, k) for each length k."""
    if not element.rows or not element.properties:
        return {}
    alike = body.alike(element)
    if alike is not None:
        return {name: [values] for name, values in alike.items()}
    found: dict[str, dict[int, list[NDArray[np.float64]]]] = {each.name: {} for each in element.properties}
    for _ in range(element.rows):
        for name, values in body.row(element):
            found[name].setdefault(len(values), []).append(values)
    return {name: [np.array(rows, dtype=np.float64) for rows in groups.values()] for name, groups in found.items()}


class _Text:
    """The numbers after a head of text, taken off from the front."""

    def __init__(self, content: bytes, name: str) -> None:
        self._values = decimals(content.split(), name)
        self._next = 0
        self._name = name

    def alike(self, element: _Element) -> dict[str, NDArray[np.float64]] | None:
        """Return the table's columns where each row is as long as the first, and None where they differ."""
        lengths, width = [], 0
        for each in element.properties:
            length = int(self._peek(width)) if each.counted_by else 1
            lengths.append(length)
            width += length + bool(each.counted_by)
        rows = self._values[self._next : self._next + width * element.rows]
        if min(lengths) < 0 or width == 0 or len(rows) < width * element.rows:
            return None
        rows = rows.reshape(element.rows, width)
        found, at = {}, 0
        for each, length in zip(element.properties, lengths, strict=True):
            if each.counted_by:
                if (rows[:, at] != length).any():
                    return None
                at += 1
            found[each.name] = rows[:, at : at + length]
            at += length
        self._next += rows.size
        return found

    def row(self, element: _Element) -> Iterator[tuple[str, NDArray[np.float64]]]:
        """Yield each property of the next row with its values."""
        for each in element.properties:
            length = 1
            if each.counted_by:
                length = int(self._peek(0))
                self._next += 1
            if length < 0 or self._next + length > len(self._values):
                raise _cut_off(self._name, element)
            yield each.name, self._values[self._next : self._next + length]
            self._next += length

    def _peek(self, ahead: int) -> float:
        at = self._next + ahead
        value = self._values[at] if at < len(self._values) else np.nan
        if not 0 <= value < _MOST_ROWS or value != np.floor(value):
            raise InputError(f"{self._name}: cannot be read as PLY: a list has no length; export it again.")
        return float(value)

    def check_end(self) -> None:
        """Refuse numbers that the head did not announce."""
        left = len(self._values) - self._next
        if left:
            raise _left_over(self._name, f"{left:,} numbers")


class _Bytes:
    """The rows after a head, as bytes, taken off from the front."""

    def __init__(self, content: bytes, start: int, order: str, name: str) -> None:
        self._content = content
        self._next = start
        self._order = order
        self._name = name

    def alike(self, element: _Element) -> dict[str, NDArray[np.float64]] | None:
        """Return the table's columns where each row is as long as the first, and None where they differ."""
        before = self._next
        lengths = [len(values) for _, values in self.row(element)]
        self._next = before
        row = np.dtype(
            [
                part
                for at, (each, length) in enumerate(zip(element.properties, lengths, strict=True))
                for part in self._fields(at, each, length)
            ]
        )
        if before + row.itemsize * element.rows > len(self._content):
            return None
        rows = np.frombuffer(self._content, dtype=row, count=element.rows, offset=before)
        for at, (each, length) in enumerate(zip(element.properties, lengths, strict=True)):
            if each.counted_by and (rows[f"count{at}"] != length).any():
                return None
        self._next += row.itemsize * element.rows
        return {each.name: rows[f"value{at}"].astype(np.float64) for at, each in enumerate(element.properties)}

    def _fields(self, at: int, each: _Property, length: int) -> list[tuple[str, str, tuple[int, ...]]]:
        counted = [(f"count{at}", self._order + each.counted_by, ())] if each.counted_by else []
        return [*counted, (f"value{at}", self._order + each.type, (length,))]

    def row(self, element: _Element) -> Iterator[tuple[str, NDArray[np.float64]]]:
        """Yield each property of the next row with its values."""
        for each in element.properties:
            length = int(self._take(each.counted_by, 1, element)[0]) if each.counted_by else 1
            yield each.name, self._take(each.type, length, element)

    def _take(self, kind: str, count: int, element: _Element) -> NDArray[np.float64]:
        size = int(kind[1]) * count
        if count < 0 or self._next + size > len(self._content):
            raise _cut_off(self._name, element)
        found = np.frombuffer(self._content, dtype=self._order + kind, count=count, offset=self._next)
        self._next += size
        return found.astype(np.float64)

    def check_end(self) -> None:
        """Refuse bytes that the head did not announce."""
        if self._content[self._next :].strip():
            raise _left_over(self._name, f"{len(self._content) - self._next:,} bytes")


def _cut_off(name: str, element: _Element) -> InputError:
    return InputError(
        f"{name}: cannot be read as PLY: it ends before the last of {element.rows:,} rows of {element.name[:40]!r}; "
        "export or copy the file again."
    )


def _left_over(name: str, what: str) -> InputError:
    return InputError(f"{name}: holds {what} more than its head announces; export or copy the file again.")
