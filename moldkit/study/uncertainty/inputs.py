"""Independent inputs behind the uncertain figures: what moves together, and what is assumed not to."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from moldkit.study.uncertainty.figures import Figure, Place
from moldkit.study.uncertainty.ranges import pert_quantile, tenths_quantile

Floats = NDArray[np.float64]

# One worker, or one crew, is quick or slow at everything: the correlation between the hours of any two steps. What is
# left is each step's own: a way of working, an awkward piece. Common practice, no source.
PACE_SHARE = 0.75
PACE = "worker's pace"
# What stands behind the name of a step's own part.
APART = ", apart from pace"
# What stands before the name of a step of casting.
CASTING = "casting: "
# What a table of lives may hold as the spread from mold to mold, as in its column dictionary; tails stay within.
SPREADS = (0.01, 2.0)


@dataclass(frozen=True)
class Input:
    """One independent input, a standard normal score in every draw.

    name: in plain words; kind: "hours", "price", "life", "material" or "shop"; figures: how many it moves.
    """

    name: str
    kind: str
    figures: int


@dataclass(frozen=True)
class Inputs:
    """The uncertain figures of a case and the independent inputs that they follow.

    figures: shape (f,); inputs: shape (k,); common, own: place in `inputs` of what a figure follows, shape (f,);
    share: of the figure's variance (as a score) that is the common input's, shape (f,). Everything that does not share
    an input is assumed independent: wages of prices, prices of one chemistry of those of another, densities and losses
    of everything, the life of a pair of that of another pair; and a life learned from the log of the factors of use,
    though its molds were brought to one use by them, so that where both are drawn such a life is a little too wide.
    """

    figures: tuple[Figure, ...]
    inputs: tuple[Input, ...]
    common: tuple[int, ...]
    own: tuple[int, ...]
    share: tuple[float, ...] = field(repr=False)

    def values(self, scores: Floats) -> dict[Place, Floats]:
        """Return the figures for scores of the inputs.

        scores: standard normal scores, shape (k, d). Returns each figure, shape (d,) [its unit].
        """
        found = {}
        for figure, common, own, share in zip(self.figures, self.common, self.own, self.share, strict=True):
            score = scores[common]
            if share < 1.0:
                score = math.sqrt(share) * score + math.sqrt(1.0 - share) * scores[own]
            found[figure.place] = at_score(figure, score)
        return found

    def likely(self) -> dict[Place, float]:
        """Return every figure at its likely value."""
        return {figure.place: figure.likely for figure in self.figures}


def at_score(figure: Figure, score: Any) -> Floats:
    """Return a figure at standard normal scores, any shape [its unit]."""
    quantile = tenths_quantile if figure.tenths else pert_quantile
    values = quantile(score, figure.low, figure.likely, figure.high)
    return np.clip(values, *SPREADS) if figure.is_spread else values


def inputs_of(figures: Sequence[Figure]) -> Inputs:
    """Return the inputs that a case's figures follow.

    Hours follow the worker's pace, and a part of their own that equally named steps of all techniques share. Prices of
    one chemistry's grades, rubber or casting material, are one price level. Techniques whose rubbers share a life row
    share its median and its spread. Every other figure is an input of its own.
    """
    kinds: dict[str, str] = {}
    counts: dict[str, int] = {}
    follows: list[tuple[str, str, float]] = []
    for figure in figures:
        common, own, share = _followed(figure)
        for name in dict.fromkeys((common, own)):
            kinds.setdefault(name, figure.kind)
            counts[name] = counts.get(name, 0) + 1
        follows.append((common, own, share))
    places: Mapping[str, int] = {name: place for place, name in enumerate(kinds)}
    return Inputs(
        tuple(figures),
        tuple(Input(name, kind, counts[name]) for name, kind in kinds.items()),
        tuple(places[common] for common, _, _ in follows),
        tuple(places[own] for _, own, _ in follows),
        tuple(share for _, _, share in follows),
    )


def _followed(figure: Figure) -> tuple[str, str, float]:
    """Return what a figure follows in common with others, what of its own, and the common share of its variance."""
    if figure.kind == "hours":
        step = figure.place[1].split(" / ", 1)[1]
        return PACE, f"{CASTING if figure.of == 'casting' else ''}{step}{APART}", PACE_SHARE
    if figure.kind == "price" and figure.of:
        level = f"price level, {figure.of}"
        return level, level, 1.0
    return figure.name, figure.name, 1.0
