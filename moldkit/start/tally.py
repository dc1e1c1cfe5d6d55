"""How far pip has come, counted from what it says and from what stands in the environment."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

PIN = re.compile(r"^([A-Za-z0-9._-]+)==([^\s;\\]+)", re.MULTILINE)


class Tally:
    """Counts the packages that pip has fetched and installed, out of those that this machine needs."""

    def __init__(self, lock: str, environment: Path, begins: Callable[[], None]) -> None:
        """Count for the text of a `lock` that is installed into `environment`.

        begins: called when everything is fetched, right before the first package is changed.
        """
        pins = PIN.findall(lock)
        self._pins = {(plain(name), version) for name, version in pins}
        self._environment = environment
        self._begins = begins
        self._fetched = 0
        self._installing = False
        self._name = ""
        self.wanted = len(pins)

    def hear(self, line: str) -> None:
        """Take in one line of pip's."""
        if line.startswith("Ignoring "):
            self.wanted -= 1
        elif line.startswith("Installing collected packages"):
            self._installing = True
            self._begins()
        seen = re.match(r"(?:Collecting|Requirement already satisfied:) ([A-Za-z0-9._-]+)", line)
        if seen:
            self._fetched += 1
            self._name = seen.group(1)

    def words(self) -> str:
        """Return how far it has come."""
        if self._installing:
            return f"installing: {min(self.installed(), self.wanted)} of {self.wanted}"
        return f"fetching: {self._fetched} of {self.wanted} {self._name}".rstrip()

    def installed(self) -> int:
        """Return how many of the lock's packages stand in the environment."""
        places = ("lib/python*/site-packages/*.dist-info", "Lib/site-packages/*.dist-info")
        found = {info.stem for place in places for info in self._environment.glob(place)}
        pairs = (name.partition("-") for name in found)
        return len({(plain(name), version) for name, _, version in pairs} & self._pins)


def plain(name: str) -> str:
    """Return a package's name in the one spelling that all others stand for."""
    return re.sub(r"[-_.]+", "-", name).lower()
