"""Rules of the shape as it was surveyed: trapped air, thin parts, narrow hollows, holes a skin closes round."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from moldkit.findings.plan import NOTE, Raised, Situation, level_of, limit, when
from moldkit.pattern.survey.results import Trap
from moldkit.pattern.survey.walls import hollow_wall_closes
from moldkit.quantity import Quantity
from moldkit.tables import Row


def _deep(traps: Sequence[Trap], scale: Any, least: Quantity) -> tuple[Quantity, Quantity]:
    """Return how many traps are deeper than a limit at each size, and how deep the deepest is [m]."""
    depths = np.multiply.outer(scale, np.array([trap.prominence for trap in traps] or [0.0]))
    count = Quantity("places", (depths > least.value).sum(axis=-1).astype(float)[()], "1")
    return count, Quantity("deepest", depths.max(axis=-1)[()], "m")


def air_under_overhangs(s: Situation, row: Row) -> Raised | None:
    """Rubber poured round a pattern from above leaves air under what overhangs it."""
    survey = s.pattern.survey
    if survey is None or s.technique.text("goes_on") != "poured":
        return None
    count, deepest = _deep(survey.air.standing.ceilings, s.pattern.scale, limit(row, "caution_at"))
    words = "poured rubber leaves air under the pattern's overhangs (places: {}, up to {} deep)."
    return when(np.asarray(count.value > 0)[()], level_of(row), lambda say: words.format(say(count), say(deepest)))


def air_stays_in_casting(s: Situation, row: Row) -> Raised | None:
    """A mold filled from above keeps air under every ceiling of its cavity that has no vent."""
    survey = s.pattern.survey
    if survey is None or s.method.flag("hollow"):
        return None
    way = survey.air.casting
    traps = way.tops if way.open_top else way.tops[1:]
    count, deepest = _deep(traps, s.pattern.scale, limit(row, "caution_at"))
    how = "poured through the open base" if way.open_top else "poured through a spout at its highest point"
    words = f"{how}, the casting keeps air (places: {{}}, up to {{}} deep)."
    level = NOTE if s.method.quantity("pressure").value > 0 else level_of(row)
    remedy = "The pressure shrinks the bubble and doesn't remove it: vent it all the same." if level == NOTE else None
    found = when(np.asarray(count.value > 0)[()], level, lambda say: words.format(say(count), say(deepest)))
    return found if found is None else Raised(found.level, found.words, remedy)


def thin_part(s: Situation, row: Row) -> Raised | None:
    """A thin tip or edge breaks when a mold is pressed on, poured round or pulled off."""
    survey = s.pattern.survey
    if survey is None:
        return None
    thinnest = Quantity("thinnest part", survey.walls.thinnest * s.pattern.scale, "m")
    rough = s.technique.flag("buries_pattern") or s.technique.flag("presses_clay")
    applies = np.asarray(thinnest.value < limit(row, "caution_at").value)[()]
    words = "the pattern's thinnest part measures {}."
    return when(applies, level_of(row) if rough else NOTE, lambda say: words.format(say(thinnest)))


def skin_closes_gaps(s: Situation, row: Row) -> Raised | None:
    """In hollows narrower than two skins the rubber meets itself and is solid."""
    survey = s.pattern.survey
    if survey is None or "skin" not in s.plan.quantities:
        return None
    skin = s.plan["gap"] if "gap" in s.plan.quantities else s.plan["skin"]
    share = survey.walls.bridged_by(skin.value / s.pattern.scale)
    closed = Quantity("closed", share, "share")
    words = "{} of the surface lies in hollows that {} of rubber closes from both sides; there it is solid and stiff."
    applies = np.asarray(share > limit(row, "caution_at", "share").value)[()]
    return when(applies, level_of(row), lambda say: words.format(say(closed), say(skin)))


def skin_closes_round_a_hole(s: Situation, row: Row) -> Raised | None:
    """Through a handle or a hole the skin meets itself, and has to be cut to come off."""
    survey = s.pattern.survey
    if survey is None or s.plan["pieces"].value > 1 or s.technique.flag("buries_pattern"):
        return None
    holes = Quantity("holes", float(survey.peel.loops), "1")
    words = "the skin closes round the pattern at holes or handles ({}); to come off in one piece it must be cut there."
    return when(survey.peel.loops > 0, level_of(row), lambda say: words.format(say(holes)))


def hollow_casting_closes(s: Situation, row: Row) -> Raised | None:
    """Where the pattern is thinner than two walls, a hollow casting is solid."""
    survey = s.pattern.survey
    if survey is None or not s.method.flag("hollow"):
        return None
    wall = s.casting["wall"]
    share = hollow_wall_closes(survey.walls, wall.value / s.pattern.scale)
    closed = Quantity("solid", share, "share")
    words = "{} of the surface belongs to parts thinner than two walls of {}: the casting is solid there."
    applies = np.asarray(share > limit(row, "caution_at", "share").value)[()]
    return when(applies, level_of(row), lambda say: words.format(say(closed), say(wall)))
