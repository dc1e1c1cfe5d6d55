"""Readings kept on disk, so that a pattern is measured once: a folder that may be deleted at any time."""

from __future__ import annotations

import functools
import hashlib
import io
import json
import os
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any

import numpy as np

from moldkit.errors import MoldkitError
from moldkit.files import write_atomic

PLACE = "MOLDKIT_CACHE"
OFF = "off"
# The oldest are dropped beyond so many; a reading with its picture takes one or two megabytes.
MOST_KEPT = 120


def cache_folder() -> Path | None:
    """Return where readings are kept: MOLDKIT_CACHE, else the user's cache folder; None when that says "off"."""
    named = os.environ.get(PLACE, "")
    if named == OFF:
        return None
    if named:
        return Path(named)
    import platformdirs

    return Path(platformdirs.user_cache_dir("moldkit", appauthor=False)) / "readings"


def content_key(content: Iterable[bytes], *more: object) -> str:
    """Return what tells a reading apart: the file's content, how it was asked for, and the code that measures.

    content: the file's bytes, piece by piece.
    """
    digest = hashlib.sha256()
    for piece in content:
        digest.update(piece)
    for word in (*more, _code()):
        digest.update(b"\0" + str(word).encode())
    return digest.hexdigest()


@functools.cache
def _code() -> str:
    """Return a digest of this package's sources and of numpy's version: other code measures otherwise."""
    digest = hashlib.sha256(np.__version__.encode())
    for source in sorted(Path(__file__).parent.rglob("*.py")):
        digest.update(source.read_bytes())
    return digest.hexdigest()


def keep(key: str, value: Any) -> None:
    """Keep a value, frozen dataclasses of numbers, texts, tuples and arrays; where it can't be, do without."""
    folder = cache_folder()
    if folder is None:
        return
    try:
        folder.mkdir(parents=True, exist_ok=True)
        write_atomic(folder / f"{key}.npz", pack(value))
        for old in sorted(folder.glob("*.npz"), key=_age)[:-MOST_KEPT]:
            drop(old)
    except (OSError, MoldkitError):
        return


def kept(key: str, kinds: Sequence[type]) -> Any:
    """Return a value kept under a key, None where there is none or it is damaged (it is then dropped).

    kinds: the dataclasses that it may be made of.
    """
    folder = cache_folder()
    if folder is None:
        return None
    path = folder / f"{key}.npz"
    try:
        value = unpack(path.read_bytes(), kinds)
        os.utime(path)
        return value
    except FileNotFoundError:
        return None
    except Exception:  # on a damaged archive the readers within raise anything at all
        drop(path)
        return None


def _age(path: Path) -> float:
    """Return when a file was last used; one that another has just dropped counts as the oldest."""
    try:
        return path.stat().st_mtime
    except OSError:
        return 0.0


def drop(path: Path) -> None:
    """Remove a kept file if that can be done."""
    try:
        path.unlink(missing_ok=True)
    except OSError:
        return


def pack(value: Any) -> bytes:
    """Return a value as the bytes of an npz archive: its arrays, and a tree in JSON that says where they belong."""
    arrays: list[np.ndarray[Any, Any]] = []
    tree = json.dumps(_tree(value, arrays)).encode()
    named = {f"a{place}": array for place, array in enumerate(arrays)}
    written = io.BytesIO()
    np.savez(written, allow_pickle=False, tree=np.frombuffer(tree, np.uint8), **named)
    return written.getvalue()


def _tree(value: Any, arrays: list[np.ndarray[Any, Any]]) -> Any:
    if isinstance(value, np.ndarray):
        arrays.append(value)
        return {"array": len(arrays) - 1}
    if is_dataclass(value) and not isinstance(value, type):
        content = {field.name: _tree(getattr(value, field.name), arrays) for field in fields(value)}
        return {"kind": type(value).__name__, "content": content}
    if isinstance(value, tuple):
        return {"tuple": [_tree(part, arrays) for part in value]}
    if isinstance(value, np.generic):
        return value.item()
    if value is None or isinstance(value, (bool, int, float, str)):
        return value
    raise TypeError(f"a {type(value).__name__} can't be kept")


def unpack(content: bytes, kinds: Sequence[type]) -> Any:
    """Return the value that was packed; kinds: the dataclasses that it may be made of. Raises on anything else."""
    with np.load(io.BytesIO(content), allow_pickle=False) as archive:
        tree = json.loads(archive["tree"].tobytes())
        return _value(tree, archive, {kind.__name__: kind for kind in kinds})


def _value(tree: Any, archive: Mapping[str, Any], kinds: Mapping[str, type]) -> Any:
    if not isinstance(tree, dict):
        return tree
    if "array" in tree:
        array = archive[f"a{int(tree['array'])}"]
        array.setflags(write=False)
        return array
    if "tuple" in tree:
        return tuple(_value(part, archive, kinds) for part in tree["tuple"])
    content = {name: _value(part, archive, kinds) for name, part in tree["content"].items()}
    return kinds[tree["kind"]](**content)
