"""Undercuts: how far the surface reaches behind its own edges, and what that asks of the rubber."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldkit.pattern.mesh import Mesh
from moldkit.pattern.survey.rays import Rays
from moldkit.pattern.survey.samples import LIFT, Samples
from moldkit.pattern.survey.sideways import Draw, fan, shortest_escape
from moldkit.pattern.survey.visibility import PARALLEL, freed

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

# Share by which a soft rubber is let widen to leave an undercut. Common practice, no source.
SOFT_STRETCH = 0.4
# An undercut less deep than this share of the longest side is a scratch: rigid or soft, the mold leaves it.
SHALLOW = 0.003


@dataclass(frozen=True, eq=False)
class Undercuts:
    """What holds points of the surface in a mold that leaves straight; each of shape (n,).

    hidden: no way out along the pull is free; depth: sideways distance, across the pull, to where one is, 0 for
    points that aren't hidden [m]; stretch: share by which rubber must widen to go there, infinite where something
    else is in the way, 0 where not hidden; gap: free distance along the pull, the way the surface faces, to what
    lies over the point, infinite where nothing does [m]: a skin half as thick closes it.
    """

    hidden: Flags
    depth: Floats
    stretch: Floats
    gap: Floats


def undercut_depths(
    mesh: Mesh,
    points: Floats,
    normals: Floats,
    axis: tuple[float, float, float] | Floats,
    *,
    stands_on_base: bool,
    one_way: bool = False,
    rays: Rays | None = None,
) -> Undercuts:
    """Return what holds points of a pattern's surface when the mold leaves along an axis.

    points: on the surface, shape (n, 3) [m]; normals: outward, unit, shape (n, 3); axis: unit vector; stands_on_base:
    nothing leaves or gives way through the plane z = min; one_way: one piece leaves along the axis, else two halves,
    along it and against it. Returns depths [m], stretches [share] and gaps [m], each within about 4 %.
    """
    size = float(np.ptp(mesh.vertices, axis=0).max())
    lift = LIFT * size
    ways = np.array([axis], dtype=np.float64)
    floor = float(mesh.vertices[:, 2].min()) if stands_on_base else None
    draw = Draw(
        rays if rays is not None else Rays(mesh),
        ways if one_way else np.concatenate([ways, -ways]),
        size,
        floor,
        lift,
    )
    faces = np.zeros(len(points), dtype=np.int64)
    return undercuts(draw, Samples(points, normals, faces, 0.0, lift))


def undercuts(draw: Draw, samples: Samples) -> Undercuts:
    """Return what holds the points of a sample in a mold that leaves along given ways."""
    hidden: Flags = ~np.any(freed(draw.rays, samples, draw.ways), axis=0)
    depth, stretch = np.zeros(len(hidden)), np.zeros(len(hidden))
    which = np.flatnonzero(hidden)
    depth[which], stretch[which] = hidden_depths(draw, samples.chosen(which))
    facing = samples.normals @ draw.axis
    facing = np.where(facing >= (-PARALLEL if len(draw.ways) == 1 else 0.0), 1.0, -1.0)
    gap = draw.clear(samples.lifted(), facing[:, None] * draw.axis)
    return Undercuts(hidden, depth, stretch, gap)


def hidden_depths(draw: Draw, samples: Samples) -> tuple[Floats, Floats]:
    """Return depth [m] and stretch [share] of points that are known to be hidden, each of shape (n,)."""
    starts = samples.lifted()
    furthest = 2.0 * draw.size
    escape = shortest_escape(draw, starts, samples.normals, reach=furthest)
    depth = escape.distance
    stretch = widening(draw, samples, escape.along, np.where(np.isfinite(depth), depth, 0.0))
    stretch[~np.isfinite(depth)] = np.inf
    locked = np.flatnonzero(~np.isfinite(depth))
    if len(locked):
        # Something lies in every straight way sideways: the distance through it is the least that it can be.
        past = shortest_escape(draw, starts[locked], samples.normals[locked], reach=furthest, through=True)
        depth[locked] = np.where(np.isfinite(past.distance), past.distance, draw.size)
    return depth, stretch


def yielding(draw: Draw, samples: Samples, stretch: float) -> Flags:
    """Return which hidden points a rubber frees that may widen by the share `stretch`, roughly and fast, shape (n,)."""
    # Half the width of the pattern is at most some 0.85 of its longest side.
    reach = max(0.85 * stretch, SHALLOW) * draw.size
    escape = shortest_escape(draw, samples.lifted(), samples.normals, reach=reach, spread=8, halvings=2)
    found = np.flatnonzero(np.isfinite(escape.distance))
    result = np.zeros(len(samples.points), dtype=bool)
    depth = escape.distance[found]
    widened = widening(draw, samples.chosen(found), escape.along[found], depth)
    result[found] = (widened <= stretch) | (depth < SHALLOW * draw.size)
    return result


def scratched(draw: Draw, samples: Samples) -> Flags:
    """Return which hidden points lie behind an edge by no more than a scratch, shape (n,)."""
    starts, ways = samples.lifted(), fan(samples.normals, draw.axis, 6)
    result = np.zeros(len(starts), dtype=bool)
    for number in range(ways.shape[1]):
        left = np.flatnonzero(~result)
        result[left] = draw.open_at(starts[left] + SHALLOW * draw.size * ways[left, number])
    return result


def widening(draw: Draw, samples: Samples, along: Floats, depth: Floats) -> Floats:
    """Return the share by which rubber widens that moves sideways by `depth` [m], shape (n,).

    Round a form of half-width w it opens from w to w + depth, so the share is depth / w; w is half of the way
    through the pattern straight back from the point. Rubber that fills a hollow is pressed together instead, from
    the hollow's own half-width; the narrower of the two counts. On a ring it is exact: a cap of radius R on a stem
    of radius r asks for R / r - 1. On a long thin rib it is on the safe side, as rubber also bends away there.
    along: the way it moves, unit vectors, shape (n, 3).
    """
    starts = samples.lifted()
    through = _behind(draw, starts, samples, -along)
    hollow = draw.clear(starts, along)
    result: Floats = 2.0 * depth / np.maximum(np.minimum(through, hollow), draw.lift)
    return result


def _behind(draw: Draw, starts: Floats, samples: Samples, back: Floats) -> Floats:
    """Return the distance from each point to the far side of what first lies behind it, shape (n,) [m].

    Where nothing lies straight behind, as under an arm, the pattern's thickness over the point stands for it.
    """
    _, near = draw.rays.first(starts, back)
    met = np.isfinite(near)
    inner = np.where(
        met[:, None],
        starts + (np.where(met, near, 0.0) + 2.0 * draw.lift)[:, None] * back,
        samples.points - draw.lift * samples.normals,
    )
    onward = np.where(met[:, None], back, -samples.normals)
    _, far = draw.rays.first(inner, onward)
    return np.where(met, near, 0.0) + np.where(np.isfinite(far), far, draw.lift)
