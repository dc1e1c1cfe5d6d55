"""Figures of a sheet in one unit to a column: what a scale, a rule or a jug at the bench shows."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

from moldkit.units import System, from_si
from moldkit.views.paper.document import Column, KeyFigure, Number

HOUR, MINUTE = 3600.0, 60.0
MOST_DECIMALS = 4
# Unit as it stands in a head, for those that are typeset.
TYPESET = {"m2": "m²", "ft2": "ft²", "degC": "°C", "degF": "°F"}
# (dimension, system) -> (up to this size in SI units, unit, decimals), the first that fits; the last takes the rest.
RULES: dict[tuple[str, System], tuple[tuple[float, str, int], ...]] = {
    ("length", "metric"): ((0.04, "mm", 1), (float("inf"), "mm", 0)),
    ("length", "us"): ((0.0254, "in", 3), (float("inf"), "in", 2)),
    ("area", "metric"): ((float("inf"), "m2", 2),),
    ("area", "us"): ((float("inf"), "ft2", 2),),
    ("volume", "metric"): ((0.005, "mL", 0), (float("inf"), "L", 2)),
    ("volume", "us"): ((0.003785, "fl oz", 1), (float("inf"), "gal", 2)),
    ("mass", "metric"): ((0.05, "g", 1), (10.0, "g", 0), (float("inf"), "kg", 2)),
    ("mass", "us"): ((0.05, "oz", 2), (0.9072, "oz", 1), (float("inf"), "lb", 2)),
    ("time", "metric"): ((120.0, "s", 0), (2 * HOUR, "min", 0), (float("inf"), "h", 1)),
    ("pressure", "metric"): ((float("inf"), "kPa", 0),),
    ("pressure", "us"): ((float("inf"), "psi", 1),),
    ("force", "metric"): ((1000.0, "N", 0), (float("inf"), "kN", 1)),
    ("force", "us"): ((float("inf"), "lbf", 0),),
    ("temperature", "metric"): ((float("inf"), "degC", 0),),
    ("temperature", "us"): ((float("inf"), "degF", 0),),
}
# A scale at the bench reads grams up to 10 kg; a figure read from afar is in kilograms from the first one on.
FROM_AFAR: dict[tuple[str, System], tuple[tuple[float, str, int], ...]] = {
    ("mass", "metric"): ((1.0, "g", 0), (float("inf"), "kg", 2)),
    ("length", "metric"): ((0.04, "mm", 1), (1.0, "mm", 0), (float("inf"), "m", 2)),
    ("volume", "metric"): ((0.001, "mL", 0), (float("inf"), "L", 2)),
}
DIMENSION = {
    "m": "length",
    "m2": "area",
    "m3": "volume",
    "kg": "mass",
    "s": "time",
    "Pa": "pressure",
    "N": "force",
    "K": "temperature",
}


@dataclass(frozen=True, slots=True)
class Scale:
    """A unit to print figures in, and how finely; factor: from the SI value, None for a unit of the kit's own list."""

    unit: str
    decimals: int
    factor: float | None = None

    @property
    def typeset(self) -> str:
        """The unit as it stands in a head."""
        return TYPESET.get(self.unit, self.unit)

    def of(self, value: float) -> Number:
        """Return an SI value as a figure on this scale."""
        shown = from_si(value, self.unit) if self.factor is None else value * self.factor
        return Number(float(shown), self.decimals)

    def column(self, heading: str) -> Column:
        """Return a column of figures on this scale."""
        return Column(heading, self.typeset)


def scale_for(values: Iterable[float], unit: str, system: System) -> Scale:
    """Return the scale for figures that stand in one column, after the largest of them; unit: their SI unit."""
    most = max((abs(value) for value in values), default=0.0)
    return _first(most, RULES.get((DIMENSION[unit], system)) or RULES[DIMENSION[unit], "metric"])


def _first(most: float, rules: tuple[tuple[float, str, int], ...]) -> Scale:
    name, decimals = next((name, decimals) for end, name, decimals in rules if most <= end)
    return Scale(name, decimals)


def figure_scale(values: Iterable[float], unit: str, system: System) -> Scale:
    """Return the scale for figures of any unit; one that no scale at the bench shows keeps its own unit."""
    listed = list(values)
    if unit in DIMENSION:
        return scale_for(listed, unit, system)
    most = max((abs(value) for value in listed), default=0.0)
    decimals = 0 if most >= 100 else (1 if most >= 10 else 2)
    if unit == "share":
        return Scale("%", 0, 100.0)
    return Scale("" if unit in ("1", "-") else unit, decimals, 1.0)


def finely(scale: Scale, values: Iterable[float]) -> Scale:
    """Return a scale that shows two digits of the smallest of these SI values, as far as four decimals do."""
    least = min((abs(scale.of(value).value) for value in values if value and math.isfinite(value)), default=1.0)
    wanted = 1 - math.floor(math.log10(least)) if least > 0 else 0
    return replace(scale, decimals=max(scale.decimals, min(MOST_DECIMALS, wanted)))


def key_figure(label: str, value: float, unit: str, system: System) -> KeyFigure:
    """Return a figure to be read from afar; unit: its SI unit."""
    afar = FROM_AFAR.get((DIMENSION[unit], system))
    scale = _first(abs(value), afar) if afar else scale_for([value], unit, system)
    return KeyFigure(label, scale.of(value), scale.typeset)
