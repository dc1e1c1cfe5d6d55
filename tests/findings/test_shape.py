"""What follows from a survey: rules on trapped air, thin parts, hollows and holes; grades, pieces, vents and hours."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from moldkit.pattern.reading import Reading
from moldkit.study.assess import Outcome, assess
from moldkit.study.case import Case
from moldkit.study.compare import Comparison, compare
from moldkit.study.facts import pattern_facts
from moldkit.study.knowledge import Knowledge
from tests.findings.surveys import a_survey, surveyed

BLOCK, BRUSHED, CAVITY, PRINTED = "poured block", "brushed skin", "cavity pour", "cavity pour, printed shell"
ALL = (BLOCK, BRUSHED, CAVITY, PRINTED)
# A dome of 20 cm in plaster, which raises nothing by itself; a name of a mesh stands for one that was surveyed.
BASE = Case(form="dome", size=(0.20, 0.20, 0.12), material="gypsum plaster", run=20)
Surveyed = Callable[..., Comparison]


@pytest.fixture(scope="session")
def looked_at(knowledge: Knowledge, reading_of: Callable[[Case], Reading]) -> Surveyed:
    def comparison(changes: dict[str, Any] | None = None, **what: Any) -> Comparison:
        case = replace(BASE, **(changes or {}))
        return compare(case, knowledge, surveyed(reading_of(case), **what))

    return comparison


def levels(outcomes: tuple[Outcome, ...], rule: str) -> dict[str, str]:
    return {o.name: f.level for o in outcomes for f in o.findings() if f.rule == rule}


# (rule as shown, what the case has, what the survey found, level by technique; all common practice, no source).
PRESSED = {"material": "rigid urethane resin", "method": "pressure", "longest": 0.10}
RULES: list[tuple[str, dict[str, Any], dict[str, Any], dict[str, str]]] = [
    ("air under overhangs", {}, {"ceilings": (0.010,)}, dict.fromkeys((BLOCK, CAVITY, PRINTED), "caution")),
    ("air under overhangs", {}, {"ceilings": (0.002,)}, {}),
    ("air stays in the casting", {}, {"kept_in_casting": (0.005,)}, dict.fromkeys(ALL, "caution")),
    ("air stays in the casting", {}, {"kept_in_casting": (0.001,)}, {}),
    ("air stays in the casting", PRESSED, {"kept_in_casting": (0.010,)}, dict.fromkeys(ALL, "note")),
    ("air stays in the casting", {"method": "hand rotation"}, {"kept_in_casting": (0.010,)}, {}),
    ("thin part of the pattern", {}, {"thinnest": 0.0015},
     {BLOCK: "caution", BRUSHED: "note", CAVITY: "caution", PRINTED: "note"}),
    ("thin part of the pattern", {}, {"thinnest": 0.0025}, {}),
    # On a piece of 20 cm the skin is 7 mm and the gap 9 mm: 16 mm lie between twice the one and twice the other.
    ("skin closes narrow hollows", {}, {"gaps": ((0.016, 0.2),)}, dict.fromkeys((CAVITY, PRINTED), "note")),
    ("skin closes narrow hollows", {}, {"gaps": ((0.010, 0.2),)}, dict.fromkeys((BRUSHED, CAVITY, PRINTED), "note")),
    ("skin closes narrow hollows", {}, {"gaps": ((0.010, 0.04),)}, {}),
    ("skin closes round a hole", {}, {"loops": 1}, dict.fromkeys((BRUSHED, CAVITY, PRINTED), "caution")),
    ("skin closes round a hole", {}, {"loops": 1, "soft_pieces": 2}, {}),
    ("skin closes round a hole", {}, {}, {}),
    ("hollow casting is solid in places", {"method": "hand rotation", "wall": 0.006},
     {"thinnest": 0.008, "thin_share": 0.3}, dict.fromkeys(ALL, "note")),
    ("hollow casting is solid in places", {}, {"thinnest": 0.008, "thin_share": 0.3}, {}),
    ("hollow casting is solid in places", {"method": "hand rotation", "wall": 0.003},
     {"thinnest": 0.008, "thin_share": 0.3}, {}),
    # Peeled off whole over a part twice as wide; the shop's slow platinum silicone breaks at 300 % and over.
    ("stretch past the rubber's elongation", {}, {"stretch": 6.0}, dict.fromkeys(ALL, "stop")),
    ("stretch past the rubber's elongation", {}, {"stretch": 0.5}, {}),
    ("stretch past the rubber's elongation", {"pieces": 2}, {"stretch": 6.0}, {}),
]  # fmt: skip


@pytest.mark.parametrize(("rule", "changes", "what", "wanted"), RULES)
def test_a_rule_of_the_shape_speaks_where_it_should_and_nowhere_else(
    rule: str, changes: dict[str, Any], what: dict[str, Any], wanted: dict[str, str], looked_at: Surveyed
) -> None:
    assert levels(looked_at(changes, **what).outcomes, rule) == wanted


def test_a_surveyed_piece_without_faults_raises_nothing(looked_at: Surveyed) -> None:
    assert {o.name: o.findings() for o in looked_at().outcomes} == dict.fromkeys(ALL, ())


def test_depths_and_walls_grow_with_the_pattern(knowledge: Knowledge, reading_of: Callable[[Case], Reading]) -> None:
    reading = surveyed(reading_of(BASE), kept_in_casting=(0.0015,), thinnest=0.0015)
    block = assess(BASE, knowledge, reading, np.array([1.0, 2.0]))[0]
    rules = [{f.rule for f in block.findings(index)} for index in range(2)]
    # Twice as long is eight times the resin: more batches than its pot life has room for.
    later = {"air stays in the casting", "casting sets before it is poured"}
    assert rules == [{"thin part of the pattern"}, later]


@pytest.mark.parametrize(
    ("declared", "measured", "grade", "origin"),
    [
        (None, "severe", "severe", "measured"),
        ("none", "severe", "none", "declared"),
        ("moderate", "moderate", "moderate", "declared"),
    ],
)
def test_a_declared_grade_overrides_a_measured_one_and_the_facts_say_which(
    declared: str | None, measured: str, grade: str, origin: str, looked_at: Surveyed
) -> None:
    result = looked_at({"undercut": declared}, grade=measured)
    first = pattern_facts(result.case, result.pattern)[0]
    assert (first.name, first.value, first.origin) == ("undercuts", grade, origin)
    assert first.note == (f"measured: {measured}" if grade != measured else "")


def test_of_a_form_nothing_is_measured_and_no_undercut_assumed(
    knowledge: Knowledge, reading_of: Callable[[Case], Reading]
) -> None:
    result = compare(BASE, knowledge, reading_of(BASE))
    first, second, *_ = pattern_facts(result.case, result.pattern)
    assert (first.value, first.origin, second.origin) == ("none", "assumed", "assumed")


def test_measured_undercuts_shorten_the_life_as_declared_ones_do(looked_at: Surveyed) -> None:
    declared = looked_at({"undercut": "severe"})
    measured = looked_at({}, grade="severe")
    assert measured.outcomes[0].life == declared.outcomes[0].life
    assert measured.outcomes[0].life != looked_at().outcomes[0].life


def test_the_pieces_are_those_the_shape_needs_unless_chosen(looked_at: Surveyed) -> None:
    three = looked_at({}, grade="moderate", soft_pieces=3)
    assert {o.plan["pieces"].value for o in three.outcomes} == {3.0}
    assert {o.plan["pieces"].value for o in looked_at({"pieces": 2}, soft_pieces=3).outcomes} == {2.0}
    one = looked_at()
    assert {o.plan["pieces"].value for o in one.outcomes} == {1.0}
    assert one.outcomes[1].attended_first.value < three.outcomes[1].attended_first.value


def test_each_top_beyond_the_spout_and_two_vents_takes_a_vent_and_its_time(looked_at: Surveyed) -> None:
    few = looked_at({}, standing_tops=(0.1, 0.05, 0.05))
    many = looked_at({}, standing_tops=(0.1, 0.05, 0.05, 0.05, 0.05, 0.001))
    cavity = {o.name: o for o in many.outcomes}[CAVITY]
    assert cavity.plan["further_vents"].value == 2.0  # the last rises by less than the gap
    before = {o.name: o for o in few.outcomes}[CAVITY]
    step = [s for s in cavity.plan.steps if s.name == "set further vents"]
    assert step[0].attended.value == pytest.approx(2 * 0.1 * 3600)
    assert cavity.attended_first.value - before.attended_first.value == pytest.approx(
        2 * 0.1 * 3600 + 0.03 * 1000 * (cavity.plan["rubber_volume"].value - before.plan["rubber_volume"].value) * 3600
    )


def test_tops_that_run_together_on_the_shells_inside_share_a_vent(looked_at: Surveyed) -> None:
    # The gap of a piece of 20 cm is 9 mm: tops 20 mm apart are within three gaps, 30 mm apart they are not.
    close, wide = (looked_at({}, standing_tops=(0.1,) + (0.05,) * 6, tops_apart=apart) for apart in (0.020, 0.030))
    vents = [{o.name: o for o in result.outcomes}[CAVITY].plan["further_vents"].value for result in (close, wide)]
    assert vents == [0.0, 4.0]


FAULTS = {"thinnest": 0.0015, "ceilings": (0.010,), "kept_in_casting": (0.010,), "loops": 1, "stretch": 6.0}


def test_a_declared_grade_overrides_the_grade_and_silences_nothing_else(looked_at: Surveyed) -> None:
    measured = looked_at({}, **FAULTS)
    declared = looked_at({"undercut": "none", "pieces": 1}, **FAULTS)

    def said(result: Comparison) -> set[tuple[str, str, str]]:
        return {(o.name, f.rule, f.level) for o in result.outcomes for f in o.findings()}

    assert said(measured)
    assert said(declared) == said(measured)


def test_pieces_that_leave_much_of_the_surface_unfreed_are_no_mold(looked_at: Surveyed) -> None:
    assert looked_at({}, grade="severe", any_pull=0.57).pattern.pieces.value >= 3.0
    assert looked_at({}, any_pull=1.0).pattern.pieces.value == 1.0


def test_a_survey_is_made_of_what_was_asked() -> None:
    survey = a_survey(stretch=0.5, gaps=((0.01, 0.2), (0.02, 0.3)))
    assert survey.peel.stretch == pytest.approx(0.5)
    assert survey.walls.bridged_by(0.004) == 0.0
    assert survey.walls.bridged_by(np.array([0.006, 0.011])) == pytest.approx([0.2, 0.3])
