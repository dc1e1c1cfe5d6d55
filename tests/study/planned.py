"""The demo jobs planned: what the tests of the run's plan and of its finish dates share."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from moldkit.study.case import Case
from moldkit.study.compare import Comparison
from moldkit.study.job_file import load_job
from moldkit.study.knowledge import Knowledge

START = datetime.date(2026, 11, 30)
# A simple form, so that nothing waits for a mesh; long-lived molds wear out now and then.
FIGURE = Case(
    form="figure", size=(0.12, 0.10, 0.25), material="rigid urethane resin", undercut="moderate", run=100, start=START,
)  # fmt: skip
Compared = Callable[[Case], Comparison]


def figure(compared: Compared, **changes: Any) -> Comparison:
    """Return the figure's comparison, with some of the case changed."""
    return compared(replace(FIGURE, **changes))


def demo_job(name: str, knowledge: Knowledge, compared: Compared) -> Comparison:
    """Return a demo job's comparison."""
    return compared(load_job(knowledge.folder / "jobs" / f"{name}.toml").case)
