"""The second notebook in a real JupyterLab: read a pattern, turn it by button and key, take it to the technique."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from playwright.sync_api import Locator, Page, expect

from moldkit.views.painter import data_address
from tests.browser.lab import NotebookPage, Server, Watch, write_notebook

NOTEBOOK, PANEL = "read_the_pattern", "page = ReadThePattern("
# The notebook reads three patterns before its panel is there.
pytestmark = pytest.mark.timeout(300)
CAMERA = "plot => { const { x, y, z } = plot._fullLayout.scene._scene.getCamera().eye; return [x, y, z]; }"

# A turn by hand goes on for a few frames after the mouse has stopped.
AT_REST = """async (plot) => {
    const eye = () => JSON.stringify(plot._fullLayout.scene._scene.getCamera().eye);
    const before = eye();
    for (let frame = 0; frame < 10; frame += 1) await new Promise(requestAnimationFrame);
    return eye() === before;
}"""


def view(notebook: NotebookPage) -> Locator:
    """The view in three dimensions, drawn as the kernel last had it."""
    plot = notebook.page.locator(".moldkit-panel .moldkit-chart-plot").first
    notebook.wait_drawn(plot, int(notebook.kernel("page.view.seq")))
    return plot


def choose(notebook: NotebookPage, label: str, option: str) -> None:
    """Pick from a list of the panel and wait until what follows is shown."""
    version = int(notebook.kernel("page.version"))
    notebook.page.get_by_label(label, exact=True).select_option(option)
    wait_version(notebook, version + 1)


def wait_version(notebook: NotebookPage, version: int) -> None:
    notebook.wait_verdict(notebook.page.locator(".moldkit-panel").first, version)


def button(notebook: NotebookPage, name: str) -> Locator:
    return notebook.page.locator(".moldkit-panel").get_by_role("button", name=name, exact=True)


def switch(notebook: NotebookPage, name: str) -> None:
    version = int(notebook.kernel("page.version"))
    button(notebook, name).click()
    wait_version(notebook, version + 1)


def upload(notebook: NotebookPage, name: str, content: bytes) -> None:
    with notebook.page.expect_file_chooser() as chooser:
        notebook.page.locator(".moldkit-panel").get_by_role("button", name=re.compile("Upload a mesh")).click()
    chooser.value.set_files({"name": name, "mimeType": "model/stl", "buffer": content})


DECODED = """async (address) => {
    const image = new Image();
    image.src = address;
    await image.decode();
    const canvas = document.createElement("canvas");
    [canvas.width, canvas.height] = [image.width, image.height];
    const context = canvas.getContext("2d");
    context.drawImage(image, 0, 0);
    return [image.height, image.width, Array.from(context.getImageData(0, 0, image.width, image.height).data)];
}"""


def decoded(page: Page, address: str) -> NDArray[np.uint8]:
    """Return a picture as the browser reads it, rows of red, green, blue and cover."""
    height, width, values = page.evaluate(DECODED, address)
    return np.array(values, dtype=np.uint8).reshape(height, width, 4)


def distinct_colours(page: Page, plot: Locator) -> int:
    """Return how many colours the view shows: an empty one shows one."""
    seen = decoded(page, plot.evaluate("plot => plot._fullLayout.scene._scene.toImage('png')"))
    return len(np.unique(seen.reshape(-1, 4), axis=0))


def test_run_all_draws_the_pattern_and_says_what_was_found(notebook: NotebookPage) -> None:
    plot = view(notebook)
    assert distinct_colours(notebook.page, plot) > 100
    assert [trace for trace in plot.evaluate("plot => plot.data.map((t) => t.name)") if trace] [:2] == [
        "Undercuts", "parting line",
    ]  # fmt: skip
    report = notebook.page.locator(".moldkit-report")
    for about in ("Pull", "Undercuts", "Pieces", "Peeling off", "Air in the casting", "Container"):
        expect(report.get_by_text(about, exact=True)).to_be_visible()
    facts = notebook.page.locator(".moldkit-facts")
    expect(facts.get_by_role("row", name=re.compile("^undercuts moderate measured"))).to_be_visible()


def test_the_colouring_switches_and_the_camera_stays(notebook: NotebookPage) -> None:
    button(notebook, "Turn to the right").click()
    turned = view(notebook).evaluate(CAMERA)
    before = notebook.trace(view(notebook), 0, "intensity")
    title = view(notebook).evaluate("plot => plot.layout.title.text")
    switch(notebook, "Air in the casting")
    plot = view(notebook)
    assert notebook.trace(plot, 0, "intensity") != before
    assert plot.evaluate("plot => plot.layout.title.text") != title
    assert plot.evaluate(CAMERA) == pytest.approx(turned)
    switch(notebook, "Undercuts")


def test_a_view_turned_by_hand_stays_turned_when_the_colouring_is_switched(notebook: NotebookPage) -> None:
    plot = view(notebook)
    before = plot.evaluate(CAMERA)
    box = plot.bounding_box()
    assert box is not None
    x, y = box["x"] + 0.4 * box["width"], box["y"] + 0.5 * box["height"]
    notebook.page.mouse.move(x, y)
    notebook.page.mouse.down()
    notebook.page.mouse.move(x + 90, y, steps=4)
    notebook.page.mouse.up()
    notebook.page.wait_for_function(
        "([plot, x]) => Math.abs(plot._fullLayout.scene._scene.getCamera().eye.x - x) > 0.05",
        arg=[plot.element_handle(), before[0]],
    )
    notebook.page.wait_for_function(AT_REST, arg=plot.element_handle())
    turned = view(notebook).evaluate(CAMERA)
    # By keyboard, with the mouse still over the view: marks that go away under it must not trouble the drawing.
    for name in ("Air in the rubber", "Undercuts"):
        version = int(notebook.kernel("page.version"))
        button(notebook, name).press("Enter")
        wait_version(notebook, version + 1)
        assert view(notebook).evaluate(CAMERA) == pytest.approx(turned)
    expect(notebook.page.locator(".moldkit-panel .moldkit-chart-notice").first).to_be_hidden()


def test_buttons_and_arrow_keys_turn_the_pattern(notebook: NotebookPage) -> None:
    plot = view(notebook)
    button(notebook, "Seen from the front").click()
    x, y, z = plot.evaluate(CAMERA)
    assert (x, z) == pytest.approx((0.0, 0.0), abs=1e-3) and y < 0
    notebook.page.keyboard.press("ArrowRight")
    right = plot.evaluate(CAMERA)
    assert right[0] > 0 and right[1] < 0
    notebook.page.keyboard.press("ArrowUp")
    assert plot.evaluate(CAMERA)[2] > 0
    button(notebook, "Seen from the top").focus()
    notebook.page.keyboard.press("Enter")
    x, y, z = plot.evaluate(CAMERA)
    assert z > 0 and abs(x) + abs(y) < 0.01 * z
    notebook.page.keyboard.press("+")
    assert plot.evaluate(CAMERA)[2] == pytest.approx(0.8 * z)
    expect(notebook.page.locator(".moldkit-panel .moldkit-chart-spoken").first).to_have_text("Nearer")
    button(notebook, "As at first").click()
    assert plot.evaluate(CAMERA) != [x, y, z]


def test_a_grade_that_is_declared_takes_the_place_of_the_measured_one(notebook: NotebookPage) -> None:
    choose(notebook, "Undercuts", "severe")
    row = notebook.page.locator(".moldkit-facts").get_by_role("row", name=re.compile("^undercuts"))
    expect(row).to_contain_text("severe")
    expect(row).to_contain_text("declared (measured: moderate)")
    choose(notebook, "Undercuts", "as measured")
    expect(row).to_contain_text("measured")


def test_another_pattern_is_read_with_progress_and_shown_from_the_first_side(notebook: NotebookPage) -> None:
    notebook.page.evaluate("""() => {
        globalThis.told = new Set();
        const note = () => document.querySelectorAll(".moldkit-panel [role=status]")
            .forEach((node) => globalThis.told.add(node.textContent));
        new MutationObserver(note).observe(document.body, { subtree: true, childList: true, characterData: true });
    }""")
    choose(notebook, "Pattern", "knob.stl")
    expect(notebook.page.locator(".moldkit-verdict-sentence")).to_contain_text("knob.stl, 40 mm")
    told = notebook.page.evaluate("() => [...globalThis.told]")
    assert any("Looking for undercuts" in words for words in told), told
    assert distinct_colours(notebook.page, view(notebook)) > 100


def test_an_upload_without_a_unit_is_asked_for_one_and_then_read(notebook: NotebookPage, folder: Path) -> None:
    content = (folder / "data" / "patterns" / "knob.stl").read_bytes()
    upload(notebook, "own knob.stl", content)
    problem = notebook.page.locator(".moldkit-verdict-problem")
    expect(problem).to_contain_text("say what one unit in the file is")
    choose(notebook, "One unit is", "mm")
    expect(problem).to_have_text("")
    expect(notebook.page.locator(".moldkit-verdict-sentence")).to_contain_text("own knob.stl, 40 mm")


def test_a_broken_upload_is_one_sentence_and_the_last_pattern_stays(notebook: NotebookPage) -> None:
    sentence = notebook.page.locator(".moldkit-verdict-sentence")
    good = sentence.inner_text()
    upload(notebook, "broken.stl", b"solid broken\nfacet")
    problem = notebook.page.locator(".moldkit-verdict-problem")
    expect(problem).to_contain_text("broken.stl: say what one unit")
    notebook.page.get_by_label("One unit is", exact=True).select_option("mm")
    expect(problem).to_contain_text(re.compile(r"^broken\.stl: (?!say)"))
    assert sentence.inner_text() == good
    choose(notebook, "Pattern", "finial.stl")
    expect(problem).to_have_text("")


def test_the_button_makes_a_job_that_the_first_notebook_opens(notebook: NotebookPage, folder: Path) -> None:
    before = {path.name: path.read_bytes() for path in (folder / "data" / "jobs").iterdir()}
    choose(notebook, "Pattern", "finial.stl") if "finial" not in notebook.kernel("page.seen.case.mesh") else None
    button(notebook, "Take it to the technique").click()
    said = notebook.page.locator(".moldkit-panel").get_by_text(re.compile(r"Saved as finial-2\.toml"))
    expect(said).to_be_visible()
    after = {path.name: path.read_bytes() for path in (folder / "data" / "jobs").iterdir()}
    assert {name: after[name] for name in before} == before
    assert set(after) - set(before) == {"finial-2.toml"}
    notebook.insert_and_run(
        "from moldkit.views.panel.choose import ChooseATechnique\nbench = ChooseATechnique(page.job_file())\nbench"
    )
    assert notebook.kernel("bench.case.mesh") == "'patterns/finial.stl'"
    assert notebook.kernel("bench.result.cheapest is not None") == "True"
    assert set((folder / "data" / "jobs").iterdir()) == {folder / "data" / "jobs" / name for name in after}


NO_WEBGL = """
    const get = HTMLCanvasElement.prototype.getContext;
    HTMLCanvasElement.prototype.getContext = function (kind, ...rest) {
        return /webgl/.test(kind) ? null : get.call(this, kind, ...rest);
    };
"""
ONE_VIEW = """
from moldkit.views.panel.read_pattern import ReadThePattern
page = ReadThePattern("knob.stl")
page
"""


def test_without_webgl_the_page_shows_three_sides_and_says_why(page: Page, server: Server, folder: Path,
                                                               watch: Watch) -> None:  # fmt: skip
    write_notebook(folder / "notebooks" / "flat.ipynb", [ONE_VIEW])
    page.add_init_script(NO_WEBGL)
    notebook = NotebookPage(page, server, watch)
    notebook.open(f"{folder.name}/notebooks/flat.ipynb")
    notebook.run_all()
    notebook.wait_kernel("page.view.figure['layout'].get('scene') is None", "True")
    plot = view(notebook)
    assert plot.evaluate("plot => plot.layout.images.length") == 3
    expect(plot.get_by_text("This browser draws nothing in three dimensions")).to_be_visible()
    expect(page.get_by_role("toolbar", name=re.compile("Turn the view"))).to_be_hidden()
    switch(notebook, "Air in the rubber")
    notebook.wait_kernel("page.view.figure['layout'].get('scene') is None", "True")
    assert view(notebook).evaluate("plot => plot.layout.images.length") == 3
    notebook.shut_kernel()


def test_a_picture_of_the_painters_is_read_by_the_browser_pixel_for_pixel(page: Page) -> None:
    picture = np.random.default_rng(3).integers(0, 256, (23, 31, 3), dtype=np.uint8)
    seen = decoded(page, data_address(picture))
    assert (seen[..., :3] == picture).all()
    assert (seen[..., 3] == 255).all()
