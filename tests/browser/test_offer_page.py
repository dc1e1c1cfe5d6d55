"""The page left with a client, opened from a file without a network: its own arithmetic, its keys, its looks."""

from __future__ import annotations

import io
import math
import random
import re
from collections.abc import Iterator
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from moldkit.study.client_offer import ClientOffer
from moldkit.study.letterhead import Letterhead
from moldkit.units import cents_text, count_text
from moldkit.views.offer_page import colours
from moldkit.views.offer_page.grid import told_runs, told_sizes
from moldkit.views.offer_page.page import offer_page
from moldkit.views.offer_page.words import day_text
from tests.browser.lab import Watch
from tests.views.offers import ALL_HOSTILE, MANY_RULES, PLAIN, TOO_LONG, made_offer

PHONE, LAPTOP, PROJECTOR = (390, 844), (1280, 800), (1920, 1080)
SETTINGS = 1_000
HANDS_ON = 25
CHOICES = (
    made_offer(MANY_RULES),
    made_offer(MANY_RULES, finish="waxed", dearer=1.31),
    made_offer(PLAIN, material="concrete", dearer=0.47, words=("Concrete is poured on dry days.",)),
)
LONG_RUN = (made_offer(MANY_RULES, run=30_000),)


@pytest.fixture
def offline(page: Page) -> Page:
    page.context.set_offline(True)
    return page


def show(page: Page, folder: Path, offers: tuple[ClientOffer, ...], **more: Any) -> None:
    """Write the page of some offers to a file and open it from there."""
    path = folder / "offer.html"
    path.write_text(offer_page(offers[0], offers[1:], **more), encoding="utf-8")
    page.goto(path.as_uri())


# ---- its own arithmetic ----------------------------------------------------------------------------


def settings(offers: tuple[ClientOffer, ...], count: int, draw: random.Random) -> Iterator[tuple[int, int, int]]:
    """Yield choices, places of sizes, and runs: as many short ones as long ones, the ends among them."""
    sizes, runs = told_sizes(offers[0].longest), told_runs(offers[0])
    yield 0, 0, 1
    yield len(offers) - 1, len(sizes) - 1, runs[-1]
    for _ in range(count - 2):
        near = math.exp(draw.uniform(0, math.log(runs[-1])))
        run = min(runs, key=lambda one: abs(one - near))
        yield draw.randrange(len(offers)), draw.randrange(len(sizes)), run


@pytest.mark.parametrize("offers", [CHOICES, LONG_RUN], ids=["choices", "long run"])
def test_the_page_computes_what_the_kit_does_at_a_thousand_settings(
    offline: Page, tmp_path: Path, offers: tuple[ClientOffer, ...]
) -> None:
    show(offline, tmp_path, offers)
    drawn = list(settings(offers, SETTINGS, random.Random(6)))
    found = offline.evaluate("all => all.map(([choice, size, run]) => offerPage.line(choice, size, run))", drawn)
    sizes, runs = told_sizes(offers[0].longest), told_runs(offers[0])
    tables = [offer.table(sizes, runs) for offer in offers]
    wrong = []
    for (choice, size, run), ours in zip(drawn, found, strict=True):
        line = tables[choice].line(size, runs.index(run))
        theirs = None if line is None else {name: _plain(value) for name, value in asdict(line).items()}
        if ours != theirs:
            wrong.append((choice, size, run, ours, theirs))
    assert wrong == []
    assert 0 < found.count(None) < SETTINGS / 2, "sizes that are not offered are among them"
    assert any(line and line["least"] for line in found), "and orders at the least charge"
    assert any(line and line["as_for"] > line["run"] for line in found), "and runs charged as longer ones"


def _plain(value: Any) -> Any:
    return value.isoformat() if hasattr(value, "isoformat") else value


def test_amounts_beyond_what_a_float_holds_are_exact(offline: Page, tmp_path: Path) -> None:
    """A run of a hundred thousand at some hundred thousand each, taxed: cents times millionths pass 2 to the 53rd."""
    offers = (made_offer(replace(MANY_RULES, price_breaks=()), run=100_000, dearer=4_000.0),)
    show(offline, tmp_path, offers)
    assert offers[0].asked.subtotal * 82_500 > 2**53
    line = offline.evaluate("run => offerPage.line(0, offerPage.asked.size, run)", 100_000)
    assert (line["subtotal"], line["tax"]) == (offers[0].asked.subtotal, offers[0].asked.tax)


def test_what_is_shown_is_what_was_computed(offline: Page, tmp_path: Path) -> None:
    """By hand: the run typed, the size by its slider, the choice from its list."""
    show(offline, tmp_path, CHOICES)
    sizes, runs = told_sizes(CHOICES[0].longest), told_runs(CHOICES[0])
    tables = [offer.table(sizes, runs) for offer in CHOICES]
    for choice, size, run in settings(CHOICES, HANDS_ON, random.Random(7)):
        offline.select_option("#material", label=CHOICES[choice].material)
        if CHOICES[choice].material != "concrete":
            offline.select_option("#finish", label=CHOICES[choice].finish or "none")
        offline.fill("#run", str(run))
        offline.locator("#size-slider").fill(str(size))
        line = tables[choice].line(size, runs.index(run))
        shown = {name: offline.inner_text(f"#{name}") for name in ("each", "sum", "dates", "remark")}
        if line is None:
            assert shown == {"each": "–", "sum": "", "dates": "", "remark": shown["remark"]}
            assert "not offered" in shown["remark"]
            continue
        assert shown["each"] == cents_text(line.each / 100)
        assert shown["sum"].endswith(f"{cents_text(line.total / 100)} USD")
        charged_as = "Charged as " if line.as_for > run else ""
        made_of = f"{charged_as}{count_text(line.as_for)} casting{'' if line.as_for == 1 else 's'} at "
        assert shown["sum"].startswith(f"{made_of}{cents_text(line.castings / line.as_for / 100)}")
        assert (cents_text(line.tooling / 100) in shown["sum"]) == (line.tooling > 0)
        assert line.delivery is not None and day_text(line.delivery) in shown["dates"]
        assert (f"{count_text(line.as_for)} castings" in shown["remark"]) == (line.as_for > run)
        assert offline.inner_text("tr.chosen td >> nth=1") == cents_text(line.each / 100)


def test_the_page_says_the_same_with_scripts_and_without(browser: Browser, tmp_path: Path) -> None:
    parts = ("#chosen", "#each", "#sum", "#dates", "#remark", "#rows", "#terms", "#asked-as")
    said = []
    for scripts in (True, False):
        context = browser.new_context(java_script_enabled=scripts)
        page = context.new_page()
        show(page, tmp_path, CHOICES)
        said.append([page.inner_html(part) for part in parts])
        assert page.locator(".wanted").is_visible() == scripts
        context.close()
    assert said[0] == said[1]


def test_a_run_that_is_not_told_shows_the_nearest_and_says_so(offline: Page, tmp_path: Path) -> None:
    show(offline, tmp_path, LONG_RUN)
    runs = told_runs(LONG_RUN[0])
    run = next(one for one in range(2_001, 60_000) if one not in runs)
    nearest = min(runs, key=lambda one: (abs(one - run), one))
    offline.fill("#run", str(run))
    assert offline.inner_text("#remark") == f"Told for {count_text(nearest)} castings, the nearest run in this page."
    assert offline.inner_text("#chosen").startswith(f"{count_text(nearest)} castings")


# ---- the chart -------------------------------------------------------------------------------------


def test_the_mark_on_the_curve_stands_at_the_chosen_run_and_price(offline: Page, tmp_path: Path) -> None:
    show(offline, tmp_path, CHOICES)
    table = CHOICES[0].table([CHOICES[0].longest], range(1, 1_001))
    for run in (3, 40, 250):
        offline.fill("#run", str(run))
        ticks = offline.evaluate("""() => {
            const texts = [...document.querySelectorAll(".axes text")].map((one) => [
                one.textContent, one.getAttribute("text-anchor"), +one.getAttribute("x"), +one.getAttribute("y")]);
            const mark = document.querySelector("circle.chosen");
            return { texts, across: +mark.getAttribute("cx"), up: +mark.getAttribute("cy") };
        }""")
        letter = offline.evaluate("() => parseFloat(getComputedStyle(document.querySelector('#curve')).fontSize)")
        below = {text: x for text, anchor, x, _ in ticks["texts"] if anchor == "middle"}
        beside = {float(text.replace("\u202f", "")): y - 0.33 * letter for text, anchor, _, y in ticks["texts"]
                  if anchor == "end" and text != "1\u202f000"}  # fmt: skip
        decade = below["100"] - below["10"]
        assert ticks["across"] == pytest.approx(below["10"] + decade * math.log10(run / 10), abs=0.01)
        (low, y_low), (high, y_high) = sorted(beside.items())[0], sorted(beside.items())[-1]
        price = float(table.each[0, run - 1]) / 100
        share = math.log(price / low) / math.log(high / low)
        assert ticks["up"] == pytest.approx(y_low + share * (y_high - y_low), abs=0.01)


def test_the_curve_goes_through_the_prices_and_steps_at_the_breaks(offline: Page, tmp_path: Path) -> None:
    show(offline, tmp_path, CHOICES)
    path = offline.locator("svg .line").get_attribute("d") or ""
    table = CHOICES[0].table([CHOICES[0].longest], range(1, 1_001))
    changes = sum(a != b for a, b in zip(table.each[0], table.each[0][1:], strict=False))
    assert path.count("V") == changes
    assert "L" not in path, "a price that holds from break to break is drawn level"
    show(offline, tmp_path, (made_offer(),))
    assert "V" not in (offline.locator("svg .line").get_attribute("d") or "V")


def test_labels_neither_overlap_nor_leave_the_chart(offline: Page, tmp_path: Path) -> None:
    for width, height in (PHONE, LAPTOP, PROJECTOR):
        offline.set_viewport_size({"width": width, "height": height})
        for terms in (PLAIN, MANY_RULES):
            show(offline, tmp_path, (made_offer(terms),))
            for run in (1, 7, 40, 300, 1_000):
                offline.fill("#run", str(run))
                boxes = offline.evaluate("""() => [...document.querySelectorAll(".marks text")].map((one) => {
                    const { left, right, top, bottom } = one.getBoundingClientRect();
                    return { left, right, top: top + 3, bottom: bottom - 3, text: one.textContent };
                })""")
                assert any(box["text"].startswith(f"{count_text(run)}: ") for box in boxes)
                for at, box in enumerate(boxes):
                    assert box["left"] >= 0, box
                    assert box["right"] <= width + 0.5, box
                    for other in boxes[at + 1 :]:
                        apart = (
                            box["right"] < other["left"] or other["right"] < box["left"]
                            or box["bottom"] < other["top"] or other["bottom"] < box["top"]
                        )  # fmt: skip
                        assert apart, (width, run, box, other)


# ---- keys and fields -------------------------------------------------------------------------------


def test_everything_is_reached_and_moved_by_keys(offline: Page, tmp_path: Path) -> None:
    show(offline, tmp_path, CHOICES)
    reached = []
    for _ in range(9):
        offline.keyboard.press("Tab")
        reached.append(offline.evaluate("() => document.activeElement.id"))
    assert reached[:8] == ["theme", "asked", "run-slider", "run", "size-slider", "size", "material", "finish"]
    slider = offline.locator("#run-slider")
    slider.focus()
    for key, run in (("ArrowRight", 42), ("ArrowLeft", 40), ("Home", 1), ("ArrowRight", 2), ("End", 1_000)):
        offline.keyboard.press(key)
        expect(offline.locator("#run")).to_have_value(str(run))
        expect(slider).to_have_attribute("aria-valuetext", f"{count_text(run)} casting{'' if run == 1 else 's'}")
        assert offline.inner_text("#chosen").startswith(f"{count_text(run)} casting")
    offline.locator("#size-slider").focus()
    offline.keyboard.press("ArrowRight")
    expect(offline.locator("#size")).to_have_value("32")
    offline.locator("#asked").focus()
    offline.keyboard.press("Enter")
    assert offline.inner_text("#chosen").startswith("40 castings, 30 cm")
    offline.locator("#theme").focus()
    offline.keyboard.press("Space")
    expect(offline.locator("html")).to_have_attribute("data-theme", "dark")


def test_every_control_has_a_name_and_room_for_a_finger(offline: Page, tmp_path: Path) -> None:
    offline.set_viewport_size({"width": PHONE[0], "height": PHONE[1]})
    show(offline, tmp_path, CHOICES)
    for role, name in (
        ("spinbutton", "Castings"), ("slider", "Castings, slider"), ("spinbutton", "Longest side, cm"),
        ("slider", "Longest side, slider"), ("combobox", "Material"), ("combobox", "Finish"), ("button", "As asked"),
        ("button", "Dark"), ("img", offline.inner_text("#finding")),
    ):  # fmt: skip
        box = offline.get_by_role(role, name=name, exact=True).bounding_box()  # type: ignore[arg-type]
        # WCAG 2.2, success criterion 2.5.8, target size: at least 24 by 24 CSS pixels
        assert box is not None and box["width"] >= 24 and box["height"] >= 24, name


@pytest.mark.parametrize("typed", ["0", "1001", "2.5", "-3", ""])
def test_a_run_that_cannot_be_told_says_how_to_mend_it_and_the_price_stays(
    offline: Page, tmp_path: Path, typed: str
) -> None:
    show(offline, tmp_path, CHOICES)
    before = offline.inner_text("#each")
    offline.fill("#run", typed)
    offline.locator("#run").blur()
    assert offline.inner_text("#run-wrong") == "Enter a whole number from 1 to 1\u202f000."
    expect(offline.locator("#run")).to_have_attribute("aria-invalid", "true")
    assert offline.inner_text("#each") == before
    offline.locator("#run-slider").press("ArrowRight")
    expect(offline.locator("#run")).to_have_attribute("aria-invalid", "false")
    assert offline.inner_text("#run-wrong") == ""


def test_a_size_between_two_snaps_to_the_nearer_and_says_so(offline: Page, tmp_path: Path) -> None:
    show(offline, tmp_path, CHOICES)
    offline.fill("#size", "33.4")
    assert offline.inner_text("#size-wrong") == "Told for 34 cm, the nearest size in this page."
    assert "34 cm" in offline.inner_text("#chosen")
    expect(offline.locator("#size")).to_have_value("33.4")
    offline.locator("#size").blur()
    expect(offline.locator("#size")).to_have_value("34")


def test_the_price_is_read_out_once_the_moving_ends(offline: Page, tmp_path: Path) -> None:
    show(offline, tmp_path, CHOICES)
    slider = offline.locator("#run-slider")
    for _ in range(4):
        slider.press("ArrowRight")
    each = offline.inner_text("#each")
    expect(offline.locator("#spoken")).to_contain_text(f"{each} USD each, together")


def test_choices_change_price_terms_and_the_finishes_there_are(offline: Page, tmp_path: Path) -> None:
    show(offline, tmp_path, CHOICES)
    offline.select_option("#finish", label="waxed")
    waxed = offline.inner_text("#each")
    assert waxed != cents_text(CHOICES[0].asked.each / 100)
    assert offline.locator("svg .asked").count() == 1, "what was asked for stays in sight"
    offline.select_option("#material", label="concrete")
    assert offline.locator("#finish option").all_inner_texts() == ["none"]
    assert offline.inner_text("#terms") == "Concrete is poured on dry days."
    offline.click("#asked")
    assert offline.inner_text("#each") == cents_text(CHOICES[0].asked.each / 100)
    assert offline.locator("svg .asked").count() == 0


# ---- looks -----------------------------------------------------------------------------------------

# Each piece of text or mark with its colour and what it stands on; the nearest ground that isn't see-through counts.
SEEN = """() => {
    const rgb = (text) => (text.match(/[\\d.]+/g) ?? []).map(Number);
    const ground = (one) => {
        for (let at = one; at; at = at.parentElement) {
            const found = rgb(getComputedStyle(at).backgroundColor);
            if (found.length === 3 || found[3] > 0) return found.slice(0, 3);
        }
        return [255, 255, 255];
    };
    const shown = (one) => one.getClientRects().length && getComputedStyle(one).visibility === "visible";
    const own = (one) => [...one.childNodes].some((node) => node.nodeType === 3 && node.textContent.trim());
    const found = [];
    for (const one of document.body.querySelectorAll("*")) {
        if (!shown(one) || one.closest("noscript, script")) continue;
        const style = getComputedStyle(one);
        const svg = one instanceof SVGElement;
        const what = `${one.tagName} ${one.id || one.getAttribute("class") || ""} ${one.textContent.slice(0, 20)}`;
        if (own(one)) found.push([what, "text", rgb(svg ? style.fill : style.color), ground(one)]);
        else if (svg && /^(path|circle|line)$/.test(one.tagName) && !one.classList.contains("hair")) {
            found.push([what, "mark", rgb(style.stroke), ground(one)]);
        } else if (/^(INPUT|SELECT|BUTTON)$/.test(one.tagName) && one.type !== "range") {
            found.push([what, "mark", rgb(style.borderTopColor), ground(one.parentElement)]);
        }
    }
    return found;
}"""


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("shop", [(), ("#ffe14d", "#101010")], ids=["the kit's colours", "hard colours"])
def test_all_that_is_shown_stands_out_from_its_ground(
    browser: Browser, tmp_path: Path, scheme: Any, shop: tuple[str, ...]
) -> None:
    """Contrast of what the browser computed: 4.5:1 for text, 3:1 for marks (WCAG 2.2, 1.4.3 and 1.4.11)."""
    context = browser.new_context(color_scheme=scheme)
    page = context.new_page()
    show(page, tmp_path, (replace(CHOICES[0], letterhead=Letterhead("Shop", shop)), *CHOICES[1:]))
    page.fill("#run", "0")
    page.locator("#run").blur()
    page.locator("#size-slider").press("ArrowRight")
    found = page.evaluate(SEEN)
    context.close()
    assert {kind for _, kind, _, _ in found} == {"text", "mark"} and len(found) > 80
    for what, kind, colour, ground in found:
        if "chosen" in what and kind == "mark":
            continue  # the mark's ring is the ground's own; its fill is the ink
        ratio = colours.contrast(_hex(colour), _hex(ground))
        assert ratio >= (colours.TEXT if kind == "text" else colours.MARK), (what, colour, ground)


def _hex(parts: list[float]) -> str:
    return "#" + "".join(f"{round(part):02x}" for part in parts[:3])


@pytest.mark.parametrize("size", [PHONE, LAPTOP, PROJECTOR], ids=["phone", "laptop", "projector"])
def test_nothing_runs_over_the_edge_whatever_the_names(
    offline: Page, tmp_path: Path, size: tuple[int, int]
) -> None:
    name = ALL_HOSTILE + " " + "a" * 300
    hostile = made_offer(
        replace(MANY_RULES, tax_label=name), job=name, material=name, finish=name, head=Letterhead(name), words=(name,)
    )
    offline.on("dialog", lambda dialog: pytest.fail(f"a name ran as a script: {dialog.message}"))
    offline.set_viewport_size({"width": size[0], "height": size[1]})
    show(offline, tmp_path, (hostile, replace(hostile, finish="other", material=name + "b")), note=name)
    offline.select_option("#material", index=1)
    offline.fill("#run", "77")
    wide = offline.evaluate("() => [document.documentElement.scrollWidth, innerWidth]")
    assert wide[0] <= wide[1]
    assert offline.locator("h1 *, #terms li *, option *, img").count() == 0
    assert offline.evaluate("() => document.querySelectorAll('script').length") == 2


@pytest.mark.parametrize("size", [LAPTOP, PROJECTOR], ids=["laptop", "projector"])
def test_controls_price_and_chart_are_in_sight_at_once(
    offline: Page, tmp_path: Path, size: tuple[int, int]
) -> None:
    offline.set_viewport_size({"width": size[0], "height": size[1]})
    show(offline, tmp_path, CHOICES)
    for part in ("#run", "#size", "#each", "#dates", "svg"):
        box = offline.locator(part).bounding_box()
        assert box is not None and box["y"] + box["height"] <= size[1], part


def test_the_page_prints_on_two_sheets_at_most_without_its_controls(
    offline: Page, tmp_path: Path
) -> None:
    pypdf = pytest.importorskip("pypdf")
    show(offline, tmp_path, CHOICES)
    offline.emulate_media(color_scheme="dark")
    offline.fill("#run", "60")
    each = offline.inner_text("#each")
    for paper in ("A4", "Letter"):
        pages = pypdf.PdfReader(io.BytesIO(offline.pdf(format=paper, print_background=True))).pages
        text = "\n".join(page.extract_text() for page in pages)
        assert 1 <= len(pages) <= 2
        assert f"{each} USD each" in re.sub(r"\s+", " ", text)
        assert "60 castings, 30 cm" in text
        assert "What would you like" not in text


def test_nothing_is_asked_for_but_the_file_itself(browser: Browser, tmp_path: Path) -> None:
    context = browser.new_context()
    watch = Watch()
    watch.over(context)
    page, asked = context.new_page(), []
    page.on("request", lambda request: asked.append(request.url))
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    show(page, tmp_path, CHOICES)
    page.locator("#run-slider").press("End")
    context.close()
    assert [url for url in asked if not url.startswith("data:")] == [(tmp_path / "offer.html").as_uri()]
    assert watch.outside == [] and watch.errors == []
    assert said == [], "no complaint of the browser's, its content security policy included"


def test_a_script_that_came_in_later_would_not_run(offline: Page, tmp_path: Path) -> None:
    """The page's policy lets only its own script run: one planted in the file after it was made does nothing."""
    path = tmp_path / "offer.html"
    planted = "<script>document.title = 'planted'</script><img src='x:y' onerror=\"document.title = 'planted'\">"
    path.write_text(offer_page(CHOICES[0]).replace("</main>", f"</main>{planted}"), encoding="utf-8")
    offline.goto(path.as_uri())
    assert offline.locator("#each").inner_text() == cents_text(CHOICES[0].asked.each / 100)
    assert offline.title() == "Harbour bell: prices by Tidewater Lane Castings"


def test_sizes_that_are_not_offered_say_so(offline: Page, tmp_path: Path) -> None:
    show(offline, tmp_path, CHOICES)
    offline.locator("#size-slider").press("End")
    assert float(offline.input_value("#size")) / 100 > TOO_LONG
    assert "not offered" in offline.inner_text("#remark")
    assert offline.locator("circle.chosen").count() == 0
    assert offline.inner_text("#rows") == ""
