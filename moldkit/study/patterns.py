"""The pattern a case stands on: its mesh or form, read once, at the case's size."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import Any

from moldkit.errors import InputError
from moldkit.pattern.forms import form_mesh
from moldkit.pattern.mesh import load_mesh
from moldkit.pattern.pattern import Pattern
from moldkit.pattern.reading import Reading, read_mesh
from moldkit.study.case import Case, checked_side
from moldkit.study.knowledge import Knowledge
from moldkit.units import show

# What tells one reading from another: the form and its size, or the file as it is now, and how the pattern stands.
ReadingKey = tuple[str, tuple[float, float, float], bool] | tuple[Path, int, int, str, bool]


def reading_key(case: Case, data: Path) -> ReadingKey:
    """Return what tells the reading of the case's pattern from others; data: the data folder.

    A file's time of change and its length tell a changed file apart. Raises InputError when there is no such file.
    """
    if case.mesh is None:
        assert case.form is not None and case.size is not None, "a case names a mesh or a form with its size"
        return case.form, case.size, case.stands_on_base
    path = mesh_path(case, data).resolve()
    found = path.stat()
    return path, found.st_mtime_ns, found.st_size, case.unit or "", case.stands_on_base


def read_pattern(case: Case, knowledge: Knowledge) -> Reading:
    """Return the reading of the case's mesh or form, read once; raises InputError when it cannot be read."""
    return _read(reading_key(case, knowledge.folder))


@lru_cache(maxsize=16)
def _read(key: ReadingKey) -> Reading:
    if len(key) == 3:
        form, size, stands_on_base = key
        return read_mesh(form_mesh(form, size), stands_on_base=stands_on_base)
    path, _, _, unit, stands_on_base = key
    return read_mesh(load_mesh(path, unit), stands_on_base=stands_on_base)


def mesh_path(case: Case, data: Path) -> Path:
    """Return where the case's mesh lies: in the job's folder first, then in the data folder."""
    given = Path(case.mesh or "")
    places = [given] if given.is_absolute() else [folder / given for folder in (case.folder, data) if folder]
    try:
        found = next((place for place in places if place.exists()), None)
    except OSError as fault:
        raise InputError(
            f"[pattern] mesh: {case.mesh!r} is no usable path ({fault.strerror}); check the name."
        ) from None
    if found is not None:
        return found
    looked = " nor in ".join(repr(str(place.parent)) for place in places)
    raise InputError(f"[pattern] mesh: {case.mesh!r} is neither in {looked}; check the name.")


def scale_of(case: Case, reading: Reading) -> float:
    """Return what the reading's lengths are multiplied by; raises InputError outside 5 mm to 5 m."""
    longest = max(reading.extents)
    if case.longest is None:
        checked_side(longest, "[pattern] the longest side", show(longest, "m"))
        return 1.0
    return float(case.longest / longest)


def pattern_of(case: Case, reading: Reading, scale: Any) -> Pattern:
    """Return the case's pattern at a scale (a number or an array)."""
    return Pattern(
        reading, scale, case.declared_undercut, case.surface, case.sealed, case.survives, case.fixed_in_place,
        case.vertical, case.fragile, case.unique,
    )  # fmt: skip
