"""What a mesh file is asked before anything parses it: kind, size, whole or cut off, honest when unpacked."""

from __future__ import annotations

import io
import json
import lzma
import re
import struct
import zipfile
import zlib
from pathlib import Path

from moldkit.errors import InputError

KINDS = ("STL", "PLY", "OBJ", "3MF", "GLB")
MOST_BYTES = 200_000_000
MOST_UNPACKED_BYTES = 250_000_000
# Triangles written as text shrink to about a tenth; a hundredfold is no honest mesh.
MOST_SHRINKING = 100
MOST_FACES = 5_000_000

_DAMAGED_ZIP = (
    zipfile.BadZipFile, zlib.error, lzma.LZMAError, OSError, NotImplementedError, RuntimeError, EOFError, ValueError
)  # fmt: skip
_STL_HEAD, _STL_FACE = 84, 50  # [bytes]


def checked_bytes(file: Path) -> bytes:
    """Return the content of a mesh file that is worth parsing.

    file: its path. Raises InputError in one sentence for a file of another kind, missing, empty, over 200 MB,
    cut off, with more than 5 million faces, or unpacking to over 250 MB.
    """
    _check_place(file)
    try:
        content = file.read_bytes()
    except OSError as fault:
        raise InputError(f"{file.name}: cannot be read ({fault.strerror}); check its permissions.") from None
    check = {".stl": _check_stl, ".ply": _check_ply, ".obj": _check_obj, ".3mf": _check_3mf, ".glb": _check_glb}
    check[file.suffix.lower()](content, file.name)
    return content


def _check_place(file: Path) -> None:
    if file.suffix.lower()[1:].upper() not in KINDS:
        shown = f"{file.suffix!r} files" if file.suffix else "a file without an ending"
        raise InputError(f"{file.name}: {shown} cannot be read as a mesh; export it as {', '.join(KINDS)}.")
    if file.is_dir():
        raise InputError(f"{file.name}: is a folder; name the mesh file in it.")
    try:
        size = file.stat().st_size
    except OSError:
        raise InputError(f"{file}: there is no such file; check the name and the folder.") from None
    if size == 0:
        raise InputError(f"{file.name}: is empty; export or copy it again.")
    if size > MOST_BYTES:
        raise InputError(
            f"{file.name}: holds {size / 1e6:.0f} MB and {MOST_BYTES / 1e6:.0f} MB is the most; "
            "reduce the number of triangles."
        )


def check_faces(count: int, name: str) -> None:
    """Refuse more faces than are measured in reasonable time.

    count: number of faces; name: of the file. Raises InputError.
    """
    if count > MOST_FACES:
        raise InputError(f"{name}: has {count:,} faces and {MOST_FACES:,} is the most; reduce the number of triangles.")


def _check_stl(content: bytes, name: str) -> None:
    said = struct.unpack_from("<I", content, _STL_HEAD - 4)[0] if len(content) >= _STL_HEAD else 0
    if len(content) == _STL_HEAD + _STL_FACE * said and said:
        check_faces(said, name)
        return
    if content.lstrip()[:5].lower() == b"solid" and b"facet" in content[:2000]:
        if b"endsolid" not in content[-2000:].lower():
            raise InputError(f"{name}: the text breaks off before 'endsolid'; export or copy the file again.")
        check_faces(content.count(b"endfacet"), name)
        return
    if len(content) < _STL_HEAD + _STL_FACE:
        raise InputError(f"{name}: {len(content)} bytes are too few for an STL; export or copy the file again.")
    raise InputError(
        f"{name}: its head announces {said:,} triangles, which take {_STL_HEAD + _STL_FACE * said:,} bytes, "
        f"but the file holds {len(content):,}; it was cut off or damaged, so export or copy it again."
    )


def _check_ply(content: bytes, name: str) -> None:
    head, end, _ = content[:100_000].partition(b"end_header")
    if not head.startswith(b"ply") or not end:
        raise InputError(f"{name}: has no PLY head; export or copy the file again.")
    faces = re.search(rb"element\s+face\s+(\d+)", head)
    if faces is None or not int(faces[1]):
        raise InputError(f"{name}: holds points and no faces; make a surface of the scan before exporting it.")
    check_faces(int(faces[1]), name)


def _check_obj(content: bytes, name: str) -> None:
    faces = content.count(b"\nf ") + content.count(b"\nf\t") + content.startswith(b"f ")
    if not faces or b"\0" in content:
        raise InputError(f"{name}: holds no faces in OBJ form; export it again as a polygon mesh.")
    check_faces(faces, name)


def _check_3mf(content: bytes, name: str) -> None:
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            sizes = [(part.file_size, part.compress_size) for part in archive.infolist()]
            _check_unpacked(sum(size for size, _ in sizes), sum(packed for _, packed in sizes), name)
            models = [part for part in archive.namelist() if part.lower().endswith(".model")]
            if not models:
                raise InputError(f"{name}: is a zip without a 3MF model in it; export it again as 3MF.")
            # An entity declared in a document type can unfold to gigabytes; a 3MF needs none.
            if any(b"<!" in archive.read(part).replace(b"<!--", b"").replace(b"<![CDATA[", b"") for part in models):
                raise InputError(f"{name}: declares a document type, which no 3MF does; export it again.")
            check_faces(sum(archive.read(part).count(b"<triangle ") for part in models), name)
    except _DAMAGED_ZIP:
        raise InputError(f"{name}: is not a whole 3MF file; export or copy it again.") from None


def _check_unpacked(unpacked: int, packed: int, name: str) -> None:
    if unpacked > MOST_UNPACKED_BYTES or unpacked > 1e6 + MOST_SHRINKING * packed:
        raise InputError(
            f"{name}: unpacks from {packed / 1e6:.1f} MB to {unpacked / 1e6:.0f} MB, more than a mesh of "
            f"{MOST_UNPACKED_BYTES / 1e6:.0f} MB or one that shrinks a hundredfold; reduce it, or export it as STL."
        )


def _check_glb(content: bytes, name: str) -> None:
    whole = len(content) >= 20 and content[:4] == b"glTF"
    version, length, chunk = struct.unpack_from("<III", content, 4) if whole else (0, 0, 0)
    if version != 2:
        raise InputError(f"{name}: has no head of GLB version 2; export it again as GLB.")
    if length != len(content):
        raise InputError(
            f"{name}: its head announces {length:,} bytes and the file holds {len(content):,}; "
            "it was cut off or damaged, so export or copy it again."
        )
    try:
        scene = json.loads(content[20 : 20 + chunk])
        shapes = [shape for mesh in scene["meshes"] for shape in mesh["primitives"]]
        indices = [scene["accessors"][shape["indices"]]["count"] for shape in shapes if "indices" in shape]
        check_faces(sum(indices) // 3, name)
    except (ValueError, KeyError, TypeError, IndexError, RecursionError):
        raise InputError(f"{name}: holds no mesh that can be read; export it again as GLB.") from None
