"""What runs of every length cost the shop, the cheapest way: cost, first mold, hands' time."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from moldkit.economics.renewal import expected_molds
from moldkit.economics.run_cost import lowest, total_cost
from moldkit.economics.schedule.tasks import another_shell, shares_beside
from moldkit.study.assess import Outcome, pours_for
from moldkit.study.case import MOST_RUN
from moldkit.study.compare import Comparison, run_costs
from moldkit.study.quote_keys import figure_of, quote_values
from moldkit.study.whole_kits import more_in_kits
from moldkit.tables import Row

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]


@dataclass(frozen=True)
class Finish:
    """What is done to each casting after the kit's own steps: words, hands' time [s], what else it costs [money]."""

    words: str = ""
    attended: float = 0.0
    cost: float = 0.0

    def at(self, scale: float) -> Finish:
        """Return the finish of a piece so many times as large: both grow with its surface."""
        return Finish(self.words, self.attended * scale**2, self.cost * scale**2)


def finish_of(shop: Row, given: Mapping[str, Any]) -> Finish:
    """Return what is done to each casting; `shop` and `given` as for `quote_values`."""
    values = quote_values(shop, given)
    return Finish(str(values.get("finish", "")), figure_of(values, "finish_time"), figure_of(values, "finish_cost"))


@dataclass(frozen=True)
class RunFigures:
    """What runs of 1, 2, ... castings cost, shape (r,).

    technique: index of the cheapest one, -1 where nothing is feasible; cost [money], not a number there; first: cost of
    the first mold, in it [money]; attended, first_attended: hands' time of both [s].
    """

    technique: Whole
    cost: Floats
    first: Floats
    attended: Floats
    first_attended: Floats


def run_figures(result: Comparison, finish: Finish, most: int = MOST_RUN) -> RunFigures:
    """Return what runs of 1 to `most` castings cost with the job's molds side by side.

    At one mold it is the comparison's own cost. Side by side each place at the bench has its share of the pours and may
    be left with a mold that is not worn out, and each further place takes a shell of its own. The technique is the
    cheapest at one mold, as everywhere else. finish: of each casting, at the job's size.
    """
    runs = np.arange(1, most + 1, dtype=np.int64)
    technique = lowest(run_costs(result.outcomes, result.case, runs))
    found = RunFigures(technique, np.full(most, np.nan), *(np.zeros(most) for _ in range(3)))
    for place in np.unique(technique[technique >= 0]):
        here = technique == place
        for all_runs, own in zip(
            (found.cost, found.first, found.attended, found.first_attended),
            figures_by(result, result.outcomes[place], finish, runs[here]),
            strict=True,
        ):
            all_runs[here] = own
    return found


def figures_by(result: Comparison, outcome: Outcome, finish: Finish, runs: Whole) -> tuple[Any, Any, Any, Any]:
    """Return what runs take by one technique: cost, of it the first mold [money], hands' time, of it that mold's [s].

    finish: of each casting, at the job's size; runs: shape (r,).
    """
    assert outcome.life is not None, "a technique without a life is never the cheapest"
    pours = pours_for(result.case, outcome.plan.cavities, runs)
    places = np.minimum(result.case.molds, pours)
    each, more = np.divmod(pours, places)
    molds = more * expected_molds(outcome.life, each + 1) + (places - more) * expected_molds(outcome.life, each)
    shell, shell_hands = _shell(result, outcome) if result.case.molds > 1 else (0.0, 0.0)
    rate, pour_time = result.shop.quantity("labor_rate").at(0), outcome.casting["attended"].at(0)
    # The time of master castings for further cavities stands in the first mold's cost alone.
    first_time = outcome.attended_first.at(0) + (1.0 - 1.0 / outcome.plan.cavities) * pour_time
    cost = total_cost(outcome.first.at(0), outcome.remake.at(0), outcome.pour.at(0), molds, pours)
    time = total_cost(first_time, outcome.attended_remake.at(0), pour_time, molds, pours)
    if result.case.whole_kits:
        cost = cost + more_in_kits(outcome, molds, pours)
    cost = cost + (places - 1) * shell + runs * (finish.cost + finish.attended * rate)
    time = time + (places - 1) * shell_hands + runs * finish.attended
    return cost, outcome.first.at(0), time, first_time


def _shell(result: Comparison, outcome: Outcome) -> tuple[float, float]:
    """Return what a mold beside the first takes more than a remake, its own shell: cost [money], hands' time [s]."""
    rows, rate = outcome.technique.steps.rows, result.shop.quantity("labor_rate")
    beside = shares_beside(outcome.plan, rows)
    hands = sum(step.attended.at(0) * (beside[step.name] - step.remake) for step in outcome.plan.steps)
    return another_shell(outcome.plan, rows, rate).at(0), hands
