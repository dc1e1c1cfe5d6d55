"""What a run costs as it is planned: the comparison's formulas, with what side by side and learning change."""

from __future__ import annotations

import numpy as np

from moldkit.casting.plan import SESSION
from moldkit.economics.renewal import expected_molds
from moldkit.economics.run_cost import total_cost
from moldkit.economics.schedule.done import Done
from moldkit.economics.schedule.learning import total_factor
from moldkit.economics.schedule.tasks import another_shell
from moldkit.economics.schedule.work import Work
from moldkit.quantity import Quantity
from moldkit.study.assess import Outcome
from moldkit.study.compare import Comparison
from moldkit.study.whole_kits import whole_kits


def molds_of_the_plan(outcome: Outcome, done: Done, drawn: bool) -> Quantity:
    """Return the molds that a plan is charged with.

    Expected: for each place at the bench, 1 + the molds worn out there before its last pour (exact renewal over its
    pours as scheduled), so that at one mold it is the comparison's own figure, and side by side each place may be left
    with a mold that is not worn out. drawn: lives were drawn, and the molds made are counted.
    """
    if drawn or outcome.life is None:
        return Quantity("molds made", float(done.molds), "molds", "counted, with the lives drawn")
    pours = np.array([max(1, each) for each in done.pours_by_place], dtype=np.int64)
    value = float(expected_molds(outcome.life, pours).sum())
    words = "for each mold side by side: 1 + expected molds worn out before its last pour"
    return Quantity("expected molds", value, "molds", words, source="renewal equation")


def plan_cost(
    result: Comparison, outcome: Outcome, work: Work, done: Done, alone: Done, drawn: bool = False
) -> tuple[Quantity, Quantity]:
    """Return (cost of the run as planned [money], the molds it is charged with).

    First mold + (molds - 1) x remake + pours x cost of a pour, as in the comparison. On top of it a shell for each
    further mold in use; less what is saved where castings of a day share one set-up among more molds; less the hands'
    time that learning saves on castings. At one mold and without learning nothing is added or taken off. Where the
    job counts whole kits they are counted here too, but for the further shells' material.
    done: the run as simulated; alone: the same with one mold; drawn: lives were drawn.
    """
    pours, molds = result.pours(outcome), molds_of_the_plan(outcome, done, drawn)
    value = float(total_cost(outcome.first.at(0), outcome.remake.at(0), outcome.pour.at(0), molds.value, pours.value))
    changes = [
        _further_shells(result, outcome, done),
        _shared_setups(result, outcome, done, alone),
        _learned(result, work),
    ]
    if result.case.whole_kits:
        changes.append(whole_kits(outcome, molds, pours))
    changes = [change for change in changes if change.value]
    words = "first mold + (molds - 1) x remake + pours x cost of a pour" + "".join(f" + {c.name}" for c in changes)
    inputs = (outcome.first, molds, outcome.remake, pours, outcome.pour, *changes)
    return Quantity("cost of the run", value + sum(c.value for c in changes), "money", words, inputs), molds


def _further_shells(result: Comparison, outcome: Outcome, done: Done) -> Quantity:
    rate = result.shop.quantity("labor_rate")
    shell = another_shell(outcome.plan, outcome.technique.steps.rows, rate)
    further = Quantity("molds beside the first", float(len(done.pours_by_place) - 1), "molds")
    return Quantity("further shells", further.value * shell.value, "money", "molds beside the first x another shell",
                    (further, shell))  # fmt: skip


def _shared_setups(result: Comparison, outcome: Outcome, done: Done, alone: Done) -> Quantity:
    """Return what changes in the time to set up sessions, as a cost below zero where it is saved.

    The comparison spreads a set-up over the pours that one mold gives in a day.
    """
    rate, pours = result.shop.quantity("labor_rate"), result.pours(outcome)
    share = outcome.casting.steps[-1]
    days = Quantity("pouring days", float(done.setups), "1", "as scheduled")
    one = Quantity("pouring days with one mold", float(alone.setups), "1", "as scheduled")
    value = pours.value * share.at(0) * rate.at(0) * (days.value / one.value - 1.0)
    words = f"pours x {share.name} x rate x (pouring days / pouring days with one mold - 1)"
    return Quantity(f"shared time to {SESSION}", value, "money", words, (pours, share, rate, days, one))


def _learned(result: Comparison, work: Work) -> Quantity:
    """Return what learning takes off the labor of castings, as a cost below zero."""
    casting, rate = work.casting, result.shop.quantity("labor_rate")
    hands = sum(task.attended for task in (casting.pour, casting.demold, *casting.after))
    each = Quantity("attended time of a pour without its set-up", hands, "s")
    saved = total_factor(work.pours, casting.learning) - work.pours if casting.learning < 1.0 else 0.0
    value = hands * rate.at(0) * saved
    words = "attended time x rate x (sum of pour number ^ log2(learning rate) - pours)"
    return Quantity("learning", value, "money", words, (each, rate), "unit learning curve")
