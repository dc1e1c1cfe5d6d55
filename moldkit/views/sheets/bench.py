"""What every sheet starts from: a comparison, the technique chosen, the units, the day and the start of work."""

from __future__ import annotations

import datetime
import math
import re
from dataclasses import dataclass, replace

from moldkit.errors import InputError, unknown
from moldkit.shop import near_day
from moldkit.study.assess import Outcome
from moldkit.study.compare import Comparison
from moldkit.units import System, number_text, show
from moldkit.views.paper.document import Check, CheckList, Document, Page
from moldkit.views.verdict import spoken

DO_NOT = "Do not make it as it stands: change the job, or take another technique."
_CLOCK = re.compile(r"([01]?\d|2[0-3]):([0-5]\d)")
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


@dataclass(frozen=True)
class Bench:
    """A technique chosen for a job; start: the time of day at which work begins, None to fill the times in by hand."""

    result: Comparison
    outcome: Outcome
    system: System
    date: datetime.date
    start: datetime.time | None = None

    def document(self, title: str, *pages: Page) -> Document:
        """Return pages as a document of this job; each begins with what rules the technique out, if anything does."""
        told = tuple(replace(page, blocks=(*self.ruled_out, *page.blocks)) for page in pages)
        return Document(title, self.result.shop.text("name"), self.result.case.name, self.date, told)

    @property
    def ruled_out(self) -> tuple[CheckList, ...]:
        """What rules the technique out, as a check list; none where nothing does."""
        if not self.outcome.stop_at():
            return ()
        found = self.outcome.findings(system=self.system, currency=self.result.currency)
        stops = [sentence(finding.words) for finding in found if finding.level == "stop"]
        words = " ".join(stops) or sentence(self.outcome.ruled_out_by())
        return (CheckList("", (Check("stop", f"{sentence(self.made_as).rstrip('.')} is ruled out", words, DO_NOT),)),)

    def say(self, value: float, unit: str) -> str:
        """Return an SI figure in words, within a sentence."""
        return show(value, unit, self.system, self.result.currency)

    def clock(self, after: float, *, latest: bool = False) -> str | None:
        """Return the time of day so many seconds after the start, with the day where it is a later one.

        latest: it is the end of a time that must not be overrun, so that seconds are dropped and never rounded up.
        """
        if self.start is None:
            return None
        minutes = math.floor(after / 60 + 1e-6) if latest else round(after / 60)
        at = datetime.datetime.combine(self.date, self.start) + datetime.timedelta(minutes=minutes)
        days = (at.date() - self.date).days
        return f"{at:%H:%M}" if days == 0 else f"day {days + 1}, {at:%H:%M}"

    @property
    def made_as(self) -> str:
        """The technique as it stands in a title."""
        return spoken(self.outcome.name)


def bench_for(
    result: Comparison,
    technique: str | None = None,
    *,
    system: System = "metric",
    date: datetime.date | None = None,
    start: datetime.time | None = None,
) -> Bench:
    """Return what the sheets start from; technique: by name, None for the cheapest feasible one; date: None for today.

    A technique that is ruled out may be named: its sheets say so at their head. Raises InputError for an unknown
    technique, and where none is named and nothing is feasible.
    """
    day = date or datetime.date.today()
    if technique is None:
        if result.cheapest is None:
            raise InputError(
                f"{result.case.name}: nothing works as asked, so there is no mold to print sheets for; change the job, "
                "or name a technique to print its sheets all the same."
            )
        return Bench(result, result.cheapest, system, day, start)
    names = [outcome.name for outcome in result.outcomes]
    if technique not in names:
        raise unknown("technique", technique, names, "--technique")
    return Bench(result, result.outcomes[names.index(technique)], system, day, start)


def clock_time(text: str, where: str = "--start") -> datetime.time:
    """Return a time of day from text such as "09:00"; raises InputError for anything else."""
    found = _CLOCK.fullmatch(text.strip())
    if not found:
        raise InputError(f"{where}: {text!r} is not a time of day; write hours and minutes, for instance 09:00.")
    return datetime.time(int(found[1]), int(found[2]))


def day(text: str, where: str = "--date") -> datetime.date:
    """Return a day from text such as "2026-11-25"; raises InputError for anything else."""
    try:
        # Python also reads 20261125 and 2026-W48-3, which are easily mistyped into another day.
        if not _DAY.fullmatch(text.strip()):
            raise ValueError(text)
        found = datetime.date.fromisoformat(text.strip())
    except ValueError:
        raise InputError(f"{where}: {text!r} is not a day; write year-month-day, for instance 2026-11-25.") from None
    return near_day(found, where)


def findings_list(bench: Bench, title: str = "What this job demands") -> tuple[CheckList, ...]:
    """Return the findings on the technique as a check list, the gravest first; none where there are none."""
    found = bench.outcome.findings(system=bench.system, currency=bench.result.currency)
    marks = {"stop": "stop", "caution": "caution", "note": "note"}
    checks = tuple(Check(marks[f.level], "", sentence(f.words), f.remedy) for f in found)  # type: ignore[arg-type]
    return (CheckList(title, checks),) if checks else ()


def sentence(words: str) -> str:
    """Return words beginning with a capital letter and ending in a full stop."""
    text = words[:1].upper() + words[1:]
    return text if text.endswith((".", "!", "?")) else f"{text}."


def plainly(value: float, digits: int = 3) -> str:
    """Return a number in a sentence."""
    return number_text(value, digits)
