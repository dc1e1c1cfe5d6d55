"""Work that a panel has done aside, so that nobody waits for it: only the newest that was asked for counts."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable
from typing import Any

logger = logging.getLogger(__name__)


class Aside:
    """One thing at a time is worked on in a thread of its own; of what is asked for meanwhile the newest comes next."""

    def __init__(self, work: Callable[..., None]) -> None:
        """Take what is to be done with what is asked."""
        self._work = work
        self._lock = threading.Lock()
        self._next: tuple[Any, ...] | None = None
        self._idle = threading.Event()
        self._idle.set()

    def ask(self, *what: Any) -> None:
        """Have the work done with these arguments, soon."""
        with self._lock:
            self._next = what
            if not self._idle.is_set():
                return
            self._idle.clear()
        threading.Thread(target=self._run, daemon=True).start()

    def done(self, seconds: float) -> bool:
        """Wait until nothing is left to do; return whether that came within so many seconds."""
        return self._idle.wait(seconds)

    def _run(self) -> None:
        while True:
            with self._lock:
                what, self._next = self._next, None
                if what is None:
                    self._idle.set()
                    return
            try:
                self._work(*what)
            except Exception:
                # an exception would otherwise end the thread unseen, and nothing aside would ever be done again
                logger.exception("what was asked for aside could not be done")
