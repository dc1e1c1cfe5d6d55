"""`moldkit export` writes the bench sheets: whole or not at all, the same bytes for the same day, in either units."""

from __future__ import annotations

import io
from pathlib import Path

import openpyxl
import pytest

from moldkit import cli
from moldkit.views.sheets import whole_set
from tests.views.paper_reading import pdf_pages, pdf_size, squeezed

DATA = Path(__file__).resolve().parents[2] / "data"
JOB = str(DATA / "jobs" / "figure.toml")
SHEETS = ("safety", "build", "mixing", "pouring", "loads", "run-card", "schedule", "shopping")
FILES = {*(f"{name}.pdf" for name in SHEETS), "all-sheets.pdf", "all-sheets.html", "all-sheets.xlsx"}


@pytest.fixture(autouse=True)
def no_browser(monkeypatch: pytest.MonkeyPatch) -> None:
    """Pictures need a browser, and are another test's."""
    monkeypatch.setenv("PATH", "")


def export(folder: Path, *words: str) -> int:
    return cli.main(["export", JOB, "--to", str(folder), "--data", str(DATA), *words])


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_an_export_holds_every_sheet_each_one_page_and_all_of_them_bound(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert export(tmp_path / "out", "--date", "2026-11-25", "--start", "09:00") == 0
    said = capsys.readouterr().out
    files = contents(tmp_path / "out" / "sheets")
    assert set(files) == FILES
    assert all(str(tmp_path / "out" / "sheets" / name) in said for name in FILES)
    for name in SHEETS:
        (page,) = pdf_pages(files[f"{name}.pdf"])
        assert "2026-11-25" in page
    assert len(pdf_pages(files["all-sheets.pdf"])) == len(SHEETS)
    book = openpyxl.load_workbook(io.BytesIO(files["all-sheets.xlsx"]))
    assert [name.replace(" ", "-") for name in book.sheetnames] == list(SHEETS)
    assert squeezed("Used up by") in squeezed(" ".join(pdf_pages(files["mixing.pdf"])))
    assert "09:00" in " ".join(pdf_pages(files["mixing.pdf"]))


def test_the_same_day_gives_the_same_bytes(tmp_path: Path) -> None:
    for name in ("one", "two"):
        assert export(tmp_path / name, "--date", "2026-11-25") == 0
    one, two = (contents(tmp_path / name / "sheets") for name in ("one", "two"))
    assert one == two
    pages = [(tmp_path / name / page).read_bytes() for name in ("one", "two") for page in ("shop.html", "client.html")]
    assert pages[:2] == pages[2:]
    assert all(b"2026-11-25" in page or b"25 Nov 2026" in page for page in pages)


def test_no_file_names_a_path_of_this_machine(tmp_path: Path) -> None:
    assert export(tmp_path / "out", "--date", "2026-11-25") == 0
    place = str(DATA.parent).encode()
    assert all(place not in content for content in contents(tmp_path / "out" / "sheets").values())


def test_units_paper_and_technique_are_as_asked(tmp_path: Path) -> None:
    assert export(tmp_path / "us", "--units", "us", "--technique", "poured block") == 0
    build = (tmp_path / "us" / "sheets" / "build.pdf").read_bytes()
    assert pdf_size(build) == pytest.approx((612, 792), abs=0.1)  # Letter goes with US units
    assert "[in]" in pdf_pages(build)[0]
    assert squeezed("Build the mold: poured block") in squeezed(pdf_pages(build)[0])
    assert export(tmp_path / "a4", "--units", "us", "--paper", "A4") == 0
    assert pdf_size((tmp_path / "a4" / "sheets" / "build.pdf").read_bytes()) == pytest.approx((595.3, 841.9), abs=0.1)


def test_a_second_export_takes_the_place_of_the_first_and_leaves_what_others_put_there(tmp_path: Path) -> None:
    assert export(tmp_path / "out", "--date", "2026-11-24") == 0
    notes = tmp_path / "out" / "sheets" / "my notes.txt"
    notes.write_text("mine")
    (tmp_path / "out" / "photo.jpg").write_bytes(b"photo")
    assert export(tmp_path / "out", "--date", "2026-11-25") == 0
    files = contents(tmp_path / "out" / "sheets")
    assert set(files) == FILES | {"my notes.txt"}
    assert "2026-11-25" in pdf_pages(files["build.pdf"])[0]
    assert (tmp_path / "out" / "photo.jpg").read_bytes() == b"photo"
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == [
        "client.html", "photo.jpg", "sheets", "shop.html",
    ]  # fmt: skip


BAD = [
    (("--date", "tomorrow"), "--date: 'tomorrow' is not a day"),
    (("--start", "9 o'clock"), "is not a time of day"),
    (("--technique", "poured blocks"), "did you mean 'poured block'"),
    (("--paper", "A5"), "invalid choice: 'A5'"),
    (("--units", "old"), "invalid choice: 'old'"),
]


@pytest.mark.parametrize(("words", "sentence"), BAD)
def test_bad_words_are_told_in_one_sentence_and_nothing_is_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, str], sentence: str
) -> None:
    assert export(tmp_path / "out", *words) == cli.BAD_INPUT
    said = capsys.readouterr().err
    assert sentence in said
    assert len(said.strip().splitlines()) == 1
    assert not (tmp_path / "out").exists()


def test_a_sheet_that_cannot_be_made_leaves_the_last_export_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from moldkit.errors import InputError

    assert export(tmp_path / "out", "--date", "2026-11-24") == 0
    before = contents(tmp_path / "out" / "sheets")

    def fails(*_: object) -> bytes:
        raise InputError("all-sheets.xlsx: cannot be made (planted).")

    monkeypatch.setattr(whole_set, "workbook", fails)
    assert export(tmp_path / "out", "--date", "2026-11-25") == cli.BAD_INPUT
    assert "planted" in capsys.readouterr().err
    assert contents(tmp_path / "out" / "sheets") == before


def test_with_nothing_that_works_there_are_no_sheets_and_a_sentence_says_so(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job = tmp_path / "job.toml"
    text = Path(JOB).read_text(encoding="utf-8").replace('method = "open pour"', 'method = "lay-up"')
    job.write_text(text, encoding="utf-8")
    assert cli.main(["export", str(job), "--to", str(tmp_path / "out"), "--data", str(DATA)]) == 0
    assert "no bench sheets: nothing works as asked" in capsys.readouterr().out
    assert not (tmp_path / "out" / "sheets").exists()
