"""Shapes round a pattern: its outermost corners, and seen from above its outline, smallest circle and rectangles."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

# A point outside a circle by less than this share of the radius counts as on it.
_ON_CIRCLE = 1e-12
# Points within the polygon of those furthest out in so many directions are no corners; few sides first, for speed.
_ROUGH_OUTLINES = (8, 64)
# Fewer points than this are looked at one by one as fast as their hull is found.
_FEW_POINTS = 20_000


def outermost(points: Floats) -> Floats:
    """Return points with the same convex hull, of many only its corners; what lies round them is found from these.

    points: not all in one plane, shape (n, 3) [m]. Returns shape (h, 3) [m].
    """
    if len(points) < _FEW_POINTS:
        return points
    import manifold3d

    # From one of its own corners, so that points far from the origin lose no digits.
    low = points.min(axis=0)
    hull = manifold3d.Manifold.hull_points(points - low).to_mesh64()
    corners: Floats = np.asarray(hull.vert_properties, dtype=np.float64)[:, :3]
    return corners + low if len(corners) else points


def convex_hull(points: Floats) -> Floats:
    """Return the corners of the convex outline of points in the plane, counter-clockwise.

    By the monotone chain of A. M. Andrew (1979; from memory).
    points: shape (n, 2) [m]. Returns shape (h, 2) [m], points on its straight sides left out.
    """
    for sides in _ROUGH_OUTLINES:
        points = _without_middle(points, sides)
    ordered = np.unique(points, axis=0)
    if len(ordered) < 3:
        return ordered
    lower, upper = _chain(ordered), _chain(ordered[::-1])
    return np.array(lower[:-1] + upper[:-1])


def _without_middle(points: Floats, sides: int) -> Floats:
    """Leave out the points within the polygon of those furthest out in some directions."""
    x, y = flat = np.ascontiguousarray(points.T)
    angle = np.arange(sides) * (2.0 * np.pi / sides)
    furthest = np.argmax(np.stack([np.cos(angle), np.sin(angle)], axis=1) @ flat, axis=1)
    corners = points[furthest[np.append(True, np.diff(furthest) != 0)]]
    outside = np.zeros(len(points), dtype=bool)
    for (start_x, start_y), (end_x, end_y) in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        # Twice the area of the triangle start, end, point: positive where the point lies to the left.
        outside |= (end_x - start_x) * (y - start_y) - (end_y - start_y) * (x - start_x) <= 0.0
    return points[outside]


def _chain(ordered: Floats) -> list[list[float]]:
    """Return the chain of left turns through points in order."""
    chain: list[list[float]] = []
    for x, y in ordered.tolist():
        while len(chain) > 1:
            (ax, ay), (bx, by) = chain[-2], chain[-1]
            if (bx - ax) * (y - ay) - (by - ay) * (x - ax) > 0.0:
                break
            chain.pop()
        chain.append([x, y])
    return chain


def perimeter(hull: Floats) -> float:
    """Return the length of a closed outline [m]; hull: its corners in order, shape (h, 2) [m]."""
    return float(np.linalg.norm(hull - np.roll(hull, 1, axis=0), axis=1).sum())


def enclosed_area(hull: Floats) -> float:
    """Return the area within an outline [m2]; hull: its corners, counter-clockwise, shape (h, 2) [m]."""
    x, y = (hull - hull[0]).T
    return float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum() / 2.0)


def enclosing_circle(hull: Floats) -> tuple[Floats, float]:
    """Return centre (2,) and radius of the smallest circle round points [m]; exact but for rounding.

    Starting from any circle through some of the points, the one furthest outside must lie on a better one; each
    time, the two or three points that carry the new circle are found among the carriers and the new one.
    hull: corners of the convex outline, shape (h, 2) [m].
    """
    carriers = hull[:1]
    centre, radius = hull[0], 0.0
    for _ in range(10 * len(hull) + 10):
        distance = np.linalg.norm(hull - centre, axis=1)
        furthest = int(np.argmax(distance))
        if distance[furthest] <= radius * (1.0 + _ON_CIRCLE):
            break
        carriers, centre, radius = _carried(np.vstack([carriers, hull[furthest]]))
    return centre, radius


def _carried(points: Floats) -> tuple[Floats, Floats, float]:
    """Return the two or three of at most four points that carry the smallest circle round them, and the circle."""
    best: tuple[Floats, Floats, float] | None = None
    count = len(points)
    pairs = [(i, j) for i in range(count) for j in range(i)]
    triples = [(i, j, k) for i, j in pairs for k in range(j)]
    for chosen in [*pairs, *triples]:
        some = points[list(chosen)]
        centre = some.mean(axis=0) if len(some) == 2 else _circumcentre(some)
        if centre is None:
            continue
        radius = float(np.linalg.norm(some - centre, axis=1).max())
        holds = (np.linalg.norm(points - centre, axis=1) <= radius * (1.0 + _ON_CIRCLE)).all()
        if holds and (best is None or radius < best[2]):
            best = some, centre, radius
    if best is None:  # points in one spot, or so nearly in line that only rounding tells
        return points[-1:], points[-1], 0.0
    return best


def _circumcentre(corners: Floats) -> Floats | None:
    a, b = corners[1] - corners[0], corners[2] - corners[0]
    twice_area = 2.0 * (a[0] * b[1] - a[1] * b[0])
    if twice_area == 0.0:
        return None
    square_a, square_b = a @ a, b @ b
    offset = np.array([b[1] * square_a - a[1] * square_b, a[0] * square_b - b[0] * square_a]) / twice_area
    result: Floats = corners[0] + offset
    return result


def enclosing_rectangles(hull: Floats) -> Floats:
    """Return the sides, longer first, of the rectangles that can be the best, smallest area first, (k, 2) [m].

    For a margin m round it, (Lx + 2 m) (Ly + 2 m) = Lx Ly + 2 m (Lx + Ly) + 4 m2. While a rectangle turns between
    two positions in which a side of the outline lies along it, Lx Ly and Lx + Ly are both concave in the angle, so
    the best one lies along a side; among those only the ones that win at some margin are kept.
    hull: corners of the convex outline, counter-clockwise, shape (h, 2) [m].
    """
    along = np.roll(hull, -1, axis=0) - hull
    along /= np.linalg.norm(along, axis=1)[:, None]
    across = np.stack([-along[:, 1], along[:, 0]], axis=1)
    extents = np.stack([np.ptp(hull @ direction.T, axis=0) for direction in (along, across)], axis=1)
    sides: Floats = np.sort(extents, axis=1)[:, ::-1]
    area, sum_of_sides = sides.prod(axis=1), sides.sum(axis=1)
    order = np.lexsort((sum_of_sides, area))
    better = sum_of_sides[order] < np.append(np.inf, np.minimum.accumulate(sum_of_sides[order])[:-1])
    kept = order[better]
    winners = _chain(np.stack([area[kept], sum_of_sides[kept]], axis=1))
    return np.array([sides[kept[np.flatnonzero(area[kept] == a)[0]]] for a, _ in winners])
