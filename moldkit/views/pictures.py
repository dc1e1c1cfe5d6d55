"""Pictures of charts, drawn by an installed browser that stays open over a batch, within a time that is kept."""

from __future__ import annotations

import asyncio
import concurrent.futures
import contextlib
import importlib.util
import json
import logging
import os
import shutil
import signal
import sys
import threading
from collections.abc import Callable, Coroutine, Mapping, Sequence
from dataclasses import dataclass, field
from types import TracebackType
from typing import Any, Literal

import numpy as np

Figure = dict[str, Any]
Kind = Literal["svg", "png", "pdf"]
# Called with the share that is done, 0 to 1, and what is being done.
Progress = Callable[[float, str], None]
# How long a browser may take to open, and one picture to be drawn [s].
SECONDS = 60.0
SECONDS_TO_CLOSE, SECONDS_STUCK = 10.0, 2.0
BROWSERS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome", "msedge")
# Those that say on the way what a sentence says in the end.
TALKERS = ("choreographer", "kaleido")
NO_BROWSER = "no {kinds} of {names}: they need Chromium or Chrome; install one, or use the buttons in the notebook."
NO_KALEIDO = "no {kinds} of {names}: the package kaleido is missing; install it, or use the buttons in the notebook."


@dataclass(frozen=True)
class Pictures:
    """Pictures by file name, and a sentence on each that there is none of."""

    files: dict[str, bytes] = field(default_factory=dict)
    said: tuple[str, ...] = ()


class Undrawn(Exception):
    """A browser that did not do its part, with why in a few words."""


def installed_browser() -> str | None:
    """Return the path of a browser that draws pictures: BROWSER_PATH, else Chromium or Chrome as installed."""
    named = os.environ.get("BROWSER_PATH") or next(filter(None, map(shutil.which, BROWSERS)), None)
    if named or sys.platform.startswith("linux"):
        return named
    from choreographer.browsers.chromium import Chromium

    found = Chromium.find_browser(skip_local=False)
    return None if found is None else str(found)


def pictures(
    figures: Mapping[str, Figure],
    kinds: Sequence[Kind] = ("svg", "png"),
    *,
    wide: int = 1200,
    seconds: float = SECONDS,
    progress: Progress | None = None,
) -> Pictures:
    """Return pictures of figures, `name.kind` each, as far as a browser can draw them.

    figures: each as plain values, with its height; wide: their width in dots, a PNG has twice as many; seconds: for the
    browser to open, and for each picture. Nothing is raised for a browser that is missing, fails or hangs: a sentence
    says so, and the pictures drawn before are kept.
    """
    names, words = ", ".join(figures), " and ".join(kind.upper() for kind in kinds)
    if importlib.util.find_spec("kaleido") is None:
        return Pictures(said=(NO_KALEIDO.format(kinds=words, names=names),))
    browser = installed_browser()
    if browser is None:
        return Pictures(said=(NO_BROWSER.format(kinds=words, names=names),))
    wanted = [(name, kind) for name in figures for kind in kinds]
    tell = progress or (lambda share, doing: None)
    files: dict[str, bytes] = {}
    tell(0.0, "opening the browser")
    try:
        with OpenBrowser(browser, seconds) as drawer:
            for count, (name, kind) in enumerate(wanted):
                tell(count / len(wanted), f"{name}.{kind}")
                files[f"{name}.{kind}"] = drawer.picture(figures[name], kind, wide)
    except Undrawn as fault:
        missing = [f"{name}.{kind}" for name, kind in wanted if f"{name}.{kind}" not in files]
        return Pictures(files, (f"no {', '.join(missing)}: {fault}; use the buttons in the notebook.",))
    tell(1.0, "")
    return Pictures(files)


class OpenBrowser:
    """A browser that is open while a `with` block lasts, and draws one figure after the other.

    It has a thread of its own, so that a notebook's own loop is left alone and no wait is longer than `seconds`.
    """

    def __init__(self, path: str, seconds: float = SECONDS) -> None:
        """Note what is to be opened; path: of the browser; seconds: to open, and for each picture."""
        self._path, self._seconds = path, seconds
        self._loop = asyncio.new_event_loop()
        self._thread = threading.Thread(target=self._loop.run_forever, name="pictures", daemon=True)
        self._loop.set_exception_handler(lambda loop, context: None)
        self._kaleido: Any = None
        self._stuck = False

    def __enter__(self) -> OpenBrowser:
        """Open the browser; raises Undrawn where it does not open in time."""
        for name in TALKERS:
            logging.getLogger(name).setLevel(logging.CRITICAL)
        self._thread.start()
        try:
            self._within(self._opened(), self._seconds, "the browser did not open")
        except Undrawn:
            self._leave()
            raise
        return self

    def __exit__(self, kind: type[BaseException] | None, fault: BaseException | None, at: TracebackType | None) -> None:
        """Close the browser, and end it where it does not close."""
        self._leave()

    def picture(self, figure: Figure, kind: Kind, wide: int = 1200) -> bytes:
        """Return one figure as a picture; raises Undrawn where it is not drawn in time."""
        plain = json.loads(json.dumps(figure, default=plain_value))
        high = int(plain["layout"].get("height", 640))
        size = {"format": kind, "width": wide, "height": high, "scale": 2 if kind == "png" else 1}
        drawn = self._within(self._kaleido.calc_fig(plain, opts=size), self._seconds, "the browser did not draw it")
        return bytes(drawn)

    async def _opened(self) -> None:
        from kaleido import Kaleido

        # plotly.js comes from the installed package; formulas in charts are not used, and would come from another host.
        self._kaleido = Kaleido(n=1, timeout=self._seconds, mathjax=False, path=self._path)
        await self._kaleido.open()

    def _within(self, work: Coroutine[Any, Any, Any], seconds: float, fault: str) -> Any:
        waiting = asyncio.run_coroutine_threadsafe(work, self._loop)
        try:
            return waiting.result(seconds)
        except (TimeoutError, concurrent.futures.TimeoutError):
            waiting.cancel()
            self._stuck = True
            raise Undrawn(f"{fault} within {seconds:g} s") from None
        except Exception as why:
            # it drives a browser, and raises whatever that raises
            raise Undrawn(f"{fault} ({type(why).__name__})") from why

    def _leave(self) -> None:
        if self._kaleido is not None:
            if self._stuck:
                self._end()
            with contextlib.suppress(Undrawn):
                close = SECONDS_STUCK if self._stuck else SECONDS_TO_CLOSE
                self._within(self._kaleido.close(), close, "the browser did not close")
            self._end()
        self._loop.call_soon_threadsafe(self._loop.stop)
        self._thread.join(SECONDS_TO_CLOSE)

    def _end(self) -> None:
        """End the browser that this object opened, with all that it started, where it still runs."""
        own = getattr(self._kaleido, "subprocess", None)
        if own is None or own.poll() is not None:
            return
        if hasattr(os, "killpg") and os.getpgid(own.pid) != os.getpgid(0):
            # It runs in a group of its own: a starter, the browser, a process for each page.
            os.killpg(os.getpgid(own.pid), signal.SIGKILL)
        else:
            own.kill()


def plain_value(value: Any) -> Any:
    """Return an array or a number of numpy's as plain values, what is no number as None."""
    if isinstance(value, np.ndarray):
        return [None if isinstance(x, float) and not np.isfinite(x) else x for x in value.tolist()]
    if isinstance(value, np.generic):
        return value.item()
    raise TypeError(f"cannot be written as JSON: {type(value).__name__}")
