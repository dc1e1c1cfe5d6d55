"""The third notebook in a real JupyterLab: run all, move run and failure's cost, read charts, words and tables."""

from __future__ import annotations

import re
from typing import Any

import pytest
from playwright.sync_api import Locator, expect

from tests.browser.lab import NotebookPage

NOTEBOOK, PANEL = "how_sure_are_we", "panel = HowSureAreWe("
PAGES = ("Odds", "Cost bands", "What the doubt hangs on", "Mold life", "When to retire")


def panel(notebook: NotebookPage) -> Locator:
    """The live panel: the one with a switch between these charts."""
    return notebook.page.locator(".moldkit-panel").filter(has=notebook.page.get_by_role("button", name=PAGES[2]))


def chart(notebook: NotebookPage) -> Locator:
    """The panel's chart, drawn as the kernel last had it."""
    plot = panel(notebook).locator(".moldkit-chart-plot")
    notebook.wait_drawn(plot, int(notebook.kernel("panel.chart.seq")))
    return plot


def wait_version(notebook: NotebookPage) -> None:
    """Wait until the verdict that stands in the panel is the one of the kernel's newest case."""
    notebook.wait_verdict(panel(notebook), int(notebook.kernel("panel.bench.version")))


def switch(notebook: NotebookPage, name: str) -> Locator:
    """Choose a chart, and return it when it is drawn and its table stands under it."""
    panel(notebook).get_by_role("button", name=name, exact=True).click()
    notebook.wait_kernel("panel.switch.value", repr(name))
    expect(panel(notebook).get_by_role("table", name=name, exact=True)).to_be_visible()
    return chart(notebook)


def press(notebook: NotebookPage, label: str, key: str, times: int = 1) -> None:
    notebook.press(label, key, times)
    wait_version(notebook)


def text(notebook: NotebookPage, expression: str) -> str:
    """Return a text that the kernel holds."""
    return str(eval(notebook.kernel(expression)))


def numbers(notebook: NotebookPage, expression: str) -> list[float]:
    """Return an array that the kernel holds."""
    return [float(each) for each in eval(notebook.kernel(f"{expression}.tolist()"))]


def run_marked(plot: Locator) -> Any:
    return plot.evaluate("plot => plot.layout.shapes.find((shape) => shape.name === 'run').x0")


def test_run_all_draws_every_chart_with_words_and_a_table_beside_it(notebook: NotebookPage) -> None:
    for call, words in (
        ("odds_figure(sure)", "Odds over the run. Cheapest for 100 castings"),
        ("bands_figure(sure)", "Cost bands over the run. 100 castings as a"),
        ("life_figure(life)", "Mold life from the log. Half of the molds"),
        ("odds_figure(learned)", "Odds over the run. Cheapest for 100 castings"),
        ("tornado_figure(learned)", "What the doubt hangs on. Whether"),
        ("retirement_figure(curve)", "When to retire a mold. Half of the molds"),
    ):
        notebook.scroll_to_source(call)
        plot = notebook.plot(words)
        notebook.wait_drawn(plot, 1)
        assert plot.evaluate("plot => plot.querySelectorAll('.js-line, .bars path').length") > 0, call
    for call, heading in (
        ("odds_rows(sure.spread)", "castings in the run"),
        ("doubt_rows(learned", "figure"),
        ("retirement_rows(curve)", "retire after"),
    ):
        notebook.scroll_to_source(call)
        table = notebook.page.locator(".jp-OutputArea-output table").filter(has_text=heading).first
        expect(table).to_be_visible()
    notebook.scroll_to_source(PANEL)


def test_the_verdict_says_how_firm_it_is(notebook: NotebookPage) -> None:
    wait_version(notebook)
    shown = panel(notebook).locator(".moldkit-verdict-detail")
    expect(shown).to_contain_text(re.compile(r"is cheapest in (more than )?\d+ of 100 plausible shops"))
    firm = text(notebook, "words.firmness_words(panel.sure.spread)")
    assert firm in shown.inner_text()
    share = float(notebook.kernel("panel.sure.spread.firmness.share"))
    assert f"cheapest in {100 * share:.0f} of 100" in firm


@pytest.mark.parametrize("name", PAGES)
def test_each_chart_of_the_panel_stands_with_its_sentence_and_its_table(notebook: NotebookPage, name: str) -> None:
    plot = switch(notebook, name)
    said = plot.get_attribute("aria-label")
    assert said is not None and said == text(notebook, "panel.chart.label") and said.endswith(".")
    assert plot.evaluate("plot => plot.layout.title.text").endswith(".")
    rows = panel(notebook).get_by_role("table", name=name, exact=True).get_by_role("row")
    assert rows.count() > 3


def test_a_press_on_the_run_moves_case_mark_odds_and_words_together(notebook: NotebookPage) -> None:
    plot = switch(notebook, "Odds")
    before, sentence = run_marked(plot), panel(notebook).locator(".moldkit-verdict-sentence").inner_text()
    press(notebook, "Run", "ArrowLeft", 25)
    run = int(notebook.kernel("panel.case.run"))
    assert run < 100 and notebook.kernel("panel.sure.spread.run") == str(run)
    plot = chart(notebook)
    assert run_marked(plot) == run != before
    verdict = panel(notebook).locator(".moldkit-verdict-sentence")
    assert verdict.inner_text() == text(notebook, "panel.band.sentence") != sentence
    expect(panel(notebook).get_by_role("table", name="Odds").get_by_role("rowheader", name=str(run))).to_be_visible()
    for row, name in enumerate(eval(notebook.kernel("[t['name'] for t in panel.chart.figure['data']]"))):
        place = eval(notebook.kernel("panel.sure.spread.techniques")).index(name)
        chance = numbers(notebook, f"panel.sure.spread.chance[{place}]")
        assert notebook.trace(plot, row, "y") == pytest.approx([100 * each for each in chance], abs=1e-4)


def test_what_the_page_shows_is_what_a_direct_call_computes(notebook: NotebookPage) -> None:
    switch(notebook, "Odds")
    press(notebook, "Run", "PageUp")
    direct = (
        "how_sure(__import__('moldkit.study.compare', fromlist=['compare']).compare("
        "panel.case, panel.bench.knowledge, panel.bench.result.reading), draws=2000, seed=1).spread.chance[0]"
    )
    chance = numbers(notebook, direct)
    assert notebook.trace(chart(notebook), 0, "y") == pytest.approx([100 * each for each in chance], abs=1e-4)


def test_while_a_key_is_held_the_tornado_follows_and_ends_where_a_new_one_begins(notebook: NotebookPage) -> None:
    plot = switch(notebook, "What the doubt hangs on")
    title = plot.evaluate("plot => plot.layout.title.text")
    notebook.slider("Run").focus()
    notebook.page.keyboard.down("ArrowRight")
    notebook.wait_answered(notebook.field("Run"))
    held = chart(notebook).evaluate("plot => plot.layout.title.text")
    bars = notebook.trace(chart(notebook), 0, "x")
    notebook.page.keyboard.up("ArrowRight")
    notebook.wait_answered(notebook.field("Run"))
    wait_version(notebook)
    assert held != title
    assert notebook.trace(chart(notebook), 0, "x") == pytest.approx(bars, abs=1e-4)


def test_the_log_may_be_believed_instead_of_the_table(notebook: NotebookPage) -> None:
    switch(notebook, "Odds")
    sentence = panel(notebook).locator(".moldkit-verdict-detail").inner_text()
    panel(notebook).get_by_label("Life from the mold log").check()
    notebook.wait_kernel("panel.case.life", "'log'")
    wait_version(notebook)
    assert panel(notebook).locator(".moldkit-verdict-detail").inner_text() != sentence
    panel(notebook).get_by_label("Life from the mold log").uncheck()
    notebook.wait_kernel("panel.case.life", "None")
    wait_version(notebook)
    expect(panel(notebook).locator(".moldkit-verdict-detail")).to_have_text(sentence)


def test_what_a_failure_costs_moves_the_retirement_and_hides_elsewhere(notebook: NotebookPage) -> None:
    plot = switch(notebook, "When to retire")
    costs = notebook.trace(plot, 0, "y")
    press(notebook, "A failure in use costs besides", "PageUp", 3)
    moved = notebook.trace(chart(notebook), 0, "y")
    assert moved[-1] > costs[-1]
    assert float(notebook.kernel("panel.lost.value")) > 60
    direct = "retirement(panel.bench.result, logged_life(panel.bench.result), lost=panel.lost.value).costs"
    assert moved == pytest.approx(numbers(notebook, direct), rel=1e-6)
    switch(notebook, "Odds")
    expect(notebook.page.get_by_text("A failure in use costs besides")).to_be_hidden()


def test_inches_and_pounds_change_no_figure_of_the_odds(notebook: NotebookPage) -> None:
    switch(notebook, "Odds")
    odds = notebook.trace(chart(notebook), 0, "y")
    panel(notebook).get_by_role("button", name="in, lb", exact=True).click()
    notebook.wait_kernel("panel.system", "'us'")
    assert notebook.trace(chart(notebook), 0, "y") == odds
    panel(notebook).get_by_role("button", name="mm, kg", exact=True).click()
    notebook.wait_kernel("panel.system", "'metric'")


def test_a_decimal_comma_is_refused_under_its_field_and_loses_nothing(notebook: NotebookPage) -> None:
    before = notebook.kernel("panel.case.run")
    field = notebook.field("Run")
    entry = field.locator("input[type=text]")
    good = entry.input_value()
    entry.fill("1,5")
    entry.press("Enter")
    expect(field).to_contain_text("point")
    assert notebook.kernel("panel.case.run") == before
    entry.fill(good)
    entry.press("Enter")
    notebook.wait_answered(field)


def test_no_button_sends_a_chart_to_any_cloud(notebook: NotebookPage) -> None:
    chart(notebook).hover()
    titles = notebook.page.locator(".modebar-btn").evaluate_all("all => all.map((b) => b.dataset.title || '')")
    assert not [title for title in titles if re.search("cloud|studio|upload|share", title, re.IGNORECASE)]
    assert notebook.watch.outside == []
