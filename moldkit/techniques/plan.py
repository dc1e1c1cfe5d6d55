"""What a technique plans: named quantities, materials with their cost, steps with their hours."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from moldkit.batches import Batches
from moldkit.errors import InputError
from moldkit.quantity import Quantity
from moldkit.tables import Row

RULE = "common practice, no source"


@dataclass(frozen=True)
class Choices:
    """What a mold maker may choose about a mold; None takes the default that follows the pattern's size.

    margin: rubber between pattern and wall of a block [m]; skin: thickness of a skin [m]; cavities: patterns
    in one block; pours: a block in one pour and cut, or in two; container: "rectangular", "round" or None for
    what takes less rubber; pieces: of a mold in its shell; keep_shell: a brushed remake keeps its shell;
    degassed: poured rubber is degassed.
    """

    margin: Any = None
    skin: Any = None
    cavities: int = 1
    pours: str = "one and cut"
    container: str | None = None
    pieces: int | None = None
    keep_shell: bool = False
    degassed: bool = True


@dataclass(frozen=True)
class MoldMaterials:
    """What a mold is made of, and the shop that makes it."""

    rubber: Row
    shell: Row | None
    supplies: Mapping[str, Row]
    shop: Row


@dataclass(frozen=True)
class Steps:
    """The rows of the step table for one technique, by step."""

    technique: str
    rows: Mapping[str, Row]

    def time(self, step: str, driver: Quantity | None = None, times: Quantity | float = 1.0) -> StepTime:
        """Return the time of a step.

        driver: the quantity its hours grow with, in SI units; times: how often it is done, or a factor.
        Raises InputError when the step table has no such row.
        """
        row = self.rows.get(step)
        if row is None:
            raise InputError(f"steps.csv: technique {self.technique!r} has no step {step!r}; add the row.")
        factor = times if isinstance(times, Quantity) else Quantity("factor", times, "1")
        fixed, per = row.quantity("fixed"), row.quantity("per_driver")
        _check_driver(row, step, driver)
        if driver is None or row.text("driver") == "none":
            inputs: tuple[Quantity, ...] = (fixed,)
            value, words = factor.value * fixed.value, "fixed time"
        else:
            size = driver.value * (1000.0 if row.text("driver").endswith("[L]") else 1.0)
            value = factor.value * (fixed.value + per.value * size)
            words = f"fixed time + time for each {row.text('driver')} x {driver.name}"
            inputs = (fixed, per, driver)
        if isinstance(times, Quantity) or times != 1.0:
            words, inputs = f"({words}) x {factor.name}", (*inputs, factor)
        attended = Quantity(f"time to {step}", value, "s", words, inputs, row.text("source"))
        return StepTime(step, attended, Quantity("wait", 0.0, "s"), row.text("skill"), float(row.values["remake"]))


# Unit in the brackets of a driver in the step table -> unit of the quantity that drives it.
DRIVEN_BY = {"m2": "m2", "m": "m", "L": "m3", "piece": "1"}


def _check_driver(row: Row, step: str, driver: Quantity | None) -> None:
    """Raise InputError when the table's driver cannot be what this step's time grows with."""
    said = row.text("driver")
    unit = DRIVEN_BY.get(said.rpartition("[")[2].rstrip("]"))
    if said != "none" and (driver is None or driver.unit != unit):
        grows = "nothing; write none" if driver is None else f"the {driver.name}; write a driver of that kind, or none"
        raise InputError(f"{row.where}, column 'driver': {said!r} does not fit {step!r}, which grows with {grows}.")


@dataclass(frozen=True)
class StepTime:
    """One step: attended time and the unattended wait after it [s], who does it, the share a remake repeats."""

    name: str
    attended: Quantity
    wait: Quantity
    skill: str
    remake: float

    def waiting(self, wait: Quantity) -> StepTime:
        """Return the step with the wait that follows it."""
        return replace(self, wait=wait)


@dataclass(frozen=True)
class Amount:
    """One line of the bill of materials: what, how much, what it costs, the share a remake buys again."""

    what: str
    amount: Quantity
    cost: Quantity
    remake: float = 1.0


@dataclass(frozen=True)
class MoldPlan:
    """A mold as planned. Quantities every plan names: rubber_volume, rubber_mass, mold_mass, pieces,
    parting_length, width, depth, height, round_diameter (the closed mold), pour_volume, pour_head; with a shell
    flange_reach, how far the closed mold reaches beyond the pattern on every side at most.
    batches: of rubber, for all pours of a mold or for one coat; None where nothing is mixed.
    """

    technique: str
    rubber: Row | None
    shell: Row | None
    quantities: Mapping[str, Quantity]
    amounts: tuple[Amount, ...]
    steps: tuple[StepTime, ...]
    cavities: int = 1
    degassed: bool = False
    batches: Batches | None = None

    def __getitem__(self, name: str) -> Quantity:
        """Return a quantity by name."""
        return self.quantities[name]
