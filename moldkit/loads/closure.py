"""What opens a closed mold: head and foam on the outline of its parts; clamps or bolts that hold it shut."""

from __future__ import annotations

import math

import numpy as np

from moldkit.loads.head import GRAVITY, HYDROSTATICS
from moldkit.quantity import Quantity

CLOSURE_SAFETY = Quantity("safety factor", 2.0, "1", source="common practice, no source")
# Between two clamps or bolts a flange opens and leaks, whatever the force.
FLANGE_SPACING = Quantity("greatest spacing", 0.15, "m", source="common practice, no source")


def mean_pressure(density: Quantity, head: Quantity, outline: Quantity, width: Quantity) -> Quantity:
    """Return the mean pressure of a head on an outline that stands on the base [Pa].

    Hydrostatics: the pressure at the outline's centroid, which is taken as low as its area allows, as if it were a
    strip of its full width along the base. density [kg/m3]; head: from the base to the top of the pour [m]; outline:
    area seen in the pull direction [m2]; width: of the outline [m]. At most the pressure at the foot.
    """
    raised = outline.value / (2.0 * width.value)
    value = density.value * GRAVITY * np.maximum(head.value - raised, head.value / 2.0)[()]
    words = "density x g x (full head - outline / (2 x width)), at least half the head"
    return Quantity("mean pressure", value, "Pa", words, (density, head, outline, width), HYDROSTATICS)


def holding_force(push: Quantity) -> Quantity:
    """Return the force that clamps, straps and bolts must be good for [N]: the push that opens a mold, with safety."""
    value = push.value * CLOSURE_SAFETY.value
    return Quantity("force to hold", value, "N", f"{push.name} x safety factor", (push, CLOSURE_SAFETY), "statics")


def fasteners(push: Quantity, each: Quantity, seam: Quantity) -> Quantity:
    """Return how many clamps or bolts hold a flange: enough for the force, and no farther apart than a flange bears.

    push: what opens the mold [N]; each: what one of them holds, as its maker says [N]; seam: length of the flange
    [m]. Two at least.
    """
    wanted = holding_force(push)
    by_force = math.ceil(wanted.value / each.value - 1e-9)
    by_spacing = math.ceil(seam.value / FLANGE_SPACING.value - 1e-9)
    words = "the greater of force to hold / what one holds and length of the flange / greatest spacing, up"
    inputs = (wanted, each, seam, FLANGE_SPACING)
    return Quantity("clamps or bolts", float(max(2, by_force, by_spacing)), "1", words, inputs, "statics")


def opened_outline(side: Quantity, base: Quantity, pieces: Quantity, cavities: int, *, stands: bool) -> Quantity:
    """Return the larger outline on which a mold can open [m2]: along its parting, or at the open base; all cavities.

    side: outline in the pull direction [m2]; base: outline seen from above [m2]; pieces: of the mold; stands: the
    pattern stands on its base.
    """
    parted = np.where(np.asarray(pieces.value) > 1, side.value, 0.0)
    value = cavities * np.maximum(parted, base.value if stands else 0.0)
    words = "the larger of the outline at the parting and the open base, in all cavities"
    return Quantity("outline that opens", value[()], "m2", words, (side, base), "geometry")
