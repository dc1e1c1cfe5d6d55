"""Which way up a mold is filled best: with the fewest vents, the least that lies level, and then the least height."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from moldkit.pattern.all_round import half_sphere
from moldkit.pattern.survey.directions import beside
from moldkit.pattern.survey.pockets import LEAST_DEPTH, Pocket, Surface, find_pockets, surface_of
from moldkit.pattern.survey.results import Floats, Point, Trap, WayUp

Integers = NDArray[np.int64]

# Axes over the half sphere that are tried both ways, besides the pattern's own: neighbours some 20 degrees apart.
AXES = 24
# Flat parts that count have at least this share of the surface.
MOST_FLATS, FLAT_SHARE = 6, 0.03
# Then those beside the best few, at this angle [rad], since the ways without vents may be narrow.
BEST, STEP = 4, math.radians(12.0)
# Ways up are really different when they are this far apart [rad].
APART = math.radians(30.0)
# Bubbles rest under what is less steep than this [rad].
LEVEL = math.radians(10.0)
# Ways are alike whose costs fall in the same step of so many vents; the lower one is then the better.
ALIKE = 0.25
# For choosing among directions a surface of more than a few faces is gathered in cells of this share of the longest
# side, or of finer ones where less than most of its area would remain.
FEW_FACES, CELL, FINEST, MOST_OF = 15_000, 1 / 64, 1 / 600, 0.7


def way_up(surface: Surface, up: Floats, *, open_top: bool = False) -> WayUp:
    """Return how a pour fills a mold that way up.

    up: unit vector; open_top: the highest plane is open. The spout of a closed mold stands on the highest top and
    vents stand on the others. An open one needs no spout, and tops on its open plane, to within the least depth of
    a trap, are none; no rubber is poured that way up, so that it has no ceilings.
    """
    hills, pockets = find_pockets(surface, up)
    low, high = float(hills.heights.min()), float(hills.heights.max())
    tops = [pocket for pocket in pockets if not pocket.under]
    if open_top:
        tops = [pocket for pocket in tops if pocket.top < high - LEAST_DEPTH * surface.longest]
    ceilings = [pocket for pocket in pockets if pocket.under and not open_top]
    places = [_point(pocket.at) for pocket in tops]
    return WayUp(
        up=_point(up),
        open_top=open_top,
        tops=tuple(_trap(pocket) for pocket in tops),
        ceilings=tuple(_trap(pocket) for pocket in ceilings),
        spout=None if open_top or not places else places[0],
        vents=tuple(places if open_top else places[1:]),
        head=high - low,
    )


def cost(surface: Surface, way: WayUp) -> float:
    """Return what a way up costs, in vents: one for each, and the shares of the area where air stays all the same.

    Those are the pockets that the vents stand on, and what lies nearly level over the casting: bubbles rest there
    and don't run to the spout, so that a flat piece is better tilted (common practice, no source).
    """
    area = float(surface.areas.sum())
    level = surface.vectors @ np.array(way.up) > math.cos(LEVEL) * surface.areas
    return len(way.vents) + (sum(top.area for top in way.tops[1:]) + float(surface.areas[level].sum())) / area


def best_first(surface: Surface, most: int, *, leave_out: Floats | None = None) -> list[WayUp]:
    """Return the best ways up of a closed mold, at most `most`, all really different.

    leave_out: a unit vector; ways near it are not tried.
    """
    coarse = gathered(surface)
    tried = _ranked(coarse, [way_up(coarse, up) for up in _allowed(_ups(coarse), leave_out)])
    near = np.vstack([beside(np.array(way.up), STEP, level=False) for way in tried[:BEST]])
    tried = _ranked(coarse, tried + [way_up(coarse, up) for up in _allowed(near, leave_out)])
    chosen: list[WayUp] = []
    for way in tried:
        if len(chosen) < most and all(np.dot(way.up, other.up) < math.cos(APART) for other in chosen):
            chosen.append(way)
    if coarse is surface:
        return chosen
    return _ranked(surface, [way_up(surface, np.array(way.up)) for way in chosen])


def gathered(surface: Surface) -> Surface:
    """Return a surface with the vertices of each cell gathered in one of them, so that no flat top is bent.

    Still every edge is met by as many faces one way as the other. A surface of few faces is left as it is, and so is
    one so slender that nothing would be left of it.
    """
    side = CELL * surface.longest
    while len(surface.faces) > FEW_FACES and side > FINEST * surface.longest:
        coarse = _in_cells(surface, side)
        if coarse.areas.sum() > MOST_OF * surface.areas.sum():
            return coarse
        side /= 2.0
    return surface


def _in_cells(surface: Surface, side: float) -> Surface:
    cells = ((surface.vertices - surface.vertices.min(axis=0)) / side).astype(np.int64)
    nx, ny, _ = cells.max(axis=0) + 1
    numbers = (cells[:, 2] * ny + cells[:, 1]) * nx + cells[:, 0]
    _, first, cell = np.unique(numbers, return_index=True, return_inverse=True)
    a, b, c = (cell[surface.faces[:, corner]] for corner in range(3))
    whole = (a != b) & (b != c) & (c != a)
    return surface_of(surface.vertices[first], np.stack([a[whole], b[whole], c[whole]], axis=1))


def _ups(surface: Surface) -> Floats:
    """Return the directions to try, upwards and downwards along each axis, shape (k, 3).

    The axes are those of the bounding box, of the surface's inertia, across its largest flat parts, and more all
    round.
    """
    centres = surface.vertices[surface.faces].mean(axis=1)
    centres -= np.average(centres, axis=0, weights=surface.areas)
    inertia = np.linalg.eigh(centres.T @ (centres * surface.areas[:, None]))[1].T
    axes = np.vstack([np.eye(3), inertia, _flats(surface), half_sphere(AXES)])
    return np.stack([axes, -axes], axis=1).reshape(-1, 3)


def _flats(surface: Surface) -> Floats:
    """Return the normals of the largest flat parts, shape (k, 3)."""
    normals: Floats = surface.vectors / np.maximum(surface.areas, np.finfo(float).tiny)[:, None]
    steps = np.rint(100.0 * normals).astype(np.int64) + 100
    _, first, which = np.unique(steps @ [1, 201, 201 * 201], return_index=True, return_inverse=True)
    parts = np.bincount(which, surface.areas)
    largest = np.argsort(-parts, kind="stable")[:MOST_FLATS]
    chosen: Floats = normals[first[largest[parts[largest] > FLAT_SHARE * surface.areas.sum()]]]
    return chosen


def _allowed(ups: Floats, leave_out: Floats | None) -> Floats:
    return ups if leave_out is None else ups[ups @ leave_out < math.cos(APART)]


def _ranked(surface: Surface, ways: list[WayUp]) -> list[WayUp]:
    """Return ways up in the order of their costs, and of their heads where the costs are alike; ties stay in order."""
    grain = 1e-6 * surface.longest
    return sorted(ways, key=lambda way: (math.floor(cost(surface, way) / ALIKE), round(way.head / grain)))


def _trap(pocket: Pocket) -> Trap:
    return Trap(_point(pocket.at), pocket.top - pocket.foot, pocket.area, pocket.under)


def _point(place: Floats) -> Point:
    x, y, z = (place + 0.0).tolist()  # no minus nought
    return (x, y, z)
