"""The retirement chart: what retiring molds at each age costs a casting or a pour, beside the advice for the run."""

from __future__ import annotations

import math
from typing import Any

from moldkit.economics.retirement import pours_words
from moldkit.study.retire_curve import RetireCurve
from moldkit.units import money_text
from moldkit.views.charts import SEPARATORS, Figure
from moldkit.views.life_words import retirement_title
from moldkit.views.style import FAINT, INK, axis, sentence_layout, stroke
from moldkit.views.sure_words import money_words

# The curve runs up steeply at the young end; past so many times its least it is cut off.
MOST_TIMES = 3.0


def retirement_chart(curve: RetireCurve, *, title: str | None = None, height: int = 420, big: bool = False) -> Figure:
    """Return the cost of remakes and failures a casting over the age at which molds are retired, and the best age."""
    made = sentence_layout(retirement_title(curve) if title is None else title, height=height, big=big)
    made["margin"]["r"] = 210 if big else 170
    low = float(curve.costs.min())
    top = min(MOST_TIMES * low, 1.05 * float(curve.costs.max())) if low > 0 else 1.0
    top = max(top, 1.15 * curve.to_failure)
    unit = _unit(curve)
    made |= {
        "separators": SEPARATORS,
        "xaxis": axis(f"{unit}s after which a mold is retired", range=[0, float(curve.ages[-1]) + 1], tickformat=",d"),
        "yaxis": axis(
            f"remakes and failures a {unit}<br>in the long run, {curve.currency}", range=[0, top], tickformat=",~r"
        ),
        "shapes": [_level(curve)],
        "annotations": [_level_label(curve, big), *_best_label(curve, top, big)],
    }
    return {"data": [_cost_curve(curve), *_best_mark(curve)], "layout": made}


def _unit(curve: RetireCurve) -> str:
    """Return what the curve counts in: castings, or pours where a pour gives several."""
    return "casting" if curve.cavities == 1 else "pour"


def _cost_curve(curve: RetireCurve) -> dict[str, Any]:
    return {
        "type": "scatter",
        "mode": "lines",
        "name": "in the long run",
        "x": curve.ages.copy(),
        "y": curve.costs.copy(),
        "line": {"color": stroke(0).colour, "width": 2.5},
        "hovertemplate": f"retired after %{{x:.0f}}: %{{y:,.3~g}} {curve.currency} a {_unit(curve)}<extra></extra>",
    }


def _level(curve: RetireCurve) -> dict[str, Any]:
    return {
        "type": "line",
        "name": "to failure",
        "xref": "paper",
        "x0": 0,
        "x1": 1,
        "y0": curve.to_failure,
        "y1": curve.to_failure,
        "line": {"color": stroke(1).colour, "dash": stroke(1).dash, "width": 1.5},
    }


def _level_label(curve: RetireCurve, big: bool) -> dict[str, Any]:
    return {
        "xref": "paper",
        "x": 1.0,
        "xanchor": "left",
        "xshift": 8,
        "y": curve.to_failure,
        "text": f"use to failure,<br>{money_text(curve.to_failure, curve.currency)}",
        "align": "left",
        "showarrow": False,
        "font": {"color": stroke(1).text, "size": 16 if big else 12},
    }


def _best(curve: RetireCurve) -> tuple[float, float] | None:
    """Return age and cost that are marked: of this run's advice, None where no mold is to be retired."""
    age = curve.advice.first_retired
    if not 0 < age <= curve.ages.size:
        return None
    return float(age), float(curve.costs[age - 1])


def _best_mark(curve: RetireCurve) -> list[dict[str, Any]]:
    best = _best(curve)
    if best is None:
        return []
    marker = {"symbol": "diamond", "size": 13, "color": stroke(0).colour, "line": {"color": INK, "width": 1.5}}
    return [
        {
            "type": "scatter",
            "mode": "markers",
            "name": "for this run",
            "x": [best[0]],
            "y": [best[1]],
            "marker": marker,
            "hovertemplate": "for this run: retire after %{x:.0f}<extra></extra>",
        }
    ]


def _best_label(curve: RetireCurve, top: float, big: bool) -> list[dict[str, Any]]:
    best = _best(curve)
    size = 16 if big else 12
    if best is None:
        at = {"x": 0.5 * float(curve.ages[-1]), "y": 0.5 * top}
        return [at | {"text": "no planned retirement pays in this run", "showarrow": False,
                      "font": {"color": INK, "size": size}}]  # fmt: skip
    saved = "" if curve.advice.small else f"<br>saves {money_words(curve.advice.saving, curve.currency)} over the run"
    pours = pours_words(round(best[0]), round(best[0]), curve.cavities)
    text = f"<b>retire after {pours}</b>{saved}"
    below = best[1] > 0.3 * top
    return [
        {
            "x": best[0],
            "y": best[1],
            "text": text,
            "showarrow": True,
            "arrowhead": 0,
            "arrowcolor": FAINT,
            "ax": 0,
            "ay": math.copysign(44, 1 if below else -1),
            "yanchor": "top" if below else "bottom",
            "font": {"color": INK, "size": size},
        }
    ]
