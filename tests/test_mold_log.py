"""The mold log: what it says is read whole or named, what is written changes nothing else, any text survives."""

from __future__ import annotations

import csv
import datetime
import io
import os
import re
import shutil
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from moldkit.errors import InputError
from moldkit.materials import load_materials
from moldkit.mold_log import (
    MoldRecord,
    add_record,
    change_record,
    chosen,
    log_reading,
    log_words,
    read_log,
    records_for,
)
from moldkit.mold_log.csv_text import cell_read, cell_written, csv_text
from moldkit.tables import column_dictionary, load_table

DATA = Path(__file__).resolve().parents[1] / "data"
TABLES = ("techniques.csv", "rubbers.csv", "casting_materials.csv", "casting_methods.csv", "life_factors.csv")
COLUMNS = "mold,rubber,casting,method,undercut,wall,release,castings,state,date,note"
ROW = "24-001,latex,plaster,open pour,none,full,yes,88,worn out,2024-05-01,torn"
MOLD = {"mold": "26-001", "rubber": "latex", "casting": "gypsum plaster"}
STATES = "in use, worn out, retired early, spoiled"
WORDS = log_words(DATA)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Return a folder with the tables that the log is checked against, and no log."""
    for table in TABLES:
        shutil.copy(DATA / table, tmp_path)
    return tmp_path


def put(folder: Path, *lines: str, end: str = "\n") -> Path:
    """Write a log of these lines."""
    path = folder / "mold_log.csv"
    path.write_bytes((end.join(lines) + end).encode())
    return path


def spoilt(**cells: str) -> str:
    """Return the usual row with other cells."""
    row = dict(zip(COLUMNS.split(","), ROW.split(","), strict=True)) | cells
    text = io.StringIO(newline="")
    csv.writer(text).writerow(row.values())
    return text.getvalue().removesuffix("\r\n")


def refusal(folder: Path) -> str:
    with pytest.raises(InputError) as refused:
        read_log(folder, WORDS)
    sentence = str(refused.value)
    assert "\n" not in sentence
    return sentence


# ------------------------------------------------------------------------------------------------- what is read


def test_a_missing_file_is_an_empty_log(folder: Path) -> None:
    assert read_log(folder) == ()


def test_a_row_is_read_with_its_families_and_its_use(folder: Path) -> None:
    put(
        folder,
        COLUMNS,
        '24-031,"platinum silicone, slow",rigid urethane,pressure,severe,thin,no,34,in use,2026-11-20,spare on shelf B',
    )
    (record,) = read_log(folder)
    assert record == MoldRecord(
        mold="24-031",
        rubber="platinum silicone, slow",
        casting="rigid urethane",
        method="pressure",
        undercut="severe",
        wall="thin",
        release=False,
        castings=34,
        state="in use",
        date=datetime.date(2026, 11, 20),
        note="spare on shelf B",
        rubber_family="platinum silicone",
        casting_family="rigid urethane",
    )
    assert record.where == "mold_log.csv, row 2"
    assert record.uses == {"method": "pressure", "undercut": "severe", "wall": "thin", "release": "no"}


def test_every_use_that_a_log_can_name_has_a_factor() -> None:
    factors = {(row.text("kind"), row.text("value")) for row in load_table(DATA, "life_factors")}
    columns = column_dictionary("mold_log")
    named = {("method", method) for method in WORDS.methods}
    named |= {(kind, value) for kind in ("undercut", "wall") for value in columns[kind].choices}
    assert named | {("release", "yes"), ("release", "no")} == factors


@pytest.mark.parametrize(
    ("state", "failed"), [("worn out", True), ("in use", False), ("retired early", False), ("spoiled", False)]
)
def test_only_what_is_worn_out_tells_a_whole_life(folder: Path, state: str, failed: bool) -> None:
    put(folder, COLUMNS, spoilt(state=state))
    assert read_log(folder)[0].worn_out is failed


def test_any_order_of_columns_comments_empty_rows_and_a_column_of_the_shops_own_are_fine(folder: Path) -> None:
    put(
        folder,
        "# our molds, kept by the bench",
        "",
        "note,state,client,date,castings,release,wall,undercut,method,casting,rubber,mold",
        '# since the move, a comma and "a quotation mark',
        "torn,worn out,the museum,2024-05-01,88,yes,full,none,open pour,plaster,latex,24-001",
        ",,,,,,,,,,,",
        '"# from a spreadsheet, which quotes it",,,,,,,,,,,',
        ",in use,,2024-05-02,3,yes,full,none,open pour,plaster,latex,24-002",
    )
    first, second = read_log(folder)
    assert (first.mold, first.note, first.castings, first.where) == ("24-001", "torn", 88, "mold_log.csv, row 5")
    assert (second.mold, second.where) == ("24-002", "mold_log.csv, row 8")


@pytest.mark.parametrize("delimiter", [";", "\t"])
def test_what_a_spreadsheet_saves_where_the_comma_is_a_decimal_sign_is_read(folder: Path, delimiter: str) -> None:
    # Common practice, no source: there a spreadsheet separates cells by semicolons or tabs, begins the file with a
    # byte order mark and ends its lines as Windows does. The log has no decimals, so nothing can be misread.
    rows = [COLUMNS.split(","), [*ROW.split(",")[:-1], "torn, at the nose; by pulling"]]
    text = io.StringIO(newline="")
    csv.writer(text, delimiter=delimiter, quoting=csv.QUOTE_ALL, lineterminator="\r\n").writerows(rows)
    path = folder / "mold_log.csv"
    path.write_bytes(b"\xef\xbb\xbf" + text.getvalue().encode())
    (record,) = read_log(folder)
    assert (record.castings, record.note) == (88, "torn, at the nose; by pulling")
    add_record(folder, {**MOLD, "note": "a;b,c\td"})
    raw = path.read_bytes()
    assert raw.startswith(b"\xef\xbb\xbf" + text.getvalue().encode()) and raw.endswith(b"\r\n")
    by_itself = list(csv.reader(io.StringIO(raw.decode("utf-8-sig"), newline=""), delimiter=delimiter, strict=True))
    assert by_itself[2][0] == "26-001" and by_itself[2][-1] == "a;b,c\td"


@pytest.mark.parametrize(
    ("column", "cell", "says"),
    [
        ("state", "wornout", f"'wornout' is not one of {STATES}; did you mean 'worn out'?"),
        ("undercut", "quite", "'quite' is not one of none, moderate, severe; write one of them."),
        ("wall", "thick", "'thick' is not one of full, thin; did you mean 'thin'?"),
        ("release", "Yes", "'Yes' is not one of yes, no; did you mean 'yes'?"),
        ("method", "open poor", "unknown casting method 'open poor'; did you mean 'open pour'? Known: foam fill, "),
        ("rubber", "latexx", "unknown rubber name or family 'latexx'; did you mean 'latex'? Known: "),
        ("casting", "plastre", "unknown casting name or family 'plastre'; did you mean 'plaster'? Known: "),
        ("castings", "about 40", "'about 40' is not a whole number of pours; write digits only, for instance 40."),
        ("castings", "12,0", "'12,0' is not a whole number of pours; write digits only, for instance 40."),
        ("castings", "1.000", "'1.000' is not a whole number of pours; write digits only, for instance 40."),
        ("castings", "-3", "'-3' is not a whole number of pours; write digits only, for instance 40."),
        ("castings", "٤٠", "'٤٠' is not a whole number of pours; write digits only, for instance 40."),
        ("castings", "1000000", "1000000 is more than 100000; check the figure."),
        ("castings", "9" * 5000, "99999999999999999999 is more than 100000; check the figure."),
        ("castings", "0", "a mold that is worn out has given 1 at least; count its pours, or call it spoiled if"),
        ("castings", "", "is empty; give pours the mold has given so far"),
        ("mold", "", "is empty; give the mold's short name"),
        ("mold", "m" * 41, "has 41 characters; 40 are the most, shorten it."),
        ("mold", "24\n001", "holds a character that cannot be shown (U+000A); remove it."),
        ("date", "3.11.24", "'3.11.24' is not written year-month-day, for instance 2026-11-25; in a spreadsheet,"),
        ("date", "20241103", "'20241103' is not written year-month-day"),
        ("date", "2024-02-30", "'2024-02-30' is no day of the calendar; check month and day."),
        ("date", "2924-02-03", "2924-02-03 is outside 1950 to 2199; check the year."),
        ("note", "x" * 2001, "has 2001 characters; 2000 are the most, shorten it."),
        ("note", "red \x1b[31m", "holds a character that cannot be shown (U+001B); remove it."),
    ],
)
def test_a_fault_in_a_row_is_named_with_file_row_column_and_mend(
    folder: Path, column: str, cell: str, says: str
) -> None:
    put(folder, COLUMNS, ROW, spoilt(mold="24-002") if column != "mold" else "", spoilt(**{"mold": "x", column: cell}))
    sentence = refusal(folder)
    assert sentence.startswith(f"mold_log.csv, row 4, column {column!r}: {says}")


NO_HEADER = ": has no row of column names; put it back, or remove the file to begin a new log."
QUOTE = "close it, or write one inside a quoted cell twice."


@pytest.mark.parametrize(
    ("lines", "says"),
    [
        ([COLUMNS, ROW, ROW], ", row 3, column 'mold': '24-001' stands already in row 2; rename or remove one of the"),
        ([COLUMNS, spoilt(mold="Nose  a"), spoilt(mold="nose A ")], ", row 3, column 'mold': 'nose A' stands already"),
        ([COLUMNS, ROW + ",more"], ", row 2: has 12 cells where the header has 11; look for a missing or extra comma"),
        ([COLUMNS, "24-001"], ", row 2: has 1 cell where the header has 11; look for a missing or extra comma"),
        (
            [COLUMNS.replace(",", ";"), ROW],
            ", row 2: has 1 cell where the header has 11; look for a missing or extra se",
        ),
    ],
)
def test_a_row_of_the_wrong_shape_is_named_and_keeps_nobody_from_adding(
    folder: Path, lines: list[str], says: str
) -> None:
    path = put(folder, *lines)
    assert refusal(folder).startswith(f"mold_log.csv{says}")
    before = path.read_bytes()
    add_record(folder, MOLD)
    assert path.read_bytes().startswith(before)
    assert "26-001" in {record.mold for record in log_reading(folder).records}
    assert refusal(folder).startswith(f"mold_log.csv{says}")


@pytest.mark.parametrize(
    ("lines", "says"),
    [
        ([COLUMNS, ROW[:-4] + '"to" rn'], f", row 2: has text after a closing quotation mark; {QUOTE}"),
        ([COLUMNS, ROW[:-4] + '"torn', ROW], f", row 2: opens a quotation mark that is not closed; {QUOTE}"),
        (
            [COLUMNS.replace("castings", "castngs"), ROW],
            ", row 1: column 'castings' is missing; rename 'castngs' to it.",
        ),
        ([COLUMNS.replace(",note", "")], ", row 1: column 'note' is missing; add it."),
        ([COLUMNS + ",note"], ", row 1: column 'note' stands twice; remove one."),
        (["", "# nothing but this"], NO_HEADER),
        ([""], NO_HEADER),
    ],
)
def test_where_it_is_not_sure_what_belongs_to_which_row_nothing_is_written(
    folder: Path, lines: list[str], says: str
) -> None:
    path = put(folder, *lines)
    before = path.read_bytes()
    assert refusal(folder) == f"mold_log.csv{says}"
    for write in (lambda: add_record(folder, MOLD), lambda: change_record(folder, "24-001", {"castings": 1})):
        with pytest.raises(InputError) as refused:
            write()
        assert str(refused.value) == f"mold_log.csv{says}"
    assert path.read_bytes() == before


@pytest.mark.parametrize("raw", ["caf\xe9".encode("latin-1"), COLUMNS.encode("utf-16")])
def test_text_that_is_not_utf_8_is_named_and_kept(folder: Path, raw: bytes) -> None:
    path = folder / "mold_log.csv"
    path.write_bytes(raw)
    assert "not UTF-8 text (byte " in refusal(folder)
    with pytest.raises(InputError, match="save it again as UTF-8 CSV"):
        add_record(folder, MOLD)
    assert path.read_bytes() == raw


def test_good_rows_are_read_beside_bad_ones_and_every_bad_one_is_named(folder: Path) -> None:
    put(folder, COLUMNS, spoilt(state="gone"), ROW, spoilt(mold="24-002", castings="many"), spoilt(mold="24-003"), ROW)
    reading = log_reading(folder)
    assert [record.mold for record in reading.records] == ["24-001", "24-003"]
    assert [fault.split(":")[0] for fault in reading.faults] == [
        "mold_log.csv, row 2, column 'state'",
        "mold_log.csv, row 4, column 'castings'",
        "mold_log.csv, row 6, column 'mold'",
    ]
    assert refusal(folder).endswith(" (2 more rows have faults.)")


# ------------------------------------------------------------------------------------------------ what is written


def test_a_new_log_begins_with_its_columns_and_the_usual_use(folder: Path) -> None:
    record = add_record(folder, MOLD)
    today = datetime.date.today().isoformat()
    assert (folder / "mold_log.csv").read_bytes().decode() == (
        f"{COLUMNS}\n26-001,latex,gypsum plaster,open pour,none,full,yes,0,in use,{today},\n"
    )
    assert read_log(folder) == (record,) and record.where == "mold_log.csv, row 2"


def test_values_are_taken_as_text_or_as_what_they_are(folder: Path) -> None:
    day = datetime.date(2026, 1, 2)
    by_value = add_record(folder, {**MOLD, "mold": "a", "release": False, "castings": 4, "date": day, "note": None})
    by_text = add_record(folder, {**MOLD, "mold": "b", "release": "no", "castings": "4", "date": "2026-01-02"})
    assert by_value.release is by_text.release is False
    assert (by_value.castings, by_value.date, by_value.note) == (by_text.castings, by_text.date, by_text.note)


ODD = (
    "# our molds\r\n\r\n"
    "client,state,mold,note,rubber,casting,method,undercut,wall,release,castings,date\r\n"
    'the museum, worn out ,24-001,"torn, at the ""nose""",latex,"plaster",open pour,none,full,yes,088,2024-05-01\r\n'
    ",,,,,,,,,,,\r\n"
    "x,gone,24-002,,latex,plaster,open pour,none,full,yes,9,2024-05-01\r\n"
    "y,in use,24-003,=1+1,latex,plaster,open pour,none,full,yes,7,2024-05-01"
)


def test_adding_leaves_every_other_byte_as_it_was(folder: Path) -> None:
    path = folder / "mold_log.csv"
    path.write_bytes(ODD.encode())
    record = add_record(folder, {**MOLD, "castings": 2, "date": "2026-11-25", "note": "new"})
    assert path.read_bytes().decode() == (
        ODD + "\r\n,in use,26-001,new,latex,gypsum plaster,open pour,none,full,yes,2,2026-11-25\r\n"
    )
    assert record.where == "mold_log.csv, row 8"


def test_changing_leaves_every_other_byte_as_it_was(folder: Path) -> None:
    path = folder / "mold_log.csv"
    path.write_bytes(ODD.encode())
    record = change_record(folder, "24-001", {"castings": 90})
    assert path.read_bytes().decode() == ODD.replace(",088,", ",90,")
    assert (record.castings, record.state, record.note) == (90, "worn out", 'torn, at the "nose"')


def test_a_row_with_a_fault_can_be_mended_and_keeps_nobody_from_adding(folder: Path) -> None:
    path = folder / "mold_log.csv"
    path.write_bytes(ODD.encode())
    add_record(folder, MOLD)
    assert len(log_reading(folder).faults) == 1
    with pytest.raises(InputError, match=r"^mold '24-002', column 'state': 'gone' is not one of"):
        change_record(folder, "24-002", {"castings": 10})
    assert change_record(folder, "24-002", {"state": "spoiled"}).castings == 9
    assert len(read_log(folder)) == 4


def test_pours_are_added_to_what_the_file_says_now(folder: Path) -> None:
    put(folder, COLUMNS, spoilt(state="in use"))
    assert change_record(folder, "24-001", {}, more=5).castings == 93
    assert change_record(folder, "24-001", {"state": "worn out"}, more=1).castings == 94
    with pytest.raises(InputError, match="give either their number or how many more, not both"):
        change_record(folder, "24-001", {"castings": 5}, more=1)
    with pytest.raises(InputError, match=r"^mold '24-001', column 'castings': '-6' is not a whole number of pours"):
        change_record(folder, "24-001", {}, more=-100)


def test_a_mold_that_is_in_the_log_is_refused_and_the_way_to_change_it_is_said(folder: Path) -> None:
    path = put(folder, COLUMNS, spoilt(mold="Nose a", state="gone"))
    before = path.read_bytes()
    with pytest.raises(InputError) as refused:
        add_record(folder, {**MOLD, "mold": "nose  A"})
    assert str(refused.value) == (
        "mold 'Nose a': stands in the log already (mold_log.csv, row 2); choose another name, or change that row "
        'with `moldkit log change "Nose a"`.'
    )
    assert path.read_bytes() == before


def test_a_mold_may_get_another_name_but_not_one_that_is_taken(folder: Path) -> None:
    put(folder, COLUMNS, ROW, spoilt(mold="24-002"))
    assert change_record(folder, "24-001", {"mold": "24-001 A"}).mold == "24-001 A"
    assert change_record(folder, "24-001 a", {"mold": "24-001 a"}).mold == "24-001 a"
    with pytest.raises(InputError, match=r"^mold '24-002': stands in the log already"):
        change_record(folder, "24-001 a", {"mold": "24-002"})


def test_a_change_that_cannot_be_made_is_named(folder: Path) -> None:
    path = put(folder, COLUMNS, ROW, spoilt(mold="24-012"), spoilt(mold="24-012"))
    before = path.read_bytes()
    for mold, given_, says in [
        ("24-01", {"castings": 1}, "^mold '24-01': is not in the log; did you mean '24-0"),
        ("heron", {"castings": 1}, "^mold 'heron': is not in the log; `moldkit log list` shows what is."),
        ("24-012", {"castings": 1}, "^mold_log.csv, rows 3 and 4: all say mold '24-012'"),
        ("24-001", {}, "^mold '24-001': nothing to change was given"),
        ("24-001", {"casting": "plastic"}, "^mold '24-001', column 'casting': unknown casting name or family 'pl"),
        ("24-001", {"pours": 3}, "^mold log: unknown column 'pours'"),
    ]:
        with pytest.raises(InputError, match=says):
            change_record(folder, mold, given_)
    assert path.read_bytes() == before


def test_a_new_mold_with_a_fault_is_refused_before_anything_is_written(folder: Path) -> None:
    for given_, says in [
        ({"state": "wornout"}, "^state: 'wornout' is not one of"),
        ({"rubber": ""}, "^rubber: is empty; give a rubber family"),
        ({"mold": "# 5"}, "^mold: '# 5' begins like a comment; leave the # out of the name."),
        ({"note": "\ud800"}, r"^note: holds a character that cannot be shown \(U\+D800\); remove it."),
        ({"castings": 4.5}, "^castings: '4.5' is not a whole number of pours"),
    ]:
        with pytest.raises(InputError, match=says):
            add_record(folder, {**MOLD, **given_})
    assert not (folder / "mold_log.csv").exists()


def test_the_tables_of_an_installed_package_are_not_written_into(folder: Path) -> None:
    inside = folder / "site-packages" / "moldkit" / "_data"
    inside.mkdir(parents=True)
    for table in TABLES:
        shutil.copy(DATA / table, inside)
    with pytest.raises(InputError, match=r"lies inside the installed package; .* `moldkit data copy DIR` first"):
        add_record(inside, MOLD)
    assert sorted(os.listdir(inside)) == sorted(TABLES)


@pytest.mark.skipif(sys.platform == "win32", reason="links need a privilege there")
def test_a_link_to_a_log_elsewhere_stays_a_link(folder: Path, tmp_path_factory: pytest.TempPathFactory) -> None:
    share = tmp_path_factory.mktemp("share") / "molds.csv"
    share.write_text(f"{COLUMNS}\n{ROW}\n", encoding="utf-8")
    (folder / "mold_log.csv").symlink_to(share)
    add_record(folder, MOLD)
    assert (folder / "mold_log.csv").is_symlink()
    assert share.read_text(encoding="utf-8").splitlines()[2].startswith("26-001,")
    assert os.listdir(share.parent) == ["molds.csv"]


# ------------------------------------------------------------------------------------------------- any text survives

DEFUSED = re.compile("'+[=+\\-@\t\r\n＝＋－＠]")
FORMULAS = ["=1+1", "+1", "-1", "@sum", "\t=1", "\r=1", "'=1", "''=1", "＝1", "\n=1", '=HYPERLINK("x")']


@pytest.mark.parametrize("note", FORMULAS)
def test_what_a_spreadsheet_would_take_for_a_formula_is_defused_and_shown_as_it_was(folder: Path, note: str) -> None:
    # The signs that begin a formula in a CSV file: https://owasp.org/www-community/attacks/CSV_Injection
    assert add_record(folder, {**MOLD, "note": note}).note == note
    raw = (folder / "mold_log.csv").read_bytes().decode()
    (_, row) = csv.reader(io.StringIO(raw, newline=""), strict=True)
    assert row[-1] == f"'{note}"
    assert read_log(folder)[0].note == note


def test_a_molds_name_that_begins_like_a_formula_is_found_again(folder: Path) -> None:
    add_record(folder, {**MOLD, "mold": "-7"})
    assert change_record(folder, "-7", {"castings": 3}).mold == "-7"
    assert "\n'-7," in (folder / "mold_log.csv").read_text(encoding="utf-8")


NOTES = [
    'says "good", and\nthen, on a second line; done',
    "\N{HAMMER}\N{VARIATION SELECTOR-16} \N{PILE OF POO} fine",
    "קרוע בצוואר, نهاية العمر",
    "x" * 300,
    "  spaces kept  ",
    "# not a comment here",
    "a\r\nb\rc",
    '"',
    "'",
]


@pytest.mark.parametrize("note", NOTES)
def test_quotes_line_ends_pictures_right_to_left_and_long_notes_survive(folder: Path, note: str) -> None:
    add_record(folder, {**MOLD, "note": note})
    add_record(folder, {**MOLD, "mold": "next"})
    assert [record.note for record in read_log(folder)] == [note, ""]
    change_record(folder, "26-001", {"castings": 3})
    assert read_log(folder)[0].note == note


TRICKY = st.text(st.sampled_from(list("\"',;\t\r\n =+-@#a\ufeff０é\N{PILE OF POO}")), max_size=30)
ANY_TEXT = st.one_of(TRICKY, st.text(max_size=60))


@given(text=ANY_TEXT)
def test_a_text_taken_apart_and_put_together_is_the_same(text: str) -> None:
    assert csv_text(text, COLUMNS.split(",")).text == text


@given(text=ANY_TEXT)
def test_a_cell_that_is_written_is_read_as_it_was_and_begins_no_formula(text: str) -> None:
    raw = cell_written(text)
    assert cell_read(raw) == text
    bare = raw.removeprefix('"')
    assert not bare.startswith(("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠"))


@given(rows=st.lists(st.lists(ANY_TEXT, min_size=3, max_size=3), min_size=1, max_size=4))
def test_rows_that_are_written_are_those_that_another_reader_of_csv_finds(rows: list[list[str]]) -> None:
    # Python's own csv module as the second opinion; it knows nothing of apostrophes before formulas.
    text = csv_text("one,two,three\n", ["one", "two", "three"])
    for row in rows:
        text = text.with_row(row)
    found = list(csv.reader(io.StringIO(text.text, newline=""), strict=True))[1:]
    assert [[cell[1:] if DEFUSED.match(cell) else cell for cell in row] for row in found] == rows
    assert [list(line.cells) for line in text.lines[1:]] == rows


@given(rows=st.lists(st.lists(TRICKY, min_size=2, max_size=4), min_size=1, max_size=4))
def test_cells_are_found_where_another_reader_of_csv_finds_them(rows: list[list[str]]) -> None:
    # Cells without an apostrophe first, which only the log gives a meaning, and no comments.
    cells = [[cell.lstrip("'# ").replace("\ufeff", "") for cell in row] for row in rows]
    written = io.StringIO(newline="")
    csv.writer(written, lineterminator="\r\n").writerows(cells)
    assert [list(line.cells) for line in csv_text(written.getvalue(), ["a", "b"]).lines] == cells


NAMES = st.text(st.characters(exclude_categories=["Cc", "Cs"]), min_size=1, max_size=40)
RECORDS = st.fixed_dictionaries(
    {
        "mold": NAMES.map(str.strip).filter(lambda name: name != "" and not name.startswith("#")),
        "rubber": st.sampled_from(sorted(WORDS.rubbers)),
        "casting": st.sampled_from(sorted(WORDS.castings)),
        "method": st.sampled_from(WORDS.methods),
        "undercut": st.sampled_from(["none", "moderate", "severe"]),
        "wall": st.sampled_from(["full", "thin"]),
        "release": st.booleans(),
        "castings": st.integers(1, 100_000),
        "state": st.sampled_from(["in use", "worn out", "retired early", "spoiled"]),
        "date": st.dates(datetime.date(1950, 1, 1), datetime.date(2199, 12, 31)),
        "note": st.text(st.characters(exclude_categories=["Cs", "Cc"], include_characters="\n\r\t"), max_size=300),
    }
)


@given(row=RECORDS, other=RECORDS, end=st.sampled_from(["\n", "\r\n", "\r"]), delimiter=st.sampled_from(",;\t"))
def test_any_mold_survives_the_file_and_a_change(
    row: dict[str, object], other: dict[str, object], end: str, delimiter: str, tmp_path_factory: pytest.TempPathFactory
) -> None:
    folder = tmp_path_factory.mktemp("log")
    path = folder / "mold_log.csv"
    path.write_bytes((COLUMNS.replace(",", delimiter) + end).encode())
    written = add_record(folder, row, WORDS)
    assert {name: getattr(written, name) for name in row} == row
    assert read_log(folder, WORDS) == (written,)
    before = path.read_bytes()
    changed = change_record(folder, str(row["mold"]), {**other, "mold": row["mold"]}, WORDS)
    assert {name: getattr(changed, name) for name in other} == {**other, "mold": row["mold"]}
    change_record(folder, str(row["mold"]), row, WORDS)
    assert path.read_bytes() == before


# -------------------------------------------------------------------------------------------- which molds speak


def test_a_pairs_molds_are_its_own_and_those_of_its_families(folder: Path) -> None:
    def mold(name: str, rubber: str, casting: str, castings: str = "5") -> str:
        return spoilt(mold=name, rubber=rubber, casting=casting, castings=castings, state="in use")

    put(
        folder,
        COLUMNS,
        mold("own", "platinum silicone, slow", "rigid urethane resin"),
        mold("other grade", "platinum silicone, fast", "rigid urethane resin"),
        mold("other material", "platinum silicone, slow", "metal-filled urethane resin"),
        mold("families", "platinum silicone", "rigid urethane"),
        mold("other rubber", "tin-cured silicone", "rigid urethane"),
        mold("other casting", "platinum silicone, slow", "epoxy resin"),
        mold("never poured", "platinum silicone, slow", "rigid urethane resin", "0"),
    )
    materials = load_materials(DATA)
    pair = records_for(
        read_log(folder), materials.rubbers["platinum silicone, slow"], materials.castings["rigid urethane resin"]
    )
    assert [record.mold for record in pair.own] == ["own"]
    assert [record.mold for record in pair.family] == ["other grade", "other material", "families"]
    assert pair.together == pair.own + pair.family


def test_molds_are_chosen_by_grade_or_family_and_by_state(folder: Path) -> None:
    put(
        folder,
        COLUMNS,
        spoilt(mold="a", rubber="urethane rubber, soft", casting="concrete"),
        spoilt(mold="b", rubber="urethane rubber", state="in use"),
        spoilt(mold="c"),
    )
    records = read_log(folder)

    def names(**asked: str) -> str:
        return "".join(record.mold for record in chosen(records, WORDS, **asked))

    assert (names(), names(rubber="urethane rubber"), names(rubber="urethane rubber, soft")) == ("abc", "ab", "a")
    assert (names(casting="plaster"), names(state="in use"), names(casting="plaster", state="worn out")) == (
        "bc", "b", "c",
    )  # fmt: skip
    for asked, says in [
        ({"rubber": "latx"}, "^rubber: unknown rubber name or family 'latx'; did you mean 'latex'?"),
        ({"casting": "plastr"}, "^casting: unknown casting name or family 'plastr'; did you mean 'plaster'?"),
        ({"state": "worn"}, "^state: 'worn' is not one of .*; did you mean 'worn out'?"),
    ]:
        with pytest.raises(InputError, match=says):
            names(**asked)
