"""Parts of the page for a plan: load checks whose workings open on demand, sheets in a frame of their own."""

from __future__ import annotations

import html
from collections.abc import Sequence

from moldkit.loads.check import LoadCheck
from moldkit.quantity import working
from moldkit.units import System
from moldkit.views.paper.document import Document, Paper, bound
from moldkit.views.paper.web import web_page
from moldkit.views.plan_tables import graver_first, safety_text

DEPTH = 4
STYLE = """<style>
.moldkit-checks{margin:0;padding:0;list-style:none;font-size:14px;line-height:1.4;max-width:110ch}
.moldkit-checks li{border-top:1px solid var(--jp-border-color2,#d0d7de);padding:6px 0}
.moldkit-checks summary{cursor:pointer;display:flex;gap:10px;align-items:baseline}
.moldkit-checks summary:focus-visible{outline:2px solid #0b5cad;outline-offset:1px}
.moldkit-checks .mark{flex:0 0 5.4em;text-align:center;border:1.5px solid currentColor;font-weight:bold;font-size:12px}
.moldkit-checks .caution{background:#7a4f00;border-color:#7a4f00;color:#fff}
.moldkit-checks .stop{background:#b3261e;border-color:#b3261e;color:#fff}
.moldkit-checks p{margin:2px 0 2px 7em} .moldkit-checks .todo{font-weight:600}
.moldkit-checks table{margin:4px 0 4px 7em;border-collapse:collapse;font-size:13px}
.moldkit-checks th,.moldkit-checks td{text-align:left;vertical-align:top;padding:1px 12px 1px 0;font-weight:normal}
</style>"""


def checks_html(checks: Sequence[LoadCheck], system: System, currency: str) -> str:
    """Return load checks as a list for the page, the gravest first; each opens to show its working."""
    lines = "".join(_check(check, system, currency) for check in graver_first(checks))
    return f'{STYLE}<ul class="moldkit-checks" aria-label="Load checks">{lines}</ul>'


def _check(check: LoadCheck, system: System, currency: str) -> str:
    words, remedy = html.escape(check.words_in(system)), html.escape(check.remedy_in(system))
    todo = f'<p class="todo">{remedy}</p>' if remedy else ""
    mark = f'<span class="mark {check.level}">{check.level.upper()}</span>'
    return (
        f'<li data-level="{check.level}"><details><summary>{mark}'
        f"<b>{html.escape(check.name)}</b><span>{_factor(check)}</span></summary>{_working(check, system, currency)}"
        f"</details><p>{words}</p>{todo}</li>"
    )


def _factor(check: LoadCheck) -> str:
    factor = safety_text(check.safety)
    return f"safety factor {html.escape(factor)}; open for the working" if factor else "open for the working"


def _working(check: LoadCheck, system: System, currency: str) -> str:
    """Return the working of a check's figure, of its limit and of its safety factor, with the source of the rule."""
    figures = [check.figure, *(q for q in (check.limit, check.safety) if q is not None)]
    told, lines = set(), []
    for figure in figures:
        for line in working(figure, system=system, currency=currency, depth=DEPTH):
            row = (line.name, line.result, line.formula, line.put_in, line.source)
            if row not in told:
                told.add(row)
                lines.append(_row(line.depth, row))
    head = "".join(f'<th scope="col">{words}</th>' for words in ("figure", "is", "how", "put in", "source"))
    ends = f"Rule: {check.source}." + (f" Holds for {check.holds_for}." if check.holds_for else "")
    return f"<table><thead><tr>{head}</tr></thead><tbody>{''.join(lines)}</tbody></table><p>{html.escape(ends)}</p>"


def _row(depth: int, cells: Sequence[str]) -> str:
    first, *rest = (html.escape(cell) for cell in cells)
    indent = f' style="padding-left:{depth}em"' if depth else ""
    return f'<tr><th scope="row"{indent}>{first}</th>{"".join(f"<td>{cell}</td>" for cell in rest)}</tr>'


def sheets_frame(documents: Sequence[Document], paper: Paper, height: int) -> str:
    """Return the sheets in a frame of their own, in which nothing can run or ask for anything; height: [px]."""
    page = html.escape(web_page(bound(documents), paper), quote=True)
    style = f"width:100%;height:{height}px;border:1px solid #7d8590;background:#fff;box-sizing:border-box"
    title = "The bench sheets as they print"
    return f'<iframe title="{title}" sandbox="" tabindex="0" style="{style}" srcdoc="{page}"></iframe>'
