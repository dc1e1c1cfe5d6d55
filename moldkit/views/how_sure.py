"""A verdict with its firmness: the spread over plausible shops, what the doubt hangs on, what would turn the choice."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from moldkit.study.compare import FARTHEST, Comparison
from moldkit.study.curves import drawn_runs
from moldkit.study.uncertainty.sampling import DRAWS, SEED
from moldkit.study.uncertainty.sensitivity import Sensitivity, Trials, sensitivity_of
from moldkit.study.uncertainty.spread import Spread, spread_of
from moldkit.study.uncertainty.switching import Switch, switching_values
from moldkit.units import System
from moldkit.views.sure_tables import TOLD
from moldkit.views.sure_words import drawn_words, firmness_words, worth_words
from moldkit.views.switch_words import change_words
from moldkit.views.verdict import verdict

# Enough points that the shares of a case's many inputs settle within about one in a hundred.
POINTS = 2_048


@dataclass(frozen=True, eq=False)
class HowSure:
    """A comparison and how sure it is; what a page doesn't show is not computed.

    points, trials: for the sensitivity, as of `sensitivity_of`.
    """

    result: Comparison
    spread: Spread
    points: int = POINTS
    trials: Trials | None = None

    @cached_property
    def doubt(self) -> Sensitivity | None:
        """What makes the difference between the cheapest technique and the next uncertain."""
        draws = self.spread.draws
        return sensitivity_of(self.result, self.points, draws.seed, self.trials, draws.inputs)

    @cached_property
    def switches(self) -> tuple[Switch, ...]:
        """How far each figure must be off before the choice turns."""
        return switching_values(self.result, self.spread.draws.inputs, self.spread.draws.values)

    def words(self, system: System = "metric") -> str:
        """Return the verdict, its firmness, what finding out is worth, what would turn the choice; a line each."""
        lines = (
            verdict(self.result, system).sentence,
            firmness_words(self.spread),
            worth_words(self.spread),
            change_words(self.switches, system=system, currency=self.result.currency),
            drawn_words(self.spread),
        )
        return "\n".join(line for line in lines if line)


def how_sure(
    result: Comparison,
    draws: int = DRAWS,
    seed: int = SEED,
    farthest: int = 1_000,
    points: int = POINTS,
    trials: Trials | None = None,
) -> HowSure:
    """Return how sure a comparison is.

    draws, seed: as of `study.uncertainty.spread.draw`; farthest: the run up to which charts go; points: of the
    sensitivity, drawn when it is asked for; trials: of an earlier sensitivity, used again where only the run has moved
    since. Raises InputError for draws or a seed that cannot be used.
    """
    drawn = drawn_runs(result.by_weight, min(FARTHEST, max(farthest, result.case.run)))
    # A table tells round runs; they are computed beside those that the curves are drawn at.
    round_ones = [run for run in TOLD if run <= drawn[-1]]
    spread = spread_of(result, draws, seed, runs=np.union1d(drawn, round_ones).astype(np.int64))
    return HowSure(result, spread, points, trials)
