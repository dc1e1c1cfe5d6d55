"""What whole kits change in the cost of a run by one technique, with its working."""

from __future__ import annotations

from functools import partial
from typing import Any

import numpy as np

from moldkit.economics.purchases import Need, beyond_pro_rata, whole_remakes
from moldkit.quantity import Quantity
from moldkit.study.assess import Outcome

RULE = "first mold + expected remakes, rounded up to whole molds from a tenth of one on, + pours"


def figure_at(value: Any, index: int = 0) -> float:
    """Return a figure, or one of an array over sizes or draws."""
    array = np.asarray(value)
    return float(array.reshape(-1)[index] if array.ndim else array)


def more_in_kits(outcome: Outcome, molds: Any, pours: Any, index: int = 0) -> Any:
    """Return what a run in whole kits costs more (below zero: less) than by weight [money].

    molds: expected molds; pours: of the run; any one shape.
    """
    return beyond_pro_rata(outcome.needs, molds, pours, partial(figure_at, index=index))


def whole_kits(outcome: Outcome, molds: Quantity, pours: Quantity) -> Quantity:
    """Return what a run in whole kits costs more than by weight [money], with the kits that are bought."""
    in_kits = [need for need in outcome.needs if need.in_kits]
    bought = tuple(_bought(need, molds, pours) for need in in_kits)
    more = float(more_in_kits(outcome, molds.value, pours.value))
    weight = Quantity(
        "the same materials by weight", sum(q.value for q in bought) - more, "money",
        "as they stand in the costs of the molds and the pours", (molds, pours),
    )  # fmt: skip
    words = "kits for the run, bought at once - the same materials by weight"
    return Quantity("whole kits beyond the weight", more, "money", words, (*bought, weight))


def _bought(need: Need, molds: Quantity, pours: Quantity) -> Quantity:
    remakes = float(whole_remakes(molds.value))
    mass = need.amount(remakes, pours.value, figure_at)
    amount = Quantity(f"{need.material} for the run", mass, need.unit, RULE, (molds, pours))
    kits = need.bought(mass)
    return Quantity(f"kits of {need.material}", kits.cost, "money", f"the cheapest kits: {kits.words}", (amount,))
