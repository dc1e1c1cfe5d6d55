"""The cost chart: a pure function from a table of results to a figure (a plain plotly description).

Above stands what the run costs; totals over a long run lie close together, so the strip below shows the same
costs as per cent above the cheapest, with the zone shaded in which a difference is no more than a toss-up.
"""

from __future__ import annotations

import math
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from moldkit.study.compare import TOSS_UP
from moldkit.study.curves import CurveTable
from moldkit.units import count_text, number_text
from moldkit.views.chart_labels import Upright, crossing_labels, end_labels, side_label
from moldkit.views.style import FAINT, INK, OUT, axis, layout, stroke

Figure = dict[str, Any]
Reading = Literal["total", "per casting"]
Floats = NDArray[np.float64]
READINGS: tuple[Reading, ...] = ("total", "per casting")
# Thin space between thousands, decimal point.
SEPARATORS = ".\u202f"
# Shares of the chart's height: costs above, the strip below; and the per cents at which the strip may end.
COSTS, STRIP = (0.44, 1.0), (0.0, 0.32)
PERCENT_STEPS = (15.0, 20.0, 30.0, 45.0, 60.0)
UNKNOWN_COSTS = (1.0, 10.0)


def cost_chart(
    table: CurveTable, *, title: str = "", reading: Reading = "total", height: int = 460, big: bool = False
) -> Figure:
    """Return cost over the run, one curve a technique, crossings and the run asked for marked.

    table: totals [money] by technique and run; reading: "total" or "per casting"; big: text for a projector.
    """
    shown = table.totals / table.runs if reading == "per casting" else table.totals
    percent = _percent_above(table)
    low, high = _span(shown, table)
    figure_layout = layout(title, height=height, big=big)
    figure_layout["margin"]["r"] = 250 if big else 190
    pixels = (height - figure_layout["margin"]["t"] - figure_layout["margin"]["b"]) * (COSTS[1] - COSTS[0])
    place = Upright(low, high, pixels)
    most = _most_percent(percent, table)
    figure_layout |= {
        "separators": SEPARATORS,
        "xaxis": axis(
            "castings in the run", type="log", range=[0, math.log10(table.runs[-1])], tickformat=",d", dtick=1
        )
        | {"anchor": "y2"},
        "yaxis": cost_axis(table.currency, reading, low, high, table.whole_kits) | {"domain": list(COSTS)},
        "yaxis2": axis("% above<br>cheapest", range=[-0.05 * most, most], nticks=4, domain=list(STRIP)),
        "shapes": [
            run_line(table.run, big),
            _toss_up_zone(),
            _toss_up_label(most, big),
            *end_labels(table, shown, place, big),
            *crossing_labels(table, place, per_casting=reading == "per casting", big=big),
        ],
    }
    data = [_curve(table, row, shown[row], reading) for row in range(len(table.techniques))]
    data += [_percent_curve(table, row, percent[row]) for row in range(len(table.techniques))]
    data += [_crossing_marks(table, reading, "y"), _crossing_marks(table, reading, "y2")]
    return {"data": data, "layout": figure_layout}


def _percent_above(table: CurveTable) -> Floats:
    """Return each cost as per cent above the cheapest feasible one, or above the cheapest of all where none is."""
    of = table.totals[list(table.feasible)] if any(table.feasible) else table.totals
    least = np.fmin.reduce(of, axis=0) if of.size else np.full(table.runs.size, np.nan)
    return np.asarray(100.0 * (table.totals / least - 1.0))


def _most_percent(percent: Floats, table: CurveTable) -> float:
    """Return the top of the strip: what the feasible curves reach, within bounds."""
    known = percent[list(table.feasible)] if any(table.feasible) else percent
    finite = known[np.isfinite(known)]
    highest = 1.1 * float(finite.max()) if finite.size else 0.0
    return next((step for step in PERCENT_STEPS if step >= highest), PERCENT_STEPS[-1])


def _span(shown: Floats, table: CurveTable) -> tuple[float, float]:
    """Return the span of the cost axis: that of the feasible curves, or of all where none is feasible, out to the
    next 1, 2 or 5 of a decade, so that the axis stays put while a size is dragged.
    """
    known = shown[list(table.feasible)] if any(table.feasible) else shown
    finite = known[np.isfinite(known)]
    if not finite.size:
        return UNKNOWN_COSTS
    return round_out(max(float(finite.min()), 0.01) * 0.95, -1), round_out(max(float(finite.max()), 0.01) * 1.05, 1)


def round_out(value: float, way: int) -> float:
    """Return the next 1, 2 or 5 of a decade at or above a value (way 1), or at or below it (way -1)."""
    decade = 10.0 ** math.floor(math.log10(value))
    steps = [decade * step for step in (1.0, 2.0, 5.0, 10.0)]
    return min(s for s in steps if s >= value) if way > 0 else max(s for s in steps if s <= value)


def cost_axis(
    currency: str, reading: Reading, low: float, high: float, whole_kits: bool = False
) -> dict[str, Any]:
    """Return the logarithmic cost axis from low to high [money]; whole_kits: says that materials are bought so."""
    words = f"total cost, {currency}" if reading == "total" else f"cost of a casting, {currency}"
    words += "<br>(whole kits bought)" if whole_kits else ""
    decades = math.log10(high / low)
    ticks = {"dtick": "D1"} if decades < 0.7 else ({"dtick": "D2"} if decades < 2.2 else {"dtick": 1})
    return axis(words, type="log", range=[math.log10(low), math.log10(high)], tickformat=",~r", **ticks)


def _line(table: CurveTable, row: int) -> dict[str, Any]:
    look = stroke(row)
    if table.feasible[row]:
        return {"color": look.colour, "dash": look.dash, "width": 2.5}
    return {"color": OUT, "dash": "dot", "width": 1.5}


def _hover(table: CurveTable, row: int, figure: str) -> str:
    out = "" if table.feasible[row] else f"<br>out: {table.reasons[row]}"
    return f"<b>{table.techniques[row]}</b><br>%{{x:,d}} castings: {figure}{out}<extra></extra>"


def _curve(table: CurveTable, row: int, costs: Floats, reading: Reading) -> dict[str, Any]:
    per = " a casting" if reading == "per casting" else ""
    return {
        "type": "scatter",
        "mode": "lines",
        "name": table.techniques[row],
        "x": table.runs.astype(float),
        "y": costs.copy(),
        "line": _line(table, row),
        "hovertemplate": _hover(table, row, f"%{{y:,.4~g}} {table.currency}{per}"),
    }


def _percent_curve(table: CurveTable, row: int, percent: Floats) -> dict[str, Any]:
    return {
        "type": "scatter",
        "mode": "lines",
        "name": f"{table.techniques[row]}, above the cheapest",
        "x": table.runs.astype(float),
        "y": percent,
        "yaxis": "y2",
        "line": _line(table, row),
        "hovertemplate": _hover(table, row, "%{y:.2~f} % above the cheapest"),
    }


def _crossing_marks(table: CurveTable, reading: Reading, upright: str) -> dict[str, Any]:
    rows = [table.techniques.index(c.technique) for c in table.crossings]
    heights = [c.cost / c.run if reading == "per casting" else c.cost for c in table.crossings]
    words = "from {} castings on: {}<br>{} {} in all<extra></extra>"
    return {
        "type": "scatter",
        "mode": "markers",
        "name": "crossings",
        "x": [c.run for c in table.crossings],
        "y": heights if upright == "y" else [0.0 for _ in heights],
        "yaxis": upright,
        "cliponaxis": False,
        "marker": {
            "size": 11,
            "symbol": [stroke(row).marker for row in rows],
            "color": [stroke(row).colour for row in rows],
            "line": {"color": INK, "width": 1.5},
        },
        "hovertemplate": [
            words.format(count_text(c.run), c.technique, number_text(c.cost), table.currency) for c in table.crossings
        ],
    }


def run_line(run: int, big: bool) -> dict[str, Any]:
    """Return the line at the run asked for, its label on top; a shape, which a page moves without drawing curves."""
    return {
        "type": "line",
        "name": "run",
        "x0": run,
        "x1": run,
        "y0": 0,
        "y1": 1,
        "yref": "paper",
        "line": {"color": FAINT, "width": 1},
        "label": {
            "text": f"run {count_text(run)}",
            "textposition": "end",
            "textangle": 0,
            "yanchor": "bottom",
            "font": {"color": INK, "size": 16 if big else 12},
        },
    }


def _toss_up_zone() -> dict[str, Any]:
    """Return the zone of the strip within which a difference is a toss-up."""
    return {
        "type": "rect",
        "xref": "paper",
        "x0": 0,
        "x1": 1,
        "yref": "y2",
        "y0": 0,
        "y1": 100 * TOSS_UP,
        "fillcolor": "rgba(120,120,120,0.14)",
        "line": {"width": 0},
        "layer": "below",
    }


def _toss_up_label(most: float, big: bool) -> dict[str, Any]:
    words = f"within {TOSS_UP:.0%}: a toss-up".replace("%", "\u00a0%")
    return side_label("toss-up", min(100 * TOSS_UP / 2, most), "y2", words, FAINT, 14 if big else 11)
