"""A JupyterLab server of our own, and a notebook's page in a real browser, for tests to drive."""

from __future__ import annotations

import contextlib
import json
import os
import re
import secrets
import shutil
import subprocess
import sys
import threading
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import nbformat
from playwright.sync_api import BrowserContext, Locator, Page, Route, WebSocket, expect

ROOT = Path(__file__).resolve().parents[2]
HOST = "127.0.0.1"
PATIENCE_S = 60
FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]
PROMPT_SOCKET = "moldkit.views.widgets.prompt_socket.PromptSocket"
SETTINGS = {
    "@jupyterlab/apputils-extension:notification": {"fetchNews": "false", "checkForUpdates": False},
    "@jupyterlab/docmanager-extension:plugin": {"autosave": False},
}
PLOT = ".jp-OutputArea-output .moldkit-chart-plot"
FIELD = ".jp-OutputArea-output .moldkit-field"
ERROR = (
    ".jp-OutputArea-output[data-mime-type='application/vnd.jupyter.error'], "
    ".jp-RenderedText[data-mime-type='application/vnd.jupyter.error'], "
    ".jp-RenderedText[data-mime-type='application/vnd.jupyter.stderr']"
)


def find_chromium() -> str | None:
    """Return where a Chromium or Chrome stands on the path, or None."""
    return next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)


# ---- the server ------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Server:
    """A running server: its address (ends in a slash), its token, and the folder it serves."""

    url: str
    token: str
    folder: Path


@contextlib.contextmanager
def lab_server(scratch: Path, *, prompt: bool = True) -> Iterator[Server]:
    """Start JupyterLab on a free port, with nothing of the user's own, and stop it in the end.

    prompt: with the kit's own line to the page, which sends short messages at once.
    The address has a path, so that a script which takes the server's root for granted fails.
    """
    served = scratch / "served"
    served.mkdir(parents=True)
    token = secrets.token_hex(16)
    process = subprocess.Popen(
        _command(scratch, served, prompt), env=_environment(scratch, token), cwd=served,
        stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True,
    )
    try:
        yield Server(_address(process, scratch / "server.log"), token, served)
    finally:
        process.terminate()
        try:
            process.wait(PATIENCE_S)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


def _command(scratch: Path, served: Path, prompt: bool) -> list[str]:
    settings = scratch / "settings"
    settings.mkdir()
    (settings / "overrides.json").write_text(json.dumps(SETTINGS))
    return [
        sys.executable, "-m", "jupyterlab", "--no-browser", "--allow-root",
        f"--ServerApp.ip={HOST}", "--ServerApp.port=0", "--ServerApp.base_url=/moldkit/",
        f"--ServerApp.root_dir={served}",
        *([f"--ServerApp.kernel_websocket_connection_class={PROMPT_SOCKET}"] if prompt else []),
        "--LabApp.expose_app_in_browser=True", "--LabApp.extension_manager=readonly",
        f"--LabApp.app_settings_dir={settings}",
    ]


def _environment(scratch: Path, token: str) -> dict[str, str]:
    """Return the server's environment: its own Jupyter folders and kernel, and this source tree."""
    kernel = scratch / "data" / "kernels" / "python3"
    kernel.mkdir(parents=True)
    argv = [sys.executable, "-m", "ipykernel_launcher", "-f", "{connection_file}"]
    (kernel / "kernel.json").write_text(
        json.dumps({"argv": argv, "display_name": "Python 3", "language": "python"})
    )
    own = {
        "JUPYTER_CONFIG_DIR": scratch / "config", "JUPYTER_DATA_DIR": scratch / "data",
        "JUPYTER_RUNTIME_DIR": scratch / "runtime", "IPYTHONDIR": scratch / "ipython",
        "MOLDKIT_CACHE": scratch / "readings",
    }
    path = os.pathsep.join(filter(None, [str(ROOT), os.environ.get("PYTHONPATH")]))
    return {
        **os.environ, **{name: str(folder) for name, folder in own.items()},
        "JUPYTER_PREFER_ENV_PATH": "0", "JUPYTER_TOKEN": token, "PYTHONPATH": path,
    }


def _address(process: subprocess.Popen[str], log: Path) -> str:
    """Return the address that the server says it runs at, and go on writing what it says to `log`."""
    found: list[str] = []
    told = threading.Event()

    def listen() -> None:
        assert process.stderr is not None
        with log.open("w") as written:
            for line in process.stderr:
                written.write(line)
                written.flush()
                match = re.search(rf"http://{re.escape(HOST)}:\d+/moldkit/", line)
                if match and not found:
                    found.append(match[0])
                    told.set()
        told.set()

    threading.Thread(target=listen, daemon=True).start()
    if not told.wait(PATIENCE_S) or not found:
        raise RuntimeError(f"JupyterLab did not start; it said:\n{log.read_text()[-4000:]}")
    return found[0]


def write_notebook(path: Path, cells: Sequence[str]) -> None:
    """Write a notebook of code cells, with the kernel named so that Lab asks nothing."""
    notebook = nbformat.v4.new_notebook(
        cells=[nbformat.v4.new_code_cell(cell) for cell in cells],
        metadata={"kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"}},
    )
    nbformat.write(notebook, path)


def copy_notebooks(server: Server, name: str) -> Path:
    """Put the data and the notebooks in a folder of their own that the server serves, and return it."""
    folder = server.folder / name
    shutil.copytree(ROOT / "data", folder / "data", ignore=shutil.ignore_patterns("__pycache__", "sculpting"))
    shutil.copytree(ROOT / "notebooks", folder / "notebooks", ignore=shutil.ignore_patterns(".*"))
    return folder


# ---- what a page asks for, and what goes wrong in it -------------------------------------------------


@dataclass
class Watch:
    """What pages asked of other hosts, their errors, and the sizes of the messages they got [byte]."""

    outside: list[str] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)
    received: list[int] = field(default_factory=list)

    def over(self, context: BrowserContext) -> None:
        """Note everything that pages of `context` do, and let nothing out of this machine."""
        context.route(lambda url: not is_here(url), self._refuse)
        context.on("request", lambda request: self._note(request.url))
        context.on("weberror", lambda error: self.errors.append(str(error.error)))
        context.on("page", lambda page: page.on("websocket", self._listen))

    def _refuse(self, route: Route) -> None:
        self._note(route.request.url)
        route.abort()

    def _note(self, url: str) -> None:
        if not is_here(url) and url not in self.outside:
            self.outside.append(url)

    def _listen(self, socket: WebSocket) -> None:
        self._note(socket.url)
        socket.on("framereceived", lambda payload: self.received.append(len(payload)))


def is_here(url: str) -> bool:
    """Return whether an address is this machine's own, or no address in a network at all."""
    parts = urlsplit(url)
    return parts.scheme not in ("http", "https", "ws", "wss") or parts.hostname == HOST


# ---- a notebook's page -------------------------------------------------------------------------------


class NotebookPage:
    """A notebook open in JupyterLab. Every wait is for a state, none for a time."""

    def __init__(self, page: Page, server: Server, watch: Watch) -> None:
        self.page = page
        self.server = server
        self.watch = watch

    def open(self, name: str) -> None:
        """Open a notebook of the served folder and wait for its kernel."""
        self.page.goto(f"{self.server.url}lab/tree/{name}?token={self.server.token}&reset")
        self.wait_for_kernel()

    def wait_for_kernel(self) -> None:
        """Wait until the notebook is in view and its kernel has nothing to do."""
        self.page.wait_for_function("""() => {
            const panel = globalThis.jupyterapp?.shell?.currentWidget;
            return panel?.context?.isReady && panel.content?.model
                && panel.sessionContext?.session?.kernel?.status === "idle";
        }""")

    def run_all(self) -> None:
        """Run all cells, and fail with what the first failing one says."""
        self.command("notebook:run-all-cells")
        failed = self.page.locator(ERROR)
        assert failed.count() == 0, failed.first.inner_text()

    def command(self, name: str, **arguments: Any) -> None:
        """Execute a command of JupyterLab's and wait until it has ended."""
        self.page.evaluate("""([name, arguments]) => {
            globalThis.commandEnd = null;
            jupyterapp.commands.execute(name, arguments).then(
                () => { globalThis.commandEnd = "done"; },
                (error) => { globalThis.commandEnd = String(error); });
        }""", [name, arguments])
        self.page.wait_for_function("() => globalThis.commandEnd")
        ended = self.page.evaluate("() => globalThis.commandEnd")
        assert ended == "done", f"{name}: {ended}"

    def kernel(self, expression: str) -> str:
        """Return what an expression is in the notebook's kernel, as its repr."""
        self.page.evaluate("""(expression) => {
            globalThis.kernelSays = null;
            const { kernel } = jupyterapp.shell.currentWidget.sessionContext.session;
            const request = { code: "", store_history: false, user_expressions: { it: expression } };
            kernel.requestExecute(request).done.then(({ content }) => {
                const { it } = content.user_expressions;
                globalThis.kernelSays = { text: it.data?.["text/plain"], error: it.evalue };
            });
        }""", expression)
        self.page.wait_for_function("() => globalThis.kernelSays")
        said = self.page.evaluate("() => globalThis.kernelSays")
        assert "text" in said, f"{expression}: {said.get('error')}"
        return str(said["text"])

    def wait_kernel(self, expression: str, expected: str) -> None:
        """Wait until an expression is `expected` in the kernel: what a page sends is heard there on another thread."""
        deadline = time.monotonic() + PATIENCE_S
        while (found := self.kernel(expression)) != expected:
            assert time.monotonic() < deadline, f"{expression} stays {found}, expected {expected}"

    def insert_and_run(self, code: str) -> None:
        """Add a cell with `code` at the end, and run it."""
        self.page.evaluate("""() => {
            const { content } = jupyterapp.shell.currentWidget;
            content.activeCellIndex = content.widgets.length - 1;
        }""")
        self.command("notebook:insert-cell-below")
        self.page.evaluate("""(code) =>
            jupyterapp.shell.currentWidget.content.activeCell.model.sharedModel.setSource(code)""", code)
        self.command("notebook:run-cell")

    def scroll_to(self, cell: int) -> None:
        """Bring a cell into view."""
        self.page.evaluate(
            "async (cell) => { await jupyterapp.shell.currentWidget.content.scrollToItem(cell); }", cell
        )

    def scroll_to_source(self, part: str) -> None:
        """Bring the last code cell whose source has that part into view."""
        cell = self.page.evaluate("""(part) => jupyterapp.shell.currentWidget.content.widgets.findLastIndex(
            (cell) => cell.model.type === "code" && cell.model.sharedModel.source.includes(part))""", part)
        assert cell >= 0, f"no cell has {part}"
        self.scroll_to(cell)

    def save_and_reload(self) -> None:
        """Save the notebook and load the page again, with the kernel kept."""
        self.command("docmanager:save")
        self.page.reload()
        self.wait_for_kernel()

    def theme(self, *, dark: bool) -> None:
        """Switch JupyterLab's theme."""
        self.command("apputils:change-theme", theme="JupyterLab Dark" if dark else "JupyterLab Light")
        light = "false" if dark else "true"
        expect(self.page.locator(f"body[data-jp-theme-light='{light}']")).to_be_attached()

    def shut_kernel(self) -> None:
        """End the notebook's kernel, if it got as far as having one."""
        self.page.evaluate("() => globalThis.jupyterapp?.shell.currentWidget?.sessionContext?.shutdown()")

    # -- the kit's widgets --

    def plot(self, label: str) -> Locator:
        """Return the chart whose label begins with `label`."""
        return self.page.locator(f"{PLOT}[aria-label^='{label}']").first

    def field(self, label: str) -> Locator:
        """Return the field of that label."""
        return self.page.locator(FIELD).filter(has=self.page.get_by_text(label, exact=True)).first

    def slider(self, label: str) -> Locator:
        """Return the slider of the field of that label."""
        return self.field(label).locator("input[type=range]")

    def press(self, label: str, key: str, times: int = 1) -> None:
        """Press a key on a field's slider and wait until the kernel has answered it all."""
        handle = self.slider(label)
        handle.focus()
        for _ in range(times):
            handle.press(key)
        self.wait_answered(self.field(label))

    def wait_verdict(self, panel: Locator, version: int) -> None:
        """Wait until the verdict that stands in a panel is of that version, or a newer one."""
        self.page.wait_for_function(
            "([verdict, version]) => Number(verdict.dataset.drawn) >= version",
            arg=[panel.locator(".moldkit-verdict").first.element_handle(), version],
        )

    def wait_drawn(self, plot: Locator, seq: int) -> None:
        """Wait until a chart has drawn that number, or a newer one."""
        plot.scroll_into_view_if_needed()
        self.page.wait_for_function(
            "([plot, seq]) => Number(plot.dataset.drawn ?? -1) >= seq", arg=[plot.element_handle(), seq]
        )

    def wait_answered(self, field: Locator) -> None:
        """Wait until the kernel has answered everything that a field has sent, and nothing waits in it."""
        self.page.wait_for_function(
            "(field) => field.dataset.sent && field.dataset.sent === field.dataset.answered",
            arg=field.element_handle(),
        )

    def trace(self, plot: Locator, curve: int, attribute: str) -> list[Any]:
        """Return a trace's array as the page holds it."""
        read: list[Any] = plot.evaluate(
            "(plot, [curve, attribute]) => Array.from(plot.data[curve][attribute],"
            " (part) => ArrayBuffer.isView(part) ? Array.from(part) : part)", [curve, attribute]
        )
        return read
