"""What is to be done: the tasks of a mold, of a remake, of a casting, as the schedule lays them down."""

from __future__ import annotations

from dataclasses import dataclass, field

POT, CHAMBER, PRINTER, PATTERN = "pressure pot", "vacuum chamber", "printer", "pattern"


@dataclass(frozen=True)
class Task:
    """One attended task and the wait that follows it.

    words: what is done; attended, wait: [s]; skill: who can do it; whole: never broken off (a pour); machines: held
    while attended; kept: held while attended and through the wait; on_pattern: it needs the pattern itself.
    """

    words: str
    attended: float
    wait: float
    skill: str
    whole: bool = False
    machines: tuple[str, ...] = ()
    kept: tuple[str, ...] = ()
    on_pattern: bool = True


@dataclass(frozen=True)
class Castings:
    """A casting's tasks: the pour (its wait is the cure), taking it out of the mold, what follows off the mold.

    setup: attended time before a working day's first pour [s]; rest: of a mold from demolding to the next pour [s];
    rest_days: whole days a mold rests after a day on which it was poured; good_share: share of castings that are good;
    cavities: castings a pour; learning: what each doubling of pours takes the hands' time down to [share].
    """

    pour: Task
    demold: Task
    after: tuple[Task, ...]
    setup: float = 0.0
    rest: float = 0.0
    rest_days: int = 0
    good_share: float = 1.0
    cavities: int = 1
    learning: float = 1.0

    def good(self, pours: int) -> int:
        """Return how many good castings so many pours give: the rejected ones come as late as their share allows."""
        made = pours * self.cavities
        return made - int(made * (1.0 - self.good_share) + 1e-9)


@dataclass(frozen=True)
class Work:
    """A run's work: the tasks of the first mold, of a further one used beside it, of a remake; the castings.

    pours: how many the run takes; castings: how many are wanted; life: pours of a mold that the shop plans with;
    shared_pattern: there is one pattern for all molds, else every mold but the first has a master casting of its own,
    and none is begun before the first is made.
    """

    first: tuple[Task, ...]
    beside: tuple[Task, ...]
    again: tuple[Task, ...]
    casting: Castings
    pours: int
    castings: int
    life: int
    shared_pattern: bool = True


@dataclass(frozen=True)
class Crew:
    """Hands and machines of a shop: the skills of each person, and how many of each machine."""

    skills: tuple[frozenset[str], ...]
    machines: dict[str, int] = field(default_factory=dict)
