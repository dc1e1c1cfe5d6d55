"""The load checks as a sheet: what passes, what wants care, what must not be done, with the figures behind it."""

from __future__ import annotations

import math
from collections.abc import Sequence

from moldkit.loads.check import LoadCheck
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
from moldkit.views.sheets.in_units import figure_scale, finely

ORDINARY = (
    "Ordinary statics with the safety factors named; they hold for a mold built as planned. For anything that holds "
    "pressure the rated limit on its plate and its inspector decide, never a sum on paper."
)

# A greater safety factor says no more than this one does.
MOST_TOLD = 100
NEXT_TO_NOTHING = 1000


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
    figure, unit = check.figure.at(0), check.figure.unit
    limit = None if check.limit is None or check.limit.unit != unit else check.limit.at(0)
    told = [q for q in (figure, limit) if q is not None and math.isfinite(q)]
    # In the unit of the greater one, unless the figure is next to nothing beside it.
    least = [figure] if math.isfinite(figure) and max(told) > NEXT_TO_NOTHING * abs(figure) > 0 else told
    scale = finely(figure_scale(least, unit, bench.system), told)

    def cell(value: float | None) -> Cell:
        if value is None:
            return ""
        return scale.of(value) if math.isfinite(value) else "without end"

    safety = math.nan if check.safety is None else check.safety.at(0)
    factor: Cell = Number(safety, 1) if safety < MOST_TOLD else ("" if math.isnan(safety) else f"over {MOST_TOLD}")
    return f"{check.name}: {check.figure.name}", cell(figure), cell(limit), scale.typeset, factor
