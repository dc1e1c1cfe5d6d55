"""What a client may choose: materials, solid or hollow, finishes, and the molds that a date takes."""

from __future__ import annotations

import contextlib
import datetime
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from moldkit.errors import InputError, unknown
from moldkit.shop import with_overrides
from moldkit.study.case import MOST_MOLDS, Case
from moldkit.study.client_offer import ClientOffer, OfferLine
from moldkit.study.compare import Comparison, compare
from moldkit.study.job_file import JobFile
from moldkit.study.knowledge import Knowledge
from moldkit.study.quote import quote
from moldkit.study.quote_keys import FINISH, quote_values

AS_CAST = "as cast"
SOLID, HOLLOW = "solid", "hollow"
# The casting methods that stand for the two where the job names neither.
USUAL_METHODS = {SOLID: "open pour", HOLLOW: "hand rotation"}
MOST_SIDE_BY_SIDE = 20


@dataclass(frozen=True)
class FinishChoice:
    """A finish that is offered: its words, and the keys of [quote] that stand for it."""

    words: str
    keys: Mapping[str, Any]

    def put(self, case: Case) -> Case:
        """Return a case with this finish."""
        others = {key: value for key, value in case.quote.items() if key not in FINISH}
        return replace(case, quote={**others, **self.keys})


def finishes_of(job: JobFile, knowledge: Knowledge) -> tuple[FinishChoice, ...]:
    """Return the finishes that a job, its alternatives and its shop name, castings as they come out first."""
    shop = with_overrides(knowledge.shop, job.case.shop, "[shop]")
    of_shop = {key: shop.values[key] for key in FINISH if shop.values.get(key) is not None}
    plain: dict[str, Any] = {"finish": AS_CAST, "finish_time": 0, "finish_cost": 0} if of_shop else {}
    found = {AS_CAST: FinishChoice(AS_CAST, plain)}
    if "finish" in of_shop:
        found[shop.text("finish")] = FinishChoice(shop.text("finish"), {})
    for case in (job.case, *(alternative.case for alternative in job.alternatives)):
        own = {key: value for key, value in case.quote.items() if key in FINISH}
        words = str(own.get("finish", ""))
        if words and words not in found:
            found[words] = FinishChoice(words, own)
    return tuple(found.values())


def finish_now(case: Case, knowledge: Knowledge) -> str:
    """Return the words of a case's finish."""
    return str(quote_values(with_overrides(knowledge.shop, case.shop, "[shop]"), case.quote).get("finish", AS_CAST))


def makes(case: Case, knowledge: Knowledge) -> str:
    """Return whether a case's castings are solid or hollow."""
    return HOLLOW if knowledge.methods[case.method].row.flag("hollow") else SOLID


def as_made(case: Case, made: str, job: Case, knowledge: Knowledge) -> Case:
    """Return a case with castings solid or hollow: by the job's own method where it is such a one, else the usual."""
    if makes(case, knowledge) == made:
        return case
    method = job.method if makes(job, knowledge) == made else USUAL_METHODS[made]
    return replace(case, method=method)


def materials_named(job: JobFile) -> tuple[str, ...] | None:
    """Return the materials that a job and its alternatives name; None where that is only one."""
    found = dict.fromkeys((job.case.material, *(each.case.material for each in job.alternatives)))
    return tuple(found) if len(found) > 1 else None


def materials_of(case: Case, knowledge: Knowledge, named: Sequence[str] | None = None) -> tuple[str, ...]:
    """Return the materials that are offered: those named, else those that can be cast by the case's method.

    The case's own stands among them. Raises InputError for a name that no material has.
    """
    known = knowledge.materials.castings
    for name in named or ():
        if name not in known:
            raise unknown("casting material", name, known, "materials offered")
    offered = known if named is None else named
    able = [n for n in offered if named is not None or case.method in known[n].values["methods"]]
    return tuple(dict.fromkeys((*able, *(() if case.material in able else (case.material,)))))


def other_offers(
    result: Comparison,
    materials: Sequence[str],
    finishes: Sequence[FinishChoice],
    *,
    date: datetime.date | None = None,
    start: datetime.date | None = None,
) -> tuple[ClientOffer, ...]:
    """Return the offers of the same piece in each other material and finish that can be made.

    materials, finishes: those offered; date, start: as for `quote`.
    """
    case, now = result.case, finish_now(result.case, result.knowledge)
    own = next((finish for finish in finishes if finish.words == now), FinishChoice(now, case.quote))
    pairs = [(name, finish) for name in (case.material, *materials) for finish in (own, *finishes)]
    found: dict[tuple[str, str], ClientOffer] = {}
    for name, finish in pairs:
        key = (name, finish.words)
        if key != (case.material, now) and key not in found:
            with contextlib.suppress(InputError):
                other = compare(finish.put(replace(case, material=name)), result.knowledge, result.reading)
                found[key] = quote(other, date=date, start=start).for_client()
    return tuple(found.values())


@dataclass(frozen=True)
class DatedWay:
    """One way to have the run earlier: so many molds side by side, and what is charged then."""

    molds: int
    line: OfferLine

    @property
    def delivery(self) -> datetime.date:
        """The day on which the last casting is out."""
        assert self.line.delivery is not None, "only what has a date is a way to it"
        return self.line.delivery


def dated_ways(result: Comparison, start: datetime.date) -> tuple[DatedWay, ...]:
    """Return the ways to have the run by more and more molds side by side, each earlier than the ones before.

    start: first day of the work. None where the run cannot be planned. Raises InputError where nothing works.
    """
    return tuple(_dated(result, start))


def _dated(result: Comparison, start: datetime.date) -> Iterator[DatedWay]:
    earliest = datetime.date.max
    for molds in range(1, min(MOST_SIDE_BY_SIDE, MOST_MOLDS, result.case.run) + 1):
        line = quote(replace(result, case=replace(result.case, molds=molds)), start=start).asked.charge
        if line.delivery is None:
            return
        if line.delivery < earliest:
            earliest = line.delivery
            yield DatedWay(molds, line)


def way_by(ways: Iterable[DatedWay], due: datetime.date) -> DatedWay:
    """Return the way with the fewest molds that is in time, else the earliest. Raises InputError for no ways."""
    listed = tuple(ways)
    if not listed:
        raise InputError("The run cannot be planned day by day, so there are no dates to choose from.")
    return next((way for way in listed if way.delivery <= due), listed[-1])
