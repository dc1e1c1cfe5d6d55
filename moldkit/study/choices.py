"""What a user may choose from: patterns, forms, materials, methods, rubbers, surfaces."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from moldkit.economics.life import life_row
from moldkit.materials import rubber_families, rubber_for
from moldkit.study.case import Case
from moldkit.study.knowledge import Knowledge

MESHES = (".stl", ".ply", ".obj", ".3mf", ".glb")
# Width, depth and height of each form against its longest side, as such pieces commonly are.
PROPORTIONS = {
    "ball": (1.0, 1.0, 1.0),
    "dome": (1.0, 1.0, 0.5),
    "cylinder": (0.6, 0.6, 1.0),
    "box": (0.7, 0.5, 1.0),
    "capsule": (0.45, 0.45, 1.0),
    "panel": (1.0, 0.75, 0.08),
    "bust": (0.72, 0.55, 1.0),
    "figure": (0.4, 0.34, 1.0),
}


@dataclass(frozen=True)
class PatternChoice:
    """A pattern one may pick: as shown, and the mesh with its unit or the form."""

    shown: str
    mesh: str | None = None
    unit: str | None = None
    form: str | None = None


def pattern_choices(case: Case, knowledge: Knowledge) -> tuple[PatternChoice, ...]:
    """Return the case's own pattern, the meshes in data/patterns, and the forms; meshes there are in mm."""
    folder = knowledge.folder / "patterns"
    meshes = [path for path in sorted(folder.glob("*")) if path.suffix.lower() in MESHES] if folder.is_dir() else []
    listed = [PatternChoice(path.name, f"patterns/{path.name}", "mm") for path in meshes]
    if case.mesh is not None and all(choice.mesh != case.mesh for choice in listed):
        listed.insert(0, PatternChoice(Path(case.mesh).name, case.mesh, case.unit))
    return (*listed, *(PatternChoice(f"form: {form}", form=form) for form in PROPORTIONS))


def choice_of(case: Case, choices: tuple[PatternChoice, ...]) -> PatternChoice:
    """Return the choice that the case stands on."""
    return next(c for c in choices if (c.mesh, c.form) == (case.mesh, case.form))


def with_pattern(case: Case, choice: PatternChoice, longest: float) -> Case:
    """Return the case with another pattern, at a longest side [m]; a form takes its common proportions.

    What was declared of the other pattern's undercuts and how its mesh was to be read goes with it.
    """
    size = None
    if choice.form is not None:
        width, depth, height = (longest * share for share in PROPORTIONS[choice.form])
        size = (width, depth, height)
    return replace(
        case, mesh=choice.mesh, unit=choice.unit, form=choice.form, size=size, longest=longest, undercut=None,
        bodies="all", mend=(),
    )  # fmt: skip


def rubber_choices(knowledge: Knowledge) -> tuple[str, ...]:
    """Return the rubber families, then the single grades."""
    rubbers = knowledge.materials.rubbers
    families = rubber_families(rubbers)
    return (*families, *(name for name in rubbers if name not in families))


def table_life(case: Case, knowledge: Knowledge) -> float | None:
    """Return the likely median life [pours] of the case's pair in the tables; None where there is none."""
    rubber = rubber_for(knowledge.materials.rubbers, case.rubber, "poured")
    row = life_row(knowledge.life, rubber, knowledge.materials.castings[case.material])
    return None if row is None else float(row.quantity("life").value)


def with_life(case: Case, knowledge: Knowledge, likely: float) -> Case:
    """Return the case with a median life [pours] of its own, its range as wide in proportion as the table's."""
    rubber = rubber_for(knowledge.materials.rubbers, case.rubber, "poured")
    row = life_row(knowledge.life, rubber, knowledge.materials.castings[case.material])
    low, high = 0.5, 2.0
    if row is not None:
        life = row.quantity("life")
        low, high = (life.low or life.value) / life.value, (life.high or life.value) / life.value
    return replace(case, life=(max(1.0, likely * low), likely, likely * high))


def table_rubber_price(case: Case, knowledge: Knowledge) -> float:
    """Return the price a kg of the case's poured grade."""
    return float(rubber_for(knowledge.materials.rubbers, case.rubber, "poured").quantity("price").value)
