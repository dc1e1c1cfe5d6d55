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
CAST_MASTER = "cast a master in the place of the pattern"


def share_repeated(step: StepTime, row: Row) -> float:
    """Return the share of a step that a remake repeats: of its time; its wait is whole."""
    return step.remake


def share_beside(step: StepTime, row: Row) -> float:
    """Return the share of a step that a mold used beside the first one takes.

    What a remake repeats; and, since a mold in use sits in its own shell, the steps that make a shell: those that grow
    with its parting or its parts, or with its area and are followed by a wait (setting, printing). The box, the clay
    blanket and the drawing serve again. Common practice, no source.
    """
    driver = row.text("driver").partition(" [")[0]
    of_shell = driver in ("parting length", "piece") or (driver == "shell area" and row.text("wait") != "none")
    return 1.0 if of_shell else step.remake


def another_shell(plan: MoldPlan, rows: Mapping[str, Row], labor_rate: Quantity, index: int = 0) -> Quantity:
    """Return what a mold used beside the first costs more than a remake: its own shell [money].

    rows: the technique's rows of the step table; labor_rate: [money/s]; index: which size.
    """
    amounts = [a.cost for a in plan.amounts if _again_for_a_shell(a)]
    bought = sum(a.cost.at(index) * (1.0 - a.remake) for a in plan.amounts if _again_for_a_shell(a))
    steps = [(step, share_beside(step, rows[step.name]) - step.remake) for step in plan.steps]
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
    master: Task | None = None,
    index: int = 0,
) -> tuple[Task, ...]:
    """Return the tasks of one mold.

    rows: the technique's rows of the step table; shares: "first", "beside" or "again"; two_pours: the rubber is poured
    in two halves, each with its cure; under_pressure: poured rubber cures in the pressure pot; master: a task that
    comes before the mold's own; index: which size. A step in coats is a task a coat. Rubber that is degassed holds the
    vacuum chamber while it is mixed and poured; a print holds its printer.
    """
    share_of = {"first": lambda step, row: 1.0, "beside": share_beside, "again": share_repeated}[shares]
    found = [] if master is None else [master]
    for step in plan.steps:
        row = rows[step.name]
        share = share_of(step, row)
        if share:
            found += _rounds(step, row, share, plan, two_pours, under_pressure, index)
    last_print = max((n for n, task in enumerate(found) if PRINTER in task.kept), default=-1)
    return tuple(
        Task(t.words, t.attended, t.wait, t.skill, t.whole, t.machines, t.kept, t is not master and n > last_print)
        for n, t in enumerate(found)
        if t.attended or t.wait
    )


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


def master_task(words: str, casting: CastingPlan, number: int, cavities: int, skill: str, on_pattern: bool) -> Task:
    """Return the task to cast so many masters one after another: their attended time, then their cures."""
    attended = number * casting["attended"].at(0) / cavities
    return Task(words, attended, number * casting["cure"].at(0), skill, on_pattern=on_pattern)


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
