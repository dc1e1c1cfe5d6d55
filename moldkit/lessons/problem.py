"""A problem with its answer: what an exercise is made of and what a check looks into."""

from __future__ import annotations

from dataclasses import dataclass

from moldkit.quantity import Quantity

# How near a figure must be to what a mistake leads to for the mistake to be recognised.
MATCH = 0.02
COUNT, MONEY, RATIO = "count", "money", "ratio"


@dataclass(frozen=True)
class Slip:
    """A kind of mistake.

    mistake: in a few words; words: what went wrong, in a sentence; hint: what to look at.
    """

    mistake: str
    words: str
    hint: str


@dataclass(frozen=True)
class Slipped:
    """Where a mistake leads a figure to: the working redone with it [the figure's unit]."""

    slip: Slip
    value: float


@dataclass(frozen=True)
class Misled:
    """Where a mistake leads an order to."""

    slip: Slip
    order: tuple[str, ...]


@dataclass(frozen=True)
class Numeric:
    """A figure is asked for.

    figure: the kit's own, with its working; dimension: a dimension of units, or COUNT, MONEY, RATIO; unit: one it may
    be given in; tolerance: how far off is still right, as a share, 0 for a whole number; slips: what mistakes lead to,
    all of them apart from the answer and from each other.
    """

    question: str
    hint: str
    figure: Quantity
    dimension: str
    unit: str
    tolerance: float
    slips: tuple[Slipped, ...]


@dataclass(frozen=True)
class Pick:
    """One of several is asked for: a choice, the line with the mistake, the change that flips the answer.

    right: the one that is; said: why, in a sentence; slips: what each other choice tells; figures: whose workings
    show it.
    """

    kind: str
    question: str
    hint: str
    choices: tuple[str, ...]
    right: str
    said: str
    slips: dict[str, Slip]
    figures: tuple[Quantity, ...]


@dataclass(frozen=True)
class Order:
    """Things are to be put in order, least first. figures: of the things in their right order."""

    question: str
    hint: str
    choices: tuple[str, ...]
    right: tuple[str, ...]
    slips: tuple[Misled, ...]
    figures: tuple[Quantity, ...]


Problem = Numeric | Pick | Order
