"""Figures that are moved together when one asks 'what if': all hours, a technique's hours, one step, a price level."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldkit.study.uncertainty.figures import Figure, Place
from moldkit.study.uncertainty.inputs import APART, PACE, Inputs, at_score

Floats = NDArray[np.float64]
# Three times as far from likely as the ends of the range, as a factor, and five-fold at the most, is still sane.
FAR, FARTHEST = 3.0, 5.0
# What stands before the name of a step that several techniques take, and that is quick or slow in all of them.
SHARED = "shared step: "


@dataclass(frozen=True)
class Lever:
    """Figures moved together by one factor.

    name: in plain words; kind: as of the figures; figures: those it moves; span: least and greatest factor that is
    still sane.
    """

    name: str
    kind: str
    figures: tuple[Figure, ...]
    span: tuple[float, float]

    def by_factor(self, factors: Floats) -> Mapping[Place, Floats]:
        """Return the figures multiplied by factors, shape (n,) [their units]."""
        return {figure.place: figure.likely * factors for figure in self.figures}

    def at_score(self, score: Floats) -> Mapping[Place, Floats]:
        """Return the figures at standard normal scores, all at the same one, shape (n,) [their units]."""
        return {figure.place: at_score(figure, score) for figure in self.figures}

    def share_beyond(self, factor: float, values: Mapping[Place, Floats]) -> float:
        """Return the share of plausible shops that are as far off as a factor, or farther on its side of 1.

        values: the figures of the shops, shape (d,) [their units]. A shop is off by the mean of its figures' ratios to
        their likely values.
        """
        off = np.mean([values[f.place] / f.likely for f in self.figures if f.likely > 0.0], axis=0)
        return float(np.mean(off <= factor if factor < 1.0 else off >= factor))


def levers_of(inputs: Inputs, techniques: Mapping[str, str]) -> tuple[Lever, ...]:
    """Return what can be moved, the wide levers first.

    inputs: the figures that matter; techniques: names by key. First all hours, then the hours of making each
    technique's first mold and of casting, then each step in all techniques that take it, as the inputs have it, each
    price level, every figure by itself.
    """
    groups: dict[tuple[str, str], list[Figure]] = {}
    for name, figure in _grouped(inputs, techniques):
        groups.setdefault((name, figure.kind), []).append(figure)
    return tuple(_lever(name, kind, figures) for (name, kind), figures in groups.items())


def _grouped(inputs: Inputs, techniques: Mapping[str, str]) -> Iterator[tuple[str, Figure]]:
    hours = [figure for figure in inputs.figures if figure.kind == "hours"]
    yield from ((f"{PACE}: all hours", figure) for figure in hours)
    for figure in hours:
        yield ("hours of casting" if figure.of == "casting" else f"hours of {techniques[figure.of]}"), figure
    takers: dict[int, set[str]] = {}
    for figure, own in zip(inputs.figures, inputs.own, strict=True):
        takers.setdefault(own, set()).add(figure.of)
    for figure, common, own in zip(inputs.figures, inputs.common, inputs.own, strict=True):
        if figure.kind != "hours":
            yield inputs.inputs[common].name, figure
        elif len(takers[own]) > 1:
            yield f"{SHARED}{inputs.inputs[own].name.removesuffix(APART)}", figure
        else:
            yield figure.name.rpartition(", ")[0], figure


def _lever(name: str, kind: str, figures: Sequence[Figure]) -> Lever:
    moved = [figure for figure in figures if figure.likely > 0.0]
    low = min(((f.low / f.likely) ** FAR for f in moved), default=1.0)
    high = max(((f.high / f.likely) ** FAR for f in moved), default=1.0)
    return Lever(name, kind, tuple(figures), (max(low, 1.0 / FARTHEST), min(high, FARTHEST)))
