"""Whether a closed mold fits an upright round vessel, in a position in which it still pours, and by how much not."""

from __future__ import annotations

from typing import Any

import numpy as np


def shortfall_in_vessel(
    sides: tuple[Any, Any, Any], round_diameter: Any, bore: Any, height: Any, *, upright: bool
) -> Any:
    """Return how much [m] a mold is too large for a vessel in its best position; zero or less: it fits.

    sides: width, depth, height of the closed mold [m]; round_diameter: of the upright tube round it [m];
    bore, height: inside the vessel [m]; upright: the mold is open at its base and poured into there, so that it
    may not be laid on a side. A box with a x b across fits a bore of sqrt(a^2 + b^2).
    """
    width, depth, tall = sides
    standing = np.minimum(np.hypot(width, depth), round_diameter)
    poses = [(standing, tall)]
    if not upright:
        poses += [(np.hypot(width, tall), depth), (np.hypot(depth, tall), width)]
    return np.min([np.maximum(across - bore, up - height) for across, up in poses], axis=0)[()]


def shortfall_of_tubes(tubes: tuple[Any, Any], grown: Any, bore: Any, height: Any) -> Any:
    """Return how much [m] the slimmest or lowest of some tubes, grown all round, are too large for a vessel.

    tubes: their diameters and heights, shape (..., j) [m]; grown: by this at every side, shape (...) [m]; bore,
    height: inside the vessel [m]. Returns the least over the tubes; zero or less: one of them fits.
    """
    more = 2.0 * np.asarray(grown, dtype=float)[..., None]
    across, up = (np.asarray(side) + more for side in tubes)
    return np.maximum(across - bore, up - height).min(axis=-1)[()]
