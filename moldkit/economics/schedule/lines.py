"""The lines that a run's tasks wait in, in order of priority."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from moldkit.economics.schedule.floor import Kind
from moldkit.economics.schedule.work import PATTERN, Task, Work


@dataclass
class Lines:
    """Kinds of tasks in order of priority, and where each task of a run waits.

    Taking castings out goes first, then finishing the first casting, making molds, pouring, finishing castings. heads:
    for each chain of a mold's tasks, how many come before the first that needs the pattern; make: for each chain, the
    line of each task; words: what is done in a line of whole tasks.
    """

    work: Work
    kinds: list[Kind] = field(default_factory=list)
    words: dict[int, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        casting, chains = self.work.casting, (self.work.first, self.work.beside, self.work.again)
        self.heads = [_before_pattern(chain) for chain in chains]
        self.demold = self._open(_kind(casting.demold), casting.demold)
        self.first_after = [self._open(_kind(task), task) for task in casting.sold_after]
        known: dict[Kind, int] = {}
        self.make = [
            [self._shared(known, _kind(task, index == head), task) for index, task in enumerate(chain)]
            for chain, head in zip(chains, self.heads, strict=True)
        ]
        pour = _kind(casting.pour, setup=casting.setup, rests=casting.rest_days > 0)
        self.pour = self._open(pour, casting.pour)
        self.after = [self._open(_kind(task), task) for task in casting.sold_after]

    def _open(self, kind: Kind, task: Task) -> int:
        self.kinds.append(kind)
        self.words[len(self.kinds) - 1] = task.words
        return len(self.kinds) - 1

    def _shared(self, known: dict[Kind, int], kind: Kind, task: Task) -> int:
        """Return the line of a mold's task, opened if there is none like it."""
        if kind not in known:
            known[kind] = self._open(kind, task)
        return known[kind]


def _before_pattern(chain: Sequence[Task]) -> int:
    return next((place for place, task in enumerate(chain) if task.on_pattern), len(chain))


def _kind(task: Task, takes_pattern: bool = False, setup: float = 0.0, rests: bool = False) -> Kind:
    needs = [*((machine, False) for machine in task.machines), *((machine, True) for machine in task.kept)]
    if takes_pattern:
        needs.append((PATTERN, True))
    return Kind(task.skill, task.whole, tuple(needs), setup, rests)
