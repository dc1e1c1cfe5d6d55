"""Rules of the pattern: fixed, fragile, unique, lost, its surface, its undercuts."""

from __future__ import annotations

import numpy as np

from moldkit.findings.plan import CAUTION, NOTE, STOP, Raised, Situation, level_of, limit, when
from moldkit.pattern.pattern import MEASURED
from moldkit.quantity import Quantity
from moldkit.tables import Row

# Stretch of the rubber as it leaves an undercut of each declared grade. Common practice, no source.
STRETCH = {"none": 0.0, "moderate": 0.4, "severe": 1.0}
STRETCH_SOURCE = "common practice, no source"


def fixed_pattern_buried(s: Situation, row: Row) -> Raised | None:
    """A pattern fixed in place cannot be laid in a box."""
    applies = s.pattern.fixed_in_place and s.technique.flag("buries_pattern")
    return when(applies, level_of(row), lambda say: "the pattern is fixed in place and cannot be laid in a box.")


def fixed_pattern_shell_over(s: Situation, row: Row) -> Raised | None:
    """Where the pattern stands, the shell goes back over it and the edge must be sealed for the pour."""
    words = (
        "the shell goes back over the pattern where it stands: sealed edge, level base, another visit for each re-pour."
    )
    applies = s.pattern.fixed_in_place and not s.pattern.vertical and s.technique.flag("re_pours")
    return when(applies, level_of(row), lambda say: words)


def no_pour_on_a_vertical_face(s: Situation, row: Row) -> Raised | None:
    """A pour cannot be held behind a shell on a vertical or overhead face."""
    words = "the pattern is fixed on a vertical or overhead face; a pour cannot be held there."
    applies = s.pattern.fixed_in_place and s.pattern.vertical and s.technique.flag("re_pours")
    return when(applies, level_of(row), lambda say: words)


def fragile_pattern_buried(s: Situation, row: Row) -> Raised | None:
    """A fragile pattern does not stand the weight and the demolding of a block."""
    applies = s.pattern.fragile and s.technique.flag("buries_pattern")
    return when(
        applies,
        level_of(row),
        lambda say: "the pattern is too fragile to be buried in a box of rubber and cut out.",
    )


def fragile_pattern_pressed(s: Situation, row: Row) -> Raised | None:
    """A shell closed over the pattern, or clay pressed on it, loads it, and it is handled twice."""
    applies = s.pattern.fragile and s.technique.flag("re_pours")
    clay = "clay is pressed onto it and the shell closed over it again"
    hard = "a hard shell is closed over it"
    words = f"the pattern is fragile: {clay if s.technique.flag('presses_clay') else hard}."
    return when(applies, level_of(row), lambda say: words)


def fragile_pattern_brushed(s: Situation, row: Row) -> Raised | None:
    """Brushing is the gentlest way, though the skin still has to be peeled off."""
    applies = s.pattern.fragile and s.technique.text("goes_on") == "brushed"
    return when(
        applies,
        NOTE,
        lambda say: "brushing is the gentlest way on a fragile pattern; the skin must still be peeled off.",
    )


def unique_original_handled(s: Situation, row: Row) -> Raised | None:
    """An original that cannot be replaced is at risk wherever it is buried or handled."""
    applies = s.pattern.unique and (s.technique.flag("buries_pattern") or s.technique.flag("re_pours"))
    return when(
        applies,
        level_of(row),
        lambda say: "the pattern is a unique original and this technique buries or handles it.",
    )


def pattern_lost(s: Situation, row: Row) -> Raised | None:
    """A remake needs the pattern: where it is lost, a master casting takes its place."""
    chance = Quantity("chance of a remake", s.remake_chance, "share")
    applies = not s.pattern.survives and s.remake_chance >= limit(row, "caution_at", "share").value
    words = (
        "the pattern is lost at demolding and the run needs a second mold with a chance of {}; "
        "the remake carries a master casting."
    )
    return when(applies, level_of(row), lambda say: words.format(say(chance)))


def cure_inhibition(s: Situation, row: Row) -> Raised | None:
    """Sulfur, tin, amines and uncured printed resin stop an addition-cured silicone from curing."""
    if s.rubber.text("chemistry") != "addition silicone" or not s.surface.flag("inhibits"):
        return None
    what = f"{s.surface.name} may stop {s.rubber.name} from curing"
    if s.pattern.sealed:
        kept = "Keep the patch test with the job."
        return Raised(NOTE, lambda say: f"{what}; it is sealed and patch-tested.", kept)
    return when(True, level_of(row), lambda say: f"{what} until it is sealed and patch-tested.")


def damp_and_urethane(s: Situation, row: Row) -> Raised | None:
    """Water foams a urethane."""
    damp = s.surface.flag("damp") and not s.pattern.sealed
    fears = s.rubber.text("chemistry") == "urethane" or s.material.flag("fears_damp")
    what = s.rubber.name if s.rubber.text("chemistry") == "urethane" else s.material.name
    chemistry = s.rubber.text("chemistry") if what == s.rubber.name else s.material.text("chemistry")
    does = "foams" if chemistry == "urethane" else "clouds"
    words = f"{what} {does} on water and {s.surface.name} may be damp."
    return when(damp and fears, level_of(row), lambda say: words)


def stiff_rubber_in_undercuts(s: Situation, row: Row) -> Raised | None:
    """A stiff rubber is hard to draw out of undercuts."""
    hardness, most = s.rubber.quantity("shore_a"), limit(row, "caution_at", "Shore A")
    allowed = most.value + (10.0 if s.pattern.undercut == "moderate" else 0.0)
    applies = s.pattern.undercut != "none" and hardness.value >= allowed
    words = f"{s.rubber.name} at {{}} is stiff for {s.pattern.undercut} undercuts."
    return when(applies, level_of(row), lambda say: words.format(say(hardness)))


def _stretch(s: Situation) -> Quantity:
    """Return the stretch of the rubber as the mold comes off: over the widest part beyond each neck where it is peeled
    off in one piece and was measured, else by the grade of the undercuts.
    """
    if s.pattern.survey is not None and s.plan["pieces"].value == 1:
        return Quantity("stretch", s.pattern.survey.peel.stretch, "share", source=MEASURED)
    return Quantity("stretch", STRETCH[s.pattern.undercut], "share", source=STRETCH_SOURCE)


def stretch_past_elongation(s: Situation, row: Row) -> Raised | None:
    """The rubber must stretch out of the undercuts, well below the stretch at which it breaks."""
    needed, breaks = _stretch(s), s.rubber.quantity("elongation")
    share = needed.value / breaks.value
    level = np.where(share > limit(row, "stop_at", "share").value, STOP, CAUTION)
    what = f"{s.pattern.undercut} undercuts stretch" if needed.source == STRETCH_SOURCE else "peeling it off stretches"
    words = f"{what} the rubber by about {{}}, and {s.rubber.name} breaks at {{}}."
    level = np.where(share > limit(row, "caution_at", "share").value, level, 0)[()]
    return Raised(level, lambda say: words.format(say(needed), say(breaks))) if np.any(level) else None
