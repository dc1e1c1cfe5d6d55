"""No cost, rate, margin or hour of the shop can be found in anything that a client is given."""

from __future__ import annotations

import csv
import datetime
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from moldkit.casting.plan import SESSION
from moldkit.economics.quote import Terms
from moldkit.study.case import Case
from moldkit.study.compare import Comparison, compare
from moldkit.study.knowledge import load_knowledge
from moldkit.study.quote import Quote, quote
from moldkit.views.export import shop_page
from tests.views.client_leaks import (
    DAY,
    LIBRARY,
    MARKED_QUOTE,
    MARKED_RUBBER_PRICE,
    MARKED_SHOP,
    found_in,
    marked,
    outputs,
    secrets,
    words_in,
    written,
)

compares = Callable[[Case], Comparison]
BUST = Case(form="bust", size=(0.144, 0.11, 0.2), run=40, name="Bust")
MARKED = replace(BUST, shop=MARKED_SHOP, quote=MARKED_QUOTE, rubber_price=MARKED_RUBBER_PRICE)
START = datetime.date(2026, 12, 1)


@pytest.fixture(scope="module")
def told(compared: compares) -> Quote:
    return quote(compared(MARKED), date=DAY, start=START)


@pytest.fixture(scope="module")
def given(told: Quote) -> dict[str, str]:
    return outputs(told)


def test_nothing_that_the_shop_put_in_is_found(given: dict[str, str]) -> None:
    assert {name: leaks for name, text in given.items() if (leaks := found_in(text, marked(), 4))} == {}


def test_nothing_that_was_computed_of_the_shops_side_is_found(given: dict[str, str], told: Quote) -> None:
    figures = secrets(told)
    assert len(figures) > 40
    assert {name: leaks for name, text in given.items() if (leaks := found_in(text, figures))} == {}


def test_no_word_of_the_shops_side_is_found(given: dict[str, str], told: Quote) -> None:
    names = [outcome.name for outcome in told.result.outcomes]
    assert {name: words for name, text in given.items() if (words := words_in(text, names))} == {}


def test_the_search_finds_them_where_they_are_shown(told: Quote) -> None:
    """The shop's own page, through the same search: the search is no good if it finds nothing there."""
    page = LIBRARY.sub("", shop_page(told.result, DAY))
    assert found_in(page, secrets(told))
    assert "labor" in words_in("Labor of a pour", [])
    figures = {"cost": 12_345.678, "share": 0.3731}
    for text in ("12\u202f345.68", "12,345.68", "12.345,68", "12345.678", "1234567.8", "x: 12346 y", "37.310 %"):
        assert found_in(f"<td>{text}</td>", figures, 4), text
    assert found_in("912345.68 12345.6789", {"cost": 12_345.68}) == []
    assert "37.31" in set(written(0.3731))


# Ways to come to the same price: half as much again on cost, a third of the price, or overhead and no profit at all.
SAME_PRICE = [
    Terms(markup=0.5),
    Terms(margin=1 / 3),
    Terms(overhead=0.5, markup=0.0),
    Terms(overhead=0.25, markup=0.2),
    Terms(overhead=0.2, margin=0.2),
]


def test_a_client_is_given_the_same_whatever_part_of_the_price_is_profit(compared: compares) -> None:
    """To the byte: so nothing in it depends on markup, margin or overhead but through the price."""
    result = compared(BUST)
    given = [_given(quote(result, terms=terms, date=DAY, start=START)) for terms in SAME_PRICE]
    assert all(other == given[0] for other in given[1:])


def _given(told: Quote) -> dict[str, str]:
    """Everything a client is given; the page is left, which takes the job's own terms."""
    return {name: text for name, text in outputs(told).items() if name != "page"}


def test_a_client_is_given_the_same_whether_the_work_is_slow_and_cheap_or_quick_and_dear(copied_data: Path) -> None:
    """To the byte, without dates: twice the hours at half the wage, the mold's own hours and the castings' alike."""
    quick, slow = (_at_pace(copied_data, times, 40 / times) for times in (1.0, 2.0))
    assert slow.asked.attended == pytest.approx(2 * quick.asked.attended)
    assert slow.asked.cost == pytest.approx(quick.asked.cost)
    assert _given(slow) == _given(quick)


def _at_pace(data: Path, times: float, labor_rate: float) -> Quote:
    """The quote where every step takes so many times as long; a session takes no time, since more fit into a day."""
    _change_hours(data / "steps.csv", lambda row: 0.0 if row["step"] == SESSION else times)
    case = replace(BUST, shop={"labor_rate": labor_rate})
    return quote(compare(case, load_knowledge(data)), terms=SAME_PRICE[0], date=DAY)


def _change_hours(path: Path, times: Callable[[dict[str, str]], float]) -> None:
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    for row in rows:
        for key in row:
            if key.startswith(("fixed ", "per_driver ")):
                row[key] = f"{times(row) * float(row[key]):.10g}"
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, rows[0].keys(), lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
