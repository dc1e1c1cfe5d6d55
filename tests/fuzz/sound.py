"""Small sound mesh files of every format, each with the volume it encloses, in millimetres."""

from __future__ import annotations

import io
import json
import struct
import zipfile
from dataclasses import dataclass
from functools import cache

import numpy as np
import trimesh

JSON_CHUNK, BYTES_CHUNK = 0x4E4F534A, 0x004E4942


@dataclass(frozen=True)
class Sound:
    """A file that is read without a note: its ending, its content, the volume in it [mm3], what its text is like."""

    kind: str
    content: bytes
    volume: float
    text: bool


@cache
def sound_files() -> tuple[Sound, ...]:
    """Return the files that are damaged."""
    box = trimesh.creation.box((30.0, 20.0, 10.0))
    ball = trimesh.creation.icosphere(1, 15.0)
    ring = trimesh.creation.torus(20.0, 6.0, major_sections=8, minor_sections=5)
    apart = ball.copy()
    apart.apply_translation([60.0, 0.0, 5.0])
    pair = trimesh.util.concatenate([box, apart])
    found = []
    for shape in (box, ball, ring, pair):
        for kind in ("stl", "stl_ascii", "ply", "obj", "3mf", "glb"):
            content = shape.export(file_type=kind)
            raw = content.encode() if isinstance(content, str) else bytes(content)
            found.append(Sound(kind[:3], raw, float(shape.volume), kind in ("stl_ascii", "obj")))
        spelt = shape.export(file_type="ply", encoding="ascii")
        found.append(Sound("ply", bytes(spelt), float(shape.volume), True))
    return (*found, _quads_obj(), _mixed_ply(">"), _mixed_ply("<"), _assembled_3mf(), _turned_glb())


_CORNERS = [(x, y, z) for z in (0, 10) for x, y in ((0, 0), (30, 0), (30, 20), (0, 20))]
_SIDES = [(3, 2, 1, 0), (4, 5, 6, 7), (0, 1, 5, 4), (1, 2, 6, 5), (2, 3, 7, 6), (3, 0, 4, 7)]


def _quads_obj() -> Sound:
    """A box of quadrilaterals that count back from the last point, with materials that stand in another file."""
    lines = ["# a box", "mtllib box.mtl", "o box", *(f"v {x} {y} {z}" for x, y, z in _CORNERS), "usemtl wood"]
    lines += ["f " + " ".join(f"{corner - 8}//{1}" for corner in side) for side in _SIDES]
    return Sound("obj", ("\n".join(lines) + "\n").encode(), 6000.0, True)


def _mixed_ply(order: str) -> Sound:
    """A box of which one side is two triangles and five are quadrilaterals, in bytes of either order."""
    name = "big" if order == ">" else "little"
    head = f"ply\nformat binary_{name}_endian 1.0\nelement vertex 8\nproperty double x\nproperty double y\n"
    head += (
        "property double z\nproperty uchar red\nelement face 7\nproperty list uchar int vertex_indices\nend_header\n"
    )
    points = b"".join(struct.pack(order + "3dB", *corner, 200) for corner in _CORNERS)
    faces = [(3, 2, 1), (3, 1, 0), *_SIDES[1:]]
    body = b"".join(struct.pack(f"{order}B{len(face)}i", len(face), *face) for face in faces)
    return Sound("ply", head.encode() + points + body, 6000.0, False)


def xml_of(content: bytes) -> bytes:
    """Return the model of a 3MF."""
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        name = next(name for name in archive.namelist() if name.endswith(".model"))
        return archive.read(name)


def zipped(xml: bytes, method: int = zipfile.ZIP_DEFLATED, **more: bytes) -> bytes:
    """Return a 3MF with a model, and perhaps more parts."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", method) as archive:
        archive.writestr("3D/3dmodel.model", xml)
        for name, part in more.items():
            archive.writestr(name, part)
    return buffer.getvalue()


def _assembled_3mf() -> Sound:
    """Two boxes placed by an assembly, one of them mirrored, with a support that is no part of the pattern."""
    points = "".join(f'<vertex x="{x}" y="{y}" z="{z}"/>' for x, y, z in _CORNERS)
    cut = [(side[0], *pair) for side in _SIDES for pair in (side[1:3], side[2:4])]
    faces = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in cut)
    mesh = f"<mesh><vertices>{points}</vertices><triangles>{faces}</triangles></mesh>"
    xml = (
        '<?xml version="1.0" encoding="UTF-8"?>\n<model unit="millimeter" '
        'xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02"><resources>'
        f'<object id="1" type="model">{mesh}</object><object id="3" type="support">{mesh}</object>'
        '<object id="2" type="model"><components><component objectid="1"/>'
        '<component objectid="1" transform="-1 0 0 0 1 0 0 0 1 -10 0 0"/></components></object></resources>'
        '<build><item objectid="2" transform="0 1 0 -1 0 0 0 0 1 5 5 5"/><item objectid="3"/></build></model>'
    )
    return Sound("3mf", zipped(xml.encode()), 12000.0, False)


def glb_parts(content: bytes) -> tuple[dict[str, object], bytes]:
    """Return the scene of a GLB and its run of bytes."""
    length = struct.unpack_from("<I", content, 12)[0]
    return json.loads(content[20 : 20 + length]), content[28 + length :]


def glb(scene: str, numbers: bytes) -> bytes:
    """Return a GLB of a scene in JSON and a run of bytes, its lengths right."""
    text = scene.encode() + b" " * (-len(scene.encode()) % 4)
    numbers += b"\0" * (-len(numbers) % 4)
    body = struct.pack("<II", len(text), JSON_CHUNK) + text + struct.pack("<II", len(numbers), BYTES_CHUNK) + numbers
    return struct.pack("<4sII", b"glTF", 2, 12 + len(body)) + body


def _turned_glb() -> Sound:
    """A box on a node below a node, scaled and turned, its numbers 16 bits wide and interleaved with others."""
    points = b"".join(struct.pack("<4h", *corner, 7) for corner in _CORNERS)
    order = np.array([(side[0], *pair) for side in _SIDES for pair in (side[1:3], side[2:4])], dtype="<u1").tobytes()
    scene = {
        "asset": {"version": "2.0"},
        "extensionsUsed": ["KHR_mesh_quantization"],
        "extensionsRequired": ["KHR_mesh_quantization"],
        "scene": 0,
        "scenes": [{"nodes": [0]}],
        "nodes": [
            {"children": [1], "scale": [2, 1, 1], "rotation": [0, 0.6, 0, 0.8]},
            {"mesh": 0, "translation": [0, 5, 0]},
        ],
        "meshes": [{"primitives": [{"attributes": {"POSITION": 0}, "indices": 1, "mode": 4}]}],
        "accessors": [
            {"bufferView": 0, "componentType": 5122, "count": 8, "type": "VEC3", "min": [0, 0, 0], "max": [30, 20, 10]},
            {"bufferView": 1, "componentType": 5121, "count": 36, "type": "SCALAR"},
        ],
        "bufferViews": [
            {"buffer": 0, "byteLength": 64, "byteStride": 8},
            {"buffer": 0, "byteOffset": 64, "byteLength": 36},
        ],
        "buffers": [{"byteLength": 100}],
    }
    return Sound("glb", glb(json.dumps(scene), points + order), 12000.0, False)
