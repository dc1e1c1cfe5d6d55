"""A figure that can explain itself: its value, its unit, and the working it came from."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from moldkit.units import System, show


@dataclass(frozen=True, slots=True)
class Quantity:
    """One figure, or an array of them over pattern sizes or draws.

    name: in the trade's words; value: in SI units (money in the shop's currency); unit: the SI unit,
    "money", "share" or a count; formula: how it comes about, in words; inputs: the quantities put in;
    source: where a figure that was looked up comes from; low, high: its range, where it has one.
    """

    name: str
    value: Any
    unit: str
    formula: str = ""
    inputs: tuple[Quantity, ...] = ()
    source: str = ""
    low: float | None = None
    high: float | None = None

    def at(self, index: int) -> float:
        """Return the value at `index` along an array value; a plain number is the same everywhere."""
        if isinstance(self.value, np.ndarray) and self.value.ndim:
            return float(self.value[index])
        return float(self.value)


@dataclass(frozen=True, slots=True)
class WorkingLine:
    """One line of a working: the figure's name, its formula in words, what was put in, the result, the source."""

    depth: int
    name: str
    formula: str
    put_in: str
    result: str
    source: str


def working(
    figure: Quantity, *, system: System = "metric", currency: str = "", index: int = 0, depth: int = 8
) -> list[WorkingLine]:
    """Return the working of a figure, the figure itself first, then what went into it, each figure once.

    index: which entry of an array value; depth: how many levels down.
    """
    seen: set[int] = set()
    return list(_lines(figure, system, currency, index, 0, depth, seen))


def _lines(
    figure: Quantity, system: System, currency: str, index: int, level: int, deepest: int, seen: set[int]
) -> Iterator[WorkingLine]:
    if id(figure) in seen:
        return
    seen.add(id(figure))

    def text(q: Quantity) -> str:
        return show(q.at(index), q.unit, system, currency)

    put_in = ", ".join(f"{q.name} {text(q)}" for q in figure.inputs)
    yield WorkingLine(level, figure.name, figure.formula, put_in, text(figure), figure.source)
    if level < deepest:
        for q in figure.inputs:
            if q.inputs or q.source:
                yield from _lines(q, system, currency, index, level + 1, deepest, seen)
