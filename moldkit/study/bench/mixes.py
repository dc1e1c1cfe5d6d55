"""What is mixed for a mold and for one casting: the batches, each with the time it has."""

from __future__ import annotations

import math
from dataclasses import dataclass

from moldkit.batches import Batches
from moldkit.cure import time_in_room
from moldkit.study.assess import Outcome
from moldkit.study.bench.layers import coats_of
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
    takes so long [s].
    """

    material: Row
    batches: tuple[Batch, ...]
    pot_life: float
    needed: float
    brushed: bool
    too_late: bool

    @property
    def mass(self) -> float:
        """All that is mixed [kg]."""
        return math.fsum(batch.mass for batch in self.batches)


def rubber_mix(result: Comparison, outcome: Outcome) -> Mix | None:
    """Return the rubber of one mold as it is mixed, None of a mold without rubber."""
    plan, shop = outcome.plan, result.shop
    if plan.rubber is None or plan.batches is None:
        return None
    pot_life, found = time_in_room(plan.rubber, "pot_life", shop).at(0), plan.batches
    too_late = bool(found.too_late)
    coats = coats_of(outcome, shop)
    if coats:
        largest, apart = _largest(found), coats[1].begins
        batches = []
        for coat in coats:
            cups = max(1, math.ceil(coat.mass / largest - 1e-9))
            for cup in range(cups):
                name = str(coat.number) if cups == 1 else f"{coat.number}.{cup + 1}"
                # Cups of a coat follow each other within the time that the coat has.
                begins = coat.begins + cup * min(pot_life, apart / cups)
                batches.append(Batch(name, coat.mass / cups, begins, begins + pot_life))
        return Mix(plan.rubber, tuple(batches), pot_life, _used_in(found), True, too_late)
    return Mix(plan.rubber, _in_a_row(found, pot_life), pot_life, _used_in(found), False, too_late)


def casting_mix(result: Comparison, outcome: Outcome) -> Mix:
    """Return what is mixed for one pour of castings, with the shop's loss."""
    material = result.knowledge.materials.castings[result.case.material]
    pot_life, found = time_in_room(material, "pot_life", result.shop).at(0), outcome.casting.batches
    return Mix(material, _in_a_row(found, pot_life), pot_life, _used_in(found), False, bool(found.too_late))


def _largest(found: Batches) -> float:
    """Return the most that a batch may be [kg]: by the vessel, and by the pot life where that can be kept."""
    in_time = found.vessel.at(0) if found.in_time is None else found.in_time.at(0)
    kept = found.vessel.at(0) if found.too_late or in_time <= 0 else min(in_time, found.vessel.at(0))
    return max(kept, found.each.at(0))


def _used_in(found: Batches) -> float:
    """Return the time that a batch takes from mixing to its last drop [s]; 0 where no pot life runs."""
    if found.in_time is None:
        return 0.0
    _, start, rate = found.in_time.inputs
    return start.at(0) + rate.at(0) * found.each.at(0)


def _in_a_row(found: Batches, pot_life: float) -> tuple[Batch, ...]:
    """Return batches mixed one after another, each begun when the one before is used up."""
    count, each, apart = round(found.number.at(0)), found.each.at(0), _used_in(found)
    return tuple(Batch(str(k + 1), each, k * apart, k * apart + pot_life) for k in range(count))
