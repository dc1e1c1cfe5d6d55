"""Readings kept on disk: found again as they were, dropped when damaged, done without where they can't be kept."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from moldkit.pattern import store


@dataclass(frozen=True, eq=False)
class Inner:
    at: tuple[float, float]
    values: Any


@dataclass(frozen=True, eq=False)
class Outer:
    name: str
    inner: tuple[Inner, ...]
    maybe: float | None
    yes: bool


KINDS = (Inner, Outer)
VALUE = Outer('Ä "quoted" name', (Inner((1.5, -2.0), np.array([[1.0, 2.0], [3.0, 4.0]])),), None, True)


@pytest.fixture(autouse=True)
def own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv(store.PLACE, str(tmp_path / "kept"))
    return tmp_path / "kept"


def test_what_was_kept_comes_back_as_it_was() -> None:
    key = store.content_key([b"me", b"sh"], "mm", True)
    store.keep(key, VALUE)
    back = store.kept(key, KINDS)
    assert (back.name, back.maybe, back.yes) == (VALUE.name, None, True)
    assert back.inner[0].at == (1.5, -2.0)
    assert np.array_equal(back.inner[0].values, VALUE.inner[0].values)
    assert back.inner[0].values.dtype == np.float64
    assert not back.inner[0].values.flags.writeable


def test_another_file_unit_or_question_has_another_key() -> None:
    keys = {
        store.content_key([b"me", b"sh"], "mm", True), store.content_key([b"me", b"sh"], "mm", False),
        store.content_key([b"me", b"sh"], "in", True), store.content_key([b"mess"], "mm", True),
    }  # fmt: skip
    assert len(keys) == 4


@pytest.mark.parametrize("damage", ["cut", "emptied", "flipped", "foreign", "other kind"])
def test_a_damaged_file_is_no_answer_and_is_dropped(own_folder: Path, damage: str) -> None:
    store.keep("key", VALUE)
    path = own_folder / "key.npz"
    content = path.read_bytes()
    middle = content.index(b"\x00\x00\x00\x00\x00\x00\x08@")  # the 3.0 among the values
    spoilt = {
        "cut": content[: len(content) // 2],
        "emptied": b"",
        "flipped": content[:middle] + b"\xff" + content[middle + 1 :],
        "foreign": b"something else entirely",
        "other kind": content.replace(b'"kind": "Inner"', b'"kind": "Winne"'),
    }[damage]
    path.write_bytes(spoilt)
    assert store.kept("key", KINDS) is None
    assert not path.exists()


@pytest.mark.parametrize("seed", range(300))
def test_a_flipped_bit_anywhere_is_a_miss_or_the_value_itself(own_folder: Path, seed: int) -> None:
    store.keep("key", VALUE)
    path = own_folder / "key.npz"
    content = bytearray(path.read_bytes())
    draw = np.random.default_rng(seed)
    content[draw.integers(len(content))] ^= 1 << int(draw.integers(8))
    path.write_bytes(content)
    found = store.kept("key", KINDS)
    assert found is None or np.array_equal(found.inner[0].values, VALUE.inner[0].values)


def test_a_folder_that_cannot_be_written_is_done_without(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("not a folder")
    monkeypatch.setenv(store.PLACE, str(blocked / "kept"))
    store.keep("key", VALUE)
    assert store.kept("key", KINDS) is None


def test_off_keeps_nothing(monkeypatch: pytest.MonkeyPatch, own_folder: Path) -> None:
    monkeypatch.setenv(store.PLACE, store.OFF)
    store.keep("key", VALUE)
    assert store.kept("key", KINDS) is None
    assert not own_folder.exists()


def test_the_oldest_are_dropped(own_folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(store, "MOST_KEPT", 3)
    import os

    for place in range(5):
        store.keep(f"key{place}", VALUE)
        os.utime(own_folder / f"key{place}.npz", (place, place))
    store.keep("last", VALUE)
    assert {path.stem for path in own_folder.iterdir()} == {"key3", "key4", "last"}


def test_only_what_is_named_can_be_kept() -> None:
    with pytest.raises(TypeError, match="set"):
        store.pack({1, 2})
