"""The parting line: along which direction to pull the mold's halves, and how long the line between them is."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldkit.pattern.mesh import Mesh
from moldkit.pattern.silhouette import silhouette

Floats = NDArray[np.float64]

DIRECTIONS = 18
# Pixels along a picture's longer side: to compare directions, and to measure the chosen one.
COARSE, FINE = 160, 640
_UP = np.array([0.0, 0.0, 1.0])


@dataclass(frozen=True)
class Parting:
    """The shortest parting line found.

    length: of one line, where the outline does not rest on the base plane [m]; silhouette_area: seen along the
    pull [m2]; pull: unit vector.
    """

    length: float
    silhouette_area: float
    pull: tuple[float, float, float]


def shortest_parting(mesh: Mesh, outline: Floats, *, stands_on_base: bool) -> Parting:
    """Return the parting line for the pull that makes it shortest.

    Pulls are level: 18 directions over the half turn, and the one that sees the pattern narrowest; straight up, too,
    for a pattern that stands on no base.
    mesh: closed [m]; outline: convex outline from above, shape (h, 2) [m]. Returns length and silhouette; within
    about 1 % for the pull chosen.
    """
    base = mesh.corners()[mesh.base_faces()] if stands_on_base else np.empty((0, 3, 3))
    views = [_level_view(angle) for angle in (*np.arange(DIRECTIONS) * (math.pi / DIRECTIONS), _narrowest(outline))]
    if not stands_on_base:
        views.append((np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0])))
    lengths = [_parting_length(mesh, base, view, COARSE)[0] for view in views]
    right, up = views[int(np.argmin(lengths))]
    length, area = _parting_length(mesh, base, (right, up), FINE)
    x, y, z = np.cross(right, up).tolist()
    return Parting(length, area, (x, y, z))


def _level_view(angle: float) -> tuple[Floats, Floats]:
    """Return right and up of a picture whose right is turned by an angle from x [rad]."""
    return np.array([math.cos(angle), math.sin(angle), 0.0]), _UP


def _narrowest(outline: Floats) -> float:
    """Return the angle [rad] of the direction in which a convex outline is narrowest: it lies across a side."""
    along = np.roll(outline, -1, axis=0) - outline
    across = np.stack([-along[:, 1], along[:, 0]]) / np.linalg.norm(along, axis=1)
    x, y = across[:, int(np.argmin(np.ptp(outline @ across, axis=0)))]
    return math.atan2(y, x)


def _parting_length(mesh: Mesh, base: Floats, view: tuple[Floats, Floats], pixels: int) -> tuple[float, float]:
    seen = silhouette(mesh.vertices, mesh.faces, *view, pixels)
    return seen.outline - _covered_length(base @ view[0]), seen.area


def _covered_length(spans: Floats) -> float:
    """Return the length of a line that intervals cover [m]; spans: points of each interval, shape (k, 3) [m]."""
    if not len(spans):
        return 0.0
    order = np.argsort(spans.min(axis=1))
    start, end = spans.min(axis=1)[order], np.maximum.accumulate(spans.max(axis=1)[order])
    covered_before = np.append(-np.inf, end[:-1])
    return float(np.maximum(end - np.maximum(start, covered_before), 0.0).sum())
