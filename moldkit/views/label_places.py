"""Where the labels of a drawing stand: beside their point, clear of the edges, of the curve and of each other."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass


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


def placed(wanted: Wanted, frame: Box, taken: list[Box], gap: float) -> Box | None:
    """Return a place for a label and take it; None where there is none and it may be left out.

    frame: within which it stands; taken: what it must not touch; gap: how far it keeps from that.
    """
    inside = [box for box in wanted.places() if box.within(frame)]
    touched = [sum(box.touches(other, gap) for other in taken) for box in inside]
    if inside and (min(touched) == 0 or wanted.must):
        found: Box | None = inside[touched.index(min(touched))]
    else:
        found = _pushed_in(wanted, frame)
    if found is not None:
        taken.append(found)
    return found


def _pushed_in(wanted: Wanted, frame: Box) -> Box | None:
    """Return the first place, moved as far as it must be to lie within the frame; None where it may be left out."""
    if not wanted.must:
        return None
    first = next(wanted.places())
    across = min(0.0, frame.right - first.right)
    down = max(0.0, frame.top - first.top)
    return Box(first.left + across, first.top + down, first.right + across, first.bottom + down)
