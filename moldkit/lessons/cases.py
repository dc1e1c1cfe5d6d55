"""What a client brings to the invented shop: pattern, casting, run and shop figures, and which way is cheapest."""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from moldkit.lessons.figures import given, given_price
from moldkit.quantity import Quantity
from moldkit.study.assess import Outcome
from moldkit.study.case import Case
from moldkit.study.choices import PROPORTIONS
from moldkit.study.compare import TOSS_UP, Comparison, compare
from moldkit.study.knowledge import Knowledge
from moldkit.units import count_text

BLOCK, SKIN, CAVITY = "poured block", "brushed skin", "cavity pour"
# What the client brings, with the form that stands in for it.
SUBJECTS: Mapping[str, str] = {
    "a portrait bust": "bust",
    "a standing figure": "figure",
    "a newel ball": "ball",
    "a domed boss": "dome",
    "a plain plinth": "box",
    "a turned post": "cylinder",
    "a relief panel": "panel",
    "a rounded finial": "capsule",
}
FORMS = tuple(SUBJECTS.values())
MATERIALS = ("rigid urethane resin", "gypsum plaster", "casting wax")
WAGES = (30.0, 34.0, 38.0, 42.0, 46.0, 52.0)
# A verdict wider than this is seen at a glance and teaches nothing.
TOO_CLEAR = 2.0


@dataclass(frozen=True)
class Brought:
    """A case brought to the shop: what it is, and the comparison."""

    subject: str
    result: Comparison

    def outcome(self, technique: str) -> Outcome:
        """Return what a technique comes to."""
        return next(o for o in self.result.outcomes if o.name == technique)

    def total(self, technique: str) -> Quantity | None:
        """Return the cost of the run by a technique."""
        return self.result.total(self.outcome(technique))

    @property
    def currency(self) -> str:
        """The shop's currency code."""
        return self.result.currency

    @property
    def size(self) -> str:
        """The pattern's longest side in words."""
        return f"{given(self.result.longest, 'mm')} at its longest"

    @property
    def shop(self) -> str:
        """The shop's name, which is invented."""
        return f"{self.result.shop.text('name')} (an invented shop)"

    @property
    def pattern_words(self) -> str:
        """What was brought, as a sentence."""
        return f"A client brings {self.subject} to {self.shop}. It is {self.size} and stands on a flat base."

    @property
    def order_words(self) -> str:
        """What was ordered, as a sentence."""
        case = self.result.case
        pieces = "casting" if case.run == 1 else "castings"
        wage = given_price(3600.0 * self.result.shop.quantity("labor_rate").at(0), self.currency)
        return (
            f"{self.pattern_words} The order is for {count_text(case.run)} {pieces} in {case.material}, made by "
            f"{case.method}. An hour of work costs {wage}."
        )


def brought(
    draw: random.Random,
    knowledge: Knowledge,
    *,
    forms: Sequence[str] = FORMS,
    sides: Sequence[float] = (0.08, 0.12, 0.18, 0.24, 0.3, 0.4),
    runs: Sequence[int] = (10, 20, 40, 80, 150, 300),
    materials: Sequence[str] = MATERIALS,
    shop: Mapping[str, Any] | None = None,
    **fixed: Any,
) -> Brought:
    """Return a case drawn for a lesson; sides: longest sides [m]; shop, fixed: what else the case says."""
    subject = draw.choice([subject for subject, form in SUBJECTS.items() if form in forms])
    form = SUBJECTS[subject]
    side = draw.choice(list(sides)) * draw.choice((0.9, 0.95, 1.0, 1.05, 1.1))
    case = Case(
        form=form,
        size=PROPORTIONS[form],
        longest=side,
        run=draw.choice(list(runs)),
        material=draw.choice(list(materials)),
        shop={"labor_rate": draw.choice(WAGES), **(shop or {})},
        **fixed,
    )
    return Brought(subject, compare(case, knowledge))


def changed(base: Brought, **other: Any) -> Brought:
    """Return the case with something else about it."""
    return Brought(base.subject, compare(replace(base.result.case, **other), base.result.knowledge))


@dataclass(frozen=True)
class Verdict:
    """Which technique is the cheapest among some that can be used, and by what share the next one is dearer."""

    best: str
    next: str
    margin: float

    @property
    def clear(self) -> bool:
        """Whether it is no toss-up, and not so wide that it goes without saying."""
        return TOSS_UP < self.margin <= TOO_CLEAR


def verdict(case: Brought, names: Sequence[str], *, stopped: bool = False) -> Verdict | None:
    """Return the verdict among techniques; None where fewer than two can be used. stopped: ruled-out ones count too."""
    costs = {}
    for name in names:
        total = case.total(name)
        if total is not None and (stopped or not case.outcome(name).stop_at()):
            costs[name] = total.at(0)
    if len(costs) < 2:
        return None
    best, second = sorted(costs, key=lambda name: costs[name])[:2]
    return Verdict(best, second, costs[second] / costs[best] - 1.0)


def totals(case: Brought, names: Sequence[str]) -> tuple[Quantity, ...]:
    """Return the costs of the run, each named for its technique."""
    found = ((name, case.total(name)) for name in names)
    return tuple(replace(total, name=f"{total.name}, {name}") for name, total in found if total is not None)
