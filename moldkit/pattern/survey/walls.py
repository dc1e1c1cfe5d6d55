"""How thin a pattern is and how narrow its hollows.

A place is as thin, or a gap as narrow, as half of the surface round it keeps below, within 1/133 of the longest side,
where the two sides are all but parallel: so a sliver of a scan and the edge of a box are passed over, and the tip of a
thin horn, a fin or the edge of a leaf is not. Shares count sides that lean towards each other more too. The board
that a pattern stands on is no side of a gap: a skin lies on the pattern alone, and what flows between the two lifts off
with it.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from moldkit.pattern.mesh import Mesh
from moldkit.pattern.piecewise import Number
from moldkit.pattern.survey.across import Across, Distances
from moldkit.pattern.survey.rays import Rays
from moldkit.pattern.survey.results import Point, Walls
from moldkit.pattern.survey.samples import Samples, surface_samples

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]

# Points spread over the surface, and each so many-th of them that is measured; then twice, where it is thinnest, up to
# so many in the neighbourhood of so large a share of the surface, least first.
POINTS, _STEP = 300_000, 10
_FINER = ((0.02, 8_000), (0.004, 6_000))
# A neighbourhood reaches so far, as a share of the longest side, and a patch so far round its middle.
_NEIGHBOURHOOD, PATCH = 0.02, 0.0075
_CELLS = int(1.0 / _NEIGHBOURHOOD) + 4
# Points that a patch has at least, and middles of patches tried in a row and at most, least distance first.
_FEWEST, _CANDIDATES, _MOST_CANDIDATES = 6, 500, 10_000
_STEPS = 100


@dataclass(frozen=True, eq=False)
class _Spread:
    """Points that were measured.

    rows: their numbers among all points, shape (n,); points: shape (n, 3) [m]; area: that each stands for, shape (n,)
    [m2]; found: there.
    """

    rows: Integers
    points: Floats
    area: Floats
    found: Distances


@dataclass(frozen=True)
class _Patch:
    """The least distance that a patch agrees on [m], and the number of the point in its middle."""

    distance: float
    middle: int


def survey_walls(mesh: Mesh, *, stands_on_base: bool, rays: Rays | None = None) -> Walls:
    """Measure the walls of a pattern and its gaps.

    mesh: closed [m]; stands_on_base: the base is no molded surface; rays: of this mesh, if there are some already.
    Returns thicknesses and gaps with shares of the molded area; shares within about 0.5 percentage points.
    """
    samples = surface_samples(mesh, POINTS, stands_on_base=stands_on_base)
    surface = _Surface(samples, Across(mesh, rays), float(np.ptp(mesh.vertices, axis=0).max()))
    whole = surface.spread(np.arange(0, POINTS, _STEP), _STEP)
    thin, thinnest = _refined(surface, whole, "wall")
    narrow, narrowest = _refined(surface, whole, "groove")
    thickness, thickness_share = _shares(thin, thin.found.thickness, thinnest)
    gap, gap_share = _shares(narrow, narrow.found.gap, narrowest)
    if thinnest is None:
        thin, thinnest = whole, _median(whole)
        thickness, thickness_share = np.array([thinnest.distance]), np.array([0.5])
    return Walls(
        thickness,
        thickness_share,
        _across(surface, thin, thinnest, -0.5),
        gap,
        gap_share,
        None if narrowest is None else _across(surface, narrow, narrowest, 0.5),
    )


def hollow_wall_closes(walls: Walls, wall: Number) -> Number:
    """Return the share of the molded area where a hollow casting closes solid: thinner than two of its walls.

    wall: of the casting, number or array [m].
    """
    return walls.thinner_than(2.0 * wall)


class _Surface:
    """A molded surface with points spread over it, most of them not yet measured."""

    def __init__(self, samples: Samples, across: Across, longest: float) -> None:
        self.samples, self.longest, self._across = samples, longest, across
        self._low = samples.points.min(axis=0)
        self._cell = self._cells(samples.points)

    def spread(self, rows: Integers, every: float) -> _Spread:
        """Measure some points, each standing for so many; those within another body are left out."""
        points = self.samples.points[rows]
        found = self._across.measure(points, self.samples.normals[rows])
        area = np.full(len(rows), self.samples.area * every)
        return _only(_Spread(rows, points, area, found), ~found.hidden)

    def near(self, points: Floats) -> Flags:
        """Return which points of the surface lie in the neighbourhood of some points."""
        steps = np.stack(np.meshgrid(*[np.array([-1.0, 0.0, 1.0])] * 3), axis=-1).reshape(-1, 1, 3)
        flagged = np.zeros(_CELLS**3, dtype=bool)
        flagged[self._cells((points + steps * (_NEIGHBOURHOOD * self.longest)).reshape(-1, 3))] = True
        result: Flags = flagged[self._cell]
        return result

    def _cells(self, points: Floats) -> Integers:
        places = np.floor((points - self._low) / (_NEIGHBOURHOOD * self.longest)).astype(np.int64) + 1
        x, y, z = np.clip(places, 0, _CELLS - 1).T
        result: Integers = (x * _CELLS + y) * _CELLS + z
        return result


def _only(spread: _Spread, kept: Flags) -> _Spread:
    some = Distances(*(getattr(spread.found, name)[kept] for name in _MEASURED))
    return _Spread(spread.rows[kept], spread.points[kept], spread.area[kept], some)


def _both(one: _Spread, other: _Spread) -> _Spread:
    both = (one.found, other.found)
    found = Distances(*(np.concatenate([getattr(each, name) for each in both]) for name in _MEASURED))
    rows, area = np.concatenate([one.rows, other.rows]), np.concatenate([one.area, other.area])
    return _Spread(rows, np.vstack([one.points, other.points]), area, found)


_MEASURED = tuple(field.name for field in fields(Distances))


def _refined(surface: _Surface, spread: _Spread, name: str) -> tuple[_Spread, _Patch | None]:
    """Return points that are denser where a distance is least, and the patch of the least."""
    for share, most in _FINER:
        distance: Floats = getattr(spread.found, name)
        finite = np.flatnonzero(np.isfinite(distance))
        if not len(finite):
            return spread, None
        order = finite[np.argsort(distance[finite], kind="stable")]
        least = order[: 1 + np.searchsorted(np.cumsum(spread.area[order]), share * spread.area.sum())]
        near = surface.near(spread.points[least])
        inside = np.flatnonzero(near)
        rows = inside[:: -(-len(inside) // most)]
        denser = surface.spread(rows, len(inside) / len(rows))
        spread = _both(_only(spread, ~near[spread.rows]), denser)
    return spread, _least_patch(spread, getattr(spread.found, name), PATCH * surface.longest)


def _least_patch(spread: _Spread, distance: Floats, radius: float) -> _Patch | None:
    """Return the least distance that half of the surface within a radius of some point keeps below."""
    from scipy.spatial import cKDTree

    finite = np.flatnonzero(np.isfinite(distance))
    order = finite[np.argsort(distance[finite], kind="stable")]
    best: _Patch | None = None
    tree = cKDTree(spread.points)
    for first in range(0, min(len(order), _MOST_CANDIDATES), _CANDIDATES):
        if best is not None and distance[order[first]] >= best.distance:
            break
        some = order[first : first + _CANDIDATES]
        for row, near in zip(some.tolist(), tree.query_ball_point(spread.points[some], radius), strict=True):
            at = _half_below(distance[near], spread.area[near]) if len(near) >= _FEWEST else np.inf
            if at < (np.inf if best is None else best.distance):
                best = _Patch(at, row)
    return best


def _half_below(distance: Floats, area: Floats) -> float:
    order = np.argsort(distance, kind="stable")
    covered = np.cumsum(area[order])
    return float(distance[order[np.searchsorted(covered, covered[-1] / 2.0)]])


def _shares(spread: _Spread, distance: Floats, least: _Patch | None) -> tuple[Floats, Floats]:
    """Return distances from the least patch's on, and the share of the molded area that is no wider."""
    if least is None:
        return np.empty(0), np.empty(0)
    order = np.argsort(distance, kind="stable")
    order = order[np.isfinite(distance[order])]
    rising, share = distance[order], np.cumsum(spread.area[order]) / spread.area.sum()
    most = max(float(rising[-1]), least.distance)
    places = np.linspace(0, len(rising) - 1, _STEPS).astype(np.int64)
    at = np.concatenate([np.geomspace(least.distance, most, _STEPS), rising[places]])
    # Equal but for rounding, such as all of a plate, is equal.
    at = np.unique(np.clip(at, least.distance, most))
    at = at[np.append(np.diff(np.floor(1e6 * np.log(at / most) + 0.5)) > 0.0, True)]
    below = np.searchsorted(rising, at * (1.0 + 1e-6), side="right")
    return at, np.append(0.0, share)[below]


def _median(spread: _Spread) -> _Patch:
    """Return the median distance straight through, for a body that nowhere has two faces opposite each other."""
    through = spread.found.through
    order = np.argsort(through, kind="stable")
    finite = order[np.isfinite(through[order])]
    row = int(finite[len(finite) // 2]) if len(finite) else 0
    return _Patch(float(through[row]) if len(finite) else float(np.ptp(spread.points, axis=0).min()), row)


def _across(surface: _Surface, spread: _Spread, patch: _Patch, share: float) -> Point:
    """Return the point so large a share of the distance off the surface in the middle of a patch."""
    row = spread.rows[patch.middle]
    x, y, z = (surface.samples.points[row] + share * patch.distance * surface.samples.normals[row]).tolist()
    return (x, y, z)
