"""What is marked and written in a run's Gantt chart: nights and days off, first and last casting, the date wanted."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Any

from moldkit.views.run_lanes import Lane
from moldkit.views.shift_scale import Moment, ShiftScale, day_words
from moldkit.views.style import FAINT, INK, PAPER, faded
from moldkit.views.verdict import NO_BREAK

# More shaded nights than these would hide the bars; whole days off are shaded up to as many.
MOST_NIGHTS, MOST_WEEKENDS = 40, 160


def off_shades(scale: ShiftScale) -> Iterator[dict[str, Any]]:
    """Yield the shades over nights and days off, as many as leave the chart legible."""
    stretches = list(scale.off())
    nights = len(stretches) <= MOST_NIGHTS
    if sum(days for _, _, days in stretches) > MOST_WEEKENDS:
        return
    for begins, ends, days in stretches:
        if nights or days:
            yield {"type": "rect", "name": "off", "layer": "below", "xref": "x", "x0": begins, "x1": ends,
                   "yref": "paper", "y0": 0, "y1": 1, "line": {"width": 0},
                   "fillcolor": "rgb(214,214,214)" if days else "rgb(236,236,236)"}  # fmt: skip


def _marked(
    scale: ShiftScale, first: Moment, finish: Moment, due: datetime.date | None
) -> Iterator[tuple[str, float, str, str]]:
    """Yield (name, place, words, dash) of each moment that is marked, from the left."""
    yield "first casting", scale.at(first), f"first casting {day_words(first)}", "dot"
    marks = [("finish", scale.at(finish), f"last casting {day_words(finish)}", "solid")]
    if due is not None:
        ends = datetime.datetime.combine(due, datetime.time.max)
        if scale.start <= ends and ends.date() <= scale.shifts[-1][1].date():
            marks.append(("due", scale.at(ends), f"<b>due {day_words(due)}</b>", "dash"))
    yield from sorted(marks, key=lambda mark: mark[1])


def mark_lines(scale: ShiftScale, first: Moment, finish: Moment, due: datetime.date | None) -> Iterator[dict[str, Any]]:
    """Yield a line at the first casting, the last one and the date asked for; arguments as for `mark_labels`."""
    for name, x, _, dash in _marked(scale, first, finish, due):
        yield {"type": "line", "name": name, "xref": "x", "x0": x, "x1": x, "yref": "paper", "y0": 0, "y1": 1,
               "line": {"color": INK, "width": 2.5 if name == "due" else 1.5, "dash": dash}}  # fmt: skip


def mark_labels(
    scale: ShiftScale, first: Moment, finish: Moment, due: datetime.date | None, big: bool
) -> Iterator[dict[str, Any]]:
    """Yield the marks' words over the chart: the last ones end at their line, and the due date stands a line higher."""
    size = 16 if big else 12
    for name, x, words, _ in _marked(scale, first, finish, due):
        right = x > 0.5 * scale.end
        higher = name == "due"
        yield {"x": x, "xref": "x", "y": 1.0, "yref": "paper", "yanchor": "bottom", "text": words, "showarrow": False,
               "xanchor": "right" if right else "left", "yshift": (22 if big else 17) if higher else 1,
               "font": {"size": size, "color": INK}}  # fmt: skip


def lane_notes(lanes: Sequence[Lane], big: bool) -> Iterator[dict[str, Any]]:
    """Yield the note of each lane at the right edge of the chart."""
    for row, lane in enumerate(lanes):
        yield {"x": 1.0, "xref": "paper", "xanchor": "left", "xshift": 8, "y": row, "yanchor": "middle",
               "text": lane.note, "showarrow": False, "font": {"size": 16 if big else 12, "color": INK}}  # fmt: skip


def remake_labels(lanes: Sequence[Lane], scale: ShiftScale, again: str, big: bool) -> Iterator[dict[str, Any]]:
    """Yield the number of each remade mold where its remake begins; the word as well where there is room for it."""
    places = [[(number, scale.at(_begun(lane, number))) for number in lane.molds[1:]] for lane in lanes]
    between = [b - a for lane in places for (_, a), (_, b) in pairwise(lane)]
    roomy = min(between, default=scale.end) > (0.16 if big else 0.12) * scale.end
    for row, lane in enumerate(places):
        last = -scale.end
        for number, x in lane:
            if x - last < 0.04 * scale.end:
                continue
            last = x
            words = f"{again}{NO_BREAK}{number}" if roomy else str(number)
            yield {"x": x, "y": row, "yanchor": "middle", "showarrow": False, "text": f"<b>{words}</b>",
                   "xanchor": "right" if roomy and x > 0.88 * scale.end else "left", "bgcolor": faded(PAPER, 0.9),
                   "borderpad": 1, "font": {"size": 14 if big else 11, "color": INK}}  # fmt: skip


def _begun(lane: Lane, number: int) -> Moment:
    return next(stretch.start for stretch in lane.stretches if number in stretch.molds)


def how_to_read(days: bool, big: bool) -> dict[str, Any]:
    """Return one small line on how the chart is drawn; days: bars are as thick as their days are full."""
    words = "nights and days off are drawn narrow" + ("; a bar half as thick is taken half the time" if days else "")
    return {"x": 0.0, "xref": "paper", "xanchor": "left", "y": 0.0, "yref": "paper", "yanchor": "top",
            "yshift": -54 if big else -40, "showarrow": False, "text": words,
            "font": {"size": 14 if big else 11, "color": FAINT}}  # fmt: skip
