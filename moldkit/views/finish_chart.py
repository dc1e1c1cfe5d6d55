"""Cost against finish date: a curve for each technique over its molds, the ways that nothing beats marked."""

from __future__ import annotations

import datetime
import html
from collections.abc import Iterator, Sequence
from typing import Any

from moldkit.study.finish_dates import TradeOff, Way
from moldkit.units import money_text
from moldkit.views.charts import SEPARATORS, Figure
from moldkit.views.finish_window import MID_DAY, Window, moment_of, window_of
from moldkit.views.free_labels import LIFTS, NEAREST, FreeLabels
from moldkit.views.plan_words import molds_words
from moldkit.views.shift_scale import day_words
from moldkit.views.style import FAINT, INK, LINE, PAPER, Stroke, axis, faded, sentence_layout, stroke
from moldkit.views.verdict import castings

# Beyond so many days the date axis names no weekdays.
WEEKDAYS_TO = 21
# Labels are kept apart in a chart as wide as this at the least [px].
USUAL_WIDTH = 820.0


def finish_chart(
    trade: TradeOff,
    techniques: Sequence[str],
    *,
    title: str,
    run: int,
    currency: str,
    due: datetime.date | None = None,
    chosen: tuple[str, int] | None = None,
    height: int = 460,
    big: bool = False,
) -> Figure:
    """Return cost over finish date.

    techniques: every one in the comparison's order, which gives each its look; title: a sentence; run: castings; due:
    the date asked for, drawn as a line with what is too late shaded; chosen: (technique, molds) to be ringed. A filled
    mark with its number of molds is a way that no other one beats; a hollow one is later or dearer than another.
    """
    made = sentence_layout(title, height=height, big=big, line=LINE, lines=2)
    made["margin"] |= {"l": 130 if big else 100, "r": 40 if big else 30, "b": 96 if big else 76}
    made["margin"]["t"] += 26 if big else 20
    made["title"] |= {"xref": "container", "x": 0.01}
    made["separators"] = SEPARATORS
    if not trade.ways:
        return {"data": [], "layout": made | {"xaxis": {"visible": False}, "yaxis": {"visible": False}}}
    window = window_of(trade, due)
    room = FreeLabels(USUAL_WIDTH, height - made["margin"]["t"] - made["margin"]["b"])
    made |= {
        "xaxis": _dates(window),
        "yaxis": axis(f"cost of {castings(run)}, {currency}", range=[window.least, window.most], tickformat=",.0f"),
        "shapes": list(_due_shapes(due, window)),
        "annotations": [*_labels(trade, techniques, window, room, big), *_due_label(due, window, big)],
    }
    data = [_curve(trade, name, place) for place, name in enumerate(techniques) if _ways(trade, name)]
    return {"data": [*_front(trade), *data, *_ring(trade, chosen)], "layout": made}


def _ways(trade: TradeOff, technique: str) -> list[Way]:
    return [way for way in trade.ways if way.technique == technique]


def _dates(window: Window) -> dict[str, Any]:
    count = (window.end - window.begin).days
    form = "%a<br>%-d %b" if count <= WEEKDAYS_TO else ("%-d %b" if count <= 200 else "%b<br>%Y")
    step: dict[str, Any] = {"dtick": 86_400_000 * max(1, round(count / 14))} if count <= 200 else {}
    # The day's name stands under its middle, where its marks are.
    first = datetime.datetime.combine(window.begin.date() + datetime.timedelta(days=1), datetime.time()) + MID_DAY
    step |= {"tick0": first.isoformat()} if step else {}
    span = [window.begin.isoformat(), window.end.isoformat()]
    return axis("last casting out on", type="date", range=span, tickformat=form, **step)


def _curve(trade: TradeOff, name: str, place: int) -> dict[str, Any]:
    ways, look = _ways(trade, name), stroke(place)
    return {
        "type": "scatter",
        "mode": "lines+markers",
        "name": name,
        "x": [moment_of(way).isoformat() for way in ways],
        "y": [way.cost.at(0) for way in ways],
        "line": {"color": look.colour, "dash": look.dash, "width": 1.5},
        "marker": {
            "symbol": look.marker,
            "size": [12 if way.on_front else 8 for way in ways],
            "color": [look.colour if way.on_front else PAPER for way in ways],
            "line": {"color": look.colour, "width": 1.5},
        },
        "customdata": [_hover(way) for way in ways],
        "hovertemplate": "%{customdata}<extra></extra>",
    }


def _hover(way: Way) -> str:
    beaten = "" if way.on_front else "<br>another way is no later and costs less"
    return (
        f"<b>{html.escape(way.technique, quote=False)}</b>, {molds_words(way.molds)}<br>last casting "
        f"{day_words(way.finish)}, first {day_words(way.first_casting)}<br>{money_text(way.cost.at(0))}, "
        f"{way.molds_made} molds made{beaten}"
    )


def _front(trade: TradeOff) -> Iterator[dict[str, Any]]:
    """Yield the least cost by each date as steps: what a later date may cost at the least."""
    front = trade.front
    if len(front) < 2:
        return
    yield {
        "type": "scatter",
        "mode": "lines",
        "name": "least cost by a date",
        "x": [moment_of(way).isoformat() for way in front],
        "y": [way.cost.at(0) for way in front],
        "line": {"color": faded(INK, 0.35), "width": 6, "shape": "hv"},
        "hoverinfo": "skip",
    }


def _ring(trade: TradeOff, chosen: tuple[str, int] | None) -> Iterator[dict[str, Any]]:
    for way in trade.ways:
        if (way.technique, way.molds) == chosen:
            yield {
                "type": "scatter",
                "mode": "markers",
                "name": "the plan",
                "x": [moment_of(way).isoformat()],
                "y": [way.cost.at(0)],
                "marker": {"symbol": "circle-open", "size": 22, "color": INK, "line": {"width": 2.5}},
                "hoverinfo": "skip",
            }


def _due_shapes(due: datetime.date | None, window: Window) -> Iterator[dict[str, Any]]:
    if due is None:
        return
    ends = _end_of(due).isoformat()
    yield {"type": "rect", "name": "too late", "layer": "below", "xref": "x", "x0": ends, "x1": window.end.isoformat(),
           "yref": "paper", "y0": 0, "y1": 1, "line": {"width": 0}, "fillcolor": "rgb(236,236,236)"}  # fmt: skip
    yield {"type": "line", "name": "due", "xref": "x", "x0": ends, "x1": ends, "yref": "paper", "y0": 0, "y1": 1,
           "line": {"color": INK, "width": 2.5, "dash": "dash"}}  # fmt: skip


def _end_of(day: datetime.date) -> datetime.datetime:
    return datetime.datetime.combine(day, datetime.time()) + datetime.timedelta(days=1)


def _due_label(due: datetime.date | None, window: Window, big: bool) -> Iterator[dict[str, Any]]:
    if due is None:
        return
    share = (_end_of(due) - window.begin) / (window.end - window.begin)
    anchor = "right" if share > 0.8 else ("left" if share < 0.2 else "center")
    yield {"x": _end_of(due).isoformat(), "y": 1.0, "yref": "paper", "yanchor": "bottom", "showarrow": False,
           "xanchor": anchor, "text": f"<b>due {day_words(due)}</b>, later is too late",
           "font": {"size": 16 if big else 12, "color": INK}}  # fmt: skip


def _labels(
    trade: TradeOff, techniques: Sequence[str], window: Window, room: FreeLabels, big: bool
) -> Iterator[dict[str, Any]]:
    """Yield the molds at each way on the front, and each technique's name beside the latest of its ways in view."""
    size = 16 if big else 12
    seen = [way for way in trade.ways if window.holds(way)]
    room.mark((window.pixel(way, room) for way in seen), 15.0 if big else 12.0)
    for number, way in enumerate(trade.front):
        words = f"{way.molds} mold{'' if way.molds == 1 else 's'}" if number == 0 else str(way.molds)
        yield from _label(way, words, _look(techniques, way), window, room, size, bold=True)
    hidden = []
    for place, name in enumerate(techniques):
        own = [way for way in seen if way.technique == name]
        if own:
            last = max(own, key=lambda way: (way.finish_date, -way.molds))
            yield from _label(last, name, stroke(place), window, room, size)
        elif any(way.technique == name for way in trade.ways):
            hidden.append(name)
    if hidden:
        yield {"x": 1.0, "xref": "paper", "xanchor": "right", "y": 1.0, "yref": "paper", "yanchor": "top",
               "text": html.escape(f"out of view, later or dearer: {', '.join(hidden)}", quote=False),
               "showarrow": False, "bgcolor": faded(PAPER, 0.8), "font": {"size": size, "color": FAINT}}  # fmt: skip


def _look(techniques: Sequence[str], way: Way) -> Stroke:
    return stroke(techniques.index(way.technique))


def _label(
    way: Way, words: str, look: Stroke, window: Window, room: FreeLabels, size: int, bold: bool = False
) -> Iterator[dict[str, Any]]:
    spot = room.place(*window.pixel(way, room), words, size, NEAREST if bold else LIFTS)
    if spot is None:
        return
    shown = html.escape(words, quote=False)
    lead = FAINT if abs(spot.up) > NEAREST[0] else faded(INK, 0.0)
    yield {"x": moment_of(way).isoformat(), "y": way.cost.at(0), "text": f"<b>{shown}</b>" if bold else shown,
           "showarrow": True, "arrowhead": 0, "arrowwidth": 1, "arrowcolor": lead,
           "ax": spot.right, "ay": -spot.up, "xanchor": spot.anchor, "yanchor": "middle", "bgcolor": faded(PAPER, 0.8),
           "borderpad": 0, "font": {"color": look.text, "size": size}}  # fmt: skip
