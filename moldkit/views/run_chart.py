"""The run as a Gantt chart: a lane for each person and machine, or for each mold, on the shop's working time."""

from __future__ import annotations

import datetime
import html
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from moldkit.views.charts import Figure
from moldkit.views.run_lanes import Kind, Lane, Stretch, condensed
from moldkit.views.run_marks import how_to_read, lane_notes, mark_labels, mark_lines, off_shades, remake_labels
from moldkit.views.shift_scale import EVERY_DAY, Shift, ShiftScale, moment_words
from moldkit.views.style import FAINT, GRID, LINE, OUT, PAPER, Stroke, axis, faded, sentence_layout, stroke

Moment = datetime.datetime
# Of the axis: stretches nearer than this are drawn as one, none is drawn narrower than that, and so much is left over.
NEAR, NARROWEST, EDGE = 1 / 400, 1 / 500, 1 / 100
# How the kinds of work are told apart: in the lanes of people, and (by their ground and hatch) in those of molds.
WORDS: dict[Kind, str] = {
    "cures": "casting cures",
    "sets": "mold sets or cures",
    "castings": "castings",
    "set-up": "set-up of the day",
    "first molds": "making molds",
    "remakes": "remaking worn-out molds",
}
LOOKS: dict[Kind, Stroke] = {
    "cures": stroke(0),
    "sets": stroke(5),
    "castings": stroke(0),
    "set-up": Stroke(OUT, OUT, "solid", "circle"),
    "first molds": stroke(2),
    "remakes": stroke(1),
}
THICK, THIN, LEAST_THICK = 0.76, 0.36, 0.2
PALE: frozenset[Kind] = frozenset({"cures", "sets"})
LANE, LANES_LEAST = 30, 4


def run_chart(
    lanes: Sequence[Lane],
    shifts: Sequence[Shift],
    *,
    title: str,
    first_casting: Moment,
    finish: Moment,
    due: datetime.date | None = None,
    by_mold: bool = False,
    again: str = "remake",
    height: int | None = None,
    big: bool = False,
) -> Figure:
    """Return the Gantt chart of a run's lanes.

    shifts: the shop's working time, first to last day shown; title: a sentence that names what holds the run up; due:
    drawn as a line where it lies within; by_mold: lanes are molds, coloured by mold; again: what a remake is called;
    height: [px], None for what the lanes take. Nights and days off are shaded and drawn narrow.
    """
    scale = ShiftScale(shifts)
    tall = height or height_for(len(lanes), big)
    made = sentence_layout(title, height=tall, big=big, line=LINE, lines=2)
    top = made["margin"]["t"] + (40 if big else 30)
    made["margin"] |= {"l": 220 if big else 168, "r": 130 if big else 96, "t": top, "b": 112 if big else 84}
    made["title"] |= {"xref": "container", "x": 0.01}
    # In a long run a day is drawn as one bar, which says by its thickness how full the day is.
    days = not by_mold and len(scale.shifts) > EVERY_DAY
    kinds = [kind for kind in LOOKS if not (days and kind == "set-up")]
    data = [trace for kind in kinds for trace in _bars(kind, lanes, scale, by_mold, days)]
    made |= {
        "barmode": "overlay",
        "bargap": 0.2,
        "showlegend": True,
        "legend": _legend(big),
        "xaxis": _axis(scale),
        "yaxis": _lane_axis(lanes),
        "shapes": [*off_shades(scale), *mark_lines(scale, first_casting, finish, due)],
        "annotations": [
            how_to_read(days, big), *lane_notes(lanes, big), *mark_labels(scale, first_casting, finish, due, big),
            *(remake_labels(lanes, scale, again, big) if by_mold else ()),
        ],
    }  # fmt: skip
    named = [kind for kind in kinds if any(s.kind == kind for lane in lanes for s in lane.stretches)]
    return {"data": [*data, *(_key(kind, by_mold, again) for kind in reversed(named))], "layout": made}


def height_for(lanes: int, big: bool = False) -> int:
    """Return the height that so many lanes take [px]."""
    return (290 if big else 212) + (LANE + 12 if big else LANE) * max(LANES_LEAST, lanes)


def _bars(kind: Kind, lanes: Sequence[Lane], scale: ShiftScale, by_mold: bool, days: bool) -> Iterator[dict[str, Any]]:
    found = [
        (row, each)
        for row, lane in enumerate(lanes)
        for each in condensed(
            (s for s in lane.stretches if s.kind == kind), scale.at, NEAR * scale.end, apart=by_mold
        )
    ]  # fmt: skip
    if not found:
        return
    starts = [scale.at(each.start) for _, each in found]
    wide = [max(scale.at(s.end) - x, NARROWEST * scale.end) for (_, s), x in zip(found, starts, strict=True)]
    yield {
        "type": "bar",
        "orientation": "h",
        "name": kind,
        "showlegend": False,
        "base": starts,
        "x": wide,
        "y": [row for row, _ in found],
        "width": [_thick(kind, each, w, by_mold, days) for (_, each), w in zip(found, wide, strict=True)],
        "marker": _marker(kind, [_look(kind, row, by_mold) for row, _ in found]),
        "customdata": [_hover(lanes[row].name, each) for row, each in found],
        "hovertemplate": "%{customdata}<extra></extra>",
    }


def _thick(kind: Kind, each: Stretch, wide: float, by_mold: bool, days: bool) -> float:
    """Return how thick a bar is drawn; days: a person who is taken half of the time has one half as thick."""
    if by_mold and kind in PALE:
        return THIN
    share = each.worked.total_seconds() / 3600.0 / wide if days else 1.0
    return THICK * max(LEAST_THICK, min(1.0, share))


def _look(kind: Kind, row: int, by_mold: bool) -> Stroke:
    return stroke(row) if by_mold else LOOKS[kind]


def _marker(kind: Kind, looks: Iterable[Stroke]) -> dict[str, Any]:
    colours = [look.colour for look in looks]
    ground = [faded(colour, 0.35) for colour in colours] if kind in PALE else colours
    marker: dict[str, Any] = {"color": ground, "line": {"width": 0}}
    if kind == "remakes":
        marker["pattern"] = {"fillmode": "overlay", "shape": "/", "size": 7, "solidity": 0.35}
    if kind == "first molds":
        marker["pattern"] = {"fillmode": "overlay", "shape": ".", "size": 6, "solidity": 0.3}
    return marker


def _key(kind: Kind, by_mold: bool, again: str) -> dict[str, Any]:
    """Return a trace that only names a kind in the legend."""
    words = f"{again} of a worn-out mold" if kind == "remakes" else WORDS[kind]
    if by_mold and kind == "castings":
        words = "pour, take out"
    look = Stroke(FAINT, FAINT, "solid", "circle") if by_mold else LOOKS[kind]
    marker = _marker(kind, [look])
    return {"type": "bar", "orientation": "h", "name": words, "x": [None], "y": [None], "showlegend": True,
            "hoverinfo": "skip", "marker": marker | {"color": marker["color"][0]}}  # fmt: skip


def _legend(big: bool) -> dict[str, Any]:
    return {"orientation": "h", "x": 0.0, "xanchor": "left", "y": 0.0, "yanchor": "bottom", "yref": "container",
            "traceorder": "normal", "itemclick": False, "itemdoubleclick": False, "font": {"size": 16 if big else 12},
            "bgcolor": faded(PAPER, 0.0)}  # fmt: skip


def _axis(scale: ShiftScale) -> dict[str, Any]:
    ticks = scale.ticks()
    places, words = [tick.x for tick in ticks], [tick.words for tick in ticks]
    made = axis("", range=[0.0, (1 + EDGE) * scale.end], tickvals=places, ticktext=words)
    return made | {"showgrid": True, "gridcolor": GRID, "tickangle": 0, "side": "bottom"}


def _lane_axis(lanes: Sequence[Lane]) -> dict[str, Any]:
    rows = list(range(len(lanes)))
    names = [html.escape(lane.name, quote=False) for lane in lanes]
    most = max(LANES_LEAST, len(lanes))
    return axis("", tickvals=rows, ticktext=names, range=[most - 0.4, -0.6]) | {"ticks": "", "showgrid": False}


def _hover(name: str, each: Stretch) -> str:
    """Return what a stretch is: whose, from when to when, how much work, which molds and pours."""
    hours = each.worked.total_seconds() / 3600.0
    lines = [f"<b>{html.escape(name, quote=False)}</b>: {WORDS[each.kind]}"]
    lines.append(f"{moment_words(each.start)} to {moment_words(each.end)}, taken {hours:.1f} h of it")
    if each.molds:
        lines.append(f"mold{'' if len(each.molds) == 1 else 's'} {_listed(each.molds)}")
    if each.pours:
        lines.append(f"pour{'' if len(each.pours) == 1 else 's'} {_listed(each.pours)}")
    lines += [html.escape(step, quote=False) for step in each.steps[:4]]
    return "<br>".join(lines)


def _listed(numbers: Iterable[int]) -> str:
    known = sorted(numbers)
    return ", ".join(map(str, known)) if len(known) <= 6 else f"{known[0]} to {known[-1]}, {len(known)} of them"
