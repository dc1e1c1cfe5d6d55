"""The data tables: each kind of fault is named with file, row, column, value and mend; nothing is half written."""

from __future__ import annotations

import csv
import io
import os
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from moldkit import data_folder
from moldkit.data_folder import copy_data_folder, find_data_folder
from moldkit.errors import InputError
from moldkit.kit_sizes import Kit
from moldkit.shop import load_shop, with_overrides
from moldkit.study.knowledge import load_knowledge
from moldkit.tables import column_dictionary, load_table

DATA = Path(__file__).resolve().parents[1] / "data"

Cells = list[list[str]]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Return a copy of the data folder that a test may spoil."""
    copy = tmp_path / "data"
    shutil.copytree(DATA, copy, ignore=shutil.ignore_patterns("__pycache__", "patterns"))
    return copy


def read(path: Path) -> Cells:
    return list(csv.reader(io.StringIO(path.read_text(encoding="utf-8"), newline="")))


def write(path: Path, cells: Cells) -> None:
    text = io.StringIO(newline="")
    csv.writer(text, lineterminator="\n").writerows(cells)
    path.write_text(text.getvalue(), encoding="utf-8")


def spoil_cell(folder: Path, table: str, row: int, column: str, value: str) -> None:
    """Write `value` into a cell; row: as counted in the file, the header being row 1."""
    cells = read(folder / f"{table}.csv")
    cells[row - 1][cells[0].index(column)] = value
    write(folder / f"{table}.csv", cells)


def refusal(folder: Path, table: str) -> str:
    with pytest.raises(InputError) as refused:
        load_table(folder, table)
    sentence = str(refused.value)
    assert "\n" not in sentence
    return sentence


# --------------------------------------------------------------------------------------------------- the whole file


def test_the_data_of_the_repository_load() -> None:
    knowledge = load_knowledge(DATA)
    assert knowledge.techniques[0].name == "poured block"
    assert len(knowledge.rules.rules) >= 30


def test_a_missing_file_is_named_with_its_folder(folder: Path) -> None:
    (folder / "rubbers.csv").unlink()
    says = refusal(folder, "rubbers")
    assert says == f"rubbers.csv: missing from the data folder {str(folder)!r}; put it back."


def test_a_folder_in_place_of_a_file_is_named(folder: Path) -> None:
    (folder / "rubbers.csv").unlink()
    (folder / "rubbers.csv").mkdir()
    assert refusal(folder, "rubbers").startswith("rubbers.csv: cannot be read (")


def test_a_byte_order_mark_and_windows_line_ends_change_nothing(folder: Path) -> None:
    path = folder / "rubbers.csv"
    before = load_table(folder, "rubbers")
    path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes().replace(b"\r\n", b"\n").replace(b"\n", b"\r\n"))
    assert load_table(folder, "rubbers") == before


def test_text_that_is_not_utf_8_is_named_with_its_byte(folder: Path) -> None:
    path = folder / "surfaces.csv"
    raw = path.read_bytes()
    path.write_bytes(raw.replace(b"metal", b"m\xe9tal", 1))
    says = refusal(folder, "surfaces")
    assert says == f"surfaces.csv: not UTF-8 text (byte {raw.index(b'metal') + 1}); save it again as UTF-8 CSV."


def test_semicolons_are_named(folder: Path) -> None:
    path = folder / "surfaces.csv"
    path.write_text("\n".join(";".join(row) for row in read(path)), encoding="utf-8")
    assert refusal(folder, "surfaces") == (
        "surfaces.csv: row 1 is separated by semicolons; save it again as CSV with commas."
    )


@pytest.mark.parametrize("text", ["", "\n", "   \n"])
def test_an_empty_file_is_named(folder: Path, text: str) -> None:
    (folder / "surfaces.csv").write_text(text, encoding="utf-8")
    assert refusal(folder, "surfaces") == "surfaces.csv: row 1 is empty; it must hold the column names."


def test_a_header_without_rows_is_named(folder: Path) -> None:
    path = folder / "surfaces.csv"
    write(path, [*read(path)[:1], ["", "", "", "", ""]])
    assert refusal(folder, "surfaces") == "surfaces.csv: holds no rows; put back at least one row below the header."


def test_empty_rows_are_left_out_and_the_count_of_rows_goes_on(folder: Path) -> None:
    path = folder / "surfaces.csv"
    cells = read(path)
    write(path, [cells[0], cells[1], [], ["", "", "", "", ""], ["odd", "perhaps", "no", "no", "from memory"]])
    assert refusal(folder, "surfaces").startswith("surfaces.csv, row 5, column 'inhibits': 'perhaps'")


def test_a_quotation_mark_that_is_not_closed_is_named(folder: Path) -> None:
    path = folder / "surfaces.csv"
    path.write_text(path.read_text(encoding="utf-8") + 'odd,"no,no,no,from memory\n', encoding="utf-8")
    says = refusal(folder, "surfaces")
    assert says.startswith("surfaces.csv: not a whole CSV file (")
    assert says.endswith("look for a quotation mark that is not closed.")


# ------------------------------------------------------------------------------------------------- header and shape


def test_a_missing_column_is_named(folder: Path) -> None:
    path = folder / "rubbers.csv"
    cells = read(path)
    place = cells[0].index("shore_a likely [Shore A]")
    write(path, [row[:place] + row[place + 1 :] for row in cells])
    assert refusal(folder, "rubbers") == ("rubbers.csv, row 1: column 'shore_a likely [Shore A]' is missing; add it.")


@pytest.mark.parametrize(
    ("name", "ending"),
    [
        ("densty likely [kg/m3]", "; rename it to 'density likely [kg/m3]'."),
        ("density likely [g/cm3]", "; rename it to 'density likely [kg/m3]'."),
        ("", "; remove it."),
        ("qqqq", "; remove it."),
    ],
)
def test_an_unknown_column_is_named_with_the_nearest(folder: Path, name: str, ending: str) -> None:
    path = folder / "rubbers.csv"
    cells = read(path)
    cells[0][cells[0].index("density likely [kg/m3]")] = name
    write(path, cells)
    assert refusal(folder, "rubbers") == f"rubbers.csv, row 1: unknown column {name!r}{ending}"


def test_a_column_that_stands_twice_is_named(folder: Path) -> None:
    path = folder / "surfaces.csv"
    write(path, [[*row, row[1]] for row in read(path)])
    assert refusal(folder, "surfaces") == "surfaces.csv, row 1: column 'inhibits' stands twice; remove one."


@pytest.mark.parametrize("change", [lambda row: row[:-1], lambda row: [*row, "more"]], ids=["short", "long"])
def test_a_short_or_long_row_is_named_with_both_counts(folder: Path, change: Callable[[list[str]], list[str]]) -> None:
    path = folder / "surfaces.csv"
    cells = read(path)
    cells[3] = change(cells[3])
    write(path, cells)
    assert refusal(folder, "surfaces") == (
        f"surfaces.csv, row 4: has {len(cells[3])} cells where the header has 5; "
        "look for a missing or extra comma, or quote a cell that holds one."
    )


def test_a_decimal_comma_that_makes_one_cell_two_is_named_by_its_row(folder: Path) -> None:
    path = folder / "supplies.csv"
    text = path.read_text(encoding="utf-8").replace("box board,m2,0.15,", "box board,m2,0,15,")
    path.write_text(text, encoding="utf-8")
    columns = len(read(DATA / "supplies.csv")[0])
    words = f"supplies.csv, row 2: has {columns + 1} cells where the header has {columns};"
    assert refusal(folder, "supplies").startswith(words)


# --------------------------------------------------------------------------------------------------------- one cell


@pytest.mark.parametrize(
    ("table", "row", "column", "value", "says"),
    [
        # a number
        ("supplies", 2, "use low [-]", "0,15", "'0,15' has a comma; write a decimal point (0.15)."),
        ("rubbers", 3, "price likely [per kg]", "cheap", "'cheap' is not a number."),
        ("rubbers", 3, "price likely [per kg]", "28 USD", "'28 USD' is not a number."),
        ("rubbers", 3, "price likely [per kg]", "", "is empty; give a number [per kg]."),
        ("rubbers", 3, "price likely [per kg]", "nan", "'nan' is not a number."),
        ("rubbers", 3, "price likely [per kg]", "1e999", "1e999 is not a finite number."),
        (
            "rubbers",
            2,
            "density likely [kg/m3]",
            "1.1",
            "1.1 kg/m3 is outside 500 to 2500 kg/m3; check the figure and its unit.",
        ),
        (
            "mold_life",
            2,
            "spread high [-]",
            "50",
            "50 is outside 0.01 to 2; check the figure and its unit.",
        ),
        ("techniques", 2, "order", "1.5", "1.5 is not a whole number."),
        ("rules", 16, "caution_at", "much", "'much' is not a number."),
        ("rubbers", 2, "kits [kg]", "1;five", "'five' is not a number."),
        ("rubbers", 2, "kits [kg]", "1;5000", "5000 kg is outside 0.05 to 1000 kg; check the figure and its unit."),
        # words
        ("techniques", 3, "goes_on", "brush", "'brush' is not one of poured, brushed; did you mean 'brushed'?"),
        ("techniques", 3, "takes_pressure", "maybe", "'maybe' is neither yes nor no; write one of them."),
        ("techniques", 3, "takes_pressure", "Yes", "'Yes' is neither yes nor no; write one of them."),
        ("rules", 2, "level", "stopp", "'stopp' is not one of stop, caution, note; did you mean 'stop'?"),
        (
            "casting_materials",
            2,
            "methods",
            "open pour;presure",
            "'presure' is not one of open pour, pressure, vacuum, hand rotation, machine rotation, foam fill, lay-up; "
            "did you mean 'pressure'?",
        ),
        ("steps", 2, "driver", "skin area", "did you mean 'skin area [m2]'?"),
        ("rubbers", 2, "family", "", "is empty; give the generic family;"),
        ("rules", 2, "reason", "", "is empty; give why the rule stands."),
        ("rubbers", 4, "source", "", "is empty; give where the row comes from;"),
    ],
)
def test_a_bad_cell_is_named_with_file_row_column_value_and_mend(
    folder: Path, table: str, row: int, column: str, value: str, says: str
) -> None:
    spoil_cell(folder, table, row, column, value)
    sentence = refusal(folder, table)
    assert sentence.startswith(f"{table}.csv, row {row}, column {column!r}: ")
    assert says in sentence


def test_figures_out_of_order_are_named(folder: Path) -> None:
    spoil_cell(folder, "mold_life", 2, "life low [pours]", "60")
    assert refusal(folder, "mold_life") == (
        "mold_life.csv, row 2, column 'life low [pours]': low 60, likely 45, high 80 are out of order; sort them."
    )


def test_a_name_that_stands_twice_is_named_with_both_rows(folder: Path) -> None:
    spoil_cell(folder, "surfaces", 5, "name", "plaster")
    assert refusal(folder, "surfaces") == (
        "surfaces.csv, row 5: 'plaster' stands already in row 3; remove one of the two rows."
    )


def test_a_pair_may_share_one_word_but_not_both(folder: Path) -> None:
    cells = read(folder / "mold_life.csv")
    write(folder / "mold_life.csv", [*cells, cells[1]])
    assert refusal(folder, "mold_life") == (
        f"mold_life.csv, row {len(cells) + 1}: {' / '.join(cells[1][:2])!r} stands already in row 2; "
        "remove one of the two rows."
    )


@pytest.mark.parametrize(("table", "column", "word"), [("surfaces", "name", "name"), ("mold_life", "casting", "key")])
def test_a_row_without_its_name_is_named(folder: Path, table: str, column: str, word: str) -> None:
    spoil_cell(folder, table, 3, column, " ")
    assert refusal(folder, table) == (f"{table}.csv, row 3: has no {word}; fill the first column or remove the row.")


@pytest.mark.parametrize("table", sorted(path.stem for path in DATA.glob("*.csv")))
def test_every_range_column_of_every_table_refuses_each_end_past_its_bounds(folder: Path, table: str) -> None:
    pristine = read(folder / f"{table}.csv")
    for column in column_dictionary(table).values():
        if column.kind != "range":
            continue
        assert column.least is not None and column.most is not None
        for header, value in ((column.headers[0], column.least - 1), (column.headers[2], column.most * 1.01 + 1)):
            write(folder / f"{table}.csv", pristine)
            spoil_cell(folder, table, 2, header, repr(value))
            assert f"{table}.csv, row 2, column {header!r}: " in refusal(folder, table)


# ---------------------------------------------------------------------------------------------- what is read rightly


def test_figures_arrive_in_si_units_with_their_own_source(folder: Path) -> None:
    spoil_cell(folder, "rubbers", 2, "source", "from memory; pot_life: our own bench; and more")
    row = load_table(folder, "rubbers")[0]
    pot_life, density = row.quantity("pot_life"), row.quantity("density")
    assert (pot_life.low, pot_life.value, pot_life.high, pot_life.unit) == (25 * 60, 35 * 60, 45 * 60, "s")
    assert pot_life.source == "our own bench"
    assert (density.value, density.unit, density.source) == (1100, "kg/m3", "from memory; and more")
    assert row.words("suits") == {"poured", "brushed"}
    assert row.kits("kits") == (Kit(1.0, 34.0), Kit(5.0, 150.0), Kit(20.0, 560.0))
    heat = row.quantity("heat_limit")
    assert (heat.value, heat.unit) == (pytest.approx(473.15), "K")
    elongation = row.quantity("elongation")
    assert (elongation.value, elongation.unit) == (pytest.approx(4.0), "share")


# ------------------------------------------------------------------------------------------------------ the shop file


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("labor_rate = ", "labour_rate = ", ["shop.toml", "'labour_rate'", "did you mean 'labor_rate'"]),
        ('hours_a_day = "8 h"', "", ["shop.toml: hours_a_day is missing; give shift."]),
        ('hours_a_day = "8 h"', 'hours_a_day = "8 days"', ["shop.toml hours_a_day", "'days'", "unit of time"]),
        ('hours_a_day = "8 h"', 'hours_a_day = "48 h"', ["shop.toml hours_a_day: 48 h is outside 1 to 24 h"]),
        ('hours_a_day = "8 h"', 'hours_a_day = "8,5 h"', ["shop.toml hours_a_day: '8,5 h' has a comma", "8.5 h"]),
        (
            "has_vacuum_chamber = true",
            'has_vacuum_chamber = "yes"',
            ["has_vacuum_chamber: 'yes'", "false; write one of them"],
        ),
        ("has_vacuum_chamber = true", "has_vacuum_chamber = yes", ["shop.toml: not a TOML file", "line"]),
        ("likely = 40, high = 52", "likely = 60, high = 52", ["labor_rate: low 32, likely 60, high 52", "sort them"]),
        ("likely = 40, high = 52", "likely = 40", ["labor_rate: high is missing; write {low = ..., likely"]),
        ("likely = 40, high = 52", "likly = 40, high = 52", ["labor_rate: unknown key 'likly'", "'likely'"]),
        ("likely = 40, high = 52", "likely = true, high = 52", ["labor_rate: expected a number, not True"]),
        ("low = 32", "low = 0", ["labor_rate: 0 per h is outside 1 to 1000 per h"]),
        ("tubes = []", "tubes = 110", ["tubes: 110 is not a list; write for instance [110, 160]."]),
        ("tubes = []", 'tubes = ["110 mm", "5 m"]', ["tubes: 5000 mm is outside 20 to 3000 mm"]),
        ('currency = "USD"', 'currency = ""', ["currency: '' is not text; give currency code of every price."]),
        ('currency = "USD"', "currency = 3", ["currency: 3 is not text"]),
    ],
)
def test_a_fault_in_the_shop_file_is_named_with_key_value_and_mend(
    folder: Path, old: str, new: str, says: list[str]
) -> None:
    path = folder / "shop.toml"
    text = path.read_text(encoding="utf-8")
    assert text.count(old) == 1
    path.write_text(text.replace(old, new), encoding="utf-8")
    with pytest.raises(InputError) as refused:
        load_shop(folder)
    sentence = str(refused.value)
    assert sentence.startswith("shop.toml")
    for words in says:
        assert words in sentence


def test_a_missing_shop_file_is_named(folder: Path) -> None:
    (folder / "shop.toml").unlink()
    with pytest.raises(InputError, match=r"shop\.toml.*no such file; check the name"):
        load_shop(folder)


def test_shop_figures_arrive_in_si_units(folder: Path) -> None:
    shop = load_shop(folder)
    rate = shop.quantity("labor_rate")
    assert (rate.value * 3600, rate.unit) == (pytest.approx(40), "money/s")
    assert shop.quantity("pressure_pot_bore").value == pytest.approx(0.36)
    assert shop.quantity("mixing_rate").value == pytest.approx(66.0)
    assert shop.quantity("markup").value == pytest.approx(0.35)
    assert shop.numbers("tubes") == ()


def test_a_jobs_own_figure_lies_over_the_shops_and_leaves_the_rest(folder: Path) -> None:
    shop = load_shop(folder)
    own = with_overrides(shop, {"tubes": ["160 mm", 110], "labor_rate": 36}, "[shop]")
    assert own.numbers("tubes") == (pytest.approx(0.11), pytest.approx(0.16))
    assert own.quantity("labor_rate").value * 3600 == pytest.approx(36)
    assert own.quantity("hours_a_day") == shop.quantity("hours_a_day")
    assert shop.numbers("tubes") == ()


# ---------------------------------------------------------------------------------------------- finding and copying


def test_the_folder_given_goes_before_the_environment_and_that_before_the_nearest(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    env = tmp_path / "env"
    shutil.copytree(folder, env)
    deep = folder.parent / "a" / "b"
    deep.mkdir(parents=True)
    monkeypatch.chdir(deep)
    monkeypatch.setenv("MOLDKIT_DATA", str(env))
    assert find_data_folder(folder) == folder
    assert find_data_folder(None) == env
    monkeypatch.delenv("MOLDKIT_DATA")
    assert find_data_folder(None) == folder
    nearer = deep / "data"
    nearer.mkdir()
    assert find_data_folder(None) == folder  # a folder without the marker is none
    shutil.copy(folder / "techniques.csv", nearer)
    assert find_data_folder(None) == nearer


def test_away_from_any_folder_the_one_beside_the_package_is_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("MOLDKIT_DATA", raising=False)
    assert find_data_folder() == DATA


def test_with_no_folder_anywhere_the_sentence_says_how_to_name_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("MOLDKIT_DATA", raising=False)
    monkeypatch.setattr(data_folder, "__file__", str(tmp_path / "site" / "moldkit" / "data_folder.py"))
    with pytest.raises(InputError, match="no data folder found; name one with --data or MOLDKIT_DATA"):
        find_data_folder()


def test_the_copy_in_a_wheel_is_found_last(folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    elsewhere, package = tmp_path / "elsewhere", tmp_path / "site" / "moldkit"
    elsewhere.mkdir()
    shutil.copytree(folder, package / "_data")
    shutil.rmtree(folder)
    monkeypatch.chdir(elsewhere)
    monkeypatch.delenv("MOLDKIT_DATA", raising=False)
    monkeypatch.setattr(data_folder, "__file__", str(package / "data_folder.py"))
    assert find_data_folder() == package / "_data"


@pytest.mark.parametrize("named_by", ["argument", "environment"])
@pytest.mark.parametrize(("made", "says"), [(False, "is not a folder that exists"), (True, "holds no techniques.csv")])
def test_a_named_folder_that_is_none_is_refused_and_not_passed_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, named_by: str, made: bool, says: str
) -> None:
    wrong = tmp_path / "wrong"
    if made:
        wrong.mkdir()
    monkeypatch.setenv("MOLDKIT_DATA", str(wrong if named_by == "environment" else DATA))
    with pytest.raises(InputError) as refused:
        find_data_folder(wrong if named_by == "argument" else None)
    assert says in str(refused.value)
    assert repr(str(wrong)) in str(refused.value)
    assert ("MOLDKIT_DATA" in str(refused.value)) == (named_by == "environment")


def test_a_copied_folder_is_whole_and_loads(tmp_path: Path) -> None:
    target = tmp_path / "my shop" / "data"
    count = copy_data_folder(DATA, target)
    names = sorted(p.relative_to(target) for p in target.rglob("*") if p.is_file())
    assert len(names) == count
    assert Path("techniques.csv") in names and Path("jobs/finial.toml") in names
    assert (target / "rubbers.csv").read_bytes() == (DATA / "rubbers.csv").read_bytes()
    assert load_knowledge(target).folder == target
    assert [p.name for p in target.parent.iterdir()] == ["data"]


def test_an_empty_target_is_filled(tmp_path: Path) -> None:
    assert copy_data_folder(DATA, tmp_path) > 20
    assert (tmp_path / "techniques.csv").is_file()


@pytest.mark.parametrize("kind", ["folder with a file", "file"])
def test_a_target_that_holds_something_is_refused_and_left_alone(tmp_path: Path, kind: str) -> None:
    target = tmp_path / "data"
    kept = target if kind == "file" else target / "own.csv"
    kept.parent.mkdir(exist_ok=True)
    kept.write_text("mine", encoding="utf-8")
    with pytest.raises(InputError, match="exists already and is not empty; name a new folder"):
        copy_data_folder(DATA, target)
    assert kept.read_text(encoding="utf-8") == "mine"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["data"]


def test_a_copy_that_breaks_off_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(source: Path, half: Path, **more: object) -> None:
        half.mkdir()
        (half / "techniques.csv").write_text("key", encoding="utf-8")
        raise OSError(28, os.strerror(28))

    monkeypatch.setattr(shutil, "copytree", full)
    target = tmp_path / "data"
    with pytest.raises(InputError, match=r"cannot be written \(No space left on device\)"):
        copy_data_folder(DATA, target)
    assert list(tmp_path.iterdir()) == []


def test_a_target_below_a_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(InputError, match="cannot be written"):
        copy_data_folder(DATA, tmp_path / "file" / "data")
