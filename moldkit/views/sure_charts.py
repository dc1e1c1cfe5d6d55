"""Charts of how sure we are: odds over the run, cost bands. Pure functions to figures."""

from __future__ import annotations

import html
import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from moldkit.study.curves import CurveTable
from moldkit.study.uncertainty.spread import Spread
from moldkit.views.chart_labels import Upright, end_labels
from moldkit.views.charts import SEPARATORS, Figure, Reading, cost_axis, run_line
from moldkit.views.style import FAINT, GRID, PAPER, axis, faded, sentence_layout, stroke
from moldkit.views.sure_words import bands_words, odds_words

Floats = NDArray[np.float64]
# A band of odds thinner than this, in per cent at its thickest, gets no label inside.
THIN = 9.0


def odds_chart(spread: Spread, *, title: str | None = None, height: int = 430, big: bool = False) -> Figure:
    """Return the share of plausible shops in which each technique is the cheapest, stacked, over the run."""
    made = sentence_layout(odds_words(spread) if title is None else title, height=height, big=big)
    shares = 100.0 * spread.chance
    made |= {
        "separators": SEPARATORS,
        "xaxis": _run_axis(spread),
        "yaxis": axis("plausible shops of 100", range=[0, 100], dtick=20) | {"layer": "above traces"},
        "shapes": [run_line(spread.run, big)],
        "annotations": _odds_labels(spread, shares, big),
    }
    data = [_odds_layer(spread, row, shares[row]) for row in range(len(spread.techniques)) if shares[row].max() > 0]
    if spread.totals.nothing > 0.0:
        nothing = np.full(spread.runs.size, 100.0 * spread.totals.nothing)
        data.append(_layer("nothing works", spread.runs, nothing, GRID, {"color": FAINT, "width": 1}))
    return {"data": data, "layout": made}


def _run_axis(spread: Spread) -> dict[str, Any]:
    most = math.log10(max(2.0, float(spread.runs[-1])))
    return axis("castings in the run", type="log", range=[0, most], tickformat=",d", dtick=1)


def _odds_layer(spread: Spread, row: int, shares: Floats) -> dict[str, Any]:
    look = stroke(row)
    # A layer too thin to be seen would only draw its line over its neighbour's.
    line = {"color": look.colour, "dash": look.dash, "width": 1.5 if shares.max() >= 1.0 else 0.0}
    return _layer(spread.techniques[row], spread.runs, shares, faded(look.colour, 0.35), line)


def _layer(name: str, runs: NDArray[np.int64], shares: Floats, fill: str, line: dict[str, Any]) -> dict[str, Any]:
    return {
        "type": "scatter",
        "mode": "lines",
        "name": name,
        "x": runs.astype(float),
        "y": shares.copy(),
        "stackgroup": "odds",
        "line": line,
        "fillcolor": fill,
        "hovertemplate": f"<b>{html.escape(name)}</b><br>%{{x:,d}} castings: %{{y:.0f}} of 100<extra></extra>",
    }


def _odds_labels(spread: Spread, shares: Floats, big: bool) -> list[dict[str, Any]]:
    """Return the techniques' names, each inside its layer where that is thickest, away from the edges."""
    inside = (spread.runs >= spread.runs[-1] ** 0.12) & (spread.runs <= spread.runs[-1] ** 0.84)
    below = np.cumsum(shares, axis=0) - shares
    labels = []
    for row, name in enumerate(spread.techniques):
        thick = np.where(inside, shares[row], -1.0)
        place = int(np.argmax(thick >= 0.98 * thick.max()))
        if thick[place] < THIN:
            continue
        bold = f"<b>{name}</b>" if name == spread.cheapest else name
        labels.append(
            {
                "x": math.log10(float(spread.runs[place])),
                "y": float(below[row, place] + 0.5 * shares[row, place]),
                "text": bold,
                "showarrow": False,
                "bgcolor": faded(PAPER, 0.7),
                "font": {"color": stroke(row).text, "size": 16 if big else 13},
            }
        )
    return labels


def bands_chart(
    spread: Spread, *, title: str | None = None, reading: Reading = "total", height: int = 460, big: bool = False
) -> Figure:
    """Return the cost over the run with the band that eight of ten plausible shops lie in, one curve a technique.

    The cheapest technique's band is the deepest. reading: "total" or "per casting". Techniques that don't work at the
    likely figures are drawn without a band.
    """
    bands = spread.bands_per_casting if reading == "per casting" else spread.bands
    low, high = _span(bands, spread.able)
    made = sentence_layout(bands_words(spread) if title is None else title, height=height, big=big)
    made["margin"]["r"] = 250 if big else 190
    pixels = height - made["margin"]["t"] - made["margin"]["b"]
    table = _medians(spread)
    made |= {
        "separators": SEPARATORS,
        "xaxis": _run_axis(spread),
        "yaxis": cost_axis(spread.currency, reading, low, high),
        "shapes": [
            run_line(spread.run, big),
            *end_labels(table, bands[1], Upright(low, high, float(pixels)), big),
        ],
    }
    rows = [row for row in range(len(spread.techniques)) if np.isfinite(bands[1, row]).any()]
    data = [each for row in rows if spread.able[row] for each in _band(spread, row, bands)]
    return {"data": [*data, *(_median(spread, row, bands[1, row]) for row in rows)], "layout": made}


def _span(bands: Floats, able: Sequence[bool]) -> tuple[float, float]:
    known = bands[:, list(able)] if any(able) else bands
    finite = known[np.isfinite(known)]
    if not finite.size:
        return 1.0, 10.0
    return max(float(finite.min()), 0.01) * 0.9, max(float(finite.max()), 0.01) * 1.1


def _medians(spread: Spread) -> CurveTable:
    """Return the middle curves as a table of curves, so that their ends are labelled like every cost chart's."""
    reasons = tuple("" if able else "ruled out or no data" for able in spread.able)
    return CurveTable(
        spread.techniques, spread.runs, spread.bands[1], spread.able, reasons, (), spread.run, spread.cheapest,
        spread.currency,
    )  # fmt: skip


def _band(spread: Spread, row: int, bands: Floats) -> list[dict[str, Any]]:
    look = stroke(row)
    edge = {
        "type": "scatter",
        "mode": "lines",
        "x": spread.runs.astype(float),
        "line": {"color": faded(look.colour, 0.45), "width": 0.8, "dash": look.dash},
        "hoverinfo": "skip",
    }
    low = {**edge, "name": f"{spread.techniques[row]}, 10 %", "y": bands[0, row].copy()}
    high = {**edge, "name": f"{spread.techniques[row]}, 90 %", "y": bands[2, row].copy()}
    deep = 0.24 if spread.techniques[row] == spread.cheapest else 0.07
    return [low, {**high, "fill": "tonexty", "fillcolor": faded(look.colour, deep)}]


def _median(spread: Spread, row: int, costs: Floats) -> dict[str, Any]:
    look, name = stroke(row), spread.techniques[row]
    line = {"color": look.colour, "dash": look.dash, "width": 2.5}
    return {
        "type": "scatter",
        "mode": "lines",
        "name": name,
        "x": spread.runs.astype(float),
        "y": costs.copy(),
        "line": line if spread.able[row] else line | {"color": FAINT, "dash": "dot", "width": 1.5},
        "hovertemplate": f"<b>{html.escape(name)}</b><br>%{{x:,d}} castings: half under %{{y:,.4~g}} "
        f"{spread.currency}<extra></extra>",
    }
