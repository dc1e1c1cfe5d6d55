"""The tornado: what the doubt between two techniques hangs on, with the switching value beside each bar."""

from __future__ import annotations

import html
import textwrap
from collections.abc import Sequence
from typing import Any

from moldkit.study.uncertainty.sensitivity import Sensitivity
from moldkit.study.uncertainty.switching import Switch
from moldkit.views.charts import Figure
from moldkit.views.style import FAINT, GRID, INK, LINE, axis, faded, sentence_layout, stroke
from moldkit.views.sure_tables import switch_for
from moldkit.views.sure_words import doubt_words, plain_input
from moldkit.views.switch_words import switch_note

# Bars that account for less of the doubt than this are left out, and so are those past the tenth.
SMALL_SHARE, MOST_BARS = 0.01, 10
NAME_LETTERS = 50
BARS = (
    "share of the doubt (variance of the difference in cost), %<br>wide and pale: left if all else were known"
    "<br>narrow and dark: taken off by knowing it alone"
)


def tornado_chart(
    found: Sensitivity | None,
    switches: Sequence[Switch],
    *,
    title: str | None = None,
    height: int = 460,
    big: bool = False,
) -> Figure:
    """Return what the doubt between the cheapest technique and the next hangs on, with the switching values beside.

    A wide pale bar: what would be left if all else were known; a narrow dark one: what knowing the figure alone would
    take off; both of the variance of the difference in cost. found: None gives an empty chart with its sentence.
    """
    words = doubt_words(found) if title is None else title
    made = sentence_layout(words, height=height, big=big, line=LINE, lines=3)
    # The title begins at the chart's edge, over the names, and leaves room for the heading of the switching values.
    made["title"] |= {"xref": "container", "x": 0.01}
    places = _bars(found)
    made["margin"] |= {"l": 400 if big else 300, "r": 190 if big else 150, "b": 136 if big else 104}
    if found is None or not places:
        return {"data": [], "layout": made | {"xaxis": {"visible": False}, "yaxis": {"visible": False}}}
    names = [_wrapped(plain_input(found.names[place], found.kinds[place])) for place in places]
    total = [100.0 * max(0.0, float(found.shares.total[place])) for place in places]
    # What an input does alone cannot exceed what it does in all; from finite points it sometimes seems to.
    alone = [100.0 * max(0.0, float(found.shares.first[place])) for place in places]
    first = [min(pair) for pair in zip(alone, total, strict=True)]
    notes = [switch_note(switch_for(found.names[place], switches)) for place in places]
    rows = list(range(len(places)))
    most = max(*total, *first)
    made |= {
        "barmode": "overlay",
        "xaxis": axis(BARS, range=[0, 1.04 * most]) | {"gridcolor": GRID},
        "yaxis": axis("", tickvals=rows, ticktext=names, range=[len(rows) - 0.4, -0.6])
        | {"ticks": "", "showgrid": False},
        "annotations": _notes(notes, rows, big),
    }
    look = stroke(0)
    bars = (
        ("left if all else were known", total, 0.72, faded(look.colour, 0.3)),
        ("taken off by knowing it alone", first, 0.3, look.colour),
    )
    return {"data": [_bar(name, shares, rows, names, width, colour) for name, shares, width, colour in bars],
            "layout": made}  # fmt: skip


def _bars(found: Sensitivity | None) -> list[int]:
    if found is None or found.shares.variance <= 0.0:
        return []
    return [place for place in range(len(found.names)) if found.shares.total[place] >= SMALL_SHARE][:MOST_BARS]


def _bar(
    name: str, shares: list[float], rows: list[int], names: list[str], width: float, colour: str
) -> dict[str, Any]:
    return {
        "type": "bar",
        "orientation": "h",
        "name": name,
        "x": shares,
        "y": rows,
        "width": width,
        "marker": {"color": colour, "line": {"color": stroke(0).colour, "width": 1}},
        "customdata": [each.replace("<br>", " ") for each in names],
        "hovertemplate": f"%{{customdata}}<br>{name}: %{{x:.0f}} %<extra></extra>",
    }


def _notes(notes: list[str], rows: list[int], big: bool) -> list[dict[str, Any]]:
    """Return the switching values at the right edge, one beside each bar, under a heading."""
    at = {"xref": "paper", "x": 1.0, "xanchor": "left", "showarrow": False, "xshift": 8, "align": "left"}
    font = {"color": INK, "size": 16 if big else 12}
    heading = {**at, "y": -0.6, "yanchor": "bottom", "text": "<b>turns the choice</b>", "font": font}
    faint = font | {"color": FAINT}
    return [heading] + [
        {**at, "y": row, "yanchor": "middle", "text": note, "font": faint if note.startswith("never") else font}
        for row, note in zip(rows, notes, strict=True)
    ]


def _wrapped(name: str) -> str:
    return "<br>".join(textwrap.wrap(html.escape(name, quote=False), NAME_LETTERS))
