"""What a rule sees, what it raises, and the round of all rules."""

from __future__ import annotations

import datetime
import inspect
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np

from moldkit.casting.plan import CastingPlan
from moldkit.errors import InputError
from moldkit.pattern.pattern import Pattern
from moldkit.quantity import Quantity
from moldkit.seam import load_file, walk
from moldkit.tables import Row
from moldkit.techniques.plan import MoldPlan
from moldkit.units import System, show

NOTE, CAUTION, STOP = 1, 2, 3
LEVELS = ("", "note", "caution", "stop")


@dataclass(frozen=True)
class Deadline:
    """A run's date beside its plan: wanted by `due`, begun on `start`, with `molds` side by side out on `finish`.

    finish: None where the run cannot be planned, and `fault` says why; with_more: finds, when it is asked, (molds,
    finish) of the fewest molds that are in time, or of the soonest finish there is.
    """

    due: datetime.date
    start: datetime.date
    molds: int
    finish: datetime.date | None
    fault: str
    with_more: Callable[[], tuple[int, datetime.date]]


@dataclass(frozen=True)
class Situation:
    """Everything a rule may look at: the technique's row (its traits), the plans, the pattern, the materials.

    life_known: the pair has a life row or the job states a life; remake_chance: chance that the run wears out
    the first mold; deadline: where the job has one, at one size.
    """

    technique: Row
    plan: MoldPlan
    casting: CastingPlan
    pattern: Pattern
    surface: Row
    rubber: Row
    material: Row
    method: Row
    shop: Row
    release: bool
    life_known: bool
    remake_chance: float
    deadline: Deadline | None = None

    @property
    def degassed(self) -> bool:
        """Whether the rubber of this mold is degassed before pouring."""
        return self.technique.flag("degassed") and self.plan.degassed


Say = Callable[[Quantity], str]
Words = Callable[[Say], str]


@dataclass(frozen=True)
class Raised:
    """A rule that applies: its level (a number, or an array over sizes; 0 where it does not) and its words.

    remedy: in place of the row's, where the row's does not fit this case.
    """

    level: Any
    words: Words
    remedy: str | None = None


@dataclass(frozen=True)
class Finding:
    """A finding as shown: level ("stop", "caution", "note"), rule, words, remedy, and why with its source."""

    level: str
    rule: str
    words: str
    remedy: str
    reason: str
    source: str


Rule = Callable[[Situation, Row], Raised | None]


@dataclass(frozen=True)
class RuleBook:
    """The rules that are in force: each function with its row."""

    rules: tuple[tuple[Row, Rule], ...]


def level_of(row: Row) -> int:
    """Return the level of a rule that has one level."""
    return LEVELS.index(row.text("level"))


def limit(row: Row, column: str, unit: str = "m") -> Quantity:
    """Return a limit of the rule's row as a quantity in SI units; `unit` says which SI unit it has.

    Raises InputError where the row has no figure there.
    """
    number = row.values[column]
    if number is None:
        raise InputError(f"{row.where}, column {column!r}: is empty; this rule needs a limit.")
    factor = {
        "mm": 1e-3,
        "L": 1e-3,
        "%": 0.01,
        "kg": 1.0,
        "m": 1.0,
        "kN": 1e3,
        "": 1.0,
        "-": 1.0,
        "Shore A": 1.0,
    }
    return Quantity("limit", number * factor[row.text("unit")], unit, source=row.text("source"))


def when(condition: Any, level: int, words: Words) -> Raised | None:
    """Return the rule raised at `level` where the condition holds; None where it holds nowhere."""
    if isinstance(condition, np.ndarray) and condition.ndim:
        return Raised(np.where(condition, level, 0), words) if condition.any() else None
    return Raised(level, words) if condition else None


def rule_book(rows: Sequence[Row], folders: Sequence[Path]) -> RuleBook:
    """Return the rules of the folders paired with the rows of data/rules.csv.

    Raises InputError naming the missing partner when a row has no function or a function no row.
    """
    functions = _functions(tuple(folders))
    by_key = {row.name: row for row in rows}
    for key in by_key:
        if key not in functions:
            raise InputError(f"rules.csv: row {key!r} has no function {key}() in moldkit/findings; add it.")
    for name in functions:
        if name not in by_key:
            raise InputError(f"moldkit/findings: function {name}() has no row {name!r} in rules.csv; add the row.")
    return RuleBook(tuple((by_key[key], functions[key]) for key in by_key))


@lru_cache(maxsize=8)
def _functions(folders: tuple[Path, ...]) -> Mapping[str, Rule]:
    found: dict[str, Rule] = {}
    for path in walk(folders).values():
        module = load_file(path, "moldkit.findings")
        for name, function in inspect.getmembers(module, inspect.isfunction):
            if function.__module__ == module.__name__ and not name.startswith("_"):
                found[name] = function
    return found


def raised(book: RuleBook, situation: Situation) -> list[tuple[Row, Raised]]:
    """Return the rules that apply to a situation, anywhere along its sizes."""
    found = ((row, rule(situation, row)) for row, rule in book.rules)
    return [(row, verdict) for row, verdict in found if verdict is not None]


def stopped(found: Iterable[tuple[Row, Raised]]) -> Any:
    """Return whether any rule stops the technique: a bool, or an array of them over sizes."""
    stop: Any = False
    for _, verdict in found:
        stop = stop | (np.asarray(verdict.level) >= STOP)
    return np.asarray(stop)[()]


def _level_at(verdict: Raised, index: int) -> int:
    """Return the level of a raised rule at one size; 0 where it does not apply."""
    levels = np.asarray(verdict.level)
    return int(levels.reshape(-1)[index] if levels.ndim else levels)


def ruled_out_by(found: Iterable[tuple[Row, Raised]], index: int = 0) -> str:
    """Return the name of the first rule that stops the technique at one size; empty where none does."""
    return next((row.text("name") for row, verdict in found if _level_at(verdict, index) >= STOP), "")


def findings_at(
    found: Iterable[tuple[Row, Raised]], *, index: int = 0, system: System = "metric", currency: str = ""
) -> tuple[Finding, ...]:
    """Return the findings in words for one size, the gravest first."""

    def say(q: Quantity) -> str:
        return show(q.at(index), q.unit, system, currency)

    listed: list[tuple[int, Finding]] = []
    for row, verdict in found:
        level = _level_at(verdict, index)
        if level:
            remedy = verdict.remedy or row.text("remedy")
            name, reason, source = (row.text(column) for column in ("name", "reason", "source"))
            listed.append((level, Finding(LEVELS[level], name, verdict.words(say), remedy, reason, source)))
    return tuple(finding for _, finding in sorted(listed, key=lambda pair: -pair[0]))
