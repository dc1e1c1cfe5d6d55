"""The cases a user went through: undo, redo, back to the job."""

from __future__ import annotations

from moldkit.study.case import Case

MOST = 30


class CaseHistory:
    """Cases in the order they were made; the current one may be stepped back and forth over thirty."""

    def __init__(self, case: Case) -> None:
        """Start from the job's case."""
        self.start = case
        self._cases = [case]
        self._place = 0

    @property
    def case(self) -> Case:
        """The current case."""
        return self._cases[self._place]

    def push(self, case: Case) -> bool:
        """Make a case the current one; cases that were undone are dropped. Returns False when nothing changed."""
        if case == self.case:
            return False
        self._cases = [*self._cases[: self._place + 1], case][-MOST - 1 :]
        self._place = len(self._cases) - 1
        return True

    @property
    def can_undo(self) -> bool:
        """Whether there is a case to go back to."""
        return self._place > 0

    @property
    def can_redo(self) -> bool:
        """Whether there is an undone case to go forward to."""
        return self._place < len(self._cases) - 1

    def undo(self) -> Case:
        """Go back one case and return it; at the first it stays."""
        self._place = max(0, self._place - 1)
        return self.case

    def redo(self) -> Case:
        """Go forward one case and return it; at the last it stays."""
        self._place = min(len(self._cases) - 1, self._place + 1)
        return self.case
