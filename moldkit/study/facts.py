"""What is known of a case's pattern as the model takes it, and where each figure comes from."""

from __future__ import annotations

from dataclasses import dataclass

from moldkit.pattern.pattern import ASSUMED, DECLARED, MEASURED, Pattern
from moldkit.quantity import Quantity
from moldkit.study.case import Case

FORM = "a simple form"


@dataclass(frozen=True)
class Fact:
    """One thing known of the pattern.

    name: in the trade's words; value: a word, or a figure; origin: "declared", "measured" or "assumed"; note: what
    else to say of it, for instance what was measured where something else was declared.
    """

    name: str
    value: str | Quantity
    origin: str
    note: str = ""


ORIGINS = {DECLARED: "declared", MEASURED: "measured", ASSUMED: "assumed"}


def pattern_facts(case: Case, pattern: Pattern) -> tuple[Fact, ...]:
    """Return what is known of the pattern, undercuts and pieces first; of a simple form there is no more.

    case: says what was declared; pattern: at the case's size.
    """
    survey = pattern.reading.survey
    origin = ORIGINS[pattern.undercut_from]
    grade = survey.pull.grade if survey is not None else ""
    other = f"measured: {grade}" if grade and grade != pattern.undercut else ""
    facts = [Fact("undercuts", pattern.undercut, origin, other), _pieces(case, pattern, origin)]
    line = pattern.one_parting_line
    if survey is None:
        return (*facts, Fact("one parting line", line, "measured", FORM))
    measured = [
        ("one parting line", line),
        ("freed by two halves", Quantity("visible", survey.pull.visible, "share")),
        ("depth of the hooks", Quantity("depth", survey.pull.hidden_depth * pattern.scale, "m")),
        ("stretch to peel it off whole", Quantity("stretch", survey.peel.stretch, "share")),
        ("places that keep air in a casting", Quantity("places", float(_kept_air(pattern)), "1")),
        ("overhangs that keep air in the rubber", Quantity("places", float(len(survey.air.standing.ceilings)), "1")),
        ("thinnest part", Quantity("thinnest", survey.walls.thinnest * pattern.scale, "m")),
    ]
    if survey.walls.narrowest is not None:
        measured.append(("narrowest hollow", Quantity("narrowest", survey.walls.narrowest * pattern.scale, "m")))
    return (*facts, *(Fact(name, value, "measured") for name, value in measured))


def _pieces(case: Case, pattern: Pattern, origin: str) -> Fact:
    if case.pieces is None:
        measured = pattern.pieces.source == MEASURED
        return Fact("pieces of the mold", pattern.pieces, origin, "" if measured else "by the grade of the undercuts")
    by_shape = int(pattern.pieces.value)
    other = f"by the shape: {by_shape}" if by_shape != case.pieces else ""
    return Fact("pieces of the mold", pattern.chosen_pieces(case.pieces), "declared", other)


def _kept_air(pattern: Pattern) -> int:
    survey = pattern.reading.survey
    assert survey is not None, "only a surveyed pattern keeps air"
    way = survey.air.casting
    return len(way.tops) - (0 if way.open_top else min(1, len(way.tops)))
