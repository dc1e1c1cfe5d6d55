"""Turned by machine: the closed mold turns about two axes while the charge sets as a wall."""

from __future__ import annotations

from collections.abc import Mapping

from moldkit.casting.plan import CastingMaterials, CastingPlan, MoldAtHand, hollow, pour
from moldkit.pattern.pattern import Pattern
from moldkit.tables import Row


def plan(pattern: Pattern, mold: MoldAtHand, materials: CastingMaterials, steps: Mapping[str, Row]) -> CastingPlan:
    """Return the plan of one casting turned by machine.

    pattern: at one size or an array of sizes; mold: pieces, seam [m], cavities; steps: the casting steps' rows.
    """
    return pour(pattern, mold, materials, steps, hollow(pattern, mold, materials))
