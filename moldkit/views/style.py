"""The look of every chart: colours, dashes and markers that stay apart in grey and for the colour-blind."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from typing import Any

# Colours from the eight-colour safe palette published for colour-blind readers, the ones that stand out on
# white with 3:1 at least; each with a darker shade that carries text with 4.5:1.
INK = "rgb(34,34,34)"
FAINT = "rgb(105,105,105)"
GRID = "rgb(225,225,225)"
PAPER = "rgb(255,255,255)"
OUT = "rgb(130,130,130)"


@dataclass(frozen=True)
class Stroke:
    """How one technique is drawn: line colour, text shade, dash, marker."""

    colour: str
    text: str
    dash: str
    marker: str


STROKES = (
    Stroke("rgb(0,114,178)", "rgb(0,90,141)", "solid", "circle"),
    Stroke("rgb(213,94,0)", "rgb(158,70,0)", "dash", "square"),
    Stroke("rgb(0,158,115)", "rgb(0,107,78)", "longdash", "diamond"),
    Stroke("rgb(204,121,167)", "rgb(147,61,110)", "dot", "triangle-up"),
    Stroke("rgb(0,0,0)", "rgb(0,0,0)", "dashdot", "cross"),
    Stroke("rgb(110,80,20)", "rgb(95,70,15)", "longdashdot", "star"),
)


def stroke(place: int) -> Stroke:
    """Return the stroke of the technique at a place in the table; beyond six they begin again."""
    return STROKES[place % len(STROKES)]


# Letters in a line of a title; of one that is a whole sentence, so that it also fits a narrow page.
LINE, SENTENCE = 104, 76
FONT = "'Source Sans 3', 'Segoe UI', 'Helvetica Neue', Arial, 'DejaVu Sans', sans-serif"


def layout(title: str, *, height: int, big: bool = False, line: int = LINE, lines: int = 1) -> dict[str, Any]:
    """Return the layout that every chart starts from.

    big: text for a projector; line: letters in one of the title; lines: kept free for it, so that a chart stays
    where it is when its title becomes a line longer.
    """
    size = 18 if big else 13
    wrapped = textwrap.wrap(title, min(line, SENTENCE) if big else line)
    top = (34 if big else 28) + (26 if big else 20) * max(lines, len(wrapped))
    return {
        "title": {
            "text": "<br>".join(wrapped),
            "x": 0.0,
            "xref": "paper",
            "xanchor": "left",
            "font": {"size": size + 2, "color": INK},
        },
        "height": height,
        "font": {"family": FONT, "size": size, "color": INK},
        "paper_bgcolor": PAPER,
        "plot_bgcolor": PAPER,
        "margin": {"l": 112 if big else 84, "r": 20, "t": top, "b": 70 if big else 52},
        "showlegend": False,
        "hovermode": "closest",
        "hoverlabel": {"font": {"size": size}, "align": "left"},
        "modebar": {"remove": ["sendChartToCloud", "lasso2d", "select2d", "autoScale2d"], "orientation": "h"},
        "dragmode": False,
        "uirevision": "kept",
    }


def sentence_layout(
    title: str, *, height: int, big: bool = False, line: int = SENTENCE, lines: int = 2
) -> dict[str, Any]:
    """Return the layout of a chart whose title is a whole sentence: short lines, from the top edge on."""
    made = layout(title, height=height, big=big, line=line, lines=lines)
    made["title"] |= {"yref": "container", "y": 1.0, "yanchor": "top", "pad": {"t": 24 if big else 20}}
    return made


def axis(title: str, **more: Any) -> dict[str, Any]:
    """Return an axis with the house's lines and ticks."""
    return {
        "title": {"text": title},
        "gridcolor": GRID,
        "linecolor": FAINT,
        "showline": True,
        "zeroline": False,
        "ticks": "outside",
        "tickcolor": FAINT,
        "fixedrange": True,
        **more,
    }


def faded(colour: str, share: float) -> str:
    """Return a colour "rgb(...)" let through: share of it that stays, 0 to 1."""
    return f"rgba({colour[4:-1]},{share:g})"
