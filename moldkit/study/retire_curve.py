"""What retiring molds at each age costs a casting in the long run, beside the advice for the run at hand."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldkit.economics.age_replacement import cost_rates
from moldkit.economics.life import Life
from moldkit.economics.retirement import Retirement, when_to_retire
from moldkit.economics.wear import survivals
from moldkit.errors import InputError
from moldkit.study.assess import Outcome
from moldkit.study.compare import Comparison
from moldkit.study.learned import life_from

Floats = NDArray[np.float64]
# Ages that fewer molds than this reach are not shown.
FEW_REACH = 0.01


@dataclass(frozen=True, eq=False)
class RetireCurve:
    """Cost of remakes and failures a pour in a run without end, by the age at which molds are retired.

    ages: pours, shape (a,); costs: [money/pour], shape (a,); to_failure: where every mold is used until it fails
    [money/pour]; advice: for the run at hand; technique; planned, failed: cost of a remake made in time and of a
    failure in use [money]; run: castings asked for; median: likely median life [pours]; currency; cavities: castings
    that one pour gives; whose: whose life it is, in words.
    """

    ages: Floats
    costs: Floats
    to_failure: float
    advice: Retirement
    technique: str
    planned: float
    failed: float
    run: int
    median: float
    currency: str
    cavities: int = 1
    whose: str = ""


def retire_curve(
    result: Comparison, outcome: Outcome, life: Life | None = None, lost: float = 0.0, whose: str = ""
) -> RetireCurve:
    """Return the cost of retiring molds of a technique at each age, and when to do so in the run at hand.

    life: of a mold, by default the one that the comparison goes by; whose: whose life that is, in words; lost: what
    a failure in use costs beyond a remake and the casting spoiled with it: a missed date, an idle bench, the master
    damaged [money]. Costs as of `economics.age_replacement.cost_rates`, the last casting of a
    mold that fails spoiled.
    """
    if not 0.0 <= lost < float("inf"):
        raise InputError(f"when to retire: what a failure costs beside the mold must be 0 or more, not {lost:g}.")
    taken = outcome.life if life is None else life
    if taken is None:
        raise InputError(f"when to retire: nothing is known of how long a mold lasts as a {outcome.name}; log some.")
    planned = float(outcome.remake.at(0))
    failed = planned + float(outcome.pour.at(0)) + lost
    pours = int(result.pours(outcome).value)
    advice = when_to_retire(taken.chances, pours, planned, failed)
    shown = max(1, int(np.count_nonzero(survivals(taken.chances) >= FEW_REACH)) - 1)
    costs = cost_rates(taken.chances, planned, failed)[0][:shown]
    return RetireCurve(
        np.arange(1, costs.size + 1, dtype=np.float64),
        costs,
        advice.long_run.to_failure,
        advice,
        outcome.name,
        planned,
        failed,
        result.case.run,
        taken.median,
        result.currency,
        outcome.plan.cavities,
        whose or life_from(result.case.life),
    )
