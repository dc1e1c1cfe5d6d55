"""The pockets at the tops of a surface, in which air stays while a liquid rises along a direction."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldkit.pattern.survey.hills import Hills, find_hills
from moldkit.pattern.triangles import area_vectors

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Integers = NDArray[np.int64]

# Shares of the longest side. A pocket less deep than LEAST_DEPTH is no trap: the waves and the noise of a scan make
# such by the hundred, and what stays in it is mended on the casting (common practice, no source: 2 mm on a piece of
# 20 cm). A share and no length, because a pattern may be made larger or smaller than its mesh.
LEAST_DEPTH = 0.01
# The surface within FLAT of a peak is its top, in the middle of which a vent stands.
FLAT = 0.001


@dataclass(frozen=True, eq=False)
class Surface:
    """A closed surface with what every way up asks of it.

    vertices: shape (n, 3) [m]; faces: shape (m, 3); vectors: outward normals as long as the areas, shape (m, 3) [m2];
    areas: shape (m,) [m2]; longest: side of the bounding box [m].
    """

    vertices: Floats
    faces: Integers
    vectors: Floats
    areas: Floats
    longest: float


@dataclass(frozen=True, eq=False)
class Pocket:
    """The surface round a peak, above the height at which air leaves it.

    at: the peak, or the middle of its flat top [m]; top, foot: heights of the peak and of the way out, or of the
    body's lowest point where there is no way out [m]; area: of the pocket's surface, or where there is no way out of
    its level floor, the least depth below the peak [m2]; under: True where the pattern overhangs it.
    """

    hill: int
    at: Floats
    top: float
    foot: float
    area: float
    under: bool


def surface_of(vertices: Floats, faces: Integers) -> Surface:
    """Return a closed surface made ready; vertices: shape (n, 3) [m]; faces: shape (m, 3)."""
    vectors = area_vectors(vertices[faces])
    x, y, z = vectors.T
    return Surface(vertices, faces, vectors, np.sqrt(x * x + y * y + z * z), float(np.ptp(vertices, axis=0).max()))


def find_pockets(surface: Surface, up: Floats) -> tuple[Hills, list[Pocket]]:
    """Return the hills of a surface along `up`, a unit vector, and its pockets worth the name, the highest first.

    The highest is always among them.
    """
    heights: Floats = surface.vertices @ up
    hills = find_hills(heights, surface.faces)
    tops, feet = hills.tops(), hills.feet()
    least = LEAST_DEPTH * surface.longest
    deep = np.flatnonzero((tops - feet > least) | (np.arange(len(tops)) == 0))
    rims = np.where(np.isneginf(hills.saddles), tops - np.minimum(least, (tops - feet) / 2.0), hills.saddles)
    slopes = _Slopes(surface, hills, up, float(rims[deep].min(initial=np.inf)))
    return hills, [_pocket(surface, slopes, int(hill), float(feet[hill]), float(rims[hill])) for hill in deep]


class _Slopes:
    """The faces that reach above a level, each with the hill that its highest corner is on."""

    def __init__(self, surface: Surface, hills: Hills, up: Floats, level: float) -> None:
        a, b, c = (np.take(hills.heights, surface.faces[:, corner]) for corner in range(3))
        self.faces = np.flatnonzero((a > level) | (b > level) | (c > level))
        a, b, c = a[self.faces], b[self.faces], c[self.faces]
        # The middle one of three, with no sorting, which takes ten times as long.
        self.low, self.high = np.minimum(np.minimum(a, b), c), np.maximum(np.maximum(a, b), c)
        self.middle = np.maximum(np.minimum(a, b), np.minimum(np.maximum(a, b), c))
        corners = surface.faces[self.faces].T
        highest = np.where(a == self.high, corners[0], np.where(b == self.high, corners[1], corners[2]))
        self.hill = hills.of_vertex[highest]
        self.areas, self.rises = surface.areas[self.faces], surface.vectors[self.faces] @ up
        self.hills = hills

    def above(self, hill: int, level: float) -> tuple[Flags, Floats]:
        """Return which faces reach above a level on a hill and what is joined with it there, and by what share."""
        part = (self.high > level) & (self.hills.joined(level) == hill)[self.hill]
        low, middle, high = self.low[part], self.middle[part], self.high[part]
        with np.errstate(divide="ignore", invalid="ignore"):
            tip = (high - level) ** 2 / ((high - middle) * (high - low))
            rest = 1.0 - (level - low) ** 2 / ((middle - low) * (high - low))
        return part, np.where(level <= low, 1.0, np.where(level < middle, rest, tip))


def _pocket(surface: Surface, slopes: _Slopes, hill: int, foot: float, rim: float) -> Pocket:
    part, share = slopes.above(hill, rim)
    # A pocket's floor is as large as its roof seen from below, and the roof looks up over solid, down over free.
    floor = float((share * slopes.rises[part]).sum())
    top = float(slopes.hills.tops()[hill])
    at = _middle_of_top(surface, slopes, hill, top - FLAT * surface.longest)
    area = abs(floor) if foot < rim else float((share * slopes.areas[part]).sum())
    return Pocket(hill, at, top, foot, area, floor < 0.0 and hill > 0)  # over the highest is nothing but open air


def _middle_of_top(surface: Surface, slopes: _Slopes, hill: int, level: float) -> Floats:
    """Return the point of a hill's top that is nearest to the top's centre, [m]; the peak where no face is flat."""
    part, share = slopes.above(hill, level)
    flat = slopes.faces[part][share == 1.0]
    if not len(flat):
        peak: Floats = surface.vertices[slopes.hills.peaks[hill]]
        return peak
    corners = surface.vertices[surface.faces[flat]]
    centres = corners.mean(axis=1)
    middle = np.average(centres, axis=0, weights=surface.areas[flat] + np.finfo(float).tiny)
    edges = (corners + np.roll(corners, 1, axis=1)) / 2.0
    points = np.vstack([edges.reshape(-1, 3), corners.reshape(-1, 3), centres])
    nearest: Floats = points[((points - middle) ** 2).sum(axis=1).argmin()]
    return nearest
