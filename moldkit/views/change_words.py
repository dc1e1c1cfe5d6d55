"""A list of changes in words: for the shop with costs, for a client prices and dates only."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from itertools import groupby
from pathlib import Path
from typing import Any

from moldkit.study.case import KEYS, OVERRIDES, Case
from moldkit.study.client_choices import AS_CAST
from moldkit.study.job_file import plain_value
from moldkit.study.price_changes import Change, ChangeList, Reckoned
from moldkit.study.quote_words import short_day
from moldkit.units import System, count_text, show
from moldkit.views.offer_page.words import money

OTHER = "other changes"


def moved_words(what: str, before: int, after: int) -> str:
    """Return what a figure in whole cents does: "price each falls from 31.00 to 22.00"."""
    if before == after:
        return f"{what} stays at {money(after)}"
    return f"{what} {'rises' if after > before else 'falls'} from {money(before)} to {money(after)}"


def client_lines(
    changes: ChangeList, currency: str, system: System = "metric", *, brief: bool = False
) -> tuple[str, ...]:
    """Return the changes as a client may read them, a sentence a step: prices and dates, nothing of the shop's.

    brief: the price of a casting alone.
    Steps that are the shop's own affair are told as other changes, those that follow each other as one.
    """
    told = [(_what(steps[0], system, shop=False) if known else OTHER, steps) for known, steps in _for_clients(changes)]
    line = _brief_line if brief else _client_line
    return tuple(line(what, steps[0].before, steps[-1].after, currency) for what, steps in told)


def _for_clients(changes: ChangeList) -> Iterator[tuple[bool, list[Change]]]:
    for known, steps in groupby(changes.changes, key=lambda step: step.is_for_clients):
        listed = list(steps)
        yield from ((True, [step]) for step in listed) if known else ((False, listed),)


def _client_line(what: str, before: Reckoned, after: Reckoned, currency: str) -> str:
    told = [
        moved_words("price each", before.each, after.each),
        moved_words("together", before.together, after.together) + f" {currency}",
        _delivery(before.delivery, after.delivery),
    ]
    return f"{what}: {'; '.join(filter(None, told))}."


def _brief_line(what: str, before: Reckoned, after: Reckoned, currency: str) -> str:
    return f"{what}: {moved_words('price each', before.each, after.each)} {currency}."


def _delivery(before: datetime.date | None, after: datetime.date | None) -> str:
    if before is None or after is None or before == after:
        return ""
    return f"delivery {short_day(before)} becomes {short_day(after)}"


def shop_lines(changes: ChangeList, currency: str, system: System = "metric") -> tuple[str, ...]:
    """Return the changes as the shop reads them, a sentence a step: costs beside prices, and how it is made."""
    return tuple(
        f"{_what(step, system, shop=True)}: {'; '.join(_shop_figures(step.before, step.after, currency))}."
        for step in changes.changes
    )


def _shop_figures(before: Reckoned, after: Reckoned, currency: str) -> Iterator[str]:
    yield moved_words("cost each", before.cost_each, after.cost_each)
    yield moved_words("cost of the run", before.cost, after.cost) + f" {currency}"
    yield moved_words("price each", before.each, after.each)
    if words := _delivery(before.delivery, after.delivery):
        yield words
    if before.technique != after.technique:
        yield f"made as a {after.technique}, no longer as a {before.technique}"


def total_line(changes: ChangeList, currency: str, *, shop: bool = False) -> str:
    """Return what all changes come to in one sentence; shop: with the cost."""
    before, after = changes.before, changes.after
    if not changes.changes:
        return "Nothing differs."
    if shop:
        return f"Together: {'; '.join(_shop_figures(before, after, currency))}."
    return _client_line("Together", before, after, currency)


def _what(step: Change, system: System, *, shop: bool) -> str:
    """Return what changes in a step, in words."""
    told = [words for key in step.keys if (words := _key_words(key, step, system, shop))]
    return ", ".join(dict.fromkeys(told)) or OTHER


def _key_words(key: str, step: Change, system: System, shop: bool) -> str:
    before, after = step.before, step.after
    if key.startswith("pattern.") and key in step.keys and key.partition(".")[2] in _PIECE:
        return _piece(before, after, system)
    if key == "casting.run":
        return f"run {count_text(before.case.run)} to {count_text(after.case.run)}"
    if key == "casting.material":
        return f"material {before.case.material} to {after.case.material}"
    if key == "casting.method":
        return f"{before.case.method} to {after.case.method}" if shop else f"cast {before.made} to {after.made}"
    if key == "casting.wall" and not shop and None in (before.case.wall, after.case.wall):
        return ""
    if key in ("casting.due", "plan.start", "plan.molds") and not shop:
        return "the date"
    if key in ("quote.finish", "quote.finish_time", "quote.finish_cost") and not (shop and key != "quote.finish"):
        return f"finish {before.finish or AS_CAST} to {after.finish or AS_CAST}"
    words = key.partition(".")[2].replace("_", " ")
    return f"{words} {_value(before.case, key)} to {_value(after.case, key)}"


_PIECE = ("mesh", "unit", "bodies", "mend", "form", "size", "longest")


def _piece(before: Reckoned, after: Reckoned, system: System) -> str:
    sizes = f"size {show(before.longest, 'm', system)} to {show(after.longest, 'm', system)}"
    one, other = _pattern(before.case), _pattern(after.case)
    if one == other:
        return sizes
    return f"piece {one} to {other}" + ("" if before.longest == after.longest else f", {sizes}")


def _pattern(case: Case) -> str:
    return Path(case.mesh).name if case.mesh else f"a {case.form}"


def _value(case: Case, key: str) -> str:
    section, _, name = key.partition(".")
    if section in OVERRIDES:
        return _shown(getattr(case, section).get(name))
    field = KEYS[section][name][0]
    value = getattr(case, field)
    return "as usual" if value is None else _shown(plain_value(field, value, ""))


def _shown(value: Any) -> str:
    if value is None:
        return "as usual"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:g}"
    return str(value)
