"""A case: what is to be cast, from which pattern, in which mold; read from a job file and checked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

from moldkit.errors import InputError, unknown
from moldkit.materials import DEFAULT_RUBBER
from moldkit.pattern.forms import FORMS
from moldkit.pattern.intake.choices import check_bodies, check_mend
from moldkit.pattern.pattern import UNDERCUTS
from moldkit.shop import parse_date, read_toml
from moldkit.study.quote_keys import check_quote
from moldkit.units import MESH_UNITS, count_text, parse, parse_length, parse_number, show

LEAST_SIDE, MOST_SIDE = 0.005, 5.0
MOST_RUN = 100_000
# Molds side by side.
MOST_MOLDS = 50
POURS = ("one and cut", "two")
CONTAINERS = ("rectangular", "round")
# In the place of a life: it is learned from the shop's own log.
FROM_LOG = "log"


@dataclass(frozen=True)
class Case:
    """Everything a comparison starts from; lengths in m, life in pours, None where the default follows.

    mesh and unit, or form and size, say what the pattern is; bodies and mend say which of a mesh's bodies are meant
    and what is mended where that was left open; longest scales it; undercut None takes it as measured; size_wanted is
    the longest side that the casting should measure; life is None, one certain number, (low, likely, high), or "log"
    to learn it; rubber_price is a price a kg in place of the table's; shop holds overrides of data/shop.toml by key,
    quote those for quotes; folder is the job file's; mass is what the pattern weighs [kg]; whole_kits: costs go by
    whole kits, not by weight.
    due: the day by which the run is wanted; start, molds (side by side), people, pots, chambers: how it is planned,
    None where the default follows (today, the shop's).
    """

    mesh: str | None = None
    unit: str | None = None
    bodies: str = "all"
    mend: tuple[str, ...] = ()
    form: str | None = None
    size: tuple[float, float, float] | None = None
    longest: float | None = None
    stands_on_base: bool = True
    fixed_in_place: bool = False
    vertical: bool = False
    fragile: bool = False
    unique: bool = False
    mass: float | None = None
    undercut: str | None = None
    surface: str = "sealed plaster"
    sealed: bool = False
    survives: bool = True
    material: str = "rigid urethane resin"
    method: str = "open pour"
    good_share: float = 1.0
    release: bool = True
    run: int = 1
    wall: float | None = None
    size_wanted: float | None = None
    rubber: str = DEFAULT_RUBBER
    shell: str | None = None
    rubber_price: float | None = None
    skin: float | None = None
    margin: float | None = None
    life: float | tuple[float, float, float] | str | None = None
    cavities: int = 1
    pours: str = "one and cut"
    container: str | None = None
    pieces: int | None = None
    keep_shell: bool = False
    degassed: bool | None = None
    due: date | None = None
    start: date | None = None
    molds: int = 1
    people: int | None = None
    pots: int | None = None
    chambers: int | None = None
    whole_kits: bool = False
    shop: Mapping[str, Any] = field(default_factory=dict)
    quote: Mapping[str, Any] = field(default_factory=dict)
    name: str = "untitled job"
    note: str = ""
    folder: Path | None = None


def _side(value: Any, where: str) -> float:
    return checked_side(parse_length(value, where), where, str(value))


def checked_side(length: float, where: str, shown: str) -> float:
    """Return a longest side [m] if it lies within 5 mm to 5 m; raises InputError that asks about the unit."""
    if not LEAST_SIDE * (1 - 1e-9) <= length <= MOST_SIDE * (1 + 1e-9):
        raise InputError(f"{where}: {shown} is outside 5 mm to 5 m; check the figure and its unit.")
    return length


def _yes_no(value: Any, where: str) -> bool:
    if not isinstance(value, bool):
        raise InputError(f"{where}: {value!r} is neither true nor false; write one of them.")
    return value


def _text(value: Any, where: str) -> str:
    text = _free_text(value, where).strip()
    if not text:
        raise InputError(f"{where}: is empty; write something or leave the key out.")
    return text


def _free_text(value: Any, where: str) -> str:
    if not isinstance(value, str):
        raise InputError(f"{where}: {value!r} is not text; put it in quotation marks.")
    return value


def _one_of(choices: tuple[str, ...], kind: str = "word") -> Any:
    def check(value: Any, where: str) -> str:
        word = _text(value, where)
        if word not in choices:
            raise unknown(kind, word, choices, where)
        return word

    return check


def _whole(least: int, most: int) -> Any:
    span = f"give one from {count_text(least)} to {count_text(most)}"

    def check(value: Any, where: str) -> int:
        number = parse_number(value, where)
        if number != int(number):
            raise InputError(f"{where}: {value!r} is not a whole number; {span}.")
        if not least <= number <= most:
            raise InputError(f"{where}: {value!r} is out of bounds; {span}.")
        return int(number)

    return check


def _price(value: Any, where: str) -> float:
    number = parse_number(value, where)
    if not 0.01 <= number <= 1000:
        raise InputError(f"{where}: {value!r} is outside 0.01 to 1000 a kg.")
    return number


def _between(least: float, most: float) -> Any:
    """Return the check of a length between two bounds [m]."""

    def check(value: Any, where: str) -> float:
        length = parse_length(value, where)
        if not least * (1 - 1e-9) <= length <= most * (1 + 1e-9):
            raise InputError(f"{where}: {value!r} is outside {show(least, 'm')} to {show(most, 'm')}.")
        return length

    return check


def _mass(value: Any, where: str) -> float:
    mass = parse(value, "mass", where)
    if not 0 < mass <= 10_000:
        raise InputError(f"{where}: {value!r} is outside 0 to 10,000 kg; check the figure and its unit.")
    return mass


def _share(value: Any, where: str) -> float:
    number = parse_number(value, where)
    if not 0.01 <= number <= 1:
        raise InputError(f"{where}: {value!r} is not a share of 0.01 to 1 (95 % is 0.95).")
    return number


def _size(value: Any, where: str) -> tuple[float, float, float]:
    if not isinstance(value, list) or len(value) != 3:
        raise InputError(f'{where}: {value!r} is not three lengths; write for instance ["20 cm", "20 cm", "30 cm"].')
    width, depth, height = (parse_length(side, where) for side in value)
    checked_side(max(width, depth, height), where, f"the longest of {value}")
    return width, depth, height


def _pours_of_life(value: Any, where: str) -> float:
    number = parse_number(value, where)
    if not 1 <= number <= 100_000:
        raise InputError(f"{where}: {value!r} is outside 1 to {count_text(100_000)} pours.")
    return number


def _life(value: Any, where: str) -> float | tuple[float, float, float] | str:
    if value == FROM_LOG:
        return FROM_LOG
    if isinstance(value, str):
        raise InputError(
            f'{where}: {value!r} is neither a number of pours nor {{low, likely, high}} nor "log", the shop\'s own log.'
        )
    if not isinstance(value, Mapping):
        number = _pours_of_life(value, where)
        if number != int(number):
            raise InputError(f"{where}: {value!r} is not a whole number of pours; round it.")
        return number
    for key in value:
        if key not in ("low", "likely", "high"):
            raise unknown("key", str(key), ("low", "likely", "high"), where)
    if len(value) != 3:
        raise InputError(f"{where}: write {{low = 20, likely = 40, high = 60}}.")
    low, likely, high = (_pours_of_life(value[key], f"{where} {key}") for key in ("low", "likely", "high"))
    if not low <= likely <= high:
        raise InputError(f"{where}: low {low:g}, likely {likely:g}, high {high:g} are out of order; sort them.")
    return low, likely, high


def _bodies(value: Any, where: str) -> str:
    word = str(value) if isinstance(value, int) and not isinstance(value, bool) else _text(value, where)
    check_bodies(word, where)
    return word


def _mend(value: Any, where: str) -> tuple[str, ...]:
    words = [value] if isinstance(value, str) else value
    if not isinstance(words, list):
        raise InputError(f'{where}: {value!r} is no list of words; write for instance ["fill holes"].')
    check_mend(words, where)
    return tuple(words)


# Sections that are kept as they stand, by key: overrides of the shop's file.
OVERRIDES = ("shop", "quote")
# Lists of tables that a job file keeps beside its case, each read by a module of its own.
BESIDE = ("alternative", "meeting")
# section -> key in the file -> (field of the case, check)
KEYS: dict[str, dict[str, tuple[str, Any]]] = {
    "job": {"name": ("name", _text), "note": ("note", _free_text)},
    "pattern": {
        "mesh": ("mesh", _text),
        "unit": ("unit", _one_of(MESH_UNITS)),
        "bodies": ("bodies", _bodies),
        "mend": ("mend", _mend),
        "form": ("form", _one_of(FORMS, "form")),
        "size": ("size", _size),
        "longest": ("longest", _side),
        "stands_on_base": ("stands_on_base", _yes_no),
        "fixed_in_place": ("fixed_in_place", _yes_no),
        "vertical": ("vertical", _yes_no),
        "fragile": ("fragile", _yes_no),
        "unique": ("unique", _yes_no),
        "mass": ("mass", _mass),
        "undercut": ("undercut", _one_of(UNDERCUTS)),
        "surface": ("surface", _text),
        "sealed": ("sealed", _yes_no),
        "survives": ("survives", _yes_no),
    },
    "casting": {
        "material": ("material", _text),
        "method": ("method", _text),
        "yield": ("good_share", _share),
        "release": ("release", _yes_no),
        "run": ("run", _whole(1, MOST_RUN)),
        "wall": ("wall", parse_length),
        "due": ("due", parse_date),
        "size_wanted": ("size_wanted", _side),
    },
    "mold": {
        "rubber": ("rubber", _text),
        "shell": ("shell", _text),
        "rubber_price": ("rubber_price", _price),
        "skin": ("skin", _between(0.0005, 5.0)),
        "margin": ("margin", _between(0.003, 0.040)),
        "life": ("life", _life),
        "cavities": ("cavities", _whole(1, 1000)),
        "pours": ("pours", _one_of(POURS)),
        "container": ("container", _one_of(CONTAINERS)),
        "pieces": ("pieces", _whole(1, 12)),
        "keep_shell": ("keep_shell", _yes_no),
        "degassed": ("degassed", _yes_no),
        "whole_kits": ("whole_kits", _yes_no),
    },
    "plan": {
        "start": ("start", parse_date),
        "molds": ("molds", _whole(1, MOST_MOLDS)),
        "people": ("people", _whole(1, 100)),
        "pots": ("pots", _whole(0, 50)),
        "chambers": ("chambers", _whole(0, 50)),
    },
}


def read_job(path: Path) -> Case:
    """Return the case of a job file; raises InputError in one sentence for the first fault."""
    return case_from(read_toml(path), path.name, path.resolve().parent)


def case_from(job: Mapping[str, Any], where: str, folder: Path | None = None) -> Case:
    """Return the case of a job given as nested tables.

    where: the file's name for errors. Raises InputError naming section, key, value and mend.
    """
    found: dict[str, Any] = {"folder": folder}
    for section, content in job.items():
        if section == "schema":
            if content != 1 or isinstance(content, bool):
                raise InputError(f"{where}: schema {content!r} is not one that this moldkit reads; it reads schema 1.")
            continue
        if section in BESIDE:
            continue
        if section not in (*KEYS, *OVERRIDES):
            known = [f"[{s}]" for s in (*KEYS, *OVERRIDES)] + [f"[[{s}]]" for s in BESIDE]
            raise unknown("section", f"[{section}]", known, where)
        if not isinstance(content, Mapping):
            raise InputError(f"{where}: {section!r} must be a section [{section}], not a value.")
        found.update(_section(section, content, where))
    case = Case(**found)
    _check_pattern(case, where)
    if case.due is not None and case.start is not None and case.due < case.start:
        raise InputError(
            f"{where} [casting] due: {case.due} lies before the plan's start on {case.start}; check both dates."
        )
    return case


def _section(section: str, content: Mapping[str, Any], where: str) -> dict[str, Any]:
    for key in content:
        if key in BESIDE:
            raise InputError(f"{where} [{section}]: {key!r} is no key of a section; head each one with [[{key}]].")
    if section == "quote":
        check_quote(content, f"{where} [quote]")
    if section in OVERRIDES:
        return {section: dict(content)}
    found = {}
    for key, value in content.items():
        if key not in KEYS[section]:
            raise unknown("key", key, KEYS[section], f"{where} [{section}]")
        name, check = KEYS[section][key]
        found[name] = check(value, f"{where} [{section}] {key}")
    return found


def _check_pattern(case: Case, where: str) -> None:
    if (case.mesh is None) == (case.form is None):
        what = "both a mesh and a form" if case.mesh else "neither a mesh nor a form"
        raise InputError(f"{where} [pattern]: names {what}; give one of them.")
    if case.mesh is not None and case.unit is None:
        raise InputError(f'{where} [pattern] unit: missing; say what one mesh unit is, for instance unit = "mm".')
    if case.mesh is not None and case.size is not None:
        raise InputError(f"{where} [pattern] size: goes with a form; say longest to scale a mesh.")
    if case.form is not None and (case.bodies != "all" or case.mend):
        key = "mend" if case.mend else "bodies"
        raise InputError(f"{where} [pattern] {key}: goes with a mesh; leave it out with a form.")
    if case.form is not None and case.size is None:
        raise InputError(
            f'{where} [pattern] size: missing; give width, depth and height, for instance ["20 cm", "20 cm", "30 cm"].'
        )
