"""What is asked for when sheets are printed: technique, units, paper, day, start of work."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from pathlib import Path

from moldkit.study.compare import Comparison
from moldkit.units import System
from moldkit.views.paper.document import Paper
from moldkit.views.sheets.bench import bench_for
from moldkit.views.sheets.whole_set import FOLDER, set_files, whole_set, write_files

NOTHING = "no bench sheets: nothing works as asked; name a technique to print its sheets all the same."


@dataclass(frozen=True)
class Printing:
    """How the sheets are printed.

    technique: by name, None for the cheapest feasible one; system: units; paper: None for what goes with the units;
    date: the day on the sheets, None for today; start: time of day at which work begins, None to fill times in.
    """

    technique: str | None = None
    system: System = "metric"
    paper: Paper | None = None
    date: datetime.date | None = None
    start: datetime.time | None = None

    @property
    def sheet(self) -> Paper:
        """The paper: the one asked for, else Letter with US units and A4 with metric ones."""
        return self.paper or ("Letter" if self.system == "us" else "A4")


@dataclass(frozen=True)
class Printed:
    """Sheets as files by name, ready to be written; empty where there is nothing to print, and why."""

    files: dict[str, bytes]
    why_none: str = ""

    def write(self, folder: Path) -> list[str]:
        """Write the set into its own folder within `folder`, whole or not at all; return what to say of it."""
        if not self.files:
            return [self.why_none]
        return [f"written: {path}" for path in write_files(self.files, folder / FOLDER)]


def printed(result: Comparison, printing: Printing) -> Printed:
    """Return the set of sheets for a comparison; raises InputError for an unknown technique or a fault in a table."""
    if printing.technique is None and result.cheapest is None:
        return Printed({}, NOTHING)
    bench = bench_for(result, printing.technique, system=printing.system, date=printing.date, start=printing.start)
    return Printed(set_files(whole_set(bench), printing.sheet))
