"""The run's plan and the whole trade-off of techniques and molds, against a bare heap of as many events."""

from __future__ import annotations

import datetime
from dataclasses import replace
from heapq import heappop, heappush

from moldkit.study.case import Case
from moldkit.study.compare import compare
from moldkit.study.finish_dates import trade_off
from moldkit.study.knowledge import load_knowledge
from moldkit.study.planned_work import work_of
from moldkit.study.run_plan import plan_run
from tests.bench.clock import line, median_ms

START = datetime.date(2026, 11, 30)
CASE = Case(
    form="figure", size=(0.12, 0.10, 0.25), undercut="moderate", material="rigid urethane resin", run=1_000, start=START
)


def run() -> None:
    """Print the speeds for a run of 1,000 castings; the floor is a heap with five events a casting."""
    knowledge = load_knowledge()
    result = compare(CASE, knowledge)
    people = len(result.shop.values["people"] or (None,))
    floor = median_ms(lambda: _bare_heap(5 * CASE.run))
    print(f"schedule: {CASE.run} castings, 8 molds, {people} people")
    work = work_of(result, result.outcomes[0], START)
    name = result.outcomes[0].name
    heap = "bare heap"
    line("the run simulated", median_ms(lambda: work.simulated(8)), floor, heap)
    line("the run planned, with bars and cost", median_ms(lambda: plan_run(result, name, molds=8)), floor, heap)
    line(
        "what holds it up, one more of each",
        median_ms(lambda: plan_run(result, name, molds=8).bottleneck, 5),
        floor,
        heap,
    )
    ways = len(trade_off(result).ways)
    line(
        f"trade-off, {ways} ways, by techniques and 1 to 20 molds", median_ms(lambda: trade_off(result), 3), floor, heap
    )
    dated = replace(CASE, due=START + datetime.timedelta(days=40))
    plain = median_ms(lambda: compare(CASE, knowledge, result.reading).cheapest, 5)
    line(
        "compare with a date",
        median_ms(lambda: compare(dated, knowledge, result.reading).cheapest, 5),
        plain,
        "compare without",
    )


def _bare_heap(events: int) -> None:
    heap: list[tuple[float, int]] = []
    for number in range(events):
        heappush(heap, ((number * 7919) % 104_729 / 1e3, number))
        if number % 5 == 4:
            for _ in range(5):
                heappop(heap)


if __name__ == "__main__":
    run()
