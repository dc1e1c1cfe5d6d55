"""Leaving out the inside surface of a hollow scan that stands open, or on the rim of its wall."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moldkit.pattern.intake.base import FLAT, lies_flat
from moldkit.pattern.intake.edges import edges_of
from moldkit.pattern.intake.patches import patches
from moldkit.pattern.intake.rims import Rim, rims_of
from moldkit.pattern.intake.size import longest_side

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]


def outside_only(vertices: Floats, faces: Integers, name: str) -> tuple[Integers, int]:
    """Return the faces without those of inside surfaces, and how many faces were left out.

    vertices: shape (n, 3); faces: shape (m, 3), open or closed; name: of the file. What stands in the lowest plane is
    taken off; if the surface then falls apart into shells, one within another, the inner ones are left out, and the
    outer one is open below. Where nothing is found to leave out, all faces are returned.
    """
    low = vertices[:, 2] - vertices[:, 2].min() <= FLAT * longest_side(vertices)
    wall = faces[~low[faces].all(axis=1)]
    if not len(wall):
        return faces, 0
    edges = edges_of(wall)
    if (edges.open() & (edges.count > 1)).any():
        return faces, 0
    label = patches(vertices, wall, edges)
    home = np.full(len(vertices), -1)
    home[wall] = label[:, None]
    outlines: dict[int, list[Rim]] = {}
    for rim in rims_of(vertices, wall, edges, name):
        if lies_flat(vertices, rim):
            outlines.setdefault(int(home[rim.vertices[0]]), []).append(rim)
    inner = [
        shell
        for shell, rims in outlines.items()
        if any(_within(vertices, rims[0], others) for other, others in outlines.items() if other != shell)
    ]
    if not inner:
        return faces, 0
    kept = wall[~np.isin(label, inner)]
    return kept, len(wall) - len(kept)


def _within(vertices: Floats, rim: Rim, outlines: list[Rim]) -> bool:
    """Return whether a rim, seen from above, lies in the area that outlines enclose, gaps left out."""
    x, y = vertices[rim.vertices[0], :2].tolist()
    crossings = 0
    for outline in outlines:
        a = vertices[outline.vertices, :2]
        b = np.roll(a, -1, axis=0)
        spans = (a[:, 1] > y) != (b[:, 1] > y)
        a, b = a[spans], b[spans]
        at = a[:, 0] + (y - a[:, 1]) / (b[:, 1] - a[:, 1]) * (b[:, 0] - a[:, 0])
        crossings += int((at > x).sum())
    return crossings % 2 == 1
