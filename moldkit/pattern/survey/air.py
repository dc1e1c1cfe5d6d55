"""Where air stays when a mold of a pattern is poured, and when a casting is poured in the mold."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moldkit.pattern.mesh import Mesh
from moldkit.pattern.survey.pockets import LEAST_DEPTH, find_pockets, surface_of
from moldkit.pattern.survey.results import Air
from moldkit.pattern.survey.ways_up import best_first, way_up

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

UP, DOWN = np.array([0.0, 0.0, 1.0]), np.array([0.0, 0.0, -1.0])
MOST_OTHERS = 5


def survey_air(mesh: Mesh, *, stands_on_base: bool) -> Air:
    """Find where air stays as the pattern stands and in the casting, and the best way up to cast.

    mesh: closed, facing outwards, z up [m]; stands_on_base: the casting is poured base uppermost into the open
    base, else in a closed mold with a spout, any way up. Returns places, depths and heights [m], areas [m2]; traps
    less deep than 1 % of the longest side are left out. Bodies that overlap are to be made one before.
    """
    surface = surface_of(mesh.vertices, mesh.faces)
    standing = way_up(surface, UP)
    if stands_on_base:
        others = best_first(surface, MOST_OTHERS, leave_out=DOWN)
        return Air(standing, way_up(surface, DOWN, open_top=True), tuple(others))
    best, *others = best_first(surface, 1 + MOST_OTHERS)
    return Air(standing, best, tuple(others))


def trapped_depths(vertices: Floats, faces: Integers, up: Floats, *, open_top: bool = False) -> tuple[Floats, Floats]:
    """Return how deep air stands below each vertex: in the casting, and in rubber poured round the pattern.

    vertices: of a closed surface, thinned at will, shape (n, 3) [m]; faces: shape (m, 3); up: unit vector, shape
    (3,); open_top: the mold is open at its highest plane, else air leaves through a spout on its highest top.
    Returns two arrays of shape (n,) [m], 0 where no air stays: before any vent is set and with none brushed out.
    No rubber is poured where the top is open: then the second is 0.
    """
    surface = surface_of(vertices, faces)
    hills, pockets = find_pockets(surface, up)
    opening = float(hills.heights.max()) - LEAST_DEPTH * surface.longest
    depths = np.zeros(len(vertices)), np.zeros(len(vertices))
    for pocket in pockets:
        vented = pocket.under or pocket.top >= opening if open_top else pocket.hill == 0
        if not vented:
            inside = (hills.heights > pocket.foot) & (hills.joined(pocket.foot) == pocket.hill)[hills.of_vertex]
            depth = depths[pocket.under]
            depth[inside] = np.maximum(depth[inside], hills.heights[inside] - pocket.foot)
    return depths
