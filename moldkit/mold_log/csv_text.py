"""A CSV file's text taken apart so that, put together again, whatever was not changed is the same byte for byte."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

# A spreadsheet separates cells by commas, or by semicolons or tabs where the comma is its decimal sign.
DELIMITERS = (",", ";", "\t")
BYTE_ORDER_MARK = "\ufeff"
COMMENT = "#"

_QUOTED = re.compile(r'"(?:[^"]+|"")*+"')
_COMMENT_LINE = re.compile(rf" *{COMMENT}[^\r\n]*")
_END = re.compile(r"\r\n|\r|\n")
# What a spreadsheet would take for a formula when it opens the file, some of it as East Asian keyboards write it.
_FORMULA = r"[=+\-@\t\r\n＝＋－＠]"
_LIVE = re.compile(rf"'*{_FORMULA}")
_DEFUSED = re.compile(rf"'+{_FORMULA}")
_NEEDS_QUOTES = re.compile(rf'["\r\n{"".join(DELIMITERS)}]|^\s|\s$|^{COMMENT}')


def cell_written(text: str) -> str:
    """Return a text as it stands in a cell: an apostrophe before what would be a formula, quotation marks where needed.

    What begins with apostrophes and then a formula gets one more, so that `cell_read` gives back every text.
    """
    safe = f"'{text}" if _LIVE.match(text) else text
    return '"' + safe.replace('"', '""') + '"' if _NEEDS_QUOTES.search(safe) else safe


def cell_read(raw: str) -> str:
    """Return the text of a cell as it stands in a file, without quotation marks and without a defusing apostrophe."""
    text = raw[1:-1].replace('""', '"') if len(raw) > 1 and raw[0] == raw[-1] == '"' else raw
    return text[1:] if _DEFUSED.match(text) else text


@dataclass(frozen=True)
class Line:
    """One row as it stands in the file, whose cells may hold line ends.

    number: its row as a spreadsheet counts, from 1; raw: its cells as they stand; end: its line end, empty where the
    file stops; fault: what is wrong with its quotation marks, empty where nothing is.
    """

    number: int
    raw: tuple[str, ...]
    end: str
    fault: str = ""

    @cached_property
    def cells(self) -> tuple[str, ...]:
        """The texts of its cells."""
        return tuple(map(cell_read, self.raw))

    @property
    def passed_over(self) -> bool:
        """Whether it says nothing: empty cells only, or a comment."""
        return not any(cell.strip() for cell in self.cells) or self.cells[0].lstrip().startswith(COMMENT)


@dataclass(frozen=True)
class CsvText:
    """A CSV file's text: its byte order mark or none, what separates its cells, every row in order."""

    mark: str
    delimiter: str
    lines: tuple[Line, ...]

    @property
    def text(self) -> str:
        """The whole text, as it goes into the file."""
        return self.mark + "".join(self.delimiter.join(line.raw) + line.end for line in self.lines)

    @cached_property
    def header(self) -> Line | None:
        """The first row that says something; None where there is none."""
        return next((line for line in self.lines if not line.passed_over), None)

    @property
    def rows(self) -> tuple[Line, ...]:
        """The rows below the header that say something."""
        return tuple(line for line in self.lines if not line.passed_over)[1:]

    def with_row(self, cells: Sequence[str]) -> CsvText:
        """Return the text with one more row at its end, its line end that of the header."""
        end = (self.header.end if self.header else "") or "\n"
        lines = [*self.lines]
        if lines and not lines[-1].end:
            lines[-1] = replace(lines[-1], end=end)
        return replace(self, lines=(*lines, Line(len(lines) + 1, tuple(map(cell_written, cells)), end)))

    def with_cells(self, line: Line, changes: Mapping[int, str]) -> CsvText:
        """Return the text with other texts in some cells of one row; changes: place of the cell -> its text."""
        raw = tuple(cell_written(changes[at]) if at in changes else cell for at, cell in enumerate(line.raw))
        changed = replace(line, raw=raw)
        return replace(self, lines=tuple(changed if each is line else each for each in self.lines))

    def without_row(self, line: Line) -> CsvText:
        """Return the text without one of its rows."""
        return replace(self, lines=tuple(each for each in self.lines if each is not line))


def csv_text(text: str, columns: Collection[str]) -> CsvText:
    """Return a text taken apart, separated by whichever sign makes most of these columns appear in its header."""
    mark = BYTE_ORDER_MARK if text.startswith(BYTE_ORDER_MARK) else ""
    body = text.removeprefix(BYTE_ORDER_MARK)
    best, most = None, -1
    for delimiter in DELIMITERS:
        read = CsvText(mark, delimiter, tuple(_lines(body, delimiter)))
        found = len({cell.strip() for cell in read.header.cells} & set(columns)) if read.header else 0
        if found > most:
            best, most = read, found
        if found == len(columns):
            break
    assert best is not None
    return best


def _lines(text: str, delimiter: str) -> Iterator[Line]:
    plain = re.compile(rf"[^{delimiter}\r\n]*")
    at, number = 0, 0
    while at < len(text):
        number += 1
        comment = _COMMENT_LINE.match(text, at)
        if comment:
            raw, fault, at = [comment.group()], "", comment.end()
        else:
            raw, fault, at = _cells(text, at, delimiter, plain)
        end = _END.match(text, at)
        yield Line(number, tuple(raw), end.group() if end else "", fault)
        at = end.end() if end else at


def _cells(text: str, at: int, delimiter: str, plain: re.Pattern[str]) -> tuple[list[str], str, int]:
    """Return the cells of the row that begins at a place, what is wrong with its quotation marks, and where it ends."""
    cells: list[str] = []
    fault = ""
    while True:
        start = at
        if text.startswith('"', at):
            quoted = _QUOTED.match(text, at)
            if quoted is None:
                return [*cells, text[start:]], "opens a quotation mark that is not closed", len(text)
            at = quoted.end()
        after = plain.match(text, at)
        assert after is not None
        if after.end() > at > start:
            fault = "has text after a closing quotation mark"
        at = after.end()
        cells.append(text[start:at])
        if not text.startswith(delimiter, at):
            return cells, fault, at
        at += 1
