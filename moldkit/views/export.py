"""What leaves the notebook: self-contained pages, pictures, for the shop and for a client."""

from __future__ import annotations

import datetime
import html
import importlib.resources
import json
import shutil
from pathlib import Path
from typing import Any

import numpy as np

from moldkit.errors import InputError
from moldkit.files import write_atomic
from moldkit.study.compare import Comparison
from moldkit.study.curves import curve_table
from moldkit.study.price import PriceTable, price_table
from moldkit.study.sweep import decision_map, map_axes
from moldkit.units import cents_text, count_text, money_text
from moldkit.views.charts import Figure, cost_chart
from moldkit.views.client_chart import price_chart
from moldkit.views.map_chart import map_chart
from moldkit.views.sheets.printing import Printing, printed
from moldkit.views.tables import comparison_rows
from moldkit.views.verdict import castings, verdict

BROWSERS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome", "msedge")
PICTURE_TIMEOUT_S = 60
# The run up to which a page draws the curves, or the run asked for where that is longer.
DRAWN_TO = 1_000
MAP_TITLE = "Where each technique is the cheapest"
CONFIG = {"displaylogo": False, "showSendToCloud": False, "responsive": True}
STYLE = """
body{font:17px/1.45 'Source Sans 3','Segoe UI',Arial,sans-serif;color:#222;background:#fff;
margin:2rem auto;max-width:62rem;padding:0 1rem}
h1{font-size:1.6rem;line-height:1.25}
table{border-collapse:collapse;margin:1.2rem 0;font-variant-numeric:tabular-nums}
th,td{padding:.3rem .8rem;border-bottom:1px solid #ddd;text-align:right}
td{white-space:nowrap}
th:first-child,td:first-child,td:last-child,th:last-child{text-align:left}
.small{color:#575757;font-size:.82rem} .scroll{overflow-x:auto}
@media print{body{margin:0;max-width:none}}
"""


def shop_page(result: Comparison, date: datetime.date | None = None) -> str:
    """Return a self-contained page for the shop: the verdict, both charts, the table with its costs.

    date: the day at its foot, None for today.
    """
    said = verdict(result)
    figures = [
        cost_chart(curve_table(result, DRAWN_TO), title="Cost over the run", height=460),
        _map_figure(result, 420),
    ]
    words = [said.sentence, said.ruled_out]
    title = f"{result.case.name}: {castings(result.case.run)}"
    return _page(title, words, figures, comparison_rows(result), _small(result, date))


def _map_figure(result: Comparison, height: int) -> Figure:
    axes = map_axes(result.case, result.longest)
    cells = decision_map(result.case, result.knowledge, result.reading, *axes)
    return map_chart(cells, run=result.case.run, longest=result.longest, title=MAP_TITLE, height=height)


def client_page(result: Comparison, date: datetime.date | None = None) -> str:
    """Return a self-contained page for a client: prices only; date: the day at its foot, None for today.

    Raises InputError when nothing is feasible.
    """
    table = price_table(result)
    rows = [["Castings", f"Each, {table.currency}", f"Together, {table.currency}", ""]]
    rows += [
        [count_text(run), cents_text(price), cents_text(total), "as asked" if run == table.run else ""]
        for run, price, total in table.breaks
    ]
    words = [
        f"{castings(table.run)} in {table.material}, {money_text(table.price * table.run)} {table.currency} together. "
        "A longer run brings the price of each down, because the mold is shared among more."
    ]
    return _page(price_title(table), words, [price_chart(table, height=460)], rows, _small(result, date))


def price_title(table: PriceTable) -> str:
    """Return the title that states the finding."""
    return f"{table.client}: {castings(table.run)} at {money_text(table.price)} {table.currency} each"


def _small(result: Comparison, date: datetime.date | None) -> str:
    day = (date or datetime.date.today()).isoformat()
    return f"{result.shop.text('name')}, {day}. An estimate from the shop's own figures, not an offer."


def _page(title: str, words: list[str], figures: list[Figure], rows: list[list[str]], small: str) -> str:
    script = (importlib.resources.files("plotly") / "package_data" / "plotly.min.js").read_text("utf-8")
    safe = html.escape(title)
    paragraphs = "".join(f"<p>{html.escape(text)}</p>" for text in words if text)
    charts = "".join(f'<div id="chart{n}" role="img" aria-label="{safe}"></div>' for n in range(len(figures)))
    calls = "".join(
        f"Plotly.newPlot('chart{n}',{_json(figure['data'])},{_json(figure['layout'])},{_json(CONFIG)});"
        for n, figure in enumerate(figures)
    )
    return (
        '<!doctype html><html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width,initial-scale=1">'
        f"<title>{safe}</title><style>{STYLE}</style></head><body><h1>{safe}</h1>{paragraphs}{charts}"
        f'<div class="scroll">{_table(rows)}</div><p class="small">{html.escape(small)}</p>'
        f"<script>{script}</script><script>{calls}</script></body></html>\n"
    )


def _table(rows: list[list[str]]) -> str:
    """Return rows as an HTML table, the first one its head."""

    def line(row: list[str], tag: str) -> str:
        return "<tr>" + "".join(f"<{tag}>{html.escape(cell)}</{tag}>" for cell in row) + "</tr>"

    body = "".join(line(row, "td") for row in rows[1:])
    return f"<table><thead>{line(rows[0], 'th')}</thead><tbody>{body}</tbody></table>"


def _json(value: Any) -> str:
    """Return JSON that can stand inside a script element."""
    text = json.dumps(value, default=_plain, allow_nan=False)
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def _plain(value: Any) -> Any:
    if isinstance(value, np.ndarray):
        return [None if isinstance(x, float) and not np.isfinite(x) else x for x in value.tolist()]
    if isinstance(value, np.generic):
        return value.item()
    raise TypeError(f"cannot be written as JSON: {type(value).__name__}")


def write_page(folder: Path, name: str, page: str) -> Path:
    """Write a page into a folder, made if missing; return where. Raises InputError when it cannot be written."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise InputError(f"{str(folder)!r}: cannot be made ({fault.strerror}); choose another folder.") from None
    write_atomic(folder / name, page.encode("utf-8"))
    return folder / name


def export_job(result: Comparison, folder: Path, printing: Printing | None = None) -> list[str]:
    """Write the pages, the bench sheets and the pictures of a job into a folder; return what to say of each.

    printing: how the sheets are printed, None for the cheapest technique in metric units, today. All sheets are made
    before anything is written, and stand in a folder of their own that is there whole or not at all. PNG and SVG need
    an installed browser; without one the rest is written all the same and a sentence says so.
    """
    wanted = printing or Printing()
    sheets = printed(result, wanted)
    said = [f"written: {write_page(folder, 'shop.html', shop_page(result, wanted.date))}"]
    curves = curve_table(result, DRAWN_TO)
    figures = {
        "cost": cost_chart(curves, title=verdict(result).sentence, height=640),
        "map": _map_figure(result, 640),
    }
    if result.cheapest is not None:
        said.append(f"written: {write_page(folder, 'client.html', client_page(result, wanted.date))}")
        table = price_table(result)
        figures["client-price"] = price_chart(table, title=price_title(table), height=640)
    else:
        said.append("no client page: nothing works as asked, so there is no price to show.")
    return said + sheets.write(folder) + _pictures(figures, folder)


def _pictures(figures: dict[str, Figure], folder: Path) -> list[str]:
    if not any(shutil.which(name) for name in BROWSERS):
        return ["no PNG and SVG: they need Chromium or Chrome; install one, or use the buttons in the notebook."]
    try:
        import kaleido
    except ModuleNotFoundError:
        return ["no PNG and SVG: the package kaleido is missing; install it, or use the buttons in the notebook."]
    said = []
    kaleido.start_sync_server(n=1, timeout=PICTURE_TIMEOUT_S, mathjax=False, silence_warnings=True)
    try:
        for name, figure in figures.items():
            for kind in ("svg", "png"):
                said.append(_picture(figure, folder / f"{name}.{kind}", kind))
    finally:
        kaleido.stop_sync_server(silence_warnings=True)
    return said


def _picture(figure: Figure, path: Path, kind: str) -> str:
    import kaleido

    plain = json.loads(json.dumps(figure, default=_plain))
    size = {"format": kind, "width": 1200, "height": plain["layout"]["height"], "scale": 2 if kind == "png" else 1}
    try:
        write_atomic(path, kaleido.calc_fig_sync(plain, opts=size))
    except InputError:
        raise
    except Exception as fault:
        # the picture-maker drives a browser and raises whatever that raises; the pages are written already
        return f"no {path.name}: the browser did not draw it ({type(fault).__name__}); use the buttons in the notebook."
    return f"written: {path}"
