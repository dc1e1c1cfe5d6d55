"""Mistakes with units and decimal points, the same for every figure of a dimension: read in one, written in another."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from moldkit.lessons.problem import COUNT, MATCH, MONEY, RATIO, Slip, Slipped
from moldkit.units import from_si, to_si

# (unit the figure is really in, unit that was written or read), for each dimension, the commonest first.
PAIRS: dict[str, tuple[tuple[str, str], ...]] = {
    "length": (("in", "mm"), ("mm", "in"), ("in", "cm"), ("mm", "m"), ("m", "mm")),
    "area": (("in2", "cm2"), ("cm2", "in2"), ("cm2", "m2"), ("m2", "cm2")),
    "volume": (("gal", "L"), ("L", "gal"), ("mL", "L"), ("L", "mL")),
    "mass": (("lb", "kg"), ("kg", "lb"), ("g", "kg"), ("kg", "g")),
    "time": (("min", "h"), ("h", "min"), ("s", "min")),
    "pressure": (("psi", "kPa"), ("kPa", "psi"), ("Pa", "kPa"), ("kPa", "Pa"), ("kPa", "bar")),
    "force": (("lbf", "N"), ("N", "lbf"), ("N", "kN"), ("kN", "N")),
    "share": (("%", "-"), ("-", "%")),
}
TEN = Slip(
    "a slip of ten",
    "Your figure is ten times off: a decimal point has moved.",
    "Count the zeros again. Ten millimeters make a centimeter, and a thousand grams make a kilogram.",
)
LEAST_SLIPS, LEAST_OWN = 5, 3


def unit_slips(right: float, dimension: str) -> Iterator[Slipped]:
    """Yield what slips of units and of the decimal point make of a right figure [SI or money]."""
    for really, written in PAIRS.get(dimension, ()):
        slipped = to_si(float(from_si(right, really)), written)
        factor = max(slipped / right, right / slipped)
        words = f"Your figure is {_times(factor)} times off, as {really} taken for {written} would make it."
        hint = f"Look at the units again: which figures are in {really}, which in {written}? Turn them into one kind."
        yield Slipped(Slip(f"unit slip of {_times(factor)}: {really} for {written}", words, hint), slipped)
    if dimension not in (COUNT, "share"):
        yield Slipped(TEN, 10.0 * right)
        yield Slipped(TEN, right / 10.0)
    if dimension in (MONEY, RATIO):
        hundred = Slip(
            "a slip of a hundred", "Your figure is a hundred times off.", "Look at cents, and at shares in per cent."
        )
        yield Slipped(hundred, 100.0 * right)
        yield Slipped(hundred, right / 100.0)


def _times(factor: float) -> str:
    return f"{factor:.4g}" if factor < 1e5 else f"{factor:.0f}"


def told_apart(right: float, own: Sequence[Slipped], dimension: str, tolerance: float) -> tuple[Slipped, ...] | None:
    """Return the mistakes that can be told from the right figure and from each other, the problem's own first.

    None where too few are left, or where the first of the problem's own, the one that it is about, is not among them.
    """
    kept: list[Slipped] = []
    for each in (*own, *unit_slips(right, dimension)):
        if _stands_alone(each.value, right, kept, dimension, tolerance):
            kept.append(each)
    of_its_own = [each for each in kept if each in own]
    enough = len(kept) >= LEAST_SLIPS and len(of_its_own) >= LEAST_OWN
    return tuple(kept) if enough and of_its_own[0] is own[0] else None


def _stands_alone(value: float, right: float, kept: Sequence[Slipped], dimension: str, tolerance: float) -> bool:
    if not math.isfinite(value) or value <= 0:
        return False
    if dimension == COUNT:
        return round(value) != round(right) and all(round(value) != round(other.value) for other in kept)
    if abs(math.log(value / right)) <= math.log1p(tolerance) + 1.5 * MATCH:
        return False
    return all(abs(math.log(value / other.value)) > 2.5 * MATCH for other in kept)
