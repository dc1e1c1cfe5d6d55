"""What is mixed for a mold and for one casting: the batches, each with the time it has."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from moldkit.batches import Batches
from moldkit.cure import time_in_room
from moldkit.quantity import Quantity
from moldkit.study.assess import Outcome
from moldkit.study.bench.layers import coat_step, coats_of
from moldkit.study.compare import Comparison
from moldkit.tables import Row


@dataclass(frozen=True, slots=True)
class Batch:
    """One batch: its name (a number; of a coat mixed in several cups "2.1"), mass [kg], when it is begun and by when
    it must be used up, after the start [s].
    """

    name: str
    mass: float
    begins: float
    ends: float


@dataclass(frozen=True, slots=True)
class Mix:
    """A material as it is mixed: its row, the batches, pot life in the shop's room [s].

    brushed: it is brushed on, coat by coat, and not poured; too_late: a batch sets before it is used up, needed: which
    takes so long [s]; all_in: from mixing the first batch of a pour to the last drop of the last [s].
    """

    material: Row
    batches: tuple[Batch, ...]
    pot_life: float
    needed: float
    brushed: bool
    too_late: bool
    all_in: float = 0.0

    @property
    def outlasts(self) -> bool:
        """Whether the first of several batches sets before the last is in."""
        return len(self.batches) > 1 and not self.brushed and self.all_in > self.pot_life

    @property
    def mass(self) -> float:
        """All that is mixed [kg]."""
        return math.fsum(batch.mass for batch in self.batches)


def rubber_mix(result: Comparison, outcome: Outcome, begins: Sequence[float] = ()) -> Mix | None:
    """Return the rubber of one mold as it is mixed, None of a mold without rubber.

    begins: when each coat, or each pour of the mold, is begun after the start [s]; without them the first one is begun
    at once, and coats and pours follow each other as soon as they may.
    """
    plan, shop = outcome.plan, result.shop
    if plan.rubber is None or plan.batches is None:
        return None
    pot_life, found = time_in_room(plan.rubber, "pot_life", shop).at(0), plan.batches
    too_late = bool(found.too_late)
    coats = coats_of(outcome, shop, begins)
    if coats:
        largest, brushing = _largest(found), coat_step(outcome).attended.at(0) / len(coats)
        batches = []
        for coat in coats:
            cups = max(1, math.ceil(coat.mass / largest - 1e-9))
            for cup in range(cups):
                name = str(coat.number) if cups == 1 else f"{coat.number}.{cup + 1}"
                # Each cup is mixed when the one before it has been brushed on.
                mixed = coat.begins + cup * brushing / cups
                batches.append(Batch(name, coat.mass / cups, mixed, mixed + pot_life))
        return Mix(plan.rubber, tuple(batches), pot_life, _seconds(found.used_in), True, too_late)
    pours = 2 if result.case.pours == "two" and plan.shell is None else 1
    begins = begins if len(begins) == pours else _pours_apart(outcome, pours)
    batches_, all_in = _in_a_row(found, pot_life, begins), _seconds(found.all_in) / pours
    return Mix(plan.rubber, batches_, pot_life, _seconds(found.used_in), False, too_late, all_in)


def casting_mix(result: Comparison, outcome: Outcome) -> Mix:
    """Return what is mixed for one pour of castings, with the shop's loss."""
    material = result.knowledge.materials.castings[result.case.material]
    pot_life, found = time_in_room(material, "pot_life", result.shop).at(0), outcome.casting.batches
    too_late, used_in, all_in = bool(found.too_late), _seconds(found.used_in), _seconds(found.all_in)
    return Mix(material, _in_a_row(found, pot_life), pot_life, used_in, False, too_late, all_in)


def _largest(found: Batches) -> float:
    """Return the most that a batch may be [kg]: by the vessel, and by the pot life where that can be kept."""
    in_time = found.vessel.at(0) if found.in_time is None else found.in_time.at(0)
    kept = found.vessel.at(0) if found.too_late or in_time <= 0 else min(in_time, found.vessel.at(0))
    return max(kept, found.each.at(0))


def _seconds(time: Quantity | None) -> float:
    """Return a time [s]; 0 where no pot life runs."""
    return 0.0 if time is None else float(time.at(0))


def _pours_apart(outcome: Outcome, pours: int) -> tuple[float, ...]:
    """Return when each pour of a mold is begun [s]: the next when the one before has been poured and has cured."""
    if pours == 1:
        return (0.0,)
    rows = outcome.technique.steps.rows
    step = next(s for s in outcome.plan.steps if rows[s.name].text("wait") == "rubber cure")
    apart = (step.attended.at(0) + step.wait.at(0)) / pours
    return tuple(k * apart for k in range(pours))


def _in_a_row(found: Batches, pot_life: float, begins: Sequence[float] = (0.0,)) -> tuple[Batch, ...]:
    """Return the batches of each pour mixed one after another, each begun when the one before is used up."""
    count, each, apart = round(found.number.at(0)), found.each.at(0), _seconds(found.used_in)
    of_a_pour = count // len(begins)
    mixed = [begins[k // of_a_pour] + k % of_a_pour * apart for k in range(count)]
    return tuple(Batch(str(k + 1), each, at, at + pot_life) for k, at in enumerate(mixed))
