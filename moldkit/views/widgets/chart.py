"""One chart in the page: a settled figure, and quick numbered redraws while something is dragged."""

from __future__ import annotations

import functools
import gzip
import html
import importlib.metadata
import importlib.resources
import logging
import threading
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import anywidget
import traitlets

from moldkit.errors import InputError, MoldkitError
from moldkit.views.widgets import encoding

logger = logging.getLogger(__name__)
_HERE = Path(__file__).parent
_SCRIPTS = ("plotly_library.js", "figures.js", "turning.js", "chart.js")


@dataclass(frozen=True)
class Pick:
    """What was chosen in a chart, by a click or (in a heatmap) with the keyboard.

    curve: the trace's place; point: the point's place in a curve, None in a heatmap;
    row, column: the cell in a heatmap, None in a curve; x, y: in the axes' own units; by: "click" or "key".
    """

    curve: int
    x: Any
    y: Any
    by: str
    point: int | None = None
    row: int | None = None
    column: int | None = None


@functools.cache
def plotly_version() -> str:
    """Return the version of the installed plotly package, under which a page keeps plotly.js."""
    return importlib.metadata.version("plotly")


@functools.cache
def plotly_js_gzipped() -> bytes:
    """Return plotly.js as the installed plotly package ships it, gzipped."""
    source = importlib.resources.files("plotly") / "package_data" / "plotly.min.js"
    return gzip.compress(source.read_bytes(), compresslevel=6, mtime=0)


class Chart(anywidget.AnyWidget):
    """A figure of fixed height, with a label for readers who cannot see it.

    figure: the settled figure; set it with `settle`. seq: its number, which grows with every change.
    label: what the figure says, in a sentence. described_by: id of an element that tells it in full.
    message: shown in the figure's place. notice: one line over its lower edge. dimmed: it is out of date.
    pick: its heatmap can be chosen from with the keyboard. picked: {"row", "column"} of the cell chosen.
    follow_theme: on a dark page, ink and ground are the page's. fallback_html: shown where no kernel runs.
    height: [px].
    """

    _esm = "\n".join((_HERE / name).read_text("utf-8") for name in _SCRIPTS)  # one module for the page
    _css = "\n".join((_HERE / name).read_text("utf-8") for name in ("shared.css", "chart.css"))

    figure = traitlets.Any({}).tag(sync=True)
    seq = traitlets.Int(0).tag(sync=True)
    height = traitlets.Int(380, min=80).tag(sync=True)
    label = traitlets.Unicode("Chart").tag(sync=True)
    described_by = traitlets.Unicode("").tag(sync=True)
    message = traitlets.Unicode("").tag(sync=True)
    notice = traitlets.Unicode("").tag(sync=True)
    dimmed = traitlets.Bool(False).tag(sync=True)
    pick = traitlets.Bool(False).tag(sync=True)
    picked = traitlets.Dict(default_value=None, allow_none=True).tag(sync=True)
    follow_theme = traitlets.Bool(True).tag(sync=True)
    plotly_version = traitlets.Unicode().tag(sync=True)
    fallback_html = traitlets.Unicode("")

    def __init__(self, figure: object = None, **traits: Any) -> None:
        """Take the figure, if there is one yet, and the traits by name."""
        self._lock = threading.RLock()
        self._newest = 0
        self._pick_callbacks: list[Callable[[Pick], object]] = []
        self._flat: Callable[[], object] | None = None
        if figure is not None:
            traits = {"figure": figure, "seq": 1, **traits}
        super().__init__(**traits)
        self._newest = self.seq
        self.on_msg(self._receive)

    @traitlets.default("plotly_version")
    def _default_plotly_version(self) -> str:
        return plotly_version()

    @traitlets.validate("figure")
    def _figure_as_json(self, proposal: Any) -> dict[str, Any]:
        return encoding.settled(proposal["value"])

    def settle(self, figure: object, seq: int | None = None, message: str = "") -> bool:
        """Show a figure for good: it is there for a second view and after a reload.

        figure: a plotly figure or a plain dict; {} shows none. seq: its number, by default the next.
        message: shown in its place. Returns False, and does nothing, when a newer one is already shown.
        Raises InputError when it is no figure.
        """
        plain = encoding.settled(figure)
        with self._lock:
            number = self._newest + 1 if seq is None else seq
            if number < self._newest:
                return False
            self._newest = number
            with self.hold_sync():
                self.figure = plain
                self.seq = number
                self.message = message
        return True

    def draw(self, figure_or_patch: object, seq: int | None = None) -> bool:
        """Draw a figure, or a patch of the one shown, at once and for now; `settle` makes it last.

        figure_or_patch: as in `encoding.drawing`. seq: its number, by default the next.
        Returns False, and sends nothing, when that number or a newer one has been sent.
        Raises InputError when it is no figure.
        """
        content, buffers = encoding.drawing(figure_or_patch)
        with self._lock:
            number = self._newest + 1 if seq is None else seq
            if number <= self._newest:
                return False
            self._newest = number
            self.send({"kind": "draw", "seq": number, "base": self.seq, **content}, buffers)
        return True

    def on_pick(self, callback: Callable[[Pick], object]) -> None:
        """Call `callback` with what is clicked in the chart, or chosen with Enter in a heatmap."""
        self._pick_callbacks.append(callback)

    def on_flat(self, callback: Callable[[], object]) -> None:
        """Call `callback` for a flat figure in place of one in three dimensions, where a page cannot draw that."""
        self._flat = callback

    def to_png(
        self, width: int = 1200, height: int = 700, scale: float = 2, filename: str = "chart.png"
    ) -> None:
        """Have the page offer the settled figure as a PNG, width and height [px] times scale."""
        self._export("png", width, height, scale, filename)

    def to_svg(self, width: int = 1200, height: int = 700, filename: str = "chart.svg") -> None:
        """Have the page offer the settled figure as an SVG, width and height [px]."""
        self._export("svg", width, height, 1, filename)

    def _export(self, kind: str, width: int, height: int, scale: float, filename: str) -> None:
        if not (0 < width <= 10_000 and 0 < height <= 10_000 and 0 < scale <= 10):
            raise InputError(f"chart: cannot make a picture of {width} x {height} at scale {scale}; "
                             "take up to 10000 x 10000 pixels at a scale of up to 10.")
        size = {"width": width, "height": height, "scale": scale}
        self.send({"kind": "export", "format": kind, "filename": Path(filename).name, **size})

    def _receive(self, _widget: object, content: dict[str, Any], _buffers: object) -> None:
        kind = content.get("kind")
        if kind == "library":
            self._send_library()
        elif kind == "pick":
            self._take_pick(content)
        elif kind == "flat" and self._flat is not None:
            self.settle(self._flat())
        elif kind == "failed":
            self.notice = str(content.get("why", ""))

    def _send_library(self) -> None:
        try:
            self.send({"kind": "library"}, [plotly_js_gzipped()])
        except OSError as error:
            logger.exception("plotly.js could not be read")
            why = f"plotly.js could not be read ({error}); reinstall plotly."
            self.send({"kind": "library", "error": why})

    def _take_pick(self, content: dict[str, Any]) -> None:
        known = {name: content[name] for name in Pick.__dataclass_fields__ if name in content}
        chosen = Pick(**known)
        if chosen.row is not None:
            self.picked = {"row": chosen.row, "column": chosen.column}
        try:
            for callback in self._pick_callbacks:
                callback(chosen)
            self.notice = ""
        except MoldkitError as error:
            self.notice = str(error)
        except Exception as error:  # else it would vanish into a log that nobody sees
            logger.exception("a callback failed on %r", chosen)
            self.notice = f"This choice could not be used ({type(error).__name__}: {error})."

    def _repr_mimebundle_(self, **kwargs: Any) -> tuple[dict[str, Any], dict[str, Any]] | None:
        bundle = super()._repr_mimebundle_(**kwargs)
        if bundle is None:
            return None
        data, metadata = bundle
        fallback = self.fallback_html or f"<p>{html.escape(self.label)}</p>"
        return {**data, "text/plain": self.label, "text/html": fallback}, metadata
