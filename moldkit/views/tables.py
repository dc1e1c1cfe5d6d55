"""Tables for people: the techniques side by side, a pattern's measures, a figure's working."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from moldkit.quantity import Quantity, working
from moldkit.study.assess import Outcome
from moldkit.study.compare import Comparison
from moldkit.study.facts import Fact
from moldkit.units import System, number_text, show
from moldkit.views.survey_words import length_words

HOUR = 3600.0


@dataclass(frozen=True)
class TableColumn:
    """A column of the comparison: its name, the figure of each technique (None where there is none), money or not."""

    heading: str
    figure: Callable[[Comparison, Outcome], Quantity | None]
    money: bool = False

    def headed(self, currency: str) -> str:
        """Return the heading as shown; money says its currency there, once, and not in every cell."""
        return f"{self.heading}, {currency}" if self.money else self.heading


def _per_casting(result: Comparison, outcome: Outcome) -> Quantity | None:
    total = result.total(outcome)
    if total is None:
        return None
    run = Quantity("run", float(result.case.run), "castings", source="the job")
    return Quantity("cost of a casting", total.value / run.value, "money", "cost of the run / run", (total, run))


COLUMNS: tuple[TableColumn, ...] = (
    TableColumn("Rubber", lambda result, outcome: outcome.plan["rubber_mass"]),
    TableColumn("Hours, first mold", lambda result, outcome: outcome.attended_first),
    TableColumn("First mold", lambda result, outcome: outcome.first, money=True),
    TableColumn("Remake", lambda result, outcome: outcome.remake, money=True),
    TableColumn("Mold life", lambda result, outcome: result.life(outcome)),
    TableColumn("Molds for the run", lambda result, outcome: result.molds(outcome)),
    TableColumn("Total", lambda result, outcome: result.total(outcome), money=True),
    TableColumn("Per casting", _per_casting, money=True),
)


def comparison_rows(result: Comparison, system: System = "metric") -> list[list[str]]:
    """Return the comparison as rows of text, the headings first; infeasible techniques stay, marked "out"."""
    rows = [["Technique", *(column.headed(result.currency) for column in COLUMNS), "Verdict"]]
    for outcome in result.outcomes:
        figures = [column.figure(result, outcome) for column in COLUMNS]
        rows.append([outcome.name, *(figure_text(q, result, system) for q in figures), standing(result, outcome)])
    return rows


def fact_rows(facts: Sequence[Fact], system: System = "metric") -> list[list[str]]:
    """Return what is known of a pattern as rows of text: what, the figure, "measured", "declared" or "assumed"."""
    rows = []
    for fact in facts:
        value = fact.value if isinstance(fact.value, str) else _fact_text(fact.value, system)
        rows.append([fact.name, value, f"{fact.origin} ({fact.note})" if fact.note else fact.origin])
    return rows


def _fact_text(figure: Quantity, system: System) -> str:
    if figure.unit == "m":
        return length_words(figure.at(0), system)
    counted = figure.unit in ("1", "pieces")
    return number_text(figure.at(0)) if counted else show(figure.at(0), figure.unit, system)


def standing(result: Comparison, outcome: Outcome) -> str:
    """Return how a technique stands: "cheapest", "out: first reason", or the extra cost against the cheapest."""
    rule = outcome.ruled_out_by()
    if rule:
        return f"out: {rule}"
    best = result.cheapest
    if best is outcome:
        return "cheapest"
    total, least = result.total(outcome), result.total(best) if best else None
    if total is None or least is None:
        return ""
    return f"+{100 * (total.value / least.value - 1):.{1 if total.value < 1.1 * least.value else 0}f} %"


def figure_text(figure: Quantity | None, result: Comparison, system: System) -> str:
    """Return a figure as shown in the table."""
    if figure is None:
        return "no data"
    if figure.unit == "s":
        return f"{number_text(figure.at(0) / HOUR)} h"
    text = show(figure.at(0), figure.unit, system)
    return text.removesuffix(f" {figure.unit}") if figure.unit in ("pours", "molds") else text


def text_table(rows: Sequence[Sequence[str]]) -> str:
    """Return rows as lines of text with aligned columns, the first row underlined; figures to the right."""
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    last = len(widths) - 1

    def line(row: Sequence[str]) -> str:
        cells = [
            cell.ljust(widths[place]) if place in (0, last) else cell.rjust(widths[place])
            for place, cell in enumerate(row)
        ]
        return "  ".join(cells).rstrip()

    return "\n".join([line(rows[0]), "  ".join("-" * width for width in widths), *(line(row) for row in rows[1:])])


def findings_text(result: Comparison, system: System = "metric") -> str:
    """Return the findings of every technique as lines of text, those that all share said once."""
    per_technique = {o.name: o.findings(system=system, currency=result.currency) for o in result.outcomes}
    lines: list[str] = []
    first, *others = per_technique.values()
    shared = [finding for finding in first if all(finding in found for found in others)]
    for name, found in [("all techniques", shared), *per_technique.items()]:
        for finding in found:
            if finding in shared and name != "all techniques":
                continue
            lines.append(f"{finding.level:8} {name}: {finding.words} {finding.remedy}")
    return "\n".join(lines)


def working_text(figure: Quantity, system: System = "metric", currency: str = "", depth: int = 3) -> str:
    """Return the working of a figure as indented lines of text, `depth` levels down."""
    lines = []
    for line in working(figure, system=system, currency=currency, depth=depth):
        how = f" = {line.formula}" if line.formula else ""
        put_in = f" ({line.put_in})" if line.put_in else ""
        source = f" [{line.source}]" if line.source else ""
        lines.append(f"{'  ' * line.depth}{line.name}: {line.result}{how}{put_in}{source}")
    return "\n".join(lines)
