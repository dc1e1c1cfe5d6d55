"""Ways to damage a file, and ways to change it that leave its shape as it was."""

from __future__ import annotations

import json
import re
import struct
import zipfile
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from tests.fuzz.sound import Sound, glb, glb_parts, xml_of, zipped

Draw = np.random.Generator
Bytes = Callable[[Draw, bytes], bytes]

WORDS = (
    b"nan inf -inf 1e38 -1e38 1e400 -0 0 1e-40 99999999999999999999 -1 -7 4294967295 2147483648 1_0 0x10 1,5 \xd9\xa1 "
    b"x 1e 7.5"
).split()
WIDE = [0, 1, 3, 4, 255, 256, 65535, 2**31 - 1, 2**31, 2**32 - 1]
# Not a number, both infinities, the largest number, minus nought and the smallest, as the bits of 32-bit numbers.
WIDE += [0x7FC00000, 0x7F800000, 0xFF800000, 0x7F7FFFFF, 0x80000000, 0x00000001]
_ADDRESSES = ["data:application/octet-stream;base64,AAAA", "../other.bin", "http://127.0.0.1:9/x"]
VALUES: list[Any] = [None, True, -1, 0, 1, 3, 7, 255, 5120, 5126, 2**31, 2**32, 10**30, 1.5, -0.0, 1e38, 1e308]
VALUES += [float("nan"), float("inf"), "", "x", "VEC3", "SCALAR", *_ADDRESSES, [], [0], [0, 0, 0], {}, [[]]]


@dataclass(frozen=True)
class Damaged:
    """A damaged file: its ending and content; what was done; whether its shape is still the sound one's."""

    kind: str
    content: bytes
    how: str
    same_shape: bool = False


def damaged(draw: Draw, sound: Sound) -> Damaged:
    """Return a file with one to three kinds of damage, or changed so that its shape is the same."""
    harmless = _harmless(sound)
    if harmless and draw.random() < 0.25:
        name = str(draw.choice(sorted(harmless)))
        return Damaged(sound.kind, harmless[name](draw, sound.content), name, True)
    if draw.random() < 0.06:
        kind = str(draw.choice(["stl", "ply", "obj", "3mf", "glb"]))
        return Damaged(kind, sound.content, f"ending {kind}", kind == sound.kind)
    inside = {} if sound.kind == "stl" and sound.text else INSIDE.get(sound.kind, {})
    ways = {**ANY, **(TEXT if sound.text else {}), **inside}
    content, names = sound.content, []
    for _ in range(int(draw.choice([1, 1, 1, 2, 3]))):
        names.append(str(draw.choice(sorted(ways))))
        content = ways[names[-1]](draw, content)
    return Damaged(sound.kind, content, ", ".join(names))


def _place(draw: Draw, content: bytes, width: int = 1) -> int:
    return int(draw.integers(0, max(len(content) - width, 0) + 1))


def _span(draw: Draw, content: bytes) -> tuple[int, int]:
    start = _place(draw, content)
    return start, min(len(content), start + int(2 ** draw.uniform(0, np.log2(len(content) + 2))))


def flip_bits(draw: Draw, content: bytes) -> bytes:
    changed = bytearray(content)
    for _ in range(int(draw.integers(1, 12))):
        if changed:
            changed[_place(draw, content) % len(changed)] ^= 1 << int(draw.integers(0, 8))
    return bytes(changed)


def cut_off(draw: Draw, content: bytes) -> bytes:
    return content[: _place(draw, content)]


def cut_out(draw: Draw, content: bytes) -> bytes:
    start, end = _span(draw, content)
    return content[:start] + content[end:]


def put_in(draw: Draw, content: bytes) -> bytes:
    at = _place(draw, content)
    return content[:at] + draw.bytes(int(draw.integers(1, 200))) + content[at:]


def say_twice(draw: Draw, content: bytes) -> bytes:
    start, end = _span(draw, content)
    return content[:end] + content[start:end] * int(draw.choice([1, 1, 1, 30])) + content[end:]


def move(draw: Draw, content: bytes) -> bytes:
    start, end = _span(draw, content)
    rest = content[:start] + content[end:]
    at = _place(draw, rest)
    return rest[:at] + content[start:end] + rest[at:]


def blank(draw: Draw, content: bytes) -> bytes:
    start, end = _span(draw, content)
    return content[:start] + bytes([int(draw.choice([0, 32, 255]))]) * (end - start) + content[end:]


def wide_number(draw: Draw, content: bytes) -> bytes:
    at = _place(draw, content, 4)
    return content[:at] + struct.pack("<I", int(draw.choice(WIDE))) + content[at + 4 :]


def head_number(draw: Draw, content: bytes) -> bytes:
    at = 4 * int(draw.integers(0, 24))
    return content[:at] + struct.pack("<I", int(draw.choice(WIDE))) + content[at + 4 :]


def sixteen_bits(draw: Draw, content: bytes) -> bytes:
    return content.decode("latin-1").encode("utf-16")


def head_only(draw: Draw, content: bytes) -> bytes:
    return content[: int(draw.choice([0, 1, 4, 12, 20, 80, 84, 134, 200]))]


def twice(draw: Draw, content: bytes) -> bytes:
    return content + content


ANY: dict[str, Bytes] = {
    way.__name__: way
    for way in (
        flip_bits, cut_off, cut_out, put_in, say_twice, move, blank, wide_number, head_number, sixteen_bits, head_only,
        twice,
    )
}  # fmt: skip


def number_word(draw: Draw, content: bytes) -> bytes:
    """Put another word where a number stood."""
    numbers = [found.span() for found in re.finditer(rb"(?<![\w.])[-+]?\d[\d.eE+-]*", content)]
    if not numbers:
        return content
    start, end = numbers[int(draw.integers(0, len(numbers)))]
    return content[:start] + WORDS[int(draw.integers(0, len(WORDS)))] + content[end:]


def _lines(change: Callable[[Draw, list[bytes]], list[bytes]]) -> Bytes:
    def way(draw: Draw, content: bytes) -> bytes:
        return b"\n".join(change(draw, content.split(b"\n")))

    return way


def _drop(draw: Draw, lines: list[bytes]) -> list[bytes]:
    at = int(draw.integers(0, len(lines)))
    return lines[:at] + lines[at + 1 :]


def _double(draw: Draw, lines: list[bytes]) -> list[bytes]:
    at = int(draw.integers(0, len(lines)))
    return lines[: at + 1] + lines[at:]


def _swap(draw: Draw, lines: list[bytes]) -> list[bytes]:
    a, b = draw.integers(0, len(lines), 2).tolist()
    lines[a], lines[b] = lines[b], lines[a]
    return lines


def _split(draw: Draw, lines: list[bytes]) -> list[bytes]:
    at = int(draw.integers(0, len(lines)))
    words = lines[at].split()
    cut = int(draw.integers(0, len(words) + 1))
    return [*lines[:at], b" ".join(words[:cut]), b" ".join(words[cut:]), *lines[at + 1 :]]


def many_corners(draw: Draw, content: bytes) -> bytes:
    """Add a polygon of a hundred thousand corners, which name three or four points over and over."""
    corners = " ".join(str(1 + k % int(draw.choice([3, 4, 8]))) for k in range(100_000))
    return content + b"\nf " + corners.encode() + b"\n"


TEXT: dict[str, Bytes] = {
    "number_word": number_word,
    "number_word again": number_word,
    "drop_line": _lines(_drop),
    "double_line": _lines(_double),
    "swap_lines": _lines(_swap),
    "split_line": _lines(_split),
}


def _in_xml(change: Bytes) -> Bytes:
    """Damage the model within the zip, so that the zip itself is whole."""

    def way(draw: Draw, content: bytes) -> bytes:
        try:
            return zipped(change(draw, xml_of(content)))
        except (
            zipfile.BadZipFile,
            StopIteration,
            OSError,
            ValueError,
            NotImplementedError,
            RuntimeError,
            EOFError,
            zlib.error,
        ):
            return change(draw, content)

    return way


def zip_bomb(draw: Draw, content: bytes) -> bytes:
    return zipped(b"<model>" + b" " * 5_000_000 + b"</model>")


def zip_in_zip(draw: Draw, content: bytes) -> bytes:
    return zipped(content)


def entities(draw: Draw, content: bytes) -> bytes:
    many = "".join(f'<!ENTITY e{k} "{f"&e{k - 1};" * 10}">' for k in range(1, 9))
    inside = str(
        draw.choice(
            [many, '<!ENTITY e8 SYSTEM "file:///etc/hostname">', '<!ENTITY % p SYSTEM "http://127.0.0.1:9/">%p;']
        )
    )
    return zipped(f'<?xml version="1.0"?><!DOCTYPE m [<!ENTITY e0 "aaaaaaaaaa">{inside}]><model>&e8;</model>'.encode())


def part_of_itself(draw: Draw, content: bytes) -> bytes:
    return _in_xml(lambda _, xml: xml.replace(b'<component objectid="1"/>', b'<component objectid="2"/>'))(
        draw, content
    )


def parts_without_end(draw: Draw, content: bytes) -> bytes:
    assemblies = "".join(
        f'<object id="{k}"><components>' + f'<component objectid="{k - 1}"/>' * 10 + "</components></object>"
        for k in range(2, 12)
    )
    space = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
    build = '<build><item objectid="11"/></build>'
    return zipped(f'<model xmlns="{space}"><resources>{assemblies}</resources>{build}</model>'.encode())


def deep_xml(draw: Draw, content: bytes) -> bytes:
    return zipped(b"<model>" + b"<a>" * 50_000 + b"</a>" * 50_000 + b"</model>", zipfile.ZIP_STORED)


def _in_scene(change: Callable[[Draw, Any], str]) -> Bytes:
    """Damage the scene of a GLB, so that its lengths are right."""

    def way(draw: Draw, content: bytes) -> bytes:
        try:
            scene, numbers = glb_parts(content)
            return glb(change(draw, scene), numbers)
        except (ValueError, struct.error, KeyError, IndexError, TypeError, AttributeError, RecursionError):
            return flip_bits(draw, content)

    return way


def _another_value(draw: Draw, scene: Any) -> str:
    places: list[tuple[Any, Any]] = []

    def walk(value: Any) -> None:
        for key, inner in list(value.items() if isinstance(value, dict) else enumerate(value)):
            places.append((value, key))
            if isinstance(inner, dict | list):
                walk(inner)

    walk(scene)
    for _ in range(int(draw.integers(1, 3))):
        holder, key = places[int(draw.integers(0, len(places)))]
        if isinstance(holder, dict) and draw.random() < 0.2:
            holder.pop(key, None)
        else:
            holder[key] = VALUES[int(draw.integers(0, len(VALUES)))]
    return json.dumps(scene)


def _round_nodes(draw: Draw, scene: Any) -> str:
    nodes = scene["nodes"]
    nodes[int(draw.integers(0, len(nodes)))]["children"] = [int(draw.integers(0, len(nodes)))]
    return json.dumps(scene)


def _elsewhere(draw: Draw, scene: Any) -> str:
    scene["buffers"][0]["uri"] = str(draw.choice(["other.bin", "/etc/hostname", "http://127.0.0.1:9/x", "data:,abc"]))
    return json.dumps(scene)


def _deep(draw: Draw, scene: Any) -> str:
    scene["extras"] = "here"
    return json.dumps(scene).replace('"here"', "[" * 100_000 + "]" * 100_000)


def _shared(draw: Draw, scene: Any) -> str:
    scene["meshes"][0]["primitives"] = scene["meshes"][0]["primitives"] * int(draw.choice([2, 500, 20_000]))
    return json.dumps(scene)


def glb_numbers(draw: Draw, content: bytes) -> bytes:
    """Damage the run of bytes of a GLB, so that its lengths are right."""
    try:
        scene, numbers = glb_parts(content)
        way = str(draw.choice(["flip_bits", "wide_number", "blank", "move"]))
        return glb(json.dumps(scene), ANY[way](draw, numbers)[: len(numbers)])
    except (ValueError, struct.error, RecursionError):
        return flip_bits(draw, content)


def ply_body(draw: Draw, content: bytes) -> bytes:
    """Damage what follows the head of a PLY."""
    head, mark, body = content.partition(b"end_header\n")
    way = str(draw.choice(["flip_bits", "wide_number", "blank", "move", "cut_out", "say_twice"]))
    return head + mark + ANY[way](draw, body)


def stl_rows(draw: Draw, content: bytes) -> bytes:
    """Drop, move, mix or scale triangles of an STL in bytes, so that its count is right."""
    if len(content) < 134 or len(content) % 50 != 84 % 50:
        return flip_bits(draw, content)
    rows = _rows(content)
    corners = np.ascontiguousarray(rows[:, 12:48]).view("<f4").reshape(-1, 3)
    few = draw.integers(0, len(corners), int(draw.integers(1, 6)))
    way = int(draw.integers(0, 5))
    if way == 0:
        rows = np.delete(rows, few % len(rows), axis=0)
    else:
        if way == 1:
            corners[few] = corners[draw.integers(0, len(corners), len(few))]
        elif way == 2:
            corners[few] += draw.normal(size=(len(few), 3)) * 10.0 ** draw.uniform(-6, 2)
        elif way == 3:
            corners *= np.float32(10.0 ** draw.uniform(-8, 8))
        else:
            # A point moved wherever it stands, so that the surface stays closed and may cross itself.
            corners[(corners == corners[few[0]]).all(axis=1)] += draw.normal(size=3) * 10.0 ** draw.uniform(-3, 2)
        rows[:, 12:48] = corners.astype("<f4").reshape(-1, 9).view(np.uint8)
    return content[:80] + struct.pack("<I", len(rows)) + rows.tobytes()


INSIDE: dict[str, dict[str, Bytes]] = {
    "stl": {f"stl_rows {k}": stl_rows for k in range(6)},
    "ply": {f"ply_body {k}": ply_body for k in range(6)},
    "obj": {"many_corners": many_corners},
    "3mf": {
        **{
            f"{name} in xml": _in_xml(way) for name, way in {**TEXT, "cut_out": cut_out, "say_twice": say_twice}.items()
        },
        **{way.__name__: way for way in (zip_bomb, zip_in_zip, entities, part_of_itself, parts_without_end, deep_xml)},
    },
    "glb": {
        **{f"value {k}": _in_scene(_another_value) for k in range(6)},
        "round_nodes": _in_scene(_round_nodes),
        "elsewhere": _in_scene(_elsewhere),
        "deep": _in_scene(_deep),
        "shared": _in_scene(_shared),
        "glb_numbers": glb_numbers,
    },
}


def _harmless(sound: Sound) -> dict[str, Bytes]:
    """Return the changes that leave the shape of a file as it was."""
    if sound.kind == "stl" and not sound.text:
        return {
            "scribbled_stl": _scribbled,
            "shuffled_stl": _shuffled,
            "inside_out_stl": _inside_out,
            "more_stl": _more,
        }
    if sound.kind == "3mf":
        return {"stored": lambda _, content: zipped(xml_of(content), zipfile.ZIP_STORED, notes=b"more")}
    if sound.kind == "glb":
        return {"respelt": _in_scene(lambda _, scene: json.dumps(scene, indent=1))}
    if sound.text:
        return {"mixed_endings": _mixed_endings, **_remarks(sound)}
    return {}


def _rows(content: bytes) -> Any:
    """Return the triangles of an STL in bytes, shape (m, 50)."""
    return np.frombuffer(content, dtype=np.uint8, offset=84).reshape(-1, 50).copy()


def _scribbled(draw: Draw, content: bytes) -> bytes:
    rows = _rows(content)
    rows[:, :12] = draw.integers(0, 256, (len(rows), 12))
    rows[:, 48:] = draw.integers(0, 256, (len(rows), 2))
    return draw.bytes(80) + content[80:84] + rows.tobytes()


def _shuffled(draw: Draw, content: bytes) -> bytes:
    rows = draw.permutation(_rows(content))
    corners = rows[:, 12:48].reshape(-1, 3, 12)
    rows[:, 12:48] = np.roll(corners, int(draw.integers(0, 3)), axis=1).reshape(-1, 36)
    return content[:84] + rows.tobytes()


def _inside_out(draw: Draw, content: bytes) -> bytes:
    rows = _rows(content)
    turned = draw.random(len(rows)) < float(draw.choice([1.0, 0.2]))
    corners = rows[turned, 12:48].reshape(-1, 3, 12)
    rows[turned, 12:48] = corners[:, ::-1].reshape(-1, 36)
    return content[:84] + rows.tobytes()


def _more(draw: Draw, content: bytes) -> bytes:
    """Say some triangles twice, and add some without area."""
    rows = _rows(content)
    again = rows[draw.integers(0, len(rows), 3)]
    again[1, 24:36] = again[1, 12:24]
    whole = np.concatenate([rows, again])
    return content[:80] + struct.pack("<I", len(whole)) + whole.tobytes()


def _mixed_endings(draw: Draw, content: bytes) -> bytes:
    if content.startswith(b"ply"):
        return content.replace(b"\n", b"\r\n")
    return b"".join(line + (b"\r\n" if draw.random() < 0.5 else b"\n") for line in content.split(b"\n"))


def _remarks(sound: Sound) -> dict[str, Bytes]:
    if sound.kind == "obj":
        return {
            "remarks": lambda draw, content: (
                b"# more\nmtllib /etc/hostname\ng a\ns off\n" + content + b"\nusemtl x\n#\n"
            )
        }
    if sound.kind == "ply":
        return {"remarks": lambda draw, content: content.replace(b"\n", b"\ncomment element face 9\nobj_info x\n", 1)}
    return {"remarks": lambda draw, content: content.replace(b"facet normal", b"FACET   normal", 3) + b"\n\n"}
