"""Whether a one-piece skin peels off a pattern: how far it must widen to pass what lies beyond each neck.

The pattern is cut into level sections along the axis that the skin is pulled off along, and its branches are followed
one by one from the end where the skin is opened. A band of skin at a section has to pass all sections that lie further
out, away from that end: up to the tip of the branch, over all branches of a fork at once, and down a branch that
hangs, which slips out of its pocket over its own tip. Where branches join again, as at a handle or between the legs
of a figure on its board, the skin closes round a hole and has to be cut across it; the stretch is that of the skin so
cut, in which one band runs round all the branches of the ring together.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moldkit.pattern.mesh import Mesh
from moldkit.pattern.survey.loops import Loops, components
from moldkit.pattern.survey.peel_cut import Cut, View
from moldkit.pattern.survey.results import Peel
from moldkit.pattern.survey.sections import Sections

Integers = NDArray[np.int64]

# Axes by preference, and the two coordinates of the plane seen against each, right-handed.
_AXES: tuple[tuple[int, int], ...] = ((2, 1), (2, -1), (0, 1), (0, -1), (1, 1), (1, -1))


def allowed_stretch(elongation: float, safety: float = 2.0) -> float:
    """Return the share by which a rubber may be widened at demolding.

    Common practice, no source: half of the elongation at break, so that the rubber comes back and the mold lasts.
    elongation: at break, as a share (4 for 400 %); safety: what it is divided by, at least 1. Raises ValueError
    for a safety below 1 or an elongation below 0.
    """
    if safety < 1.0 or elongation < 0.0:
        raise ValueError(f"safety is {safety} and elongation {elongation}; they are at least 1 and 0")
    return elongation / safety


def survey_peel(mesh: Mesh, *, stands_on_base: bool) -> Peel:
    """Find where a one-piece skin must widen to come off a pattern.

    mesh: closed [m]; stands_on_base: the skin is open below and is pulled straight up, else it is slit at one end and
    pulled off along x, y or z, whichever asks for the least stretch, z first. Returns axis, necks and loops; girths
    within 0.1 % of the section's, levels 1/200 of the height apart, finer at necks and flanges.
    """
    if stands_on_base:
        view = View.of(mesh, *_AXES[0])
        first = best = Cut.at(view, mesh.faces, view.levels(opened_above=False), on_board=True)
    else:
        both = [Cut.at(view, mesh.faces, view.levels(opened_above=True)) for view in _views(mesh)]
        cuts = [cut.opened() for pair in both for cut in (pair, pair.turned())]
        stretches = np.array([max((neck.stretch for neck in cut.necks()), default=0.0) for cut in cuts])
        # Axes that differ by rounding are equal, and the first one counts.
        chosen = int(np.argmax(stretches <= stretches.min() * 1.02 + 1e-3))
        first, best = both[chosen // 2], cuts[chosen]
        view = View.of(mesh, *_AXES[chosen])
    if not len(best.sections.level):  # inside out: nothing solid to pull a skin off
        return Peel(view.axis, (), 0)
    levels = best.finer_levels()
    if len(levels) > len(best.levels):
        best = Cut.at(view, mesh.faces, levels, on_board=stands_on_base)
    return Peel(view.axis, best.necks(), count_rings(first.loops, first.sections, on_board=stands_on_base))


def _views(mesh: Mesh) -> list[View]:
    return [View.of(mesh, along, way) for along, way in _AXES if way > 0]


def count_rings(loops: Loops, sections: Sections, *, on_board: bool) -> int:
    """Return how many holes and handles a skin closes round: rings of the surface, the board closing it below.

    A ring of a single level, lower than a hundredth of the height at most, is a flaw of the scan.
    """
    below = loops.below.copy()
    if on_board:
        lowest = loops.level == 0
        below[lowest] = max(int(loops.below.max()), int(loops.above.max())) + 1 + sections.floor
    number, end = np.unique(np.concatenate([below, loops.above]), return_inverse=True)
    ends = end.reshape(2, -1)
    return _rings(ends) - _rings(ends + len(number) * loops.level)


def _rings(edges: Integers) -> int:
    """Return how many independent rings edges form; edges: shape (2, e)."""
    ends, end = np.unique(edges, return_inverse=True)
    parts = components(end.reshape(2, -1), len(ends))
    return len(edges[0]) - len(ends) + int(parts.max(initial=-1)) + 1
