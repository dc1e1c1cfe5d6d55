"""The terms of a quote from a shop's file and a job's [quote]: what is laid over what, and what is refused."""

from __future__ import annotations

import re
import tomllib
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from moldkit.errors import InputError
from moldkit.shop import load_shop
from moldkit.study.case import case_from
from moldkit.study.job_file import job_text, load_job, save_job
from moldkit.study.letterhead import letterhead
from moldkit.study.quote_costs import finish_of
from moldkit.study.quote_terms import terms_of
from moldkit.tables import Row

JOB = {"pattern": {"form": "bust", "size": ["14 cm", "11 cm", "20 cm"]}, "casting": {"run": 40}}


def shop_with(folder: Path, lines: str) -> Row:
    """The copied demo shop, its quote keys taken out but for `lines`."""
    path = folder / "shop.toml"
    text = path.read_text("utf-8")
    head, _, people = text.partition("# People")
    before = head.partition("# Quotes")[0]
    path.write_text(f"{before}\n{lines}\n# People{people}", "utf-8")
    return load_shop(folder)


def test_every_key_of_a_quote_reaches_the_terms(copied_data: Path) -> None:
    shop = shop_with(
        copied_data,
        'margin_on_price = 26\noverhead = 12.5\nminimum_charge = 75.5\ntooling = "once"\nmold_owner = "client"\n'
        'price_breaks = [50, 10, 25]\nrounding = 0.05\nvalid_days = 14\ntax = 8.25\ntax_label = "sales tax"',
    )
    terms = terms_of(shop, {})
    assert (terms.markup, terms.target_rate) == (None, None)
    assert (terms.margin, terms.overhead) == (pytest.approx(0.26), pytest.approx(0.125))
    assert (terms.minimum_charge, terms.rounding, terms.tax) == (Decimal("75.5"), Decimal("0.05"), Decimal("0.0825"))
    assert (terms.tooling, terms.mold_owner, terms.price_breaks) == ("once", "client", (10, 25, 50))
    assert (terms.valid_days, terms.tax_label, terms.currency, terms.step) == (14, "sales tax", "USD", 5)


def test_an_hour_rate_is_money_an_hour(copied_data: Path) -> None:
    terms = terms_of(shop_with(copied_data, "target_rate = 65\noverhead_rate = 12"), {})
    assert (terms.target_rate, terms.overhead_rate) == (pytest.approx(65 / 3600), pytest.approx(12 / 3600))


def test_an_older_shop_file_with_its_margin_on_cost_still_quotes(copied_data: Path) -> None:
    shop = shop_with(copied_data, "client_margin = 35")
    terms = terms_of(shop, {})
    assert (terms.markup, terms.margin, terms.overhead) == (pytest.approx(0.35), None, 0.0)
    assert (terms.tooling, terms.price_breaks, terms.rounding) == ("spread", (), Decimal("0.01"))
    head = letterhead(shop, copied_data)
    assert (head.colours, head.logo) == ((), None)


def test_a_shop_that_says_no_profit_is_told_how(copied_data: Path) -> None:
    shop = shop_with(copied_data, "")
    with pytest.raises(InputError, match=r"shop\.toml: says no profit for a quote; name one of markup"):
        terms_of(shop, {})


def test_a_jobs_way_to_say_the_profit_takes_the_place_of_the_shops(copied_data: Path) -> None:
    shop = shop_with(copied_data, "markup = 35\noverhead = 10\nvalid_days = 20")
    terms = terms_of(shop, {"target_rate": 72, "overhead_rate": 4, "price_breaks": [10]})
    assert (terms.markup, terms.target_rate) == (None, pytest.approx(72 / 3600))
    assert (terms.overhead, terms.overhead_rate) == (0.0, pytest.approx(4 / 3600))
    assert (terms.valid_days, terms.price_breaks) == (20, (10,))


def test_a_shop_with_two_ways_is_refused(copied_data: Path) -> None:
    shop = shop_with(copied_data, "markup = 35\nclient_margin = 30")
    with pytest.raises(InputError, match=r"shop\.toml: markup and client_margin stand side by side; keep one"):
        terms_of(shop, {})


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        ('tooling = "twice"', r"tooling: unknown word 'twice'; .*Known: once, spread"),
        ("mold_owner = true", r"mold_owner: unknown word 'True'"),
        ("rounding = 0.001", r"rounding: 0\.001 is outside 0\.01 to 100"),
        ("rounding = 0.035", r"shop\.toml rounding: 0\.035 is no step of whole cents"),
        ("tax = 8.12345", r"shop\.toml tax: 8\.12345 % has more than four decimals; round it"),
        ("price_breaks = [10, 12.5]", r"shop\.toml price_breaks: 12\.5 is not a whole number of castings"),
        ("price_breaks = [0]", r"price_breaks: 0 is outside 1 to 100000"),
        ("valid_days = 1.5", r"valid_days: 1\.5 is not a whole number"),
        ("tax = -1", r"tax: -1 % is outside 0 to 50 %"),
        ("margin_on_price = 100", r"margin_on_price: 100 % is outside 0 to 95 %"),
        ('main_colour = "blue"', r"main_colour: 'blue' is not a colour; write it as \"#rrggbb\""),
        ("markup = 35\ntarget_rate = 60", r"markup and target_rate stand side by side"),
    ],
)
def test_a_bad_figure_is_named_with_its_mend(copied_data: Path, lines: str, words: str) -> None:
    profit = "" if "markup" in lines or "margin" in lines else "markup = 35\n"
    with pytest.raises(InputError, match=words):
        terms_of(shop_with(copied_data, profit + lines), {})


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ("markap = 30", r"job\.toml \[quote\]: unknown key 'markap'; did you mean 'markup'\?"),
        ("labor_rate = 30", r"job\.toml \[quote\]: unknown key 'labor_rate'"),
        ("markup = 30\nmargin_on_price = 20", r"job\.toml \[quote\]: markup and margin_on_price stand side by side"),
        ("rounding = 0.035", r"job\.toml \[quote\] rounding: 0\.035 is no step of whole cents"),
        ("tax = 8.12345", r"job\.toml \[quote\] tax: 8\.12345 % has more than four decimals; round it"),
        ("price_breaks = [1.5]", r"job\.toml \[quote\] price_breaks: 1\.5 is not a whole number of castings"),
        ('markup = "much"', r"job\.toml \[quote\] markup: 'much' is not a number"),
    ],
)
def test_a_jobs_bad_quote_is_refused_as_the_job_is_read(given: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        case_from({**JOB, "quote": tomllib.loads(given)}, "job.toml")


def test_a_saved_job_keeps_its_quote_and_what_is_taken_out_goes(tmp_path: Path) -> None:
    case = case_from({**JOB, "quote": {"markup": 42, "price_breaks": [10, 50]}}, "job.toml")
    saved = save_job(case, tmp_path / "job.toml")
    assert saved.case.quote == {"markup": 42, "price_breaks": [10, 50]}
    text = job_text(replace(saved.case, quote={"markup": 30}), saved)
    assert re.search(r"\[quote\]\s+markup = 30\s", text)
    assert "price_breaks" not in text
    assert load_job(tmp_path / "job.toml").case.quote["markup"] == 42


def test_a_finish_is_words_time_and_cost(copied_data: Path) -> None:
    shop = shop_with(copied_data, "markup = 35")
    finish = finish_of(shop, {"finish": "waxed twice", "finish_time": "12 min", "finish_cost": 0.8})
    assert (finish.words, finish.attended, finish.cost) == ("waxed twice", pytest.approx(720), pytest.approx(0.8))
    assert finish_of(shop, {}).words == ""


def test_the_demo_shop_has_a_letterhead_of_its_own(copied_data: Path) -> None:
    head = letterhead(load_shop(copied_data), copied_data)
    assert head.logo is not None
    assert head.logo.media_type == "image/svg+xml"
    assert head.logo.address.startswith("data:image/svg+xml;base64,")
    assert len(head.colours) == 2


@pytest.mark.parametrize(("name", "words"), [("gone.png", "cannot be read"), ("logo.gif", "neither an SVG nor a PNG")])
def test_a_logo_that_cannot_be_used_is_named(copied_data: Path, name: str, words: str) -> None:
    shop = shop_with(copied_data, f'markup = 35\nlogo = "{name}"')
    with pytest.raises(InputError, match=rf"shop\.toml logo: '{name}' .*{words}|{words}"):
        letterhead(shop, copied_data)
