"""The page left with a client: it says what the offer says and no more, and whatever stands in a name stays words."""

from __future__ import annotations

import base64
import datetime
import hashlib
import importlib.resources
import json
import re
from collections.abc import Callable
from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal
from html.parser import HTMLParser
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from moldkit.errors import InputError
from moldkit.study.case import LEAST_SIDE, MOST_RUN, MOST_SIDE
from moldkit.study.client_offer import ClientOffer, OfferTable
from moldkit.study.letterhead import Letterhead, Logo
from moldkit.units import cents_text, from_si
from moldkit.views.meeting_words import band_words
from moldkit.views.offer_page import colours
from moldkit.views.offer_page.grid import size_unit, slider_runs, told_runs, told_sizes
from moldkit.views.offer_page.packing import packed
from moldkit.views.offer_page.page import offer_page
from moldkit.views.offer_page.words import money
from moldkit.views.offer_words import piece_words, sum_words
from moldkit.views.paper.safe_text import safe_text
from tests.views.offers import ALL_HOSTILE, HOSTILE, MANY_RULES, PLAIN, made_offer

KIB = 1024
SVG_LOGO = Logo("image/svg+xml", b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(3)</script></svg>")


class Read(HTMLParser):
    """What a page is made of: its tags with their attributes, and the text within each element that has an id."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.inside: dict[str, str] = {}
        self._open: list[tuple[str, str]] = []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        named = dict(attrs)
        self.tags.append((tag, named))
        if tag not in ("meta", "link", "input", "img"):
            self._open.append((tag, named.get("id") or tag))

    def handle_endtag(self, tag: str) -> None:
        assert self._open.pop()[0] == tag, f"</{tag}> closes another element"

    def handle_data(self, data: str) -> None:
        for _, name in self._open:
            self.inside[name] = self.inside.get(name, "") + data

    def names(self) -> list[str]:
        return [tag for tag, _ in self.tags]


def record_of(page: str) -> dict[str, Any]:
    """The table that a page computes from."""
    found: dict[str, Any] = json.loads(Read(page).inside["offer"])
    return found


# ---- columns packed --------------------------------------------------------------------------------


def unpacked(text: str) -> list[int]:
    """Unpack by the rules in words: five bits a letter, changes with their sign last, nought and a count."""
    letters = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz-_"
    numbers, bits, shift = [], 0, 0
    for letter in text:
        code = letters.index(letter)
        bits |= code % 32 << shift
        shift += 5
        if code < 32:
            numbers.append(bits)
            bits = shift = 0
    figures: list[int] = []
    last, reading = 0, iter(numbers)
    for number in reading:
        if number == 0:
            figures += [last] * next(reading)
        else:
            last += number // 2 if number % 2 == 0 else -(number + 1) // 2
            figures.append(last)
    return figures


@given(st.lists(st.integers(-3, 3) | st.integers(-(10**13), 10**13)))
def test_a_packed_column_holds_every_figure(figures: list[int]) -> None:
    assert unpacked(packed(figures)) == figures


def test_a_packed_column_is_written_as_the_words_say() -> None:
    # by hand: 7 is a change of +7, written 14 (E); two without a change 0, 2; -3 is written 5; +40 is 80 = 16 + 2 x 32
    assert packed([7, 7, 7, 4, 44]) == "E025" + "m2"


def test_nothing_in_a_packed_column_means_anything_to_a_page() -> None:
    assert set(packed(range(-5000, 5000, 7))) <= set(re.sub(r"[^\w-]", "", packed(range(-5000, 5000, 7))))


# ---- sizes and runs --------------------------------------------------------------------------------


@given(st.floats(LEAST_SIDE, MOST_SIDE), st.sampled_from(["metric", "us"]))
def test_sizes_hold_the_one_asked_for_and_round_ones_about_it(longest: float, system: Any) -> None:
    sizes = told_sizes(longest, system)
    assert longest in sizes
    assert list(sizes) == sorted(set(sizes))
    assert all(LEAST_SIDE <= size <= MOST_SIDE for size in sizes)
    assert len(sizes) <= 20
    unit = size_unit(longest, system)
    for size in set(sizes) - {longest}:
        shown = float(from_si(size, unit))
        assert float(f"{shown:.3g}") == pytest.approx(shown, rel=1e-12)


def test_sizes_of_a_piece_of_thirty_centimeters() -> None:
    # by hand: 18 to 48 cm in about twelve steps is a step of 2 cm
    assert [round(100 * size, 9) for size in told_sizes(0.3)] == list(range(18, 49, 2))


@pytest.mark.parametrize("run", [1, 40, 999, 4_321, 100_000])
@pytest.mark.parametrize("terms", [PLAIN, MANY_RULES])
def test_runs_hold_every_short_one_the_listed_ones_and_the_breaks(run: int, terms: Any) -> None:
    offer = made_offer(terms, run=run)
    runs = told_runs(offer)
    assert set(range(1, min(2_000, max(1_000, 2 * run)) + 1)) <= set(runs)
    assert {run, *(line.run for line in offer.lines), *terms.price_breaks} <= set(runs)
    assert runs[-1] <= MOST_RUN
    assert all(after / before < 1.06 for before, after in pairwise(runs[1_999:]))
    stops = slider_runs(runs, offer)
    assert {1, run, runs[-1]} <= set(stops) <= set(runs)
    assert set(range(1, 26)) <= set(stops), "short runs are reached one by one"
    assert len(stops) < 320


# ---- what the page says ----------------------------------------------------------------------------


@pytest.mark.parametrize("terms", [PLAIN, MANY_RULES])
def test_the_page_shows_what_was_asked_before_any_script_runs(terms: Any) -> None:
    offer = made_offer(terms)
    read, asked = Read(offer_page(offer)), offer.asked
    assert read.inside["each"] == cents_text(asked.each / 100)
    assert read.inside["sum"].endswith(f"Together{cents_text(asked.total / 100)} USD")
    assert read.inside["dates"] == "First castingThu 3 Dec 2026Delivery of allFri 11 Dec 2026"
    assert ("Sales tax 8.25 %" in read.inside["sum"]) == bool(terms.tax)
    assert ("Mold, charged once" in read.inside["sum"]) == (terms.tooling == "once")
    for line in offer.lines:
        assert f"{cents_text(line.each / 100)}{cents_text(line.total / 100)}" in read.inside["rows"]


def test_the_lines_of_a_sum_add_up_to_its_total_where_the_least_charge_is_taken() -> None:
    offer = made_offer(MANY_RULES, run=2)
    assert offer.asked.least
    lines = re.findall(r"<dd>([\d\u202f.]+)", offer_page(offer))
    *parts, total = [round(100 * float(figure.replace("\u202f", ""))) for figure in lines]
    assert sum(parts) == total == offer.asked.total


def test_without_a_first_day_no_date_is_told() -> None:
    read = Read(offer_page(made_offer(start=None)))
    assert "dates" not in read.inside
    assert "time" not in read.names()
    assert read.inside["thead"] == "CastingsEach, USDTogether, USD"
    assert not record_of(offer_page(made_offer(start=None)))["dated"]


def test_how_dates_are_found_is_said_where_there_are_any() -> None:
    words = "a run that is not planned by itself takes its date from the next longer one"
    assert words in offer_page(made_offer())
    assert words not in offer_page(made_offer(start=None))


def test_a_run_that_is_charged_as_a_longer_one_says_so() -> None:
    offer = made_offer(MANY_RULES, run=24)
    assert offer.asked.as_for == 25
    read = Read(offer_page(offer))
    assert read.inside["remark"] == "25 castings come to no more than 24: take them for the same price."
    asked = offer.asked
    assert Decimal(read.inside["each"]) == (Decimal(asked.castings) / 2_400).quantize(Decimal("0.01"), ROUND_HALF_UP)
    assert f"Charged as 25 castings at {money(asked.castings // 25)}" in read.inside["sum"]
    assert f"at {money(asked.each)} each" in read.inside["asked-as"]


def test_every_run_of_the_table_is_told_at_what_a_casting_of_it_comes_to() -> None:
    """In decimal arithmetic, apart from the kit's own: castings together by their number, half up."""
    offer = made_offer(MANY_RULES)
    table = offer.table([offer.longest], range(1, 1_001))
    for run in range(1, 1_001):
        line = table.line(0, run - 1)
        assert line is not None
        assert line.each == int((Decimal(line.castings) / run).quantize(Decimal(1), ROUND_HALF_UP))
        assert line.castings == line.price_taken * line.as_for
    assert (table.as_for[0] > np.arange(1, 1_001)).any()


def test_the_tax_is_written_as_the_shop_writes_it_within_a_sentence_and_large_where_a_line_begins() -> None:
    offer = made_offer(MANY_RULES)
    assert ", sales tax 8.25 % in it" in sum_words(offer)
    assert "Sales tax 8.25 %" in Read(offer_page(offer)).inside["sum"]
    assert ", sales tax 8.25 % in it" in band_words(offer, "solid").together_words


def test_a_way_of_casting_is_told_as_a_client_understands_it() -> None:
    offer = replace(made_offer(), method="pressure")
    assert piece_words(offer).startswith("rigid urethane resin, cast under pressure, longest side")
    assert piece_words(made_offer()).startswith("rigid urethane resin, open pour, longest side")


def test_a_table_that_does_not_follow_its_own_rules_is_refused() -> None:
    offer = made_offer(MANY_RULES)

    def spoiled(sizes: tuple[float, ...], runs: tuple[int, ...]) -> OfferTable:
        table = offer.table(sizes, runs)
        total = table.total.copy()
        total[0, 7] += 1
        return replace(table, total=total)

    with pytest.raises(ValueError, match="own arithmetic"):
        offer_page(replace(offer, _priced=spoiled))


def test_choices_are_told_apart_by_material_finish_or_way_of_casting() -> None:
    offer = made_offer()
    others = [made_offer(finish="waxed"), made_offer(material="concrete"), replace(made_offer(), method="foam fill")]
    told = record_of(offer_page(offer, others))["choices"]
    assert [(choice["material"], choice["finish"]) for choice in told] == [
        ("rigid urethane resin, open pour", ""), ("rigid urethane resin, open pour", "waxed"), ("concrete", ""),
        ("rigid urethane resin, foam fill", ""),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("others", "words"),
    [
        ([made_offer()], "two choices are both 'rigid urethane resin'"),
        ([made_offer(replace(PLAIN, currency="EUR"), finish="waxed")], "several currencies"),
        ([made_offer(finish=str(n)) for n in range(12)], "13 choices; give at most 12"),
    ],
)
def test_choices_that_do_not_belong_together_are_refused_in_a_sentence(others: list[ClientOffer], words: str) -> None:
    with pytest.raises(InputError, match=words):
        offer_page(made_offer(), others)


# ---- one file, and nothing from outside ------------------------------------------------------------


def test_the_page_asks_for_nothing_and_runs_only_what_is_in_it() -> None:
    offer = made_offer(head=Letterhead("Shop", ("#123456",), SVG_LOGO))
    page = offer_page(offer)
    read = Read(page)
    for tag, attributes in read.tags:
        assert not {name for name in attributes if name.startswith("on") or name in ("style", "srcset")}, tag
        for name in ("src", "href"):
            assert (attributes.get(name) or "data:").startswith("data:")
    policy = next(a["content"] for _, a in read.tags if a.get("http-equiv") == "Content-Security-Policy") or ""
    rules = dict(rule.strip().split(" ", 1) for rule in policy.split(";"))
    # outside source: Content Security Policy Level 3, section 2.3.1, hash-source: 'sha256-' and the digest in base64
    for kind, tag in (("style-src", "style"), ("script-src", "script")):
        (text,) = re.findall(rf"<{tag}>(.*?)</{tag}>", page, re.DOTALL)
        digest = base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
        assert rules[kind] == f"'sha256-{digest}'"
    assert rules["default-src"] == rules["base-uri"] == rules["form-action"] == "'none'"
    assert rules["img-src"] == "data:"
    addresses = set(re.findall(r"\w+://[^\s\"'`]*", page))
    assert addresses == {"http://www.w3.org/2000/svg"}, "the name of SVG's own vocabulary, which nothing fetches"


def test_a_page_is_small() -> None:
    assert len(offer_page(made_offer(MANY_RULES)).encode()) < 150 * KIB
    many = [made_offer(finish=f"finish {n}", run=100_000) for n in range(11)]
    largest = offer_page(made_offer(run=100_000), many).encode()
    assert len(largest) < 1_500_000


def test_the_shops_name_colours_and_logo_stand_in_the_page() -> None:
    head = Letterhead("Lane & Sons", ("#7a1f5c", "#005a2b"), SVG_LOGO)
    page = offer_page(made_offer(head=head))
    assert "--main:#7a1f5c;" in page and "--second:#005a2b;" in page
    assert '<img class="logo" alt="" src="data:image/svg+xml;base64,' in page
    assert "<script>alert(3)" not in page
    assert Read(page).inside["header"].strip().startswith("Lane & Sons")


# ---- names and notes stay words --------------------------------------------------------------------


@pytest.mark.parametrize("name", HOSTILE)
def test_whatever_stands_in_a_name_stays_words(name: str) -> None:
    plain = Read(offer_page(_named("plain"), [_named("plain", finish="other")], note="one line"))
    page = offer_page(_named(name), [_named(name, finish="other")], note=f"{name}\n{name}")
    read = Read(page)
    assert read.names() == plain.names(), "no element more or less"
    assert read.inside["h1"] == safe_text(name)
    assert read.inside["terms"].endswith(safe_text(name))
    assert "\u202e" not in page
    told = record_of(page)["choices"]
    assert [choice["finish"] for choice in told] == [safe_text(name), "other"]
    assert read.inside["script"] == plain.inside["script"], "the code is the same whatever the names"


def _named(name: str, finish: str = "") -> ClientOffer:
    terms = replace(PLAIN, tax=Decimal("0.1"), tax_label=name)
    head = Letterhead(name)
    return made_offer(terms, job=name, material=name, finish=finish or name, head=head, words=("Prices hold.", name))


def test_all_of_them_at_once_in_one_name_stay_words() -> None:
    assert Read(offer_page(_named(ALL_HOSTILE))).inside["h1"] == safe_text(ALL_HOSTILE)


# ---- colours ---------------------------------------------------------------------------------------

HEX = st.integers(0, 0xFFFFFF).map(lambda number: f"#{number:06x}")


def test_the_contrast_formula_gives_published_ratios() -> None:
    # WCAG 2.2, definition of contrast ratio: black on white is 21:1; the grey nearest to 4.5:1 on white is #767676
    assert colours.contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert colours.contrast("#767676", "#ffffff") > 4.5 > colours.contrast("#777777", "#ffffff")


@given(st.lists(HEX, max_size=2), st.sampled_from([colours.LIGHT, colours.DARK]))
def test_every_colour_stands_out_whatever_the_shops_own_are(shop: list[str], base: dict[str, str]) -> None:
    made = colours.theme(shop, base)
    for name, least in colours.READ.items():
        for ground in colours.GROUNDS:
            assert colours.contrast(made[name], made[ground]) >= least, (name, ground)


def test_a_shops_colour_that_stands_out_is_kept_as_it_is() -> None:
    assert colours.theme(["#7a1f5c"], colours.LIGHT)["main-text"] == "#7a1f5c"


def test_the_style_has_no_colour_but_those_that_are_computed() -> None:
    folder = importlib.resources.files("moldkit.views.offer_page")
    css = (folder / "page.css").read_text("utf-8")
    assert not re.findall(r"#[0-9a-f]{3,8}\b(?![^{]*\{)|rgba?\(|hsla?\(", css)
    drawn = "".join((folder / name).read_text("utf-8") for name in ("chart.js", "shown.js", "controls.js"))
    assert not re.findall(r"rgba?\(|hsla?\(|#[0-9a-fA-F]{6}\b|fill:|stroke:", drawn)
    used = {name for name in re.findall(r"var\(--([\w-]+)\)", css)}
    assert used <= set(colours.theme([], colours.LIGHT))
    assert used - {"ground", "card", "hair"} <= set(colours.READ)


# ---- nothing of the shop's costs -------------------------------------------------------------------


@pytest.fixture
def quoted(compared: Callable[[Any], Any]) -> Any:
    from moldkit.study.quote import quote
    from tests.views.test_client_leaks import MARKED

    return quote(compared(MARKED), date=datetime.date(2026, 11, 25), start=datetime.date(2026, 12, 1))


def test_no_figure_and_no_word_of_the_shops_side_is_in_the_page(quoted: Any) -> None:
    from tests.views.client_leaks import found_in, marked, secrets, words_in

    page = offer_page(quoted.for_client())
    assert found_in(page, secrets(quoted)) == []
    assert found_in(page, marked(), 4) == []
    assert words_in(page, [outcome.name for outcome in quoted.result.outcomes]) == []


def test_the_page_tells_the_offers_own_figures(quoted: Any) -> None:
    offer = quoted.for_client()
    page = Read(offer_page(offer))
    assert page.inside["each"] == cents_text(offer.asked.each / 100)
    table = offer.table(told_sizes(offer.longest), told_runs(offer))
    at = table.sizes.index(offer.longest), table.runs.index(offer.run)
    assert table.line(*at) == offer.asked
    told = record_of(offer_page(offer))["choices"][0]["sizes"]
    taken = np.where(table.each < 0, -1, table.castings // table.as_for)
    assert [unpacked(size["taken"]) for size in told] == taken.tolist()
