"""Batches that a pour is mixed in, and the two parts of a batch by weight and by volume."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from moldkit.errors import InputError
from moldkit.quantity import Quantity
from moldkit.tables import Row
from moldkit.units import show

# More batches than this are no pour: the pot life is then left out of the number, and a finding stops the technique.
MOST_BATCHES = 50
# Tap water between 18 and 25 degC, 997 to 999 kg/m3 (from memory, any table of water's density).
WATER = 998.0
WET = ("gypsum", "cement")


@dataclass(frozen=True)
class Clock:
    """What runs while a batch is used up.

    pot_life: of the batch [s]; start: time it takes whatever its size [s]; rate: time for each kilogram [s/kg].
    """

    pot_life: Quantity
    start: Quantity
    rate: Quantity

    def holds(self) -> Quantity:
        """Return the most that can be used up within the pot life [kg], at least 0."""
        value = np.maximum(0.0, (self.pot_life.value - self.start.value) / self.rate.value)
        words = "(pot life - time whatever the amount) / time for a kilogram"
        return Quantity("most within the pot life", value, "kg", words, (self.pot_life, self.start, self.rate))


@dataclass(frozen=True)
class Batches:
    """A pour in equal batches; numbers, or arrays over sizes or draws.

    number: how many; each: what is mixed for one, with what stays in the cup [kg]; vessel: the most that is mixed at
    once [kg]; in_time: the most that can be used up within the pot life [kg], None where no clock runs; mass: all that
    is mixed [kg].
    """

    number: Quantity
    each: Quantity
    vessel: Quantity
    in_time: Quantity | None
    mass: Quantity

    @property
    def by_pot_life(self) -> Any:
        """Whether it is the pot life, not the vessel, that makes several batches of it; true too for `too_late`."""
        if self.in_time is None:
            return False
        short = np.asarray(self.in_time.value) < self.vessel.value
        return ((short & (np.asarray(self.number.value) > 1)) | self.too_late)[()]

    @property
    def used_in(self) -> Quantity | None:
        """Time that a batch takes from mixing to its last drop [s], None where no clock runs."""
        if self.in_time is None:
            return None
        _, start, rate = self.in_time.inputs
        value = start.value + rate.value * self.each.value
        words = "time whatever the amount + time for a kilogram x a batch"
        return Quantity("time for a batch", value, "s", words, (start, rate, self.each))

    @property
    def all_in(self) -> Quantity | None:
        """Time from mixing the first batch to the last drop of the last, one after another [s]; None without a clock.

        Where they are for several pours, it is the time of all of these.
        """
        if (one := self.used_in) is None:
            return None
        value = self.number.value * one.value
        return Quantity("time for all batches", value, "s", "batches x time for one", (self.number, one))

    @property
    def too_late(self) -> Any:
        """Whether no batch worth mixing is used up within its pot life."""
        if self.in_time is None:
            return False
        return (np.asarray(self.each.value) > self.in_time.value * (1 + 1e-9))[()]


def batches_of(
    mass: Quantity, vessel: Quantity, clock: Clock | None = None, left: Quantity | None = None, pours: int = 1
) -> Batches:
    """Return the batches of a pour: as few as vessel and pot life allow, all of one size.

    mass: what leaves the cups, all pours together, a number or an array [kg]; vessel: the most that is mixed at once
    [kg]; clock: of the pot life, None where nothing sets while it is used; left: what stays in each cup [kg]; pours:
    how many pours the mass is shared by. Where more than fifty batches would be needed the pot life is not kept.
    Raises InputError where the vessel holds no more than what stays in a cup.
    """
    left = Quantity("left in a cup", 0.0, "kg", "counted in another loss") if left is None else left
    if np.any(vessel.value - left.value <= 0):
        raise InputError(
            f"batch_most: {show(float(np.min(vessel.value)), 'kg')} is no more than what stays in a cup "
            f"({show(float(np.max(left.value)), 'kg')}); give a larger batch or a smaller loss."
        )
    in_time = None if clock is None else clock.holds()
    one_pour = np.asarray(mass.value) / pours
    largest: Any = vessel.value - left.value
    inputs: tuple[Quantity, ...] = (mass, vessel, left)
    words = "mass / (largest batch - what stays in a cup), up"
    if in_time is not None:
        kept = in_time.value - left.value
        largest = np.where((kept > 0) & (kept * MOST_BATCHES >= one_pour), np.minimum(largest, kept), largest)
        inputs, words = (*inputs, in_time), f"{words}; the largest batch held to the pot life"
    number = pours * np.maximum(1.0, np.ceil(one_pour / largest - 1e-9))
    count = Quantity("batches", number[()], "1", words if pours == 1 else f"{words}, for each of {pours} pours", inputs)
    total = mass.value + count.value * left.value
    mixed = Quantity("mass to mix", total, "kg", "mass + what stays in the cups", (mass, count, left))
    each = Quantity("a batch", total / count.value, "kg", "mass to mix / batches", (mixed, count))
    return Batches(count, each, vessel, in_time, mixed)


@dataclass(frozen=True)
class Parts:
    """The two parts of a batch.

    a, b: by weight [kg]; b is 0 for a material of one part; a_volume, b_volume: by volume [m3], None where the ratio by
    volume is not known and the part is weighed only.
    """

    a: Quantity
    b: Quantity
    a_volume: Quantity | None
    b_volume: Quantity | None


def parts_of(mass: Quantity, material: Row) -> Parts:
    """Return the parts A and B of a batch by weight, and by volume where the ratio is known.

    mass: of the batch [kg]; material: a row of rubbers or casting materials, with `mix_ratio`, parts B to 100 parts A
    by weight, and `volume_ratio`, the same by volume or None. The density of the mix is taken as that of the cured
    material, within about a per cent for what has no filler. Water, the part B of plaster and concrete, has 998 kg/m3.
    The ratio on the product's own label goes first.
    """
    ratio = material.quantity("mix_ratio")
    share = np.asarray(ratio.value) / 100.0
    a = Quantity("part A", (mass.value / (1 + share))[()], "kg", "batch / (1 + parts B / 100)", (mass, ratio))
    b = Quantity("part B", (mass.value * share / (1 + share))[()], "kg", "batch - part A", (mass, a))
    if material.text("chemistry") in WET:
        water = Quantity("density of water", WATER, "kg/m3", source="from memory")
        return Parts(a, b, None, Quantity("water", b.value / WATER, "m3", "mass / density", (b, water)))
    by_volume = material.values.get("volume_ratio")
    if by_volume is None:
        return Parts(a, b, None, None)
    density = material.quantity("density")
    parts = Quantity("parts B to 100 parts A by volume", by_volume, "parts", source=material.text("source"))
    words = "batch / density / (1 + parts B / 100 by volume)"
    a_volume = mass.value / density.value / (1 + by_volume / 100)
    return Parts(
        a,
        b,
        Quantity("part A by volume", a_volume, "m3", words, (mass, density, parts)),
        Quantity("part B by volume", a_volume * by_volume / 100, "m3", "part A x parts B / 100", (parts,)),
    )
