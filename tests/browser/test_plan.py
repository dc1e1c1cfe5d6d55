"""The fourth notebook in a real JupyterLab: run all, plan by key and by a press in a chart, read loads, write."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from playwright.sync_api import Locator, expect

from tests.browser.lab import NotebookPage

NOTEBOOK, PANEL = "plan_the_run", "panel = PlanTheRun("
PAGES = (
    "Who works when",
    "Mold by mold",
    "Cost against finish",
    "Load checks",
    "Sizes",
    "Shopping list",
    "Bench sheets",
)


def panel(notebook: NotebookPage) -> Locator:
    """The live panel: the one with a switch between these pages."""
    return notebook.page.locator(".moldkit-panel").filter(has=notebook.page.get_by_role("button", name=PAGES[6]))


def chart(notebook: NotebookPage) -> Locator:
    """The panel's chart, drawn as the kernel last had it once everything aside is worked out."""
    notebook.wait_kernel("panel.aside.done(0)", "True")
    plot = panel(notebook).locator(".moldkit-chart-plot")
    notebook.wait_drawn(plot, int(notebook.kernel("panel.chart.seq")))
    return plot


def wait_version(notebook: NotebookPage) -> None:
    """Wait until the sentence that stands in the panel is the one of the kernel's newest plan."""
    notebook.wait_verdict(panel(notebook), int(notebook.kernel("panel.version")))


def turn_to(notebook: NotebookPage, name: str) -> None:
    """Choose a page of the panel."""
    panel(notebook).get_by_role("button", name=name, exact=True).click()
    notebook.wait_kernel("panel.switch.value", repr(name))


def text(notebook: NotebookPage, expression: str) -> str:
    """Return a text that the kernel holds."""
    return str(eval(notebook.kernel(expression)))


def sentence(notebook: NotebookPage) -> Locator:
    wait_version(notebook)
    return panel(notebook).locator(".moldkit-verdict-sentence")


def test_run_all_draws_every_chart_with_words_and_a_table_beside_it(notebook: NotebookPage) -> None:
    for call, words in (
        ("gantt_figure(result, alone)", "The run, who works when. 100 castings as a cavity pour"),
        ("finish_figure(result, trade)", "Cost against finish date. In time for Fri 11 Dec the cheapest is"),
        ("by_mold=True", "The run, mold by mold. 100 castings as a poured block"),
    ):
        notebook.scroll_to_source(call)
        plot = notebook.plot(words)
        notebook.wait_drawn(plot, 1)
        assert plot.evaluate("plot => plot.querySelectorAll('.js-line, .bars path').length") > 0, call
    for call, heading in (
        ("hand_rows(alone)", "making molds, h"),
        ("front_rows(trade", "a day earlier costs"),
        ("shopping_rows(shopping)", "left over"),
    ):
        notebook.scroll_to_source(call)
        table = notebook.page.locator(".jp-OutputArea-output table").filter(has_text=heading).first
        expect(table).to_be_visible()
    notebook.scroll_to_source("check_list(checks")
    expect(notebook.page.get_by_role("list", name="Load checks").first).to_be_visible()
    notebook.scroll_to_source("sheet_view(sheets")
    sheet = notebook.page.frame_locator(".jp-OutputArea-output iframe").first
    expect(sheet.get_by_role("heading", name="Mixing sheet")).to_be_visible()
    notebook.scroll_to_source(PANEL)


@pytest.mark.parametrize("name", PAGES)
def test_each_page_stands_in_the_panel_with_what_belongs_to_it(notebook: NotebookPage, name: str) -> None:
    turn_to(notebook, name)
    if name in PAGES[:3]:
        plot = chart(notebook)
        said = plot.get_attribute("aria-label")
        assert said == text(notebook, "panel.chart.label") and said.endswith(".")
    else:
        expect(panel(notebook).locator(".moldkit-chart-plot")).to_be_hidden()
    if name == "Load checks":
        expect(panel(notebook).get_by_role("list", name="Load checks")).to_be_visible()
    elif name == "Bench sheets":
        expect(panel(notebook).locator("iframe")).to_be_visible()
    else:
        rows = panel(notebook).get_by_role("table", name=name, exact=True).get_by_role("row")
        expect(rows.nth(3)).to_be_visible()


def test_a_press_on_the_molds_moves_case_sentence_and_lanes_together(notebook: NotebookPage) -> None:
    turn_to(notebook, "Mold by mold")
    before = sentence(notebook).inner_text()
    notebook.press("Molds side by side", "ArrowRight", 2)
    assert notebook.kernel("panel.case.molds") == "3"
    shown = sentence(notebook)
    assert "3 molds side by side" in shown.inner_text() != before
    assert shown.inner_text() == text(notebook, "panel.band.sentence")
    lanes = chart(notebook).evaluate("plot => plot.layout.yaxis.ticktext")
    assert len(lanes) == 3 and lanes[0].startswith("mold 1")
    expect(panel(notebook).locator(".moldkit-verdict-detail")).to_contain_text("Held up by")


def test_what_the_page_shows_is_what_a_direct_call_computes(notebook: NotebookPage) -> None:
    turn_to(notebook, "Cost against finish")
    plot = chart(notebook)
    names = plot.evaluate("plot => plot.data.map((trace) => trace.name)")
    direct = (
        "[w.cost.at(0) for w in trade_off(panel.result, start=panel.plan.start).ways if w.technique == 'poured block']"
    )
    assert notebook.trace(plot, names.index("poured block"), "y") == pytest.approx(
        eval(notebook.kernel(direct)), rel=1e-9
    )


def test_a_date_asked_for_is_drawn_and_said(notebook: NotebookPage) -> None:
    turn_to(notebook, "Cost against finish")
    due = text(notebook, "str(panel.plan.start + (date(2026, 12, 10) - date(2026, 11, 30)))")
    field = panel(notebook).get_by_label("Due on")
    field.fill(due)
    field.press("Tab")
    notebook.wait_kernel("str(panel.case.due)", repr(due))
    assert re.search("That is (in time|\\d+ days? too late) for", sentence(notebook).inner_text())
    marks = chart(notebook).evaluate("plot => plot.layout.shapes.map((shape) => shape.name)")
    assert marks == ["too late", "due"]


def test_a_mark_pressed_in_the_chart_becomes_the_plan(notebook: NotebookPage) -> None:
    turn_to(notebook, "Cost against finish")
    plot = chart(notebook)
    version = int(notebook.kernel("panel.version"))
    names = plot.evaluate("plot => plot.data.map((trace) => trace.name)")
    place = plot.evaluate(
        """(plot, curve) => {
            const { xaxis, yaxis } = plot._fullLayout, trace = plot.data[curve];
            return [xaxis._offset + xaxis.d2p(trace.x[3]), yaxis._offset + yaxis.d2p(trace.y[3])];
        }""",
        names.index("poured block"),
    )
    plot.click(position={"x": place[0], "y": place[1]})
    notebook.wait_kernel(f"panel.version > {version}", "True")
    notebook.wait_kernel("panel.plan.molds", "4")
    assert text(notebook, "panel.plan.technique") == "poured block"
    assert "poured block" in sentence(notebook).inner_text()
    chart(notebook)


def test_the_working_of_a_load_opens_by_key(notebook: NotebookPage) -> None:
    turn_to(notebook, "Load checks")
    first = panel(notebook).get_by_role("list", name="Load checks").locator("summary").first
    working = panel(notebook).get_by_role("list", name="Load checks").get_by_role("table").first
    expect(working).to_be_hidden()
    first.focus()
    first.press("Enter")
    expect(working).to_be_visible()
    first.press("Enter")
    expect(working).to_be_hidden()


def test_inches_and_pounds_change_what_is_said_of_the_loads_and_no_plan(notebook: NotebookPage) -> None:
    turn_to(notebook, "Load checks")
    loads, version = panel(notebook).get_by_role("list", name="Load checks"), notebook.kernel("panel.version")
    said = loads.inner_text()
    panel(notebook).get_by_role("button", name="in, lb", exact=True).click()
    notebook.wait_kernel("panel.system", "'us'")
    expect(loads).to_contain_text(" lb")
    panel(notebook).get_by_role("button", name="mm, kg", exact=True).click()
    notebook.wait_kernel("panel.system", "'metric'")
    expect(loads).not_to_contain_text(" lb")
    assert loads.inner_text() == said
    assert notebook.kernel("panel.version") == version


def test_nothing_jumps_when_a_chart_gives_way_to_another(notebook: NotebookPage) -> None:
    tops = []
    for name in PAGES[:3]:
        turn_to(notebook, name)
        box = chart(notebook).bounding_box()
        assert box is not None
        switch = panel(notebook).get_by_role("button", name=name, exact=True).bounding_box()
        assert switch is not None
        tops.append((box["y"] - switch["y"], box["height"]))
    assert tops[0] == tops[1] == tops[2]


def test_sheets_are_written_on_a_press_and_the_page_says_where(notebook: NotebookPage, folder: Path) -> None:
    turn_to(notebook, "Bench sheets")
    frame = panel(notebook).frame_locator("iframe")
    expect(frame.get_by_role("heading", name="Shopping list")).to_be_attached()
    target = folder / "notebooks" / "bench"
    assert not target.exists()
    entry = panel(notebook).get_by_label("Folder")
    entry.fill("bench")
    entry.press("Tab")
    notebook.wait_kernel("panel.sheets.folder.value", "'bench'")
    panel(notebook).get_by_role("button", name="Write the sheets").click()
    expect(panel(notebook).get_by_role("status").filter(has_text="Written: ")).to_be_visible()
    names = sorted(path.name for path in target.iterdir())
    assert "mixing.pdf" in names and "all-sheets.xlsx" in names
    assert (target / "mixing.pdf").read_bytes()[:4] == b"%PDF"
    assert json.loads((folder / "notebooks" / "plan_the_run.ipynb").read_text("utf-8"))["cells"][2]["outputs"] == []


def test_no_button_sends_a_chart_to_any_cloud(notebook: NotebookPage) -> None:
    turn_to(notebook, PAGES[0])
    chart(notebook).hover()
    titles = notebook.page.locator(".modebar-btn").evaluate_all("all => all.map((b) => b.dataset.title || '')")
    assert not [title for title in titles if re.search("cloud|studio|upload|share", title, re.IGNORECASE)]
    assert notebook.watch.outside == []
