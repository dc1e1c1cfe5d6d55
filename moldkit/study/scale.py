"""Shrinkage of rubber and casting chained over generations: the size a client measures, the pattern that mends it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldkit.errors import InputError, unknown
from moldkit.quantity import Quantity
from moldkit.study.assess import setting_of
from moldkit.study.compare import Comparison
from moldkit.study.uncertainty.ranges import pert_quantile
from moldkit.tables import Row

Floats = NDArray[np.float64]
CHAIN = "each mold and each casting is (1 - shrinkage) times the size it was taken from"
SPREAD = (
    "each material's shrinkage is one unknown figure, beta-PERT between its low and high; it is the same in every "
    "generation, and materials are independent of each other; eight shops in ten lie between low and high"
)
# Places between 0 and 1 at which a figure's distribution is taken: their mean is within 1e-5 of its range.
_PLACES = 400
MOST_GENERATIONS = 5


@dataclass(frozen=True)
class Shrunk:
    """How much smaller a casting is than the pattern, and what mends it.

    shrinkage: of the casting against the pattern, likely, low and high, between which eight shops in ten lie; below
    zero it is larger [share]; least, most: the same with every material at its end [share]; allowance: what the size
    wanted is made larger by for the pattern, its low and high by the ends of `shrinkage` [share].
    """

    shrinkage: Quantity
    least: float
    most: float
    allowance: Quantity

    @property
    def factor(self) -> float:
        """Likely size of the casting as a share of the pattern's [-]."""
        return 1.0 - self.shrinkage.at(0)

    @property
    def scale(self) -> float:
        """What the size wanted is multiplied by for the pattern [-]."""
        return 1.0 + self.allowance.at(0)


@dataclass(frozen=True)
class Side:
    """One side of the piece: of the pattern, and of a casting likely, low and high, at its least and most [m]."""

    name: str
    pattern: float
    likely: float
    low: float
    high: float
    least: float
    most: float


@dataclass(frozen=True)
class Wanted:
    """The longest side that is wanted of the casting, and what it takes.

    wanted: of the casting [m]; pattern: the longest side that the pattern should have, likely, low and high [m]; now:
    the casting's longest side with the pattern as it is [m], its range in low and high.
    """

    wanted: Quantity
    pattern: Quantity
    now: Quantity


@dataclass(frozen=True)
class Generation:
    """One generation of castings: the first from a mold of the pattern, the next from a mold of such a casting."""

    number: int
    words: str
    shrunk: Shrunk
    sides: tuple[Side, ...]


def shrunk(steps: Sequence[Row]) -> Shrunk:
    """Return how much a casting shrinks against the pattern over a chain of molds and castings.

    Source: linear shrinkage chained, (1 - s1)(1 - s2)...; a pattern maker's double allowance is the same to first
    order. steps: the material of each, mold and casting in turn, with `shrinkage` (below zero: it expands). A material
    that comes again has the same unknown shrinkage, so that its spread adds up and does not average out.
    Raises InputError for no steps. Holds for a piece that shrinks alike in every direction: a skin held by its shell
    shrinks less along it, and a thick casting more than a thin one.
    """
    if not steps:
        raise InputError("shrinkage: name at least one mold or casting.")
    counts: dict[str, tuple[Quantity, int]] = {}
    for row in steps:
        found = row.quantity("shrinkage")
        counts[row.name] = (found, counts.get(row.name, (found, 0))[1] + 1)
    likely = float(np.prod([(1 - s.value) ** times for s, times in counts.values()]))
    least, most = (float(1 - np.prod([(1 - end(s)) ** n for s, n in counts.values()])) for end in (_low, _high))
    small, large = np.exp(np.quantile(_added([_logs(s, n) for s, n in counts.values()]), [0.1, 0.9]))
    # A likely figure far to one side may lie beyond one shop in ten.
    small, large = min(float(small), likely), max(float(large), likely)
    inputs = tuple(s for s, _ in counts.values())
    shrinkage = Quantity(
        "shrinkage from pattern to casting", 1 - likely, "share", f"{CHAIN}; {SPREAD}", inputs, low=1 - large,
        high=1 - small,
    )  # fmt: skip
    words = "1 / (1 - shrinkage from pattern to casting) - 1"
    allowance = Quantity(
        "allowance on the pattern", 1 / likely - 1, "share", words, (shrinkage,), low=1 / large - 1,
        high=1 / small - 1,
    )  # fmt: skip
    return Shrunk(shrinkage, least, most, allowance)


def _low(figure: Quantity) -> float:
    return float(figure.value if figure.low is None else figure.low)


def _high(figure: Quantity) -> float:
    return float(figure.value if figure.high is None else figure.high)


def _logs(shrinkage: Quantity, times: int) -> Floats:
    """Return the logarithm of a material's part in the factor at evenly spread places of its distribution."""
    from scipy.special import ndtri

    scores = ndtri((np.arange(_PLACES) + 0.5) / _PLACES)
    figures = pert_quantile(scores, _low(shrinkage), float(shrinkage.value), _high(shrinkage))
    return np.asarray(times * np.log1p(-figures))


def _added(parts: Sequence[Floats]) -> Floats:
    """Return the sum of independent figures, each given at evenly spread places of its distribution, likewise."""
    total = parts[0]
    for part in parts[1:]:
        every = np.sort((total[:, None] + part[None, :]).ravel())
        total = every.reshape(_PLACES, -1).mean(axis=1)
    return total


def generations(result: Comparison, technique: str, most: int = 2) -> tuple[Generation, ...]:
    """Return the castings' sizes over generations: from a mold of the pattern, then from a mold of such a casting.

    technique: its name as shown; most: how many generations, 1 to 5. The master casting of a later generation is taken
    to be of the run's own material. Raises InputError for an unknown technique or a number out of bounds.
    """
    if not 1 <= most <= MOST_GENERATIONS:
        raise InputError(f"generations: {most} is outside 1 to {MOST_GENERATIONS}; give one of these.")
    steps = _one_generation(result, technique)
    return tuple(_generation(result, number, steps * number) for number in range(1, most + 1))


def _generation(result: Comparison, number: int, steps: Sequence[Row]) -> Generation:
    found = shrunk(steps)
    words = "from a mold of the pattern" if number == 1 else f"from a mold of a casting of generation {number - 1}"
    pattern = result.pattern
    sides = (("width", pattern.width.at(0)), ("depth", pattern.depth.at(0)), ("height", pattern.height.at(0)))
    return Generation(number, words, found, tuple(_side(name, side, found) for name, side in sides))


def _side(name: str, side: float, found: Shrunk) -> Side:
    low, high = side * (1 - _high(found.shrinkage)), side * (1 - _low(found.shrinkage))
    return Side(name, side, side * found.factor, low, high, side * (1 - found.most), side * (1 - found.least))


def _one_generation(result: Comparison, technique: str) -> tuple[Row, ...]:
    """Return what shrinks in one generation: the technique's rubber, where it has one, and the casting material."""
    outcome = next((o for o in result.outcomes if o.name == technique), None)
    if outcome is None:
        raise unknown("technique", technique, [o.name for o in result.outcomes])
    material = setting_of(result.case, result.knowledge).material
    return (material,) if outcome.plan.rubber is None else (outcome.plan.rubber, material)


def size_for(result: Comparison, technique: str, wanted: float, generation: int = 1) -> Wanted:
    """Return what a longest side wanted of the casting [m] asks of the pattern.

    wanted: of the casting [m]; generation: 1 for castings from a mold of the pattern. Raises InputError for an unknown
    technique or a length that is not above zero.
    """
    if not wanted > 0:
        raise InputError(f"size wanted: {wanted:g} m is not above zero; give a length.")
    found = generations(result, technique, generation)[-1].shrunk
    allowance, shrinkage, longest = found.allowance, found.shrinkage, result.pattern.longest
    size = Quantity("longest side wanted of the casting", wanted, "m", "said in the job", source="the job")
    pattern = Quantity(
        "longest side the pattern should have", wanted * found.scale, "m", "size wanted x (1 + allowance)",
        (size, allowance), low=wanted * (1 + _low(allowance)), high=wanted * (1 + _high(allowance)),
    )  # fmt: skip
    now = Quantity(
        "longest side of the casting", longest.at(0) * found.factor, "m", "pattern's longest side x (1 - shrinkage)",
        (longest, shrinkage), low=longest.at(0) * (1 - _high(shrinkage)), high=longest.at(0) * (1 - _low(shrinkage)),
    )  # fmt: skip
    return Wanted(size, pattern, now)
