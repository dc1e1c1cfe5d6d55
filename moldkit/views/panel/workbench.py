"""The state behind a panel: the case, its history, its result; one change at a time, the newest wins."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable
from pathlib import Path

from moldkit.errors import InputError, MoldkitError
from moldkit.pattern.reading import Reading
from moldkit.study.case import Case
from moldkit.study.compare import Comparison, compare
from moldkit.study.job_file import JobFile, save_job
from moldkit.study.knowledge import Knowledge
from moldkit.study.patterns import ReadingKey, read_pattern, reading_key
from moldkit.views.panel.history import CaseHistory

logger = logging.getLogger(__name__)
Edit = Callable[[Case], Case]


class Workbench:
    """A case on the bench. Views hear of each change by `on_result`, of trouble by `on_problem`.

    version: grows with every case taken up; settled: the last change was final.
    """

    def __init__(self, job: JobFile, knowledge: Knowledge) -> None:
        """Take up a job; raises InputError when its case cannot be compared."""
        self.knowledge = knowledge
        self.job = job
        self.lock = threading.RLock()
        self.version = 0
        self.settled = True
        self._read: set[ReadingKey] = set()
        self._on_result: list[Callable[[bool], None]] = []
        self._on_problem: list[Callable[[str], None]] = []
        self._on_reading: list[Callable[[str], None]] = []
        self._moving = job.case
        self.history = CaseHistory(job.case)
        self.result: Comparison = self._compare(job.case)

    @property
    def case(self) -> Case:
        """The case as it stands, moves on the way included."""
        return self._moving

    @property
    def saved(self) -> bool:
        """Whether the case is as its file has it."""
        return self.case == self.job.case

    def on_result(self, callback: Callable[[bool], None]) -> None:
        """Call `callback(settled)` when there is a new result."""
        self._on_result.append(callback)

    def on_problem(self, callback: Callable[[str], None]) -> None:
        """Call `callback(sentence)` when a change cannot be taken, and with "" when all is well again."""
        self._on_problem.append(callback)

    def on_reading(self, callback: Callable[[str], None]) -> None:
        """Call `callback(sentence)` before a mesh is measured, and with "" after."""
        self._on_reading.append(callback)

    def change(self, edit: Edit, settled: bool = True) -> None:
        """Take up an edited case. While something is dragged `settled` is False; the history keeps settled cases.

        Trouble leaves the last good case and result in place and is told to those who listen.
        """

        def taken() -> None:
            case = edit(self._moving)
            if case != self._moving or (settled and not self.settled):
                self._take(case, settled)

        self._tried(taken)

    def again(self) -> None:
        """Compare the case as it stands anew: a file that it is taken from says something else now."""
        self._tried(lambda: self._show(self._moving, self._compare(self._moving), settled=True))

    def _tried(self, action: Callable[[], None]) -> None:
        with self.lock:
            try:
                action()
            except MoldkitError as fault:
                self._tell(self._on_problem, str(fault))
            except Exception as fault:
                # a callback's exception would otherwise vanish into a log that nobody reads
                logger.exception("a change could not be taken")
                self._tell(self._on_problem, f"This change could not be computed ({type(fault).__name__}: {fault}).")

    def _take(self, case: Case, settled: bool) -> None:
        result = self._compare(case)
        if settled:
            self.history.push(case)
        self._show(case, result, settled)

    def _show(self, case: Case, result: Comparison, settled: bool) -> None:
        """Make a case and its result the present ones and tell those who listen."""
        self._moving, self.result, self.settled = case, result, settled
        self.version += 1
        self._tell(self._on_problem, "")
        for heard in self._on_result:
            heard(settled)

    def _compare(self, case: Case) -> Comparison:
        return compare(case, self.knowledge, self._reading(case))

    def _reading(self, case: Case) -> Reading:
        """Return the reading of the case's pattern; where it has yet to be measured, say so before and after."""
        key = reading_key(case, self.knowledge.folder)
        if key in self._read:
            return read_pattern(case, self.knowledge)
        self._tell(self._on_reading, f"Measuring {Path(case.mesh).name if case.mesh else case.form} …")
        try:
            reading = read_pattern(case, self.knowledge)
        finally:
            self._tell(self._on_reading, "")
        self._read.add(key)
        return reading

    @staticmethod
    def _tell(listeners: list[Callable[[str], None]], words: str) -> None:
        for heard in listeners:
            heard(words)

    def undo(self) -> None:
        """Go back to the case before."""
        with self.lock:
            case = self.history.undo()
            self.change(lambda _: case)

    def redo(self) -> None:
        """Go forward to the case that was undone."""
        with self.lock:
            case = self.history.redo()
            self.change(lambda _: case)

    def reset(self) -> None:
        """Go back to the case as its file has it."""
        self.change(lambda _: self.job.case)

    def save(self, path: Path | None = None) -> str:
        """Save the case to its file, or under another name, and return what to say about it.

        Raises InputError when the file changed on disk, the name is taken, or the place is not for writing.
        """
        with self.lock:
            target = path or self.job.path
            if "site-packages" in target.resolve().parts:
                raise InputError(f"{target.name}: lies inside the installed package; save under another name.")
            self.job = save_job(self.case, target, self.job)
            # the folder is the file's own: a job saved elsewhere still finds its mesh in the data folder
            self.history.push(self.job.case)
            self._moving = self.job.case
            return f"Saved {target.name}."

    def load(self, job: JobFile) -> None:
        """Take up another job; the history begins anew. Raises InputError and keeps the present one on trouble."""
        with self.lock:
            result = self._compare(job.case)
            self.job, self.history = job, CaseHistory(job.case)
            self._show(job.case, result, settled=True)
