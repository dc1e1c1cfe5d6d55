"""The usual cautions that the materials and methods of a job call for, and no others."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from moldkit.errors import InputError
from moldkit.loads.hand_checks import IN_THE_HANDS
from moldkit.study.assess import Outcome
from moldkit.study.compare import Comparison
from moldkit.study.load_checks import load_checks
from moldkit.tables import Row, load_table


@dataclass(frozen=True, slots=True)
class Caution:
    """A caution in play: its row of data/cautions.csv, and what brings it up."""

    row: Row
    because: tuple[str, ...]


def load_cautions(folder: Path) -> Mapping[str, Row]:
    """Return the cautions of a data folder by hazard; raises InputError for a fault in the table."""
    return {row.name: row for row in load_table(folder, "cautions")}


def cautions_for(result: Comparison, outcome: Outcome) -> tuple[Caution, ...]:
    """Return the cautions that one technique's materials and the work call for, the gravest first.

    Raises InputError where a hazard stands in a material table and cautions.csv has no row for it.
    """
    rows = load_cautions(result.knowledge.folder)
    found: dict[str, list[str]] = {}
    for hazard, because in _in_play(result, outcome):
        if hazard not in rows:
            raise InputError(f"cautions.csv: has no row {hazard!r}, which {because} calls for; add it.")
        if because not in found.setdefault(hazard, []):
            found[hazard].append(because)
    listed = [Caution(rows[hazard], tuple(because)) for hazard, because in found.items()]
    return tuple(sorted(listed, key=lambda caution: caution.row.values["order"]))


def _in_play(result: Comparison, outcome: Outcome) -> Iterator[tuple[str, str]]:
    """Yield each hazard with the material or the work that brings it up."""
    case, plan, materials = result.case, outcome.plan, result.knowledge.materials
    supplies = [materials.supplies[a.what] for a in plan.amounts if a.what in materials.supplies]
    if case.release:
        supplies.append(materials.supplies["release agent"])
    for row in (plan.rubber, plan.shell, materials.castings[case.material], *supplies):
        if row is not None:
            yield from ((hazard, row.name) for hazard in sorted(row.words("hazards")))
    yield from _in_the_work(result, outcome)


def _in_the_work(result: Comparison, outcome: Outcome) -> Iterator[tuple[str, str]]:
    plan = outcome.plan
    method, technique = result.knowledge.methods[result.case.method], outcome.technique
    gauge = method.row.quantity("pressure").at(0)
    if gauge > 0:
        yield "pressure", f"casting under {method.name}"
    if gauge < 0:
        yield "vacuum", f"casting under {method.name}"
    if plan.degassed and technique.row.flag("degassed"):
        yield "vacuum", "degassing the rubber"
    if method.row.flag("foam"):
        yield "foam", method.name
    if method.row.text("turned") == "by machine":
        yield "turning", method.name
    if technique.row.flag("buries_pattern"):
        yield "blade", technique.name
    # As the load checks judge it, so that two sheets of a set never say two things.
    for check in load_checks(result, outcome.name):
        if check.name in IN_THE_HANDS and check.level != "pass":
            yield "heavy", "the filled mold"
