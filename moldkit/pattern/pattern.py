"""A pattern at a size: one reading of its shape, scaled, with what the mold maker declares about it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from moldkit.pattern.reading import Reading
from moldkit.pattern.survey.results import Survey
from moldkit.quantity import Quantity

UNDERCUTS = ("none", "moderate", "severe")
# Where a figure about the pattern comes from.
DECLARED, MEASURED, ASSUMED = "declared in the job", "measured on the mesh", "assumed"
# A shell lifts straight up when hardly any of the surface looks down at the base.
LIFTS_STRAIGHT_UP = 0.01
# Vents that every cavity pour has beside its spout.
USUAL_VENTS = 2
# Tops within so many gaps of each other run together on the shell's inside, and one vent serves them.
GAPS_A_VENT_SERVES = 3
# Share of the surface that straight pulls must free for the pieces counted to be a mold.
NEARLY_ALL = 0.95
PIECES = "pieces of the mold"


@dataclass(frozen=True)
class Pattern:
    """A pattern at one size, or at an array of sizes.

    reading: what was measured at the mesh's own size; scale: what its lengths are multiplied by, a number
    or an array of shape (s,); undercut: "none", "moderate" or "severe"; undercut_from: DECLARED, MEASURED or ASSUMED;
    surface: its surface in words;
    sealed: sealed and patch-tested; survives: still there after the mold is taken off; unique: an original
    that cannot be replaced; stands_on_base: stands on its lowest plane (else free-standing).
    """

    reading: Reading
    scale: Any = 1.0
    undercut: str = "none"
    undercut_from: str = ASSUMED
    surface: str = "sealed plaster"
    sealed: bool = False
    survives: bool = True
    fixed_in_place: bool = False
    vertical: bool = False
    fragile: bool = False
    unique: bool = False

    @property
    def stands_on_base(self) -> bool:
        """Whether the pattern stands on its lowest plane."""
        return bool(self.reading.stands_on_base)

    def _measured(self, name: str, value: Any, unit: str, power: int) -> Quantity:
        return Quantity(name, value * self.scale**power, unit, "measured on the pattern", source="the pattern's mesh")

    @cached_property
    def volume(self) -> Quantity:
        """Volume of the pattern [m3]."""
        return self._measured("pattern volume", self.reading.volume, "m3", 3)

    @cached_property
    def area(self) -> Quantity:
        """Whole surface [m2]."""
        return self._measured("pattern surface", self.reading.area, "m2", 2)

    @cached_property
    def molded_area(self) -> Quantity:
        """Surface that the mold touches: all but a base [m2]."""
        return self._measured("molded surface", self.reading.molded_area, "m2", 2)

    @cached_property
    def width(self) -> Quantity:
        """Extent along x [m]."""
        return self._measured("pattern width", self.reading.extents[0], "m", 1)

    @cached_property
    def depth(self) -> Quantity:
        """Extent along y [m]."""
        return self._measured("pattern depth", self.reading.extents[1], "m", 1)

    @cached_property
    def height(self) -> Quantity:
        """Extent along z [m]."""
        return self._measured("pattern height", self.reading.extents[2], "m", 1)

    @cached_property
    def longest(self) -> Quantity:
        """Longest side of the bounding box [m]."""
        return self._measured("longest side", max(self.reading.extents), "m", 1)

    @cached_property
    def footprint_perimeter(self) -> Quantity:
        """Perimeter of the outline seen from above [m]."""
        return self._measured("footprint perimeter", self.reading.footprint_perimeter, "m", 1)

    @cached_property
    def upright_circle(self) -> Quantity:
        """Diameter of the smallest upright tube round the pattern [m]."""
        return self._measured("upright tube diameter", self.reading.upright_circle_diameter, "m", 1)

    @cached_property
    def one_parting_line(self) -> Quantity:
        """Length of one parting line [m]."""
        return self._measured("one parting line", self.reading.parting_length, "m", 1)

    @cached_property
    def silhouette_area(self) -> Quantity:
        """Area of the outline in the pull direction [m2]."""
        return self._measured("outline in the pull direction", self.reading.silhouette_area, "m2", 2)

    @cached_property
    def footprint_area(self) -> Quantity:
        """Area of the outline seen from above [m2]."""
        return self._measured("footprint", self.reading.footprint_area, "m2", 2)

    @property
    def survey(self) -> Survey | None:
        """What the survey of the mesh found, None of a simple form. A declared grade overrides its grade alone."""
        return self.reading.survey

    @cached_property
    def pieces(self) -> Quantity:
        """Pieces of a mold: as measured, else by the grade of the undercuts.

        By the grade: one where a shell lifts straight up, else two, one more for severe undercuts. So it is, too, where
        no straight pull frees some of the surface: the pieces that were counted don't make a mold then.
        """
        counted = self.survey is not None and self.undercut_from == MEASURED
        if self.survey is not None and counted and self.survey.pull.visible_any >= NEARLY_ALL:
            least = 1 if self.stands_on_base else 2
            value = max(least, len(self.survey.pull.soft_pieces))
            words = "as the shape opens with rubber that gives way"
            return Quantity(PIECES, float(value), "pieces", words, (), MEASURED)
        lifts = self.stands_on_base and self.reading.downward_share < LIFTS_STRAIGHT_UP
        value = (1 if lifts and self.undercut == "none" else 2) + (self.undercut == "severe")
        words = f"as the shape opens, undercuts {self.undercut}"
        return Quantity(PIECES, float(value), "pieces", words, (), f"undercuts {self.undercut_from}")

    def chosen_pieces(self, chosen: int | None, least: int = 1) -> Quantity:
        """Return the pieces of a mold: those chosen in the job, else as the shape opens, `least` at least."""
        if chosen is not None:
            return Quantity(PIECES, float(chosen), "pieces", "chosen in the job", (), DECLARED)
        if self.pieces.value >= least:
            return self.pieces
        return Quantity(PIECES, float(least), "pieces", f"{least} pours make as many pieces")

    def further_vents(self, gap: Quantity) -> Quantity:
        """Return the vents beyond the usual two that rubber poured into a gap [m] wants over the pattern's tops.

        A top that rises over its neighbourhood by less than the gap is level with it on the shell's inside.
        """
        tops = self.survey.air.standing.tops[1:] if self.survey is not None else ()
        wide = np.asarray(gap.value)[..., None]
        rises = np.multiply.outer(self.scale, np.array([top.prominence for top in tops]))
        apart = np.multiply.outer(self.scale, _apart(self.survey))
        count = ((rises > wide) & (apart > GAPS_A_VENT_SERVES * wide)).sum(axis=-1)
        words = (
            f"tops of the pattern that rise by more than the gap, {GAPS_A_VENT_SERVES} gaps from a higher one, "
            f"beyond the spout and {USUAL_VENTS} vents"
        )
        return Quantity("further vents", np.maximum(count - USUAL_VENTS, 0.0)[()], "1", words, (gap,), MEASURED)

    def box_round(self, margin: Any) -> tuple[Any, Any, Any]:
        """Return length, width and height [m] of the smallest box with `margin` [m] all round.

        Standing on its base the pattern has no margin below.
        """
        sides = self.reading.containers.boxes
        scale = np.asarray(self.scale, dtype=float)[..., None]
        margins = np.asarray(margin, dtype=float)[..., None]
        below = 1 if self.stands_on_base else 2
        grown = np.broadcast_arrays(*(sides[:, i] * scale + (2, 2, below)[i] * margins for i in range(3)))
        best = np.argmin(grown[0] * grown[1] * grown[2], axis=-1)[..., None]
        length, width, height = (np.take_along_axis(side, best, axis=-1)[..., 0][()] for side in grown)
        return length, width, height

    def tubes_round(self, margin: Any) -> tuple[Any, Any]:
        """Return bore and height [m] of the tubes with `margin` [m] all round, shape (..., j), the slimmest first."""
        tubes = self.reading.containers.tubes
        scale = np.asarray(self.scale, dtype=float)[..., None]
        margins = np.asarray(margin, dtype=float)[..., None]
        below = 1 if self.stands_on_base else 2
        bore, height = np.broadcast_arrays(tubes[:, 0] * scale + 2 * margins, tubes[:, 1] * scale + below * margins)
        return bore, height

    def skin_volume(self, thickness: Quantity) -> Quantity:
        """Return the volume within `thickness` [m] outside the surface [m3]."""
        value = self.scale**3 * self.reading.curve.volume(thickness.value / self.scale)
        return Quantity(
            "volume of the skin",
            value,
            "m3",
            "volume within the skin's thickness outside the pattern, above its base",
            (thickness, self.volume),
            "distance field of the pattern's mesh",
        )

    def outer_area(self, thickness: Quantity) -> Quantity:
        """Return the area of the surface at `thickness` [m] outside the pattern [m2]."""
        value = self.scale**2 * self.reading.curve.outer_area(thickness.value / self.scale)
        return Quantity(
            "area over the skin",
            value,
            "m2",
            "area of the surface at the skin's thickness outside the pattern",
            (thickness, self.molded_area),
            "distance field of the pattern's mesh",
        )

    def wall_volume(self, wall: Quantity) -> Quantity:
        """Return the volume of a hollow casting's wall [m3], measured inward from the molded surface [m]."""
        depth = np.minimum(wall.value / self.scale, max(self.reading.extents))
        value = np.minimum(self.reading.curve.inside_volume(depth), self.reading.volume) * self.scale**3
        return Quantity(
            "volume of the wall",
            value,
            "m3",
            "volume within the wall's thickness inside the molded surface; an open base has none",
            (wall, self.volume),
            "distance field of the pattern's mesh",
        )


def _apart(survey: Survey | None) -> np.ndarray[Any, np.dtype[np.float64]]:
    """Return how far each top but the first, as the pattern stands, is from the nearest that is higher [m]."""
    if survey is None:
        return np.zeros(0)
    tops = sorted(survey.air.standing.tops, key=lambda top: -top.prominence)
    at = np.array([top.at for top in tops]).reshape(-1, 3)[:, :2]
    nearest = {top: np.linalg.norm(at[:place] - at[place], axis=1).min() for place, top in enumerate(tops) if place}
    return np.array([nearest.get(top, np.inf) for top in survey.air.standing.tops[1:]], dtype=np.float64)
