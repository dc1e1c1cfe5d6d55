"""The two modelled forms, bust and figure, in the unit box: x and y from -1/2 to 1/2, z from 0 to 1."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from moldkit.pattern.implicit import (
    Faces,
    Field,
    Floats,
    Point,
    blend,
    carve,
    ellipsoid,
    freedom_on_base,
    limb,
    settle,
    surface_net,
)

Shape = tuple[Floats, Faces]

BUST_STEP = 0.0255  # grid steps as shares of the height: 6,000 to 8,000 triangles each
FIGURE_STEP = 0.0166


@lru_cache(maxsize=1)
def bust() -> Shape:
    """Return a head on neck, chest and a flat base."""
    return _modelled(_bust_field, (0.46, 0.34), BUST_STEP)


@lru_cache(maxsize=1)
def figure() -> Shape:
    """Return a standing figure with simplified limbs on a plinth."""
    return _modelled(_figure_field, (0.22, 0.18), FIGURE_STEP)


def _modelled(field: Field, half_plan: tuple[float, float], step: float) -> Shape:
    """Return a field's body, cut flat at z = 0 and stretched to the unit box.

    field: of a body about 1 tall over z = 0 that may go on below; half_plan: half width and half depth of
    the space to search. The grid's lowest points lie half a step under the base and count as outside.
    """
    across, along = (_evenly(half, step) for half in half_plan)
    up = (np.arange(np.ceil(1.1 / step), dtype=np.float64) - 0.5) * step
    values = field(across[:, None, None], along[None, :, None], up[None, None, :])
    values[:, :, 0] = np.abs(values[:, :, 0])
    vertices, faces = surface_net(values, (across[0], along[0], up[0]), step)
    base = vertices[:, 2] < 0.5 * step
    vertices[base, 2] = 0.0
    vertices = settle(vertices, field, 0.5 * step, freedom_on_base(base, faces))
    low, high = vertices.min(axis=0), vertices.max(axis=0)
    unit = (vertices - low) / (high - low)
    return unit - np.array([0.5, 0.5, 0.0]), faces


def _evenly(half: float, step: float) -> Floats:
    """Return grid places from -half to half or just beyond, 0 among them."""
    count = int(np.ceil(half / step))
    result: Floats = step * np.arange(-count, count + 1, dtype=np.float64)
    return result


def _pair(x: Floats, y: Floats, z: Floats, start: Point, end: Point, radius: float, end_radius: float) -> Floats:
    """Return a limb on the right and its mirror image on the left."""
    return limb(np.abs(x), y, z, start, end, radius, end_radius)


def _bust_field(x: Floats, y: Floats, z: Floats) -> Floats:
    """Return the field of the bust, height 1, looking to -y."""
    side = np.abs(x)
    chest = ellipsoid(x, y, z, (0.0, 0.02, 0.13), (0.345, 0.235, 0.40))
    chest = blend(chest, _pair(x, y, z, (0.06, 0.05, 0.40), (0.215, 0.04, 0.30), 0.09, 0.115), 0.12)
    chest = blend(chest, _pair(x, y, z, (0.215, 0.04, 0.30), (0.225, 0.025, 0.0), 0.12, 0.125), 0.08)
    chest = blend(chest, ellipsoid(side, y, z, (0.12, -0.10, 0.22), (0.13, 0.10, 0.11)), 0.08)
    chest = blend(chest, _pair(x, y, z, (0.02, -0.09, 0.385), (0.19, -0.03, 0.405), 0.022, 0.022), 0.06)
    neck = limb(x, y, z, (0.0, 0.06, 0.35), (0.0, 0.035, 0.62), 0.125, 0.113)
    neck = blend(neck, _pair(x, y, z, (0.11, 0.07, 0.63), (0.02, -0.07, 0.41), 0.035, 0.025), 0.05)
    head = _bust_head(x, y - 0.015, z)
    return blend(head, blend(chest, neck, 0.10), 0.04)


def _bust_head(x: Floats, y: Floats, z: Floats) -> Floats:
    """Return the field of the bust's head: crown at 1, chin at 0.54, eyes half way."""
    side = np.abs(x)
    head = ellipsoid(x, y, z, (0.0, 0.025, 0.815), (0.168, 0.205, 0.185))
    head = blend(head, ellipsoid(x, y, z, (0.0, -0.06, 0.695), (0.134, 0.125, 0.145)), 0.08)
    head = blend(head, _pair(x, y, z, (0.112, 0.0, 0.645), (0.028, -0.14, 0.575), 0.035, 0.034), 0.06)
    head = blend(head, _pair(x, y, z, (0.02, -0.178, 0.80), (0.095, -0.14, 0.798), 0.022, 0.02), 0.04)
    head = carve(head, ellipsoid(side, y, z, (0.066, -0.205, 0.762), (0.042, 0.045, 0.03)), 0.05)
    head = blend(head, ellipsoid(side, y, z, (0.066, -0.14, 0.762), (0.032, 0.03, 0.026)), 0.02)
    head = blend(head, _pair(x, y, z, (0.095, -0.12, 0.715), (0.06, -0.145, 0.70), 0.03, 0.03), 0.06)
    head = blend(head, limb(x, y, z, (0.0, -0.175, 0.79), (0.0, -0.215, 0.685), 0.017, 0.027), 0.035)
    head = blend(head, ellipsoid(side, y, z, (0.026, -0.19, 0.678), (0.022, 0.026, 0.019)), 0.02)
    head = blend(head, _pair(x, y, z, (0.0, -0.187, 0.636), (0.042, -0.165, 0.63), 0.02, 0.012), 0.02)
    head = blend(head, _pair(x, y, z, (0.0, -0.182, 0.608), (0.034, -0.165, 0.614), 0.02, 0.012), 0.015)
    ear = ellipsoid(side, y, z, (0.165, 0.035, 0.735), (0.028, 0.045, 0.07))
    return blend(head, ear, 0.025)


def _figure_field(x: Floats, y: Floats, z: Floats) -> Floats:
    """Return the field of the figure, height 1 with its plinth, looking to -y."""
    trunk = ellipsoid(x, y, z, (0.0, 0.012, 0.525), (0.102, 0.080, 0.085))
    trunk = blend(trunk, ellipsoid(x, y, z, (0.0, 0.0, 0.63), (0.070, 0.060, 0.10)), 0.05)
    trunk = blend(trunk, ellipsoid(x, y, z, (0.0, 0.002, 0.745), (0.108, 0.074, 0.095)), 0.05)
    trunk = blend(trunk, _pair(x, y, z, (0.03, 0.014, 0.832), (0.104, 0.012, 0.808), 0.036, 0.040), 0.05)
    neck = limb(x, y, z, (0.0, 0.012, 0.83), (0.0, 0.002, 0.90), 0.036, 0.032)
    head = ellipsoid(x, y, z, (0.0, 0.004, 0.941), (0.051, 0.062, 0.059))
    head = blend(head, ellipsoid(x, y, z, (0.0, -0.022, 0.902), (0.039, 0.040, 0.044)), 0.02)
    body = blend(blend(trunk, _legs(x, y, z), 0.035), blend(head, neck, 0.03), 0.03)
    return blend(blend(body, _arms(x, y, z), 0.055), _plinth(x, y, z), 0.012)


def _legs(x: Floats, y: Floats, z: Floats) -> Floats:
    """Return the field of the legs, the left one set forward."""
    standing = limb(x, y, z, (-0.050, 0.012, 0.50), (-0.056, 0.008, 0.295), 0.066, 0.043)
    standing = blend(standing, limb(x, y, z, (-0.056, 0.016, 0.29), (-0.060, 0.034, 0.085), 0.047, 0.027), 0.02)
    standing = blend(standing, limb(x, y, z, (-0.060, 0.034, 0.072), (-0.075, -0.045, 0.066), 0.028, 0.023), 0.03)
    forward = limb(x, y, z, (0.052, 0.0, 0.50), (0.066, -0.045, 0.30), 0.066, 0.043)
    forward = blend(forward, limb(x, y, z, (0.066, -0.036, 0.295), (0.072, -0.014, 0.085), 0.047, 0.027), 0.02)
    forward = blend(forward, limb(x, y, z, (0.072, -0.014, 0.072), (0.084, -0.080, 0.066), 0.028, 0.023), 0.03)
    return blend(standing, forward, 0.03)


def _arms(x: Floats, y: Floats, z: Floats) -> Floats:
    """Return the field of the arms, the hands on the thighs."""
    arms = _pair(x, y, z, (0.118, 0.016, 0.795), (0.143, 0.034, 0.65), 0.038, 0.030)
    arms = blend(arms, _pair(x, y, z, (0.143, 0.034, 0.65), (0.128, -0.036, 0.535), 0.031, 0.023), 0.02)
    return blend(arms, ellipsoid(np.abs(x), y, z, (0.116, -0.060, 0.495), (0.021, 0.028, 0.046)), 0.02)


def _plinth(x: Floats, y: Floats, z: Floats) -> Floats:
    """Return the field of an oval plinth, 0.05 high, with a rounded upper edge."""
    plan = (np.sqrt((x / 0.165) ** 2 + (y / 0.122) ** 2) - 1.0) * 0.122
    return -blend(-plan, 0.05 - z, 0.02)
