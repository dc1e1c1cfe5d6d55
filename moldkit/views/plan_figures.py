"""The charts of a plan made from a comparison and its plan, with what they say as titles."""

from __future__ import annotations

import datetime

from moldkit.study.compare import Comparison
from moldkit.study.finish_dates import TradeOff
from moldkit.study.run_plan import RunPlan
from moldkit.views.charts import Figure
from moldkit.views.finish_chart import finish_chart
from moldkit.views.plan_words import again_word, finish_title, plan_title
from moldkit.views.run_chart import run_chart
from moldkit.views.run_lanes import lanes_by_hand, lanes_by_mold
from moldkit.views.shift_scale import shifts_of

# A date asked for that lies this much farther off than the run takes is not drawn: the run would be a sliver.
FAR = 1.6


def gantt(
    result: Comparison,
    plan: RunPlan,
    bottleneck: str = "",
    due: datetime.date | None = None,
    *,
    by_mold: bool = False,
    height: int | None = None,
    big: bool = False,
) -> Figure:
    """Return a plan as a Gantt chart; bottleneck: what holds it up, for the title, left out while it is unknown."""
    ends = plan.finish
    if due is not None and (due - plan.start) < FAR * (plan.finish.date() - plan.start):
        ends = max(ends, datetime.datetime.combine(due, datetime.time.max))
    return run_chart(
        lanes_by_mold(plan) if by_mold else lanes_by_hand(plan),
        shifts_of(result, plan.start, ends),
        title=plan_title(plan, bottleneck),
        first_casting=plan.first_casting,
        finish=plan.finish,
        due=due,
        by_mold=by_mold,
        again=again_word(result, plan.technique),
        height=height,
        big=big,
    )


def cost_by_date(
    result: Comparison, trade: TradeOff, plan: RunPlan | None = None, *, height: int = 460, big: bool = False
) -> Figure:
    """Return cost against finish date, the case's own date drawn, a plan's way ringed."""
    due, currency = result.case.due, result.currency
    return finish_chart(
        trade,
        [outcome.name for outcome in result.outcomes],
        title=finish_title(trade, due, currency),
        run=result.case.run,
        currency=currency,
        due=due,
        chosen=None if plan is None else (plan.technique, plan.molds),
        height=height,
        big=big,
    )
