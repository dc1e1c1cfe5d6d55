"""What a client can change, and what each does to the price: run, size, material, solid or hollow, finish, date."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from moldkit.errors import InputError
from moldkit.study.case import LEAST_SIDE, MOST_RUN, MOST_SIDE, Case
from moldkit.study.client_choices import (
    HOLLOW,
    SOLID,
    FinishChoice,
    as_made,
    dated_ways,
    finish_now,
    makes,
)
from moldkit.study.client_offer import OfferLine
from moldkit.study.compare import Comparison, compare
from moldkit.study.knowledge import Knowledge
from moldkit.study.quote import quote

SIZE_STEP = 0.10
A_WEEK = datetime.timedelta(days=7)
# How many of one lever's choices are told: those that move the price most each way.
MOST_OF_A_KIND = 2


@dataclass(frozen=True)
class Lever:
    """One thing that a client can change, and what is charged then.

    kind: "run", "size", "material", "made", "finish", "date"; case: with the change; longest: of the piece [m];
    words: the choice where it has a name; before, after: what the run asked for, and the changed one, is charged.
    """

    kind: str
    case: Case
    longest: float
    words: str
    before: OfferLine
    after: OfferLine

    @property
    def each(self) -> int:
        """What the change adds to the price of a casting [whole cents]."""
        return self.after.each - self.before.each


def price_levers(
    result: Comparison,
    *,
    materials: Sequence[str] = (),
    finishes: Sequence[FinishChoice] = (),
    job: Case | None = None,
    start: datetime.date | None = None,
) -> tuple[Lever, ...]:
    """Return what a client's choices do to the price of a casting, one at a time, the one that does most first.

    materials, finishes: what is offered; job: whose methods stand for solid and hollow, else the case's own; start:
    first day of the work, without which dates are no lever. Raises InputError where nothing works as asked.
    """
    before = _charge(result, start)
    found: list[Lever] = []
    for kind, changes in _changes(result, materials, finishes, job or result.case).items():
        tried = (_lever(kind, words, change, result, before, start) for words, change in changes)
        found += _told([lever for lever in tried if lever is not None])
    found += _told(list(_dates(result, before, start)))
    return tuple(sorted(found, key=lambda lever: -abs(lever.each)))


def _changes(
    result: Comparison, materials: Sequence[str], finishes: Sequence[FinishChoice], job: Case
) -> dict[str, list[tuple[str, Case]]]:
    """Return by kind the choices other than the case's own, each with its words and its case."""
    case, knowledge, longest = result.case, result.knowledge, result.longest
    runs = {min(MOST_RUN, 2 * case.run), max(1, case.run // 2)} - {case.run}
    sizes = [longest * (1 - SIZE_STEP), longest * (1 + SIZE_STEP)]
    now, made = finish_now(case, knowledge), makes(case, knowledge)
    other = HOLLOW if made == SOLID else SOLID
    return {
        "run": [("", replace(case, run=run)) for run in runs],
        "size": [("", replace(case, longest=size)) for size in sizes if LEAST_SIDE <= size <= MOST_SIDE],
        "material": [(name, replace(case, material=name)) for name in materials if name != case.material],
        "made": [(other, as_made(case, other, job, knowledge))],
        "finish": [(finish.words, finish.put(case)) for finish in finishes if finish.words != now],
    }


def _charge(result: Comparison, start: datetime.date | None) -> OfferLine:
    return quote(result, start=start).asked.charge


def _lever(
    kind: str, words: str, case: Case, result: Comparison, before: OfferLine, start: datetime.date | None
) -> Lever | None:
    """Return one choice with its price; None where it cannot be made."""
    try:
        changed = compare(case, result.knowledge, result.reading)
        return Lever(kind, case, changed.longest, words, before, _charge(changed, start))
    except InputError:
        return None


def _dates(result: Comparison, before: OfferLine, start: datetime.date | None) -> Iterator[Lever]:
    """Yield the earliest date that there is, and the one about a week before the present one."""
    if start is None or before.delivery is None:
        return
    earlier = [way for way in dated_ways(result, start) if way.delivery < before.delivery]
    if not earlier:
        return
    sooner = next((way for way in earlier if way.delivery <= before.delivery - A_WEEK), earlier[-1])
    for way in dict.fromkeys((sooner, earlier[-1])):
        case = replace(result.case, molds=way.molds, due=way.delivery)
        yield Lever("date", case, result.longest, "", before, way.line)


def _told(levers: list[Lever]) -> list[Lever]:
    """Return of one kind's levers the one that lowers the price most and the one that raises it most."""
    by_price: Callable[[Lever], int] = lambda lever: lever.each  # noqa: E731
    if len(levers) <= MOST_OF_A_KIND:
        return levers
    ordered = sorted(levers, key=by_price)
    return [ordered[0], ordered[-1]]


def offered_materials_that_work(result: Comparison, materials: Sequence[str], knowledge: Knowledge) -> tuple[str, ...]:
    """Return those of the materials in which the case as it stands can be made."""
    return tuple(name for name in materials if _works(replace(result.case, material=name), result, knowledge))


def _works(case: Case, result: Comparison, knowledge: Knowledge) -> bool:
    try:
        return compare(case, knowledge, result.reading).cheapest is not None
    except InputError:
        return False
