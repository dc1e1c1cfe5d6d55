"""From a mold plan and a casting plan to the tasks that the schedule lays down."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import groupby

from moldkit.casting.plan import COMMON_STEPS, SESSION, CastingPlan
from moldkit.economics.schedule.work import CHAMBER, POT, PRINTER, Castings, Task
from moldkit.errors import InputError
from moldkit.quantity import Quantity
from moldkit.tables import Row
from moldkit.techniques.plan import Amount, MoldPlan, StepTime

SHELL_AMOUNTS = ("shell", "printer hours")
CAST_MASTERS = "cast the masters for the further cavities"


def shares_beside(plan: MoldPlan, rows: Mapping[str, Row]) -> dict[str, float]:
    """Return the share of each step that a mold used beside the first one takes.

    rows: the technique's rows of the step table. What a remake repeats; and, since a mold in use sits in its own shell,
    the steps that make a shell. One that is laid up takes all of them again: the clay blanket that it is laid up
    over was stripped for the mold before. One that is printed takes those that grow with its parting or its parts, or
    with its area and are followed by a wait: the drawing serves again, and so does a block's box. Common practice, no
    source.
    """
    if any(rows[step.name].text("wait") == "shell set" and step.remake < 1.0 for step in plan.steps):
        return {step.name: 1.0 for step in plan.steps}
    return {step.name: 1.0 if _of_shell(rows[step.name]) else step.remake for step in plan.steps}


def _of_shell(row: Row) -> bool:
    driver = row.text("driver").partition(" [")[0]
    return driver in ("parting length", "piece") or (driver == "shell area" and row.text("wait") != "none")


def another_shell(plan: MoldPlan, rows: Mapping[str, Row], labor_rate: Quantity, index: int = 0) -> Quantity:
    """Return what a mold used beside the first costs more than a remake: its own shell [money].

    rows: the technique's rows of the step table; labor_rate: [money/s]; index: which size.
    """
    amounts = [a.cost for a in plan.amounts if _again_for_a_shell(a)]
    bought = sum(a.cost.at(index) * (1.0 - a.remake) for a in plan.amounts if _again_for_a_shell(a))
    shares = shares_beside(plan, rows)
    steps = [(step, shares[step.name] - step.remake) for step in plan.steps]
    hands = sum(step.attended.at(index) * share for step, share in steps)
    times = [step.attended for step, share in steps if share]
    words = "shell material and printer hours + its steps' time x rate, as far as a remake does without them"
    value = bought + hands * labor_rate.at(index)
    return Quantity("another shell", value, "money", words, (*amounts, *times, labor_rate))


def _again_for_a_shell(amount: Amount) -> bool:
    return amount.what in SHELL_AMOUNTS and amount.remake < 1.0


def mold_tasks(
    plan: MoldPlan,
    rows: Mapping[str, Row],
    shares: str = "first",
    *,
    two_pours: bool = False,
    under_pressure: bool = False,
    masters: Task | None = None,
    index: int = 0,
) -> tuple[Task, ...]:
    """Return the tasks of one mold.

    rows: the technique's rows of the step table; shares: "first", "beside" or "again"; two_pours: the rubber is poured
    in two halves, each with its cure; under_pressure: poured rubber cures in the pressure pot; masters: a task that
    comes before the mold's own; index: which size. A step in coats is a task a coat. Rubber that is degassed holds the
    vacuum chamber while it is mixed and poured; a print holds its printer.
    """
    share_of = _shares(plan, rows, shares)
    found = [] if masters is None else [masters]
    for step in plan.steps:
        share = share_of[step.name]
        if share:
            found += _rounds(step, rows[step.name], share, plan, two_pours, under_pressure, index)
    last_print = max((n for n, task in enumerate(found) if PRINTER in task.kept), default=-1)
    return tuple(
        Task(t.words, t.attended, t.wait, t.skill, t.whole, t.machines, t.kept, n > last_print)
        for n, t in enumerate(found)
        if t.attended or t.wait
    )


def _shares(plan: MoldPlan, rows: Mapping[str, Row], shares: str) -> Mapping[str, float]:
    """Return the share of each step that a mold takes: a remake repeats a share of its time, and its whole wait."""
    if shares == "beside":
        return shares_beside(plan, rows)
    return {step.name: 1.0 if shares == "first" else step.remake for step in plan.steps}


def _rounds(
    step: StepTime, row: Row, share: float, plan: MoldPlan, two_pours: bool, under_pressure: bool, index: int
) -> list[Task]:
    """Return the tasks of one step: one, or one for each coat, or one for each of two pours."""
    kind, attended = row.text("wait"), share * step.attended.at(index)
    waits = _waits(step, kind, plan, two_pours, index)
    poured = kind == "rubber cure"
    machines = (CHAMBER,) if poured and plan.degassed else ()
    kept = (POT,) if poured and under_pressure else (PRINTER,) if kind == "printing" else ()
    whole = kind in ("rubber cure", "coat gap")
    many = len(waits)
    return [
        Task(f"{step.name}, {n} of {many}" if many > 1 else step.name, attended / many, wait, step.skill, whole,
             machines, kept)
        for n, wait in enumerate(waits, start=1)
    ]  # fmt: skip


def _waits(step: StepTime, kind: str, plan: MoldPlan, two_pours: bool, index: int) -> list[float]:
    """Return the wait after each round of a step [s]: they add up to the step's own."""
    wait = step.wait.at(index)
    if kind == "rubber cure" and two_pours:
        return [wait / 2, wait / 2]
    if kind == "coat gap" and "coats" in plan.quantities and len(step.wait.inputs) == 3:
        _, gap, cure = step.wait.inputs
        return [gap.at(index)] * (round(plan["coats"].at(index)) - 1) + [cure.at(index)]
    return [wait]


def masters_task(casting: CastingPlan, cavities: int, skill: str) -> Task:
    """Return the task to cast the masters of the further cavities, one after another: their time, then their cures."""
    number = cavities - 1
    attended = number * casting["attended"].at(0) / cavities
    return Task(CAST_MASTERS, attended, number * casting["cure"].at(0), skill)


def casting_tasks(
    casting: CastingPlan, rows: Mapping[str, Row], method: Row, *, index: int = 0
) -> tuple[Task, Task, tuple[Task, ...]]:
    """Return (the pour with its cure, taking the casting out, what follows off the mold).

    rows: the step table's rows for castings; method: the casting method's row. A pour under pressure keeps the pot
    from its begin to the end of the cure, one mold a pot; one under vacuum holds the chamber while it is attended. The
    time to set up a session isn't among them. Raises InputError when no casting step has the casting's cure for its
    wait, or none follows it.
    """
    named = [(step.name.removeprefix("time to "), step.at(index)) for step in casting.steps[:-1]]
    common = {name for name, _, _ in COMMON_STEPS}
    pour_place = next((n for n, (name, _) in enumerate(named) if rows[name].text("wait") == "casting cure"), None)
    if pour_place is None:
        raise InputError("steps.csv: no casting step has the wait 'casting cure'; set it for the pour.")
    before = named[: pour_place + 1] + [step for step in named if step[0] not in common]
    after = [step for step in named[pour_place + 1 :] if step[0] in common]
    if not after:
        raise InputError("steps.csv: no casting step follows the cure; a casting must be taken out of its mold.")
    pressure = method.quantity("pressure").value
    pour = Task(
        "; ".join(name for name, _ in before),
        sum(attended for _, attended in before),
        casting["cure"].at(index),
        rows[named[pour_place][0]].text("skill"),
        True,
        (CHAMBER,) if pressure < 0 else (),
        (POT,) if pressure > 0 else (),
    )
    demold = Task(after[0][0], after[0][1], 0.0, rows[after[0][0]].text("skill"))
    return pour, demold, _by_skill(after[1:], rows)


def _by_skill(steps: Sequence[tuple[str, float]], rows: Mapping[str, Row]) -> tuple[Task, ...]:
    """Return one task for each row of steps that the same skill does."""
    grouped = ((skill, list(own)) for skill, own in groupby(steps, key=lambda step: rows[step[0]].text("skill")))
    return tuple(
        Task("; ".join(name for name, _ in own), sum(attended for _, attended in own), 0.0, skill)
        for skill, own in grouped
    )


def castings(
    casting: CastingPlan,
    rows: Mapping[str, Row],
    method: Row,
    shop: Row,
    *,
    good_share: float,
    cavities: int,
    rest_days: int,
    learning: float,
) -> Castings:
    """Return the castings' tasks with the shop's habits: set-up of a session, rest of a mold, rest days, learning.

    good_share: share of castings that are good; rest_days: whole days; learning: [share].
    """
    pour, demold, after = casting_tasks(casting, rows, method)
    setup = rows[SESSION].quantity("fixed").at(0)
    rest = shop.quantity("rest_between_pours").at(0)
    return Castings(pour, demold, after, setup, rest, rest_days, good_share, cavities, learning)
