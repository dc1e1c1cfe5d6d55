"""What leaves the notebook: self-contained pages, pictures, for the shop and for a client."""

from __future__ import annotations

import datetime
import html
import importlib.resources
import json
from pathlib import Path
from typing import Any

from moldkit.errors import InputError
from moldkit.files import write_atomic, written_together
from moldkit.study.client_offer import ClientOffer, OfferLine
from moldkit.study.compare import Comparison
from moldkit.study.curves import curve_table
from moldkit.study.quote import quote
from moldkit.study.sweep import decision_map, map_axes
from moldkit.units import cents_text, count_text
from moldkit.views.charts import Figure, cost_chart
from moldkit.views.client_chart import price_chart
from moldkit.views.map_chart import map_chart
from moldkit.views.offer_page.words import day_text
from moldkit.views.pictures import Kind, pictures, plain_value
from moldkit.views.sheets.printing import Printing, printed
from moldkit.views.svg_ids import numbered_ids
from moldkit.views.tables import comparison_rows
from moldkit.views.verdict import castings, verdict

SHOP_PAGE, CLIENT_PAGE, CLIENT_PRICE = "shop.html", "client.html", "client-price"
PICTURED: tuple[Kind, ...] = ("svg", "png")
NO_CLIENT_PAGE = "no client page: nothing works as asked, so there is no price to show."
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
    offer = quote(result, date=date).for_client()
    words = [*_offered(offer), *offer.terms]
    return _page(price_title(offer), words, [price_chart(offer, height=460)], offer_rows(offer), _shown_by(offer))


def price_title(offer: ClientOffer) -> str:
    """Return the title that states the finding."""
    return f"{offer.job}: {castings(offer.run)} at {cents_text(offer.asked.each / 100)} {offer.currency} each"


def offer_rows(offer: ClientOffer) -> list[list[str]]:
    """Return the listed runs with what they are charged, the head first; a column that tells nothing is left out."""
    columns = {"each": f"Each, {offer.currency}", "tooling": "Mold, once", "subtotal": "Together"}
    if not any(line.tooling for line in offer.lines):
        del columns["tooling"]
    if offer.tax:
        columns |= {"tax": offer.tax_label[:1].upper() + offer.tax_label[1:], "total": "In all"}
    rows = [["Castings", *columns.values(), ""]]
    for line in offer.lines:
        cents = [cents_text(getattr(line, name) / 100) for name in columns]
        rows.append([count_text(line.run), *cents, _remark(offer, line)])
    return rows


def _remark(offer: ClientOffer, line: OfferLine) -> str:
    said = ["as asked"] if line.run == offer.run else []
    said += ["least charge"] if line.least else []
    said += [f"charged as {count_text(line.as_for)}"] if line.as_for != line.run else []
    return ", ".join(said)


def _offered(offer: ClientOffer) -> list[str]:
    asked = offer.asked
    words = f"{castings(offer.run)} in {offer.material}, {cents_text(asked.total / 100)} {offer.currency} in all."
    dates = ""
    if asked.first_casting and asked.delivery:
        dates = f"First casting on {day_text(asked.first_casting)}, the last on {day_text(asked.delivery)}."
    return [words, dates]


def _shown_by(offer: ClientOffer) -> str:
    return f"{offer.letterhead.name}, {day_text(offer.date)}."


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
    text = json.dumps(value, default=plain_value, allow_nan=False)
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


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

    printing: how the sheets are printed, None for the cheapest technique in metric units, today. All is made before
    anything is written, and written whole or not at all; the sheets stand in a folder of their own. With nothing
    feasible the client page of an earlier export goes. PNG and SVG need an installed browser; without one the rest is
    written all the same and a sentence says so. Raises InputError where it cannot be written; nothing is changed then.
    """
    wanted = printing or Printing()
    sheets = printed(result, wanted)
    pages, figures = _pages(result, wanted.date)
    drawn = pictures(figures, PICTURED)
    files = {name: page.encode("utf-8") for name, page in pages.items()} | _steady(drawn.files)
    said = [] if CLIENT_PAGE in pages else [NO_CLIENT_PAGE]
    gone = () if CLIENT_PAGE in pages else (CLIENT_PAGE, *(f"{CLIENT_PRICE}.{kind}" for kind in PICTURED))
    with written_together(folder, files, gone) as places:
        written = sheets.write(folder)
    return [f"written: {path}" for path in places] + said + written + list(drawn.said)


def _pages(result: Comparison, date: datetime.date | None) -> tuple[dict[str, str], dict[str, Figure]]:
    """Return the pages by file name, and the charts to be drawn as pictures."""
    pages = {SHOP_PAGE: shop_page(result, date)}
    figures = {
        "cost": cost_chart(curve_table(result, DRAWN_TO), title=verdict(result).sentence, height=640),
        "map": _map_figure(result, 640),
    }
    if result.cheapest is not None:
        pages[CLIENT_PAGE] = client_page(result, date)
        offer = quote(result, date=date).for_client()
        figures[CLIENT_PRICE] = price_chart(offer, title=price_title(offer), height=640)
    return pages, figures


def _steady(files: dict[str, bytes]) -> dict[str, bytes]:
    """Return pictures of which a drawing is the same bytes whenever it is drawn."""
    return {name: numbered_ids(drawn) if name.endswith(".svg") else drawn for name, drawn in files.items()}
