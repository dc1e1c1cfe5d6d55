"""The mold log in a real JupyterLab: a mold added through the form, one changed by keyboard, a spreadsheet's slip."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from playwright.sync_api import Locator, expect

from moldkit.mold_log import MoldRecord, read_log
from tests.browser.lab import NotebookPage, Server, copy_notebooks

ROOT = Path(__file__).resolve().parents[2]
NOTEBOOK, PANEL = "how_sure_are_we", "MoldLog()"
# Run All draws thousands of plausible shops before the panels are there.
pytestmark = pytest.mark.timeout(300)


@pytest.fixture(scope="module")
def folder(server: Server) -> Path:
    """A folder of these tests' own, because they write into its log."""
    return copy_notebooks(server, "log")


@pytest.fixture(autouse=True)
def log_in_view(notebook: NotebookPage) -> None:
    notebook.scroll_to_source(PANEL)


def files(folder: Path) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def panel(notebook: NotebookPage) -> Locator:
    return notebook.page.locator(".moldkit-panel").filter(has=notebook.page.get_by_text("A new mold", exact=True))


def rows(notebook: NotebookPage) -> Locator:
    return panel(notebook).locator(".moldkit-table tbody tr")


def row(notebook: NotebookPage, mold: str) -> Locator:
    return rows(notebook).filter(has=notebook.page.get_by_role("button", name=f"{mold}, change this mold"))


def field(notebook: NotebookPage, label: str) -> Locator:
    return panel(notebook).get_by_label(label, exact=True)


def button(notebook: NotebookPage, name: str) -> Locator:
    return panel(notebook).get_by_role("button", name=name, exact=True)


def in_file(folder: Path, mold: str) -> MoldRecord:
    return next(record for record in read_log(folder / "data") if record.mold == mold)


def focused(notebook: NotebookPage) -> str:
    """Return what a screen reader would call the control that has the focus."""
    said: str = notebook.page.evaluate("""() => {
        const at = document.activeElement;
        return at.getAttribute("aria-label") || at.labels?.[0]?.textContent.trim() || at.textContent.trim();
    }""")
    return said


def test_run_all_shows_every_mold_newest_first_and_writes_nothing(
    notebook: NotebookPage, folder: Path
) -> None:
    found, whole = files(folder / "data"), files(ROOT / "data")
    assert found == {name: whole[name] for name in found} and "mold_log.csv" in found
    records = read_log(folder / "data")
    expect(rows(notebook)).to_have_count(len(records))
    newest = max(enumerate(records), key=lambda each: (each[1].date, each[0]))[1]
    expect(rows(notebook).first).to_contain_text(newest.mold)
    expect(panel(notebook).get_by_text(f"The log holds {len(records)} molds")).to_be_visible()


def test_headings_stay_in_sight_while_the_table_scrolls_and_the_page_does_not(notebook: NotebookPage) -> None:
    box = panel(notebook).locator(".moldkit-table-box")
    box.scroll_into_view_if_needed()
    box.evaluate("box => { box.scrollTop = 900; }")
    heading, top = box.locator("thead th").nth(2).bounding_box(), box.bounding_box()
    assert heading is not None and top is not None and abs(heading["y"] - top["y"]) < 2
    assert box.evaluate("box => box.scrollWidth <= box.clientWidth")
    box.evaluate("box => { box.scrollTop = 0; }")


def test_a_mold_added_through_the_form_stands_in_the_table_and_in_the_file(
    notebook: NotebookPage, folder: Path
) -> None:
    log = folder / "data" / "mold_log.csv"
    whole = log.read_bytes()
    field(notebook, "Mold").fill("heron b")
    field(notebook, "Rubber").select_option("platinum silicone, slow")
    field(notebook, "Casting").select_option("rigid urethane resin")
    field(notebook, "Castings").fill("twelve")
    button(notebook, "Add to the log").click()
    expect(panel(notebook).get_by_role("alert").filter(has_text="'twelve' is not a whole number")).to_be_visible()
    assert log.read_bytes() == whole
    expect(field(notebook, "Mold")).to_have_value("heron b")
    field(notebook, "Castings").fill("160")
    field(notebook, "State").select_option("worn out")
    field(notebook, "Note").fill("torn at the beak, then glued")
    button(notebook, "Add to the log").click()
    expect(panel(notebook).get_by_text(re.compile("^Added. Mold heron b"))).to_be_visible()
    assert log.read_bytes().startswith(whole)
    record = in_file(folder, "heron b")
    assert (record.castings, record.state, record.note) == (160, "worn out", "torn at the beak, then glued")
    for words in ("heron b", "platinum silicone, slow", "rigid urethane resin", "160", "torn at the beak"):
        expect(rows(notebook).first).to_contain_text(words)
    expect(field(notebook, "Castings")).to_have_value("0")


def test_the_panel_at_the_end_learns_from_a_press(notebook: NotebookPage, folder: Path) -> None:
    notebook.kernel("setattr(panel.switch, 'value', 'Mold life')")
    known = notebook.kernel("panel.chart.label")
    button(notebook, "Undo").click()
    expect(panel(notebook).get_by_text("heron b is out of the log again")).to_be_visible()
    notebook.wait_kernel(f"panel.chart.label != {known}", "True")
    assert "heron b" not in {record.mold for record in read_log(folder / "data")}


def test_a_mold_is_chosen_counted_and_worn_out_by_keyboard_alone(notebook: NotebookPage, folder: Path) -> None:
    start = in_file(folder, "26-023")
    keys = notebook.page.keyboard
    row(notebook, "26-023").get_by_role("button").focus()
    keys.press("Enter")
    expect(field(notebook, "In all")).to_have_value(str(start.castings))
    expect(row(notebook, "26-023").get_by_role("button")).to_have_attribute("aria-pressed", "true")
    field(notebook, "Castings more").focus()
    keys.type("3")
    keys.press("Tab")
    assert focused(notebook) == "In all"
    keys.press("Tab")
    assert focused(notebook) == "State now"
    keys.type("worn")
    for _ in range(12):
        keys.press("Tab")
        if focused(notebook) == "Change the mold":
            break
    assert focused(notebook) == "Change the mold"
    keys.press("Enter")
    expect(panel(notebook).get_by_text(re.compile("^Changed. Mold 26-023"))).to_be_visible()
    after = in_file(folder, "26-023")
    assert (after.castings, after.state) == (start.castings + 3, "worn out")
    expect(rows(notebook).first).to_contain_text("26-023")


def test_each_control_of_both_forms_is_reached_by_tab_in_reading_order(notebook: NotebookPage) -> None:
    field(notebook, "Mold").focus()
    met = [focused(notebook)]
    while met[-1] != "Change the mold" and len(met) < 60:
        notebook.page.keyboard.press("Tab")
        met.append(focused(notebook))
    in_order = list(dict.fromkeys(met))  # a day has several stops
    assert in_order == [
        "Mold", "Rubber", "Casting", "Method", "Undercut", "Wall", "Release", "Castings", "State", "Date", "Note",
        "Add to the log", "Castings more", "In all", "State now", "Changed on", "Its note", "Change the mold",
    ]  # fmt: skip
    field(notebook, "Mold").focus()
    notebook.page.keyboard.press("Shift+Tab")
    assert focused(notebook) == "Undo"


def test_coming_back_from_a_spreadsheet_shows_what_it_saved_and_names_the_row_it_broke(
    notebook: NotebookPage, folder: Path
) -> None:
    log = folder / "data" / "mold_log.csv"
    good = log.read_bytes()
    field(notebook, "Note").fill("half a sentence")
    log.write_bytes(good.replace(b",16,worn out,", b",sixteen,worn out,", 1))
    notebook.page.evaluate("() => window.dispatchEvent(new Event('focus'))")
    problem = panel(notebook).locator(".moldkit-verdict-problem")
    expect(problem).to_contain_text("mold_log.csv, row 2, column 'castings': 'sixteen' is not a whole number")
    expect(row(notebook, "24-001")).to_have_count(0)
    expect(field(notebook, "Note")).to_have_value("half a sentence")
    log.write_bytes(good)
    notebook.page.evaluate("() => window.dispatchEvent(new Event('focus'))")
    expect(problem).to_be_empty()
    expect(row(notebook, "24-001")).to_have_count(1)
