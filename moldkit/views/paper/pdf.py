"""A document as PDF, or as pictures of its pages: typst sets a fixed template, the document comes to it as JSON."""

from __future__ import annotations

import datetime
import json
from functools import lru_cache
from pathlib import Path
from typing import Any

from moldkit.errors import InputError
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
from moldkit.views.paper.safe_text import breakable, shortened

HERE = Path(__file__).resolve().parent
PAPER_NAMES: dict[Paper, str] = {"A4": "a4", "Letter": "us-letter"}
# Letters of a job's and a shop's name that the running foot has room for.
MOST_IN_FOOT = 34


def pdf(document: Document, paper: Paper = "A4") -> bytes:
    """Return the document as PDF; the same document gives the same bytes.

    Raises InputError where it holds a drawing that cannot be read.
    """
    made = _set(document, paper, "pdf")
    assert isinstance(made, bytes), "a PDF is one file"
    return made


def pictures(document: Document, paper: Paper = "A4", *, dots_per_inch: float = 110.0) -> list[bytes]:
    """Return the pages of the document as PNG pictures; raises InputError as `pdf` does."""
    made = _set(document, paper, "png", dots_per_inch)
    return made if isinstance(made, list) else [made]


def _set(document: Document, paper: Paper, form: str, dots_per_inch: float = 110.0) -> Any:
    import typst

    given = {"document": json.dumps(paper_data(document, paper), ensure_ascii=False, allow_nan=False)}
    noon = datetime.datetime.combine(document.date, datetime.time(12), datetime.UTC)
    try:
        return compiler().compile(_template(), format=form, ppi=dots_per_inch, sys_inputs=given, timestamp=noon)
    except typst.TypstError as fault:
        raise InputError(f"{document.title}: cannot be set on paper ({fault.message}).") from None


@lru_cache(maxsize=1)
def compiler() -> Any:
    """Return the typesetter with the fonts of this package and its own, and none of the machine's."""
    import typst

    fonts = typst.Fonts(include_system_fonts=False, font_paths=[str(HERE / "fonts")])
    return typst.Compiler(root=str(HERE), font_paths=fonts)


@lru_cache(maxsize=1)
def _template() -> bytes:
    return (HERE / "sheet.typ").read_bytes()


def paper_data(document: Document, paper: Paper) -> dict[str, Any]:
    """Return the document as the plain values that the template reads."""
    day = document.date
    return {
        "title": breakable(document.title),
        "shop": shortened(document.shop, MOST_IN_FOOT),
        "job": shortened(document.job, MOST_IN_FOOT),
        "heading": breakable(f"{document.job} · {document.shop} · {day.isoformat()}"),
        "day": day.isoformat(),
        "date": {"year": day.year, "month": day.month, "day": day.day},
        "paper": PAPER_NAMES[paper],
        "head": document.head,
        "pages": [_page(page) for page in document.pages],
    }


def _page(page: Page) -> dict[str, Any]:
    blocks = [_block(block) for block in page.blocks]
    return {"name": shortened(page.name, MOST_IN_FOOT), "title": breakable(page.title), "blocks": blocks}


def _block(block: Block) -> dict[str, Any]:
    match block:
        case Heading(text):
            return {"kind": "heading", "text": breakable(text)}
        case Sentence(text, strong):
            return {"kind": "sentence", "text": breakable(text), "strong": strong}
        case KeyFigures(keys):
            shown = [(key, key.value.text if isinstance(key.value, Number) else key.value) for key in keys]
            listed = [{"label": breakable(k.label), "text": breakable(t), "unit": breakable(k.unit)} for k, t in shown]
            return {"kind": "key_figures", "figures": listed}
        case Table():
            return {"kind": "table", **_table(block)}
        case TickGrid(title, boxes, in_a_row):
            words = [breakable(box) for box in boxes]
            return {"kind": "tick_grid", "title": breakable(title), "boxes": words, "in_a_row": in_a_row}
        case CheckList(title, checks):
            parts = ("name", "words", "remedy")
            made = [{"mark": c.mark, **{part: breakable(getattr(c, part)) for part in parts}} for c in checks]
            return {"kind": "check_list", "title": breakable(title), "checks": made}
        case ClockTimes(title, times):
            rows = [{"label": breakable(t.label), "after": breakable(t.after), "at": t.at} for t in times]
            return {"kind": "clock_times", "title": breakable(title), "times": rows}
        case CautionBox(title, words):
            return {"kind": "caution_box", "title": breakable(title), "words": [breakable(line) for line in words]}
        case Picture(svg, words, share):
            return {"kind": "picture", "svg": svg, "words": breakable(words), "share": share}


def _table(table: Table) -> dict[str, Any]:
    numbers = [any(isinstance(row[place], Number) for row in table.rows) for place in range(len(table.columns))]
    columns = [
        {"heading": breakable(column.headed), "wide": column.wide, "number": number}
        for column, number in zip(table.columns, numbers, strict=True)
    ]
    rows = [[_cell(cell) for cell in row] for row in table.rows]
    return {"title": breakable(table.title), "columns": columns, "rows": rows, "total": table.total}


def _cell(cell: Cell) -> dict[str, str]:
    match cell:
        case Tick():
            return {"kind": "tick"}
        case FillIn():
            return {"kind": "fill"}
        case Number():
            return {"kind": "text", "text": cell.text}
        case _:
            return {"kind": "text", "text": breakable(cell)}
