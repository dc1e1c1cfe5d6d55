"""What an earlier delivery is charged: the run asked for, with ever more molds side by side."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import replace

from moldkit.economics.quote import Terms
from moldkit.study.client_offer import OfferLine
from moldkit.study.compare import Comparison
from moldkit.study.finish_dates import MOST_SIDE_BY_SIDE
from moldkit.study.quote import quote

# A longer run is not planned anew for each further mold: it would take too long.
MOST_PLANNED = 2_000
# Further molds that bring the delivery no day forward, after which no more are tried.
IN_VAIN = 3


def delivery_choices(
    result: Comparison,
    *,
    terms: Terms | None = None,
    date: datetime.date | None = None,
    start: datetime.date | None = None,
) -> tuple[OfferLine, ...]:
    """Return the ways to deliver the run asked for, the earliest first, none as late and as dear as another.

    terms, date, start: as for `quote`. Nothing without a first day, or for a run of more than 2,000. Raises InputError
    as `quote` does.
    """
    case = result.case
    first_day = start or case.start
    if first_day is None or case.run > MOST_PLANNED:
        return ()
    ways: list[OfferLine] = []
    soonest, in_vain = datetime.date.max, 0
    for line in _side_by_side(result, terms, date, first_day):
        ways.append(line)
        delivery = line.delivery or soonest
        soonest, in_vain = (delivery, 0) if delivery < soonest else (soonest, in_vain + 1)
        if in_vain == IN_VAIN:
            break
    return front(ways)


def _side_by_side(
    result: Comparison, terms: Terms | None, date: datetime.date | None, start: datetime.date
) -> Iterator[OfferLine]:
    case = result.case
    for molds in range(case.molds, max(case.molds, min(MOST_SIDE_BY_SIDE, case.run)) + 1):
        with_molds = replace(result, case=replace(case, molds=molds))
        line = quote(with_molds, terms=terms, date=date, start=start).asked.charge
        if line.delivery is None:
            return
        yield line


def front(ways: list[OfferLine]) -> tuple[OfferLine, ...]:
    """Return the dated ways of which no other is as early for less, nor earlier for as much, the earliest first."""
    dated = sorted(
        (way for way in ways if way.delivery), key=lambda way: (way.delivery or datetime.date.max, way.total)
    )
    kept: list[OfferLine] = []
    for way in dated:
        if not kept or way.total < kept[-1].total:
            kept.append(way)
    return tuple(kept)
