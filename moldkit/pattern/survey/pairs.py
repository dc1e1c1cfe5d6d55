"""The best pull of two halves: which axis, by what it frees and how long a parting line it leaves."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from moldkit.pattern.mesh import Mesh
from moldkit.pattern.parting import COARSE
from moldkit.pattern.survey.directions import Ways, across, beside
from moldkit.pattern.survey.parting_line import parting_line
from moldkit.pattern.survey.rays import Rays
from moldkit.pattern.survey.samples import Samples
from moldkit.pattern.survey.visibility import freed

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

# Pulls that free as much to within this share of the molded area are equals; the shorter parting line decides. One
# that frees as good as all is not given up for a shorter line: there the smaller share holds.
EQUAL, CLEAN, CLEAN_EQUAL = 0.005, 0.998, 0.0005
# A share so near to all needs no better axis.
_ENOUGH = 0.997
# So many of the best axes are turned aside by the first of these steps [rad], so many of what was found by the others.
_STEPS = tuple(math.radians(angle) for angle in (7.0, 3.5, 1.7))
_STARTS, _TURNED = 5, 2
# Of the axes that free most, so many by the share and by the outline are decided between.
_BY_SHARE, _BY_OUTLINE = 2, 4
# Two lines so nearly alike are as long as each other, within what a coarse raster tells; two shares so near as much.
_ALIKE, _AS_MUCH = 1.01, 0.003
# Lines for axes that are none of the pattern's own count for so much longer: a ring can be pulled at a slant, and
# nobody does so to save a few per cent of the line.
_STRANGE = 1.04


def pair_shares(flags: Flags, axes: int) -> Floats:
    """Return what share both halves free along each axis; flags: of +axes, then -axes, shape (>= 2 axes, n)."""
    result: Floats = (flags[:axes] | flags[axes : 2 * axes]).mean(axis=1)
    return result


def best_axis(
    mesh: Mesh, rays: Rays, points: tuple[Samples, Samples], ways: Ways, shares: Floats, base: Floats | None
) -> Floats:
    """Return the axis of the best pull of two halves, unit vector.

    Of those that free as much the one with the shortest parting line is taken, the pattern's own axes before others
    where it isn't much shorter.
    points: few to choose with and more to decide with; ways: to choose from; shares: that each pair frees of the few;
    base: corners of the faces that the pattern stands on, shape (k, 3, 3) [m], None where it is free.
    """
    few, many = points
    turned, better = _turned_aside(rays, (few, many.every(2)), ways.axes, shares, level=base is not None)
    base = np.empty((0, 3, 3)) if base is None else base
    axes, shares = np.concatenate([ways.axes, turned]), np.append(shares, better)
    strange = np.where(np.arange(len(axes)) < ways.own, 1.0, _STRANGE)
    near = np.flatnonzero(shares >= shares.max() - 2.0 * EQUAL)
    rough = np.full(len(axes), np.inf)
    rough[near] = [_outline_at_least(few, base, axis) for axis in axes[near]]
    by_outline = near[np.argsort(rough[near], kind="stable")]
    by_share = np.argsort(-shares, kind="stable")[:_BY_SHARE]
    own = by_outline[by_outline < ways.own][:_BY_SHARE]
    chosen = np.unique(np.concatenate([by_outline[:_BY_OUTLINE], by_share, own]))
    decided = _shares(rays, many, axes[chosen])
    equal = decided >= decided.max() - (CLEAN_EQUAL if decided.max() >= CLEAN else EQUAL)
    equals, freeing = chosen[equal], decided[equal]
    lengths = _line_lengths(mesh, rays, axes[equals], rough[equals], strange[equals], base)
    alike = np.flatnonzero(lengths <= _ALIKE * lengths.min())
    first = int(np.argmax(freeing[alike] >= freeing[alike].max() - _AS_MUCH))
    best: Floats = axes[equals[alike[first]]]
    return best


def _shares(rays: Rays, samples: Samples, axes: Floats) -> Floats:
    return pair_shares(freed(rays, samples, np.concatenate([axes, -axes])), len(axes))


def _turned_aside(
    rays: Rays, points: tuple[Samples, Samples], axes: Floats, shares: Floats, *, level: bool
) -> tuple[Floats, Floats]:
    """Return the best axes after turning them aside by smaller and smaller steps, shape (k, 3), and what they free."""
    best = np.argsort(-shares, kind="stable")[:_STARTS]
    found, gained = axes[best], shares[best]
    for number, step in enumerate(_STEPS):
        if gained.max() >= _ENOUGH:
            break
        tried = np.concatenate([found, *(beside(axis, step, level=level) for axis in found)])
        freeing = _shares(rays, points[min(number, 1)], tried)
        best = np.argsort(-freeing, kind="stable")[:_TURNED]
        found, gained = tried[best], freeing[best]
    return found, gained


def _outline_at_least(samples: Samples, base: Floats, axis: Floats) -> float:
    """Return about the least that the parting line can be: the convex outline less the base [m].

    A convex outline is pi times its mean width long (Cauchy).
    """
    right, up = across(axis)
    angle = np.arange(12) * (math.pi / 12.0)
    flat = np.outer(np.cos(angle), right) + np.outer(np.sin(angle), up)
    outline = math.pi * float(np.ptp(samples.points @ flat.T, axis=0).mean())
    return outline - (float(np.ptp(base @ right)) if len(base) else 0.0)


def _line_lengths(mesh: Mesh, rays: Rays, axes: Floats, rough: Floats, strange: Floats, base: Floats) -> Floats:
    """Return the length of the parting line for each axis [m], infinite where it cannot be the shortest.

    rough: the least that each can be [m]; strange: factor that each counts with.
    """
    lengths = np.full(len(axes), np.inf)
    if len(axes) == 1:
        return np.zeros(1)
    for number in np.argsort(rough * strange, kind="stable"):
        if rough[number] * strange[number] < lengths.min():
            line = parting_line(mesh, rays, axes[number], base, pixels=COARSE)
            lengths[number] = line.length * strange[number]
    return lengths
