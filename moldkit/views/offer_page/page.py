"""The page that is left with a client: one file, prices and dates of every run and size in it, nothing of the costs."""

from __future__ import annotations

import base64
import hashlib
import importlib.resources
import json
import re
from collections.abc import Mapping, Sequence
from typing import Any

from moldkit.study.client_offer import ClientOffer
from moldkit.units import System
from moldkit.views.offer_page.colours import colour_rules
from moldkit.views.offer_page.grid import slider_runs
from moldkit.views.offer_page.record import Told, names_of, record, told
from moldkit.views.offer_page.words import (
    chosen_text,
    date_rows,
    day_text,
    money,
    own,
    plain,
    remark,
    sum_rows,
    table_rows,
)

SCRIPTS = ("arithmetic.js", "words.js", "chart.js", "shown.js", "controls.js")
# How the days of runs that are not planned one by one are found, see `moldkit.study.quote_dates`.
DATES_SMALL = (
    "Dates are on the safe side: a run that is not planned by itself takes its date from the next longer one that is, "
    "and no run is dated before a shorter one."
)
# Letters of a name that still stands well in large print.
LARGE = 60
_PLACE = re.compile(r"\{\{(\w+)\}\}")


def offer_page(
    offer: ClientOffer,
    others: Sequence[ClientOffer] = (),
    *,
    sizes: Sequence[float] = (),
    note: str = "",
    system: System = "metric",
) -> str:
    """Return a page that works by itself, without a network: sliders, prices, dates, a chart, a table, the terms.

    offer: as asked for; others: the same piece in other materials and finishes, to choose from; sizes: longest sides
    [m] to choose from, none for round ones about the one asked for; note: words to the client; system: units of sizes.
    Raises InputError for choices that cannot be told apart, or sizes out of bounds.
    """
    page = told(offer, others, sizes=sizes, system=system)
    return _filled(_file("page.html"), _names(page, note) | _controls(page) | _figures(page) | _code(page))


def _file(name: str) -> str:
    return (importlib.resources.files("moldkit.views.offer_page") / name).read_text("utf-8")


def _filled(template: str, values: Mapping[str, str]) -> str:
    """Return the template with its places filled in one go, so that nothing in a value is taken for a place."""
    return _PLACE.sub(lambda place: values[place[1]], template)


def _names(page: Told, note: str) -> dict[str, str]:
    offer, shop = page.asked, page.asked.letterhead
    made_of = names_of(offer, page.offers) if len(page.offers) == 1 else ()
    days = f"offer of {day_text(offer.date)}, valid until {day_text(offer.valid_until)}"
    apart = (", before tax" if offer.tax else "") + (", the mold charged apart" if _charged_apart(page) else "")
    return {
        "title": plain(f"{offer.job}: prices by {shop.name}"),
        "logo": f'<img class="logo" alt="" src="{shop.logo.address}">' if shop.logo else "",
        "shop": plain(shop.name),
        "job": plain(offer.job),
        "h1_class": "long" if len(offer.job) > LARGE else "",
        "under": ", ".join([*(own(words) for words in made_of if words), days]),
        "note": f'<p class="note" dir="auto">{_lines(note)}</p>' if note.strip() else "",
        "chart_small": f"{own(shop.name)}, {day_text(offer.date)}. Prices of a casting in {plain(offer.currency)}"
        f"{apart}. Both scales are logarithmic: equal steps are equal factors.",
    }


def _charged_apart(page: Told) -> bool:
    return any(bool((table.tooling > 0).any()) for table in page.tables)


def _lines(note: str) -> str:
    return "\n".join(plain(line) for line in note.strip().splitlines())


def _controls(page: Told) -> dict[str, str]:
    sizes, stops = page.shown_sizes, slider_runs(page.runs, page.asked)
    return {
        "unit": page.unit,
        "run": str(page.asked.run),
        "most_run": str(page.runs[-1]),
        "last_slider": str(len(stops) - 1),
        "slider": str(stops.index(page.asked.run)),
        "size": f"{sizes[page.asked_size]:g}",
        "least_size": f"{sizes[0]:g}",
        "most_size": f"{sizes[-1]:g}",
        "last_size": str(len(sizes) - 1),
        "size_place": str(page.asked_size),
    }


def _figures(page: Told) -> dict[str, str]:
    offer, table = page.asked, page.tables[0]
    lines = {line.run: line for place in range(len(page.runs)) if (line := table.line(page.asked_size, place))}
    asked = lines[offer.run]
    size = f"{page.shown_sizes[page.asked_size]:g} {page.unit}" if len(page.sizes) > 1 else ""
    made_of = names_of(offer, page.offers) if len(page.offers) > 1 else ()
    listed = sorted({offer.run, *(line.run for line in offer.lines)} & set(lines))
    heads = ("Castings", f"Each, {offer.currency}", f"Together, {offer.currency}", *("Delivery",) * page.dated)
    chosen = chosen_text(offer.run, size, made_of)
    return {
        "chosen": plain(chosen),
        "currency": plain(offer.currency),
        "each": money(asked.each),
        "sum": sum_rows(asked, offer),
        "dates": date_rows(asked),
        "remark": plain(remark(asked)),
        "heads": "".join(f'<th scope="col">{plain(head)}</th>' for head in heads),
        "rows": table_rows((lines[run] for run in listed), offer.run, dated=page.dated),
        "dates_small": f'<p class="small">{plain(DATES_SMALL)}</p>' if page.dated else "",
        "terms": "".join(f'<li dir="auto">{plain(words)}</li>' for words in offer.terms),
        "asked_as": f"As asked: {own(chosen)}, at {money(asked.each)} each, together {money(asked.total)} "
        f"{plain(offer.currency)}.",
    }


def _code(page: Told) -> dict[str, str]:
    style = colour_rules(page.asked.letterhead.colours) + _file("page.css")
    script = "(() => {\n" + '"use strict";\n' + "\n".join(_file(name) for name in SCRIPTS) + "})();\n"
    policy = (
        f"default-src 'none'; img-src data:; style-src {_fingerprint(style)}; script-src {_fingerprint(script)}; "
        "base-uri 'none'; form-action 'none'"
    )
    return {"style": style, "script": script, "policy": policy, "offer": _json(record(page))}


def _fingerprint(text: str) -> str:
    """Return what lets exactly this text run: Content Security Policy Level 3, hash sources."""
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode('utf-8')).digest()).decode('ascii')}'"


def _json(value: Any) -> str:
    """Return JSON that can stand inside a script element."""
    text = json.dumps(value, ensure_ascii=True, allow_nan=False, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")
