"""The chart and the field in a real JupyterLab, and the same notebook in Voila."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.browser.lab import NotebookPage, Server, Watch, write_notebook

START = """
import threading
from pathlib import Path
import numpy as np
from moldkit.views.widgets import chart as chart_module
from moldkit.views.widgets.chart import Chart
from moldkit.views.widgets.field import Field

runs = np.geomspace(1, 1000, 200)
def curves(size):
    return [size * 900 * (k + 1) + runs * size * 60 / (k + 1) for k in range(3)]
def figure(size):
    names = ["poured block", "brushed skin", "cavity pour"]
    traces = [{"type": "scatter", "x": runs, "y": y, "name": n} for n, y in zip(names, curves(size))]
    return {"data": traces, "layout": {"xaxis": {"type": "log"}, "margin": {"t": 30, "r": 20}}}
def patch(size):
    return {"data": {k: {"y": y} for k, y in enumerate(curves(size))}}
"""

COST = """
cost = Chart(figure(0.3), label="Cost over the run.", height=320)
cost
"""

SIZE = """
units = [{"name": "mm", "factor": 0.001}, {"name": "in", "factor": 0.0254}]
never = threading.Event()
def sized(label):
    field = Field(label=label, help="Of the pattern, over all.", value=0.3, low=0.03, high=2.0, log=True, units=units)
    field.calls = []
    field.on_move(lambda value, settled: field.calls.append((value, settled)))
    return field
def moved(value, settled):
    if settled:
        cost.settle(figure(value))
    else:
        cost.draw(patch(value))
    while Path("hold").exists():
        never.wait(0.01)
size = sized("Longest side")
size.on_move(moved)
size
"""

MAP = """
z = np.add.outer(np.arange(6.0), 10 * np.arange(8.0))
heat = {"type": "heatmap", "x": np.geomspace(0.05, 1, 8), "y": np.arange(1.0, 7.0), "z": z}
axes = {"xaxis": {"type": "log"}, "margin": {"t": 30}}
area = Chart({"data": [heat], "layout": axes}, label="Which technique where.", height=300, pick=True)
area
"""

BARS = """
bars = Chart({"data": [{"type": "bar", "x": ["rubber", "hours"], "y": [3, 7]}]}, label="Shares.", height=200)
bars
"""


# One notebook for the tests that need but a chart or a field of their own.
OWN = {
    "many": "many = Chart(figure(0.3), label='Many drawings.', height=320)\nmany",
    "zoomed": "zoomed = Chart(figure(0.3), label='Zoomed.', height=320)\nzoomed",
    "narrow": "narrow = Chart(figure(0.3), label='Narrow.', height=320)\nnarrow",
    "spoken": "spoken = Chart(figure(0.3), label='Spoken.', height=320)\nspoken",
    "width": "width = sized('Width')\nwidth",
    "depth": "depth = sized('Depth')\ndepth",
    "height": "height = sized('Height')\nheight",
    "reach": "reach = sized('Reach')\nreach",
    "span": "span = sized('Span')\nspan",
    "run": "run = Field(label='Run', value=40, low=1, high=1000, log=True, integer=True)\nrun",
}


@pytest.fixture(scope="module")
def own_page(shared_notebook_page: NotebookPage, server: Server) -> NotebookPage:
    write_notebook(server.folder / "own.ipynb", [START, COST, SIZE, *OWN.values()])
    shared_notebook_page.open("own.ipynb")
    shared_notebook_page.run_all()
    return shared_notebook_page


@pytest.fixture
def own(own_page: NotebookPage, judged: NotebookPage) -> NotebookPage:
    return judged


@pytest.fixture
def show(notebook_page: NotebookPage, server: Server, request: pytest.FixtureRequest) -> Any:
    """Return a function that shows cells as a notebook in JupyterLab, with all of them run."""

    def shown(*cells: str) -> NotebookPage:
        name = f"{request.node.name}.ipynb"
        write_notebook(server.folder / name, [START, *cells])
        notebook_page.open(name)
        notebook_page.run_all()
        return notebook_page

    return shown


def slider(field: Locator) -> Locator:
    return field.locator("input[type=range]")


def entry(field: Locator) -> Locator:
    return field.locator("input[type=text]")


def enter(notebook: NotebookPage, field: Locator, text: str) -> None:
    """Type a text into a field's entry, and wait until the kernel knows of it."""
    sent = int(field.get_attribute("data-sent") or 0)
    entry(field).fill(text)
    entry(field).press("Enter")
    expect(field).to_have_attribute("data-sent", str(sent + 1))
    notebook.wait_answered(field)


def error(field: Locator) -> Locator:
    return field.locator(".moldkit-field-error")


# ---- drawing ---------------------------------------------------------------------------------------


def test_three_charts_draw_with_one_delivery_of_plotly_and_no_cloud_button(show: Any) -> None:
    notebook = show(COST, MAP, BARS)
    for label in ("Cost", "Which", "Shares"):
        notebook.wait_drawn(notebook.plot(label), 1)
    deliveries = [size for size in notebook.watch.received if size > 1_000_000]
    assert len(deliveries) == 1
    titles = notebook.page.locator(".modebar-btn").evaluate_all(
        "(buttons) => buttons.map((button) => button.dataset.title ?? button.dataset.name)"
    )
    assert len(titles) >= 9  # each chart has its own buttons
    assert not [title for title in titles if "loud" in title or "hare" in title]


def test_a_key_press_changes_the_chart_and_the_last_one_stays(show: Any) -> None:
    notebook = show(SIZE, COST)
    plot, field = notebook.plot("Cost"), notebook.field("Longest side")
    notebook.wait_drawn(plot, 1)
    before = notebook.trace(plot, 0, "y")
    slider(field).press("ArrowRight")
    notebook.wait_answered(field)
    value = float(notebook.kernel("size.value"))
    assert value > 0.3
    assert notebook.kernel("size.calls") == f"[({value}, False), ({value}, True)]"
    notebook.wait_drawn(plot, int(notebook.kernel("cost.seq")))
    after = notebook.trace(plot, 0, "y")
    assert after != before
    assert after == pytest.approx(eval(notebook.kernel("curves(size.value)[0].tolist()")))


def test_a_held_key_leaves_no_backlog(show: Any, server: Server) -> None:
    notebook = show(SIZE, COST)
    plot, field = notebook.plot("Cost"), notebook.field("Longest side")
    notebook.wait_drawn(plot, 1)
    hold = server.folder / "hold"
    hold.touch()  # keeps the kernel busy with the first move for as long as we like
    slider(field).focus()
    for _ in range(40):
        notebook.page.keyboard.down("ArrowRight")
    notebook.page.keyboard.up("ArrowRight")
    sent_meanwhile = field.get_attribute("data-sent")
    hold.unlink()
    assert sent_meanwhile == "1"
    notebook.wait_answered(field)
    first, last = eval(notebook.kernel("size.calls"))
    assert (first[1], last[1]) == (False, True)
    assert last[0] > 1.5 * first[0]
    assert float(entry(field).input_value()) == pytest.approx(1000 * last[0], rel=1e-3)
    notebook.wait_drawn(plot, int(notebook.kernel("cost.seq")))
    assert notebook.trace(plot, 2, "y") == pytest.approx(eval(notebook.kernel("curves(size.value)[2].tolist()")))


def test_of_many_drawings_the_newest_is_drawn_and_most_are_left_out(own: NotebookPage) -> None:
    plot = own.plot("Many")
    own.wait_drawn(plot, 1)
    own.page.evaluate("""async () => {
        const Plotly = await [...globalThis[Symbol.for("moldkit.plotly")].values()][0];
        const react = Plotly.react;
        globalThis.reacts = 0;
        Plotly.react = (...given) => { globalThis.reacts += 1; return react(...given); };
    }""")
    own.insert_and_run("for k in range(1, 201): many.draw(patch(0.3 + k / 1000))")
    own.wait_drawn(plot, 201)
    assert 1 <= own.page.evaluate("() => globalThis.reacts") < 150
    assert own.trace(plot, 0, "y") == pytest.approx(eval(own.kernel("curves(0.5)[0].tolist()")))


def test_no_change_is_lost_with_a_drawing_left_out_and_older_ones_are_ignored(own: NotebookPage) -> None:
    plot = own.plot("Many")
    own.insert_and_run(
        "many.draw({'data': {0: {'y': runs * 2}}}, seq=1001)\n"
        "many.draw({'data': {1: {'y': runs * 3}}, 'layout': {'yaxis.title.text': 'cost'}}, seq=1002)\n"
        "old = {'kind': 'draw', 'seq': 1000, 'base': 1, 'patch': True, 'data': {'0': {'y': [1]}}, 'layout': {}}\n"
        "many.send(old)\n"
        "many.draw({'data': {2: {'y': runs * 4}}}, seq=1003)"
    )
    own.wait_drawn(plot, 1003)
    runs = eval(own.kernel("runs.tolist()"))
    for curve, factor in enumerate((2, 3, 4)):
        assert own.trace(plot, curve, "y") == pytest.approx([factor * run for run in runs])
    assert plot.evaluate("(plot) => plot.layout.yaxis.title.text") == "cost"


def test_a_readers_zoom_outlives_a_redraw(own: NotebookPage) -> None:
    plot = own.plot("Zoomed")
    own.wait_drawn(plot, 1)
    plot.evaluate("""async (plot) => {
        const Plotly = await [...globalThis[Symbol.for("moldkit.plotly")].values()][0];
        await Plotly.relayout(plot, { "xaxis.range": [1, 2] });
    }""")
    own.insert_and_run("zoomed.draw(patch(0.4))")
    own.wait_drawn(plot, 2)
    own.insert_and_run("zoomed.settle(figure(0.5))")
    own.wait_drawn(plot, 3)
    assert plot.evaluate("(plot) => plot.layout.xaxis.range") == [1, 2]


# ---- the life of a chart ---------------------------------------------------------------------------


def test_a_second_view_and_a_reloaded_page_show_the_settled_figure(show: Any) -> None:
    notebook = show(SIZE, COST, "cost")
    field = notebook.field("Longest side")
    slider(field).press("PageUp")
    notebook.wait_answered(field)
    notebook.kernel("cost.draw(patch(1.9)) and cost.settle(figure(size.value))")
    expected = eval(notebook.kernel("curves(size.value)[1].tolist()"))
    number = int(notebook.kernel("cost.seq"))

    def both_views_are_right() -> None:
        views = notebook.page.locator(".jp-OutputArea-output .moldkit-chart-plot")
        expect(views).to_have_count(2)
        for view in views.all():
            notebook.wait_drawn(view, number)
            assert notebook.trace(view, 1, "y") == pytest.approx(expected)

    both_views_are_right()
    notebook.save_and_reload()
    both_views_are_right()
    assert float(entry(notebook.field("Longest side")).input_value()) == pytest.approx(
        1000 * float(notebook.kernel("size.value")), rel=1e-3
    )


def test_a_removed_chart_is_purged(show: Any) -> None:
    notebook = show(COST, BARS)
    plot = notebook.plot("Cost")
    notebook.wait_drawn(plot, 1)
    held = plot.element_handle()
    assert held.evaluate("(plot) => plot._fullLayout !== undefined && plot.querySelector('svg') !== null")
    notebook.insert_and_run("cost.close()")
    notebook.page.wait_for_function("(plot) => !plot.isConnected && plot._fullLayout === undefined", arg=held)
    assert held.evaluate("(plot) => plot.querySelector('svg')") is None
    notebook.wait_drawn(notebook.plot("Shares"), 1)  # its neighbour lives on


def test_a_failed_delivery_can_be_tried_again(show: Any) -> None:
    broken = "whole = chart_module.plotly_js_gzipped\ndef broken(): raise OSError('disk')\n"
    notebook = show(f"{broken}chart_module.plotly_js_gzipped = broken", COST, BARS)
    again = notebook.page.get_by_role("button", name="Try again")
    expect(again).to_have_count(2)
    expect(notebook.page.locator(".moldkit-chart-message").first).to_contain_text("could not be read (disk)")
    notebook.insert_and_run("chart_module.plotly_js_gzipped = whole")
    again.first.click()
    notebook.wait_drawn(notebook.plot("Cost"), 1)
    notebook.page.get_by_role("button", name="Try again").click()
    notebook.wait_drawn(notebook.plot("Shares"), 1)


def test_a_chart_changes_its_width_with_its_place(own: NotebookPage) -> None:
    plot = own.plot("Narrow")
    own.wait_drawn(plot, 1)
    wide = plot.evaluate("(plot) => plot.clientWidth")
    own.page.set_viewport_size({"width": 900, "height": 1000})
    own.page.wait_for_function(
        "([plot, wide]) => plot.layout.width === plot.clientWidth && plot.clientWidth < wide - 300",
        arg=[plot.element_handle(), wide],
    )
    assert plot.evaluate("(plot) => [plot.clientHeight, plot.layout.height]") == [320, 320]
    own.page.set_viewport_size({"width": 1400, "height": 1000})


def test_words_stand_in_the_charts_place_at_the_same_height(own: NotebookPage) -> None:
    plot = own.plot("Spoken")
    own.wait_drawn(plot, 1)
    chart = plot.locator("xpath=..")
    before = chart.bounding_box()
    own.insert_and_run("spoken.settle({}, message='Nothing can be made:\\nthe pot is 40 mm too small.')")
    own.wait_drawn(plot, 2)
    expect(chart.locator(".moldkit-chart-message")).to_contain_text("the pot is 40 mm too small.")
    expect(chart.locator(".moldkit-chart-message")).to_be_visible()
    expect(plot).not_to_be_visible()
    after = chart.bounding_box()
    assert before is not None and after is not None and after["height"] == before["height"] == 320
    own.insert_and_run("spoken.settle(figure(0.3)); spoken.dimmed = True")
    own.wait_drawn(plot, 3)
    expect(plot).to_be_visible()
    expect(plot).to_have_css("opacity", "0.4")


def test_a_picture_is_offered_as_a_download(show: Any, tmp_path: Path) -> None:
    notebook = show(COST)
    notebook.wait_drawn(notebook.plot("Cost"), 1)
    for call, name, start in (
        ("cost.to_png(600, 400, 2, 'cost.png')", "cost.png", b"\x89PNG\r\n\x1a\n"),  # PNG specification, 5.2
        ("cost.to_svg(600, 400, 'cost.svg')", "cost.svg", b"<svg"),
    ):
        with notebook.page.expect_download() as offered:
            notebook.kernel(call)
        offered.value.save_as(tmp_path / name)
        assert offered.value.suggested_filename == name
        content = (tmp_path / name).read_bytes()
        assert content.startswith(start)
    png = (tmp_path / "cost.png").read_bytes()
    assert (int.from_bytes(png[16:20]), int.from_bytes(png[20:24])) == (1200, 800)  # PNG specification, 11.2.2


# ---- choosing in a map -----------------------------------------------------------------------------


def test_a_map_is_chosen_from_with_keys_and_with_a_click(show: Any) -> None:
    notebook = show(MAP, "picks = []\narea.on_pick(picks.append)")
    plot = notebook.plot("Which")
    notebook.wait_drawn(plot, 1)
    press = notebook.page.keyboard.press
    press("Escape")
    notebook.page.locator(".moldkit-chart[role=application]").focus()
    for key in ("Home", "ArrowRight", "PageDown", "ArrowUp", "Enter"):
        press(key)
    notebook.wait_kernel("[(p.by, p.row, p.column) for p in picks]", "[('key', 1, 1)]")
    assert eval(notebook.kernel("area.picked")) == {"row": 1, "column": 1}
    expect(notebook.page.locator(".moldkit-chart-spoken")).to_contain_text("2: 11")  # y and z of that cell
    plot.locator(".nsewdrag").click()  # in the middle
    notebook.wait_kernel("len(picks)", "2")
    by, x, y, row, column = eval(notebook.kernel("[(p.by, p.x, p.y, p.row, p.column) for p in picks][1]"))
    assert (by, row in (2, 3), column in (3, 4)) == ("click", True, True)
    assert (x, y) == pytest.approx(eval(notebook.kernel(f"(float(heat['x'][{column}]), float(heat['y'][{row}]))")))


# ---- the field -------------------------------------------------------------------------------------


def test_what_cannot_be_read_or_lies_outside_is_told_and_the_value_is_kept(own: NotebookPage) -> None:
    field = own.field("Width")
    for text, words in (
        ("1,5", "Commas are not read: write 1.5 with a point."),
        ("1,240", "Commas are not read: write 1240, or 1.240 with a point."),
        ("29.9", "29.9 mm is below the least allowed; enter 30 to 2000 mm."),
        ("2001", "2001 mm is above the most allowed; enter 30 to 2000 mm."),
        ("NaN", "“NaN” is not a number; enter one, 30 to 2000 mm."),
        ("1e999", "1e999 is too large; enter 30 to 2000 mm."),
        ("", "Enter a number, 30 to 2000 mm."),
    ):
        enter(own, field, text)
        expect(error(field)).to_have_text(words)
        expect(entry(field)).to_have_value(text)
        expect(entry(field)).to_have_attribute("aria-invalid", "true")
        assert own.kernel("(width.value, width.error, width.calls)") == f"(0.3, {words!r}, [])"
    entry(field).press("Escape")
    own.wait_answered(field)
    expect(entry(field)).to_have_value("300")
    expect(error(field)).to_be_hidden()
    assert own.kernel("(width.value, width.error)") == "(0.3, '')"
    enter(own, field, "1 240")  # as figures are printed here
    assert own.kernel("(width.value, width.calls[-1])") == "(1.24, (1.24, True))"


def test_another_unit_shows_the_same_value_and_reads_in_that_unit(own: NotebookPage) -> None:
    field = own.field("Depth")
    unit = field.get_by_label("Depth, unit")
    unit.focus()
    unit.select_option("in")
    expect(entry(field)).to_have_value("11.81")  # 300 / 25.4
    expect(unit).to_be_focused()
    own.wait_kernel("(depth.unit, depth.value, depth.calls)", "('in', 0.3, [])")
    enter(own, field, "12")
    assert own.kernel("depth.value") == "0.3048"  # exact: 25.4 mm to the inch since 1959
    enter(own, field, "1.181")  # a shade less than 30 mm
    expect(error(field)).to_have_text("1.181 in is below the least allowed; enter 1.182 to 78.74 in.")
    enter(own, field, "78.74")
    expect(error(field)).to_be_hidden()
    enter(own, field, "100")
    unit.select_option("mm")  # what was typed may have been meant in this unit
    own.wait_answered(field)
    own.wait_kernel("(depth.unit, depth.value, depth.error)", "('mm', 0.1, '')")
    unit.press("ArrowDown")  # the keys of the choice are its own
    own.wait_kernel("(depth.unit, depth.value)", "('in', 0.1)")


def test_keys_step_by_one_and_ten_and_to_the_ends_and_are_kept_from_the_notebook(own: NotebookPage) -> None:
    field = own.field("Height")
    cells = "() => jupyterapp.shell.currentWidget.content.widgets.length"
    before = own.page.evaluate(cells)

    def position() -> float:
        own.wait_answered(field)
        return float(slider(field).evaluate("(slider) => slider.value"))

    slider(field).press("Home")
    assert position() == 0
    slider(field).press("ArrowUp")
    assert position() == pytest.approx(1, abs=0.05)  # values are rounded to the four digits shown
    slider(field).press("PageUp")
    assert position() == pytest.approx(11, abs=0.05)
    slider(field).press("ArrowLeft")
    assert position() == pytest.approx(10, abs=0.05)
    slider(field).press("PageDown")
    assert position() == 0
    slider(field).press("ArrowDown")
    assert position() == 0
    slider(field).press("End")
    assert position() == 100
    assert own.kernel("height.value") == "2.0"
    entry(field).press("ArrowDown")
    assert position() == pytest.approx(99, abs=0.05)
    for key in ("x", "d", "d", "b"):  # in JupyterLab these cut, delete and add cells
        slider(field).press(key)
    assert own.page.evaluate(cells) == before


def test_a_dragged_handle_moves_and_settles(own: NotebookPage) -> None:
    field = own.field("Reach")
    slider(field).scroll_into_view_if_needed()
    box = slider(field).bounding_box()
    assert box is not None
    mouse, middle = own.page.mouse, box["y"] + box["height"] / 2
    mouse.move(box["x"] + box["width"] * 0.5, middle)
    mouse.down()
    mouse.move(box["x"] + box["width"] * 0.8, middle, steps=8)
    mouse.up()
    own.wait_answered(field)
    *on_the_way, (value, settled) = eval(own.kernel("reach.calls"))
    assert on_the_way and not any(passing for _, passing in on_the_way)
    assert settled
    assert value == pytest.approx(0.03 * (2 / 0.03) ** 0.8, rel=0.1)  # equal ratios, give or take the handle's width


def test_the_model_may_change_the_value_the_limits_and_the_words(own: NotebookPage) -> None:
    field = own.field("Span")
    enter(own, field, "abc")
    own.insert_and_run("span.value = 0.45")
    expect(entry(field)).to_have_value("450")
    expect(error(field)).to_be_hidden()
    own.insert_and_run("span.error = 'Larger than the pot by 90 mm.'; span.high = 0.5; span.label = 'Overall'")
    overall = own.field("Overall")
    expect(error(overall)).to_have_text("Larger than the pot by 90 mm.")
    enter(own, overall, "600")
    expect(error(overall)).to_have_text("600 mm is above the most allowed; enter 30 to 500 mm.")
    own.insert_and_run("span.high = 0.7")  # now it can be used
    own.wait_kernel("(span.value, span.error)", "(0.6, '')")
    expect(error(overall)).to_be_hidden()
    own.insert_and_run("span.disabled = True")
    expect(entry(overall)).to_be_disabled()
    expect(slider(overall)).to_be_disabled()


def test_whole_numbers_stay_whole(own: NotebookPage) -> None:
    field = own.field("Run")
    enter(own, field, "12.5")
    expect(error(field)).to_have_text("Whole numbers only; enter 12 or 13.")
    slider(field).press("Home")
    for expected in (2, 3, 4):  # a step is a whole one, however fine the scale is there
        slider(field).press("ArrowRight")
        own.wait_answered(field)
        assert own.kernel("run.value") == f"{expected}.0"


# ---- looks -----------------------------------------------------------------------------------------

# Relative luminance and contrast ratio: Web Content Accessibility Guidelines 2.2, section 6 (definitions);
# at least 4.5:1 for text (1.4.3) and 24 by 24 CSS pixels for a target (2.5.8).
CONTRAST = """(element) => {
    const channels = (color) => color.match(/[\\d.]+/g).map(Number);
    const luminance = ([r, g, b]) => [r, g, b].map((c) => c / 255)
        .map((c) => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4))
        .reduce((sum, c, i) => sum + c * [0.2126, 0.7152, 0.0722][i], 0);
    let ground = element;
    while (channels(getComputedStyle(ground).backgroundColor)[3] === 0) ground = ground.parentElement;
    const [light, dark] = [getComputedStyle(element).color, getComputedStyle(ground).backgroundColor]
        .map((color) => luminance(channels(color))).sort((a, b) => b - a);
    return (light + 0.05) / (dark + 0.05);
}"""


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_words_can_be_read_targets_hit_and_focus_seen_in_both_themes(show: Any, dark: bool) -> None:
    notebook = show(SIZE, COST, "other = Field(label='Run', help='Castings wanted.', value=1, low=1, high=9)\nother")
    notebook.theme(dark=dark)
    field, other, plot = notebook.field("Longest side"), notebook.field("Run"), notebook.plot("Cost")
    notebook.page.wait_for_function(
        """([plot, dark]) => plot.layout?.width === plot.clientWidth
            && (plot.layout.template?.layout.font.color === getComputedStyle(plot).color) === dark""",
        arg=[plot.element_handle(), dark],
    )
    enter(notebook, field, "1,5")
    notebook.insert_and_run("cost.notice = 'This choice could not be used.'")
    chart = notebook.page.locator(".moldkit-chart").first
    expect(chart.locator(".moldkit-chart-notice")).to_be_visible()
    for words in (
        field.locator("label"), error(field), entry(field), field.locator("select"),
        other.locator(".moldkit-field-help"), chart.locator(".moldkit-chart-notice"),
    ):
        assert words.evaluate(CONTRAST) >= 4.5, words
    for target in (entry(field), slider(field), field.locator("select")):
        box = target.bounding_box()
        assert box is not None and min(box["width"], box["height"]) >= 24
        target.focus()
        notebook.page.keyboard.press("Shift")  # focus by keyboard, so that the ring is due
        expect(target).to_have_css("outline-style", "solid")
        expect(target).to_have_css("outline-width", "2px")


def test_every_control_has_a_name_and_the_chart_says_what_it_shows(show: Any) -> None:
    notebook = show(SIZE, COST)
    field = notebook.field("Longest side")
    expect(field.get_by_role("textbox", name="Longest side")).to_have_count(1)
    expect(field.get_by_role("slider", name="Longest side, slider")).to_have_count(1)
    expect(field.get_by_role("combobox", name="Longest side, unit")).to_have_count(1)
    expect(slider(field)).to_have_attribute("aria-valuetext", "300 mm")
    expect(entry(field)).to_have_accessible_description("Of the pattern, over all.")
    notebook.insert_and_run("cost.label = 'Make it as a cavity pour.'; cost.described_by = 'table'")
    shown = notebook.page.get_by_role("img", name="Make it as a cavity pour.")
    expect(shown).to_have_attribute("aria-describedby", "table")


# ---- Voila -----------------------------------------------------------------------------------------

# Voila's own page asks these for icons and for formulas; nothing of ours does, and we let none of it through.
VOILAS_OWN = ("https://cdn.jsdelivr.net/npm/@fortawesome/", "https://cdnjs.cloudflare.com/ajax/libs/mathjax/")


def test_in_voila_three_charts_draw_and_a_key_changes_one(page: Page, server: Server, watch: Watch) -> None:
    write_notebook(server.folder / "voila.ipynb", [START, SIZE, COST, MAP, BARS])
    page.goto(f"{server.url}voila/render/voila.ipynb?token={server.token}")
    drawn = "() => [...document.querySelectorAll('.moldkit-chart-plot')].filter((p) => p.dataset.drawn).length === 3"
    page.wait_for_function(drawn)
    assert len([size for size in watch.received if size > 1_000_000]) == 1
    plot = page.locator(".moldkit-chart-plot[aria-label^='Cost']")
    before = plot.evaluate("(plot) => plot.data[0].y[0]")
    page.locator(".moldkit-field input[type=range]").press("ArrowRight")
    page.wait_for_function(
        "([plot, before]) => plot.data[0].y[0] > before && Number(plot.dataset.drawn) >= 3",
        arg=[plot.element_handle(), before],
    )
    watch.outside[:] = [url for url in watch.outside if not url.startswith(VOILAS_OWN)]
