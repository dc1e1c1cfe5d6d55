"""What retiring molds at each age costs a casting in the long run, beside the advice for the run at hand."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldkit.economics.life import Life
from moldkit.economics.retirement import Retirement, when_to_retire
from moldkit.economics.wear import survivals
from moldkit.errors import InputError
from moldkit.study.assess import Outcome
from moldkit.study.compare import Comparison

Floats = NDArray[np.float64]
# Ages that fewer molds than this reach are not shown.
FEW_REACH = 0.01


@dataclass(frozen=True, eq=False)
class RetireCurve:
    """Cost of remakes and failures a pour in a run without end, by the age at which molds are retired.

    ages: pours, shape (a,); costs: [money/pour], shape (a,); to_failure: where every mold is used until it fails
    [money/pour]; advice: for the run at hand; technique; planned, failed: cost of a remake made in time and of a
    failure in use [money]; run: castings asked for; median: likely median life [pours]; currency.
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


def retire_curve(result: Comparison, outcome: Outcome, life: Life, lost: float = 0.0) -> RetireCurve:
    """Return the cost of retiring molds of a technique at each age, and when to do so in the run at hand.

    life: of a mold; lost: what a failure in use costs beyond a remake and the casting spoiled with it: a missed date,
    an idle bench, the master damaged [money]. Costs: age replacement over whole pours, last casting spoiled:
    [planned S(T) + failed F(T)] / sum of S(k) for 1 <= k <= T, as in `economics.age_replacement`.
    """
    if not 0.0 <= lost < float("inf"):
        raise InputError(f"when to retire: what a failure costs beside the mold must be 0 or more, not {lost:g}.")
    planned = float(outcome.remake.at(0))
    failed = planned + float(outcome.pour.at(0)) + lost
    pours = int(result.pours(outcome).value)
    advice = when_to_retire(life.chances, pours, planned, failed)
    outlast = survivals(life.chances)
    ages = np.arange(1, max(2, int(np.count_nonzero(outlast >= FEW_REACH))), dtype=np.float64)
    reach = outlast[1 : ages.size + 1]
    costs = (planned * reach + failed * (1.0 - reach)) / np.cumsum(reach)
    return RetireCurve(
        ages,
        costs,
        advice.long_run.to_failure,
        advice,
        outcome.name,
        planned,
        failed,
        result.case.run,
        life.median,
        result.currency,
    )
