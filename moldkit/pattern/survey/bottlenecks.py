"""Where a pattern is narrower than what its skin has to pass further out: one neck for each bottleneck."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moldkit.pattern.survey.branches import Branches

Integers = NDArray[np.int64]

# A neck asks for more stretch than this, and between two necks the girth rises by more.
NOTED = 0.05
# What is thinner than this share of the thickest is a speck that no skin catches on.
SPECK = 0.02


def narrowest_runs(tree: Branches) -> list[Integers]:
    """Return the sections of each neck: the narrowest of each bottleneck and those next to it of the same girth.

    The narrowest sections come first; where two bottlenecks meet at a section hardly wider, they are one.
    """
    noted = (tree.passes > (1.0 + NOTED) * tree.girth) & (tree.passes > SPECK * tree.passes.max(initial=0.0))
    neighbours: dict[int, list[int]] = {row: [] for row in np.flatnonzero(noted).tolist()}
    for row, beside in neighbours.items():
        inner = int(tree.inner[row])
        # One on the same level is a branch that hangs beside this one, with what joins them between.
        if inner in neighbours and tree.level[inner] != tree.level[row]:
            beside.append(inner)
            neighbours[inner].append(row)
    basin: dict[int, int] = {}
    necks = []
    order = {row: (float(tree.girth[row]), row) for row in neighbours}
    for row in sorted(neighbours, key=order.__getitem__):
        meeting = sorted({_lowest(basin, other) for other in neighbours[row] if other in basin}, key=order.__getitem__)
        basin[row] = meeting[0] if meeting else row
        for other in meeting[1:]:
            if tree.girth[row] > (1.0 + NOTED) * tree.girth[other]:
                necks.append(other)
            basin[other] = meeting[0]
    necks += [row for row in basin if basin[row] == row]
    return [_run(tree, neighbours, neck) for neck in necks]


def _lowest(basin: dict[int, int], row: int) -> int:
    while basin[row] != row:
        basin[row] = basin[basin[row]]
        row = basin[row]
    return row


def _run(tree: Branches, neighbours: dict[int, list[int]], neck: int) -> Integers:
    """Return a neck's section and those linked to it that are hardly wider."""
    found, ahead = {neck}, [neck]
    while ahead:
        for row in neighbours[ahead.pop()]:
            if row not in found and tree.girth[row] < 1.005 * tree.girth[neck]:
                found.add(row)
                ahead.append(row)
    return np.array(sorted(found))
