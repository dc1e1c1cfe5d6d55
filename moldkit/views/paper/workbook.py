"""A document as a workbook: a tab for every sheet, figures as numbers under heads with their units, words as words."""

from __future__ import annotations

import datetime
import io
import re
from dataclasses import dataclass, field
from typing import Any

from moldkit.views.paper.document import (
    Block,
    CautionBox,
    Cell,
    CheckList,
    ClockTimes,
    Document,
    FillIn,
    Heading,
    KeyFigures,
    Number,
    Page,
    Paper,
    Picture,
    Sentence,
    Table,
    Tick,
    TickGrid,
)
from moldkit.views.paper.safe_text import safe_text, shortened

# A spreadsheet's codes for paper, and what it allows in a tab's name and in a cell.
PAPER_CODES: dict[Paper, int] = {"A4": 9, "Letter": 1}
NOT_IN_A_NAME = re.compile(r"[\[\]:*?/\\']")
LONGEST_NAME = 31
LONGEST_CELL = 32_000
LONGEST_IN_FOOT = 60
TICK = "☐"
# No words in a cell become a formula, a link or a number.
AS_WRITTEN = {"strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False, "in_memory": True}
# Widths of columns, in letters.
NARROWEST, WIDEST = 6, 60


def workbook(document: Document, paper: Paper = "A4") -> bytes:
    """Return the document as a workbook; the same document gives the same bytes."""
    import xlsxwriter

    held = io.BytesIO()
    book = xlsxwriter.Workbook(held, AS_WRITTEN)
    book.set_properties(
        {
            "title": safe_text(f"{document.job}: {document.title}")[:250],
            "author": safe_text(document.shop)[:250],
            "created": datetime.datetime.combine(document.date, datetime.time(12)),
        }
    )
    names: set[str] = set()
    for page in document.pages:
        tab = book.add_worksheet(_name(page.name, names))
        _Sheet(book, tab, _looks(book)).write(document, page, paper)
    book.close()
    return held.getvalue()


def _name(wanted: str, taken: set[str]) -> str:
    """Return a tab's name that a spreadsheet allows and that no other tab has, and take it."""
    clean = NOT_IN_A_NAME.sub(" ", safe_text(wanted)).strip() or "sheet"
    name, count = clean[:LONGEST_NAME], 1
    while name.lower() in taken:
        count += 1
        name = f"{clean[: LONGEST_NAME - 4]} {count}"
    taken.add(name.lower())
    return name


def _looks(book: Any) -> dict[str, Any]:
    return {
        "title": book.add_format({"bold": True, "font_size": 16}),
        "plain": book.add_format({"valign": "top"}),
        "wrapped": book.add_format({"valign": "top", "text_wrap": True}),
        "strong": book.add_format({"bold": True, "valign": "top"}),
        "head": book.add_format({"bold": True, "bottom": 2, "bg_color": "#E4E4E4", "text_wrap": True}),
        "line": book.add_format({"bottom": 1}),
    }


@dataclass
class _Sheet:
    """One tab as it is being written: the row that comes next, the widths that its columns need, number formats."""

    book: Any
    tab: Any
    looks: dict[str, Any]
    row: int = 0
    widths: dict[int, int] = field(default_factory=dict)
    numbers: dict[tuple[int, bool], Any] = field(default_factory=dict)

    def write(self, document: Document, page: Page, paper: Paper) -> None:
        self._words(0, page.title, "title", counts=False)
        self.row += 1
        day = document.date.isoformat()
        self._line(f"{document.job} · {document.shop} · {day}")
        for block in page.blocks:
            self.row += 1
            self._block(block)
        for column, width in self.widths.items():
            self.tab.set_column(column, column, min(max(width + 2, NARROWEST), WIDEST))
        self.tab.set_paper(PAPER_CODES[paper])
        self.tab.fit_to_pages(1, 0)
        self.tab.hide_gridlines(1)
        # An ampersand in a foot is the start of a code: two of them are one.
        foot = shortened(f"{document.shop} · {document.job} · {day}", LONGEST_IN_FOOT).replace("&", "&&")
        self.tab.set_footer(f"&L{foot}&R&P / &N")

    def _words(self, column: int, text: str, look: str, *, counts: bool = True) -> None:
        clean = safe_text(text)[:LONGEST_CELL]
        if counts:
            self.widths[column] = max(self.widths.get(column, 0), len(clean))
        self.tab.write_string(self.row, column, clean, self.looks[look])

    def _line(self, text: str, look: str = "plain") -> None:
        """Write a line that runs over the columns beside it."""
        self._words(0, text, look, counts=False)
        self.row += 1

    def _number(self, column: int, number: Number, bold: bool = False) -> None:
        self.widths[column] = max(self.widths.get(column, 0), len(number.text))
        self.tab.write_number(self.row, column, number.shown, self._format(number.decimals, bold))

    def _format(self, decimals: int, bold: bool) -> Any:
        key = decimals, bold
        if key not in self.numbers:
            form = f"#,##0{'.' + '0' * decimals if decimals else ''}"
            self.numbers[key] = self.book.add_format({"num_format": form, "bold": bold})
        return self.numbers[key]

    def _block(self, block: Block) -> None:
        match block:
            case Heading(text):
                self._line(text, "strong")
            case Sentence(text, strong):
                self._line(text, "strong" if strong else "plain")
            case KeyFigures(keys):
                for key in keys:
                    self._cells([key.label, key.value, key.unit])
            case Table():
                self._table(block)
            case TickGrid(title, boxes, in_a_row):
                self._title(title)
                for start in range(0, len(boxes), in_a_row):
                    self._cells([f"{TICK} {box}" for box in boxes[start : start + in_a_row]])
            case CheckList(title, checks):
                self._title(title)
                for check in checks:
                    self._cells([check.mark, check.name], wrapped=f"{check.words} {check.remedy}".strip())
            case ClockTimes(title, times):
                self._title(title)
                for time in times:
                    self._cells([time.label, time.after, time.at or ""])
            case CautionBox(title, words):
                for line in (title, *words):
                    self._line(line, "strong" if line is title else "plain")
            case Picture(_, words, _):
                self._line(words)

    def _title(self, title: str) -> None:
        if title:
            self._line(title, "strong")

    def _table(self, table: Table) -> None:
        self._title(table.title)
        for place, column in enumerate(table.columns):
            self._words(place, column.headed, "head")
        self.row += 1
        for place, row in enumerate(table.rows):
            self._cells(list(row), bold=table.total and place == len(table.rows) - 1)

    def _cells(self, cells: list[Cell], *, bold: bool = False, wrapped: str = "") -> None:
        for column, cell in enumerate(cells):
            if isinstance(cell, Number):
                self._number(column, cell, bold)
            elif isinstance(cell, Tick):
                self._words(column, TICK, "plain")
            elif isinstance(cell, FillIn):
                self._words(column, "", "line")
            else:
                self._words(column, cell, "strong" if bold else "plain")
        if wrapped:
            self._words(len(cells), wrapped, "plain", counts=False)
        self.row += 1
