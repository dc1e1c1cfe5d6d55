"""Casting under vacuum: the poured mold is degassed in a vacuum chamber, so that trapped air leaves."""

from __future__ import annotations

from collections.abc import Mapping

from moldkit.casting.plan import CastingMaterials, CastingPlan, MoldAtHand, pour, solid
from moldkit.pattern.pattern import Pattern
from moldkit.tables import Row


def plan(pattern: Pattern, mold: MoldAtHand, materials: CastingMaterials, steps: Mapping[str, Row]) -> CastingPlan:
    """Return the plan of one pour that is degassed in the mold.

    pattern: at one size or an array of sizes; mold: pieces, seam [m], cavities; steps: the casting steps' rows.
    """
    return pour(pattern, mold, materials, steps, solid(pattern, mold, materials))
