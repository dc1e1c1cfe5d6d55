"""The plan of the house: which room may import which, and imports read off the source without running it."""

from __future__ import annotations

import ast
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

PACKAGE = "moldkit"

# Bottom floor, lowest first: each may import those before it.
BOTTOM = ("errors", "files", "data_folder", "units", "quantity", "kit_sizes", "tables", "cure", "batches", "seam")
GROUND = {*BOTTOM, "pattern", "loads", "materials", "mold_log", "shop"}

# Each room, lowest first, and the rooms it may import besides itself.
ROOMS: dict[str, set[str]] = {
    **{room: set(BOTTOM[:height]) for height, room in enumerate(BOTTOM)},
    "pattern": set(BOTTOM),
    "loads": set(BOTTOM),
    "materials": set(BOTTOM),
    "mold_log": set(BOTTOM),
    "shop": set(BOTTOM),
    "techniques": set(GROUND),
    "casting": set(GROUND),
    "findings": GROUND | {"techniques", "casting"},
    "economics": GROUND | {"techniques", "casting", "findings"},
    "study": GROUND | {"techniques", "casting", "findings", "economics"},
    "lessons": GROUND | {"techniques", "casting", "findings", "economics", "study"},
    "views": GROUND | {"techniques", "casting", "findings", "economics", "study", "lessons"},
    "start": set(),
    "cli": GROUND | {"techniques", "casting", "findings", "economics", "study", "lessons", "views", "start"},
    "__main__": {"start", "cli"},
}
MAY_SHOW = {"views", "cli", "__main__"}
FOR_SHOWING = {"plotly", "ipywidgets", "anywidget", "pandas", "IPython", "matplotlib"}


@dataclass(frozen=True)
class Import:
    """One import: the module it stands in, the line, and the full name of what is imported."""

    module: str
    line: int
    target: str


def modules(source: Path) -> dict[str, Path]:
    """Return every module of the package in the folder `source`, by its full name."""
    found = {}
    for path in sorted((source / PACKAGE).rglob("*.py")):
        parts = list(path.relative_to(source).with_suffix("").parts)
        found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return found


@cache
def imports(source: Path) -> tuple[Import, ...]:
    """Return every import in the package, those inside functions and under TYPE_CHECKING included."""
    known = modules(source)
    found = []
    for module, path in known.items():
        tree = ast.parse(path.read_text(encoding="utf-8"), str(path))
        for line, target in _targets(tree, module, path.name == "__init__.py", known):
            found.append(Import(module, line, target))
    return tuple(found)


def _targets(
    tree: ast.AST, module: str, is_package: bool, known: Mapping[str, Path]
) -> Iterator[tuple[int, str]]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = _absolute(node, module, is_package)
            for alias in node.names:
                full = f"{base}.{alias.name}"
                yield node.lineno, full if full in known else base
        elif isinstance(node, ast.Call) and _imports_by_name(node.func):
            words = [word.value for word in node.args[:1] if isinstance(word, ast.Constant)]
            yield from ((node.lineno, word) for word in words if isinstance(word, str))


def _absolute(node: ast.ImportFrom, module: str, is_package: bool) -> str:
    if node.level == 0:
        return node.module or ""
    parts = module.split(".")
    kept = parts[: len(parts) - node.level + is_package]
    return ".".join([*kept, *([node.module] if node.module else [])])


def _imports_by_name(function: ast.expr) -> bool:
    name = function.attr if isinstance(function, ast.Attribute) else getattr(function, "id", "")
    return name in ("import_module", "__import__")


def room(module: str) -> str:
    """Return the room a module stands in: the first name below the package, "" for the package itself."""
    return module.partition(".")[2].partition(".")[0]


def faults(source: Path) -> list[str]:
    """Return one sentence for each stranger to the plan, each import up or sideways, and each circle."""
    found = imports(source)
    strangers = sorted({room(module) for module in modules(source)} - {"", *ROOMS})
    unplaced = [
        f"{PACKAGE}/{name} has no place in the plan; give it one in tests/house/layers.py."
        for name in strangers
    ]
    return unplaced + [words for each in found if (words := _fault(each))] + _circles(found)


def _fault(each: Import) -> str:
    here, there = room(each.module), room(each.target)
    if here not in ROOMS:
        return ""
    top = each.target.partition(".")[0]
    if top == PACKAGE and there not in ("", here) and there not in ROOMS[here]:
        return f"{each.module} line {each.line} imports {each.target}, which is not below it."
    if top in FOR_SHOWING and here not in MAY_SHOW:
        return f"{each.module} line {each.line} imports {top}: computation knows no widgets, charts, frames."
    return ""


def _circles(found: tuple[Import, ...]) -> list[str]:
    graph: dict[str, set[str]] = {}
    for each in found:
        if each.target.partition(".")[0] == PACKAGE and each.target != PACKAGE:
            graph.setdefault(each.module, set()).add(each.target)
    return [f"a circle of imports: {' -> '.join(path)}" for path in _paths_round(graph)]


def _paths_round(graph: Mapping[str, set[str]]) -> Iterator[list[str]]:
    """Yield one closed path for each import that leads back to where the walk came from."""
    done: set[str] = set()

    def walk(module: str, path: list[str]) -> Iterator[list[str]]:
        if module in path:
            yield [*path[path.index(module) :], module]
        elif module not in done:
            for target in sorted(graph.get(module, ())):
                yield from walk(target, [*path, module])
            done.add(module)

    for module in sorted(graph):
        yield from walk(module, [])
