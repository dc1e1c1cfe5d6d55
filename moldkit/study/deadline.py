"""A job's date beside the plan of its run: is it met with the molds planned, and if not, with how many."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from functools import lru_cache

from moldkit.casting.plan import CastingPlan
from moldkit.economics.life import Life
from moldkit.errors import InputError
from moldkit.findings.plan import Deadline
from moldkit.study.case import Case
from moldkit.study.run_work import RunWork, run_work, start_of
from moldkit.tables import Row
from moldkit.techniques.plan import MoldPlan

MOST_SIDE_BY_SIDE = 20


def deadline_of(
    case: Case,
    shop: Row,
    plan: MoldPlan,
    casting: CastingPlan,
    life: Life,
    *,
    steps: Mapping[str, Row],
    casting_steps: Mapping[str, Row],
    method: Row,
    pours: int,
    survives: bool,
) -> Deadline | None:
    """Return a job's date beside the plan of its run with the molds that the job plans; None without a date.

    shop: as it is for the case; steps, casting_steps: rows of the step table by step; method: the casting method's row;
    pours: how many the run takes; survives: the pattern is still there for a further mold.
    """
    if case.due is None:
        return None
    start, molds, due = start_of(case), case.molds, case.due
    try:
        run = run_work(
            case, shop, plan, casting, life, steps=steps, casting_steps=casting_steps, method=method, pours=pours,
            survives=survives, start=start,
        )  # fmt: skip
        finish = run.calendar.moment(run.simulated(molds).finish).date()
    except InputError as fault:
        return Deadline(due, start, molds, None, str(fault), lambda: (molds, due))

    @lru_cache(maxsize=1)
    def with_more() -> tuple[int, datetime.date]:
        return _with_more(run, due, molds, finish)

    return Deadline(due, start, molds, finish, "", with_more)


def _with_more(run: RunWork, due: datetime.date, molds: int, finish: datetime.date) -> tuple[int, datetime.date]:
    """Return (molds, finish) of the fewest molds that are in time, else of the soonest finish there is."""
    soonest = (finish, molds)
    for more in range(molds + 1, MOST_SIDE_BY_SIDE + 1):
        done = run.simulated(more)
        if len(done.pours_by_place) < more:
            break
        soonest = min(soonest, (run.calendar.moment(done.finish).date(), more))
        if soonest[0] <= due:
            break
    return soonest[1], soonest[0]
