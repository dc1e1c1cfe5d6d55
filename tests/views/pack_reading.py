"""Everything that can be read out of a client's pack, file by file: words, values, metadata, hidden parts, source."""

from __future__ import annotations

import base64
import io
import re
import zipfile
from collections.abc import Iterator
from xml.etree import ElementTree

import pypdf

# What only says where something is drawn, and how: numbers there are places, and any figure may stand among them.
PLACES = frozenset(
    (
        *("x", "y", "x1", "y1", "x2", "y2", "cx", "cy", "r", "rx", "ry", "width", "height", "points", "d", "viewBox"),
        *("transform", "font-size", "stroke-width", "fill", "stroke", "stroke-dasharray"),
    )
)
# Kinds of chunk in a PNG that hold nothing but its dots, and how large and how coloured these are.
BARE_CHUNKS = {b"IHDR", b"PLTE", b"IDAT", b"IEND", b"pHYs", b"sRGB", b"gAMA", b"tRNS"}


def told(name: str, content: bytes) -> str:
    """Return all that a file tells, as text."""
    reader = {"pdf": _pdf, "svg": _svg, "xlsx": _workbook, "png": _png, "html": _page}[name.rpartition(".")[2]]
    return "\n".join(reader(content))


def _pdf(content: bytes) -> Iterator[str]:
    book = pypdf.PdfReader(io.BytesIO(content))
    for page in book.pages:
        yield page.extract_text()
    yield from (f"{key}: {value}" for key, value in (book.metadata or {}).items())
    assert not book.attachments
    for thing in range(1, len(book.xref[0]) + 1):
        found = book.get_object(thing)
        if isinstance(found, dict):
            yield from (str(value) for value in found.values() if isinstance(value, str))
        if isinstance(found, pypdf.generic.StreamObject) and found.get("/Type") == "/Metadata":
            yield found.get_data().decode("utf-8")


def _svg(content: bytes) -> Iterator[str]:
    assert b"<!--" not in content
    for part in ElementTree.fromstring(content).iter():
        yield part.text or ""
        for name, value in part.attrib.items():
            if name == "href":
                yield base64.b64decode(value.partition("base64,")[2]).decode("utf-8")
            elif name not in PLACES:
                yield value


def _workbook(content: bytes) -> Iterator[str]:
    with zipfile.ZipFile(io.BytesIO(content)) as book:
        assert not book.comment
        for part in book.namelist():
            text = book.read(part).decode("utf-8")
            yield part
            # Widths of columns and looks of cells are places of a sort.
            yield re.sub(r"<cols>.*?</cols>", "", "" if part.endswith(("styles.xml", "theme1.xml")) else text)


def _png(content: bytes) -> Iterator[str]:
    at = 8
    while at < len(content):
        kind = content[at + 4 : at + 8]
        assert kind in BARE_CHUNKS, kind
        yield kind.decode("ascii")
        at += 12 + int.from_bytes(content[at : at + 4], "big")


def _page(content: bytes) -> Iterator[str]:
    text = content.decode("utf-8")
    yield text
    for code in re.findall(r"base64,([A-Za-z0-9+/=]+)", text):
        yield base64.b64decode(code).decode("utf-8", errors="replace")
