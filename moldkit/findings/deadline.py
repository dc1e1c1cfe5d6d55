"""The rule of the date: is the run out by the day on which it is wanted."""

from __future__ import annotations

from moldkit.findings.plan import Deadline, Raised, Say, Situation, level_of
from moldkit.tables import Row


def late_for_the_date(s: Situation, row: Row) -> Raised | None:
    """The run, planned on the shop's calendar, must be out by the day on which it is wanted."""
    date = s.deadline
    if date is None or (date.finish is not None and date.finish <= date.due):
        return None

    def words(say: Say) -> str:
        return f"the date of {date.due} cannot be checked: {date.fault}" if date.finish is None else _late(date)

    return Raised(level_of(row), words)


def _late(date: Deadline) -> str:
    assert date.finish is not None, "only a planned run is late"
    days = (date.finish - date.due).days
    late = f"begun on {date.start} with {_molds(date.molds)}, the last casting is out on {date.finish}, "
    late += f"{days} {'day' if days == 1 else 'days'} after {date.due}"
    molds, finish = date.with_more()
    if finish <= date.due:
        return f"{late}; {_molds(molds)} side by side would be in time, on {finish}."
    if molds > date.molds:
        return f"{late}; no number of molds side by side is in time, the soonest is {finish} with {molds}."
    return f"{late}; more molds side by side would not be sooner."


def _molds(number: int) -> str:
    return f"{number} mold" if number == 1 else f"{number} molds"
