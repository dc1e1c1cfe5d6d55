"""Every rule speaks where it should, at the level it should, and is silent where it should be."""

from __future__ import annotations

import ast
import re
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from moldkit.errors import InputError
from moldkit.findings.plan import rule_book
from moldkit.pattern.reading import Reading
from moldkit.study.assess import Outcome, assess
from moldkit.study.case import Case
from moldkit.study.compare import Comparison, comparison_record
from moldkit.study.knowledge import Knowledge
from moldkit.study.patterns import read_pattern
from moldkit.tables import load_table
from tests.findings.test_shape import RULES as OF_THE_SHAPE

ROOT = Path(__file__).resolve().parents[2]
FINDINGS = ROOT / "moldkit" / "findings"

BLOCK, BRUSHED, CAVITY, PRINTED = "poured block", "brushed skin", "cavity pour", "cavity pour, printed shell"
POURED = (BLOCK, CAVITY, PRINTED)
IN_SHELLS = (CAVITY, PRINTED)
ALL = (BLOCK, BRUSHED, CAVITY, PRINTED)

# A dome of 20 cm in a casting plaster: nothing is wrong with it under any technique.
BASE = Case(form="dome", size=(0.20, 0.20, 0.12), material="gypsum plaster", run=20)
RESIN = {"material": "rigid urethane resin"}
QUICK = {"material": "rigid urethane resin, fast"}
FAST = {"rubber": "platinum silicone, fast"}
FOAMED = {"material": "flexible urethane foam", "method": "foam fill", "form": "box", "size": (0.20, 0.20, 0.20)}
PRESSED = {**RESIN, "method": "pressure", "longest": 0.10}


def of(level: str, *techniques: str) -> dict[str, str]:
    return dict.fromkeys(techniques, level)


def sized(side: float) -> dict[str, Any]:
    return {"longest": side}


# (rule as shown, what differs from BASE, level by technique; a technique that isn't named must stay silent).
# Facts of the trade are common practice, no source.
RULES: list[tuple[str, dict[str, Any], dict[str, str]]] = [
    # pressure: no brushed skin; a poured mold when its rubber was degassed and the assembly fits the pot
    ("no pressure in a brushed skin", PRESSED, of("stop", BRUSHED)),
    ("no pressure in a brushed skin", {**PRESSED, "degassed": False}, of("stop", BRUSHED)),
    ("no pressure in a brushed skin", {**PRESSED, "method": "open pour"}, {}),
    ("no pressure in a brushed skin", {**PRESSED, "method": "vacuum"}, {}),
    ("pressure needs degassed rubber", {**PRESSED, "degassed": False}, of("caution", *POURED)),
    ("pressure needs degassed rubber", {**PRESSED, "shop": {"has_vacuum_chamber": False}}, of("caution", *POURED)),
    ("pressure needs degassed rubber", PRESSED, {}),
    ("pressure needs degassed rubber", {**RESIN, "degassed": False}, {}),
    ("pressure above cure pressure", {**PRESSED, "shop": {"rubber_cure_pressure": "0 kPa"}}, of("caution", *POURED)),
    ("pressure above cure pressure", {**PRESSED, "shop": {"rubber_cure_pressure": "274 kPa"}}, of("caution", *POURED)),
    ("pressure above cure pressure", {**PRESSED, "shop": {"rubber_cure_pressure": "275 kPa"}}, {}),
    ("pressure above cure pressure", {**RESIN, "shop": {"rubber_cure_pressure": "0 kPa"}}, {}),
    ("no pressure pot", {**PRESSED, "shop": {"has_pressure_pot": False}}, of("stop", *ALL)),
    ("no pressure pot", {**PRESSED, "shop": {"pressure_pot_rating": "270 kPa"}}, of("stop", *ALL)),
    ("no pressure pot", {**PRESSED, "shop": {"pressure_pot_rating": "275 kPa"}}, {}),
    ("no pressure pot", {**RESIN, "shop": {"has_pressure_pot": False}}, {}),
    ("pressure pot too small", {**PRESSED, **sized(0.40)}, of("stop", *ALL)),
    ("pressure pot too small", PRESSED, {}),
    ("pressure pot too small", {**PRESSED, "shop": {"pressure_pot_height": "5 cm"}}, of("stop", *ALL)),
    ("pressure pot too small", {**PRESSED, "shop": {"has_pressure_pot": False, "pressure_pot_bore": "1 cm"}}, {}),
    ("pressure pot too small", {**RESIN, **sized(0.40)}, {}),
    # vacuum
    ("no vacuum chamber", {**RESIN, "method": "vacuum", "shop": {"has_vacuum_chamber": False}}, of("stop", *ALL)),
    ("no vacuum chamber", {**RESIN, "method": "vacuum"}, {}),
    ("no vacuum chamber", {**RESIN, "shop": {"has_vacuum_chamber": False}}, {}),
    ("vacuum chamber too small", {**RESIN, "method": "vacuum", **sized(0.50)}, of("stop", *ALL)),
    ("vacuum chamber too small", {**RESIN, "method": "vacuum", **sized(0.10)}, {}),
    ("brushed skin under vacuum", {**RESIN, "method": "vacuum"}, of("caution", BRUSHED)),
    ("brushed skin under vacuum", PRESSED, {}),
    # turned by hand: light; foam: a mold that holds the foam's pressure
    ("too heavy to turn by hand", {"method": "hand rotation", "shop": {"hand_caution": "1 kg"}}, of("caution", *ALL)),
    ("too heavy to turn by hand", {"method": "hand rotation", **sized(0.80)}, of("stop", *ALL)),
    ("too heavy to turn by hand", {"method": "hand rotation", **sized(0.10)}, {}),
    ("too heavy to turn by hand", {"method": "machine rotation", **sized(0.40)}, {}),
    # 10 kPa on a face of 20 x 20 cm push with 400 N: 7 % of 6 kN, two thirds of 0.6 kN, more than 0.3 kN
    ("foam pushes the mold", FOAMED, of("note", *ALL)),
    ("foam pushes the mold", {**FOAMED, "shop": {"closure_limit": "0.6 kN"}}, of("caution", *ALL)),
    ("foam pushes the mold", {**FOAMED, "shop": {"closure_limit": "0.3 kN"}}, of("stop", *ALL)),
    ("foam pushes the mold", RESIN, {}),
    ("method not for this material", {"material": "concrete", "method": "pressure"}, of("stop", *ALL)),
    ("method not for this material", {"material": "flexible urethane foam"}, of("stop", *ALL)),
    ("method not for this material", {"material": "concrete"}, {}),
    # the pattern: fixed in place or too delicate to be laid in a box, it is brushed
    ("fixed pattern cannot be buried", {"fixed_in_place": True}, of("stop", BLOCK)),
    ("fixed pattern cannot be buried", {}, {}),
    ("fixed pattern, shell goes back over it", {"fixed_in_place": True}, of("caution", *IN_SHELLS)),
    ("fixed pattern, shell goes back over it", {"fixed_in_place": True, "vertical": True}, {}),
    ("no pour on a vertical face", {"fixed_in_place": True, "vertical": True}, of("stop", *IN_SHELLS)),
    ("no pour on a vertical face", {"fixed_in_place": True}, {}),
    ("fragile pattern cannot be buried", {"fragile": True}, of("stop", BLOCK)),
    ("fragile pattern cannot be buried", {}, {}),
    ("fragile pattern pressed and handled twice", {"fragile": True}, of("caution", *IN_SHELLS)),
    ("fragile pattern pressed and handled twice", {}, {}),
    ("fragile pattern, brush with care", {"fragile": True}, of("note", BRUSHED)),
    ("fragile pattern, brush with care", {}, {}),
    ("unique original handled", {"unique": True}, of("caution", *POURED)),
    ("unique original handled", {}, {}),
    ("pattern lost at demolding", {**RESIN, "survives": False, "run": 200}, of("caution", *ALL)),
    ("pattern lost at demolding", {**RESIN, "survives": False, "run": 5}, {}),
    ("pattern lost at demolding", {**RESIN, "survives": False, "life": 40.0, "run": 41}, of("caution", *ALL)),
    ("pattern lost at demolding", {**RESIN, "survives": False, "life": 40.0, "run": 40}, {}),
    ("pattern lost at demolding", {**RESIN, "run": 200}, {}),
    # size
    ("very much rubber in one block", sized(0.70), of("caution", BLOCK)),
    ("very much rubber in one block", sized(0.40), {}),
    ("brushing a small piece", sized(0.05), of("caution", BRUSHED)),
    ("brushing a small piece", sized(0.061), {}),
    ("skin too thick for the piece", {"skin": 0.080}, of("caution", BRUSHED, *IN_SHELLS)),
    ("skin too thick for the piece", {"skin": 0.060}, {}),
    # the fast silicone at 22 degC: (7.5 - 3) min / 1.1 min/kg = 4.1 kg a batch, and half the time 10 K warmer
    ("pot life too short", {**FAST, **sized(0.25)}, of("caution", BLOCK)),
    ("pot life too short", {**FAST, **sized(0.40)}, {**of("stop", BLOCK), **of("caution", *IN_SHELLS)}),
    ("pot life too short", {**FAST, **sized(0.10)}, {}),
    ("pot life too short", {**FAST, **sized(0.10), "shop": {"room_temperature": "35 degC"}}, of("stop", *POURED)),
    ("pot life too short", {**FAST, **sized(0.25), "shop": {"room_temperature": "15 degC"}}, of("caution", BLOCK)),
    ("pot life too short", sized(0.25), {}),
    # the fast resin: (3.2 - 1) min / 0.4 min/kg = 5.5 kg a batch; domes of 5.8 and 46 kg
    ("casting sets before it is poured", {**QUICK, **sized(0.25)}, of("caution", *ALL)),
    ("casting sets before it is poured", {**QUICK, **sized(0.50)}, of("stop", *ALL)),
    ("casting sets before it is poured", QUICK, {}),
    ("casting sets before it is poured", {**RESIN, **sized(0.25)}, {}),
    ("casting sets before it is poured", {"material": "tin alloy"}, {}),
    ("casting sets before it is poured", FOAMED, {}),
    ("room outside cure times", {"shop": {"room_temperature": "14 degC"}}, of("caution", *ALL)),
    ("room outside cure times", {"shop": {"room_temperature": "97 degF"}}, of("caution", *ALL)),
    ("room outside cure times", {"shop": {"room_temperature": "15 degC"}}, {}),
    ("room outside cure times", {"rubber": "latex", "shop": {"room_temperature": "10 degC"}}, {}),
    ("high or many-batch skin pour", {"form": "cylinder", "size": (0.1, 0.1, 0.6)}, of("caution", *IN_SHELLS)),
    ("high or many-batch skin pour", {"shop": {"batch_most": "0.3 kg"}}, of("caution", *IN_SHELLS)),
    ("high or many-batch skin pour", {}, {}),
    # cure inhibition: sulfur clay, tin, amines, uncured prints against addition-cured silicone, until sealed
    ("cure inhibition", {"surface": "sulfur clay"}, of("stop", *ALL)),
    ("cure inhibition", {"surface": "printed resin"}, of("stop", *ALL)),
    ("cure inhibition", {"surface": "tin-cured silicone"}, of("stop", *ALL)),
    ("cure inhibition", {"surface": "latex or rubber"}, of("stop", *ALL)),
    ("cure inhibition", {"surface": "fresh epoxy"}, of("stop", *ALL)),
    ("cure inhibition", {"surface": "sulfur clay", "sealed": True}, of("note", *ALL)),
    ("cure inhibition", {"surface": "sulfur-free clay"}, {}),
    ("cure inhibition", {"surface": "sulfur clay", "rubber": "tin-cured silicone"}, {}),
    ("cure inhibition", {"surface": "sulfur clay", "rubber": "urethane rubber"}, {}),
    # materials against each other
    ("bonding without a release", {"material": "soft silicone", "release": False}, of("stop", *ALL)),
    ("bonding without a release", {"material": "soft silicone"}, {}),
    ("bonding without a release", {**RESIN, "rubber": "urethane rubber", "release": False}, of("stop", *ALL)),
    ("bonding without a release", {**RESIN, "rubber": "urethane rubber"}, {}),
    ("bonding without a release", {**RESIN, "release": False}, {}),
    ("addition silicone in an inhibiting mold", {"material": "soft silicone", "rubber": "tin-cured silicone"},
     of("stop", *ALL)),
    ("addition silicone in an inhibiting mold", {"material": "soft silicone", "rubber": "latex"}, of("stop", *ALL)),
    ("addition silicone in an inhibiting mold", {"material": "soft silicone"}, {}),
    ("casting too hot for the rubber", {"material": "tin alloy"}, of("stop", *ALL)),
    ("casting too hot for the rubber", {"material": "tin alloy", "rubber": "platinum silicone, high-temperature"}, {}),
    ("casting too hot for the rubber", RESIN, {}),
    (
        "hot casting in a printed shell",
        {"material": "tin alloy", "rubber": "platinum silicone, high-temperature"},
        of("caution", PRINTED),
    ),
    ("hot casting in a printed shell", {}, {}),
    ("latex attacked by the casting", {**RESIN, "rubber": "latex"}, of("stop", *ALL)),
    ("latex attacked by the casting", {"rubber": "latex"}, {}),
    ("latex attacked by the casting", RESIN, {}),
    ("rubber unsuited to the technique", {"rubber": "latex"}, of("stop", *POURED)),
    ("rubber unsuited to the technique", {"rubber": "platinum silicone, brushable"}, of("stop", *POURED)),
    ("rubber unsuited to the technique", {"rubber": "urethane rubber, firm"}, of("stop", BRUSHED)),
    ("rubber unsuited to the technique", {"rubber": "urethane rubber"}, {}),
    ("damp and urethane", {**RESIN, "surface": "plaster"}, of("caution", *ALL)),
    ("damp and urethane", {**RESIN, "surface": "plaster", "sealed": True}, {}),
    ("damp and urethane", {"material": "concrete", "rubber": "urethane rubber", "surface": "stone"},
     of("caution", *ALL)),
    ("damp and urethane", {"material": "concrete", "surface": "stone"}, {}),
    ("damp and urethane", RESIN, {}),
    ("fresh tin-cured silicone", {**RESIN, "rubber": "tin-cured silicone"}, of("caution", *ALL)),
    ("fresh tin-cured silicone", {"material": "polyester resin", "rubber": "tin-cured silicone"},
     of("caution", *ALL)),
    ("fresh tin-cured silicone", {"rubber": "tin-cured silicone"}, {}),
    ("fresh tin-cured silicone", RESIN, {}),
    # undercuts
    ("stiff rubber in deep undercuts", {"undercut": "severe", "rubber": "urethane rubber, firm"},
     of("caution", *ALL)),
    ("stiff rubber in deep undercuts", {"undercut": "moderate", "rubber": "urethane rubber"}, of("caution", BRUSHED)),
    ("stiff rubber in deep undercuts", {"rubber": "urethane rubber, firm"}, {}),
    ("stiff rubber in deep undercuts", {"undercut": "severe"}, {}),
    # the life
    ("no life data", {"material": "tin alloy"}, of("stop", *ALL)),
    ("no life data", {"material": "tin alloy", "life": 40.0}, {}),
    ("no life data", {"material": "tin alloy", "life": (10.0, 20.0, 30.0)}, {}),
    ("no life data", {}, {}),
    # the schedule: two castings a day at most from one mold
    ("late for the date", {"start": date(2026, 11, 30), "due": date(2026, 12, 1)}, of("caution", *ALL)),
    ("late for the date", {"start": date(2026, 11, 30), "due": date(2027, 11, 30)}, {}),
]  # fmt: skip


def levels(outcomes: tuple[Outcome, ...], rule: str) -> dict[str, str]:
    return {o.name: f.level for o in outcomes for f in o.findings() if f.rule == rule}


def case_of(changes: dict[str, Any]) -> Case:
    return replace(BASE, **changes)


@pytest.mark.parametrize(
    ("rule", "changes", "wanted"),
    RULES,
    ids=[f"{rule}: {changes}"[:90] for rule, changes, _ in RULES],
)
def test_a_rule_speaks_where_it_should_and_nowhere_else(
    rule: str, changes: dict[str, Any], wanted: dict[str, str], compared: Callable[[Case], Comparison]
) -> None:
    assert levels(compared(case_of(changes)).outcomes, rule) == wanted


def test_the_plain_case_raises_nothing_at_all(compared: Callable[[Case], Comparison]) -> None:
    assert {o.name: o.findings() for o in compared(BASE).outcomes} == dict.fromkeys(ALL, ())


# The shop's rubbers all stretch enough for the declared grades: the rule is shown with a rubber that doesn't.
STRETCH = "stretch past the rubber's elongation"


def test_every_rule_of_the_table_is_seen_speaking_and_silent(knowledge: Knowledge) -> None:
    names = {row.text("name") for row, _ in knowledge.rules.rules}
    shown = [*RULES, *((rule, what, wanted) for rule, _, what, wanted in OF_THE_SHAPE)]
    assert {rule for rule, _, wanted in shown if wanted} == names
    assert {rule for rule, _, wanted in shown if not wanted} == names


def with_rubber(knowledge: Knowledge, name: str, column: str, value: float) -> Knowledge:
    """Return the knowledge with one figure of one rubber changed."""
    row = knowledge.materials.rubbers[name]
    changed = replace(row, values={**row.values, column: replace(row.quantity(column), value=value)})
    rubbers = {**knowledge.materials.rubbers, name: changed}
    return replace(knowledge, materials=replace(knowledge.materials, rubbers=rubbers))


@pytest.mark.parametrize(
    ("undercut", "breaks_at", "level"),
    [("severe", 0.9, "stop"), ("severe", 1.1, "caution"), ("severe", 2.1, None), ("moderate", 0.7, "caution"),
     ("none", 0.3, None)],
)  # fmt: skip
def test_stretch_past_the_elongation_stops_and_past_half_of_it_cautions(
    knowledge: Knowledge, reading_of: Callable[[Case], Reading], undercut: str, breaks_at: float, level: str | None
) -> None:
    # Declared grades stretch a rubber by 0, 40 and 100 % (common practice, no source).
    name = "platinum silicone, slow"
    case = case_of({"rubber": name, "undercut": undercut})
    outcomes = assess(case, with_rubber(knowledge, name, "elongation", breaks_at), reading_of(case))
    assert levels(outcomes, STRETCH) == ({} if level is None else of(level, *ALL))


def test_a_skin_over_half_of_the_piece_is_stopped_where_a_sweep_of_sizes_meets_it(
    knowledge: Knowledge, reading_of: Callable[[Case], Reading]
) -> None:
    case = case_of({"skin": 0.020})
    outcomes = assess(case, knowledge, reading_of(case), np.array([0.15, 0.25, 1.0]))  # 30, 50 and 200 mm
    brushed = next(o for o in outcomes if o.name == BRUSHED)
    at = [{f.rule: f.level for f in brushed.findings(index)}.get("skin too thick for the piece") for index in range(3)]
    assert at == ["stop", "caution", None]


# --------------------------------------------------------------------------------------------- stops and what follows


def test_two_stops_at_once_are_both_said_and_the_gravest_come_first(compared: Callable[[Case], Comparison]) -> None:
    case = case_of({**PRESSED, "surface": "sulfur clay", "fragile": True, "degassed": False})
    block, brushed, *_ = compared(case).outcomes
    assert [f.rule for f in block.findings() if f.level == "stop"] == [
        "fragile pattern cannot be buried",
        "cure inhibition",
    ]
    assert [f.rule for f in brushed.findings() if f.level == "stop"] == [
        "no pressure in a brushed skin",
        "cure inhibition",
    ]
    gravity = {"stop": 0, "caution": 1, "note": 2}
    for outcome in (block, brushed):
        order = [gravity[f.level] for f in outcome.findings()]
        assert order == sorted(order)


def test_with_nothing_feasible_nothing_is_cheapest_and_nothing_crosses(compared: Callable[[Case], Comparison]) -> None:
    record = comparison_record(compared(case_of({"material": "tin alloy", "life": 40.0, "run": 2000})))
    assert [t["feasible"] for t in record["techniques"]] == [False] * 4
    assert record["cheapest"] is None
    assert record["crossings"] == []
    assert all(t["cost_total"] > 0 for t in record["techniques"])


def test_only_stops_rule_a_technique_out(compared: Callable[[Case], Comparison]) -> None:
    for _, changes, _ in RULES:
        for outcome in compared(case_of(changes)).outcomes:
            stops = [f for f in outcome.findings() if f.level == "stop"]
            assert outcome.stop_at() == bool(stops)


def test_a_technique_that_is_ruled_out_is_never_the_cheapest(compared: Callable[[Case], Comparison]) -> None:
    for _, changes, _ in RULES:
        result = compared(case_of(changes))
        ruled_out = {o.name for o in result.outcomes if o.stop_at()}
        assert result.cheapest is None or result.cheapest.name not in ruled_out
        assert not {result.outcomes[c.after].name for c in result.crossings} & ruled_out


def test_words_carry_the_figures_and_every_finding_has_remedy_reason_and_source(
    compared: Callable[[Case], Comparison],
) -> None:
    case = case_of({**PRESSED, **sized(0.40)})
    found = [f for f in compared(case).outcomes[0].findings() if f.rule == "pressure pot too small"]
    # Base 400 x 400 mm, margin 25 mm: the block is 450 x 450 x 265 mm, 636 mm from corner to corner where the pot
    # has a bore of 360; laid on a side it would lack 162 mm only, and its casting would run out at the open base.
    assert found[0].words == (
        "the mold (450 mm x 450 mm x 265 mm) is 276 mm too large for the pressure pot "
        "(360 mm bore, 400 mm high), standing up, as its open base asks."
    )
    for _, changes, _ in RULES:
        for outcome in compared(case_of(changes)).outcomes:
            for finding in outcome.findings():
                assert all((finding.words, finding.remedy, finding.reason, finding.source))
                assert "{" not in finding.words and "nan" not in finding.words


# ------------------------------------------------------------------------------------------------- traits, not names


def test_findings_name_no_technique(knowledge: Knowledge) -> None:
    names = {word for t in knowledge.techniques for word in (t.key, t.name)}
    for path in sorted(FINDINGS.glob("*.py")):
        text = path.read_text(encoding="utf-8")
        assert not re.search(r"technique\s*\.\s*(name|key)", text), path.name
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                assert not [name for name in names if name in node.value], f"{path.name}, line {node.lineno}"


def test_a_technique_under_another_name_raises_the_same_findings(
    knowledge: Knowledge, reading_of: Callable[[Case], Reading]
) -> None:
    renamed = tuple(
        replace(t, row=replace(t.row, name=f"odd_{place}", values={**t.row.values, "name": f"odd {place}"}))
        for place, t in enumerate(knowledge.techniques)
    )
    other = replace(knowledge, techniques=renamed)
    for changes in ({}, PRESSED, {"fixed_in_place": True}, {"fragile": True, "unique": True}, {"rubber": "latex"}):
        case = case_of(changes)
        plain = assess(case, knowledge, reading_of(case))
        assert [o.findings() for o in assess(case, other, reading_of(case))] == [o.findings() for o in plain]


def test_every_rule_has_a_reason_a_remedy_and_a_source(knowledge: Knowledge) -> None:
    for row, rule in knowledge.rules.rules:
        for column in ("name", "reason", "remedy", "source"):
            assert row.text(column).strip(), f"{row.name}: {column}"
        assert rule.__doc__ and rule.__name__ == row.name


def test_a_row_without_its_rule_and_a_rule_without_its_row_are_named(copied_data: Path) -> None:
    rows = load_table(copied_data, "rules")
    with pytest.raises(InputError, match=r"function cure_inhibition\(\) has no row 'cure_inhibition' in rules\.csv"):
        rule_book([row for row in rows if row.name != "cure_inhibition"], [FINDINGS])
    odd = replace(rows[0], name="odd_rule")
    with pytest.raises(InputError, match=r"rules\.csv: row 'odd_rule' has no function odd_rule\(\)"):
        rule_book([*rows, odd], [FINDINGS])


def test_a_rule_without_the_limit_it_needs_is_named(
    knowledge: Knowledge, reading_of: Callable[[Case], Reading]
) -> None:
    rules = tuple(
        (replace(row, values={**row.values, "caution_at": None}) if row.name == "brushing_a_small_piece" else row, rule)
        for row, rule in knowledge.rules.rules
    )
    other = replace(knowledge, rules=replace(knowledge.rules, rules=rules))
    with pytest.raises(
        InputError, match=r"rules\.csv, row \d+, column 'caution_at': is empty; this rule needs a limit"
    ):
        assess(BASE, other, reading_of(BASE))


def test_findings_over_an_array_of_sizes_are_those_of_each_size(
    knowledge: Knowledge, reading_of: Callable[[Case], Reading]
) -> None:
    case = case_of({**PRESSED, "fragile": True, "rubber": "platinum silicone, fast", "degassed": False})
    reading = read_pattern(case, knowledge)
    sizes = np.array([0.03, 0.1, 0.25, 0.8]) / max(reading.extents)
    together = assess(case, knowledge, reading, sizes)
    for index, scale in enumerate(sizes):
        alone = assess(case, knowledge, reading, float(scale))
        for many, one in zip(together, alone, strict=True):
            assert many.findings(index) == one.findings()
            assert many.stop_at(index) == one.stop_at()
