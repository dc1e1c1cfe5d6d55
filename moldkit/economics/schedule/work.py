"""What is to be done: the tasks of a mold, of a remake, of a casting, as the schedule lays them down."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

from moldkit.errors import InputError

POT, CHAMBER, PRINTER, PATTERN = "pressure pot", "vacuum chamber", "printer", "pattern"
CAST_MASTER = "a master in the place of the pattern"


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
    cavities: castings a pour; learning: what each doubling of pours takes the hands' time down to [share]; finish: what
    is done last, off the mold, to a casting that is sold, and not to a master.
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
    finish: Task | None = None

    @property
    def sold_after(self) -> tuple[Task, ...]:
        """What follows off the mold for a casting that is sold, its finish with it."""
        return self.after if self.finish is None else (*self.after, self.finish)

    def good(self, pours: int) -> int:
        """Return how many good castings so many pours should give, whole ones.

        So a run is out with the pour that the comparison counts as its last, and with none before it.
        """
        return math.floor(pours * self.cavities * self.good_share + 1e-9)

    def of_a_master(self) -> tuple[Task, Task, tuple[Task, ...]]:
        """Return (the pour, taking it out, what follows) of a casting that takes the place of a lost pattern."""
        pour, demold, *after = (
            replace(task, words=f"{CAST_MASTER}: {task.words}") for task in (self.pour, self.demold, *self.after)
        )
        return pour, demold, tuple(after)


@dataclass(frozen=True)
class Work:
    """A run's work: the tasks of the first mold, of a further one used beside it, of a remake; the castings.

    pours: how many the run takes; castings: how many are wanted; life: pours of a mold that the shop plans with;
    shared_pattern: there is one pattern for all molds, else every mold but the first is made on a master casting of its
    own, which takes a pour of a mold that was made before. Raises InputError where no mold could give both.
    """

    first: tuple[Task, ...]
    beside: tuple[Task, ...]
    again: tuple[Task, ...]
    casting: Castings
    pours: int
    castings: int
    life: int
    shared_pattern: bool = True

    def __post_init__(self) -> None:
        if not self.shared_pattern and self.life < 2 and self.pours > 1:
            raise InputError(
                "plan: the pattern is lost with the first mold, and a mold lasts one pour: it cannot give both a "
                "casting and the master for the next mold. Keep the pattern, or use a rubber whose molds last longer."
            )


@dataclass(frozen=True)
class Crew:
    """Hands and machines of a shop: the skills of each person, and how many of each machine."""

    skills: tuple[frozenset[str], ...]
    machines: dict[str, int] = field(default_factory=dict)
