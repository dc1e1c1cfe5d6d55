"""Directions in which the pieces of a mold may leave, to be tried one by one."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldkit.pattern.all_round import half_sphere
from moldkit.pattern.mesh import Mesh
from moldkit.pattern.survey.samples import Samples

Floats = NDArray[np.float64]

UP = np.array([0.0, 0.0, 1.0])
# The axes of the frame that it was drawn in, z first.
FRAME = np.eye(3)[::-1]
# So many axes over the half sphere, level ones over the half turn, and slanting ways up from a base.
FREE_AXES, LEVEL_AXES, SLANTS = 72, 24, 48
# A flat part of the pattern counts as one with at least this share of the points; so many are taken.
FLAT_SHARE, MOST_FLATS = 0.03, 4
# Two axes that differ by less are one.
_SAME = math.cos(math.radians(0.5))


@dataclass(frozen=True, eq=False)
class Ways:
    """The ways that are open to the pieces of a mold.

    axes: of two halves that leave along and against each, unit vectors, shape (a, 3); own: how many of them, the
    first, are the pattern's own; slants: further ways for single pieces, shape (s, 3).
    """

    axes: Floats
    own: int
    slants: Floats

    def singles(self) -> Floats:
        """Return the ways of single pieces, shape (2 a + s, 3): along each axis, against each, slanting."""
        return np.concatenate([self.axes, -self.axes, self.slants])


def open_ways(mesh: Mesh, samples: Samples, *, stands_on_base: bool) -> Ways:
    """Return the ways to try for a pattern.

    Free, any axis will do; on its base the two halves part sideways, and a single piece leaves level or rising.
    The pattern's own axes and the directions that its flat parts ask for stand first.
    samples: points on its molded surface.
    """
    own = own_axes(mesh, samples)
    if not stands_on_base:
        return Ways(_distinct(np.concatenate([own, FRAME, half_sphere(FREE_AXES)])), len(own), np.empty((0, 3)))
    level = own * [1.0, 1.0, 0.0]
    size = np.linalg.norm(level, axis=1)
    level = level[size > 0.05] / size[size > 0.05, None]
    across = np.stack([-level[:, 1], level[:, 0], np.zeros(len(level))], axis=1)
    own = _distinct(np.concatenate([level, across]))
    axes = _distinct(np.concatenate([own, FRAME[1:], half_turn(LEVEL_AXES)]))
    return Ways(axes, len(own), np.concatenate([UP[None], half_sphere(SLANTS)]))


def half_turn(count: int) -> Floats:
    """Return level unit vectors spread evenly over the half turn, shape (count, 3)."""
    angle = np.arange(count) * (math.pi / count)
    return np.stack([np.cos(angle), np.sin(angle), np.zeros(count)], axis=1)


def beside(axis: Floats, step: float, *, level: bool) -> Floats:
    """Return the axes that lie a step [rad] beside one, all round it or, for level ones, to both sides."""
    if level:
        turned = np.array([-axis[1], axis[0], 0.0])
        sides = np.stack([turned, -turned])
    else:
        right, up = across(axis)
        angle = np.arange(6) * (math.pi / 3.0)
        sides = np.cos(angle)[:, None] * right + np.sin(angle)[:, None] * up
    result: Floats = math.cos(step) * axis + math.sin(step) * sides
    return result


def across(axis: Floats) -> tuple[Floats, Floats]:
    """Return right and up of a picture seen along an axis: up as near to z as it goes."""
    helper = UP if abs(axis[2]) < 0.9 else np.array([0.0, 1.0, 0.0])
    right = np.cross(helper, axis)
    right /= np.linalg.norm(right)
    return right, np.cross(axis, right)


def own_axes(mesh: Mesh, samples: Samples) -> Floats:
    """Return the axes that the pattern's form suggests, shape (k, 3).

    They are its largest flat parts' normals, the directions that lie in two of those flats, and the main axes of its
    normals and of its surface's inertia.
    """
    points = samples.points - samples.points.mean(axis=0)
    inertia = np.linalg.eigh(points.T @ points)[1].T
    # Of all faces, so that the axis of a drawn or turned body, or across a bent one, is found without scatter.
    vectors = mesh.area_vectors()
    facing = np.linalg.eigh(vectors.T @ (vectors / np.maximum(np.linalg.norm(vectors, axis=1), 1e-300)[:, None]))[1].T
    flats = _flats(samples.normals)
    joints = np.array([np.cross(a, b) for i, a in enumerate(flats) for b in flats[:i]]).reshape(-1, 3)
    length = np.linalg.norm(joints, axis=1)
    joints = joints[length > 0.1] / length[length > 0.1, None]
    return _distinct(np.concatenate([facing, flats, joints, inertia]))


def _flats(normals: Floats) -> Floats:
    """Return the normals that many points share, opposite ones as one, the most frequent first."""
    leading = np.argmax(np.abs(normals), axis=1)
    signs = np.sign(np.take_along_axis(normals, leading[:, None], axis=1))
    _, which, counts = np.unique(np.round(normals * signs, 3), axis=0, return_index=True, return_counts=True)
    order = np.argsort(-counts, kind="stable")[:MOST_FLATS]
    order = order[counts[order] >= FLAT_SHARE * len(normals)]
    return (normals * signs)[which[order]]


def _distinct(axes: Floats) -> Floats:
    """Leave out each axis that lies along an earlier one."""
    alike = np.abs(axes @ axes.T) > _SAME
    kept: list[int] = []
    for number, row in enumerate(alike):
        if not row[kept].any():
            kept.append(number)
    return axes[kept]
