"""What a technique's run asks of the shop: its tasks, the hands and machines at work, the calendar."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, replace

from moldkit.casting.plan import CastingPlan
from moldkit.economics.life import Life
from moldkit.economics.schedule.calendar import Calendar
from moldkit.economics.schedule.done import Done
from moldkit.economics.schedule.shop_time import Hands, calendar_of, hands_of, learning_of, rest_days_of
from moldkit.economics.schedule.simulate import simulate
from moldkit.economics.schedule.tasks import castings, masters_task, mold_tasks
from moldkit.economics.schedule.work import Task, Work
from moldkit.study.case import Case
from moldkit.tables import Row
from moldkit.techniques.plan import MoldPlan


@dataclass(frozen=True)
class RunWork:
    """A run's work with the hands, machines and calendar that it is laid on."""

    work: Work
    hands: Hands
    calendar: Calendar

    def simulated(self, molds: int, lives: list[int] | None = None, keep_tasks: bool = False) -> Done:
        """Return the run as it goes with so many molds side by side; lives: of the molds, in place of the planned.

        A mold that would never be poured in isn't made: the run is planned with as many as there is work for.
        """
        while True:
            done = simulate(self.work, self.hands.crew(), self.calendar, molds, lives=lives, keep_tasks=keep_tasks)
            begun = len(done.pours_by_place)
            if begun == molds and all(done.pours_by_place):
                return done
            molds = begun if begun < molds else molds - 1


def planned_life(life: Life) -> int:
    """Return the pours of a mold that a plan counts on: a certain life, else the mean life, to the nearest whole."""
    return life.chances.size - 1 if life.certain else max(1, round(life.mean))


def start_of(case: Case, start: datetime.date | None = None) -> datetime.date:
    """Return the first day of a plan: the one asked for, else the job's, else today."""
    return start or case.start or datetime.date.today()


def run_work(
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
    start: datetime.date,
    people: int | None = None,
    pots: int | None = None,
    chambers: int | None = None,
) -> RunWork:
    """Return the work of a run by one technique.

    shop: as it is for the case; steps, casting_steps: rows of the step table by step; method: the casting method's row;
    pours: how many the run takes; survives: the pattern is still there for a further mold; start: first day; people,
    pots, chambers: in place of the job's and the shop's numbers. Raises InputError for a number out of bounds.
    """
    hands = hands_of(
        shop,
        case.people if people is None else people,
        case.pots if pots is None else pots,
        case.chambers if chambers is None else chambers,
    )
    castings_ = castings(
        casting, casting_steps, method, shop, good_share=case.good_share, cavities=plan.cavities,
        rest_days=rest_days_of(shop), learning=learning_of(shop),
    )  # fmt: skip
    work = Work(
        *_mold_chains(case, shop, plan, casting, steps, method, castings_.pour.skill),
        castings_, pours, case.run, planned_life(life), survives,
    )  # fmt: skip
    return RunWork(work, hands, calendar_of(shop, start))


def _mold_chains(
    case: Case,
    shop: Row,
    plan: MoldPlan,
    casting: CastingPlan,
    steps: Mapping[str, Row],
    method: Row,
    caster: str,
) -> tuple[tuple[Task, ...], tuple[Task, ...], tuple[Task, ...]]:
    """Return the tasks of the first mold, of a further one used beside it, and of a remake."""
    two = case.pours == "two" and plan.shell is None
    pressed = bool(method.quantity("pressure").value > 0 and shop.quantity("rubber_cure_pressure").value > 0)

    def chain(shares: str, masters: Task | None = None) -> tuple[Task, ...]:
        return mold_tasks(plan, steps, shares, two_pours=two, under_pressure=pressed, masters=masters)

    masters = masters_task(casting, plan.cavities, caster) if plan.cavities > 1 else None
    first = chain("first", masters)
    if masters is not None:
        first = (replace(first[0], on_pattern=True), *first[1:])
    return first, chain("beside"), chain("again")
