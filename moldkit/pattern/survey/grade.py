"""How much a pattern hooks: not at all, as much as soft rubber gives way, or more."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldkit.pattern.survey.samples import Samples
from moldkit.pattern.survey.sideways import Draw
from moldkit.pattern.survey.undercut import SHALLOW, hidden_depths

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

# Depths are measured at no more hidden points than about this.
MOST_HIDDEN = 300
# A rigid mold comes off if it frees this share of the molded area, scratches left aside; a soft one if it frees
# this. Common practice, no source: a few specks are freed with a knife or filled in the rubber.
RIGID_FREES, SOFT_FREES = 0.99, 0.98


@dataclass(frozen=True, eq=False)
class Hold:
    """What holds a mold that leaves straight.

    rigid: share of the molded area that it frees, scratches included; hidden: share that each point below stands
    for; depth: sideways, shape (k,) [m]; stretch: share by which rubber widens, infinite where it cannot leave;
    scratch: which of the points are scratches only, shape (k,).
    """

    rigid: float
    hidden: float
    depth: Floats
    stretch: Floats
    scratch: Flags

    def soft(self, stretch: float) -> float:
        """Return the share that rubber frees which may widen by `stretch`."""
        gives = ~self.scratch & (self.stretch <= stretch)
        return self.rigid + self.hidden * float(gives.sum())


def held(draw: Draw, samples: Samples, visible: Flags) -> Hold:
    """Measure what holds a mold; visible: which of the points it frees, shape (n,)."""
    hidden = np.flatnonzero(~visible)
    some = hidden[:: max(1, len(hidden) // MOST_HIDDEN)]
    depth, stretch = hidden_depths(draw, samples.chosen(some))
    scratch: Flags = depth < SHALLOW * draw.size
    each = len(hidden) / len(visible) / max(1, len(some))
    return Hold(float(visible.mean()) + each * float(scratch.sum()), each, depth, stretch, scratch)


def grade_of(hold: Hold, stretch: float) -> str:
    """Return "none", "moderate" or "severe" for what holds a mold; stretch: share that soft rubber may widen by."""
    if hold.rigid >= RIGID_FREES:
        return "none"
    return "moderate" if hold.soft(stretch) >= SOFT_FREES else "severe"
