"""Rows for the figure tables of a panel: the techniques side by side, the casting methods."""

from __future__ import annotations

from typing import Any

from moldkit.quantity import Quantity, working
from moldkit.study.compare import Comparison
from moldkit.study.sweep import MethodOutcome
from moldkit.units import System, money_text
from moldkit.views.style import OUT, stroke
from moldkit.views.tables import COLUMNS, figure_text, standing

Rows = list[dict[str, Any]]


def technique_headings(result: Comparison) -> list[str]:
    """Return the headings of the comparison."""
    return ["Technique", *(column.headed(result.currency) for column in COLUMNS), "How it stands"]


def technique_rows(result: Comparison, system: System = "metric") -> Rows:
    """Return the techniques as rows whose figures can be opened; a cell's key is TECHNIQUE/HEADING."""
    rows: Rows = []
    for place, outcome in enumerate(result.outcomes):
        out = outcome.stop_at()
        look = stroke(place)
        cells = []
        for column in COLUMNS:
            figure = column.figure(result, outcome)
            key = None if figure is None else f"{outcome.name}/{column.heading}"
            cells.append({"text": figure_text(figure, result, system), "key": key, "note": ""})
        cells.append({"text": standing(result, outcome), "key": f"{outcome.name}/findings", "note": ""})
        rows.append(
            {
                "key": outcome.name,
                "heading": outcome.name,
                "swatch": {"colour": OUT if out else look.colour, "dash": "dot" if out else look.dash},
                "standing": "out" if out else ("best" if outcome is result.cheapest else ""),
                "cells": cells,
                "chosen": False,
            }
        )
    return rows


def open_figure(result: Comparison, key: str, system: System = "metric") -> dict[str, Any]:
    """Return the working of a figure of `technique_rows` by its key; an empty one for an unknown key."""
    name, _, heading = key.rpartition("/")
    outcome = next((o for o in result.outcomes if o.name == name), None)
    if outcome is None:
        return {}
    if heading == "findings":
        found = outcome.findings(system=system, currency=result.currency)
        lines = [
            {"depth": 0, "name": f.level, "formula": f.words, "put_in": f.remedy, "result": f.rule, "source": f.source}
            for f in found
        ]
        nothing = {"depth": 0, "name": "no findings", "formula": "", "put_in": "", "result": "", "source": ""}
        return {"title": f"{name}: what the casting demands of it", "lines": lines or [nothing]}
    column = next((column for column in COLUMNS if column.heading == heading), None)
    figure = column.figure(result, outcome) if column else None
    return {} if figure is None else _working(f"{name}: {heading.lower()}", figure, system, result.currency)


def _working(title: str, figure: Quantity, system: System, currency: str) -> dict[str, Any]:
    lines = [
        {
            "depth": w.depth,
            "name": w.name,
            "formula": w.formula,
            "put_in": w.put_in,
            "result": w.result,
            "source": w.source,
        }
        for w in working(figure, system=system, currency=currency)
    ]
    return {"title": title, "lines": lines}


def method_headings(result: Comparison) -> list[str]:
    """Return the headings of the casting-method strip."""
    names = [outcome.name for outcome in result.outcomes]
    return ["Casting method", *names, "Cheapest", f"Total, {result.currency}", "Ruled out by"]


def method_rows(result: Comparison, methods: tuple[MethodOutcome, ...]) -> Rows:
    """Return the casting methods as rows: a mark for each technique, the cheapest, or why none remains."""
    rows: Rows = []
    for method in methods:
        words = ["works" if ok else "out" for ok in method.feasible.values()]
        words += [method.cheapest or "none", "" if method.cost is None else money_text(method.cost), _why(method)]
        cells = [{"text": text, "key": None, "note": ""} for text in words]
        rows.append(
            {
                "key": method.method,
                "heading": method.method,
                "swatch": None,
                "standing": "" if method.cheapest else "out",
                "cells": cells,
                "chosen": method.method == result.case.method,
            }
        )
    return rows


def _why(method: MethodOutcome) -> str:
    """Return the reasons that rule techniques out under a method, each once."""
    return "; ".join(dict.fromkeys(reason for reason in method.reasons.values() if reason))
