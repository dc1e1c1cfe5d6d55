"""When the rubber of the first mold is begun by the plan of the run, counted from the start that a sheet has."""

from __future__ import annotations

import datetime

from moldkit.study.bench.moments import rubber_begins
from moldkit.study.run_plan import RunPlan
from moldkit.views.sheets.bench import Bench


def begun(bench: Bench, plan: RunPlan | None) -> tuple[float, ...]:
    """Return when each coat or pour of the first mold's rubber is begun, after the sheet's start [s].

    None where there is no plan, or where no start is given and times are filled in by hand.
    """
    if plan is None or bench.start is None:
        return ()
    start = datetime.datetime.combine(bench.date, bench.start)
    return tuple((moment - start).total_seconds() for moment in rubber_begins(plan, bench.outcome))


def moment_of(bench: Bench, after: float) -> datetime.datetime:
    """Return the moment so many seconds after the sheet's start; midnight of its day where none is given."""
    start = datetime.datetime.combine(bench.date, bench.start or datetime.time())
    return start + datetime.timedelta(seconds=after)
