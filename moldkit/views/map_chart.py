"""The decision map: pattern size by run, coloured by the cheapest feasible technique."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from moldkit.study.sweep import DecisionMap
from moldkit.views.charts import SEPARATORS, Figure
from moldkit.views.style import INK, PAPER, axis, layout, stroke

NOTHING = "rgb(235,235,235)"
# Half the width in pixels of the mark at the case's own run and size.
MARK = 9


def map_chart(
    table: DecisionMap,
    *,
    run: int,
    longest: float,
    unit: str = "mm",
    metres_a_unit: float = 0.001,
    title: str = "",
    height: int = 300,
    big: bool = False,
) -> Figure:
    """Return the decision map with the case's own run and longest side [m] marked.

    table: sizes [m], runs and the cheapest technique; unit, metres_a_unit: how sizes are shown.
    """
    sizes = (table.sizes / metres_a_unit).tolist()
    runs = table.runs.tolist()
    here = longest / metres_a_unit
    figure_layout = layout(title, height=height, big=big)
    figure_layout |= {
        "separators": SEPARATORS,
        "xaxis": axis("castings in the run", type="log", range=_log_range(runs), tickformat=",d", dtick=1),
        "yaxis": axis(f"longest side, {unit}", type="log", range=_log_range(sizes), tickformat=",~r", dtick="D2"),
        "shapes": _crosshair(run, here),
        "annotations": _region_labels(table, sizes, runs, (run, here), big),
    }
    return {"data": [_cells(table, sizes, runs, unit), *_nothing(table, sizes, runs)], "layout": figure_layout}


def crosshair_patch(run: int, here: float) -> dict[str, Any]:
    """Return what moves in the map with the case, as a patch; here: longest side in the map's unit."""
    return {"layout": {"shapes": _crosshair(run, here)}}


def _log_range(values: list[float]) -> list[float]:
    return [math.log10(values[0]), math.log10(values[-1])]


def _cells(table: DecisionMap, sizes: list[float], runs: list[float], unit: str) -> dict[str, Any]:
    count = len(table.names)
    colours = [NOTHING, *(stroke(place).colour for place in range(count))]
    steps = [[edge / (count + 1), colour] for place, colour in enumerate(colours) for edge in (place, place + 1)]
    names = ["nothing works", *table.names]
    return {
        "type": "heatmap",
        "x": runs,
        "y": sizes,
        "z": table.cheapest.tolist(),
        "zmin": -1.5,
        "zmax": count - 0.5,
        "colorscale": steps,
        "showscale": False,
        "opacity": 0.55,
        "customdata": [[names[place + 1] for place in row] for row in table.cheapest.tolist()],
        "hovertemplate": f"%{{x:,d}} castings of %{{y:,.3~g}} {unit}<br>%{{customdata}}<extra></extra>",
    }


def _nothing(table: DecisionMap, sizes: list[float], runs: list[float]) -> list[dict[str, Any]]:
    """Return a sparse hatch over the cells where nothing is feasible; no trace where every cell has a technique."""
    rows, columns = np.nonzero(table.cheapest < 0)
    sparse = (rows % 3 == 0) & (columns % 3 == 0)
    if not sparse.any():
        return []
    return [
        {
            "type": "scatter",
            "mode": "markers",
            "x": [runs[column] for column in columns[sparse]],
            "y": [sizes[row] for row in rows[sparse]],
            "marker": {"symbol": "line-ne-open", "size": 9, "color": "rgb(120,120,120)", "line": {"width": 1.2}},
            "hoverinfo": "skip",
        }
    ]


def _crosshair(run: int, here: float) -> list[dict[str, Any]]:
    line = {"color": INK, "width": 1, "dash": "dot"}
    return [
        {"type": "line", "x0": run, "x1": run, "y0": 0, "y1": 1, "yref": "paper", "line": line},
        {"type": "line", "y0": here, "y1": here, "x0": 0, "x1": 1, "xref": "paper", "line": line},
        {
            "type": "path",
            "name": "this case",
            "xsizemode": "pixel",
            "ysizemode": "pixel",
            "xanchor": run,
            "yanchor": here,
            "path": f"M-{MARK},0L0,{MARK}L{MARK},0L0,-{MARK}Z",
            "line": {"color": INK, "width": 2.5},
        },
    ]


def _aside(x: float, y: float, case: tuple[float, float], sizes: list[float], runs: list[float]) -> float:
    """Return by how many pixels a label must move up or down so that it does not cover the case's own mark."""
    wide = abs(math.log10(x / case[0])) / math.log10(runs[-1] / runs[0])
    high = math.log10(y / case[1]) / math.log10(sizes[-1] / sizes[0])
    if wide > 0.2 or abs(high) > 0.09:
        return 0.0
    return 26.0 if high >= 0 else -26.0


def _region_labels(
    table: DecisionMap, sizes: list[float], runs: list[float], case: tuple[float, float], big: bool
) -> list[dict[str, Any]]:
    """Return each technique's name in the middle of its region, where the region is large enough to hold it."""
    labels = []
    for place in range(-1, len(table.names)):
        rows, columns = np.nonzero(table.cheapest == place)
        if rows.size < 0.04 * table.cheapest.size:
            continue
        row, column = _middle(rows, columns)
        colour = INK if place < 0 else stroke(place).text
        labels.append(
            {
                "name": "region",
                "x": math.log10(runs[column]),
                "y": math.log10(sizes[row]),
                "text": "nothing works" if place < 0 else f"<b>{table.names[place]}</b>",
                "showarrow": False,
                "yshift": _aside(runs[column], sizes[row], case, sizes, runs),
                "font": {"color": colour, "size": 16 if big else 12},
                "bgcolor": PAPER,
                "opacity": 0.9,
                "borderpad": 2,
            }
        )
    return labels


def _middle(rows: Any, columns: Any) -> tuple[int, int]:
    """Return the cell of the region nearest to its middle."""
    nearest = int(np.argmin((rows - rows.mean()) ** 2 + (columns - columns.mean()) ** 2))
    return int(rows[nearest]), int(columns[nearest])
