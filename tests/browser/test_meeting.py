"""The client meeting in a real browser: in JupyterLab, and shown as a page without its code by `moldkit show`."""

from __future__ import annotations

import re
import socket
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from moldkit.study.compare import compare
from moldkit.study.job_file import load_job
from moldkit.study.knowledge import load_knowledge
from moldkit.study.quote import quote
from tests.browser.conftest import judge, watched_page
from tests.browser.lab import HOST, ROOT, NotebookPage, Server, Watch, _environment, copy_notebooks
from tests.views.client_leaks import found_in, secrets, words_in

NOTEBOOK, PANEL = "the_client_meeting", "panel = ClientMeeting("
SIZES = {"phone": (390, 844), "laptop": (1280, 800), "projector": (1920, 1080)}
SHOWN = """() => document.querySelector('.moldkit-levers tbody tr')
    && Number(document.querySelector('.moldkit-price')?.dataset.drawn) >= 0
    && Number(document.querySelector('.moldkit-chart-plot')?.dataset.drawn) >= 1"""
EACH = ".moldkit-price-figure:first-child .moldkit-price-large"


# ---- in JupyterLab ------------------------------------------------------------------------------------


def test_in_lab_a_key_on_the_run_moves_price_and_date_together(notebook: NotebookPage) -> None:
    each = notebook.page.locator(EACH)
    before = each.inner_text()
    notebook.press("Run", "ArrowRight", 3)
    notebook.wait_kernel("panel.bench.settled", "True")
    assert int(notebook.kernel("panel.case.run")) > 40
    expect(each).to_have_text(eval(notebook.kernel("panel.band.each")))
    assert each.inner_text() != before
    direct = "quote(compare(panel.case, panel.bench.knowledge), start=panel.start).asked.charge.each"
    assert each.inner_text() == f"{int(notebook.kernel(direct)) / 100:.2f} USD"


def test_in_lab_notes_are_in_the_file_while_they_are_typed(notebook: NotebookPage, folder: Path) -> None:
    path = folder / "data" / "jobs" / "captain.toml"
    notes = notebook.page.locator(".moldkit-notes textarea")
    notes.click()
    notes.press_sequentially("rrr: he likes bronze")
    notebook.wait_kernel("panel.notes.text.value", "'rrr: he likes bronze'")
    notebook.wait_kernel("panel.notes.aside.done(0)", "True")
    assert [note.text for note in load_job(path).notes] == ["rrr: he likes bronze"]
    expect(notebook.page.get_by_text("Kept in captain.toml,")).to_be_visible()


def test_in_lab_an_alternative_is_kept_by_name_and_shown_again(notebook: NotebookPage, folder: Path) -> None:
    page = notebook.page
    page.get_by_placeholder("name of this alternative").fill("Harbor fair")
    page.get_by_placeholder("name of this alternative").press("Tab")
    notebook.wait_kernel("panel.cards.name.value", "'Harbor fair'")
    page.get_by_role("button", name="Keep as an alternative").click()
    card = page.get_by_role("region", name="Harbor fair")
    expect(card).to_contain_text(eval(notebook.kernel("panel.band.each")))
    kept = load_job(folder / "data" / "jobs" / "captain.toml").alternatives[-1]
    assert kept.name == "Harbor fair" and kept.case.run == int(notebook.kernel("panel.case.run"))
    page.get_by_role("button", name="Back to what was asked").click()
    notebook.wait_kernel("panel.case.run", "40")


def test_in_lab_the_cells_above_work_the_meeting_out(notebook: NotebookPage) -> None:
    notebook.scroll_to_source("offer_figure_of(offer)")
    notebook.wait_drawn(notebook.plot("Price of a casting over the run"), 1)
    assert "40 castings at " in eval(notebook.kernel("sum_words(offer)"))
    notebook.scroll_to_source(PANEL)


# ---- as a page ----------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Shown:
    """A running `moldkit show`: the address it told, and the folder with data and notebooks that it serves from."""

    address: str
    folder: Path


def free_port() -> int:
    with socket.socket() as found:
        found.bind((HOST, 0))
        return int(found.getsockname()[1])


@pytest.fixture(scope="module")
def shown(chromium: str, server: Server, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shown]:
    scratch, folder = tmp_path_factory.mktemp("show"), copy_notebooks(server, "shown")
    environ = {**_environment(scratch, ""), "MOLDKIT_NO_VENV": "1", "PYTHONPATH": str(ROOT)}
    del environ["JUPYTER_TOKEN"]
    command = [sys.executable, "-m", "moldkit", "show", "--no-browser", "--port", str(free_port())]
    process = subprocess.Popen(
        command, cwd=folder, env=environ, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True
    )
    try:
        assert process.stdout is not None
        told = process.stdout.readline()
        assert re.fullmatch(rf"moldkit show: http://{re.escape(HOST)}:\d+/\?token=\w{{32,}}\n", told), told
        yield Shown(told.split()[-1], folder)
    finally:
        process.terminate()
        process.wait(60)


@pytest.fixture
def client(browser: Browser, shown: Shown, request: pytest.FixtureRequest) -> Iterator[Page]:
    """The page as a client sees it, held to no request to any other host and no error."""
    watch = Watch()
    with watched_page(browser, watch) as page:
        page.set_viewport_size(dict(zip(("width", "height"), SIZES["laptop"], strict=True)))
        page.set_default_timeout(60_000)
        page.goto(shown.address)
        page.wait_for_function(SHOWN)
        yield page
        judge(page, watch, request.node)


def settled(page: Page) -> None:
    """Wait until the kernel has answered what was done on the page, and the page has drawn it."""
    page.wait_for_function("""() => [...document.querySelectorAll('.moldkit-field')].every(
        (field) => !field.dataset.sent || field.dataset.sent === field.dataset.answered)""")


def test_without_the_token_nothing_is_shown(browser: Browser, shown: Shown) -> None:
    with watched_page(browser, Watch()) as page:
        page.goto(shown.address.partition("?")[0])
        expect(page.locator("body")).not_to_contain_text("Captain")
        assert "/login" in page.url


def test_the_page_shows_the_meeting_and_no_code_and_no_other_cell(client: Page) -> None:
    expect(client.locator(EACH)).to_have_text(re.compile(r"^\d+\.\d\d USD$"))
    assert client.locator("[cell-index]").count() == 1
    source = client.content()
    for words in ("ClientMeeting(", "import os", "What only the shop sees", "Exercises", "shop_rows"):
        assert words not in source, words
    hosts = set(re.findall(r"(?:src|href)=\"(https?://[^/\"]+)", source))
    assert hosts <= {f"http://{HOST}"}


@pytest.mark.parametrize("query", ["template=lab", "theme=dark", "template=classic"])
def test_no_address_brings_a_template_that_asks_other_hosts(
    browser: Browser, shown: Shown, query: str, request: pytest.FixtureRequest
) -> None:
    watch = Watch()
    with watched_page(browser, watch) as page:
        page.goto(f"{shown.address}&{query}")
        page.wait_for_function(SHOWN)
        judge(page, watch, request.node)


def test_nothing_of_the_shops_is_anywhere_in_the_page(client: Page, shown: Shown) -> None:
    """In the words, the source and every answer that the page's line to the kernel brought: a reload hears them all."""
    heard: list[str] = []
    client.on("websocket", lambda line: line.on("framereceived", lambda told: heard.append(_as_text(told))))
    client.reload()
    client.wait_for_function(SHOWN)
    knowledge = load_knowledge(shown.folder / "data")
    result = compare(load_job(shown.folder / "data" / "jobs" / "captain.toml").case, knowledge)
    names = [outcome.name for outcome in result.outcomes]
    words = client.locator("#rendered_cells").inner_text()
    assert len(heard) > 10 and "58.65" in words
    figures = secrets(quote(result))
    for text in (words, *[told for told in heard if len(told) < 400_000 and '"_esm"' not in told]):
        assert found_in(text, figures, 6) == []
    assert words_in(words, names) == []


def _as_text(told: str | bytes) -> str:
    return told if isinstance(told, str) else told.decode("utf-8", "replace")


def test_a_choice_changes_price_chart_and_what_changes_it_most(client: Page, shown: Shown) -> None:
    before = client.locator(EACH).inner_text()
    client.get_by_label("Material").select_option("polymer-modified gypsum")
    expect(client.locator(EACH)).not_to_have_text(before)
    knowledge = load_knowledge(shown.folder / "data")
    case = replace(load_job(shown.folder / "data" / "jobs" / "captain.toml").case, material="polymer-modified gypsum")
    each = quote(compare(case, knowledge)).asked.charge.each
    expect(client.locator(EACH)).to_have_text(f"{each / 100:.2f} USD")
    expect(client.locator(".moldkit-levers")).to_contain_text("In rigid urethane resin")
    expect(client.locator(".moldkit-chart-plot")).to_have_attribute("aria-label", re.compile(f"{each / 100:.2f}"))


def test_everything_is_reached_by_the_keyboard(client: Page) -> None:
    before = client.locator(EACH).inner_text()
    slider = client.locator(".moldkit-field").filter(has_text="Run").locator("input[type=range]")
    slider.focus()
    slider.press("PageUp")
    settled(client)
    expect(client.locator(EACH)).not_to_have_text(before)
    seen = set()
    for _ in range(60):
        client.keyboard.press("Tab")
        seen.add(client.evaluate("() => { const e = document.activeElement; return e.placeholder || e.textContent; }"))
    for name in ("Keep as an alternative", "Show this", "Begin another note", "Make the client's pack", "Shop view"):
        assert name in seen, (name, seen)


def test_the_shop_view_asks_first_and_leaves_nothing_behind(client: Page) -> None:
    client.get_by_role("button", name="Shop view").click()
    expect(client.get_by_role("alert").filter(has_text="for everyone who looks at it")).to_be_visible()
    expect(client.get_by_role("table", name="Shop view")).to_have_count(0)
    client.get_by_role("button", name="Show the shop's figures").click()
    expect(client.get_by_role("table", name="Shop view")).to_contain_text("poured block")
    client.get_by_role("button", name="Hide the shop view").click()
    expect(client.get_by_role("table", name="Shop view")).to_have_count(0)
    assert "poured block" not in client.content()


def test_no_double_click_replaces_or_drops_an_alternative(client: Page, shown: Shown) -> None:
    path = shown.folder / "data" / "jobs" / "captain.toml"
    before = load_job(path).alternatives
    client.get_by_placeholder("name of this alternative").fill("bronze look")
    client.get_by_role("button", name="Keep as an alternative").dblclick()
    expect(client.get_by_role("alert").filter(has_text="'Bronze look' is there already")).to_be_visible()
    expect(client.get_by_role("button", name="Replace it")).to_be_visible()
    client.get_by_role("button", name="Drop", exact=True).last.dblclick()
    expect(client.get_by_role("button", name="Drop it for good")).to_have_count(0)
    expect(client.get_by_role("region", name="Bronze look")).to_be_visible()
    assert load_job(path).alternatives == before


def test_notes_outlive_the_page(client: Page, shown: Shown) -> None:
    notes = client.locator(".moldkit-notes textarea")
    notes.click()
    notes.press_sequentially("Sixty, not forty")
    expect(client.get_by_text("Kept in captain.toml,")).to_be_visible()
    client.wait_for_function("() => document.querySelector('.moldkit-notes textarea').value === 'Sixty, not forty'")
    expect(client.get_by_role("alert").filter(has_text="Not kept")).to_have_count(0)
    client.get_by_role("button", name="Begin another note").click()
    expect(notes).to_have_value("")
    expect(client.get_by_role("table", name="Notes of this meeting")).to_contain_text("Sixty, not forty")
    heard: list[str] = []
    client.on("websocket", lambda line: line.on("framereceived", lambda told: heard.append(_as_text(told))))
    client.reload()
    client.wait_for_function(SHOWN)
    client.get_by_role("button", name="Notes of earlier meetings").click()
    expect(client.get_by_role("alert").filter(has_text="noted in earlier meetings")).to_be_visible()
    assert len(heard) > 10 and not any("Sixty, not forty" in told for told in heard)
    client.get_by_role("button", name="Show the notes").click()
    expect(client.get_by_role("table", name="Notes of earlier meetings")).to_contain_text("Sixty, not forty")
    assert "Sixty, not forty" in {n.text for n in load_job(shown.folder / "data" / "jobs" / "captain.toml").notes}


@pytest.mark.parametrize("name", SIZES)
def test_it_fits_a_phone_a_laptop_and_a_projector(client: Page, name: str) -> None:
    wide, high = SIZES[name]
    client.set_viewport_size({"width": wide, "height": high})
    client.wait_for_function(
        "(big) => (document.querySelector('.moldkit-chart-plot')?._fullLayout?.font?.size > 16) === big",
        arg=name == "projector",
    )
    assert client.evaluate("() => document.documentElement.scrollWidth") <= wide
    sizes = client.evaluate(
        """() => [".moldkit-price-large", ".moldkit-levers td", ".moldkit-card td"].map(
            (name) => parseFloat(getComputedStyle(document.querySelector(name)).fontSize))"""
    )
    least = {"phone": (30, 13, 13), "laptop": (40, 13, 13), "projector": (60, 18, 18)}[name]
    assert all(size >= floor for size, floor in zip(sizes, least, strict=True)), sizes
    tops = [client.get_by_role("region", name=card).bounding_box()["y"] for card in ("As asked", "Bronze look")]  # type: ignore[index]
    assert (tops[0] == tops[1]) == (name != "phone")


def test_the_page_prints_whole(client: Page, tmp_path: Path) -> None:
    import pypdf

    printed = tmp_path / "page.pdf"
    printed.write_bytes(client.pdf(format="A4"))
    text = " ".join(page.extract_text() for page in pypdf.PdfReader(printed).pages)
    assert "58.65 USD" in text and "Bronze look" in text and "Notes" in text
