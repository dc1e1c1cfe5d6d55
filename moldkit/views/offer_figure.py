"""A client's chart as a figure for a notebook: the same title, curve, labels and small print as the drawing."""

from __future__ import annotations

import datetime
import html
import math
from collections.abc import Iterator
from typing import Any

from moldkit.views.label_places import Box, Wanted, along, around, placed
from moldkit.views.letter_widths import lines_of, width
from moldkit.views.offer_axes import Axis
from moldkit.views.offer_chart import Mark, OfferChart
from moldkit.views.offer_look import Look
from moldkit.views.offer_page.words import day_text
from moldkit.views.paper.safe_text import safe_text
from moldkit.views.style import axis, layout

Figure = dict[str, Any]
# The narrowest that labels are placed for [dots].
NARROW = 620.0
CURVE, DOT, CHOSEN = 3.0, 9.0, 15.0
MOST_TITLE_LINES = 3


def offer_figure(
    chart: OfferChart, look: Look, *, height: int = 460, big: bool = False, wide: float = NARROW
) -> Figure:
    """Return the figure of a chart in a look.

    height: [dots]; big: words for a projector; wide: the least width at which no two labels may touch [dots].
    """
    size = 20.0 if big else 14.0
    title = lines_of(safe_text(chart.title), size + 4, wide - 20, most=MOST_TITLE_LINES, bold=True)
    small = [line for words in chart.small for line in lines_of(safe_text(words), 0.8 * size, wide - 20, most=3)]
    margin = {"l": 4.6 * size, "r": 20.0, "t": 1.4 * (size + 4) * len(title) + 3.1 * size, "b": 4.2 * size}
    margin["b"] += 1.2 * size * len(small)
    made = layout("", height=height, big=big)
    made |= {
        "title": {
            "text": "<br>".join(f"<b>{html.escape(line)}</b>" for line in title),
            **{"x": 0.0, "xref": "container", "xanchor": "left", "yref": "container", "y": 1.0, "yanchor": "top"},
            "pad": {"t": size + 8, "l": 10},
            "font": {"size": size + 4, "color": look.ink},
        },
        "font": {**made["font"], "size": size, "color": look.ink},
        "paper_bgcolor": look.ground,
        "plot_bgcolor": look.ground,
        "margin": margin,
        "separators": ".\u202f",
        "xaxis": _axis(chart.across, look),
        "yaxis": _axis(chart.up, look) | {"showgrid": True},
    }
    room = (wide - margin["l"] - margin["r"], height - margin["t"] - margin["b"])
    made["annotations"] = [*_labels(chart, look, size, room), *_words(chart, look, size, small, margin)]
    if strong := next((mark for mark in chart.marks if mark.strong), None):
        foot = {"x0": strong.x, "x1": strong.x, "y0": chart.up.low, "y1": strong.y}
        made["shapes"] = [{"type": "line", "layer": "below", **foot, "line": {"color": look.second, "dash": "dash"}}]
    return {"data": [_curve(chart, look), _dots(chart, look)], "layout": made}


def _axis(scale: Axis, look: Look) -> dict[str, Any]:
    low, high = (math.log10(scale.low), math.log10(scale.high)) if scale.log else (scale.low, scale.high)
    return axis(
        "",
        type="log" if scale.log else "linear",
        range=[low, high],
        tickmode="array",
        tickvals=[value for value, _ in scale.ticks],
        ticktext=[words for _, words in scale.ticks],
        gridcolor=look.hair,
        linecolor=look.edge,
        tickcolor=look.edge,
        showgrid=False,
    )


def _curve(chart: OfferChart, look: Look) -> dict[str, Any]:
    return {
        "type": "scatter",
        "mode": "lines",
        "x": [x for x, _ in chart.curve],
        "y": [y for _, y in chart.curve],
        "line": {"color": look.main, "width": CURVE, "shape": "hv" if chart.steps else "linear"},
        "customdata": [_at(chart, x) for x, _ in chart.curve],
        "hovertemplate": "%{customdata}: %{y:,.2f}<extra></extra>",
    }


def _at(chart: OfferChart, x: float) -> str:
    return f"{x:.0f}" if chart.across.log else day_text(datetime.date.fromordinal(round(x)))


def _dots(chart: OfferChart, look: Look) -> dict[str, Any]:
    return {
        "type": "scatter",
        "mode": "markers",
        "cliponaxis": False,
        "x": [mark.x for mark in chart.marks],
        "y": [mark.y for mark in chart.marks],
        "marker": {
            "opacity": 1.0,
            "size": [CHOSEN if mark.strong else DOT for mark in chart.marks],
            "color": [look.ink if mark.strong else look.main for mark in chart.marks],
            "line": {"color": look.ground, "width": 2},
        },
        "hoverinfo": "skip",
    }


def _labels(chart: OfferChart, look: Look, size: float, room: tuple[float, float]) -> Iterator[dict[str, Any]]:
    """Yield the labels, placed for the narrowest figure: in a wider one they only stand farther apart."""
    wide, high = room

    def at(x: float, y: float) -> tuple[float, float]:
        return chart.across.share(x) * wide, (1.0 - chart.up.share(y)) * high

    taken = along((at(x, y) for x, y in _corners(chart)), CURVE, 8.0)
    taken += [around(*at(mark.x, mark.y), (CHOSEN if mark.strong else DOT) / 2) for mark in chart.marks]
    frame = Box(0.0, -1.2 * size, wide + 16, high)
    for mark in chart.marks:
        own = 1.15 * size if mark.strong else 0.95 * size
        x, y = at(mark.x, mark.y)
        box = placed(Wanted(x, y, width(mark.label, own, bold=True), own, 10.0, mark.strong), frame, taken, 2.0)
        if box is not None:
            yield _label(chart, mark, box, (x, y), own, look)


def _corners(chart: OfferChart) -> Iterator[tuple[float, float]]:
    last = None
    for x, y in chart.curve:
        if chart.steps and last is not None:
            yield x, last
        yield x, y
        last = y


def _label(chart: OfferChart, mark: Mark, box: Box, at: tuple[float, float], size: float, look: Look) -> dict[str, Any]:
    return {
        "x": math.log10(mark.x) if chart.across.log else mark.x,
        "y": math.log10(mark.y) if chart.up.log else mark.y,
        "text": f"<b>{html.escape(safe_text(mark.label))}</b>",
        "showarrow": False,
        "xanchor": "left",
        "yanchor": "middle",
        "xshift": box.left - at[0],
        "yshift": at[1] - (box.top + box.bottom) / 2,
        "font": {"size": size, "color": look.ink if mark.strong else look.main_text},
        "bgcolor": look.ground,
        "borderpad": 0,
    }


def _words(
    chart: OfferChart, look: Look, size: float, small: list[str], margin: dict[str, float]
) -> Iterator[dict[str, Any]]:
    """Yield the names of both scales, and the small print below all."""
    beside = {"showarrow": False, "xref": "paper", "yref": "paper", "x": 0.0, "xanchor": "left", "align": "left"}
    font = {"size": size, "color": look.quiet}
    yield beside | {
        "text": html.escape(safe_text(chart.up.title)), "y": 1.0, "yanchor": "bottom", "yshift": 0.4 * size,
        "xshift": 10 - margin["l"], "font": font,
    }  # fmt: skip
    yield beside | {
        "text": chart.across.title, "x": 1.0, "xanchor": "right", "y": 0.0, "yanchor": "top", "yshift": -1.9 * size,
        "font": font,
    }  # fmt: skip
    yield beside | {
        "text": "<br>".join(html.escape(line) for line in small), "y": 0.0, "yanchor": "top", "yshift": -3.6 * size,
        "xshift": 10 - margin["l"], "font": {**font, "size": 0.8 * size},
    }  # fmt: skip
