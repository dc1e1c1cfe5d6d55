"""Whether a closed mold fits an upright round vessel, in the best orientation, and by how much it does not."""

from __future__ import annotations

from typing import Any

import numpy as np


def shortfall_in_vessel(sides: tuple[Any, Any, Any], round_diameter: Any, bore: Any, height: Any) -> Any:
    """Return how much [m] a mold is too large for a vessel in its best orientation; zero or less: it fits.

    sides: width, depth, height of the closed mold [m]; round_diameter: of the upright tube round it [m];
    bore, height: inside the vessel [m]. A box with a x b across fits a bore of sqrt(a^2 + b^2).
    """
    width, depth, tall = sides
    upright = np.minimum(np.hypot(width, depth), round_diameter)
    poses = (
        (upright, tall),
        (np.hypot(width, tall), depth),
        (np.hypot(depth, tall), width),
    )
    lacking = [np.maximum(across - bore, up - height) for across, up in poses]
    return np.minimum(np.minimum(lacking[0], lacking[1]), lacking[2])
