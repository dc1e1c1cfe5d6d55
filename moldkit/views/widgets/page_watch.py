"""Hearing when somebody comes back to the page, for instance from a spreadsheet that has saved a file meanwhile."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import anywidget


class PageWatch(anywidget.AnyWidget):
    """Shows nothing; hears when the page's window gets the focus again or comes into view."""

    _esm = Path(__file__).parent / "page_watch.js"

    def __init__(self, **traits: Any) -> None:
        """Take the traits by name."""
        self._callbacks: list[Callable[[], object]] = []
        super().__init__(**traits)
        self.on_msg(self._receive)

    def on_return(self, callback: Callable[[], object]) -> None:
        """Call `callback()` when somebody comes back; it must see to its own trouble."""
        self._callbacks.append(callback)

    def _receive(self, _widget: object, content: dict[str, Any], _buffers: object) -> None:
        if content.get("kind") == "return":
            for callback in self._callbacks:
                callback()
