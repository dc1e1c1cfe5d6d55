"""Committed notebooks stay small, clean and readable anywhere."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from tests.house.tracked import ROOT, tracked_files

NOTEBOOKS = [path for path in tracked_files() if path.suffix == ".ipynb" and "notebooks" in path.parts]
KNOWN_TAGS = {
    "keep_output",
    "nbval-check-output",
    "nbval-ignore-output",
    "nbval-raises-exception",
    "nbval-skip",
}
KNOWN_TAGS |= {"exercise", "hint", "answer", "hide-input", "remove-input", "parameters", "not-shown"}
KEEPING_TAGS = {"keep_output", "nbval-check-output"}
LARGEST_BYTES = 100_000
MOST_LINES = 20
FEWEST_CELLS, MOST_CELLS = 8, 45
ABSOLUTE_PATH = re.compile(
    r"(?<![\w.~)/:\]-])(?:/(?:home|work|root|Users|tmp|opt|mnt|media|var|usr)/\w|[A-Za-z]:\\\w)"
)


def faults(notebook: dict[str, Any]) -> list[str]:
    """Return one sentence for each thing about a notebook that must not be committed."""
    found = []
    metadata, cells = notebook["metadata"], notebook["cells"]
    if metadata.get("kernelspec", {}).get("name") != "python3":
        found.append("it has no kernelspec python3, so JupyterLab asks for a kernel")
    if "widgets" in metadata:
        found.append("it carries saved widget state")
    if not FEWEST_CELLS <= len(cells) <= MOST_CELLS:
        found.append(f"it has {len(cells)} cells, not {FEWEST_CELLS} to {MOST_CELLS}")
    return found + [
        f"cell {number}: {words}" for number, cell in enumerate(cells) for words in _cell_faults(cell)
    ]


def _cell_faults(cell: dict[str, Any]) -> list[str]:
    found = []
    tags = set(cell["metadata"].get("tags", []))
    text = "".join(cell["source"])
    if tags - KNOWN_TAGS:
        found.append(f"unknown tag {sorted(tags - KNOWN_TAGS)}, which nbval and nbstripout ignore in silence")
    if cell.get("outputs") and not tags & KEEPING_TAGS:
        found.append("it has outputs, and no tag keep_output or nbval-check-output")
    if "nbval-check-output" in tags and "keep_output" not in tags:
        found.append("nbval-check-output without keep_output: nbstripout takes away what is to be checked")
    if "nbval-check-output" in tags and not cell.get("outputs"):
        found.append("nbval-check-output, and no output to check against")
    if cell["cell_type"] == "code" and len(text.splitlines()) > MOST_LINES:
        found.append(f"it has {len(text.splitlines())} lines of code, more than {MOST_LINES}")
    if ABSOLUTE_PATH.search(text + json.dumps(cell.get("outputs", []))):
        found.append("it holds an absolute path")
    return found


NONE_YET = pytest.param(ROOT, marks=pytest.mark.skip(reason="No notebook stands under notebooks/ yet."))


@pytest.mark.parametrize("path", NOTEBOOKS or [NONE_YET], ids=lambda path: path.relative_to(ROOT).as_posix())
def test_a_notebook_is_fit_to_be_committed(path: Path) -> None:
    assert path.stat().st_size < LARGEST_BYTES
    assert faults(json.loads(path.read_text(encoding="utf-8"))) == []


def _clean() -> dict[str, Any]:
    """Return a notebook without fault."""
    cell = {
        "cell_type": "code",
        "metadata": {},
        "outputs": [],
        "source": ["1 / 3  # see https://x.y/usr/z\n"],
    }
    cells = [json.loads(json.dumps(cell)) for _ in range(FEWEST_CELLS)]
    return {"metadata": {"kernelspec": {"name": "python3"}}, "cells": cells}


def test_a_clean_notebook_has_no_fault() -> None:
    assert faults(_clean()) == []


OUTPUT = [{"output_type": "stream", "text": ["1"]}]
SPOILT = {
    "no kernelspec python3": {"metadata": {}},
    "saved widget state": {"metadata": {"kernelspec": {"name": "python3"}, "widgets": {}}},
    "not 8 to 45": {"cells": []},
    "unknown tag": {"metadata": {"tags": ["nbval-check-ouput"]}},
    "it has outputs": {"outputs": OUTPUT},
    "without keep_output": {"outputs": OUTPUT, "metadata": {"tags": ["nbval-check-output"]}},
    "no output to check": {"metadata": {"tags": ["nbval-check-output", "keep_output"]}},
    "21 lines of code": {"source": ["x = 1\n"] * 21},
    "an absolute path": {"source": ["read('/ho" + "me/me/pattern.stl')"]},
}


@pytest.mark.parametrize("words", SPOILT)
def test_each_fault_of_a_notebook_is_caught(words: str) -> None:
    notebook, change = _clean(), SPOILT[words]
    whole = "cells" in change or words in ("no kernelspec python3", "saved widget state")
    (notebook if whole else notebook["cells"][0]).update(change)
    (fault,) = faults(notebook)
    assert words in fault


def test_an_absolute_path_in_an_output_or_of_another_system_is_caught() -> None:
    assert ABSOLUTE_PATH.search('"C:\\\\Users"'.replace("\\\\", "\\"))
    assert ABSOLUTE_PATH.search("File /usr/lib/python3")
    assert not ABSOLUTE_PATH.search("data/usr/x, 3 kg/wor" + "k/day, http://host/home/page")
