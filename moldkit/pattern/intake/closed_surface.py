"""From loose triangles to a closed surface that faces outwards, saying what was mended on the way."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from moldkit.errors import InputError
from moldkit.pattern.intake.bodies import flat, make_solid
from moldkit.pattern.intake.choices import MEND_MEANS
from moldkit.pattern.intake.loose import Loose, checked, only_used
from moldkit.pattern.intake.mending import close
from moldkit.pattern.intake.merging import joined, merged, without_pairs
from moldkit.pattern.intake.rims import areas
from moldkit.pattern.intake.sides import inverted_share
from moldkit.pattern.intake.size import METRES, check_size, longest_side
from moldkit.pattern.intake.surface import Surface, Wish
from moldkit.pattern.intake.winding import aligned

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

# A closed mesh whose mean wall, 2 V / A, is less than this share of its longest side may be a hollow scan.
THIN_WALL = 0.02
# A surface that crosses itself is no longer believed when more than this share of it faces inwards.
MOST_INVERTED, NOTED_INVERTED = 0.1, 0.01


def closed_surface(
    loose: Loose, wish: Wish, progress: Callable[[float], None]
) -> tuple[Floats, Integers, tuple[str, ...]]:
    """Return vertices (n, 3) [m] and faces (m, 3) of a closed surface facing outwards, and what was mended.

    loose: triangles as read; wish: what was said about the file; progress: called with the finished share, 0 to 1.
    Raises InputError in one sentence where the surface cannot be closed by what was allowed, is one-sided, encloses
    nothing, or is not between 5 mm and 5 m long.
    """
    loose = checked(loose, wish.name)
    with np.errstate(over="ignore"):
        check_size(longest_side(loose.vertices), wish.unit, wish.name)
    surface = Surface(*merged(loose.vertices, loose.faces, wish.name))
    progress(0.4)
    if surface.edges.open().any():
        vertices, faces, notes = joined(surface.vertices, surface.faces, surface.edges, wish.name)
        surface.change(faces, vertices)
        surface.notes += notes
    faces, notes = aligned(surface.faces, surface.edges, wish.name)
    if notes:
        surface.change(faces)
        surface.notes += notes
    close(surface, wish)
    # Where no edge has more than two faces, two back to back are a sheet by themselves, which is dropped later.
    if surface.edges.count.max() > 2:
        _drop_pairs(surface, wish)
    progress(0.7)
    volume = make_solid(surface, wish)
    check_size(surface.longest, wish.unit, wish.name)
    _check_closed(surface, wish)
    if loose.unit not in ("", wish.unit):
        surface.notes.append(f"The file itself says that its unit is {loose.unit}; it was read in {wish.unit}.")
    metres = METRES[wish.unit]
    surface.notes += [*_crossing(surface, wish), *_doubts(surface, volume, metres)]
    return surface.vertices * metres, np.ascontiguousarray(surface.faces), tuple(surface.notes)


def _check_closed(surface: Surface, wish: Wish) -> None:
    """Refuse, after all mending, what still is no closed surface; numbers too large or too close can lead to it."""
    if surface.edges.open().any() or surface.edges.crossed().any() or not np.isfinite(surface.vertices).all():
        raise InputError(f"{wish.name}: the surface could not be closed; repair it by hand and export it again.")


def _drop_pairs(surface: Surface, wish: Wish) -> None:
    faces, notes = without_pairs(surface.faces)
    if not len(faces):
        raise flat(wish.name)
    if notes:
        vertices, faces = only_used(surface.vertices, faces)
        surface.change(faces, vertices)
        surface.notes += notes


def _crossing(surface: Surface, wish: Wish) -> list[str]:
    """Return a sentence on a surface that crosses itself, so that some of it faces inwards; refuse where much does."""
    share = inverted_share(surface.vertices, surface.faces)
    if share > MOST_INVERTED:
        raise InputError(
            f"{wish.name}: the surface crosses itself, and {share:.0%} of it faces inwards; repair it by hand and "
            "export it again."
        )
    if share > NOTED_INVERTED:
        return [
            f"The surface crosses itself: about {share:.0%} of it faces inwards, and counts as surface all the same."
        ]
    return []


def _doubts(surface: Surface, volume: float, metres: float) -> list[str]:
    """Return a sentence on a mesh that is closed but thin everywhere."""
    wall = 2.0 * volume / float(areas(surface.vertices, surface.faces).sum())
    if wall >= THIN_WALL * surface.longest:
        return []
    return [
        f"It is thin: about {wall * metres * 1e3:.1f} mm from face to face; if it is a hollow scan, the inside counts "
        f'as surface to be molded, unless it is filled: mend = "fill hollow" {MEND_MEANS["fill hollow"]}.'
    ]
