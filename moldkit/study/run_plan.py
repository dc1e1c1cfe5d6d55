"""The run planned by one technique: who does what when, first casting, finish, cost, and what holds it up."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from moldkit.economics.schedule.done import Done
from moldkit.economics.schedule.work import CHAMBER, POT, PRINTER
from moldkit.quantity import Quantity
from moldkit.study.compare import Comparison
from moldkit.study.holdups import Extra, bottleneck_words, extras
from moldkit.study.plan_cost import plan_cost
from moldkit.study.plan_notes import plan_notes
from moldkit.study.planned_work import checked_molds, drawn_lives, life_of, outcome_named, work_of
from moldkit.study.run_bars import Bar, bars_of
from moldkit.study.run_work import RunWork, start_of


@dataclass(frozen=True)
class RunPlan:
    """A run as planned: bars, dates, hours, cost.

    molds: asked for side by side; in_use: those of them that are made and poured in; molds_made: with remakes;
    castings: delivered; out: (when, castings out by then);
    hours: attended time by person [s]; utilisation: share of the working time (machines: of all time) from start to
    finish that each person or kind of machine is taken; expected_molds: what the cost is charged with; notes: what the
    plan had to do that a shop should know.
    """

    technique: str
    molds: int
    start: datetime.date
    bars: tuple[Bar, ...]
    first_mold: datetime.datetime
    first_casting: datetime.datetime
    finish: datetime.datetime
    castings: int
    pours: int
    in_use: int
    molds_made: int
    out: tuple[tuple[datetime.datetime, int], ...]
    hours: Mapping[str, Quantity]
    utilisation: Mapping[str, float]
    cost: Quantity
    expected_molds: Quantity
    notes: tuple[str, ...]
    masters: int
    seed: int | None
    _run: RunWork = field(repr=False)
    _lives: tuple[int, ...] | None = field(repr=False)
    _finish: float = field(repr=False)

    @cached_property
    def extras(self) -> tuple[Extra, ...]:
        """What one more of each would save: hands of each skill, a mold, each machine, a working day."""
        return extras(self._run, self.molds, self._lives, self._finish)

    @cached_property
    def bottleneck(self) -> str:
        """What holds the run up, in words, with what one more of it saves."""
        return bottleneck_words(self.extras)


def plan_run(
    result: Comparison,
    technique: str,
    *,
    molds: int,
    start: datetime.date | None = None,
    people: int | None = None,
    pots: int | None = None,
    chambers: int | None = None,
    seed: int | None = None,
) -> RunPlan:
    """Return the run of a comparison planned by one technique, feasible or not.

    molds: side by side; start: first day, else the job's, else today; people, pots, chambers: in place of the job's and
    the shop's numbers; seed: draws the life of each mold, else each lasts the mean life. Raises InputError for an
    unknown technique, one without a life, a number out of bounds, or hands and machines that are not there.
    """
    outcome = outcome_named(result, technique)
    life = life_of(outcome)
    molds = checked_molds(molds)
    run = work_of(result, outcome, start_of(result.case, start), people, pots, chambers)
    lives = None if seed is None else drawn_lives(life, run.work.pours + molds, seed)
    done = run.simulated(molds, lives, keep_tasks=True)
    alone = done if molds == 1 else run.simulated(1)
    cost, expected = plan_cost(result, outcome, run.work, done, alone, seed is not None)
    moment = run.calendar.moment
    return RunPlan(
        technique=outcome.name,
        molds=molds,
        start=run.calendar.start,
        bars=bars_of(run, done),
        first_mold=moment(done.made[0]),
        first_casting=moment(done.out[0]),
        finish=moment(done.finish),
        castings=run.work.castings,
        pours=run.work.pours,
        in_use=len(done.pours_by_place),
        molds_made=done.molds,
        out=_out(run, done),
        hours={
            person.name: Quantity("attended time", time, "s", "as scheduled")
            for person, time in zip(run.hands.people, done.worked, strict=True)
        },
        utilisation=_utilisation(run, done),
        cost=cost,
        expected_molds=expected,
        notes=plan_notes(run, done, molds),
        masters=done.masters,
        seed=seed,
        _run=run,
        _lives=None if lives is None else tuple(lives),
        _finish=done.finish,
    )


def _out(run: RunWork, done: Done) -> tuple[tuple[datetime.datetime, int], ...]:
    """Return (when, good castings to be counted on by then) at each pour's end, up to the run."""
    casting, wanted = run.work.casting, run.work.castings
    return tuple(
        (run.calendar.moment(when), min(wanted, casting.good(pours))) for pours, when in enumerate(done.out, start=1)
    )


def _utilisation(run: RunWork, done: Done) -> dict[str, float]:
    """Return the share of time taken: of people of the working time, of machines of all time, from start to finish."""
    opened, begins = 0.0, None
    for opens, closes in run.calendar.windows():
        if opens >= done.finish:
            break
        begins = opens if begins is None else begins
        opened += min(closes, done.finish) - opens
    elapsed = done.finish - (begins or 0.0)
    people = {person.name: time / opened for person, time in zip(run.hands.people, done.worked, strict=True)}
    machines = {
        name: done.held[name] / (elapsed * number)
        for name, number in run.hands.machines.items()
        if name in (POT, CHAMBER, PRINTER) and done.held.get(name)
    }
    return {**people, **machines}
