"""When the rubber of the first mold goes on, coat by coat or pour by pour, as the plan of the run has it."""

from __future__ import annotations

import datetime

from moldkit.study.assess import Outcome
from moldkit.study.run_plan import RunPlan

# What the step table calls the wait after the step by which the rubber goes on, coat by coat or poured.
RUBBER_ON = ("coat gap", "rubber cure")


def rubber_begins(plan: RunPlan, outcome: Outcome) -> tuple[datetime.datetime, ...]:
    """Return when each coat, or each pour of rubber, of the first mold is begun in a plan, in their order."""
    rows = outcome.technique.steps.rows
    steps = {step.name for step in outcome.plan.steps if rows[step.name].text("wait") in RUBBER_ON}
    found: dict[str, datetime.datetime] = {}
    for bar in plan.bars:
        # "each coat, 2 of 10" is a round of the step "each coat"; what runs on over a night is begun once.
        step, _, round_ = bar.step.rpartition(", ")
        named = bar.step in steps or (step in steps and " of " in round_)
        if bar.mold == 1 and not bar.pour and bar.attended and named:
            found.setdefault(bar.step, bar.start)
    return tuple(found.values())
