"""Master castings where the pattern is lost with the first mold: how many are wanted, at hand and waited for."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field


@dataclass(slots=True)
class Masters:
    """The masters of a run: ready on the shelf, in work, how many were begun, and the places that wait to be remade."""

    shelf: int = 0
    in_work: int = 0
    begun: int = 0
    waiting: deque[int] = field(default_factory=deque)

    def begin(self) -> int:
        """Begin a master and return its number: -1, -2 ..., so that it is taken for none of the run's pours."""
        self.begun += 1
        self.in_work += 1
        return -self.begun

    def finished(self) -> None:
        """Put a master that was in work on the shelf."""
        self.in_work -= 1
        self.shelf += 1

    def taken(self) -> bool:
        """Take a master off the shelf, if there is one."""
        if not self.shelf:
            return False
        self.shelf -= 1
        return True

    def next_pour_is_one(self, *, left: int, places_left: int, in_use: int, expected: int, life: int) -> bool:
        """Return whether the next pour of a mold should be a master.

        left: pours of the run still to begin; places_left: at the bench without a mold; in_use: molds in use or in the
        making; expected: pours that they and the molds still to be begun should give; life: of a mold [pours]. There
        should be a master for each place that has no mold, and for each mold that will have to be remade one that is
        cast while it lasts: no life is known beforehand, so masters come first (common practice, no source).
        """
        remakes = -(-max(0, left - expected) // life)
        wanted = places_left + len(self.waiting) + min(in_use, remakes)
        return self.shelf + self.in_work < wanted
