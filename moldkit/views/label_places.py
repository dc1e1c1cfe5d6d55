"""Where the labels of a drawing stand: beside their point, clear of the edges, of the curve and of each other."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise

# Half lines up to which a label that must stand may leave its point.
FARTHER = 8


@dataclass(frozen=True)
class Box:
    """A rectangle of a drawing, y growing downwards."""

    left: float
    top: float
    right: float
    bottom: float

    def touches(self, other: Box, gap: float = 0.0) -> bool:
        """Return whether it comes nearer than `gap` to another."""
        return (
            self.left < other.right + gap
            and other.left < self.right + gap
            and self.top < other.bottom + gap
            and other.top < self.bottom + gap
        )

    def within(self, other: Box) -> bool:
        """Return whether it lies in another."""
        return (
            other.left <= self.left
            and self.right <= other.right
            and other.top <= self.top
            and self.bottom <= other.bottom
        )


def around(x: float, y: float, radius: float) -> Box:
    """Return the box of a dot."""
    return Box(x - radius, y - radius, x + radius, y + radius)


def along(points: Iterable[tuple[float, float]], radius: float, apart: float) -> list[Box]:
    """Return boxes over a line drawn through points, one at every point and at most `apart` from each other."""
    found: list[Box] = []
    for (x1, y1), (x2, y2) in pairwise(points):
        count = max(1, math.ceil(max(abs(x2 - x1), abs(y2 - y1)) / apart))
        found += [around(x1 + (x2 - x1) * n / count, y1 + (y2 - y1) * n / count, radius) for n in range(count + 1)]
    return found


@dataclass(frozen=True)
class Wanted:
    """A label that wants a place: its point, its width and height, how far it keeps from the point; must: it stands
    even where there is no room."""

    x: float
    y: float
    wide: float
    tall: float
    gap: float
    must: bool = False

    def places(self) -> Iterator[Box]:
        """Yield the places beside the point, the best first: where a falling curve leaves most room."""
        x, y, gap = self.x, self.y, self.gap
        for left, top in (
            (x + 0.6 * gap, y - gap - self.tall),
            (x + 1.4 * gap, y - self.tall / 2),
            (x - self.wide / 2, y - 1.4 * gap - self.tall),
            (x - self.wide - 0.6 * gap, y + gap),
            (x - self.wide / 2, y + 1.4 * gap),
            (x + 0.6 * gap, y + gap),
            (x - self.wide - 0.6 * gap, y - gap - self.tall),
            (x + gap, y - 2.6 * gap - self.tall),
            (x - self.wide - gap, y + 2.6 * gap),
        ):
            yield Box(left, top, left + self.wide, top + self.tall)

    def farther_places(self) -> Iterator[Box]:
        """Yield places a little above the point's height, then farther and farther above and below it."""
        x, wide, gap = self.x, self.wide, self.gap
        for left in (x + 1.4 * gap, x - wide - 1.4 * gap):
            yield Box(left, self.y - 0.9 * self.tall, left + wide, self.y + 0.1 * self.tall)
        for lines in range(1, FARTHER + 1):
            away = gap + lines * self.tall / 2
            for top in (self.y - away - self.tall, self.y + away):
                for left in (x + 0.6 * gap, x - wide / 2, x - 0.8 * wide, x - wide - 0.6 * gap):
                    yield Box(left, top, left + wide, top + self.tall)


def placed(wanted: Wanted, frame: Box, taken: list[Box], gap: float) -> Box | None:
    """Return a place for a label and take it; None where there is none and it may be left out.

    frame: within which it stands; taken: what it must not touch; gap: how far it keeps from that.
    """
    inside, touched = _tried(wanted.places(), frame, taken, gap)
    if wanted.must and 0 not in touched:
        inside, touched = _tried((*wanted.places(), *wanted.farther_places()), frame, taken, gap)
    if inside and (min(touched) == 0 or wanted.must):
        found: Box | None = inside[touched.index(min(touched))]
    else:
        found = _pushed_in(wanted, frame)
    if found is not None:
        taken.append(found)
    return found


def _tried(places: Iterable[Box], frame: Box, taken: list[Box], gap: float) -> tuple[list[Box], list[int]]:
    """Return the places that lie within the frame, and how much each touches of what is taken."""
    inside = [box for box in places if box.within(frame)]
    return inside, [sum(box.touches(other, gap) for other in taken) for box in inside]


def _pushed_in(wanted: Wanted, frame: Box) -> Box | None:
    """Return the first place, moved as far as it must be to lie within the frame; None where it may be left out."""
    if not wanted.must:
        return None
    first = next(wanted.places())
    across = min(0.0, frame.right - first.right)
    down = max(0.0, frame.top - first.top)
    return Box(first.left + across, first.top + down, first.right + across, first.bottom + down)
