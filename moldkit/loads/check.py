"""One load looked at: pass, caution or stop, the figure against its limit, in words that follow the unit system."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from moldkit.quantity import Quantity
from moldkit.units import System, show

Level = Literal["pass", "caution", "stop"]
LEVELS: tuple[Level, ...] = ("pass", "caution", "stop")

COMMON_PRACTICE = "common practice, no source"
STATICS = "statics"


@dataclass(frozen=True)
class LoadCheck:
    """One load and what there is to hold it.

    name: of the check; level: "pass", "caution" or "stop"; figure: what was worked out, with its working; limit: what
    it is held against, None where there is none; text and mend: what it says and what to do about it, where "{name}"
    stands for the quantity of that name in `parts`; source: of the rule; safety: what holds over what is asked for,
    None where that means nothing; holds_for: the range in which the figure can be trusted.
    """

    name: str
    level: Level
    figure: Quantity
    limit: Quantity | None
    text: str
    mend: str
    source: str
    safety: Quantity | None = None
    holds_for: str = ""
    parts: Mapping[str, Quantity] = field(default_factory=dict)

    @property
    def words(self) -> str:
        """What the check says, in metric units."""
        return self.words_in("metric")

    @property
    def remedy(self) -> str:
        """What to do, in metric units; empty where the check passes and nothing is to be done."""
        return self.remedy_in("metric")

    def words_in(self, system: System) -> str:
        """Return what the check says in a system of units."""
        return self._filled(self.text, system)

    def remedy_in(self, system: System) -> str:
        """Return what to do in a system of units."""
        return self._filled(self.mend, system)

    def _filled(self, text: str, system: System) -> str:
        named = {"figure": self.figure, "limit": self.limit, "safety": self.safety, **self.parts}
        return text.format(**{name: show(q.at(0), q.unit, system) for name, q in named.items() if q is not None})


def plainly(words: str) -> str:
    """Return words from a table or a job so that no brace in them is taken for the name of a quantity."""
    return words.replace("{", "{{").replace("}", "}}")


def level_of_share(share: float, stop_from: float) -> Level:
    """Return "pass" while a load is at most what holds it (a share of 1), "stop" above `stop_from`, else "caution"."""
    if share <= 1.0:
        return "pass"
    return "stop" if share > stop_from else "caution"


def safety_factor(holds: Quantity, asked: Quantity) -> Quantity:
    """Return what holds over what is asked for; infinite where nothing is asked for."""
    value = holds.value / asked.value if asked.value else float("inf")
    return Quantity("safety factor", value, "1", f"{holds.name} / {asked.name}", (holds, asked), STATICS)
