"""The first notebook in a real JupyterLab: run all, drag by keyboard, read what changed."""

from __future__ import annotations

import os
import re
from pathlib import Path

import pytest
from playwright.sync_api import Locator, expect

from tests.browser.lab import NotebookPage

NOTEBOOK, PANEL = "choose_a_technique", "panel = ChooseATechnique("


def sentence(notebook: NotebookPage) -> Locator:
    return notebook.page.locator(".moldkit-verdict-sentence")


def wait_version(notebook: NotebookPage) -> None:
    """Wait until the verdict that stands in the page is the one of the kernel's newest case."""
    notebook.wait_verdict(notebook.page.locator(".moldkit-panel"), int(notebook.kernel("panel.bench.version")))


def cost_plot(notebook: NotebookPage) -> Locator:
    plot = notebook.page.locator(".moldkit-panel .moldkit-chart-plot[aria-label^='Cost over the run']").first
    notebook.wait_drawn(plot, int(notebook.kernel("panel.cost.seq")))
    return plot


def press(notebook: NotebookPage, label: str, key: str, times: int = 1) -> None:
    """Press a key on a field's slider and wait until what follows is shown."""
    notebook.press(label, key, times)
    wait_version(notebook)


def labels(plot: Locator, name: str) -> list[str]:
    """Return the words of the labels of that name in a chart, its annotations and its shapes' labels."""
    found: list[str] = plot.evaluate(
        """(plot, name) => [
            ...(plot.layout.annotations ?? []).filter((a) => a.name === name).map((a) => a.text),
            ...plot.layout.shapes.filter((s) => s.name === name).map((s) => s.label.text),
        ]""",
        name,
    )
    return found


def test_run_all_leaves_a_verdict_curves_map_and_tables(notebook: NotebookPage) -> None:
    expect(sentence(notebook)).to_contain_text("castings cost about")
    plot = cost_plot(notebook)
    names = [trace["name"] for trace in plot.evaluate("plot => plot.data.map((t) => ({ name: t.name }))")]
    assert names[:4] == ["poured block", "brushed skin", "cavity pour", "cavity pour, printed shell"]
    assert labels(plot, "crossing")
    table = notebook.page.get_by_role("group", name="The techniques side by side")
    expect(table.get_by_role("rowheader", name=re.compile("^poured block"))).to_be_visible()
    strip = notebook.page.get_by_role("group", name="The same case by each casting method")
    expect(strip.get_by_role("rowheader", name=re.compile("^hand rotation"))).to_be_attached()


def test_the_run_slider_by_keyboard_moves_the_mark_and_the_verdict(notebook: NotebookPage) -> None:
    before = sentence(notebook).inner_text()
    marked = labels(cost_plot(notebook), "run")
    press(notebook, "Run", "ArrowRight", 12)
    run = int(notebook.kernel("panel.case.run"))
    assert sentence(notebook).inner_text() != before
    after = labels(cost_plot(notebook), "run")
    assert after != marked
    assert after == [f"run {run:,d}".replace(",", "\u202f")]


def test_the_size_slider_by_keyboard_moves_the_curves_and_the_crossing(notebook: NotebookPage) -> None:
    plot = cost_plot(notebook)
    costs, crossings = notebook.trace(plot, 0, "y"), labels(plot, "crossing")
    press(notebook, "Longest side", "ArrowLeft", 6)
    moved = cost_plot(notebook)
    assert notebook.trace(moved, 0, "y")[0] < costs[0]
    assert labels(moved, "crossing") != crossings


def test_what_the_page_shows_is_what_a_direct_call_computes(notebook: NotebookPage) -> None:
    press(notebook, "Run", "PageUp")
    shown = notebook.trace(cost_plot(notebook), 2, "y")
    direct = notebook.kernel(
        "__import__('moldkit.study.curves', fromlist=['x']).curve_table(panel.result, 1000).totals[2].tolist()"
    )
    computed = [float(figure) for figure in direct.strip("[]").split(",")]
    assert shown == pytest.approx(computed)


def test_a_method_by_the_strip_rules_a_technique_out_and_says_why(notebook: NotebookPage) -> None:
    strip = notebook.page.get_by_role("group", name="The same case by each casting method")
    strip.get_by_role("rowheader", name=re.compile("pressure")).get_by_role("button").click()
    detail = notebook.page.locator(".moldkit-verdict-detail")
    expect(detail).to_contain_text("brushed skin (no pressure in a brushed skin)")
    wait_version(notebook)
    ends = labels(cost_plot(notebook), "end")
    assert any("out: no pressure in a brushed skin" in text for text in ends)
    notebook.page.get_by_role("button", name="Undo", exact=True).click()
    expect(detail).to_have_text("")


def test_a_figure_opens_its_working_and_escape_closes_it(notebook: NotebookPage) -> None:
    table = notebook.page.get_by_role("group", name="The techniques side by side")
    table.get_by_role("button", name=re.compile("^cavity pour, Rubber")).click()
    region = notebook.page.locator(".moldkit-table-working").filter(has_text="rubber to mix")
    expect(region).to_contain_text("density")
    notebook.page.keyboard.press("Escape")
    expect(region).to_have_count(0)


def test_a_click_in_the_map_takes_size_and_run_there(notebook: NotebookPage) -> None:
    plot = notebook.plot("Decision map")
    notebook.wait_drawn(plot, int(notebook.kernel("panel.map.seq")))
    box = plot.bounding_box()
    assert box is not None
    before = notebook.kernel("(panel.case.run, panel.case.longest)")
    version = int(notebook.kernel("panel.bench.version"))
    notebook.page.mouse.click(box["x"] + 0.35 * box["width"], box["y"] + 0.45 * box["height"])
    notebook.wait_verdict(notebook.page.locator(".moldkit-panel"), version + 1)
    assert notebook.kernel("(panel.case.run, panel.case.longest)") != before


def test_a_decimal_comma_is_refused_under_its_field_and_loses_nothing(notebook: NotebookPage) -> None:
    before = notebook.kernel("panel.case.longest")
    field = notebook.field("Longest side")
    entry = field.locator("input[type=text]")
    good = entry.input_value()
    entry.fill("1,5")
    entry.press("Enter")
    expect(field).to_contain_text("point")
    assert notebook.kernel("panel.case.longest") == before
    entry.fill(good)
    entry.press("Enter")
    notebook.wait_answered(field)


def test_no_button_sends_a_chart_to_any_cloud(notebook: NotebookPage) -> None:
    cost_plot(notebook).hover()
    titles = notebook.page.locator(".modebar-btn").evaluate_all("all => all.map((b) => b.dataset.title || '')")
    assert not [title for title in titles if re.search("cloud|studio|upload|share", title, re.IGNORECASE)]
    assert notebook.watch.outside == []


def test_the_picture_button_offers_a_png(notebook: NotebookPage) -> None:
    with notebook.page.expect_download() as offered:
        notebook.page.get_by_role("button", name="PNG", exact=True).click()
    path = offered.value.path()
    assert path is not None and path.read_bytes().startswith(b"\x89PNG")
    assert offered.value.suggested_filename == "finial-cost.png"


def test_the_client_page_opens_offline_and_shows_no_cost(notebook: NotebookPage, folder: Path) -> None:
    notebook.page.get_by_role("button", name="Page for the client", exact=True).click()
    expect(notebook.page.get_by_text(re.compile("Written: .*client.html"))).to_be_visible()
    written = folder / "notebooks" / "exports" / "finial" / "client.html"
    page = notebook.page.context.new_page()
    page.goto(f"file://{os.fspath(written)}")
    page.wait_for_function("() => document.querySelector('#chart0').data?.length > 0")
    expect(page.get_by_role("heading", level=1)).to_contain_text("each")
    page.close()


def test_what_is_moved_in_place_while_a_key_is_held_is_where_the_full_drawing_puts_it(notebook: NotebookPage) -> None:
    lines = "plot => [...plot.querySelectorAll('.js-line')].map((line) => line.getAttribute('d'))"
    notebook.slider("Longest side").focus()
    for key in ("ArrowRight", "ArrowLeft"):
        notebook.page.keyboard.down(key)
        notebook.wait_answered(notebook.field("Longest side"))
        held = cost_plot(notebook).evaluate(lines)
        notebook.page.keyboard.up(key)
        notebook.wait_answered(notebook.field("Longest side"))
        wait_version(notebook)
        settled = cost_plot(notebook).evaluate(lines)
        assert len(held) == len(settled)
        for moved, drawn in zip(held, settled, strict=True):
            first, last = re.findall(r"[\d.]+,[\d.]+", moved)[:: len(re.findall(r"[\d.]+,[\d.]+", moved)) - 1][:2]
            ends = re.findall(r"[\d.]+,[\d.]+", drawn)
            for one, other in ((first, ends[0]), (last, ends[-1])):
                near = [float(part) for part in one.split(",")], [float(part) for part in other.split(",")]
                assert near[0] == pytest.approx(near[1], abs=0.1)
