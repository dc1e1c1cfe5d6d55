"""The seam: a technique is one file and its rows; a missing partner is named; every technique keeps the contract."""

from __future__ import annotations

import ast
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from moldkit.errors import InputError
from moldkit.pattern.reading import Reading
from moldkit.seam import walk
from moldkit.study.assess import Outcome, assess
from moldkit.study.case import Case
from moldkit.study.compare import compare, comparison_record
from moldkit.study.curves import curve_table
from moldkit.study.knowledge import PACKAGE, Knowledge, load_knowledge
from moldkit.study.sweep import decision_map
from moldkit.views.charts import cost_chart
from moldkit.views.map_chart import map_chart
from moldkit.views.tables import comparison_rows
from moldkit.views.verdict import verdict

DOME = Case(form="dome", size=(0.20, 0.20, 0.12), material="gypsum plaster", run=20)

# A mold without rubber, cheap enough to win: it proves that neither a list nor a rubber is needed.
TRAY = '''"""Sand tray: the pattern is pressed into a tray of damp sand. A mold without rubber, for this test only."""

from moldkit.quantity import Quantity
from moldkit.techniques.plan import Amount, MoldPlan


def plan(pattern, choices, materials, steps):
    """Return the plan of a sand tray; pattern: at one size or an array of sizes [m]."""
    nothing = 0.0 * pattern.volume.value
    sand = Quantity("sand", 1600 * 4 * pattern.volume.value, "kg", "4 x volume x 1600 kg/m3", (pattern.volume,))
    cost = Quantity("cost of sand", 0.2 * sand.value, "money", "mass x 0.2", (sand,))
    side = Quantity("side", 1.5 * pattern.longest.value, "m", "1.5 x longest side", (pattern.longest,))

    def none(unit):
        return Quantity("none", nothing, unit, "a tray has none")

    return MoldPlan(
        technique="sand_tray",
        rubber=None,
        shell=None,
        quantities={
            "rubber_volume": none("m3"),
            "rubber_mass": none("kg"),
            "mold_mass": sand,
            "pieces": Quantity("pieces", 1.0, "pieces", "one tray"),
            "parting_length": none("m"),
            "width": side,
            "depth": side,
            "height": side,
            "round_diameter": side,
            "pour_volume": none("m3"),
            "pour_head": none("m"),
        },
        amounts=(Amount("sand", sand, cost),),
        steps=(steps.time("fill the tray", pattern.molded_area),),
    )
'''
ROW = "sand_tray,sand tray,5,brushed,no,no,no,no,no,none,made up for a test\n"
STEP = "sand_tray,fill the tray,0.1,0.1,0.1,0.1,0.1,0.1,molded area [m2],1,none,helper,made up for a test\n"


@pytest.fixture
def tray_file(tmp_path: Path) -> Path:
    folder = tmp_path / "more techniques"
    folder.mkdir()
    (folder / "sand_tray.py").write_text(TRAY, encoding="utf-8")
    return folder


def add(folder: Path, table: str, row: str) -> None:
    path = folder / f"{table}.csv"
    text = path.read_text(encoding="utf-8")
    path.write_text(text + ("" if text.endswith("\n") else "\n") + row, encoding="utf-8")


@pytest.fixture
def five(copied_data: Path, tray_file: Path) -> Knowledge:
    """Return the knowledge of a data folder to which a fifth technique was added: one file, its rows, no more."""
    add(copied_data, "techniques", ROW)
    add(copied_data, "steps", STEP)
    return load_knowledge(copied_data, [tray_file])


def test_a_fifth_technique_appears_everywhere_with_no_other_change(
    five: Knowledge, reading_of: Callable[[Case], Reading]
) -> None:
    reading = reading_of(DOME)
    result = compare(DOME, five, reading)
    record = comparison_record(result)
    assert [t["technique"] for t in record["techniques"]][-1] == "sand tray"
    assert record["cheapest"] == "sand tray"
    assert "sand tray" in verdict(result).sentence
    assert comparison_rows(result)[-1][0] == "sand tray"

    table = curve_table(result, 1000)
    assert table.techniques[-1] == "sand tray"
    chart = cost_chart(table)
    assert "sand tray" in [trace.get("name") for trace in chart["data"]]
    ends = [shape["label"]["text"] for shape in chart["layout"]["shapes"] if shape.get("name") == "end"]
    assert any("sand tray" in text for text in ends)

    decided = decision_map(DOME, five, reading, np.array([0.1, 0.2]), np.array([1, 100]))
    assert decided.names[-1] == "sand tray"
    assert set(decided.cheapest.ravel().tolist()) == {4}
    (cells, *_) = map_chart(decided, run=20, longest=0.2)["data"]
    assert {word for row in cells["customdata"] for word in row} == {"sand tray"}


def test_a_row_without_its_file_is_named(copied_data: Path) -> None:
    add(copied_data, "techniques", ROW)
    with pytest.raises(InputError) as refused:
        load_knowledge(copied_data)
    assert str(refused.value) == (
        "techniques.csv: row 'sand_tray' has no file sand_tray.py in moldkit/techniques; add it."
    )


def test_a_file_without_its_row_is_named(copied_data: Path, tray_file: Path) -> None:
    with pytest.raises(InputError) as refused:
        load_knowledge(copied_data, [tray_file])
    assert str(refused.value) == "sand_tray.py: has no row 'sand_tray' in techniques.csv; add the row."


def test_a_file_without_its_function_is_named(copied_data: Path, tray_file: Path) -> None:
    add(copied_data, "techniques", ROW)
    (tray_file / "sand_tray.py").write_text(TRAY.replace("def plan(", "def plann("), encoding="utf-8")
    with pytest.raises(InputError) as refused:
        load_knowledge(copied_data, [tray_file])
    assert str(refused.value) == "sand_tray.py: has no function plan(); add it."


def test_a_missing_step_row_is_named(copied_data: Path, tray_file: Path, reading_of: Callable[[Case], Reading]) -> None:
    add(copied_data, "techniques", ROW)
    knowledge = load_knowledge(copied_data, [tray_file])
    with pytest.raises(InputError) as refused:
        compare(DOME, knowledge, reading_of(DOME))
    assert str(refused.value) == "steps.csv: technique 'sand_tray' has no step 'fill the tray'; add the row."


@pytest.mark.parametrize("step", ["finish", "set up a session"])
def test_a_missing_step_of_the_castings_is_named(
    knowledge: Knowledge, reading_of: Callable[[Case], Reading], step: str
) -> None:
    steps = {name: row for name, row in knowledge.casting_steps.items() if name != step}
    with pytest.raises(InputError, match=f"steps.csv: the castings have no step {step!r}; add the row."):
        compare(DOME, replace(knowledge, casting_steps=steps), reading_of(DOME))


def test_a_casting_method_without_its_file_is_named(copied_data: Path) -> None:
    add(copied_data, "casting_methods", "slush,slush,9,0,0,0,yes,no,no,5,15,30,made up for a test\n")
    with pytest.raises(InputError, match=r"casting_methods.csv: row 'slush' has no file slush.py in moldkit/casting"):
        load_knowledge(copied_data)


# --------------------------------------------------------------------------------------------------- the contract

TECHNIQUES = sorted(walk([PACKAGE / "techniques"]))
NAMED = (
    "rubber_volume",
    "rubber_mass",
    "mold_mass",
    "pieces",
    "parting_length",
    "width",
    "depth",
    "height",
    "round_diameter",
    "pour_volume",
    "pour_head",
)
PIECES = [
    Case(form="dome", size=(0.20, 0.20, 0.12)),
    Case(form="bust", size=(0.24, 0.27, 0.28), undercut="moderate"),
    Case(form="ball", size=(0.06, 0.06, 0.06), stands_on_base=False),
]
SCALES = np.array([0.2, 0.5, 1.0, 1.7, 4.0])


def outcome_of(key: str, case: Case, knowledge: Knowledge, reading: Reading) -> Outcome:
    return next(o for o in assess(case, knowledge, reading, SCALES) if o.technique.key == key)


def test_every_file_of_the_folder_is_greeted(knowledge: Knowledge) -> None:
    assert [t.key for t in sorted(knowledge.techniques, key=lambda t: t.key)] == TECHNIQUES


@pytest.mark.parametrize("case", PIECES, ids=lambda case: case.form)
@pytest.mark.parametrize("key", TECHNIQUES)
class TestContract:
    def test_amounts_costs_and_times_are_never_negative(
        self, key: str, case: Case, knowledge: Knowledge, reading_of: Callable[[Case], Reading]
    ) -> None:
        plan = outcome_of(key, case, knowledge, reading_of(case)).plan
        for amount in plan.amounts:
            assert np.all(amount.amount.value >= 0) and np.all(amount.cost.value >= 0), amount.what
            assert 0 <= amount.remake <= 1
        for step in plan.steps:
            assert np.all(step.attended.value >= 0) and np.all(step.wait.value >= 0), step.name
            assert 0 <= step.remake <= 1
        for name, figure in plan.quantities.items():
            assert np.all(np.asarray(figure.value) >= 0), name
            assert np.all(np.isfinite(figure.value)), name

    def test_rubber_and_hours_grow_with_size(
        self, key: str, case: Case, knowledge: Knowledge, reading_of: Callable[[Case], Reading]
    ) -> None:
        outcome = outcome_of(key, case, knowledge, reading_of(case))
        for figure in (outcome.plan["rubber_volume"], outcome.plan["mold_mass"], outcome.attended_first):
            assert np.all(np.diff(figure.value) > 0), figure.name

    def test_a_remake_with_the_pattern_at_hand_costs_no_more_than_the_first_mold(
        self, key: str, case: Case, knowledge: Knowledge, reading_of: Callable[[Case], Reading]
    ) -> None:
        outcome = outcome_of(key, case, knowledge, reading_of(case))
        assert np.all(outcome.remake.value <= outcome.first.value)
        assert np.all(outcome.attended_remake.value <= outcome.attended_first.value)
        assert np.all(outcome.remake.value > 0)

    def test_the_plan_names_what_findings_and_castings_ask_for(
        self, key: str, case: Case, knowledge: Knowledge, reading_of: Callable[[Case], Reading]
    ) -> None:
        outcome = outcome_of(key, case, knowledge, reading_of(case))
        assert set(NAMED) <= set(outcome.plan.quantities)
        assert outcome.plan.technique == key
        units = {"rubber_volume": "m3", "rubber_mass": "kg", "mold_mass": "kg", "width": "m", "pour_head": "m"}
        assert {name: outcome.plan[name].unit for name in units} == units

    def test_every_figure_explains_itself(
        self, key: str, case: Case, knowledge: Knowledge, reading_of: Callable[[Case], Reading]
    ) -> None:
        outcome = outcome_of(key, case, knowledge, reading_of(case))
        waiting = [*outcome.plan.quantities.values(), outcome.first, outcome.remake, outcome.pour]
        waiting += [a.cost for a in outcome.plan.amounts] + [s.attended for s in outcome.plan.steps]
        seen: set[int] = set()
        while waiting:
            figure = waiting.pop()
            if id(figure) in seen:
                continue
            seen.add(id(figure))
            assert figure.name and figure.unit, figure
            assert figure.formula or figure.source or figure.name == "factor", figure.name
            waiting += figure.inputs

    def test_one_size_at_a_time_gives_the_same_figures(
        self, key: str, case: Case, knowledge: Knowledge, reading_of: Callable[[Case], Reading]
    ) -> None:
        reading = reading_of(case)
        many = outcome_of(key, case, knowledge, reading)
        for index, scale in enumerate(SCALES):
            alone = next(o for o in assess(case, knowledge, reading, float(scale)) if o.technique.key == key)
            for name, figure in alone.plan.quantities.items():
                assert figure.at(0) == pytest.approx(many.plan[name].at(index), rel=1e-12, abs=1e-15), name
            assert alone.first.at(0) == pytest.approx(many.first.at(index), rel=1e-12)
            assert alone.remake.at(0) == pytest.approx(many.remake.at(index), rel=1e-12)
            assert alone.pour.at(0) == pytest.approx(many.pour.at(index), rel=1e-12)


@pytest.mark.parametrize("key", TECHNIQUES)
def test_a_techniques_file_opens_no_file_and_says_what_it_takes(key: str) -> None:
    tree = ast.parse((PACKAGE / "techniques" / f"{key}.py").read_text(encoding="utf-8"))
    imported = {alias.name for node in ast.walk(tree) if isinstance(node, ast.Import) for alias in node.names}
    imported |= {node.module or "" for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    assert not imported & {"os", "pathlib", "io", "csv", "shutil"}
    called = {node.func.id for node in ast.walk(tree) if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)}
    assert "open" not in called
    plan = next(node for node in tree.body if isinstance(node, ast.FunctionDef) and node.name == "plan")
    words = ast.get_docstring(plan) or ""
    assert "pattern:" in words and "choices:" in words and "[m]" in words
