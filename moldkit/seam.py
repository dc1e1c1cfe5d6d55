"""The seam for techniques, casting methods and rules: files found by walking a folder, paired with table rows."""

from __future__ import annotations

import importlib
import importlib.util
import sys
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from types import ModuleType
from typing import Any

from moldkit.errors import InputError

NOT_WALKED = ("__init__", "plan")


def walk(folders: Sequence[Path]) -> dict[str, Path]:
    """Return the files of the folders by stem; plan.py and __init__.py are not part of it."""
    found: dict[str, Path] = {}
    for folder in folders:
        for path in sorted(folder.glob("*.py")):
            if path.stem not in NOT_WALKED and not path.stem.startswith("_"):
                found[path.stem] = path
    return found


def load_file(path: Path, package: str) -> ModuleType:
    """Return the module of a file: by import where it lies in the package, else straight from the file."""
    name = f"{package}.{path.stem}"
    home = Path(importlib.import_module(package).__file__ or "").parent
    if path.parent.resolve() == home.resolve():
        return importlib.import_module(name)
    spec = importlib.util.spec_from_file_location(name, path)
    if spec is None or spec.loader is None:
        raise InputError(f"{path.name}: is not a Python file that can be loaded.")
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module


def paired(
    keys: Iterable[str], folders: Sequence[Path], package: str, table: str, function: str = "plan"
) -> Mapping[str, Any]:
    """Return the function of each file by key, in the order of `keys` (the table's rows).

    Raises InputError naming the missing partner when a row has no file or a file has no row.
    """
    files = walk(folders)
    wanted = list(keys)
    for key in wanted:
        if key not in files:
            raise InputError(f"{table}: row {key!r} has no file {key}.py in {package.replace('.', '/')}; add it.")
    for stem, path in files.items():
        if stem not in wanted:
            raise InputError(f"{path.name}: has no row {stem!r} in {table}; add the row.")
    found = {}
    for key in wanted:
        module = load_file(files[key], package)
        if not hasattr(module, function):
            raise InputError(f"{files[key].name}: has no function {function}(); add it.")
        found[key] = getattr(module, function)
    return found
