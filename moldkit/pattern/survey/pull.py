"""How a mold draws off a pattern: the best pull, what it leaves, and the pieces that a mold needs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldkit.pattern.mesh import Mesh
from moldkit.pattern.parting import FINE
from moldkit.pattern.silhouette import silhouette
from moldkit.pattern.survey.directions import UP, Ways, across, open_ways
from moldkit.pattern.survey.grade import MOST_HIDDEN, Hold, grade_of, held
from moldkit.pattern.survey.pairs import EQUAL, best_axis, pair_shares
from moldkit.pattern.survey.parting_line import PartingLine, base_corners, parting_line
from moldkit.pattern.survey.pieces import plain_pieces, rigid_pieces, soft_pieces
from moldkit.pattern.survey.rays import Rays
from moldkit.pattern.survey.results import Piece, Pull
from moldkit.pattern.survey.samples import Samples, surface_samples
from moldkit.pattern.survey.sideways import Draw
from moldkit.pattern.survey.undercut import SOFT_STRETCH, scratched
from moldkit.pattern.survey.visibility import freed, seen_from_any

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Pieces = tuple[Piece, ...]

# Points to measure the chosen pull with; every so many-th decides between axes, and compares many.
POINTS, DECIDE, COMPARE = 6400, 2, 8
# A pattern on its base of which one piece, lifted straight up, frees this share has no parting line.
LIFTS_OFF = 0.99
# For how much of what is hidden, by area, the depth is given.
_MOST = 0.95


@dataclass(frozen=True, eq=False)
class _Scene:
    """What every step needs.

    points: on the molded surface; base: corners of the faces that the pattern stands on, None where it is free [m];
    size: its longest side [m]; floor: height of its base plane, None where it is free [m]; stretch: share by which
    soft rubber may widen.
    """

    mesh: Mesh
    rays: Rays
    points: Samples
    base: Floats | None
    size: float
    floor: float | None
    stretch: float

    def draw(self, *ways: Floats) -> Draw:
        """Return the pull along one way, or along two that are opposite."""
        return Draw(self.rays, np.array(ways), self.size, self.floor, self.points.lift)


@dataclass(frozen=True, eq=False)
class _Drawn:
    """The best pull; ways: of its one or two pieces, shape (w, 3); flags: which points each frees, shape (w, n);
    visible: which points they all free; hold: what holds them.
    """

    ways: Floats
    flags: Flags
    visible: Flags
    hold: Hold


def survey_pull(mesh: Mesh, *, stands_on_base: bool, stretch: float = SOFT_STRETCH, rays: Rays | None = None) -> Pull:
    """Measure how a mold draws off a pattern.

    Free, two halves may leave along any axis; on its base they part sideways, unless one piece that lifts straight up
    frees as much.
    mesh: closed, z up [m]; stands_on_base: it stands on its lowest plane, which is not molded; stretch: share by
    which soft rubber may widen; rays: of the same mesh, where there are some. Shares are within about 0.01.
    """
    scene = _Scene(
        mesh=mesh,
        rays=Rays(mesh) if rays is None else rays,
        points=surface_samples(mesh, POINTS, stands_on_base=stands_on_base),
        base=base_corners(mesh) if stands_on_base else None,
        size=float(np.ptp(mesh.vertices, axis=0).max()),
        floor=float(mesh.vertices[:, 2].min()) if stands_on_base else None,
        stretch=stretch,
    )
    upward = freed(scene.rays, scene.points, UP[None])
    ways = open_ways(mesh, scene.points.every(COMPARE), stands_on_base=stands_on_base)
    if stands_on_base and _lifts_off(scene, upward[0]):
        drawn = _drawn(scene, UP[None], upward)
        return _surveyed(scene, drawn, upward[0], ways.singles()[::-1], None)
    flags = freed(scene.rays, scene.points.every(COMPARE), ways.singles())
    return _surveyed(scene, _best(scene, ways, flags, upward), upward[0], ways.singles(), flags)


def _lifts_off(scene: _Scene, upward: Flags) -> bool:
    """Return whether one piece lifts straight off, but for scratches."""
    share = float(upward.mean())
    if not 0.9 < share < LIFTS_OFF:
        return share >= LIFTS_OFF
    hidden = np.flatnonzero(~upward)
    return share + (1.0 - share) * float(scratched(scene.draw(UP), scene.points.chosen(hidden)).mean()) >= LIFTS_OFF


def _drawn(scene: _Scene, ways: Floats, flags: Flags) -> _Drawn:
    """Return what the best pull does; flags: which points each of its pieces frees, shape (w, n)."""
    visible: Flags = np.logical_or.reduce(flags, axis=0)
    return _Drawn(ways, flags, visible, held(scene.draw(*ways), scene.points, visible))


def _best(scene: _Scene, ways: Ways, flags: Flags, upward: Flags) -> _Drawn:
    """Return the best pull: of two halves, or of one piece upwards where that frees as much and needs no line."""
    few, more = scene.points.every(COMPARE), scene.points.every(DECIDE)
    shares = pair_shares(flags, len(ways.axes))
    axis = best_axis(scene.mesh, scene.rays, (few, more), ways, shares, scene.base)
    both = np.stack([axis, -axis])
    halves = freed(scene.rays, scene.points, both)
    visible = float((halves[0] | halves[1]).mean())
    if scene.base is not None and float(upward.mean()) >= visible - EQUAL:
        return _drawn(scene, UP[None], upward)
    return _drawn(scene, both, halves)


def _surveyed(scene: _Scene, drawn: _Drawn, upward: Flags, singles: Floats, flags: Flags | None) -> Pull:
    """Return all of the survey.

    upward: which points one piece frees that is lifted up, shape (n,); singles: ways of single pieces, shape (k, 3);
    flags: which of a few points each frees, None where the best pull frees all.
    """
    grade = "none"
    rigid = soft = plain_pieces(drawn.ways, drawn.flags, drawn.hold.rigid)
    if flags is not None:
        grade, rigid, soft = _made(scene, drawn, upward, singles, flags)
        singles = singles[np.argsort(-flags.sum(axis=1), kind="stable")]
    line = _line(scene, drawn.ways)
    x, y, z = drawn.ways[0].tolist()
    return Pull(
        axis=(x, y, z),
        visible=float(drawn.visible.mean()),
        visible_up=float(upward.mean()),
        visible_any=_visible_any(scene, drawn.visible, singles),
        hidden_area=int((~drawn.visible).sum()) * scene.points.area,
        hidden_depth=float(np.quantile(drawn.hold.depth, _MOST)) if len(drawn.hold.depth) else 0.0,
        grade=grade,
        stretch=scene.stretch,
        pieces=rigid,
        soft_pieces=soft,
        parting=line.lines,
        parting_length=line.length,
        silhouette_area=line.silhouette_area,
    )


def _line(scene: _Scene, ways: Floats) -> PartingLine:
    """Return the parting line of two halves; of one piece there is none."""
    if len(ways) == 1:
        seen = silhouette(scene.mesh.vertices, scene.mesh.faces, *across(ways[0]), FINE)
        return PartingLine((), 0.0, seen.area)
    base = np.empty((0, 3, 3)) if scene.base is None else scene.base
    return parting_line(scene.mesh, scene.rays, ways[0], base)


def _made(scene: _Scene, drawn: _Drawn, upward: Flags, singles: Floats, flags: Flags) -> tuple[str, Pieces, Pieces]:
    """Return the grade and the pieces of a rigid mold and of a soft one.

    They say the same: "none" is a rigid mold of the best pull's pieces or fewer, "moderate" such a soft one.
    """
    few, many, hold = scene.points.every(COMPARE), len(drawn.ways), drawn.hold
    directions = np.concatenate([drawn.ways, singles])
    flags = np.concatenate([freed(scene.rays, few, drawn.ways), flags])
    grade = grade_of(hold, scene.stretch)
    rigid = rigid_pieces(scene.draw, few, directions, flags, many)
    if grade == "none" and len(rigid) > many:
        rigid = plain_pieces(drawn.ways, drawn.flags, hold.rigid)
    soft = rigid
    if len(rigid) > (2 if scene.base is None else 1):
        soft = min(rigid, soft_pieces(scene.draw, few, directions, flags, many, scene.stretch), key=len)
    if grade == "moderate" and len(soft) > many:
        soft = plain_pieces(drawn.ways, drawn.flags, hold.soft(scene.stretch))
    if grade == "severe" and many == 2 and len(soft) == 1 and scene.base is not None:
        # One soft piece may come off upwards where two halves that part sideways don't.
        grade = grade_of(held(scene.draw(UP), scene.points, upward), scene.stretch)
    return grade, rigid, soft


def _visible_any(scene: _Scene, visible: Flags, directions: Floats) -> float:
    """Return the share that at least one direction frees; visible: what the best pull does."""
    hidden = np.flatnonzero(~visible)
    some = hidden[:: max(1, len(hidden) // MOST_HIDDEN)]
    share = float(visible.mean())
    if not len(some):
        return share
    seen = seen_from_any(scene.rays, scene.points.chosen(some), directions)
    return share + (1.0 - share) * float(seen.mean())
