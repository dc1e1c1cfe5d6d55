"""Labels beside points of a chart, each where nothing stands yet, in pixels of a page of usual width."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

Box = tuple[float, float, float, float]
# Width of a letter and height of a line as shares of the letters' size, and how near two boxes may come [px].
LETTER, LINE_HEIGHT, GAP = 0.56, 1.35, 2.0
LIFTS = (17.0, 33.0, 49.0, 65.0, 85.0, 110.0, 140.0)
# For labels that are left out rather than led away.
NEAREST = LIFTS[:2]


@dataclass(frozen=True)
class Spot:
    """Where a label stands: from its point to the right and up [px], and which of its edges that is."""

    right: float
    up: float
    anchor: str


@dataclass
class FreeLabels:
    """The room of a chart, as wide and high as said [px]; what is placed keeps its place."""

    wide: float
    high: float
    _taken: list[Box] = field(default_factory=list)

    def mark(self, points: Iterable[tuple[float, float]], size: float = 12.0) -> None:
        """Keep points free, given in px from the left and the foot."""
        self._taken += [(x - size / 2, y - size / 2, x + size / 2, y + size / 2) for x, y in points]

    def place(self, x: float, y: float, words: str, size: float, lifts: tuple[float, ...] = LIFTS) -> Spot | None:
        """Return a spot for words beside a point, the nearest that is free; None where none is.

        size: of letters [px]; lifts: how far up or down they may stand, the nearest first [px].
        """
        long, tall = LETTER * size * len(words), LINE_HEIGHT * size
        for spot in _spots(lifts):
            left = {"left": x + spot.right, "right": x + spot.right - long, "center": x - long / 2}[spot.anchor]
            box = (left, y + spot.up - tall / 2, left + long, y + spot.up + tall / 2)
            if self._fits(box):
                self._taken.append(box)
                return spot
        return None

    def _fits(self, box: Box) -> bool:
        left, foot, right, top = box
        inside = left >= 0.0 and foot >= 0.0 and right <= self.wide and top <= self.high
        return inside and not any(
            left < r + GAP and right > a - GAP and foot < t + GAP and top > b - GAP for a, b, r, t in self._taken
        )


def _spots(lifts: tuple[float, ...]) -> Iterator[Spot]:
    for lift in lifts:
        for up in (-lift, lift):
            yield Spot(0.0, up, "center")
            yield Spot(7.0, up, "left")
            yield Spot(-7.0, up, "right")
