"""Rules of pressure, vacuum and foam: voids in rubber, vessels, closures."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldkit.findings.plan import CAUTION, NOTE, STOP, Raised, Situation, level_of, limit, when
from moldkit.loads.closure import opened_outline
from moldkit.loads.fit import shortfall_in_vessel, shortfall_of_tubes
from moldkit.loads.statics import closure_force
from moldkit.quantity import Quantity
from moldkit.tables import Row


def _pressed(s: Situation) -> bool:
    return bool(s.method.quantity("pressure").value > 0)


def _evacuated(s: Situation) -> bool:
    return bool(s.method.quantity("pressure").value < 0)


def no_pressure_in_brushed_skin(s: Situation, row: Row) -> Raised | None:
    """Brushed rubber is not degassed: voids between coats collapse and print on the casting."""
    words = (
        "rubber that is brushed on holds voids between its coats; under pressure they collapse "
        "and print on the casting."
    )
    return when(_pressed(s) and not s.technique.flag("takes_pressure"), level_of(row), lambda say: words)


def pressure_needs_degassed_rubber(s: Situation, row: Row) -> Raised | None:
    """Poured rubber that was not degassed holds bubbles that give way under pressure."""
    applies = _pressed(s) and s.technique.flag("takes_pressure") and not s.degassed
    return when(
        applies,
        level_of(row),
        lambda say: "the rubber is poured without degassing and the casting sets under pressure.",
    )


def pressure_above_cure_pressure(s: Situation, row: Row) -> Raised | None:
    """A bubble in rubber that cured at a lower pressure than the casting's still gives way."""
    casting, cure = s.method.quantity("pressure"), s.shop.quantity("rubber_cure_pressure")
    applies = _pressed(s) and s.technique.flag("takes_pressure") and casting.value > cure.value
    return when(
        applies,
        level_of(row),
        lambda say: f"the casting sets under {say(casting)}, the rubber cured under {say(cure)}.",
    )


def no_pressure_pot(s: Situation, row: Row) -> Raised | None:
    """Casting under pressure needs a pot, and one rated for it."""
    if not _pressed(s):
        return None
    if not s.shop.flag("has_pressure_pot"):
        return when(True, level_of(row), lambda say: "the shop has no pressure pot.")
    casting, rating = s.method.quantity("pressure"), s.shop.quantity("pressure_pot_rating")
    words = "the casting wants {} and the pot is rated for {}."
    return when(casting.value > rating.value, level_of(row), lambda say: words.format(say(casting), say(rating)))


def pot_too_small(s: Situation, row: Row) -> Raised | None:
    """The mold in its shell must stand in the pot, in some orientation."""
    if not (_pressed(s) and s.shop.flag("has_pressure_pot")):
        return None
    return _too_small(s, row, "pressure_pot", "pressure pot")


def no_vacuum_chamber(s: Situation, row: Row) -> Raised | None:
    """Casting under vacuum needs a chamber."""
    applies = _evacuated(s) and not s.shop.flag("has_vacuum_chamber")
    return when(applies, level_of(row), lambda say: "the shop has no vacuum chamber.")


def chamber_too_small(s: Situation, row: Row) -> Raised | None:
    """The mold in its shell must stand in the vacuum chamber, in some orientation."""
    if not (_evacuated(s) and s.shop.flag("has_vacuum_chamber")):
        return None
    return _too_small(s, row, "vacuum_chamber", "vacuum chamber")


def _too_small(s: Situation, row: Row, vessel: str, named: str) -> Raised | None:
    bore, height = s.shop.quantity(f"{vessel}_bore"), s.shop.quantity(f"{vessel}_height")
    width, depth, tall = s.plan["width"], s.plan["depth"], s.plan["height"]
    lacking = _lacking(s, bore, height)
    short = Quantity("shortfall", np.maximum(lacking, 0.0), "m")
    how = "standing up, as its open base asks" if s.pattern.stands_on_base else "turned as it fits best"
    words = "the mold ({} x {} x {}) is {} too large for the " + named + " ({} bore, {} high), " + how + "."
    return when(
        lacking > 0,
        level_of(row),
        lambda say: words.format(say(width), say(depth), say(tall), say(short), say(bore), say(height)),
    )


def _lacking(s: Situation, bore: Quantity, height: Quantity) -> Any:
    """Return how much [m] the mold is too large for a vessel in its best position; with a closed shell any will do."""
    sides = (s.plan["width"].value, s.plan["depth"].value, s.plan["height"].value)
    upright = s.pattern.stands_on_base
    lacking = shortfall_in_vessel(sides, s.plan["round_diameter"].value, bore.value, height.value, upright=upright)
    if upright or "flange_reach" not in s.plan.quantities:
        return lacking
    tilted = shortfall_of_tubes(s.pattern.tubes_round(0.0), s.plan["flange_reach"].value, bore.value, height.value)
    return np.minimum(lacking, tilted)


def brushed_skin_under_vacuum(s: Situation, row: Row) -> Raised | None:
    """Air trapped between brushed coats swells under vacuum."""
    applies = _evacuated(s) and s.technique.text("goes_on") == "brushed"
    return when(applies, level_of(row), lambda say: "air trapped between brushed coats swells under vacuum.")


def foam_pushes_the_mold(s: Situation, row: Row) -> Raised | None:
    """A rising foam opens a closed mold: the closure must hold its pressure on the outline."""
    if not s.method.flag("foam"):
        return None
    pressure = s.material.quantity("foam_pressure")
    side, base, stands = s.pattern.silhouette_area, s.pattern.footprint_area, s.pattern.stands_on_base
    outline = opened_outline(side, base, s.plan["pieces"], s.plan.cavities, stands=stands)
    force = closure_force(pressure, outline)
    holds = s.shop.quantity("closure_limit")
    share = force.value / holds.value
    high = pressure.value if pressure.high is None else pressure.high
    most = high * outline.value / holds.value
    caution, stop = limit(row, "caution_at", "share").value, limit(row, "stop_at", "share").value
    # A foam at the upper end of its range must not open the mold unsaid.
    level = np.where(share > stop, STOP, np.where((share > caution) | (most > stop), CAUTION, NOTE))[()]
    words = "foam at {} pushes the closed mold open with {}; the shop's straps and boards hold {}."
    held = (
        None
        if np.any(level > NOTE)
        else "The shop's closure holds it; ask the foam's maker for its pressure in the mold."
    )
    return Raised(level, lambda say: words.format(say(pressure), say(force), say(holds)), held)
