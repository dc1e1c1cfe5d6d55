"""The pattern as it is shown: a mesh light enough for a page, with a figure a face for each way of colouring it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldkit.pattern.mesh import Mesh
from moldkit.pattern.survey.rays import Rays
from moldkit.pattern.survey.results import Pull, Survey, Trap, WayUp
from moldkit.pattern.survey.samples import LIFT, Samples
from moldkit.pattern.survey.sideways import Draw, shortest_escape
from moldkit.pattern.survey.thinning import fit_to_look_at
from moldkit.pattern.survey.visibility import freed

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

MOST_FACES = 40_000
MOST_TRAPS = 60
# How far lines are turned beside the normals, and how far apart faces count that look opposite ways, as a share of
# the longest side.
_SKEW = 2e-4 * np.array([0.61, -0.37, 0.70])
_APART = 0.1
_SEED = 5
# Where the top of a trap is sought above its way out, as shares of its depth.
_ABOVE = (0.0, 0.05, 0.15, 0.4)
# So many hidden faces are measured; the depth hardly changes from one to the next.
MOST_MEASURED = 3000
# No skin is thicker than this share of the longest side: wider hollows stay open.
THICKEST_SKIN = 0.1


@dataclass(frozen=True, eq=False)
class Picture:
    """A mesh for looking at, in the frame of the mesh it came from, with figures for its colours.

    vertices: shape (n, 3) [m]; faces: shape (m, 3); undercut: how far each face reaches behind its edge, across the
    pull, 0 where it is free [m]; skin: thickness that closes the hollow it lies in, 0 where it lies open or too wide
    for any skin [m]; air_standing, air_casting: depth of the air that stays over it as the pattern stands while rubber
    is poured, and in the casting the best way up [m]; each of shape (m,).
    """

    vertices: Singles
    faces: NDArray[np.int32]
    undercut: Singles
    skin: Singles
    air_standing: Singles
    air_casting: Singles


def picture_of(mesh: Mesh, survey: Survey, *, stands_on_base: bool, most: int = MOST_FACES) -> Picture:
    """Return the picture of a surveyed pattern.

    mesh: closed, z up [m]; survey: of it; stands_on_base: the base is no molded surface and stays plain; most:
    triangles, thinned to where there are more. Returns the same picture every time.
    """
    vertices, faces = fit_to_look_at(mesh.vertices, mesh.faces, most)
    light = Mesh(mesh.name, vertices, faces)
    molded = ~light.base_faces() if stands_on_base else np.ones(len(faces), dtype=bool)
    undercut, skin = np.zeros(len(faces)), np.zeros(len(faces))
    undercut[molded], skin[molded] = _hooks(light, molded, survey.pull, stands_on_base=stands_on_base)
    standing, casting = survey.air.standing, survey.air.casting
    vented = casting.tops if casting.open_top else casting.tops[1:]
    return Picture(
        vertices.astype(np.float32),
        faces.astype(np.int32),
        undercut.astype(np.float32),
        skin.astype(np.float32),
        _air_depth(vertices, faces, standing, standing.ceilings).astype(np.float32),
        _air_depth(vertices, faces, casting, vented).astype(np.float32),
    )


def _hooks(light: Mesh, molded: NDArray[np.bool_], pull: Pull, *, stands_on_base: bool) -> tuple[Floats, Floats]:
    """Return how far each molded face reaches behind its edge, and the skin that closes what it lies in [m]."""
    samples = _middles(light, molded)
    axis = np.array([pull.axis])
    # One piece leaves along the axis; two halves leave along it and against it.
    ways = axis if len(pull.pieces) == 1 else np.concatenate([axis, -axis])
    longest = float(np.ptp(light.vertices, axis=0).max())
    floor = float(light.vertices[:, 2].min()) if stands_on_base else None
    draw = Draw(Rays(light), ways, longest, floor, samples.lift)
    hidden = np.flatnonzero(~freed(draw.rays, samples, ways).any(axis=0))
    depth = np.zeros(len(samples.points))
    depth[hidden] = _depths(draw, samples.chosen(hidden))
    _, room = draw.rays.first(samples.lifted(), _skewed(samples.normals))
    facing = np.where(samples.normals[hidden] @ axis[0] >= 0.0, 1.0, -1.0)[:, None]
    room[hidden] = np.minimum(room[hidden], draw.clear(samples.chosen(hidden).lifted(), facing * axis))
    return depth, np.where(0.5 * room <= THICKEST_SKIN * longest, 0.5 * room, 0.0)


def _middles(light: Mesh, molded: NDArray[np.bool_]) -> Samples:
    """Return the middles of the molded faces."""
    vectors = light.area_vectors()[molded]
    normals = vectors / np.maximum(np.linalg.norm(vectors, axis=1), np.finfo(float).tiny)[:, None]
    lift = LIFT * float(np.ptp(light.vertices, axis=0).max())
    return Samples(light.corners()[molded].mean(axis=1), normals, np.flatnonzero(molded), 0.0, lift)


def _skewed(normals: Floats) -> Floats:
    """Return directions a hair beside normals, so that no line runs into the edge between two like faces opposite."""
    beside = normals + _SKEW
    result: Floats = beside / np.linalg.norm(beside, axis=1, keepdims=True)
    return result


def _depths(draw: Draw, hidden: Samples) -> Floats:
    """Return how far hidden points reach behind their edge [m]: measured at some, between them from the nearest."""
    from scipy.spatial import cKDTree

    count = len(hidden.points)
    if count <= MOST_MEASURED:
        return _measured(draw, hidden) if count else np.zeros(0)
    # Drawn by lot: every so many-th would keep to one side of whatever repeats in the mesh.
    some = np.random.default_rng(_SEED).choice(count, MOST_MEASURED, replace=False)
    measured = hidden.chosen(some)
    depth = _measured(draw, measured)
    # Faces that look another way are far, however near they lie.
    apart = _APART * draw.size
    tree = cKDTree(np.hstack([measured.points, apart * measured.normals]))
    near, which = tree.query(np.hstack([hidden.points, apart * hidden.normals]), k=3)
    weights = 1.0 / np.maximum(near, draw.lift)
    between: Floats = (weights * depth[which]).sum(axis=1) / weights.sum(axis=1)
    return between


def _measured(draw: Draw, hidden: Samples) -> Floats:
    """Return how far hidden points reach behind their edge [m]; the longest side where no way leads out."""
    starts, reach = hidden.lifted(), 2.0 * draw.size
    depth = shortest_escape(draw, starts, hidden.normals, reach=reach).distance
    locked = np.flatnonzero(~np.isfinite(depth))
    if len(locked):
        past = shortest_escape(draw, starts[locked], hidden.normals[locked], reach=reach, through=True).distance
        depth[locked] = np.where(np.isfinite(past), past, draw.size)
    return depth


def _air_depth(vertices: Floats, faces: NDArray[np.int64], way: WayUp, traps: tuple[Trap, ...]) -> Floats:
    """Return the depth of the air that stays at each face, shape (m,) [m]: what is above the way out of its trap."""
    heights = vertices @ np.array(way.up)
    middles = heights[faces].mean(axis=1)
    depth = np.zeros(len(faces))
    for trap in traps[:MOST_TRAPS]:
        level = float(np.dot(trap.at, way.up)) - trap.prominence
        caught = _caught(vertices, faces, heights, trap, level)[faces].any(axis=1) & (middles > level)
        depth[caught] = np.maximum(depth[caught], middles[caught] - level)
    return depth


def _caught(vertices: Floats, faces: NDArray[np.int64], heights: Floats, trap: Trap, level: float) -> NDArray[np.bool_]:
    """Return which vertices are joined with a trap's top over its way out, shape (n,).

    Thinned, the surface may run over the way out a little higher; then it is sought a little above that.
    """
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    ends = faces[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2)
    for share in _ABOVE:
        above = heights > level + share * trap.prominence
        joined = ends[above[ends].all(axis=1)].T
        if not joined.size:
            break
        graph = coo_array((np.ones(joined.shape[1], dtype=np.int8), tuple(joined)), shape=(len(heights), len(heights)))
        part = connected_components(graph, directed=False)[1]
        nearest = joined[0, np.argmin(np.linalg.norm(vertices[joined[0]] - trap.at, axis=1))]
        found: NDArray[np.bool_] = part == part[nearest]
        if heights[found].max() <= level + 1.1 * trap.prominence:
            return found
    return np.zeros(len(heights), dtype=bool)
