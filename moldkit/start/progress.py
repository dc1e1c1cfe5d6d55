"""Plain lines that say what is being done, and a watch on a long command that never falls silent."""

from __future__ import annotations

import queue
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

SILENCE_S = 4.0


class Progress:
    """Says what is being done, each line with the seconds since the start; on stderr, beside the answer."""

    def __init__(
        self, say: Callable[[str], None] | None = None, clock: Callable[[], float] = time.monotonic
    ) -> None:
        """Start the clock; say: where a line goes; clock: seconds that only grow [s]."""
        self._say = say or _on_stderr
        self._clock = clock
        self._began = self._last = clock()

    def step(self, words: str) -> None:
        """Say at once that something new is being done."""
        self._last = self._clock()
        self._say(f"[{self._last - self._began:4.0f} s] {words}")

    def still(self, words: str) -> None:
        """Say that it is still being done, if the last line is some seconds old."""
        if self._clock() - self._last >= SILENCE_S:
            self.step(words)


def _on_stderr(line: str) -> None:
    print(line, file=sys.stderr, flush=True)


def watched(command: list[str], folder: Path, environ: dict[str, str]) -> Iterator[str | None]:
    """Run `command` and yield its lines as they come, and None whenever a second passes without one.

    Raises subprocess.CalledProcessError when it ends with anything but 0. The command is ended when the
    reader stops reading, by Ctrl-C for one.
    """
    running = subprocess.Popen(
        command, cwd=folder, env=environ, text=True, encoding="utf-8", errors="replace",
        stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
    )  # fmt: skip
    lines: queue.Queue[str | None] = queue.Queue()
    threading.Thread(target=_read, args=(running, lines), daemon=True).start()
    try:
        yield from _until_closed(lines)
        code = running.wait()
    except BaseException:
        _end(running)
        raise
    if code != 0:
        raise subprocess.CalledProcessError(code, command)


def _until_closed(lines: queue.Queue[str | None]) -> Iterator[str | None]:
    while True:
        try:
            line = lines.get(timeout=1.0)
        except queue.Empty:
            yield None
            continue
        if line is None:
            return
        yield line


def _read(running: subprocess.Popen[str], lines: queue.Queue[str | None]) -> None:
    if running.stdout is not None:
        for line in running.stdout:
            lines.put(line.rstrip())
    lines.put(None)


def _end(running: subprocess.Popen[str]) -> None:
    running.terminate()
    try:
        running.wait(timeout=5)
    except subprocess.TimeoutExpired:
        running.kill()
        running.wait()
