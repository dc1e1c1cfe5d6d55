"""What the tests share: the repository's data loaded once, a copy that may be spoiled, readings of forms."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from moldkit.pattern.reading import Reading
    from moldkit.study.case import Case
    from moldkit.study.compare import Comparison
    from moldkit.study.knowledge import Knowledge

# moldkit is imported inside the fixtures, so that tests which need none of it start at once.
DATA = Path(__file__).resolve().parents[1] / "data"


# A run of pytest by itself keeps its readings apart from the user's, and its workers share them.
if "MOLDKIT_CACHE" not in os.environ:
    _KEPT = tempfile.TemporaryDirectory(prefix="moldkit-readings-")
    os.environ["MOLDKIT_CACHE"] = _KEPT.name


@pytest.fixture(scope="session")
def knowledge() -> Knowledge:
    """Return the knowledge of the repository's data folder."""
    from moldkit.study.knowledge import load_knowledge

    return load_knowledge(DATA)


@pytest.fixture
def copied_data(tmp_path: Path) -> Path:
    """Return a copy of the data folder, without its meshes, that a test may spoil."""
    copy = tmp_path / "data"
    shutil.copytree(DATA, copy, ignore=shutil.ignore_patterns("__pycache__", "patterns"))
    return copy


@pytest.fixture(scope="session")
def reading_of(knowledge: Knowledge) -> Callable[[Case], Reading]:
    """Return the function from a case to the reading of its form, each form read once a session."""
    from moldkit.study.patterns import read_pattern

    found: dict[object, Reading] = {}

    def reading(case: Case) -> Reading:
        key = (case.form, case.size, case.mesh, case.unit, case.stands_on_base)
        if key not in found:
            found[key] = read_pattern(case, knowledge)
        return found[key]

    return reading


@pytest.fixture(scope="session")
def compared(knowledge: Knowledge, reading_of: Callable[[Case], Reading]) -> Callable[[Case], Comparison]:
    """Return the function from a case to its comparison with the repository's data."""

    from moldkit.study.compare import compare

    def comparison(case: Case) -> Comparison:
        return compare(case, knowledge, reading_of(case))

    return comparison
