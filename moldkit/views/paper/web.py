"""A document as a page for a browser: self-contained, escaped, and printable on A4 and Letter."""

from __future__ import annotations

import base64
import html

from moldkit.views.paper.document import (
    Block,
    CautionBox,
    Cell,
    Check,
    CheckList,
    ClockTimes,
    Document,
    FillIn,
    Heading,
    KeyFigures,
    Number,
    Page,
    Paper,
    Picture,
    Sentence,
    Table,
    Tick,
    TickGrid,
)
from moldkit.views.paper.safe_text import safe_text

STYLE = """
.sheet{font:17px/1.4 'DejaVu Sans Condensed','Segoe UI','Helvetica Neue',Arial,'DejaVu Sans',sans-serif;color:#000;
background:#fff;max-width:46rem;margin:0 auto 3rem;overflow-wrap:anywhere}
.sheet h1{font-size:1.7em;line-height:1.2;margin:.4em 0 .1em} .sheet h2{font-size:1.12em;margin:1.1em 0 .4em}
.sheet p{margin:.4em 0} .sheet .under{border-bottom:2px solid #000;padding-bottom:.35em}
.sheet .keys{display:flex;flex-wrap:wrap;gap:.6em;margin:.7em 0}
.sheet .keys div{flex:1 1 11em;border:1.5px solid #000;padding:.35em .6em}
.sheet .keys span{display:block;font-size:.85em} .sheet .keys b{font-size:1.35em}
.sheet table{border-collapse:collapse;width:100%;font-variant-numeric:tabular-nums}
.sheet th{background:#e4e4e4;border-bottom:2px solid #000;text-align:left;vertical-align:bottom}
.sheet th{overflow-wrap:normal}
.sheet th,.sheet td{padding:.32em .5em} .sheet td{border-bottom:1px solid #888;overflow-wrap:break-word}
.sheet .figure{text-align:right;white-space:nowrap} .sheet .wide{width:40%}
.sheet .total td{font-weight:bold;border-top:2px solid #000}
.sheet .box{display:inline-block;width:1.1em;height:1.1em;border:1.5px solid #000;vertical-align:-.2em}
.sheet .line{display:inline-block;min-width:5em;width:100%;height:1em;border-bottom:1px solid #000}
.sheet .ticks{display:grid;gap:.25em}
.sheet .ticks span{border:1.5px solid #000;height:1.9em;font-size:.85em;padding:0 .25em;color:#333}
.sheet .check{display:flex;gap:.7em;margin:.4em 0;break-inside:avoid}
.sheet .mark{flex:0 0 5.4em;height:1.5em;border:1.5px solid #000;text-align:center;font-weight:bold;font-size:.9em}
.sheet .note{border-style:dashed} .sheet .caution{background:#cdcdcd;border-width:2.5px}
.sheet .stop{background:#000;color:#fff}
.sheet .clock{border:1.5px solid #000;text-align:center;font-weight:bold;min-width:6em}
.sheet .warning{border:3px solid #000;padding:.5em .8em;margin:.8em 0;break-inside:avoid}
.sheet .warning b:first-child{background:#000;color:#fff;padding:.1em .5em}
.sheet img{max-width:100%} .sheet .foot{font-size:.8em;border-top:1px solid #888;margin-top:1em}
@media print{.sheet{max-width:none;margin:0;font-size:9.6pt;line-height:1.28;break-after:page;print-color-adjust:exact;
-webkit-print-color-adjust:exact} .sheet:last-child{break-after:auto} .sheet h2{break-after:avoid}
.sheet thead{display:table-header-group} .sheet tr{break-inside:avoid}
.sheet th,.sheet td{padding:.22em .45em} .sheet h2{margin:.7em 0 .3em} .sheet .keys{gap:.35em;margin:.4em 0}
.sheet tbody tr:first-child{break-after:avoid} .sheet tbody tr:last-child{break-before:avoid}}
"""


def web_page(document: Document, paper: Paper = "A4") -> str:
    """Return the document as one HTML page that asks for nothing outside itself; paper: what it prints on."""
    size = f"@page{{size:{'letter' if paper == 'Letter' else 'A4'};margin:13mm 14mm 14mm 17mm}}"
    title = _text(f"{document.job}: {document.title}")
    return (
        '<!doctype html><html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width,initial-scale=1">'
        f"<title>{title}</title><style>{size}{STYLE}</style></head><body>{web_sheets(document)}</body></html>\n"
    )


def web_sheets(document: Document) -> str:
    """Return the sheets of a document as HTML to stand within another page, which brings `STYLE` along."""
    return "".join(_sheet(document, page) for page in document.pages)


def _sheet(document: Document, page: Page) -> str:
    day = document.date.isoformat()
    under = _text(f"{document.job} · {document.shop} · {day}")
    foot = _text(f"{document.shop} · {document.job} · {page.name} · {day}")
    body = "".join(_block(block) for block in page.blocks)
    return (
        f'<article class="sheet"><h1>{_text(page.title)}</h1><p class="under">{under}</p>{body}'
        f'<p class="foot">{foot}</p></article>'
    )


def _text(text: str) -> str:
    """Return words that stay words in HTML; each keeps its own direction and turns nothing round it."""
    return html.escape(safe_text(text), quote=True)


def _own(text: str) -> str:
    return f"<bdi>{_text(text)}</bdi>"


def _titled(title: str) -> str:
    return f"<h2>{_text(title)}</h2>" if title else ""


def _block(block: Block) -> str:
    match block:
        case Heading(text):
            return _titled(text)
        case Sentence(text, strong):
            return f"<p><b>{_own(text)}</b></p>" if strong else f"<p>{_own(text)}</p>"
        case KeyFigures():
            return _keys(block)
        case Table():
            return _table(block)
        case TickGrid(title, boxes, in_a_row):
            cells = "".join(f"<span>{_text(box)}</span>" for box in boxes)
            style = f"grid-template-columns:repeat({int(in_a_row)},1fr)"
            return f'{_titled(title)}<div class="ticks" style="{style}">{cells}</div>'
        case CheckList(title, checks):
            return _titled(title) + "".join(_check(check) for check in checks)
        case ClockTimes():
            return _times(block)
        case CautionBox(title, words):
            lines = "".join(f"<p>{_own(line)}</p>" for line in words)
            return f'<div class="warning"><b>{_text(title)}</b>{lines}</div>'
        case Picture(svg, words, share):
            code = base64.b64encode(svg.encode("utf-8")).decode("ascii")
            width = f"width:{100 * share:.0f}%"
            return f'<p><img alt="{_text(words)}" style="{width}" src="data:image/svg+xml;base64,{code}"></p>'


def _keys(block: KeyFigures) -> str:
    cells = ""
    for key in block.figures:
        value = key.value.text if isinstance(key.value, Number) else key.value
        unit = f" {_text(key.unit)}" if key.unit else ""
        cells += f"<div><span>{_text(key.label)}</span><b>{_text(value)}</b>{unit}</div>"
    return f'<div class="keys">{cells}</div>'


def _table(table: Table) -> str:
    columns = range(len(table.columns))
    kinds = ["figure" if any(isinstance(row[place], Number) for row in table.rows) else "" for place in columns]
    kinds = ["wide" if column.wide else kind for column, kind in zip(table.columns, kinds, strict=True)]
    head = "".join(
        f'<th scope="col" class="{kind}">{_text(column.headed)}</th>'
        for column, kind in zip(table.columns, kinds, strict=True)
    )
    body = ""
    for place, row in enumerate(table.rows):
        total = ' class="total"' if table.total and place == len(table.rows) - 1 else ""
        cells = "".join(f'<td class="{kind}">{_cell(cell)}</td>' for cell, kind in zip(row, kinds, strict=True))
        body += f"<tr{total}>{cells}</tr>"
    return f"{_titled(table.title)}<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"


def _cell(cell: Cell) -> str:
    match cell:
        case Tick():
            return '<span class="box" role="img" aria-label="box to tick"></span>'
        case FillIn():
            return '<span class="line" role="img" aria-label="to fill in"></span>'
        case Number():
            return _text(cell.text)
        case _:
            return _own(cell)


def _check(check: Check) -> str:
    name = f"<b>{_text(check.name)}.</b> " if check.name else ""
    remedy = f" <b>{_text(check.remedy)}</b>" if check.remedy else ""
    words = f"<span>{name}{_text(check.words)}{remedy}</span>"
    return f'<div class="check"><span class="mark {check.mark}">{check.mark.upper()}</span>{words}</div>'


def _times(block: ClockTimes) -> str:
    rows = "".join(
        f'<tr><td>{_own(time.label)}</td><td>{_own(time.after)}</td><td class="clock">{_text(time.at or ":")}</td></tr>'
        for time in block.times
    )
    return f"{_titled(block.title)}<table><tbody>{rows}</tbody></table>"
