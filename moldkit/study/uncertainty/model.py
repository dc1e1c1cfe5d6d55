"""The whole model over draws: what every technique comes to in each of many plausible shops, at once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from moldkit.study.assess import Outcome, assess
from moldkit.study.case import Case
from moldkit.study.compare import Comparison
from moldkit.study.uncertainty.drawn import drawn_tables
from moldkit.study.uncertainty.figures import Place

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Shops:
    """What each technique comes to in every draw; t techniques, d draws.

    first, remake, pour: cost of the first mold, of a remake, of a pour, shape (t, d) [money]; feasible: shape (t, d);
    median: median mold life [pours] and spread: coefficient of variation from mold to mold [-], 0 for a certain life,
    shape (t, d), not a number where nothing is known of the pair; hours: attended time of the first mold, shape (t, d)
    [s]; cavities: castings a pour gives, shape (t,); case: with the yield.
    """

    first: Floats
    remake: Floats
    pour: Floats
    feasible: Flags
    median: Floats
    spread: Floats
    hours: Floats
    cavities: tuple[int, ...]
    case: Case

    @property
    def count(self) -> int:
        """Draws."""
        return int(self.first.shape[1])

    @property
    def known(self) -> Flags:
        """Whether the techniques' lives are known, shape (t,)."""
        return np.asarray(np.isfinite(self.median[:, 0]))

    def only(self, places: Sequence[int]) -> Shops:
        """Return what some of the techniques come to, in the order of their places."""
        at = list(places)
        return Shops(
            self.first[at], self.remake[at], self.pour[at], self.feasible[at], self.median[at], self.spread[at],
            self.hours[at], tuple(self.cavities[place] for place in at), self.case,
        )  # fmt: skip


def shops(result: Comparison, values: Mapping[Place, Any], count: int) -> Shops:
    """Return what every technique comes to in each draw, by the same plans as the comparison's own.

    values: figures by place, shape (d,) or one number each [their units]; count: d.
    """
    case, knowledge = drawn_tables(result, values)
    outcomes = assess(case, knowledge, result.reading, result.scale)

    def over(pick: Any) -> Floats:
        return np.stack([_spread_out(pick(outcome), count) for outcome in outcomes])

    return Shops(
        over(lambda o: o.first.value),
        over(lambda o: o.remake.value),
        over(lambda o: o.pour.value),
        ~over(lambda o: o.stop).astype(bool),
        over(_median),
        over(lambda o: np.nan if o.spread is None else o.spread.value),
        over(lambda o: o.attended_first.value),
        tuple(outcome.plan.cavities for outcome in outcomes),
        case,
    )


def joined(parts: Sequence[Shops]) -> Shops:
    """Return draws of one case in one piece."""

    def one_behind_the_other(name: str) -> Any:
        return np.concatenate([getattr(part, name) for part in parts], axis=1)

    names = ("first", "remake", "pour", "feasible", "median", "spread", "hours")
    whole = {name: one_behind_the_other(name) for name in names}
    return Shops(**whole, cavities=parts[0].cavities, case=parts[0].case)


def _median(outcome: Outcome) -> Any:
    return np.nan if outcome.median is None else np.maximum(1.0, outcome.median.value)


def _spread_out(value: Any, count: int) -> Floats:
    return np.broadcast_to(np.asarray(value, dtype=float), (count,))
