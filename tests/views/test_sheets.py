"""The bench sheets: one page each for every job, the right figures in either system of units, nothing cut."""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from moldkit.errors import InputError
from moldkit.study.assess import Outcome
from moldkit.study.bench.boards import board_of
from moldkit.study.case import Case, read_job
from moldkit.study.compare import Comparison, compare
from moldkit.study.knowledge import Knowledge
from moldkit.study.load_checks import load_checks
from moldkit.study.run_plan import plan_run
from moldkit.study.shopping import shopping_list
from moldkit.units import System, show, to_si
from moldkit.views.paper.document import CheckList, Document, Number, Paper, Table, Tick, TickGrid, figures
from moldkit.views.paper.pdf import pdf
from moldkit.views.sheets.bench import bench_for, clock_time, day
from moldkit.views.sheets.build import build_sheet
from moldkit.views.sheets.in_units import DIMENSION, RULES, key_figure, scale_for
from moldkit.views.sheets.loads import load_sheet
from moldkit.views.sheets.mixing import mixing_sheet
from moldkit.views.sheets.pouring import pour_plan
from moldkit.views.sheets.run_card import MOST_BOXES, run_card
from moldkit.views.sheets.safety import safety_page
from moldkit.views.sheets.schedule import MOST_DAYS, day_words, schedule_sheet
from moldkit.views.sheets.shopping import shopping_sheet
from moldkit.views.sheets.whole_set import whole_set
from tests.views.paper_reading import pdf_pages, squeezed

DATA = Path(__file__).resolve().parents[2] / "data"
DAY = datetime.date(2026, 11, 25)
NINE = datetime.time(9)
JOBS = sorted(path.stem for path in (DATA / "jobs").glob("*.toml"))
DOME = Case(form="dome", size=(0.30, 0.30, 0.15), run=40, name="Dome")
SIMPLE = (build_sheet, mixing_sheet, pour_plan, run_card, safety_page)
Compared = Callable[[Case], Comparison]


@pytest.fixture(scope="module")
def job(knowledge: Knowledge) -> Callable[[str], Comparison]:
    """Return the function from a demo job's name to its comparison, each made once."""
    made: dict[str, Comparison] = {}

    def of(name: str) -> Comparison:
        if name not in made:
            made[name] = compare(read_job(DATA / "jobs" / f"{name}.toml"), knowledge)
        return made[name]

    return of


def words_of(document: Document, paper: Paper = "A4") -> str:
    return squeezed(" ".join(pdf_pages(pdf(document, paper))))


def tables(document: Document) -> dict[str, Table]:
    return {block.title: block for page in document.pages for block in page.blocks if isinstance(block, Table)}


# --------------------------------------------------------------------------------------------------- one page each


@pytest.mark.parametrize(("system", "paper"), [("metric", "A4"), ("us", "Letter")])
@pytest.mark.parametrize("name", JOBS)
def test_every_sheet_of_every_demo_job_is_one_page_that_names_the_job(
    job: Callable[[str], Comparison], name: str, system: System, paper: Paper
) -> None:
    result = job(name)
    for sheet in whole_set(bench_for(result, system=system, date=DAY, start=NINE)):
        (words,) = pdf_pages(pdf(sheet, paper))
        assert squeezed(result.case.name) in squeezed(words), sheet.title
        for number, _ in figures(sheet):
            assert squeezed(number.text) in squeezed(words), (sheet.title, number)


def test_every_page_of_a_ruled_out_technique_begins_with_the_stop(compared: Compared) -> None:
    """Metal of 200 degC in a rubber that bears less."""
    result = compared(replace(DOME, size=(0.05, 0.05, 0.02), material="tin alloy", rubber="platinum silicone, slow"))
    bench = bench_for(result, "poured block", date=DAY)
    assert bench.outcome.stop_at()
    for sheet in whole_set(bench):
        first = sheet.pages[0].blocks[0]
        assert isinstance(first, CheckList) and first.checks[0].mark == "stop", sheet.title
        assert "is ruled out" in first.checks[0].name
        assert squeezed("is ruled out") in words_of(sheet)
    feasible = bench_for(compared(DOME), date=DAY)
    assert not feasible.ruled_out


@pytest.mark.parametrize("technique", ["poured block", "brushed skin", "cavity pour", "cavity pour, printed shell"])
@pytest.mark.parametrize("name", ["heron", "boss"])
def test_a_technique_may_be_named_even_one_that_is_ruled_out(
    job: Callable[[str], Comparison], name: str, technique: str
) -> None:
    result = job(name)
    bench = bench_for(result, technique, date=DAY)
    sheets = [make(bench) for make in SIMPLE] + [load_sheet(bench, load_checks(result, technique))]
    assert [len(pdf_pages(pdf(sheet))) for sheet in sheets] == [1] * len(sheets)
    stops = [f.words for f in bench.outcome.findings() if f.level == "stop"]
    build = words_of(sheets[0]).lower()
    assert all(squeezed(words).lower() in build for words in stops)


@pytest.mark.parametrize("run", [1, 150, 1000, 100_000])
def test_a_run_card_is_one_page_with_a_box_for_every_pour_or_for_several(compared: Compared, run: int) -> None:
    result = compared(replace(DOME, run=run))
    made = run_card(bench_for(result, "cavity pour", date=DAY))
    assert len(pdf_pages(pdf(made))) == 1
    assert len(pdf_pages(pdf(made, "Letter"))) == 1
    (grid,) = (block for block in made.pages[0].blocks if isinstance(block, TickGrid))
    assert len(grid.boxes) <= MOST_BOXES
    assert re.sub(r"\D", "", grid.boxes[-1]) == str(run)
    if run <= MOST_BOXES:
        assert len(grid.boxes) == run


def test_a_run_card_shows_molds_side_by_side_and_not_in_turn(compared: Compared) -> None:
    result = compared(replace(DOME, run=60, molds=3))
    bench = bench_for(result, "cavity pour", date=DAY)
    card = next(sheet for sheet in whole_set(bench) if sheet.title == "Casting run card")
    (table,) = (table for title, table in tables(card).items() if title.startswith("Molds"))
    assert table.title == "Molds, 3 of them side by side"
    assert sum(int(str(row[1])) for row in table.rows[:-1]) == 60
    shell = next(tables(s) for s in whole_set(bench) if s.title == "Shopping list")["To buy"]
    alone = bench_for(compared(replace(DOME, run=60)), "cavity pour", date=DAY)
    one = next(tables(s) for s in whole_set(alone) if s.title == "Shopping list")["To buy"]
    needed = []
    for listed in (shell, one):
        amount, unit = next((row[2], row[3]) for row in listed.rows if "(shell)" in str(row[1]))
        assert isinstance(amount, Number)
        needed.append(si(amount, str(unit)))
    assert needed[0] == pytest.approx(3 * needed[1])


def test_every_finding_stands_on_the_build_sheet(job: Callable[[str], Comparison]) -> None:
    result = job("heron")
    bench = bench_for(result, "cavity pour", date=DAY)
    found = bench.outcome.findings()
    assert len(found) > 2
    words = words_of(build_sheet(bench)).lower()
    for finding in found:
        assert squeezed(finding.words).lower() in words
        assert squeezed(finding.remedy).lower() in words


# ----------------------------------------------------------------------------------------------- figures and units


def si(number: Number, unit: str) -> float:
    """Return a printed figure in SI units."""
    plain = {"m²": "m2", "ft²": "ft2", "°C": "degC", "°F": "degF"}.get(unit, unit)
    return to_si(number.value, plain)


@pytest.mark.parametrize("make", SIMPLE)
@pytest.mark.parametrize("technique", ["poured block", "brushed skin", "cavity pour"])
def test_metric_and_us_sheets_say_the_same(compared: Compared, make: Callable[..., Document], technique: str) -> None:
    result = compared(replace(DOME, cavities=1))
    both = [list(figures(make(bench_for(result, technique, system=system, date=DAY)))) for system in ("metric", "us")]
    assert len(both[0]) == len(both[1])
    for (a, unit), (b, other) in zip(*both, strict=True):
        if unit in ("", "pours", "h", "min"):
            assert (a.value, unit) == (b.value, other)
        else:
            assert other not in ("mm", "g", "kg", "mL", "L", "kPa", "°C", "m", "m²")
            # a sum of what is weighed is rounded as printed, all else is the figure itself
            summed = a.value == a.shown and b.value == b.shown
            assert si(a, unit) == pytest.approx(si(b, other), rel=0.01 if summed else 1e-9)


@pytest.mark.parametrize("key", RULES)
def test_a_scale_shows_a_figure_of_any_size_to_within_one_in_a_hundred(key: tuple[str, System]) -> None:
    dimension, system = key
    unit = next(si_unit for si_unit, name in DIMENSION.items() if name == dimension)
    least = {"length": 0.005, "area": 0.05, "mass": 0.01, "volume": 1e-4, "pressure": 6e4, "force": 250.0,
             "time": 3000.0, "temperature": 288.0}[dimension]  # fmt: skip
    for size in (least, 3 * least, 10 * least, 100 * least):
        if dimension == "temperature" and size > 400:
            continue
        scale = scale_for([size], unit, system)
        number = scale.of(size)
        assert to_si(number.shown, scale.unit) == pytest.approx(size, rel=0.012)
        afar = key_figure("x", size, unit, system)
        assert isinstance(afar.value, Number)
        assert si(Number(afar.value.shown), afar.unit) == pytest.approx(size, rel=0.012)


@pytest.mark.parametrize("system", ["metric", "us"])
@pytest.mark.parametrize("technique", ["poured block", "brushed skin", "cavity pour"])
def test_the_parts_on_the_mixing_sheet_are_the_rubber_of_the_mold(
    compared: Compared, technique: str, system: System
) -> None:
    result = compared(replace(DOME, rubber="tin-cured silicone", shop={"batch_most": "3 kg"}))
    bench = bench_for(result, technique, system=system, date=DAY)
    plan = bench.outcome.plan
    rubber = mixing_sheet(bench).pages[0].blocks[2]
    assert isinstance(rubber, Table)
    weighed = [place for place, column in enumerate(rubber.columns) if column.heading in ("Part A", "Part B")]
    a, b = (sum(si(row[place], rubber.columns[place].unit) for row in rubber.rows) for place in weighed)  # type: ignore[arg-type]
    assert a + b == pytest.approx(plan["rubber_mass"].at(0))
    assert plan.rubber is not None
    # 3 or 5 parts of catalyst to 100 parts of base, by weight
    assert b / a == pytest.approx(plan.rubber.quantity("mix_ratio").at(0) / 100)


def test_the_batch_by_hand_arithmetic(compared: Compared) -> None:
    """A casting of 1.000 kg with 5 % loss at 100 : 90 by weight: 1050 g, of them 1050 / 1.9 = 552.6 and 497.4 g."""
    base = compared(replace(DOME, material="rigid urethane resin"))
    factor = (1.0 / base.cheapest.casting["mass"].at(0)) ** (1 / 3)  # type: ignore[union-attr]
    size = tuple(side * factor for side in (0.30, 0.30, 0.15))
    result = compared(replace(DOME, material="rigid urethane resin", size=size))  # type: ignore[arg-type]
    bench = bench_for(result, date=DAY)
    table = mixing_sheet(bench).pages[0].blocks[5]
    assert isinstance(table, Table)
    assert bench.outcome.casting["mass"].at(0) == pytest.approx(1.0, rel=1e-6)
    assert [cell.text for cell in table.rows[0][1:3] if isinstance(cell, Number)] == ["553", "497"]


def test_coats_on_the_build_sheet_add_up_as_printed(compared: Compared) -> None:
    bench = bench_for(compared(DOME), "brushed skin", date=DAY)
    table = tables(build_sheet(bench))["Coats, the first one thin"]
    heads = [column.heading for column in table.columns]
    for row in table.rows:
        rubber, a, b = (row[heads.index(name)] for name in ("Rubber", "Part A", "Part B"))
        assert isinstance(rubber, Number) and isinstance(a, Number) and isinstance(b, Number)
        assert rubber.shown == pytest.approx(a.shown + b.shown)


def test_the_cut_list_is_for_the_board_of_the_load_checks(compared: Compared) -> None:
    result = compared(replace(DOME, size=(0.15, 0.15, 0.08)))
    checks = load_checks(result, "poured block")
    board = board_of(checks)
    bench = bench_for(result, "poured block", date=DAY)
    table = tables(build_sheet(bench, board))["Boards to cut"]
    long, short = table.rows[0][2], table.rows[1][2]
    assert isinstance(long, Number) and isinstance(short, Number)
    # a round dome: a square block, whose long walls are longer by two boards
    assert long.value - short.value == pytest.approx(2 * board * 1000)


@pytest.mark.parametrize("system", ["metric", "us"])
@pytest.mark.parametrize("name", JOBS)
def test_a_figure_of_the_load_checks_is_never_printed_as_nothing(
    job: Callable[[str], Comparison], name: str, system: System
) -> None:
    result = job(name)
    for outcome in result.outcomes:
        checks = load_checks(result, outcome.name)
        table = tables(load_sheet(bench_for(result, outcome.name, system=system, date=DAY), checks))["The figures"]
        for row in table.rows:
            assert not re.search(r"(\w+): \1", str(row[0]))
            for number in (cell for cell in row[1:3] if isinstance(cell, Number) and cell.value):
                assert number.shown == pytest.approx(number.value, rel=0.1)
                assert row[3] != "g" or abs(number.value) <= 10_000


@pytest.mark.parametrize("mass", [0.2, 0.5, 0.567, 0.9, 0.91, 2.0])
def test_a_batch_has_the_same_unit_in_a_table_a_key_figure_and_a_sentence(mass: float) -> None:
    table, afar = scale_for([mass], "kg", "us").unit, key_figure("batch", mass, "kg", "us").unit
    assert table == afar == show(mass, "kg", "us").split()[-1]


def test_a_large_volume_read_from_afar_is_in_litres() -> None:
    figure = key_figure("Rubber in the mold", 0.070959, "m3", "metric")
    assert isinstance(figure.value, Number)
    assert (figure.value.text, figure.unit) == ("70.96", "L")


# ----------------------------------------------------------------------------------------------------- the clock


def test_clock_times_run_from_the_start_and_are_left_open_without_one(compared: Compared) -> None:
    result = compared(DOME)
    with_start, without = (
        mixing_sheet(bench_for(result, "cavity pour", date=DAY, start=start)) for start in (NINE, None)
    )
    table = with_start.pages[0].blocks[2]
    assert isinstance(table, Table)
    row = dict(zip((column.heading for column in table.columns), table.rows[0], strict=True))
    # 35 min at 23 degC, 35 x 2^(1/10) = 37.5 in the demo shop's 22 degC
    assert row["Mixed at"] == "09:00"
    # What must be used up by then is never rounded up.
    assert row["Used up by"] == "09:37"
    assert "09:" not in words_of(without)


def test_a_time_after_midnight_names_its_day(compared: Compared) -> None:
    bench = bench_for(compared(DOME), date=DAY, start=datetime.time(22, 30))
    assert bench.clock(0) == "22:30"
    assert bench.clock(2 * 3600) == "day 2, 00:30"
    assert bench_for(compared(DOME), date=DAY).clock(60) is None


@pytest.mark.parametrize("text", ["24:00", "9", "09:60", "nine", "", "09:00:00"])
def test_what_is_no_time_of_day_is_refused_in_a_sentence(text: str) -> None:
    with pytest.raises(InputError, match="is not a time of day; write hours and minutes"):
        clock_time(text)


@pytest.mark.parametrize("text", ["25.11.2026", "2026-13-01", "tomorrow", "2026-02-30", "20261125", "2026-W48-3"])
def test_what_is_no_day_is_refused_in_a_sentence(text: str) -> None:
    with pytest.raises(InputError, match="is not a day; write year-month-day"):
        day(text)


def test_times_and_days_are_read() -> None:
    assert clock_time("7:05") == datetime.time(7, 5)
    assert day("2026-11-25") == DAY


# ------------------------------------------------------------------------------------------------ which technique


def test_the_cheapest_technique_is_taken_where_none_is_named(compared: Compared) -> None:
    result = compared(DOME)
    assert bench_for(result, date=DAY).outcome is result.cheapest


def test_an_unknown_technique_is_refused_with_the_nearest(compared: Compared) -> None:
    with pytest.raises(InputError, match="did you mean 'brushed skin'"):
        bench_for(compared(DOME), "brushed skins", date=DAY)


def test_with_nothing_feasible_a_technique_must_be_named(compared: Compared) -> None:
    nothing = compared(replace(DOME, method="lay-up"))
    with pytest.raises(InputError, match="nothing works as asked"):
        bench_for(nothing, date=DAY)
    assert bench_for(nothing, "brushed skin", date=DAY).outcome.stop_at()


# --------------------------------------------------------------------------------------- what a page must not want


def by_name(result: Comparison, name: str) -> Outcome:
    return next(outcome for outcome in result.outcomes if outcome.name == name)


def test_the_safety_page_defers_to_data_sheets_codes_and_licensed_practice(compared: Compared) -> None:
    words = words_of(safety_page(bench_for(compared(DOME), date=DAY)))
    for each in ("safety data sheets", "local codes", "licensed practice"):
        assert squeezed(each) in words


def test_every_step_of_the_mold_can_be_ticked(compared: Compared) -> None:
    result = compared(DOME)
    for outcome in result.outcomes:
        table = tables(build_sheet(bench_for(result, outcome.name, date=DAY)))["Steps"]
        named = [row[1] for row in table.rows]
        assert named == [step.name for step in outcome.plan.steps if step.attended.at(0) > 0]
        assert all(isinstance(row[0], Tick) for row in table.rows)


def test_what_cannot_be_poured_in_time_is_a_stop_on_the_mixing_sheet(compared: Compared) -> None:
    slow = compared(replace(DOME, rubber="platinum silicone, fast", shop={"mixing_start": 20}))
    words = words_of(mixing_sheet(bench_for(slow, "poured block", date=DAY)))
    assert squeezed("STOP") in words
    assert squeezed("Take a slower grade.") in words


def test_a_job_with_wild_words_prints_like_any_other(compared: Compared) -> None:
    wild = replace(DOME, name='#eval("1") <b>&amp; $x$ ' + "z" * 260)
    for sheet in (make(bench_for(compared(wild), date=DAY)) for make in SIMPLE):
        assert len(pdf_pages(pdf(sheet))) == 1


# ------------------------------------------------------------------------------------------- shopping and schedule


def test_the_shopping_list_adds_up_and_leaves_over_what_it_says(compared: Compared) -> None:
    result = compared(replace(DOME, run=60))
    shopping = shopping_list(result, "cavity pour")
    made = shopping_sheet(bench_for(result, "cavity pour", date=DAY), shopping)
    table = tables(made)["To buy"]
    costs = [row[-1].value for row in table.rows if isinstance(row[-1], Number)]
    assert sum(costs) == pytest.approx(shopping.cost.at(0))
    assert [row[1] for row in table.rows if str(row[1]).startswith("platinum silicone")]
    for row, line in zip(table.rows, shopping.lines, strict=True):
        assert isinstance(row[2], Number)
        assert si(row[2], str(row[3])) == pytest.approx(line.needed.at(0), rel=1e-9)
        if line.sold_in_kits:
            assert row[4] == line.purchase.words_in("metric")
            assert isinstance(row[5], Number)
            assert si(row[5], str(row[3])) == pytest.approx(line.purchase.mass - line.needed.at(0), abs=1e-9)


def test_the_schedule_counts_up_to_the_run_by_its_last_day(compared: Compared) -> None:
    result = compared(replace(DOME, run=90, good_share=0.9))
    plan = plan_run(result, "cavity pour", molds=2, start=DAY)
    made = schedule_sheet(bench_for(result, "cavity pour", date=DAY), plan)
    table = next(table for title, table in tables(made).items() if title.startswith("Castings out"))
    counted = [row[1].value for row in table.rows if isinstance(row[1], Number)]
    assert counted == sorted(counted)
    assert counted[-1] == 90
    assert len(table.rows) <= MOST_DAYS + 1
    assert table.rows[-1][0] == day_words(plan.finish)
    steps = [row[1] for row in tables(made)["The first mold"].rows]
    planned = [step.name for step in by_name(result, "cavity pour").plan.steps if step.attended.at(0) > 0]
    assert list(dict.fromkeys(steps)) == [step for step in planned if step in steps]
    assert len(pdf_pages(pdf(made, "Letter"))) == 1


def test_a_run_that_cannot_be_planned_says_why_in_the_schedules_place(compared: Compared) -> None:
    long = compared(replace(DOME, run=100_000))
    (sheet,) = (s for s in whole_set(bench_for(long, "cavity pour", date=DAY)) if s.title == "Schedule")
    assert squeezed("too long to be planned hour by hour") in words_of(sheet)
    unknown_life = compared(replace(DOME, material="tin alloy", rubber="latex"))
    sheets = whole_set(bench_for(unknown_life, "brushed skin", date=DAY))
    assert [len(pdf_pages(pdf(sheet))) for sheet in sheets] == [1] * 8
    (sheet,) = (s for s in sheets if s.title == "Schedule")
    assert squeezed("nothing is known of the life") in words_of(sheet).replace("Plan:", "")
