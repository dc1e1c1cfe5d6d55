"""Labels in the cost chart: at the curves' ends, at the crossings, at the run asked for; kept apart in pixels."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from moldkit.study.curves import CurveTable
from moldkit.units import count_text, number_text
from moldkit.views.style import FAINT, stroke

Floats = NDArray[np.float64]
Label = dict[str, Any]
# A certain life's stepped curves may cross back many times; more labels than this would cover the curves.
MOST_CROSSINGS = 6
# Two crossings nearer than this on the log axis get their labels at different heights.
NEAR = 0.5
# How far the line to a crossing's label leads aside, as a share of the chart's width, and how near an edge it may
# end, in pixels.
LEAD = 0.02
AWAY_FROM_EDGE = 14.0


class Upright:
    """Where a cost stands on the logarithmic cost axis, as plotly places it and in pixels."""

    def __init__(self, low: float, high: float, pixels: float) -> None:
        """Take the costs at both ends of the axis [money] and its height in pixels."""
        self.low, self.high, self.pixels = math.log10(low), math.log10(high), pixels

    def at(self, cost: float) -> float:
        """Return the axis coordinate of a cost, held inside the chart."""
        return min(max(math.log10(max(cost, 1e-9)), self.low), self.high)

    def pixel(self, coordinate: float) -> float:
        """Return the height in pixels of an axis coordinate."""
        return (coordinate - self.low) / (self.high - self.low) * self.pixels

    def coordinate(self, pixel: float) -> float:
        """Return the axis coordinate of a height in pixels."""
        return self.low + pixel / self.pixels * (self.high - self.low)


def side_label(name: str, y: float, axis: str, words: str, colour: str, size: int) -> Label:
    """Return a label at the right of the chart, beside a height: a shape's label, which a page draws fastest."""
    font = {"color": colour, "size": size}
    label = {
        "text": f"  {words}",
        "textposition": "end",
        "textangle": 0,
        "xanchor": "left",
        "yanchor": "middle",
        "font": font,
    }
    return {
        "type": "line",
        "name": name,
        "xref": "paper",
        "x0": 1.0,
        "x1": 1.0,
        "yref": axis,
        "y0": y,
        "y1": y,
        "line": {"width": 0},
        "label": label,
    }


def end_labels(table: CurveTable, shown: Floats, place: Upright, big: bool) -> list[Label]:
    """Return a label at the right end of each curve, moved apart where they would overlap."""
    wanted = []
    for row in range(len(table.techniques)):
        known = shown[row][np.isfinite(shown[row])]
        if known.size:
            wanted.append((place.pixel(place.at(float(known[-1]))), row))
    wanted.sort()
    heights = _apart([pixel for pixel, _ in wanted], [_lines(table, row, big) for _, row in wanted], place.pixels)
    return [_end_label(table, row, 10 ** place.coordinate(y), big) for (_, row), y in zip(wanted, heights, strict=True)]


def _lines(table: CurveTable, row: int, big: bool) -> float:
    """Return the height of an end label in pixels: one line, or two with the reason why it is out."""
    line = 24.0 if big else 17.0
    return line if table.feasible[row] else 2 * line - 4


def _apart(wanted: list[float], sizes: list[float], most: float) -> list[float]:
    """Return heights in rising order that leave each label its size, as near to those wanted as fits below `most`."""
    heights: list[float] = []
    for place, (pixel, size) in enumerate(zip(wanted, sizes, strict=True)):
        least = size / 2 if not place else heights[-1] + (sizes[place - 1] + size) / 2
        heights.append(max(pixel, least))
    # What overshoots is pushed down, and pushes only what it meets.
    for place in reversed(range(len(heights))):
        heights[place] = min(heights[place], most - sizes[place] / 2)
        most = heights[place] - sizes[place] / 2
    return heights


def _end_label(table: CurveTable, row: int, cost: float, big: bool) -> Label:
    name, feasible = table.techniques[row], table.feasible[row]
    words = name if feasible else f"{name}<br>  out: {table.reasons[row]}"
    size = (16 if big else 12) if feasible else (13 if big else 10)
    shown = f"<b>{words}</b>" if name == table.cheapest else words
    return side_label("end", cost, "y", shown, stroke(row).text if feasible else FAINT, size)


def crossing_labels(table: CurveTable, place: Upright, *, per_casting: bool, big: bool) -> list[Label]:
    """Return the labels of the first crossings, each with its run, technique and total, and a line to its mark."""
    labels: list[Label] = []
    end = math.log10(table.runs[-1])
    last, tier = -1.0, 0
    for crossing in table.crossings[:MOST_CROSSINGS]:
        across = math.log10(crossing.run)
        tier = (tier + 1) % 3 if across - last < NEAR else 0
        last = across
        words = f"from {count_text(crossing.run)}: {crossing.technique}, {number_text(crossing.cost)}"
        cost = crossing.cost / crossing.run if per_casting else crossing.cost
        row = table.techniques.index(crossing.technique)
        font = {"color": stroke(row).text, "size": 16 if big else 12}
        labels.append(_led(across / end, place.at(cost), per_casting, place, tier, words, font))
    return labels


def _led(share: float, height: float, falling: bool, place: Upright, tier: int, words: str, font: Label) -> Label:
    """Return a label beside a point with a line that leads to it, on the side where the curve is not.

    share: the point's place across the chart, 0 to 1; height: on the cost axis; falling: the curves fall there.
    """
    left = share > 0.5
    up = left != falling
    away, room = 30.0 + 22.0 * tier, place.pixel(height)
    if not AWAY_FROM_EDGE <= room + (away if up else -away) <= place.pixels - AWAY_FROM_EDGE:
        up = not up
    label = {
        "text": words,
        "textposition": "end",
        "textangle": 0,
        "xanchor": "right" if left else "left",
        "yanchor": "bottom" if up else "top",
        "font": font,
    }
    return {
        "type": "line",
        "name": "crossing",
        "xref": "paper",
        "x0": share,
        "x1": share - LEAD if left else share + LEAD,
        "y0": 10**height,
        "y1": 10 ** place.coordinate(room + (away if up else -away)),
        "line": {"color": FAINT, "width": 1},
        "label": label,
    }
