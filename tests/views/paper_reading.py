"""Reading back what the writers wrote, with libraries that had no part in it."""

from __future__ import annotations

import io
import re
from html.parser import HTMLParser
from typing import Any

import openpyxl
import pypdf

SPACES = re.compile(r"[\s\u200b\u202f\u00a0]+")


def squeezed(text: str) -> str:
    """Return text without any spaces, so that it is the same however its lines were broken."""
    return SPACES.sub("", text)


def pdf_pages(content: bytes) -> list[str]:
    """Return the words on each page of a PDF."""
    return [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(content)).pages]


def pdf_size(content: bytes) -> tuple[float, float]:
    """Return width and height of the first page in points."""
    box = pypdf.PdfReader(io.BytesIO(content)).pages[0].mediabox
    return float(box.width), float(box.height)


class _Words(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.words: list[str] = []
        self.tags: list[str] = []
        self.asked: list[str] = []
        self._silent = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self._silent = tag in ("style", "script")
        self.asked += [value for name, value in attrs if name in ("src", "href", "srcset", "data") and value]

    def handle_endtag(self, tag: str) -> None:
        self._silent = False

    def handle_data(self, data: str) -> None:
        if not self._silent:
            self.words.append(data)


def html_reading(page: str) -> _Words:
    """Return the words, the tags and the addresses of a page."""
    reader = _Words()
    reader.feed(page)
    return reader


def workbook_cells(content: bytes) -> list[Any]:
    """Return every cell of a workbook that holds something, tab by tab."""
    book = openpyxl.load_workbook(io.BytesIO(content))
    return [cell for sheet in book.worksheets for row in sheet.iter_rows() for cell in row if cell.value is not None]
