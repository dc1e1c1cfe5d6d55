"""What stands on a sheet of paper, as plain values that know nothing of PDF, HTML or workbooks."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from moldkit.errors import InputError
from moldkit.units import MINUS, THIN_SPACE

Paper = Literal["A4", "Letter"]
PAPERS: tuple[Paper, ...] = ("A4", "Letter")
Mark = Literal["pass", "note", "caution", "stop"]
MARKS: tuple[Mark, ...] = ("pass", "note", "caution", "stop")


@dataclass(frozen=True, slots=True)
class Number:
    """A figure as it is printed: its value in the unit that stands in the head, and how many decimals it shows."""

    value: float
    decimals: int = 0

    def __post_init__(self) -> None:
        """Raise InputError for what is no finite number, which no sheet may show as a figure."""
        if not abs(self.value) < float("inf"):
            raise InputError(f"a figure of a sheet is {self.value}, which is no number; check the job's figures.")

    @property
    def shown(self) -> float:
        """The value rounded as printed."""
        return round(self.value, self.decimals) + 0.0

    @property
    def text(self) -> str:
        """The figure in print: thin spaces between thousands, a decimal point."""
        text = f"{abs(self.shown):,.{self.decimals}f}".replace(",", THIN_SPACE)
        return MINUS + text if self.shown < 0 else text


@dataclass(frozen=True, slots=True)
class Tick:
    """A box to tick."""


@dataclass(frozen=True, slots=True)
class FillIn:
    """A line to write on."""


Cell = str | Number | Tick | FillIn


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table: its heading, the unit of its figures, and whether it takes the room that is left."""

    heading: str
    unit: str = ""
    wide: bool = False

    @property
    def headed(self) -> str:
        """The heading with its unit."""
        return f"{self.heading} [{self.unit}]" if self.unit else self.heading


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading within a page."""

    text: str


@dataclass(frozen=True, slots=True)
class Sentence:
    """One or more sentences; strong: what must not be missed."""

    text: str
    strong: bool = False


@dataclass(frozen=True, slots=True)
class KeyFigure:
    """A figure to be read from afar: what it is, the figure or word, its unit."""

    label: str
    value: Number | str
    unit: str = ""


@dataclass(frozen=True, slots=True)
class KeyFigures:
    """The few figures that stand large at the head of a page."""

    figures: tuple[KeyFigure, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """A table: its title, columns and rows, each row with a cell for every column; total: the last row is a sum."""

    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    total: bool = False

    def __post_init__(self) -> None:
        """Raise ValueError where a row has more or fewer cells than there are columns."""
        if any(len(row) != len(self.columns) for row in self.rows):
            raise ValueError(f"table {self.title!r}: every row needs {len(self.columns)} cells")


@dataclass(frozen=True, slots=True)
class TickGrid:
    """Boxes to tick, each with the word or number printed in it, so many in a row."""

    title: str
    boxes: tuple[str, ...]
    in_a_row: int = 10


@dataclass(frozen=True, slots=True)
class Check:
    """One line of a check list: its mark, what was checked, and what to do."""

    mark: Mark
    name: str
    words: str
    remedy: str = ""


@dataclass(frozen=True, slots=True)
class CheckList:
    """Checks with their marks."""

    title: str
    checks: tuple[Check, ...]


@dataclass(frozen=True, slots=True)
class ClockTime:
    """A time of day: what happens then, how long after the start, and the time, None to be filled in."""

    label: str
    after: str
    at: str | None = None


@dataclass(frozen=True, slots=True)
class ClockTimes:
    """Times of day to keep to, or to fill in."""

    title: str
    times: tuple[ClockTime, ...]


@dataclass(frozen=True, slots=True)
class CautionBox:
    """A caution in its frame: a title, and what it says."""

    title: str
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing as SVG text, with what it shows in words; share: of the page's width."""

    svg: str
    words: str
    share: float = 1.0


Block = Heading | Sentence | KeyFigures | Table | TickGrid | CheckList | ClockTimes | CautionBox | Picture


@dataclass(frozen=True, slots=True)
class Page:
    """One sheet: its short name (also of a file and of a workbook's tab), its title, and what stands on it."""

    name: str
    title: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class Document:
    """A set of sheets for one job of one shop on one day; the running foot names all three.

    head: a drawing in SVG over the title of each page on paper, in place of the line of names below it.
    """

    title: str
    shop: str
    job: str
    date: datetime.date
    pages: tuple[Page, ...]
    head: str = ""


def bound(documents: Sequence[Document]) -> Document:
    """Return the documents as one, its pages in their order; raises ValueError for none."""
    if not documents:
        raise ValueError("nothing to bind")
    first = documents[0]
    pages = tuple(page for document in documents for page in document.pages)
    return Document("Bench sheets", first.shop, first.job, first.date, pages)


def figures(document: Document) -> Iterator[tuple[Number, str]]:
    """Yield every figure of a document with its unit, in reading order."""
    for page in document.pages:
        for block in page.blocks:
            if isinstance(block, KeyFigures):
                for key in block.figures:
                    if isinstance(key.value, Number):
                        yield key.value, key.unit
            elif isinstance(block, Table):
                for row in block.rows:
                    for column, cell in zip(block.columns, row, strict=True):
                        if isinstance(cell, Number):
                            yield cell, column.unit
