"""Charts made to be shown: a finding as title, labels in their place, legible across a room and in black and white."""

from __future__ import annotations

import datetime
import math
import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from decimal import Decimal
from itertools import pairwise
from xml.etree import ElementTree

import pytest

from moldkit.economics.quote import Terms
from moldkit.study.case import Case, read_job
from moldkit.study.client_offer import ClientOffer, OfferLine
from moldkit.study.compare import Comparison, compare
from moldkit.study.knowledge import Knowledge
from moldkit.study.letterhead import Letterhead
from moldkit.study.quote import quote
from moldkit.study.sooner import delivery_choices
from moldkit.views import offer_drawing
from moldkit.views.label_places import Box
from moldkit.views.letter_widths import lines_of, width
from moldkit.views.offer_axes import day_axis, factor_axis, step_axis
from moldkit.views.offer_chart import OfferChart, delivery_chart, price_chart, told_ways
from moldkit.views.offer_drawing import HIGH, SMALL, TICK, WIDE, drawing
from moldkit.views.offer_figure import offer_figure
from moldkit.views.offer_look import LOOKS, LookName, look
from moldkit.views.offer_words import percent_apart

compares = Callable[[Case], Comparison]
BUST = Case(form="bust", size=(0.144, 0.11, 0.2), run=40, name="Bust")
DAY, START = datetime.date(2026, 11, 25), datetime.date(2026, 12, 1)
JOBS = ("boss", "corbel", "figure", "finial", "head", "heron", "knob", "medal", "panel")
BREAKS = Terms(
    markup=0.35, tooling="once", tax=Decimal("0.0825"), minimum_charge=Decimal(900),
    price_breaks=(5, 10, 25, 50, 100, 250),
)  # fmt: skip
SVG = "{http://www.w3.org/2000/svg}"
HOSTILE = '=HYPERLINK("http://x.test")<script>alert(1)</script> "quo\'tes" & שלום 🙂 ' + "x" * 300


def offer_of(result: Comparison, terms: Terms | None = None) -> tuple[ClientOffer, tuple[OfferLine, ...]]:
    found = quote(result, terms=terms, date=DAY, start=START).for_client()
    return found, delivery_choices(result, terms=terms, date=DAY, start=START)


def charts_of(result: Comparison, terms: Terms | None = None) -> list[OfferChart]:
    offer, ways = offer_of(result, terms)
    return [chart for chart in (price_chart(offer), delivery_chart(offer, ways)) if chart is not None]


@pytest.fixture(scope="module")
def all_charts(knowledge: Knowledge) -> list[OfferChart]:
    """Both charts of every demo job, with a price of its own at each run and with price breaks."""
    found = []
    for job in JOBS:
        result = compare(read_job(knowledge.folder / "jobs" / f"{job}.toml"), knowledge)
        for terms in (None, BREAKS):
            found += charts_of(result, terms)
    assert len(found) > 30
    return found


# Contrast, computed here once more. Source: WCAG 2.2, definitions of relative luminance and contrast ratio.
def contrast(one: str, other: str) -> float:
    def luminance(colour: str) -> float:
        parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
        red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
        return 0.2126 * red + 0.7152 * green + 0.0722 * blue

    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_the_contrast_computed_here_is_the_published_one() -> None:
    """#767676 on white is the usual edge of 4.5:1; #0072b2 of the eight-colour safe palette is 5.19 on white."""
    assert contrast("#767676", "#ffffff") == pytest.approx(4.542, abs=0.001)
    assert contrast("#0072b2", "#ffffff") == pytest.approx(5.19, abs=0.005)
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)


SHOPS = [(), ("#1f5c7a", "#a8541c"), ("#ffff00", "#f0e442"), ("#ffffff",), ("#000000",), ("#808080", "#7f7f7f")]


@pytest.mark.parametrize("name", LOOKS)
@pytest.mark.parametrize("colours", SHOPS)
def test_words_have_a_contrast_of_4_5_and_marks_of_3_whatever_the_shops_colours(
    name: LookName, colours: tuple[str, ...]
) -> None:
    """Source: WCAG 2.2, success criteria 1.4.3 (4.5:1 for text) and 1.4.11 (3:1 for what is only seen)."""
    found = look(name, colours)
    for words in (found.ink, found.quiet, found.main_text):
        assert contrast(words, found.ground) >= 4.5
    for mark in (found.main, found.second, found.edge, found.ink):
        assert contrast(mark, found.ground) >= 3.0


@pytest.mark.parametrize("name", LOOKS)
def test_every_word_and_mark_drawn_has_a_colour_of_the_look(all_charts: list[OfferChart], name: LookName) -> None:
    """So that the contrasts above are those of the drawing."""
    found = look(name, ("#1f5c7a", "#a8541c"))
    words, marks = {found.ink, found.quiet, found.main_text}, {found.main, found.second, found.edge, found.ink}
    for part in ElementTree.fromstring(drawing(all_charts[0], found)).iter():
        if part.tag == f"{SVG}text":
            assert part.get("fill") in words
        if part.tag in (f"{SVG}polyline", f"{SVG}line"):
            assert part.get("stroke") in marks | {found.hair}
        if part.tag == f"{SVG}circle":
            assert part.get("fill") in marks


def test_in_print_there_is_no_colour_but_the_logos(all_charts: list[OfferChart]) -> None:
    for chart in all_charts:
        svg = drawing(chart, look("print", ("#1f5c7a", "#a8541c")))
        without_logo = re.sub(r"<image[^>]*>", "", svg)
        colours = set(re.findall(r"#([0-9a-f]{6})\b", without_logo))
        assert colours
        assert all(colour[:2] == colour[2:4] == colour[4:] for colour in colours)


def test_looks_differ_in_nothing_but_colours(all_charts: list[OfferChart]) -> None:
    bare = replace(all_charts[0], head=Letterhead("A shop"))  # a logo stands on a white plate where it is dark
    drawn = {re.sub(r"#[0-9a-f]{6}", "#", drawing(bare, look(name))) for name in LOOKS}
    assert len(drawn) == 1


def test_what_is_read_is_legible_at_3_m() -> None:
    """16 minutes of arc are the least height of a capital that is read with comfort: ISO 9241-303, from memory.

    A capital of common sans-serif fonts is 0.7 of the type's size or more; a picture from a projector in a meeting, or
    on a television of 55 inches, is 1.2 m wide (common practice, no source).
    """
    capital = 0.7 * TICK / WIDE * 1.2
    assert math.degrees(math.atan(capital / 3.0)) * 60 >= 16.0


def texts(svg: str) -> Iterator[tuple[str, Box, float]]:
    """Yield every text of a drawing with about the most room that it takes, and its size."""
    for part in ElementTree.fromstring(svg).iter(f"{SVG}text"):
        words, size = part.text or "", float(part.get("font-size", 0))
        x, y = float(part.get("x", 0)), float(part.get("y", 0))
        wide = width(words, size, bold=part.get("font-weight") == "700")
        left = x - wide * {"start": 0.0, "middle": 0.5, "end": 1.0}[part.get("text-anchor", "start")]
        yield words, Box(left, y - 0.75 * size, left + wide, y + 0.1 * size), size


@pytest.mark.parametrize("headed", [True, False])
def test_no_text_touches_another_or_leaves_the_picture(all_charts: list[OfferChart], headed: bool) -> None:
    for chart in all_charts:
        found = list(texts(drawing(chart, look("light"), headed=headed)))
        for place, (words, box, _) in enumerate(found):
            assert box.within(Box(0, 0, WIDE, HIGH)), (chart.title, words)
            for other, beside, _ in found[place + 1 :]:
                assert not box.touches(beside), (chart.title, words, other)


def test_only_the_small_print_is_small(all_charts: list[OfferChart]) -> None:
    for chart in all_charts:
        small = " ".join(words for words, _, size in texts(drawing(chart, look("light"))) if size < TICK)
        assert small == " ".join(chart.small)
        assert all(size >= SMALL for *_, size in texts(drawing(chart, look("light"))))


def test_the_run_asked_for_is_always_labelled_with_its_price(all_charts: list[OfferChart]) -> None:
    for chart in all_charts:
        (strong,) = [mark for mark in chart.marks if mark.strong]
        assert strong.label in {words for words, *_ in texts(drawing(chart, look("light")))}


def test_no_label_lies_on_the_curve_while_there_is_room(knowledge: Knowledge) -> None:
    result = compare(read_job(knowledge.folder / "jobs" / "figure.toml"), knowledge)
    for chart in charts_of(result):
        svg = drawing(chart, look("light"))
        line = ElementTree.fromstring(svg).find(f"{SVG}polyline")
        assert line is not None
        corners = [tuple(map(float, pair.split(","))) for pair in line.get("points", "").split()]
        labels = [box for words, box, _ in texts(svg) if words in {mark.label for mark in chart.marks}]
        assert len(labels) >= 5
        for x, y in corners:
            assert not any(box.left < x < box.right and box.top < y < box.bottom for box in labels)


@pytest.mark.parametrize("run", [1, 7, 300, 1_000])
def test_the_label_of_the_run_asked_for_lies_on_no_curve_and_on_no_point(knowledge: Knowledge, run: int) -> None:
    for job in ("knob", "figure", "heron"):
        case = replace(read_job(knowledge.folder / "jobs" / f"{job}.toml"), run=run)
        for headed, high in ((True, 900), (False, 720)):
            svg = drawing(price_chart(offer_of(compare(case, knowledge))[0]), look("light"), headed=headed, high=high)
            tree = ElementTree.fromstring(svg)
            (label,) = [box for words, box, size in texts(svg) if size == offer_drawing.STRONG]
            line = tree.find(f"{SVG}polyline")
            assert line is not None
            corners = [tuple(map(float, pair.split(","))) for pair in line.get("points", "").split()]
            for (x1, y1), (x2, y2) in pairwise(corners):
                for n in range(101):
                    x, y = x1 + (x2 - x1) * n / 100, y1 + (y2 - y1) * n / 100
                    assert not (label.left < x < label.right and label.top < y < label.bottom), (job, headed)
            for dot in tree.iter(f"{SVG}circle"):
                x, y, radius = (float(dot.get(name, 0)) for name in ("cx", "cy", "r"))
                beside = max(label.left - x, x - label.right, label.top - y, y - label.bottom)
                assert beside >= 0.8 * radius, (job, headed)


def test_the_title_states_the_finding_and_the_small_print_source_and_date(compared: compares) -> None:
    offer, ways = offer_of(compared(BUST))
    price, delivery = price_chart(offer), delivery_chart(offer, ways)
    assert delivery is not None
    assert f"{offer.asked.each / 100:.2f} USD each for 40 castings" in price.title
    assert "% less" in price.title
    assert "days sooner" in delivery.title
    for chart in (price, delivery):
        assert offer.letterhead.name in chart.small[0]
        assert "25 Nov 2026" in chart.small[0]
        assert "USD" in chart.up.title
        assert "USD" in chart.small[1]


def test_the_curve_and_its_labels_are_the_offers_own_prices_to_the_cent(compared: compares) -> None:
    offer, ways = offer_of(compared(BUST))
    chart, delivery = price_chart(offer), delivery_chart(offer, ways)
    assert delivery is not None
    assert [round(100 * price) for _, price in chart.curve] == list(offer.each)
    assert {(int(mark.x), round(100 * mark.y)) for mark in chart.marks} == {(n.run, n.each) for n in offer.lines}
    for mark in chart.marks:
        assert f"{mark.y:.2f}" in mark.label
    told = {(datetime.date.fromordinal(int(m.x)), round(100 * m.y)) for m in delivery.marks}
    assert told == {(way.delivery, way.total) for way in told_ways(ways)}


def test_with_price_breaks_the_curve_holds_from_one_to_the_next(compared: compares) -> None:
    """A step goes along first and then up or down, whatever the scale: the corners say so."""
    offer, _ = offer_of(compared(BUST), BREAKS)
    chart = price_chart(offer)
    assert chart.steps
    line = ElementTree.fromstring(drawing(chart, look("light"))).find(f"{SVG}polyline")
    assert line is not None
    corners = [tuple(map(float, pair.split(","))) for pair in line.get("points", "").split()]
    assert all(a[0] == b[0] or a[1] == b[1] for a, b in pairwise(corners))
    assert any(mark.label.startswith("from 10: ") for mark in chart.marks)


def test_a_run_charged_as_a_longer_one_says_so(knowledge: Knowledge) -> None:
    result = compare(read_job(knowledge.folder / "jobs" / "knob.toml"), knowledge)
    offer, _ = offer_of(result)
    (one,) = [line for line in offer.lines if line.run == 1]
    assert one.as_for > 1
    assert one.each == one.castings
    chart = price_chart(replace(offer, run=1, asked=one))
    (label,) = [mark.label for mark in chart.marks if mark.x == 1.0]
    assert label == f"1 casting: {one.each / 100:.2f} each"
    assert chart.title == (
        f"{one.each / 100:.2f} USD each for 1 casting, charged as {one.as_for}, which come to as much together"
    )


def test_with_one_way_to_deliver_there_is_no_chart_of_it(compared: compares) -> None:
    offer, ways = offer_of(compared(BUST))
    assert delivery_chart(offer, ways[-1:]) is None
    assert delivery_chart(offer, ()) is None


def test_of_very_many_ways_to_deliver_the_ends_and_some_between_are_told(compared: compares) -> None:
    (way,) = offer_of(compared(BUST))[1][-1:]
    many = tuple(replace(way, total=90_000 - n, delivery=START + datetime.timedelta(days=n)) for n in range(40))
    told = told_ways(many)
    assert (told[0], told[-1]) == (many[0], many[-1])
    assert len(told) == 12


def test_the_same_chart_gives_the_same_drawing(compared: compares) -> None:
    one, two = (drawing(charts_of(compared(BUST))[0], look("light")) for _ in range(2))
    assert one == two


@pytest.mark.parametrize("where", ["job", "shop", "material", "currency", "finish"])
def test_hostile_words_stay_words(compared: compares, where: str) -> None:
    offer, ways = offer_of(compared(BUST))
    hostile = {
        "job": replace(offer, job=HOSTILE),
        "shop": replace(offer, letterhead=Letterhead(HOSTILE)),
        "material": replace(offer, material=HOSTILE),
        "currency": replace(offer, currency='<b>"&'),
        "finish": replace(offer, finish="\u202e" + HOSTILE),
    }[where]
    for chart in (price_chart(hostile), delivery_chart(hostile, ways)):
        assert chart is not None
        svg = drawing(chart, look("light"))
        tree = ElementTree.fromstring(svg)
        tags = {part.tag.removeprefix(SVG) for part in tree.iter()}
        assert tags <= {"svg", "title", "desc", "rect", "text", "line", "polyline", "circle", "image"}
        assert all(not name.startswith("on") for part in tree.iter() for name in part.attrib)
        assert all(part.get("href", "data:").startswith("data:") for part in tree.iter())
        assert "\u202e" not in svg
        for words, box, _ in texts(svg):
            assert box.within(Box(0, 0, WIDE, HIGH)), words


def test_the_figure_for_a_notebook_shows_the_same(compared: compares) -> None:
    import plotly.graph_objects as go

    for chart in charts_of(compared(BUST)):
        for name in LOOKS:
            figure = offer_figure(chart, look(name))
            assert go.Figure(figure).layout.showlegend is False
            assert list(zip(figure["data"][0]["x"], figure["data"][0]["y"], strict=True)) == list(chart.curve)
            told = " ".join(note["text"] for note in figure["layout"]["annotations"])
            (strong,) = [mark for mark in chart.marks if mark.strong]
            assert strong.label in told
            title = re.sub("<[^>]*>", " ", figure["layout"]["title"]["text"])
            assert title.split() == chart.title.split()


def test_a_text_is_never_wider_than_it_is_taken_for() -> None:
    """Measured by the typesetter with its own font: DejaVu Sans Condensed, nine tenths as wide as the full cut."""
    import typst

    from moldkit.views.paper import pdf

    pdf.compiler()
    sample = [
        "100 castings: 34.85 USD each, 12 % less", "Wed 6 Jan 2027: 3\u202f485.00", "MMMMWWWW", "castings in the run",
        "price of 100 castings, EUR", "Tidewater Lane Castings (invented)", "ÄÖÜß àéî ñ", "=HYPERLINK(\"x\")<b>&",
    ]  # fmt: skip
    fonts = typst.Fonts(include_system_fonts=False, font_paths=[str(pdf.HERE / "fonts")])
    for words in sample:
        for bold in (False, True):
            source = (
                '#set text(font: "DejaVu Sans", size: 100pt, weight: sys.inputs.weight)\n'
                "#context [#metadata(measure(text(sys.inputs.words)).width / 1pt) <wide>]"
            )
            given = {"words": words, "weight": "bold" if bold else "regular"}
            answer = typst.query(source.encode(), "<wide>", field="value", one=True, font_paths=fonts, sys_inputs=given)
            assert float(answer) / 0.9 <= width(words, 100.0, bold=bold) * 1.01, words


def test_lines_are_parted_at_spaces_and_a_figure_never_is() -> None:
    said = "3\u202f485.00 USD for delivery by 6 Jan 2027; up to 27 days sooner for up to 17 % more"
    lines = lines_of(said, 42.0, 500.0, most=9, bold=True)
    assert " ".join(lines) == said
    assert all(width(line, 42.0, bold=True) <= 500.0 for line in lines)
    assert lines_of("x" * 400, 20.0, 300.0, most=2)[1].endswith("…")
    assert lines_of("", 20.0, 300.0, most=2) == []


def test_ticks_are_round_and_within_the_scale() -> None:
    factors = factor_axis("", 1, 1000, 12)
    assert [value for value, _ in factors.ticks] == [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000]
    assert [value for value, _ in factor_axis("", 1, 100_000, 12).ticks] == [1, 10, 100, 1000, 10_000, 100_000]
    assert [value for value, _ in step_axis("", 3313, 4257).ticks] == [3400, 3600, 3800, 4000, 4200]
    for low, high in ((0.03, 0.9), (7.1, 8.2), (2189.0, 2213.0), (1.0, 4.9), (54_000.0, 56_000.0)):
        for scale in (factor_axis("", low, high), step_axis("", low, high)):
            assert 2 <= len(scale.ticks) <= 11
            assert all(low <= value <= high for value, _ in scale.ticks)
            assert len({words for _, words in scale.ticks}) == len(scale.ticks)


@pytest.mark.parametrize("days", [1, 5, 13, 30, 90, 200, 800, 3000])
def test_days_are_ticked_on_mondays_or_the_first_of_a_month(days: int) -> None:
    scale = day_axis("", START, START + datetime.timedelta(days=days))
    assert 1 <= len(scale.ticks) <= 12
    assert all(scale.low <= at <= scale.high for at, _ in scale.ticks)
    ticked = [datetime.date.fromordinal(int(at)) for at, _ in scale.ticks]
    if days >= 30:
        assert all(day.weekday() == 0 for day in ticked) or all(day.day == 1 for day in ticked)


def test_apart_is_told_in_whole_percent() -> None:
    assert percent_apart(4085, 3485) == "17 %"
    assert percent_apart(1001, 1000) == "less than 1 %"


def test_the_smallest_type_is_the_one_the_legibility_test_looks_at() -> None:
    sizes = [offer_drawing.TITLE, offer_drawing.STRONG, offer_drawing.LABEL, offer_drawing.TICK]
    assert min(sizes) == TICK
