"""The panel of the first notebook: key press to painted curves and verdict against the bare floor, and memory.

Floor: on the same page a bare slider whose value the kernel writes into a label; the two take turns.
"""

from __future__ import annotations

import contextlib
import statistics
import tempfile
from collections.abc import Iterator
from pathlib import Path

from playwright.sync_api import sync_playwright

from moldkit.start.testing import find_browser
from tests.bench import latency
from tests.browser.lab import FLAGS, NotebookPage, Watch, lab_server, write_notebook

ROOT = Path(__file__).resolve().parents[2]
PANEL = f"""
from moldkit.views.panel.choose import ChooseATechnique
panel = ChooseATechnique("finial", {str(ROOT / "data")!r})
panel
"""
WARM, PRESSES, MOVES = 6, 40, (100, 500)
RESIDENT = "__import__('gc').collect() * 0 + int(open('/proc/self/statm').read().split()[1]) * 4096"
# Several collections, with a frame between them: what one frees may let the next free more.
HEAP = """async () => {
    for (let i = 0; i < 4; i++) { globalThis.gc?.(); await new Promise(requestAnimationFrame); }
    return performance.memory.usedJSHeapSize;
}"""


def run(presses: int = PRESSES) -> None:
    """Print the panel's latencies as ratios to the floor, and how kernel and page grow over many moves."""
    if find_browser() is None:
        print("page: no Chromium or Chrome found; install one to measure.")
        return
    with _page() as notebook:
        for label in ("Run", "Longest side"):
            _latency(notebook, label, presses)
        _memory(notebook)


@contextlib.contextmanager
def _page() -> Iterator[NotebookPage]:
    with (
        tempfile.TemporaryDirectory() as scratch,
        lab_server(Path(scratch)) as server,
        sync_playwright() as playwright,
    ):
        write_notebook(server.folder / "panel.ipynb", [latency.CELLS[0], PANEL])
        flags = [*FLAGS, "--js-flags=--expose-gc", "--enable-precise-memory-info"]
        browser = playwright.chromium.launch(executable_path=find_browser(), args=flags)
        context = browser.new_context(viewport={"width": 1400, "height": 1000})
        context.set_default_timeout(90_000)
        watch = Watch()
        watch.over(context)
        notebook = NotebookPage(context.new_page(), server, watch)
        notebook.open("panel.ipynb")
        notebook.run_all()
        yield notebook
        notebook.shut_kernel()
        browser.close()


def _latency(notebook: NotebookPage, label: str, presses: int) -> None:
    page = notebook.page
    plot, field = notebook.plot("Cost over the run"), notebook.field(label)
    notebook.wait_drawn(plot, 1)
    slider, verdict = field.locator("input[type=range]"), page.locator(".moldkit-verdict")
    floor_label = page.locator(".jp-OutputArea-output .widget-html-content").first
    times: dict[str, list[float]] = {"floor": [], "curves": [], "verdict": [], "everything": []}
    for number in range(presses + WARM):
        key = "ArrowLeft" if number % 2 else "ArrowRight"
        times["floor"].append(latency.press(notebook, page.locator("#bare"), floor_label, key)["painted"])
        for name, target in (("curves", plot), ("verdict", verdict)):
            painted = latency.press(notebook, slider, target, key)
            times[name].append(painted["painted"])
            notebook.wait_answered(field)
            notebook.wait_drawn(plot, int(notebook.kernel("panel.cost.seq")))
    floor = statistics.median(times["floor"][WARM:])
    for name in ("curves", "verdict"):
        taken = times[name][WARM:]
        print(
            f"{label}: key press to painted {name:8} {statistics.median(taken):6.1f} ms "
            f"({statistics.median(taken) / floor:4.2f} x the floor of {floor:.1f} ms), slowest {max(taken):6.1f} ms"
        )


def _memory(notebook: NotebookPage) -> None:
    slider, field = notebook.field("Run").locator("input[type=range]"), notebook.field("Run")
    sizes = {}
    for move in range(MOVES[1] + 1):
        if move in MOVES:
            notebook.wait_answered(field)
            sizes[move] = (int(notebook.kernel(RESIDENT)), int(notebook.page.evaluate(HEAP)))
        slider.focus()
        notebook.page.keyboard.press("ArrowLeft" if move % 2 else "ArrowRight")
        notebook.wait_answered(field)
    grown = [(after - before) / 1e6 for before, after in zip(*(sizes[move] for move in MOVES), strict=True)]
    print(f"from move {MOVES[0]} to move {MOVES[1]}: kernel {grown[0]:+.1f} MB, page {grown[1]:+.1f} MB")
