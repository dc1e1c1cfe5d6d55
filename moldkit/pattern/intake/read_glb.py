"""Reading GLB (glTF 2.0 in one file): a scene of nodes in JSON and its numbers in one run of bytes."""

from __future__ import annotations

import json
import struct
from typing import Any

import numpy as np
from numpy.typing import NDArray

from moldkit.errors import InputError
from moldkit.pattern.intake.loose import Loose, names_no_vertex
from moldkit.pattern.intake.mesh_file import check_faces
from moldkit.pattern.intake.placing import Placed, gathered

_JSON, _BIN = 0x4E4F534A, 0x004E4942
_KINDS = {5120: "<i1", 5121: "<u1", 5122: "<i2", 5123: "<u2", 5125: "<u4", 5126: "<f4"}
_TRIANGLES, _STRIP, _FAN = 4, 5, 6
# Extensions without which the shape would be another.
_READ = frozenset({"KHR_mesh_quantization", "KHR_texture_transform", "KHR_materials_unlit"})
_Y_UP_TO_Z_UP = np.array([[1.0, 0, 0, 0], [0, 0, -1.0, 0], [0, 1.0, 0, 0], [0, 0, 0, 1.0]])
_UNREADABLE = (ValueError, KeyError, TypeError, IndexError, RecursionError, OverflowError, AttributeError)


def read_glb(content: bytes, name: str) -> Loose:
    """Return the triangles of a GLB file's scene, turned from y up to z up; content: its bytes; name: of the file.

    Raises InputError for a file cut off, with its numbers in other files, compressed, or with no triangles.
    """
    text, binary = _chunks(content, name)
    try:
        scene = json.loads(text)
        _check_extensions(scene, name)
        return _Scene(scene, binary, name).triangles()
    except _UNREADABLE:
        raise InputError(f"{name}: holds no mesh that can be read; export it again as GLB.") from None


def _chunks(content: bytes, name: str) -> tuple[bytes, bytes]:
    """Return the JSON and the run of bytes."""
    whole = len(content) >= 20 and content[:4] == b"glTF"
    version, length = struct.unpack_from("<II", content, 4) if whole else (0, 0)
    if version != 2:
        raise InputError(f"{name}: has no head of GLB version 2; export it again as GLB.")
    if length != len(content):
        raise InputError(
            f"{name}: its head announces {length:,} bytes and the file holds {len(content):,}; "
            "it was cut off or damaged, so export or copy it again."
        )
    found: dict[int, bytes] = {}
    here = 12
    while here + 8 <= length:
        size, kind = struct.unpack_from("<II", content, here)
        found.setdefault(kind, content[here + 8 : here + 8 + size])
        here += 8 + size
    if here != length or _JSON not in found:
        raise InputError(f"{name}: its parts do not fill it; it was damaged, so export or copy it again.")
    return found[_JSON], found.get(_BIN, b"")


def _check_extensions(scene: dict[str, Any], name: str) -> None:
    foreign = sorted(set(scene.get("extensionsRequired", ())) - _READ)
    if foreign:
        told = str(foreign[0])[:40]
        raise InputError(f"{name}: needs the extension {told!r} to be read; export it again without compression.")


class _Scene:
    """The parts of a glTF scene, looked up by number."""

    def __init__(self, scene: dict[str, Any], binary: bytes, name: str) -> None:
        self._scene, self._binary, self._name = scene, binary, name
        self._taken = 0

    def triangles(self) -> Loose:
        """Return all triangles of the scene as one."""
        placed = [Placed(mesh, _Y_UP_TO_Z_UP @ turn) for mesh, turn in self._placed()]
        meshes = {number: self._mesh(number) for number in dict.fromkeys(each.key for each in placed)}
        full = [each for each in placed if len(meshes[each.key].faces)]
        if not full:
            raise InputError(f"{self._name}: holds no mesh that can be read; export it again as GLB.")
        return gathered(full, meshes, {}, self._name)

    def _placed(self) -> list[tuple[Any, NDArray[np.float64]]]:
        """Return each mesh that a node shows, by its number, and how it is turned."""
        nodes = self._scene.get("nodes", [])
        if "scenes" in self._scene:
            roots = _one(self._scene["scenes"], self._scene.get("scene", 0)).get("nodes", [])
        else:
            below = {child for node in nodes for child in node.get("children", ())}
            roots = [number for number in range(len(nodes)) if number not in below]
        waiting, seen, found = [(root, np.eye(4)) for root in reversed(roots)], set(), []
        while waiting:
            number, outer = waiting.pop()
            node = _one(nodes, number)
            if number in seen:
                raise InputError(f"{self._name}: a part of its scene stands in it twice; export it again as GLB.")
            seen.add(number)
            turn = outer @ _turn(node)
            if "mesh" in node:
                _one(self._scene["meshes"], node["mesh"])
                found.append((node["mesh"], turn))
            waiting.extend((child, turn) for child in reversed(node.get("children", [])))
        return found

    def _mesh(self, number: Any) -> Loose:
        vertices, faces, before = [np.empty((0, 3))], [np.empty((0, 3), dtype=np.int64)], 0
        for shape in self._scene["meshes"][number]["primitives"]:
            mode = shape.get("mode", _TRIANGLES)
            if mode not in (_TRIANGLES, _STRIP, _FAN):
                continue
            corners = self._values(shape["attributes"]["POSITION"], "VEC3")
            if "indices" in shape:
                order = self._values(shape["indices"], "SCALAR", whole=True).ravel().astype(np.int64)
            else:
                order = np.arange(len(corners))
            own = _faces(order, mode)
            if len(own) and own.max() >= len(corners):
                raise names_no_vertex(self._name)
            vertices.append(corners)
            faces.append(own + before)
            before += len(corners)
        return Loose(np.concatenate(vertices), np.concatenate(faces))

    def _values(self, number: Any, shape: str, whole: bool = False) -> NDArray[np.float64]:
        """Return the numbers of one accessor, shape (count, 1 or 3)."""
        accessor = _one(self._scene["accessors"], number)
        kind, count = _KINDS[accessor["componentType"]], _whole(accessor["count"])
        width = 3 if shape == "VEC3" else 1
        if accessor["type"] != shape or (whole and kind not in ("<u1", "<u2", "<u4")):
            raise ValueError("an accessor of another type")
        if "sparse" in accessor or "bufferView" not in accessor:
            raise InputError(f"{self._name}: keeps its numbers in sparse form; export it again without compression.")
        # Every accessor may point at the same bytes, so what they add up to is watched.
        self._taken += count
        check_faces(self._taken // 6, self._name)
        rows = self._rows(accessor, np.dtype(kind), width, count).astype(np.float64)
        if accessor.get("normalized", False) and kind != "<f4":
            rows = np.maximum(rows / np.iinfo(kind).max, -1.0)
        return rows

    def _rows(self, accessor: dict[str, Any], kind: np.dtype[Any], width: int, count: int) -> NDArray[Any]:
        view = _one(self._scene["bufferViews"], accessor["bufferView"])
        buffer = _whole(view["buffer"])
        if buffer != 0 or "uri" in _one(self._scene["buffers"], buffer):
            raise InputError(f"{self._name}: keeps its numbers in another file; export it again as one GLB.")
        start, length = _whole(view.get("byteOffset", 0)), _whole(view["byteLength"])
        within, step = _whole(accessor.get("byteOffset", 0)), _whole(view.get("byteStride", kind.itemsize * width))
        size = kind.itemsize * width
        if start + length > len(self._binary) or step < size or within + step * (count - 1) + size > length:
            raise ValueError("numbers beyond the end")
        rows: NDArray[Any] = np.ndarray((count, width), kind, self._binary, start + within, (step, kind.itemsize))
        return rows


def _faces(order: NDArray[np.int64], mode: int) -> NDArray[np.int64]:
    """Return the triangles that a run of vertex numbers stands for, shape (m, 3)."""
    if mode == _TRIANGLES:
        if len(order) % 3:
            raise ValueError("a triangle lacks a corner")
        return order.reshape(-1, 3)
    if len(order) < 3:
        raise ValueError("no triangle")
    if mode == _FAN:
        return np.column_stack([np.broadcast_to(order[0], len(order) - 2), order[1:-1], order[2:]])
    strip = np.column_stack([order[:-2], order[1:-1], order[2:]])
    # Every second triangle of a strip is named the other way round.
    strip[1::2] = strip[1::2, [1, 0, 2]]
    return strip


def _one(listed: Any, number: Any) -> Any:
    """Return one of a list by a number that must be whole and not negative."""
    if not isinstance(listed, list):
        raise TypeError("no list")
    return listed[_whole(number)]


def _whole(number: Any) -> int:
    if isinstance(number, bool) or not isinstance(number, int) or not 0 <= number < 2**32:
        raise ValueError("no whole number")
    return number


def _turn(node: dict[str, Any]) -> NDArray[np.float64]:
    """Return a node's 4 x 4 matrix for columns: its own, or from shift, turn and scale."""
    with np.errstate(all="ignore"):
        if "matrix" in node:
            return np.array(node["matrix"], dtype=np.float64).reshape(4, 4).T
        matrix = np.eye(4)
        matrix[:3, :3] = _rotation(node.get("rotation", [0.0, 0.0, 0.0, 1.0])) * np.array(
            node.get("scale", [1.0, 1.0, 1.0]), dtype=np.float64
        ).reshape(3)
        matrix[:3, 3] = np.array(node.get("translation", [0.0, 0.0, 0.0]), dtype=np.float64).reshape(3)
        return matrix


def _rotation(quaternion: Any) -> NDArray[np.float64]:
    """Return the 3 x 3 matrix of a quaternion (x, y, z, w)."""
    x, y, z, w = (np.array(quaternion, dtype=np.float64).reshape(4) / np.linalg.norm(quaternion)).tolist()
    return np.array(
        [
            [1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)],
            [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)],
            [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)],
        ]
    )
