"""Thin plates solved anew, to hold the tables against: the energy of a plate made least over polynomials."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import numpy as np
from numpy.polynomial import legendre
from numpy.typing import NDArray

Floats = NDArray[np.float64]
POISSON = 0.3
# What is nothing at the edges -1 and 1, as powers of x: held at both, clamped at both, held at the foot alone.
EDGES = {"held": [1.0, 0.0, -1.0], "clamped": [1.0, 0.0, -2.0, 0.0, 1.0], "foot": [1.0, 1.0]}


def _shapes(edges: str, count: int, at: Floats) -> Floats:
    """Return the shapes that fit the edges, with their first and second derivatives, shape (count, 3, len(at))."""
    edge = legendre.poly2leg(EDGES[edges])
    found = []
    for place in range(count):
        row = legendre.legmul(edge, np.eye(place + 1)[place])
        found.append([legendre.legval(at, legendre.legder(row, times)) for times in range(3)])
    return np.array(found)


@cache
def solved(
    across: str, along: str, length: float, load: Callable[[Floats, Floats], Floats], count: int = 12
) -> tuple[float, float]:
    """Return (greatest moment, greatest deflection) of a plate 1 by `length` for a load of 1 and a stiffness of 1.

    across, along: what holds the edges that end the side 1 and the side `length`; load: of x and y.
    """
    points, weights = legendre.leggauss(2 * count + 6)
    x, y = _shapes(across, count, points), _shapes(along, count, points)
    sx, sy = 2.0, 2.0 / length

    def over(f: Floats, one: int, other: int) -> Floats:
        return np.asarray((f[:, one] * weights) @ f[:, other].T)

    def both(a: Floats, b: Floats) -> Floats:
        return np.einsum("ik,jl->ijkl", a, b).reshape(count**2, count**2)

    bend = both(over(x, 2, 2), over(y, 0, 0)) * sx**4 + both(over(x, 0, 0), over(y, 2, 2)) * sy**4
    cross = both(over(x, 2, 0), over(y, 0, 2)) + both(over(x, 0, 2), over(y, 2, 0))
    twist = both(over(x, 1, 1), over(y, 1, 1))
    stiff = bend + (POISSON * cross + 2 * (1 - POISSON) * twist) * (sx * sy) ** 2
    pushed = load((points[:, None] + 1) / sx, (points[None, :] + 1) / sy) * np.ones((len(points),) * 2)
    work = np.einsum("iq,qr,jr->ij", x[:, 0] * weights, pushed, y[:, 0] * weights).ravel()
    even = 1 / np.sqrt(np.diag(stiff))
    share = (even * np.linalg.solve(even[:, None] * stiff * even, even * work)).reshape(count, count)
    at = np.linspace(-1, 1, 61)
    gx, gy = _shapes(across, count, at), _shapes(along, count, at)

    def field(one: int, other: int) -> Floats:
        return np.einsum("iq,ij,jr->qr", gx[:, one], share, gy[:, other])

    xx, yy = field(2, 0) * sx**2, field(0, 2) * sy**2
    moment = max(np.abs(xx + POISSON * yy).max(), np.abs(yy + POISSON * xx).max())
    return float(moment), float(np.abs(field(0, 0)).max())


def coefficients(
    across: str, along: str, length: float, load: Callable[[Floats, Floats], Floats]
) -> tuple[float, float]:
    """Return (beta, alpha) for the side 1 as the span: stress beta q b^2 / t^2, deflection alpha q b^4 / (E t^3)."""
    moment, sag = solved(across, along, length, load)
    return 6 * moment, 12 * (1 - POISSON**2) * sag
