"""The chart a client sees: the price of a casting over the run, and nothing of the shop's costs."""

from __future__ import annotations

import math

from moldkit.study.price import PriceTable
from moldkit.units import count_text, money_text
from moldkit.views.charts import SEPARATORS, Figure
from moldkit.views.style import INK, axis, layout, stroke


def price_chart(table: PriceTable, *, title: str = "", height: int = 460, big: bool = True) -> Figure:
    """Return the price of a casting over the run, the run asked for and the breaks marked with their price."""
    look = stroke(0)
    marked = [(run, price) for run, price, _ in table.breaks if run <= table.runs[-1]]
    low, high = math.log10(0.8 * float(table.prices.min())), math.log10(1.35 * float(table.prices.max()))
    figure_layout = layout(title, height=height, big=big)
    figure_layout |= {
        "separators": SEPARATORS,
        "xaxis": axis(
            "castings in the run",
            type="log",
            range=[-0.05, math.log10(table.runs[-1]) + 0.05],
            tickformat=",d",
            dtick=1,
        ),
        "yaxis": axis(
            f"price of a casting, {table.currency}", type="log", range=[low, high], dtick="D2", tickformat=",~r"
        ),
        "annotations": [
            {
                "x": math.log10(run),
                "y": math.log10(price),
                "text": f"<b>{count_text(run)}: {money_text(price)}</b>" if run == table.run else money_text(price),
                "showarrow": run == table.run,
                "arrowhead": 0,
                "ax": 0,
                "ay": -44,
                "yshift": 0 if run == table.run else 18,
                "xanchor": "left" if run == 1 else "center",
                "font": {"color": INK if run == table.run else look.text, "size": 18 if run == table.run else 14},
            }
            for run, price in _apart(marked, table.run)
        ],
    }
    data = [
        {
            "type": "scatter",
            "mode": "lines",
            "x": table.runs.astype(float),
            "y": table.prices,
            "line": {"color": look.colour, "width": 3},
            "hovertemplate": f"%{{x:,d}} castings: %{{y:,.4~g}} {table.currency} each<extra></extra>",
        },
        {
            "type": "scatter",
            "mode": "markers",
            "x": [float(run) for run, _ in marked],
            "y": [price for _, price in marked],
            "marker": {
                "size": [16 if run == table.run else 9 for run, _ in marked],
                "color": [INK if run == table.run else look.colour for run, _ in marked],
            },
            "hoverinfo": "skip",
        },
    ]
    return {"data": data, "layout": figure_layout}


def _apart(marked: list[tuple[int, float]], run: int) -> list[tuple[int, float]]:
    """Return the marks that can carry a label: the run asked for, and those well apart from it and each other."""
    kept = [mark for mark in marked if mark[0] == run]
    for mark in marked:
        if all(abs(math.log10(mark[0] / other)) > 0.4 for other, _ in kept):
            kept.append(mark)
    return kept
