"""A smooth rising curve through tabulated values and slopes, made to be read off very often."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
# A number in, a number out; an array in, an array out.
Number = TypeVar("Number", float, Floats)


@dataclass(frozen=True, eq=False)
class PiecewiseCubic:
    """A cubic polynomial on each stretch between breaks, the last one valid without end.

    breaks: where each stretch starts, rising from zero, shape (n,); coefficients: of the powers 0 to 3 of the
    distance from the stretch's start, shape (4, n).
    """

    breaks: Floats
    coefficients: Floats

    def value(self, x: Number) -> Number:
        """Return the curve's value at x >= 0, a number or an array."""
        (c0, c1, c2, c3), u = self._stretch(x)
        return _like(x, c0 + u * (c1 + u * (c2 + u * c3)))

    def slope(self, x: Number) -> Number:
        """Return the curve's derivative at x >= 0, a number or an array."""
        (_, c1, c2, c3), u = self._stretch(x)
        return _like(x, c1 + u * (2.0 * c2 + u * (3.0 * c3)))

    def _stretch(self, x: float | Floats) -> tuple[Floats, Floats]:
        at = np.asarray(x, dtype=np.float64)
        if at.size and at.min() < 0.0:
            raise ValueError(f"a thickness below zero ({at.min():g}) has no place on the curve")
        stretch = self.breaks.searchsorted(at, side="right") - 1
        return self.coefficients.take(stretch, axis=1), at - self.breaks.take(stretch)


def _like(x: Number, result: Floats) -> Number:
    if isinstance(x, np.ndarray):
        return result
    return float(result)


def rising_curve(x: Floats, values: Floats, slopes: Floats, beyond: tuple[float, float]) -> PiecewiseCubic:
    """Return the curve through values with given slopes that never falls between two values.

    x: rising from zero, shape (n,); values: not falling, shape (n,); slopes: shape (n,), lowered where a cubic
    would overshoot [1]; beyond: coefficients of the square and the cube past the last x. Returns the curve.
    [1] A sufficient condition for monotone piecewise cubic interpolation: no slope above three times the secant
    beside it; SIAM Journal on Numerical Analysis 17 (1980) 238 (from memory).
    """
    gap, rise = np.diff(x), np.diff(values)
    secant = rise / gap
    beside = np.minimum(np.append(secant, secant[-1]), np.append(secant[0], secant))
    slopes = np.clip(slopes, 0.0, 3.0 * np.maximum(beside, 0.0))
    start, end = slopes[:-1], slopes[1:]
    square = (3.0 * secant - 2.0 * start - end) / gap
    cube = (start + end - 2.0 * secant) / gap**2
    pieces = np.stack([values, slopes, np.append(square, beyond[0]), np.append(cube, beyond[1])])
    pieces.setflags(write=False)
    return PiecewiseCubic(x, pieces)
