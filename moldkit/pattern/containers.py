"""The smallest boxes and tubes that a pattern fits into, over the ways it may be set down."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldkit.pattern.all_round import half_sphere
from moldkit.pattern.footprint import convex_hull, enclosing_circle, enclosing_rectangles

Floats = NDArray[np.float64]

# Ways up that are tried for a pattern that may lie as it likes; then some round the best, nearer and nearer.
WAYS = 80
NEARER = (0.12, 0.05, 0.02, 0.008, 0.003)  # [rad]
ROUND_IT = 8
# Corners furthest out in so many directions stand for the pattern while ways are compared.
CORNERS = 300
# Margins at which a box must win to be kept, as shares of the longest side.
_MARGINS = np.linspace(0.0, 0.6, 25)


@dataclass(frozen=True, eq=False)
class Containers:
    """Upright boxes and tubes round a pattern, each the smallest for some margin or the narrowest for its height.

    boxes: length, width, height, shape (k, 3) [m]; box_ups: what is uppermost of the pattern in each, shape (k, 3);
    tubes: diameter, height, shape (j, 2), the lowest last [m]; tube_ups: likewise, shape (j, 3).
    """

    boxes: Floats
    box_ups: Floats
    tubes: Floats
    tube_ups: Floats


def containers(vertices: Floats, *, stands_on_base: bool) -> Containers:
    """Return the smallest boxes and tubes.

    vertices: shape (n, 3) [m]; stands_on_base: it stays as it stands, z up; else any way up is tried: 80 of
    them and a search round the best, which finds a box within 1 % of the smallest volume.
    """
    ups = np.array([[0.0, 0.0, 1.0]]) if stands_on_base else _good_ways(vertices)
    boxes, box_ups, tubes = [], [], []
    for up in ups:
        sides, tube = _round_it(vertices, up)
        boxes.append(sides)
        box_ups.append(np.tile(up, (len(sides), 1)))
        tubes.append(tube)
    kept = _winning(np.concatenate(boxes))
    slim = _slim(np.array(tubes))
    return Containers(np.concatenate(boxes)[kept], np.concatenate(box_ups)[kept], np.array(tubes)[slim], ups[slim])


def _round_it(vertices: Floats, up: Floats) -> tuple[Floats, Floats]:
    """Return the boxes (k, 3) and the tube (2,) round points, one way up."""
    outline = convex_hull(vertices @ _level(up))
    rise = float(np.ptp(vertices @ up))
    flat = enclosing_rectangles(outline)
    tube = np.array([2.0 * enclosing_circle(outline)[1], rise])
    return np.column_stack([flat, np.full(len(flat), rise)]), tube


def _level(up: Floats) -> Floats:
    """Return two level unit vectors as columns, shape (3, 2)."""
    aside = np.eye(3)[int(np.argmin(np.abs(up)))]
    right = np.cross(up, aside)
    right /= np.linalg.norm(right)
    return np.stack([right, np.cross(up, right)], axis=1)


def _good_ways(vertices: Floats) -> Floats:
    """Return the ways up that give the smallest box without and with a margin, and the slim and the low tubes."""
    corners = vertices[np.unique(np.argmax(vertices @ half_sphere(CORNERS).T, axis=0))]
    corners = np.concatenate([corners, vertices[np.unique(np.argmin(vertices @ half_sphere(CORNERS).T, axis=0))]])
    longest = float(np.ptp(vertices, axis=0).max())
    ways = np.concatenate([np.eye(3), half_sphere(WAYS)])
    scores = np.array([_scores(corners, up, longest) for up in ways])
    for angle in NEARER:
        best = ways[np.unique(np.argmin(scores, axis=0))]
        near = np.concatenate([_ring(up, angle) for up in best])
        ways, scores = (
            np.concatenate([ways, near]),
            np.concatenate([scores, [_scores(corners, up, longest) for up in near]]),
        )
    best_ways: Floats = ways[np.unique(np.argmin(scores, axis=0))]
    return best_ways


def _scores(corners: Floats, up: Floats, longest: float) -> Floats:
    """Return what is wanted small: volume of the box at three margins, of the tube at two, its bore, its height."""
    boxes, (bore, rise) = _round_it(corners, up)
    margins = longest * np.array([0.0, 0.08, 0.25])
    volumes = (boxes[:, None] + 2.0 * margins[:, None]).prod(axis=2).min(axis=0)
    tubes = [(bore + 2.0 * m) ** 2 * (rise + 2.0 * m) for m in margins[:2]]
    return np.array([*volumes, *tubes, bore, rise])


def _ring(up: Floats, angle: float) -> Floats:
    """Return directions at an angle round another."""
    turn = np.arange(ROUND_IT) * (2.0 * math.pi / ROUND_IT)
    aside = np.stack([np.cos(turn), np.sin(turn)], axis=1) @ _level(up).T
    result: Floats = math.cos(angle) * up + math.sin(angle) * aside
    return result


def _winning(boxes: Floats) -> NDArray[np.intp]:
    """Return which boxes have the least volume at some margin all round."""
    grown = boxes[:, None] + 2.0 * (boxes.max() * _MARGINS)[:, None]
    return np.unique(np.argmin(grown.prod(axis=2), axis=0))


def _slim(tubes: Floats) -> NDArray[np.intp]:
    """Return which tubes are lower than all narrower ones, the narrowest first."""
    order = np.lexsort((tubes[:, 1], tubes[:, 0]))
    height = tubes[order, 1]
    lower = height < np.append(np.inf, np.minimum.accumulate(height)[:-1])
    kept: NDArray[np.intp] = order[lower]
    return kept
