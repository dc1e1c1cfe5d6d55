"""What is handed to a client: the same figures in every file, none of the shop's, whole or not at all."""

from __future__ import annotations

import datetime
import io
import re
import subprocess
import zipfile
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path

import openpyxl
import pytest

from moldkit import cli
from moldkit.economics.quote import Terms
from moldkit.errors import InputError
from moldkit.study.case import Case, read_job
from moldkit.study.client_offer import OfferLine
from moldkit.study.compare import Comparison, compare
from moldkit.study.knowledge import Knowledge, load_knowledge
from moldkit.study.quote import quote
from moldkit.study.quote_words import short_day
from moldkit.study.sooner import delivery_choices
from moldkit.views import client_pack as packing
from moldkit.views.client_pack import NAMES, ClientPack, client_pack, export_for_client
from moldkit.views.export import shop_page
from moldkit.views.offer_chart import told_ways
from moldkit.views.offer_look import look
from moldkit.views.offer_page.words import money
from moldkit.views.offer_sheet import offer_paper
from moldkit.views.paper import folder as writing
from moldkit.views.paper.document import Paper
from moldkit.views.paper.pdf import pdf
from tests.views.client_leaks import (
    LIBRARY,
    MARKED_QUOTE,
    MARKED_RUBBER_PRICE,
    MARKED_SHOP,
    found_in,
    marked,
    secrets,
    words_in,
)
from tests.views.pack_reading import told
from tests.views.paper_reading import html_reading, pdf_pages, pdf_size, squeezed, workbook_cells

compares = Callable[[Case], Comparison]
BUST = Case(form="bust", size=(0.144, 0.11, 0.2), run=40, name="Bust")
DAY, START = datetime.date(2026, 11, 25), datetime.date(2026, 12, 1)
MANY_RULES = Terms(
    markup=0.35, tooling="once", tax=Decimal("0.0825"), tax_label="sales tax", minimum_charge=Decimal(700),
    price_breaks=(5, 10, 25, 50, 100, 250, 500, 1000), rounding=Decimal("0.05"), mold_owner="client",
)  # fmt: skip
CHART_FILES = {f"-chart{ending}" for ending in packing.ENDINGS}
DATA = Path(__file__).resolve().parents[2] / "data"
JOB = str(DATA / "jobs" / "figure.toml")
JOBS = ("figure", "finial", "knob", "medal", "panel")
HOSTILE = (
    "=HYPERLINK(\"http://x.test\")", "</script><script>alert(2)</script>", "<img src=x onerror=alert(1)>", "{{style}}",
    "\"quoted\" & 'single'", "#set page() #sys $x$ *b* _i_ @ref `c` \\", "تمثال ראש", "\u202eturned", "👩\u200d🎨🏺",
    "]]> <!-- --> \u2028 \x00", "x" * 300, "+1", "@SUM(A1)", "-2",
)  # fmt: skip


@pytest.fixture(scope="module")
def pack(compared: compares) -> ClientPack:
    return client_pack(compared(BUST), date=DAY, start=START)


@pytest.fixture(scope="module")
def ruled(compared: compares) -> ClientPack:
    return client_pack(compared(BUST), terms=MANY_RULES, date=DAY, start=START)


def test_a_pack_holds_the_offer_three_ways_and_both_charts_for_screen_and_print(pack: ClientPack) -> None:
    assert set(pack.files) == set(NAMES)
    assert set(NAMES) == {"offer.pdf", "offer.html", "offer.xlsx"} | {
        f"{chart}{ending}" for chart in ("price", "delivery") for ending in CHART_FILES
    }
    assert len(pdf_pages(pack.files["offer.pdf"])) == 2


def test_without_a_first_day_there_are_no_dates_and_a_sentence_says_so(compared: compares) -> None:
    found = client_pack(compared(BUST), date=DAY)
    assert not any(name.startswith("delivery") for name in found.files)
    assert found.ways == ()
    assert found.said[1].startswith("no dates: the job names no first day")
    assert len(pdf_pages(found.files["offer.pdf"])) == 1


# The same figures everywhere.


def charged(line: OfferLine) -> tuple[int, ...]:
    return line.run, line.each, line.subtotal, line.total


@pytest.mark.parametrize("which", ["pack", "ruled"])
def test_page_paper_workbook_chart_and_command_line_agree_to_the_cent(
    which: str, request: pytest.FixtureRequest, compared: compares
) -> None:
    found: ClientPack = request.getfixturevalue(which)
    terms = MANY_RULES if which == "ruled" else None
    lines = [line.charge for line in quote(compared(BUST), terms=terms, date=DAY, start=START).lines]
    paper = squeezed(pdf_pages(found.files["offer.pdf"])[0])
    page = squeezed(" ".join(html_reading(found.files["offer.html"].decode()).words))
    chart = squeezed(told("x.svg", found.files["price-chart.svg"]))
    book = openpyxl.load_workbook(io.BytesIO(found.files["offer.xlsx"]))
    rows = [[cell for cell in row if cell is not None] for row in book["Prices"].iter_rows(values_only=True)]
    cents = [[round(100 * v) for v in row if isinstance(v, int | float)] for row in rows]
    for line in lines:
        mold = [line.tooling] if found.offer.asked.tooling else []
        taxed = [line.tax, line.total] if found.offer.tax else []
        sums = [line.each, *mold, line.subtotal, *taxed]
        assert [100 * line.run, *sums] in cents
        assert squeezed(f"{line.run}{''.join(map(money, sums))}") in paper
        assert squeezed(f"{line.run}{money(line.each)}{money(line.total)}") in page
        assert squeezed(f"{line.run}: {money(line.each)}") in chart or line.as_for != line.run or line.run == 40
    asked = found.offer.asked
    assert f"{money(asked.each)} USD each" in found.said[0]
    assert f"together {money(asked.total)} USD" in found.said[0]
    assert squeezed(f"40 castings: {money(asked.each)} each") in chart


def test_a_run_charged_as_a_longer_one_has_one_price_each_in_every_file(compared: compares) -> None:
    """What a casting truly comes to, in decimal arithmetic: the castings together by their number, half up."""
    case = replace(BUST, run=9)
    terms = replace(MANY_RULES, tooling="spread")
    asked = quote(compared(case), terms=terms, date=DAY, start=START).asked.charge
    assert asked.as_for == 10
    each = (Decimal(asked.castings) / 900).quantize(Decimal("0.01"), ROUND_HALF_UP)
    found = client_pack(compared(case), terms=terms, date=DAY, start=START)
    paper = squeezed(pdf_pages(found.files["offer.pdf"])[0])
    page = squeezed(" ".join(html_reading(found.files["offer.html"].decode()).words))
    chart = squeezed(told("x.svg", found.files["price-chart.svg"]))
    book = openpyxl.load_workbook(io.BytesIO(found.files["offer.xlsx"]))
    rows = [[cell for cell in row if cell is not None] for row in book["Prices"].iter_rows(values_only=True)]
    assert [float(each)] == [row[1] for row in rows if row[:1] == [9]]
    assert [float(each)] == [row[1] for row in book["Over the run"].iter_rows(values_only=True) if row[0] == 9]
    assert squeezed(f"9{each}{money(asked.subtotal)}") in paper and squeezed("charged as 10") in paper
    assert squeezed(f"9 {each} {money(asked.total)}") in page
    assert squeezed(f"9 castings: {each} each") in chart
    assert squeezed(f"{each} USD each for 9 castings, charged as 10") in chart
    assert f"9 castings at {each} USD each" in found.said[0] and ", charged as 10" in found.said[0]


def test_every_price_drawn_stands_in_the_workbook(pack: ClientPack) -> None:
    book = openpyxl.load_workbook(io.BytesIO(pack.files["offer.xlsx"]))
    rows = [row[:2] for row in book["Over the run"].iter_rows(values_only=True) if isinstance(row[0], int)]
    assert [(run, round(100 * each)) for run, each in rows] == list(zip(pack.offer.runs, pack.offer.each, strict=True))


def test_ways_to_deliver_are_the_same_on_paper_in_the_workbook_and_in_the_chart(pack: ClientPack) -> None:
    paper = squeezed(pdf_pages(pack.files["offer.pdf"])[1])
    chart = squeezed(told("x.svg", pack.files["delivery-chart.svg"]))
    cells = [cell.value for cell in workbook_cells(pack.files["offer.xlsx"])]
    for way in told_ways(pack.ways):
        assert way.delivery is not None
        assert way.total / 100 in cells
        assert squeezed(money(way.total)) in paper
        assert squeezed(f"{short_day(way.delivery)}: {money(way.total)}") in chart
        assert squeezed(short_day(way.delivery)) in paper


# Nothing of the shop's.


@pytest.fixture(scope="module")
def marked_pack(compared: compares) -> tuple[ClientPack, Comparison]:
    case = replace(BUST, shop=MARKED_SHOP, quote=MARKED_QUOTE, rubber_price=MARKED_RUBBER_PRICE)
    result = compared(case)
    return client_pack(result, date=DAY, start=START, note="Thank you for asking."), result


def test_no_figure_of_the_shops_is_found_in_any_file(marked_pack: tuple[ClientPack, Comparison]) -> None:
    found, result = marked_pack
    figures = secrets(quote(result, date=DAY, start=START))
    assert len(figures) > 40
    texts = {name: told(name, content) for name, content in found.files.items()}
    assert {name: leaks for name, text in texts.items() if (leaks := found_in(text, marked(), 4))} == {}
    assert {name: leaks for name, text in texts.items() if (leaks := found_in(text, figures))} == {}


def test_no_word_of_the_shops_side_is_found_in_any_file(marked_pack: tuple[ClientPack, Comparison]) -> None:
    found, result = marked_pack
    names = [outcome.name for outcome in result.outcomes]
    texts = {name: told(name, content) for name, content in found.files.items()}
    assert {name: words for name, text in texts.items() if (words := words_in(text, names))} == {}


def test_the_search_reads_what_is_in_the_files(marked_pack: tuple[ClientPack, Comparison]) -> None:
    """The search is no good if it reads nothing: each file's text holds the price, and the shop's page its cost."""
    found, result = marked_pack
    for name, content in found.files.items():
        if not name.endswith(".png"):
            asked, text = found.offer.asked, squeezed(told(name, content))
            price = asked.each if name.startswith("price") else asked.total
            assert (f"<v>{price / 100:g}</v>" if name.endswith("xlsx") else squeezed(money(price))) in text, name
    assert found_in(LIBRARY.sub("", shop_page(result, DAY)), secrets(quote(result, date=DAY)))


def test_no_tab_row_or_column_of_the_workbook_is_hidden_and_nothing_lies_beside_the_cells(pack: ClientPack) -> None:
    book = openpyxl.load_workbook(io.BytesIO(pack.files["offer.xlsx"]))
    assert [sheet.sheet_state for sheet in book.worksheets] == ["visible"] * 4
    for sheet in book.worksheets:
        assert not any(size.hidden for size in [*sheet.row_dimensions.values(), *sheet.column_dimensions.values()])
    parts = zipfile.ZipFile(io.BytesIO(pack.files["offer.xlsx"])).namelist()
    assert not [part for part in parts if re.search("comment|external|custom|vba|drawing|media", part)]


# Ways to come to the same price.
SAME_PRICE = [
    Terms(markup=0.5), Terms(margin=1 / 3), Terms(overhead=0.5, markup=0.0), Terms(overhead=0.2, margin=0.2),
]  # fmt: skip


def test_the_pack_is_the_same_to_the_byte_whatever_part_of_the_price_is_profit(compared: compares) -> None:
    """So nothing in any file, seen or hidden, depends on markup, margin or overhead but through the price."""
    packs = [client_pack(compared(BUST), terms=terms, date=DAY, start=START).files for terms in SAME_PRICE]
    assert all(other == packs[0] for other in packs[1:])


# Whole or not at all.


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_the_same_figures_on_the_same_day_give_the_same_bytes(compared: compares, pack: ClientPack) -> None:
    again = client_pack(compared(BUST), date=DAY, start=START)
    assert again.files == pack.files


def test_other_files_of_the_folder_stay_and_a_file_that_is_no_more_goes(
    compared: compares, pack: ClientPack, tmp_path: Path
) -> None:
    pack.write(tmp_path / "out")
    (tmp_path / "out" / "my notes.txt").write_text("mine")
    undated = client_pack(compared(BUST), date=DAY)
    undated.write(tmp_path / "out")
    assert contents(tmp_path / "out") == {**undated.files, "my notes.txt": b"mine"}
    assert sorted(path.name for path in tmp_path.iterdir()) == ["out"]


def test_a_pack_may_be_written_where_one_stands(
    pack: ClientPack, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "my notes.txt").write_text("mine")
    monkeypatch.chdir(tmp_path)
    pack.write(Path())
    assert contents(Path.cwd()) == {**pack.files, "my notes.txt": b"mine"}


@pytest.mark.parametrize("maker", ["pdf", "offer_page", "workbook", "drawing_as_png", "drawing_as_pdf"])
def test_a_file_that_cannot_be_made_leaves_the_last_pack_as_it_was(
    compared: compares, pack: ClientPack, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, maker: str
) -> None:
    pack.write(tmp_path / "out")

    def fails(*_: object, **__: object) -> bytes:
        raise InputError("planted.")

    monkeypatch.setattr(packing, maker, fails)
    with pytest.raises(InputError, match="planted"):
        export_for_client(compared(replace(BUST, run=77)), tmp_path / "out", date=DAY)
    assert contents(tmp_path / "out") == pack.files
    with pytest.raises(InputError, match="planted"):
        export_for_client(compared(BUST), tmp_path / "new", date=DAY)
    assert not (tmp_path / "new").exists()


def test_a_full_disk_leaves_no_half_pack(pack: ClientPack, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(writing, "_fill", full)
    with pytest.raises(InputError, match="nothing was changed"):
        pack.write(tmp_path / "out")
    assert list(tmp_path.iterdir()) == []


def test_with_nothing_that_works_there_is_one_sentence_and_no_pack(compared: compares, tmp_path: Path) -> None:
    nothing = compared(replace(BUST, method="lay-up"))
    assert nothing.cheapest is None
    with pytest.raises(InputError, match="there is no price to show a client"):
        export_for_client(nothing, tmp_path / "out", date=DAY)
    assert not (tmp_path / "out").exists()


def test_a_wanted_day_is_met_by_more_molds_or_said_to_be_out_of_reach(compared: compares) -> None:
    usual = quote(compared(BUST), date=DAY, start=START).asked.charge
    assert usual.delivery is not None
    ways = delivery_choices(compared(BUST), date=DAY, start=START)
    soonest, due = ways[0].delivery, ways[-2].delivery
    assert soonest is not None
    assert due is not None
    met = client_pack(compared(replace(BUST, due=due)), date=DAY, start=START)
    assert met.offer.asked == ways[-2]
    assert "so a way that is in time is offered" in met.said[-1]
    vain = client_pack(compared(replace(BUST, due=START)), date=DAY, start=START)
    assert vain.offer.asked.delivery == soonest > START
    assert "none is in time: the earliest is offered" in vain.said[-1]
    easy = client_pack(compared(replace(BUST, due=usual.delivery)), date=DAY, start=START)
    assert easy.offer.asked == usual
    assert not any("Wanted" in words for words in easy.said)
    undated = client_pack(compared(replace(BUST, due=due)), date=DAY)
    assert "Wanted by" in undated.said[-1]


def test_a_first_day_that_is_past_is_said_with_the_pack(compared: compares) -> None:
    past = client_pack(compared(replace(BUST, start=datetime.date(2026, 9, 1))), date=DAY)
    assert past.offer.start == DAY
    assert any("1 Sep 2026, lies before the quote" in words for words in past.said)


def test_no_other_program_is_started(compared: compares, monkeypatch: pytest.MonkeyPatch) -> None:
    """So that a pack is whole without a browser, and takes no longer with one."""

    def refused(*_: object, **__: object) -> None:
        raise AssertionError("a program was started")

    monkeypatch.setattr(subprocess.Popen, "__init__", refused)
    assert set(client_pack(compared(BUST), date=DAY, start=START).files) == set(NAMES)


def test_progress_goes_from_nought_to_one_and_names_each_file(compared: compares) -> None:
    said: list[tuple[float, str]] = []
    client_pack(compared(BUST), date=DAY, start=START, progress=lambda share, doing: said.append((share, doing)))
    shares = [share for share, _ in said]
    assert shares == sorted(shares)
    assert (shares[0], shares[-1]) == (0.0, 1.0)
    assert sorted(doing for _, doing in said[1:-1]) == sorted(NAMES)


# Hostile words.


@pytest.fixture(scope="module")
def usual_tags(compared: compares) -> Counter[str]:
    """The tags of a page whose words are harmless."""
    found = client_pack(compared(_named("Bust", "tax")), date=DAY, start=START, note="note")
    return Counter(html_reading(found.files["offer.html"].decode("utf-8")).tags)


def _named(name: str, tax_label: str) -> Case:
    return replace(BUST, name=name, quote={"tax": 5, "tax_label": tax_label, "finish": "a"})


@pytest.mark.parametrize("words", HOSTILE)
def test_hostile_names_stay_words_in_every_format(compared: compares, usual_tags: Counter[str], words: str) -> None:
    case = _named(f"Bust {words}", words.replace("\x00", ""))
    found = client_pack(compared(case), date=DAY, start=START, note=words)
    kept = squeezed(re.sub(r"[\x00\u202e\u2028]", "", words))
    reading = html_reading(found.files["offer.html"].decode("utf-8"))
    assert kept in squeezed(" ".join(reading.words))
    assert Counter(reading.tags) == usual_tags
    assert all(address.startswith("data:") for address in reading.asked)
    cells = workbook_cells(found.files["offer.xlsx"])
    assert all(cell.data_type != "f" and cell.hyperlink is None for cell in cells)
    assert any(kept in squeezed(str(cell.value)) for cell in cells)
    pages = pdf_pages(found.files["offer.pdf"])
    assert len(pages) <= 2
    if words.isascii() and words.isprintable():
        assert kept in squeezed(pages[0])
    for name in found.files:
        if name.endswith(".svg"):
            assert "\u202e" not in told(name, found.files[name])


@pytest.mark.parametrize("job", JOBS)
def test_an_offer_on_paper_is_one_or_two_pages(knowledge: Knowledge, job: str) -> None:
    result = compare(read_job(knowledge.folder / "jobs" / f"{job}.toml"), knowledge)
    note = "The price is for castings as they come from the mold, with seams cleaned. " * 6
    cases: list[tuple[Terms | None, datetime.date | None, Paper]] = [
        (None, None, "Letter"), (None, START, "A4"), (MANY_RULES, START, "Letter"),
    ]  # fmt: skip
    for terms, start, paper in cases:
        offer = quote(result, terms=terms, date=DAY, start=start).for_client()
        ways = delivery_choices(result, terms=terms, date=DAY, start=start)
        made = pdf(offer_paper(offer, ways, look("light"), note=note), paper)
        assert len(pdf_pages(made)) <= 2
        assert squeezed("Day and signature") in squeezed(pdf_pages(made)[-1])
        assert pdf_size(made)[1] == pytest.approx({"A4": 841.9, "Letter": 792.0}[paper], abs=0.1)


# The command.


def export(folder: Path, *words: str) -> int:
    return cli.main(["export", JOB, "--for", "client", "--to", str(folder), "--data", str(DATA), *words])


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--date", "9999-12-31"), "--date: 9999-12-31 is outside the years 2000 to 2200; check the year."),
        (("--first-day", "1999-12-31"), "--first-day: 1999-12-31 is outside the years 2000 to 2200"),
        (("--date", "2026-11-25", "--first-day", "2020-01-01"), "first day of the work: 2020-01-01 lies before"),
    ],
)
def test_a_day_that_cannot_be_is_one_sentence(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, ...], said: str
) -> None:
    assert export(tmp_path / "out", *words) == 2
    assert said in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_the_command_writes_the_pack_and_tells_the_price(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = ("--date", "2026-11-25", "--first-day", "2026-12-01")
    assert export(tmp_path / "one", *words) == 0
    said = capsys.readouterr()
    assert said.err == ""
    assert set(contents(tmp_path / "one")) == set(NAMES)
    assert all(f"written: {tmp_path / 'one' / name}" in said.out for name in NAMES)
    knowledge = load_knowledge(DATA)
    asked = quote(compare(read_job(Path(JOB)), knowledge), date=DAY, start=START).asked.charge
    assert f"100 castings at {money(asked.each)} USD each, together {money(asked.total)} USD" in said.out
    assert export(tmp_path / "two", *words) == 0
    assert contents(tmp_path / "one") == contents(tmp_path / "two")


def test_no_file_names_a_path_of_this_machine(tmp_path: Path) -> None:
    assert export(tmp_path / "out", "--date", "2026-11-25") == 0
    assert all(str(DATA.parent).encode() not in content for content in contents(tmp_path / "out").values())


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("--for", "clients"), "invalid choice: 'clients'"),
        (("--first-day", "soon"), "--first-day: 'soon' is not a day"),
        (("--technique", "poured block"), "--technique: is of the bench sheets"),
        (("--start", "09:00"), "--start: is of the bench sheets"),
        (("--run", "0"), "run"),
    ],
)
def test_bad_words_are_told_in_one_sentence_and_nothing_is_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, str], sentence: str
) -> None:
    assert export(tmp_path / "out", *words) == cli.BAD_INPUT
    said = capsys.readouterr().err
    assert sentence in said
    assert len(said.strip().splitlines()) == 1
    assert not (tmp_path / "out").exists()


def test_a_first_day_without_a_client_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = ["export", JOB, "--to", str(tmp_path / "out"), "--data", str(DATA), "--first-day", "2026-12-01"]
    assert cli.main(words) == cli.BAD_INPUT
    assert "goes with --for client" in capsys.readouterr().err
