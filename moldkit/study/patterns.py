"""The pattern a case stands on: its mesh or form, read once, at the case's size."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Any, TypeVar

from moldkit.errors import InputError, MoldkitError
from moldkit.pattern import store
from moldkit.pattern.containers import Containers
from moldkit.pattern.distance import DistanceCurve
from moldkit.pattern.field import Progress
from moldkit.pattern.forms import form_mesh
from moldkit.pattern.intake.mesh_file import opened
from moldkit.pattern.mesh import Mesh, load_mesh
from moldkit.pattern.pattern import ASSUMED, DECLARED, MEASURED, Pattern
from moldkit.pattern.piecewise import PiecewiseCubic
from moldkit.pattern.reading import Reading, read_mesh
from moldkit.pattern.survey.picture import Picture, picture_of
from moldkit.pattern.survey.results import Air, Neck, Peel, Piece, Pull, Survey, Trap, Walls, WayUp
from moldkit.study.case import Case, checked_side
from moldkit.study.knowledge import Knowledge
from moldkit.units import show

Found = TypeVar("Found")
# Share of the time of reading a mesh that goes into loading it.
LOADING = 0.25
PIECE = 1 << 20  # [bytes]
_KEPT_KINDS = (
    Reading, DistanceCurve, PiecewiseCubic, Containers, Survey, Pull, Piece, Peel, Neck, Air, WayUp, Trap, Walls,
    Picture,
)  # fmt: skip


@dataclass(frozen=True)
class MeshFile:
    """A mesh file as it is now and how it is to be read: what tells one reading of it from another.

    path; changed: its times of change [ns], number and length [bytes], which together tell a changed file apart; unit,
    bodies, mend: as for `load_mesh`; stands_on_base.
    """

    path: Path
    changed: tuple[int, ...]
    unit: str
    bodies: str = "all"
    mend: tuple[str, ...] = ()
    stands_on_base: bool = True


# What tells one reading from another: the form, its size and how it stands, or the file.
ReadingKey = tuple[str, tuple[float, float, float], bool] | MeshFile


def reading_key(case: Case, data: Path) -> ReadingKey:
    """Return what tells the reading of the case's pattern from others; data: the data folder.

    Raises InputError when there is no such file.
    """
    if case.mesh is None:
        assert case.form is not None and case.size is not None, "a case names a mesh or a form with its size"
        return case.form, case.size, case.stands_on_base
    return mesh_file(mesh_path(case, data), case.unit or "", case.bodies, case.mend, case.stands_on_base)


def mesh_file(
    path: Path, unit: str, bodies: str = "all", mend: tuple[str, ...] = (), stands_on_base: bool = True
) -> MeshFile:
    """Return a mesh file as it is now; raises InputError when there is none."""
    try:
        found = path.stat()
    except OSError:
        raise InputError(f"{path}: there is no such file; check the name and the folder.") from None
    changed = found.st_mtime_ns, found.st_ctime_ns, found.st_ino, found.st_size
    return MeshFile(path.resolve(), changed, unit, bodies, mend, stands_on_base)


def read_pattern(case: Case, knowledge: Knowledge, progress: Progress | None = None) -> Reading:
    """Return the reading of the case's mesh or form, read once; raises InputError when it cannot be read.

    progress: called with the finished share, 0 to 1, while a mesh is read.
    """
    key = reading_key(case, knowledge.folder)
    return read_file(key, progress) if isinstance(key, MeshFile) else _read_form(*key)


@lru_cache(maxsize=16)
def _read_form(form: str, size: tuple[float, float, float], stands_on_base: bool) -> Reading:
    return read_mesh(form_mesh(form, size), stands_on_base=stands_on_base)


def read_file(file: MeshFile, progress: Progress | None = None) -> Reading:
    """Return the reading of a mesh file with its survey: from this session, else from disk, else measured.

    Raises InputError when it cannot be read.
    """

    def measured() -> Reading:
        mesh = _loaded(file)
        if progress is not None:
            progress(LOADING)
        return read_mesh(mesh, stands_on_base=file.stands_on_base, surveyed=True, progress=_rest(progress))

    found: Reading = _once(("reading", file), file, measured)
    return found


def read_picture(file: MeshFile) -> Picture:
    """Return a mesh for looking at, with what the survey found on it; raises InputError when it cannot be read."""

    def drawn() -> Picture:
        survey = read_file(file).survey
        assert survey is not None, "a mesh file is read with its survey"
        return picture_of(_loaded(file), survey, stands_on_base=file.stands_on_base)

    found: Picture = _once(("picture", file), file, drawn)
    return found


# The newest readings and pictures of this session, the newest last.
_session: dict[tuple[str, MeshFile], Any] = {}
MOST_IN_SESSION = 24


def _once(key: tuple[str, MeshFile], file: MeshFile, made: Callable[[], Found]) -> Found:
    """Return what was made before for a key, in this session or on disk; else make it and keep it."""
    if key not in _session:
        on_disk = _disk_key(key[0], file)
        kept = store.kept(on_disk, _KEPT_KINDS) if on_disk else None
        if kept is None:
            kept = made()
            if on_disk:
                store.keep(on_disk, kept)
        elif isinstance(kept, Reading):
            kept = replace(kept, name=file.path.stem)
        _session[key] = kept
        for oldest in list(_session)[:-MOST_IN_SESSION]:
            _session.pop(oldest, None)
    found: Found = _session[key]
    return found


def _disk_key(what: str, file: MeshFile) -> str:
    """Return the key of a file's reading or picture on disk; empty where none is kept or the file can't be read."""
    if store.cache_folder() is None:
        return ""
    more = what, file.unit, file.bodies, file.mend, file.stands_on_base, file.path.suffix
    try:
        with opened(file.path) as (stream, _):
            return store.content_key(iter(lambda: stream.read(PIECE), b""), *more)
    except (MoldkitError, OSError):  # the reading itself will say what is wrong
        return ""


@lru_cache(maxsize=1)
def _loaded(file: MeshFile) -> Mesh:
    return load_mesh(file.path, file.unit, bodies=file.bodies, mend=file.mend)


def _rest(progress: Progress | None) -> Progress | None:
    if progress is None:
        return None
    return lambda share: progress(LOADING + (1.0 - LOADING) * share)


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
        reading, scale, *undercut_of(case, reading), case.surface, case.sealed, case.survives, case.fixed_in_place,
        case.vertical, case.fragile, case.unique,
    )  # fmt: skip


def undercut_of(case: Case, reading: Reading) -> tuple[str, str]:
    """Return the grade of the undercuts and where it comes from: declared, else measured, else none assumed."""
    if case.undercut is not None:
        return case.undercut, DECLARED
    if reading.survey is not None:
        return reading.survey.pull.grade, MEASURED
    return "none", ASSUMED
