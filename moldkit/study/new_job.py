"""A new job file for a pattern that was read: the pattern as it was taken, casting and mold as a beginning."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import tomlkit

from moldkit.errors import InputError
from moldkit.files import write_atomic
from moldkit.study.case import Case
from moldkit.study.job_file import JobFile, job_text, load_job
from moldkit.study.knowledge import Knowledge
from moldkit.study.patterns import mesh_path

# Castings of a job whose run nobody has said yet.
FIRST_RUN = 20
_HEAD = (
    "# Made by reading the pattern. What stands under [casting] and [mold] is a beginning:\n"
    "# put the job's own there.\n"
)
# What a reader of the file should find spelt out, though the defaults are the same: section, key, field of the case.
_SPELT_OUT = (
    ("pattern", "stands_on_base", "stands_on_base"),
    ("casting", "material", "material"),
    ("casting", "method", "method"),
    ("casting", "run", "run"),
    ("mold", "rubber", "rubber"),
)
_MOST_NAMES = 1000


def job_folder(knowledge: Knowledge) -> Path:
    """Return where new jobs go: the data folder's jobs. Raises InputError where that lies inside the package."""
    folder = knowledge.folder / "jobs"
    if "site-packages" in folder.resolve().parts:
        raise InputError(
            "The data folder lies inside the installed package; make your own with `moldkit data copy DIR` first."
        )
    return folder


def save_new_job(case: Case, knowledge: Knowledge, folder: Path) -> JobFile:
    """Write a case's job file, its mesh beside it unless the data folder has it, and return it as loaded.

    Nothing is written over: a name that is taken gets a number, and a file that says the same already is taken as it
    is. Raises InputError when the place is not for writing.
    """
    mesh = mesh_path(case, knowledge.folder)
    stem = mesh.stem
    inside = _within(mesh, knowledge.folder)
    case = replace(case, mesh=inside or _beside(mesh, folder), folder=None, run=FIRST_RUN)
    text = _spelt_out(case).encode("utf-8")
    path = _placed(folder, stem, ".toml", text)
    return load_job(path)


def _within(path: Path, folder: Path) -> str:
    """Return a path as seen from a folder, empty where it lies elsewhere."""
    whole, home = path.resolve(), folder.resolve()
    return whole.relative_to(home).as_posix() if whole.is_relative_to(home) else ""


def _beside(mesh: Path, folder: Path) -> str:
    """Copy a mesh into a folder, unless it is there, and return its name there."""
    try:
        content = mesh.read_bytes()
    except OSError as fault:
        raise InputError(f"{mesh.name}: cannot be read any more ({fault.strerror}); choose it again.") from None
    return _placed(folder, mesh.stem, mesh.suffix, content).name


def _placed(folder: Path, stem: str, ending: str, content: bytes) -> Path:
    """Write content under the first free name, or return the file that holds just that already."""
    for number in range(1, _MOST_NAMES):
        path = folder / f"{stem}{'' if number == 1 else f'-{number}'}{ending}"
        if not path.exists():
            write_atomic(path, content)
            return path
        if path.is_file() and path.read_bytes() == content:
            return path
    raise InputError(f"{stem}{ending}: there are {_MOST_NAMES} files of that name in {str(folder)!r}; clear some away.")


def _spelt_out(case: Case) -> str:
    """Return the text of a job file in which the usual choices stand too, so that they can be changed there."""
    document = tomlkit.parse(job_text(case))
    for section, key, name in _SPELT_OUT:
        if section not in document:
            document[section] = tomlkit.table()
        table = document[section]
        assert isinstance(table, dict), "a section of a job is a table"
        if key not in table:
            table[key] = getattr(case, name)
    return _HEAD + tomlkit.dumps(document)
