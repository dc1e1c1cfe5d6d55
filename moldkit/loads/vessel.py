"""A pressure vessel goes by its rating plate and its inspector; here is only what it is asked for, never a wall."""

from __future__ import annotations

import numpy as np

from moldkit.quantity import Quantity

RULES = "29 CFR 1910.169 (air receivers); the rating plate and the inspector decide"


def rated_share(asked: Quantity, rating: Quantity) -> Quantity:
    """Return the share of its rating [Pa] that a vessel is asked for [Pa], both as gauge pressure."""
    return Quantity("share of the rating", asked.value / rating.value, "share", "asked / rated", (asked, rating), RULES)


def lid_force(bore: Quantity, gauge: Quantity) -> Quantity:
    """Return the force on a pot's lid [N], to show what a lid holds back: bore [m], gauge pressure [Pa]."""
    value = np.pi / 4 * bore.value**2 * gauge.value
    return Quantity("force on the lid", value, "N", "pi/4 x bore^2 x pressure", (bore, gauge), "statics")
