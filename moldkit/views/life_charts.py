"""The chart of mold life: the curve from the log with its band and its fit, the table beside what was learned."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from moldkit.economics.lifetimes.prior import Range
from moldkit.study.logged_life import LoggedLife
from moldkit.views.charts import SEPARATORS, Figure
from moldkit.views.life_words import life_title
from moldkit.views.style import FAINT, INK, PAPER, Stroke, axis, faded, sentence_layout, stroke

Floats = NDArray[np.float64]
FITTED_POINTS = 160


def life_chart(life: LoggedLife, *, title: str | None = None, height: int = 440, big: bool = False) -> Figure:
    """Return the share of molds that outlast so many castings: steps from the log with their band, and the fit.

    A tick on the steps is a mold that is not worn out. At half height the table's median stands beside the learned
    one, each with the range that it lies in with 80 %.
    """
    made = sentence_layout(life_title(life) if title is None else title, height=height, big=big)
    most = _farthest(life)
    made |= {
        "separators": SEPARATORS,
        "xaxis": axis(f"castings of a mold ({life.use})", range=[0, most], tickformat=",d"),
        "yaxis": axis("molds that outlast it, %", range=[0, 104], dtick=20),
        "annotations": [
            _median_label("the table said", life.prior, stroke(1), most, big) | {"y": 57.0, "yshift": 9},
            _beside("learned", life.median, stroke(0), most, big) | {"y": 43.0},
            *_curve_labels(life, most, big),
        ],
    }
    data = [*_steps(life, most), *_fitted(life, most), *_kept(life)]
    data += [_range("the table's median", life.prior, 57.0, stroke(1)), _range("learned", life.median, 43.0, stroke(0))]
    return {"data": data, "layout": made}


def _farthest(life: LoggedLife) -> float:
    reached = [life.prior.high, life.median.high, float(life.castings.max(initial=1.0))]
    if life.fit is not None:
        reached.append(life.fit.quantile(0.98))
    return 1.06 * max(reached)


def _steps(life: LoggedLife, most: float) -> list[dict[str, Any]]:
    curve, look = life.curve, stroke(2)
    if not life.castings.size:
        return []
    last = float(life.castings.max())
    x = np.concatenate([[0.0], curve.castings, [max(last, float(curve.castings.max(initial=0.0)))]])
    base = {"type": "scatter", "mode": "lines", "x": x, "hoverinfo": "skip"}
    edge = {"shape": "hv", "color": faded(look.colour, 0.5), "width": 0.8}
    low = {**base, "name": "band, low", "y": _stepped(curve.low), "line": edge}
    high = {**base, "name": "band, high", "y": _stepped(curve.high), "line": edge, "fill": "tonexty",
            "fillcolor": faded(look.colour, 0.14)}  # fmt: skip
    steps = {
        **base,
        "name": "from the log",
        "y": _stepped(curve.survival),
        "line": {"shape": "hv", "color": look.colour, "width": 2.5},
        "hoverinfo": None,
        "hovertemplate": "%{y:.0f} % of molds outlast %{x:.0f} castings<extra>from the log</extra>",
    }
    return [low, high, steps]


def _stepped(shares: Floats) -> Floats:
    full = np.concatenate([[1.0], shares])
    return np.asarray(100.0 * np.append(full, full[-1]))


def _fitted(life: LoggedLife, most: float) -> list[dict[str, Any]]:
    if life.fit is None:
        return []
    x = np.linspace(0.0, most, FITTED_POINTS)
    name = f"{life.fit.family.name} fit"
    return [
        {
            "type": "scatter",
            "mode": "lines",
            "name": name,
            "x": x,
            "y": 100.0 * life.fit.survival(x),
            "line": {"color": INK, "dash": "dash", "width": 2},
            "hovertemplate": f"%{{y:.0f}} % outlast %{{x:.0f}} castings<extra>{name}</extra>",
        }
    ]


def _kept(life: LoggedLife) -> list[dict[str, Any]]:
    curve, look = life.curve, stroke(2)
    if not curve.still_good.size:
        return []
    return [
        {
            "type": "scatter",
            "mode": "markers",
            "name": "not worn out",
            "x": curve.still_good.copy(),
            "y": 100.0 * curve.good_survival,
            "cliponaxis": False,
            "marker": {"symbol": "line-ns", "size": 12, "line": {"color": look.text, "width": 2}},
            "hovertemplate": "not worn out after %{x:.0f} castings<extra></extra>",
        }
    ]


def _range(name: str, known: Range, y: float, look: Stroke) -> dict[str, Any]:
    return {
        "type": "scatter",
        "mode": "markers",
        "name": name,
        "x": [known.likely],
        "y": [y],
        "error_x": {
            "type": "data",
            "symmetric": False,
            "array": [known.high - known.likely],
            "arrayminus": [known.likely - known.low],
            "color": look.colour,
            "thickness": 2,
            "width": 6,
        },
        "marker": {"symbol": look.marker, "size": 11, "color": look.colour, "line": {"color": INK, "width": 1}},
        "hovertemplate": f"{name}: half of the molds outlast %{{x:.0f}}<br>80 % sure of {known.low:.0f} to "
        f"{known.high:.0f}<extra></extra>",
    }


def _median_label(words: str, known: Range, look: Stroke, most: float, big: bool) -> dict[str, Any]:
    """Return a label over the middle of a range."""
    return {
        "x": known.likely,
        "text": f"{words}: {known.likely:.0f} ({known.low:.0f} to {known.high:.0f})",
        "showarrow": False,
        # Near an edge a label in the middle would hang over it.
        "xanchor": "left" if known.likely < 0.15 * most else ("right" if known.likely > 0.85 * most else "center"),
        "yanchor": "bottom",
        "bgcolor": faded(PAPER, 0.85),
        "font": {"color": look.text, "size": 16 if big else 12},
    }


def _beside(words: str, known: Range, look: Stroke, most: float, big: bool) -> dict[str, Any]:
    """Return a label at an end of a range: below the curve's left, where nothing runs, as long as it fits there."""
    fits = known.low > (0.42 if big else 0.28) * most
    at = {"x": known.low if fits else known.high, "xanchor": "right" if fits else "left", "xshift": -8 if fits else 8}
    return _median_label(words, known, look, most, big) | at | {"yanchor": "middle"}


def _curve_labels(life: LoggedLife, most: float, big: bool) -> list[dict[str, Any]]:
    """Return labels beside the steps and the fit: the steps' where a tenth has gone, the fit's in its foot."""
    size = 16 if big else 12
    plain = {"showarrow": True, "arrowhead": 0, "arrowcolor": FAINT, "bgcolor": faded(PAPER, 0.85)}
    labels = []
    if life.castings.size:
        place = int(np.searchsorted(-life.curve.survival, -0.85))
        x = float(life.curve.castings[place]) if place < life.curve.castings.size else 0.5 * float(life.castings.max())
        y = 100.0 * float(life.curve.survival[place]) if place < life.curve.castings.size else 100.0
        text = "from the log, 90 % band; | not worn out yet"
        labels.append(plain | {"x": x, "y": y, "text": text, "ax": 50, "ay": 26 if y > 95 else -26, "xanchor": "left",
                               "font": {"color": stroke(2).text, "size": size}})  # fmt: skip
    if life.fit is not None:
        x = life.fit.quantile(0.88)
        text = f"{life.fit.family.name} fit"
        labels.append(plain | {"x": x, "y": 12.0, "text": text, "ax": 46, "ay": -22, "xanchor": "left",
                               "font": {"color": INK, "size": size}})  # fmt: skip
    return labels
