"""Imports point downwards only, with no circle, lazy and type-only ones included."""

from __future__ import annotations

import ast
import sys
from pathlib import Path

import pytest

from tests.house.layers import PACKAGE, ROOMS, faults, imports, modules, room

SOURCE = Path(__file__).resolve().parents[2]


def test_every_import_of_the_package_points_downwards_and_none_goes_round() -> None:
    assert faults(SOURCE) == []


def test_the_package_is_really_read() -> None:
    assert {"", "errors", "units", "start", "__main__"} <= {room(name) for name in modules(SOURCE)}
    assert any(each.target == "moldkit.errors" for each in imports(SOURCE))


@pytest.mark.parametrize("name", ["moldkit", "moldkit.__main__"])
def test_the_front_door_needs_the_standard_library_only(name: str) -> None:
    assert _outsiders(name) == set()


def test_start_needs_the_standard_library_only() -> None:
    names = [name for name in modules(SOURCE) if room(name) == "start"]
    assert len(names) > 5
    assert {name: _outsiders(name) for name in names if _outsiders(name)} == {}


def test_front_door_and_start_are_written_in_syntax_that_python_3_8_reads() -> None:
    for name, path in modules(SOURCE).items():
        if room(name) in ("", "start", "__main__"):
            ast.parse(path.read_text(encoding="utf-8"), str(path), feature_version=(3, 8))


def _outsiders(module: str) -> set[str]:
    tops = {each.target.partition(".")[0] for each in imports(SOURCE) if each.module == module}
    return tops - set(sys.stdlib_module_names) - {PACKAGE}


# Planted faults: each file set below breaks the plan in one way, and the sentence that must come of it.
PLANTED = {
    "up": (
        {"pattern/mesh.py": "from moldkit.study import case", "study/case.py": ""},
        "moldkit.pattern.mesh line 1",
    ),
    "sideways": (
        {"techniques/a.py": "from ..casting import b", "casting/b.py": ""},
        "moldkit.techniques.a line 1",
    ),
    "between neighbours on the ground floor": (
        {"pattern/mesh.py": "import moldkit.loads.statics", "loads/statics.py": ""},
        "moldkit.pattern.mesh line 1",
    ),
    "materials to shop": (
        {"materials.py": "from moldkit import shop", "shop.py": ""},
        "moldkit.materials line 1",
    ),
    "lazy": ({"units.py": "def f():\n    from moldkit import cli", "cli.py": ""}, "moldkit.units line 2"),
    "type-only": (
        {
            "loads/statics.py": "import typing\nif typing.TYPE_CHECKING:\n    import moldkit.views.charts",
            "views/charts.py": "",
        },
        "moldkit.loads.statics line 3",
    ),
    "by name": (
        {
            "quantity.py": "import importlib\nimportlib.import_module('moldkit.views')",
            "views/__init__.py": "",
        },
        "moldkit.quantity line 2",
    ),
    "start to the house": (
        {"start/lab.py": "from moldkit.errors import InputError", "errors.py": ""},
        "moldkit.start.lab",
    ),
    "a chart library in computation": ({"economics/cost.py": "import plotly.express"}, "imports plotly"),
    "a data frame in computation, lazily": (
        {"study/sweep.py": "def f():\n    import pandas"},
        "imports pandas",
    ),
    "a circle within a room": (
        {"pattern/a.py": "from moldkit.pattern import b", "pattern/b.py": "from moldkit.pattern.a import x"},
        "a circle of imports: moldkit.pattern.a -> moldkit.pattern.b -> moldkit.pattern.a",
    ),
    "a room that is not in the plan": ({"attic/box.py": ""}, "moldkit/attic has no place"),
}


@pytest.mark.parametrize("fault", PLANTED)
def test_a_planted_fault_is_caught(tmp_path: Path, fault: str) -> None:
    files, words = PLANTED[fault]
    _build(tmp_path, files)
    assert len(faults(tmp_path)) == 1
    assert words in faults(tmp_path)[0]


def test_a_house_that_keeps_to_the_plan_has_no_fault(tmp_path: Path) -> None:
    ordered = [name for name in ROOMS if name not in ("start", "__main__")]
    downwards = {
        name: "\n".join(f"import moldkit.{below}" for below in sorted(ROOMS[name] - {"start"}))
        for name in ordered
    }
    _build(tmp_path, {f"{name}/__init__.py": text for name, text in downwards.items()})
    assert faults(tmp_path) == []


def _build(folder: Path, files: dict[str, str]) -> None:
    for name, text in {"__init__.py": "", **files}.items():
        path = folder / PACKAGE / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text + "\n", encoding="utf-8")
