"""A drawing in SVG as a picture in dots, or as a PDF of its own size: typst draws it, no browser is needed."""

from __future__ import annotations

import datetime
from typing import Any

from moldkit.errors import InputError
from moldkit.views.paper.pdf import compiler

TEMPLATE = b"""#let given = sys.inputs
#set document(title: given.title, date: datetime(year: int(given.year), month: int(given.month), day: int(given.day)))
#set page(width: float(given.wide) * 1pt, height: float(given.high) * 1pt, margin: 0pt)
#image(bytes(given.svg), format: "svg", width: 100%, height: 100%, alt: given.title)
"""
DOTS_A_POINT = 72.0


def drawing_as_pdf(svg: str, title: str, wide: float, high: float, date: datetime.date) -> bytes:
    """Return the drawing as a PDF page; wide, high: its size in points. Raises InputError where it cannot be read."""
    made = _drawn(svg, title, wide, high, date, "pdf")
    assert isinstance(made, bytes), "a PDF is one file"
    return made


def drawing_as_png(svg: str, title: str, wide: float, high: float, date: datetime.date, *, dots: float = 1.0) -> bytes:
    """Return the drawing as a PNG picture, `dots` to a unit of the drawing each way; else as `drawing_as_pdf`."""
    made = _drawn(svg, title, wide, high, date, "png", dots * DOTS_A_POINT)
    return made[0] if isinstance(made, list) else bytes(made)


def _drawn(svg: str, title: str, wide: float, high: float, date: datetime.date, form: str, dots: float = 72.0) -> Any:
    import typst

    day = {"year": str(date.year), "month": str(date.month), "day": str(date.day)}
    given = {"svg": svg, "title": title, "wide": str(wide), "high": str(high), **day}
    noon = datetime.datetime.combine(date, datetime.time(12), datetime.UTC)
    try:
        return compiler().compile(TEMPLATE, format=form, ppi=dots, sys_inputs=given, timestamp=noon)
    except typst.TypstError as fault:
        raise InputError(f"{title}: cannot be drawn ({fault.message}).") from None
