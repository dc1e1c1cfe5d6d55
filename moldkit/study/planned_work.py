"""A comparison's technique by name, its life, and the work of its run."""

from __future__ import annotations

import datetime
from dataclasses import replace

import numpy as np

from moldkit.economics.life import Life
from moldkit.economics.schedule.work import Task
from moldkit.errors import InputError, unknown
from moldkit.study.assess import Outcome, setting_of
from moldkit.study.case import MOST_MOLDS
from moldkit.study.compare import Comparison
from moldkit.study.quote_costs import Finish
from moldkit.study.run_work import RunWork, planned_life, run_work

# What is done to each casting as its client has it finished.
FINISHING = "finish the casting for the client"


def outcome_named(result: Comparison, technique: str) -> Outcome:
    """Return a technique's outcome by its name or key; raises InputError for an unknown one."""
    for outcome in result.outcomes:
        if technique in (outcome.name, outcome.technique.key):
            return outcome
    raise unknown("technique", technique, [outcome.name for outcome in result.outcomes], "plan")


def life_of(outcome: Outcome) -> Life:
    """Return the life of a technique's molds; raises InputError where nothing is known of it."""
    if outcome.life is None:
        raise InputError(
            f"plan: nothing is known of the life of a {outcome.name} here; give [mold] life in the job, in pours."
        )
    return outcome.life


def why_not_planned(result: Comparison, outcome: Outcome) -> str:
    """Return why a run by a technique is not planned among the others; "" where it is."""
    if outcome.stop_at():
        return outcome.ruled_out_by() or "ruled out"
    if outcome.life is None:
        return "no life data"
    if not result.pattern.survives and planned_life(outcome.life) < 2 and result.pours(outcome).value > 1:
        return "the pattern is lost, and a mold of one pour gives no master"
    return ""


def checked_molds(molds: int) -> int:
    """Return a number of molds side by side; raises InputError when it is out of bounds."""
    if isinstance(molds, bool) or molds != int(molds) or not 1 <= molds <= MOST_MOLDS:
        raise InputError(f"[plan] molds: {molds!r}; give a whole number of molds side by side, 1 to {MOST_MOLDS}.")
    return int(molds)


def work_of(
    result: Comparison,
    outcome: Outcome,
    start: datetime.date,
    people: int | None = None,
    pots: int | None = None,
    chambers: int | None = None,
) -> RunWork:
    """Return the work of one technique's run; raises as `plan_run` does."""
    knowledge = result.knowledge
    return run_work(
        result.case,
        result.shop,
        outcome.plan,
        outcome.casting,
        life_of(outcome),
        steps=outcome.technique.steps.rows,
        casting_steps=knowledge.casting_steps,
        method=setting_of(result.case, knowledge).method,
        pours=int(result.pours(outcome).value),
        survives=result.pattern.survives,
        start=start,
        people=people,
        pots=pots,
        chambers=chambers,
    )


def with_finish(run: RunWork, finish: Finish) -> RunWork:
    """Return the work of a run of which every good casting has a finish, by the hands that work on it last."""
    if not finish.attended:
        return run
    casting = run.work.casting
    attended = finish.attended * casting.cavities * casting.good_share
    last = casting.after[-1] if casting.after else casting.demold
    task = Task(FINISHING, attended, 0.0, last.skill, on_pattern=False)
    return replace(run, work=replace(run.work, casting=replace(casting, finish=task)))


def drawn_lives(life: Life, molds: int, seed: int) -> list[int]:
    """Return lives drawn for so many molds [pours]; the same seed gives the same lives."""
    shares = np.random.default_rng(seed).random(molds)
    worn = np.cumsum(life.chances)
    return [int(each) for each in np.minimum(np.searchsorted(worn, shares, side="right"), life.chances.size - 1)]
