"""The chart a client sees: the price of a casting over the run, and nothing of the shop's costs."""

from __future__ import annotations

import math

from moldkit.study.client_offer import ClientOffer
from moldkit.units import cents_text, count_text
from moldkit.views.charts import SEPARATORS, Figure
from moldkit.views.style import INK, axis, layout, stroke


def price_chart(offer: ClientOffer, *, title: str = "", height: int = 460, big: bool = True) -> Figure:
    """Return the price of a casting over the run, the run asked for and the breaks marked with their price."""
    look = stroke(0)
    prices = [cents / 100 for cents in offer.each]
    marked = [(line.run, line.each / 100) for line in offer.lines if line.run <= offer.runs[-1]]
    low, high = math.log10(0.8 * min(prices)), math.log10(1.35 * max(prices))
    figure_layout = layout(title, height=height, big=big)
    figure_layout |= {
        "separators": SEPARATORS,
        "xaxis": axis(
            "castings in the run",
            type="log",
            range=[-0.05, math.log10(offer.runs[-1]) + 0.05],
            tickformat=",d",
            dtick=1,
        ),
        "yaxis": axis(
            f"price of a casting, {offer.currency}", type="log", range=[low, high], dtick="D2", tickformat=",~r"
        ),
        "annotations": [
            {
                "x": math.log10(run),
                "y": math.log10(price),
                "text": f"<b>{count_text(run)}: {cents_text(price)}</b>" if run == offer.run else cents_text(price),
                "showarrow": run == offer.run,
                "arrowhead": 0,
                "ax": 0,
                "ay": -44,
                "yshift": 0 if run == offer.run else 18,
                "xanchor": "left" if run == 1 else "center",
                "font": {"color": INK if run == offer.run else look.text, "size": 18 if run == offer.run else 14},
            }
            for run, price in _apart(marked, offer.run)
        ],
    }
    data = [
        {
            "type": "scatter",
            "mode": "lines",
            "x": list(offer.runs),
            "y": prices,
            "line": {"color": look.colour, "width": 3},
            "hovertemplate": f"%{{x:,d}} castings: %{{y:,.4~g}} {offer.currency} each<extra></extra>",
        },
        {
            "type": "scatter",
            "mode": "markers",
            "x": [float(run) for run, _ in marked],
            "y": [price for _, price in marked],
            "marker": {
                "size": [16 if run == offer.run else 9 for run, _ in marked],
                "color": [INK if run == offer.run else look.colour for run, _ in marked],
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
