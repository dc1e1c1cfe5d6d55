"""A pattern turned in the hands: its reading with the survey, a picture of it, and what the model takes from it."""

from __future__ import annotations

from dataclasses import dataclass

from moldkit.errors import InputError
from moldkit.pattern.field import Progress
from moldkit.pattern.pattern import Pattern
from moldkit.pattern.reading import Reading
from moldkit.pattern.survey.picture import Picture
from moldkit.pattern.survey.results import Survey
from moldkit.study.case import Case
from moldkit.study.facts import Fact, pattern_facts
from moldkit.study.knowledge import Knowledge
from moldkit.study.patterns import mesh_file, mesh_path, pattern_of, read_file, read_picture, scale_of

# Share of the time that goes into reading; the rest into the picture.
READING = 0.85


@dataclass(frozen=True, eq=False)
class Seen:
    """A case's mesh as it was read.

    case: as it was asked for; reading: with its survey, at the mesh's own size; picture: of the survey; scale: what
    both are multiplied by.
    """

    case: Case
    reading: Reading
    picture: Picture
    scale: float

    @property
    def survey(self) -> Survey:
        """What the survey found, at the mesh's own size."""
        assert self.reading.survey is not None, "a mesh is seen with its survey"
        return self.reading.survey

    @property
    def bottom(self) -> float:
        """Height of the lowest point in the mesh's own frame [m]."""
        return self.reading.bottom

    @property
    def pattern(self) -> Pattern:
        """The pattern at the case's size, with what the case declares."""
        return pattern_of(self.case, self.reading, self.scale)

    def facts(self) -> tuple[Fact, ...]:
        """Return what is known of the pattern, and whether it was measured or declared."""
        return pattern_facts(self.case, self.pattern)


def see(case: Case, knowledge: Knowledge, progress: Progress | None = None) -> Seen:
    """Read a case's mesh and make its picture; both are kept, so that a second time is quick.

    progress: called with the finished share, 0 to 1. Raises InputError for a form and for a mesh that cannot be read.
    """
    if case.mesh is None:
        raise InputError("[pattern] mesh: a plain form has nothing to turn in the hands; name a mesh.")
    tell = progress or (lambda share: None)
    path = mesh_path(case, knowledge.folder)
    file = mesh_file(path, case.unit or "", case.bodies, case.mend, case.stands_on_base)
    reading = read_file(file, lambda share: tell(READING * share))
    scale = scale_of(case, reading)
    tell(READING)
    picture = read_picture(file)
    tell(1.0)
    return Seen(case, reading, picture, scale)
