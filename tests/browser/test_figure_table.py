"""The table of figures in a real page: opening and closing a working, focus, keyboard, marks, widths, markup."""

from __future__ import annotations

import pytest
from playwright.sync_api import Locator, expect

from tests.browser.lab import NotebookPage, write_notebook

# Invented figures: an imaginary shop's ways of molding one imaginary finial.
SETUP = """\
import dataclasses
from moldkit.errors import InputError
from moldkit.quantity import Quantity, working
from moldkit.units import show
from moldkit.views.style import STROKES
from moldkit.views.widgets.figure_table import FigureTable

VOLUMES = {"poured block": 0.0176, "brushed skin": 0.0031, "cavity pour": 0.0029, "cavity pour, printed shell": 0.003}
STANDINGS = {"poured block": "best", "brushed skin": "out"}
VERDICTS = {"best": "cheapest", "out": "out: brushed x pressure", "": "dearer"}
calls = []

def figures(scale):
    density = Quantity("density", 1080.0, "kg/m3", source="imaginary data sheet")
    price = Quantity("rubber price", 28.0, "money/kg", source="imaginary shop")
    found = {}
    for name, least in VOLUMES.items():
        volume = Quantity("rubber volume", least * scale**3, "m3", "container - pattern", source="imaginary finial")
        rubber = Quantity("rubber", volume.value * density.value, "kg", "volume x density", (volume, density))
        cost = Quantity("cost", rubber.value * price.value, "money", "rubber x price", (rubber, price))
        found[name] = {"Rubber": rubber, "Rubber cost": cost}
    return found

def rows(found, standings=STANDINGS):
    made = []
    for place, (name, quantities) in enumerate(found.items()):
        standing = standings.get(name, "")
        cells = [{"text": show(q.value, q.unit, "metric", "USD"), "key": f"{name}/{heading}"}
                 for heading, q in quantities.items()]
        cells[0]["note"] = "in 4 coats" if name == "brushed skin" else ""
        made.append({"key": name, "heading": name, "standing": standing,
                     "cells": [*cells, {"text": VERDICTS[standing]}],
                     "swatch": {"colour": STROKES[place].colour, "dash": STROKES[place].dash}})
    return made
"""
TABLE = """\
now = figures(1.0)
table = FigureTable(caption="Techniques", headings=["Technique", "Rubber", "Rubber cost", "Verdict"], rows=rows(now))

def tell(key):
    calls.append(key)
    name, heading = key.split("/")
    if name == "brushed skin":
        raise InputError("No working is kept for the brushed skin.")
    lines = [dataclasses.asdict(line) for line in working(now[name][heading], currency="USD")]
    table.working = {"title": f"{heading}, {name}", "lines": lines}

table.on_open(tell)
table.on_close(lambda: calls.append("closed"))
"""
METHODS = """\
methods = FigureTable(
    caption="Methods", headings=["Method", "Block", "Cheapest"], row_action="cast by this method", working_height=0,
    rows=[{"key": method, "heading": method, "chosen": method == "open pour",
           "cells": [{"text": "yes"}, {"text": "poured block"}]} for method in ("open pour", "under pressure")])

def take(key):
    calls.append(key)
    methods.rows = [{**row, "chosen": row["key"] == key} for row in methods.rows]

methods.on_choose(take)
methods
"""
COST, RUBBER = "cavity pour, Rubber cost", "cavity pour, Rubber"


@pytest.fixture
def notebook(notebook_page: NotebookPage) -> NotebookPage:
    write_notebook(notebook_page.server.folder / "figure_table.ipynb", [SETUP, TABLE, "table", METHODS])
    notebook_page.open("figure_table.ipynb")
    notebook_page.run_all()
    notebook_page.scroll_to(2)
    return notebook_page


def widget(notebook: NotebookPage, caption: str = "Techniques") -> Locator:
    found = notebook.page.locator(".jp-OutputArea-output .moldkit-table")
    return found.filter(has=notebook.page.locator(f"caption:text-is('{caption}')"))


def figure(notebook: NotebookPage, label: str) -> Locator:
    return widget(notebook).locator(f"button[aria-label^='{label}:']")


def panel(notebook: NotebookPage) -> Locator:
    return widget(notebook).get_by_role("region", name="Working", exact=True)


def run(notebook: NotebookPage, code: str) -> None:
    """Run code in the kernel, as a callback of another widget would."""
    notebook.kernel(f"exec({code!r}, globals())")


def open_by_key(notebook: NotebookPage, label: str) -> Locator:
    button = figure(notebook, label)
    button.focus()
    notebook.page.keyboard.press("Enter")
    expect(panel(notebook)).to_contain_text(label.split(", ")[1])
    return button


def test_the_table_can_be_read_without_seeing_it(notebook: NotebookPage) -> None:
    table = widget(notebook).get_by_role("table", name="Techniques")
    assert table.locator("thead th[scope=col]").all_inner_texts() == ["Technique", "Rubber", "Rubber cost", "Verdict"]
    heads = table.locator("tbody th[scope=row]")
    assert heads.nth(0).inner_text().split("\n")[0] == "✓"
    names = [" ".join(text.split()) for text in heads.all_text_contents()]
    assert names == ["✓poured block, best", "✕brushed skin, out", "cavity pour", "cavity pour, printed shell"]
    expect(figure(notebook, "poured block, Rubber")).to_have_attribute(
        "aria-label", "poured block, Rubber: 19 kg, show working"
    )
    expect(figure(notebook, "brushed skin, Rubber")).to_have_accessible_description("in 4 coats")
    expect(panel(notebook)).to_have_attribute("aria-live", "polite")
    expect(panel(notebook)).to_have_text("Choose a figure to see its working.", use_inner_text=True)
    cells = table.locator("tbody tr").nth(0).locator("td")
    assert cells.evaluate_all("all => all.map(one => getComputedStyle(one).textAlign)") == ["right", "right", "left"]


def test_a_figure_opens_its_working_and_closing_it_gives_the_focus_back(notebook: NotebookPage) -> None:
    height = widget(notebook).bounding_box()["height"]
    button = open_by_key(notebook, COST)
    expect(button).to_have_attribute("aria-expanded", "true")
    expect(widget(notebook).locator("[aria-expanded=true]")).to_have_count(1)
    lines = panel(notebook).get_by_role("listitem")
    # 0.0029 m3 x 1080 kg/m3 = 3.132 kg; x 28 a kg = 87.70
    expect(lines).to_have_count(5)
    assert lines.nth(0).inner_text().split("\n")[0] == "cost = 87.70 USD"
    assert "= volume x density" in lines.nth(1).inner_text()
    assert lines.nth(2).inner_text().split("\n")[-1] == "imaginary finial"
    left = [lines.nth(place).bounding_box()["x"] for place in range(3)]
    assert left[0] < left[1] < left[2]
    assert widget(notebook).bounding_box()["height"] == height

    panel(notebook).focus()
    notebook.page.keyboard.press("Escape")
    expect(button).to_be_focused()
    expect(button).to_have_attribute("aria-expanded", "false")
    expect(panel(notebook).get_by_role("listitem")).to_have_count(0)
    assert widget(notebook).bounding_box()["height"] == height
    assert notebook.kernel("(calls, table.opened, table.working)") == "(['cavity pour/Rubber cost', 'closed'], '', {})"

    open_by_key(notebook, COST).click()  # the open figure once more
    expect(button).to_have_attribute("aria-expanded", "false")
    other = open_by_key(notebook, RUBBER)
    panel(notebook).get_by_role("button", name="Close the working").click()
    expect(other).to_be_focused()
    expect(panel(notebook)).to_contain_text("Choose a figure")
    assert notebook.kernel("calls[2:]") == "['cavity pour/Rubber cost', 'closed', 'cavity pour/Rubber', 'closed']"


def test_new_rows_keep_the_focus_and_the_open_mark(notebook: NotebookPage) -> None:
    button = open_by_key(notebook, COST)
    run(notebook, "now = figures(2.0); table.rows = rows(now)")
    expect(button).to_have_text("702 USD")  # eight times 87.70
    expect(button).to_be_focused()
    expect(button).to_have_attribute("aria-expanded", "true")
    run(notebook, "table.rows = rows(now)[::-1]")
    expect(widget(notebook).locator("tbody tr").nth(1)).to_contain_text("702 USD")
    expect(button).to_be_focused()
    expect(button).to_have_attribute("aria-expanded", "true")
    run(notebook, "table.rows = [row for row in rows(now) if row['key'] != 'cavity pour']")
    expect(button).to_have_count(0)
    expect(widget(notebook).locator(".moldkit-table-box")).to_be_focused()
    notebook.page.keyboard.press("Escape")
    expect(panel(notebook)).to_contain_text("Choose a figure")


def test_columns_stay_where_they_are_and_a_narrow_table_scrolls_in_its_own_box(notebook: NotebookPage) -> None:
    edges = "nodes => nodes.map((node) => node.getBoundingClientRect().left)"
    heads = widget(notebook).locator("thead th")
    run(notebook, "table.rows = rows(figures(3.0))")
    expect(figure(notebook, COST)).not_to_have_text("87.70 USD")
    before = heads.evaluate_all(edges)
    run(notebook, "table.rows = rows(figures(1.0), {'cavity pour': 'best'})")  # shorter figures, another bold row
    expect(figure(notebook, COST)).to_have_text("87.70 USD")
    assert heads.evaluate_all(edges) == before

    box = widget(notebook).locator(".moldkit-table-box")
    expect(box).to_have_attribute("tabindex", "-1")
    widget(notebook).evaluate("node => { node.style.width = '320px'; }")
    expect(box).to_have_attribute("tabindex", "0")
    assert box.evaluate("node => node.clientWidth") <= 320
    before = heads.evaluate_all(edges)
    box.focus()
    notebook.page.keyboard.press("ArrowRight")
    notebook.page.wait_for_function("node => node.scrollLeft > 0", arg=box.element_handle())
    after = heads.evaluate_all(edges)
    assert after[0] == before[0]  # the names stay
    assert after[1] < before[1]


def test_a_failing_callback_is_one_sentence_and_plain_keys_stay_in_the_table(notebook: NotebookPage) -> None:
    button = figure(notebook, "brushed skin, Rubber cost")
    button.focus()
    for key in ("d", "d", "x", "Enter"):  # the notebook's own keys for deleting and cutting cells
        notebook.page.keyboard.press(key)
    expect(widget(notebook).get_by_role("alert")).to_have_text("No working is kept for the brushed skin.")
    expect(button).to_have_attribute("aria-expanded", "false")
    assert notebook.page.evaluate("() => jupyterapp.shell.currentWidget.content.widgets.length") == 4
    open_by_key(notebook, COST)
    expect(widget(notebook).get_by_role("alert")).to_be_hidden()


def test_a_row_is_chosen_by_its_heading(notebook: NotebookPage) -> None:
    notebook.scroll_to(3)
    methods = widget(notebook, "Methods")
    choice = methods.get_by_role("button", name="under pressure, cast by this method")
    expect(choice).to_have_attribute("aria-pressed", "false")
    choice.focus()
    notebook.page.keyboard.press("Space")
    expect(choice).to_have_attribute("aria-pressed", "true")
    expect(choice).to_be_focused()
    expect(methods.locator("[aria-pressed=true]")).to_have_count(1)
    expect(methods.locator("[role=region]")).to_be_hidden()
    assert notebook.kernel("calls") == "['under pressure']"


def test_text_that_looks_like_markup_is_shown_as_it_is(notebook: NotebookPage) -> None:
    run(notebook, """
nasty = "<img src=x onerror=alert(1)>"
line = {"name": nasty, "formula": nasty, "put_in": nasty, "result": nasty, "source": nasty}
cell = {"text": nasty, "key": nasty, "note": nasty}
table.rows = [{"key": nasty, "heading": nasty, "swatch": {"colour": nasty, "dash": nasty},
               "cells": [cell, {"text": nasty}, {"text": nasty}]}]
table.headings = [nasty] * 4
table.working = {"title": nasty, "lines": [line]}
table.notice = nasty
""")
    shown = widget(notebook)
    expect(shown.locator("thead th").first).to_have_text("<img src=x onerror=alert(1)>")
    expect(panel(notebook)).to_contain_text("<img src=x onerror=alert(1)>")
    expect(shown.locator("img")).to_have_count(0)
    assert shown.evaluate("node => node.textContent.split('<img src=x').length - 1") == 4 + 1 + 2 + 2 + 6 + 1


def test_after_a_reload_the_same_figure_is_open(notebook: NotebookPage) -> None:
    open_by_key(notebook, COST)
    notebook.save_and_reload()
    notebook.scroll_to(2)
    expect(figure(notebook, COST)).to_have_attribute("aria-expanded", "true")
    expect(panel(notebook)).to_contain_text("cost = 87.70 USD")
