"""The load checks as a sheet: what passes, what wants care, what must not be done, with the figures behind it."""

from __future__ import annotations

import math
from collections.abc import Sequence

from moldkit.loads.check import LoadCheck
from moldkit.quantity import Quantity
from moldkit.views.paper.document import (
    Cell,
    Check,
    CheckList,
    Column,
    Document,
    KeyFigure,
    KeyFigures,
    Number,
    Page,
    Sentence,
    Table,
)
from moldkit.views.sheets.bench import Bench, sentence
from moldkit.views.sheets.in_units import figure_scale

ORDINARY = (
    "Ordinary statics with the safety factors named; they hold for a mold built as planned. For anything that holds "
    "pressure the rated limit on its plate and its inspector decide, never a sum on paper."
)

# A greater safety factor says no more than this one does.
MOST_TOLD = 100


def load_sheet(bench: Bench, checks: Sequence[LoadCheck]) -> Document:
    """Return the sheet of load checks, the gravest first."""
    order = {"stop": 0, "caution": 1, "pass": 2}
    ranked = sorted(checks, key=lambda check: order[check.level])
    counts = [sum(check.level == level for check in ranked) for level in ("pass", "caution", "stop")]
    keys = [KeyFigure(word, Number(n)) for word, n in zip(("Pass", "Caution", "Stop"), counts, strict=True)]
    system = bench.system
    listed = tuple(
        Check(c.level, sentence(c.name).rstrip("."), c.words_in(system), c.remedy_in(system)) for c in ranked
    )
    blocks = (KeyFigures(tuple(keys)), CheckList("", listed), _figures(bench, ranked), Sentence(ORDINARY))
    return bench.document("Load checks", Page("loads", "Will it hold? Load checks", blocks))


def _figures(bench: Bench, checks: Sequence[LoadCheck]) -> Table:
    rows = tuple(_row(bench, check) for check in checks)
    columns = (
        Column("What was worked out", wide=True),
        Column("Figure"),
        Column("Held against"),
        Column("Unit"),
        Column("Safety factor"),
    )
    return Table("The figures", columns, rows)


def _row(bench: Bench, check: LoadCheck) -> tuple[Cell, ...]:
    figure = check.figure.at(0)
    scale = figure_scale([figure] if math.isfinite(figure) else [], check.figure.unit, bench.system)

    def cell(q: Quantity | None) -> Cell:
        if q is None or q.unit != check.figure.unit:
            return ""
        return scale.of(q.at(0)) if math.isfinite(q.at(0)) else "without end"

    safety = math.nan if check.safety is None else check.safety.at(0)
    factor: Cell = Number(safety, 1) if safety < MOST_TOLD else ("" if math.isnan(safety) else f"over {MOST_TOLD}")
    return f"{check.name}: {check.figure.name}", cell(check.figure), cell(check.limit), scale.typeset, factor
