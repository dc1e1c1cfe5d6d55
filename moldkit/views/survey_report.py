"""What a survey found, in plain sentences for somebody who makes molds."""

from __future__ import annotations

from dataclasses import dataclass

from moldkit.pattern.survey.necks import allowed_stretch
from moldkit.pattern.survey.results import Neck, Point, Survey, WayUp
from moldkit.units import System, show
from moldkit.views.pattern_colours import Colouring
from moldkit.views.survey_words import (
    NO_BREAK,
    axis_words,
    count_words,
    length_words,
    listed,
    percent,
    up_words,
    way_words,
)

# Below this a wall breaks easily, in the pattern and in a casting [m]: common practice, no source.
FRAGILE = 0.003
# Thickness of the skin that narrow gaps are told for [m].
USUAL_SKIN = 0.010
# Share of the surface that no pull frees, from which pieces alone are no answer.
NEVER_MUCH = 0.05


@dataclass(frozen=True)
class Rubber:
    """The rubber a skin would be of: its name, and the share by which it stretches before it breaks."""

    name: str
    breaks_at: float

    def allows(self, stretch: float) -> bool:
        """Return whether a skin of it may stretch so far in peeling."""
        return stretch <= allowed_stretch(self.breaks_at)


@dataclass(frozen=True)
class Said:
    """One sentence or two of the report, and what they are about."""

    about: str
    words: str


def survey_report(
    survey: Survey, *, scale: float = 1.0, system: System = "metric", rubber: Rubber | None = None,
    bottom: float | None = None,
) -> tuple[Said, ...]:  # fmt: skip
    """Return the report.

    scale: what the survey's lengths are multiplied by; rubber: that the peeling is judged by, None leaves it open;
    bottom: height of the pattern's lowest point in the mesh's frame [m], None leaves out at which height things are.
    """
    say = _Words(survey, scale, system, bottom)
    return (
        Said("Pull", say.pull()),
        Said("Undercuts", say.undercuts().removeprefix("Undercuts ").capitalize()),
        Said("Pieces", say.pieces()),
        Said("Peeling off", say.peel(rubber)),
        Said("Air in the rubber", say.rubber_air()),
        Said("Air in the casting", say.casting_air()),
        Said("Walls", say.walls()),
        Said("Gaps", say.gaps()),
    )


def finding(
    survey: Survey, colouring: Colouring, scale: float = 1.0, system: System = "metric", bottom: float | None = None
) -> str:
    """Return what one colouring shows, in the sentence that stands over it; arguments as for `survey_report`."""
    say = _Words(survey, scale, system, bottom)
    if colouring == "undercut":
        return say.undercuts()
    if colouring == "skin":
        return say.gaps()
    return say.rubber_air() if colouring == "air standing" else say.casting_air()


@dataclass(frozen=True)
class _Words:
    survey: Survey
    scale: float
    system: System
    bottom: float | None

    def length(self, value: float) -> str:
        """Return a length as one reads it off a rule."""
        return length_words(self.scale * value, self.system)

    def pull(self) -> str:
        pull = self.survey.pull
        if len(pull.pieces) == 1:
            return f"It draws straight up in one piece, which frees {percent(pull.visible_up)} of the surface."
        return (
            f"Two halves draw best {axis_words(pull.axis)}; they free {percent(pull.visible)} of the surface. "
            f"Lifted straight up, one piece would free {percent(pull.visible_up)}. "
            f"The parting line is {self.length(pull.parting_length)} long."
        )

    def undercuts(self) -> str:
        pull = self.survey.pull
        area = show(self.scale**2 * pull.hidden_area, "m2", self.system).replace(" ", NO_BREAK)
        if pull.grade == "none":
            return "Undercuts none: nothing hooks but scratches."
        return (
            f"Undercuts {pull.grade}: {area} hooks behind an edge, "
            f"most of it up to {self.length(pull.hidden_depth)} deep."
        )

    def pieces(self) -> str:
        pull = self.survey.pull
        rigid, soft = len(pull.pieces), len(pull.soft_pieces)
        left = 1.0 - sum(piece.share for piece in pull.pieces)
        never = f" {percent(left)} of the surface no straight pull frees." if left > 0.005 else ""
        if left > NEVER_MUCH:
            return f"No straight pulls alone make this mold:{never} Plan a core, a plug or a cut for it."
        if rigid == 1:
            return f"One piece does, rigid or soft.{never}"
        ways = f" (leaving {listed([way_words(piece.direction) for piece in pull.pieces[:4]])})" if rigid > 1 else ""
        softly = f"rubber that gives way by {percent(pull.stretch)}"
        needs = f"A rigid mold takes {count_words(rigid, 'piece')}{ways}"
        if soft >= rigid:
            return f"{needs}, and {softly} takes as many.{never}"
        return f"{needs}; {softly} takes {count_words(soft, 'piece')}.{never}"

    def peel(self, rubber: Rubber | None) -> str:
        peel = self.survey.peel
        loops = ""
        if peel.loops:
            closes = f"A skin closes round {count_words(peel.loops, 'hole or handle', 'holes or handles')}"
            loops = f" {closes} and has to be cut there."
        if not peel.necks:
            return f"A one-piece skin slides off without stretching.{loops}"
        neck = peel.necks[0]
        asks = f"Peeled off in one piece, a skin must stretch by {percent(neck.stretch)} at the neck {self._at(neck)}"
        if rubber is None:
            return f"{asks}.{loops}"
        verdict = "so it peels off" if rubber.allows(neck.stretch) else "so it wants a cut or another piece"
        name = rubber.name.replace(", ", " (") + ")" * (", " in rubber.name)
        return f"{asks}; {name} breaks at {percent(rubber.breaks_at)} and half of that is used, {verdict}.{loops}"

    def _at(self, neck: Neck) -> str:
        return f"{self.length(neck.height)} from the end it leaves by, {self.length(neck.girth)} round"

    def rubber_air(self) -> str:
        way = self.survey.air.standing
        if not way.ceilings:
            return "Poured round the pattern as it stands, rubber drives all air out."
        deepest = max(trap.prominence for trap in way.ceilings)
        return (
            f"Poured round the pattern as it stands, rubber leaves air under it in "
            f"{count_words(len(way.ceilings), 'place')}, up to {self.length(deepest)} deep: "
            "tilt it, brush those places first, or fill them."
        )

    def casting_air(self) -> str:
        way = self.survey.air.casting
        return f"Cast it {up_words(way.up)}: {self._filling(way)} The head is {self.length(way.head)}."

    def _filling(self, way: WayUp) -> str:
        where = "it is poured into the open base" if way.open_top else "it is poured through a spout at its top"
        if not way.vents:
            return f"{where} and no air stays."
        # With a closed mold the highest top takes the spout, and its air leaves there.
        kept = way.tops if way.open_top else way.tops[1:]
        deepest = max((trap.prominence for trap in kept), default=0.0)
        wants = "wants a vent" if len(way.vents) == 1 else "want a vent each"
        places = count_words(len(way.vents), "place")
        return f"{where}, and {places} {wants}, or air of up to {self.length(deepest)} stays."

    def walls(self) -> str:
        walls = self.survey.walls
        words = f"The pattern is thinnest at {self.length(walls.thinnest)}{self._height(walls.thinnest_at)}"
        if self.scale * walls.thinnest < FRAGILE:
            return f"{words}: a place that breaks easily, in the pattern and in a casting."
        return f"{words}."

    def gaps(self) -> str:
        walls = self.survey.walls
        if walls.narrowest is None or walls.narrowest_at is None:
            return "There is no gap that a skin would close from both sides."
        bridged = walls.bridged_by(USUAL_SKIN / self.scale)
        usual = length_words(USUAL_SKIN, self.system)
        narrowest = self.length(walls.narrowest)
        closes = self.length(0.5 * walls.narrowest)
        return (
            f"The narrowest gap is {narrowest} wide{self._height(walls.narrowest_at)}, "
            f"and a skin of {closes} bridges it. A skin of {usual} closes gaps over {percent(bridged)} of the surface."
        )

    def _height(self, point: Point) -> str:
        return "" if self.bottom is None else f", {self.length(point[2] - self.bottom)} up"
