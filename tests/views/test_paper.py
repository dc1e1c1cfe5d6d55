"""Documents on paper: one document, three writers, the same figures; names stay words, whatever stands in them."""

from __future__ import annotations

import datetime
import io
import struct
import zipfile
from collections import Counter
from dataclasses import replace

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldkit.errors import InputError
from moldkit.views.paper.document import (
    PAPERS,
    CautionBox,
    Check,
    CheckList,
    ClockTime,
    ClockTimes,
    Column,
    Document,
    FillIn,
    Heading,
    KeyFigure,
    KeyFigures,
    Number,
    Page,
    Paper,
    Picture,
    Sentence,
    Table,
    Tick,
    TickGrid,
    bound,
    figures,
)
from moldkit.views.paper.pdf import paper_data, pdf, pictures
from moldkit.views.paper.safe_text import breakable, safe_text, shortened
from moldkit.views.paper.web import web_page
from moldkit.views.paper.workbook import workbook
from tests.views.paper_reading import html_reading, pdf_pages, pdf_size, squeezed, workbook_cells

DAY = datetime.date(2026, 11, 25)
SVG = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 90 30"><rect width="80" height="20" x="5" y="5"/></svg>'


def document(*blocks: object, job: str = "Gatepost finial", title: str = "A sheet", name: str = "sheet") -> Document:
    return Document(title, "Tidewater Lane Castings", job, DAY, (Page(name, title, blocks),))  # type: ignore[arg-type]


def table(rows: int, title: str = "Boards") -> Table:
    figured = (Column("Length", "mm"), Column("Weight", "kg"))
    columns = (Column("Board"), *figured, Column("Done"), Column("Note", wide=True))
    cells = tuple((f"row-{n}.", Number(1000.5 * n, 1), Number(n / 7, 3), Tick(), FillIn()) for n in range(1, rows + 1))
    return Table(title, columns, cells)


EVERYTHING = document(
    KeyFigures((KeyFigure("Rubber", Number(19.0449, 2), "kg"), KeyFigure("Made as", "cavity pour"))),
    Heading("A heading"),
    Sentence("A plain sentence."),
    Sentence("One that must not be missed.", strong=True),
    table(4),
    TickGrid("Castings", tuple(str(n) for n in range(1, 26))),
    CheckList("Checks", (Check("pass", "Box", "It holds."), Check("stop", "Pot", "It does not fit.", "Take a block."))),
    ClockTimes("Clock", (ClockTime("mix", "", "09:00"), ClockTime("in the mold", "after 38 min"))),
    CautionBox("Isocyanate", ("Wear gloves.",)),
    Picture(SVG, "the box from above", 0.5),
)


# ----------------------------------------------------------------------------------------- the same figures everywhere


def test_the_figures_of_a_document_are_the_same_in_pdf_html_and_workbook() -> None:
    wanted = [number for number, _ in figures(EVERYTHING)]
    assert len(wanted) == 9
    in_pdf = squeezed(" ".join(pdf_pages(pdf(EVERYTHING))))
    in_html = squeezed(" ".join(html_reading(web_page(EVERYTHING)).words))
    for number in wanted:
        assert squeezed(number.text) in in_pdf
        assert squeezed(number.text) in in_html
    in_book = [cell.value for cell in workbook_cells(workbook(EVERYTHING)) if cell.data_type == "n"]
    assert Counter(in_book) == Counter(number.shown for number in wanted)


def test_a_workbook_holds_numbers_as_numbers_under_heads_with_their_units() -> None:
    cells = workbook_cells(workbook(document(table(2))))
    heads = {cell.value: cell.column for cell in cells if cell.data_type == "s"}
    lengths = [cell for cell in cells if cell.column == heads["Length [mm]"] and cell.data_type == "n"]
    assert [cell.value for cell in lengths] == [1000.5, 2001.0]
    assert {cell.number_format for cell in lengths} == {"#,##0.0"}


@pytest.mark.parametrize(
    ("number", "text"),
    [
        (Number(1234567.0), "1\u202f234\u202f567"),
        (Number(0.125, 2), "0.12"),  # Python rounds an exact half to the even digit
        (Number(-0.001, 2), "0.00"),
        (Number(-12.5, 1), "\u221212.5"),
    ],
)
def test_a_number_is_printed_with_thin_spaces_and_no_negative_nought(number: Number, text: str) -> None:
    assert number.text == text


@pytest.mark.parametrize("value", [float("nan"), float("inf"), float("-inf")])
def test_what_is_no_number_is_refused_in_a_sentence(value: float) -> None:
    with pytest.raises(InputError, match="no number"):
        Number(value)


def test_a_row_with_a_missing_cell_is_refused() -> None:
    with pytest.raises(ValueError, match="needs 2 cells"):
        Table("t", (Column("a"), Column("b")), (("only one",),))


# ------------------------------------------------------------------------------------------------ paper, pages, sizes


# ISO 216: A4 is 210 x 297 mm; ANSI/ASME Y14.1: size A (Letter) is 8.5 x 11 in; a point is 1/72 in.
@pytest.mark.parametrize(("paper", "width", "height"), [("A4", 210 / 25.4 * 72, 297 / 25.4 * 72), ("Letter", 612, 792)])
def test_paper_has_its_standard_size(paper: Paper, width: float, height: float) -> None:
    assert pdf_size(pdf(EVERYTHING, paper)) == pytest.approx((width, height), abs=0.1)
    assert f"size:{'A4' if paper == 'A4' else 'letter'}" in web_page(EVERYTHING, paper)


def test_a_workbook_is_set_up_for_the_paper_and_one_page_wide() -> None:
    # Codes of paper sizes: 1 Letter, 9 A4 (ECMA-376 part 1, 18.3.1.63 pageSetup, from memory).
    codes = {paper: openpyxl.load_workbook(io.BytesIO(workbook(EVERYTHING, paper))).active for paper in PAPERS}
    assert {paper: int(sheet.page_setup.paperSize) for paper, sheet in codes.items()} == {"A4": 9, "Letter": 1}
    assert {sheet.page_setup.fitToWidth for sheet in codes.values()} <= {None, 1}


@pytest.mark.parametrize("paper", PAPERS)
def test_everything_stands_on_one_page_where_it_can(paper: Paper) -> None:
    assert len(pdf_pages(pdf(EVERYTHING, paper))) == 1
    assert len(pdf_pages(pdf(document(table(18)), paper))) == 1


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("rows", [24, 28, 30, 31, 32, 33, 34, 35, 36, 37, 38, 39, 40, 60, 61, 62, 63, 64, 65, 120])
def test_a_long_table_repeats_its_head_and_leaves_no_row_alone(rows: int, paper: Paper) -> None:
    pages = pdf_pages(pdf(document(table(rows)), paper))
    on_each = [page.count("row-") for page in pages]
    assert sum(on_each) == rows
    assert min(on_each) >= 2
    assert all("Length [mm]" in page for page in pages)
    assert all(f"page {n} of {len(pages)}" in page for n, page in enumerate(pages, 1))


def test_every_page_names_shop_job_day_and_page_at_its_foot() -> None:
    for page in pdf_pages(pdf(document(table(120)))):
        foot = squeezed(page.split("page ")[0][-200:] + page[-200:])
        assert "TidewaterLaneCastings" in foot
        assert "Gatepostfinial" in foot
        assert "2026-11-25" in foot


def test_a_bound_set_has_the_pages_of_its_parts() -> None:
    parts = [document(table(3), title=f"Sheet {n}", name=f"sheet {n}") for n in range(3)]
    assert [page.title for page in bound(parts).pages] == ["Sheet 0", "Sheet 1", "Sheet 2"]
    assert len(pdf_pages(pdf(bound(parts)))) == 3
    assert len(openpyxl.load_workbook(io.BytesIO(workbook(bound(parts)))).sheetnames) == 3


def test_pages_can_be_looked_at_as_pictures() -> None:
    (picture,) = pictures(EVERYTHING, dots_per_inch=72)
    # PNG (W3C recommendation, 11.2.2): width and height stand in bytes 16 to 24.
    assert picture[:8] == b"\x89PNG\r\n\x1a\n"
    assert struct.unpack(">II", picture[16:24]) == pytest.approx((595, 842), abs=1)


# -------------------------------------------------------------------------------------------------- the same bytes


@pytest.mark.parametrize("write", [pdf, workbook, lambda made: web_page(made).encode()])
def test_the_same_document_gives_the_same_bytes_and_another_day_others(write: object) -> None:
    assert callable(write)
    once, again = write(EVERYTHING), write(replace(EVERYTHING, job="Gatepost" + " finial"))
    assert once == again
    assert write(replace(EVERYTHING, date=DAY + datetime.timedelta(days=1))) != once


def test_properties_name_the_shop_and_the_day_and_no_machine() -> None:
    with zipfile.ZipFile(io.BytesIO(workbook(EVERYTHING))) as book:
        core, app = (book.read(name).decode() for name in ("docProps/core.xml", "docProps/app.xml"))
        assert {info.date_time for info in book.infolist()} == {(1980, 1, 1, 0, 0, 0)}
    assert "Tidewater Lane Castings" in core
    assert "2026-11-25T12:00:00Z" in core
    assert "Manager" not in app.replace("<Manager></Manager>", "")
    assert "<Company></Company>" in app or "Company" not in app


# ------------------------------------------------------------------------------------------------ words stay words

MARKUP = '#eval("1+1") $x^2$ @ref <label> *b* _c_ `d` // /* = - + \\ [x] #panic("no") #import "x.typ"'
TAGS = "<img src=x onerror=alert(1)> & \"q\" 'a' </style><script>alert(2)</script> &amp; <!--"
FORMULA = '=HYPERLINK("http://x.example","go")'
NAMES = [
    MARKUP,
    TAGS,
    FORMULA,
    "@SUM(1)",
    "+1-1",
    "-2",
    "http://x.example/",
    "00123",
    "&A&P&[File]",
    "שלום עולם",
    "مرحبا بالعالم",
    "Knopf 😀 für Zoë, Ø 40",
    "x" * 300,
    "a long name of many words " * 12,
]


def with_name(name: str) -> Document:
    """Return a document in which a name stands in every place that words may come to."""
    cells = ((name, Number(1.5, 1)), ("other", Number(2.5, 1)), (name, Number(3.5, 1)))
    return document(
        KeyFigures((KeyFigure(name, name, name), KeyFigure("figure", Number(1), "kg"))),
        Heading(name),
        Sentence(name),
        Table(name, (Column(name, "mm", wide=True), Column("n", "kg")), cells),
        TickGrid(name, (name[:8] or "x",), 5),
        CheckList(name, (Check("caution", name, name, name),)),
        ClockTimes(name, (ClockTime(name, name),)),
        CautionBox(name, (name,)),
        Picture(SVG, name, 0.3),
        job=name,
        title=name,
        name=name,
    )


@pytest.mark.parametrize("name", NAMES)
def test_a_name_is_printed_as_it_stands(name: str) -> None:
    made = with_name(name)
    words = squeezed(" ".join(pdf_pages(pdf(made))))
    # Right-to-left words come out of a PDF in the order of the eye, and an emoji may have no letter.
    if name.isascii():
        assert squeezed(name) in words
    assert squeezed(safe_text(name)) in squeezed(" ".join(html_reading(web_page(made)).words))
    strings = [cell.value for cell in workbook_cells(workbook(made)) if cell.data_type == "s"]
    assert safe_text(name) in strings


@pytest.mark.parametrize("name", NAMES)
def test_no_name_becomes_a_formula_a_link_or_a_number_in_a_workbook(name: str) -> None:
    content = workbook(with_name(name))
    assert {cell.data_type for cell in workbook_cells(content)} <= {"s", "n"}
    assert not any(cell.hyperlink for cell in workbook_cells(content))
    plain = [cell.value for cell in workbook_cells(workbook(with_name("word"))) if cell.data_type == "n"]
    assert [cell.value for cell in workbook_cells(content) if cell.data_type == "n"] == plain
    with zipfile.ZipFile(io.BytesIO(content)) as book:
        sheets = [book.read(each).decode() for each in book.namelist() if "worksheets/sheet" in each]
        assert not any("<f>" in sheet or "<hyperlink" in sheet for sheet in sheets)


def test_an_ampersand_in_a_foot_of_a_workbook_is_no_code() -> None:
    sheet = openpyxl.load_workbook(io.BytesIO(workbook(document(job="A&D&F")))).active
    assert sheet.oddFooter.left.text == "Tidewater Lane Castings · A&&D&&F · 2026-11-25"


@pytest.mark.parametrize("name", NAMES)
def test_no_name_adds_a_tag_or_an_address_to_a_page(name: str) -> None:
    reader, plain = html_reading(web_page(with_name(name))), html_reading(web_page(with_name("word")))
    assert reader.tags == plain.tags
    assert reader.asked == plain.asked
    assert all(address.startswith("data:image/svg+xml;base64,") for address in reader.asked)


def test_no_name_makes_a_page_wider_or_loses_its_end() -> None:
    made = document(Sentence("x" * 299 + "END"), job="y" * 299 + "E")
    (page,) = pdf_pages(pdf(made))
    assert "END" in squeezed(page)
    reader = io.BytesIO(pdf(made))
    assert pdf_size(reader.getvalue()) == pytest.approx((595.3, 841.9), abs=0.1)


def test_a_mark_that_turns_the_line_and_control_marks_are_left_out() -> None:
    assert safe_text("a\u202eb\u0000c\ud800d\uffffe\tf\ng") == "abcde f g"
    assert shortened("x" * 50, 10) == "x" * 9 + "…"
    assert breakable("short words stay") == "short words stay"
    assert "\u200b" in breakable("x" * 60)
    # A letter and its accent stay together wherever a line breaks.
    assert all(not part.startswith("\u0301") for part in breakable("e\u0301" * 60).split("\u200b"))


@settings(max_examples=25)
@given(st.text(max_size=120))
def test_any_words_at_all_can_be_printed(words: str) -> None:
    made = document(Sentence(words), Table("t", (Column("a", wide=True),), ((words,),)), job=words, title=words or "-")
    assert pdf(made).startswith(b"%PDF-")
    assert html_reading(web_page(made)).tags.count("article") == 1
    assert {cell.data_type for cell in workbook_cells(workbook(made))} <= {"s"}


def test_data_reach_the_template_as_values_only() -> None:
    given_ = paper_data(with_name(MARKUP), "A4")
    assert given_["pages"][0]["blocks"][1]["kind"] == "heading"
    assert squeezed(given_["pages"][0]["blocks"][1]["text"]) == squeezed(MARKUP)


def test_a_drawing_that_cannot_be_read_is_refused_in_a_sentence() -> None:
    with pytest.raises(InputError, match="cannot be set on paper"):
        pdf(document(Picture("no svg", "a drawing")))
