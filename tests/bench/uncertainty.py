"""The comparison under uncertainty: costs over the run, one move of a slider, the memory at its height."""

from __future__ import annotations

import importlib.util
import json
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from moldkit.economics import renewal_grid
from moldkit.study.case import Case
from moldkit.study.compare import Comparison, compare
from moldkit.study.job_file import load_job
from moldkit.study.knowledge import load_knowledge
from moldkit.study.patterns import read_pattern
from moldkit.study.uncertainty.model import Shops
from moldkit.study.uncertainty.sensitivity import sensitivity_of
from moldkit.study.uncertainty.spread import draw, spread_of
from moldkit.study.uncertainty.switching import switching_values
from moldkit.study.uncertainty.totals import AT_ONCE, RunCosts, totals
from tests.bench.clock import line, median_ms

RUNS = np.unique(np.round(np.geomspace(1, 10_000, 620)).astype(np.int64))[:400]
MANY = 100_000
_MEMORY = """
import json, resource, sys
from tests.bench.uncertainty import MANY, RUNS, case_compared
from moldkit.study.uncertainty.spread import spread_of
result = case_compared()
before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
spread_of(result, draws=MANY, runs=RUNS)
after = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
print(json.dumps([before, after, sys.platform == "darwin"]))
"""


def case_compared() -> Comparison:
    """Return the comparison of the finial."""
    knowledge = load_knowledge()
    case = load_job(knowledge.folder / "jobs" / "finial.toml").case
    return compare(case, knowledge, read_pattern(case, knowledge))


def run() -> None:
    """Print the speeds against one pass of numpy over as many costs, and the memory."""
    result = case_compared()
    print(f"uncertainty: {len(result.outcomes)} techniques x {RUNS.size} runs, finial")
    # What is loaded and drawn once a session is not part of a move.
    spread_of(result)
    for count in (2_000, 10_000, MANY):
        _print_costs(draw(result, count).shops)
    floor = _floor(2_000)
    moves = iter(range(1, 1_000))
    line("a move of the run, 2,000 draws, whole", median_ms(lambda: spread_of(_moved(result, next(moves)))), floor, "one numpy pass")  # noqa: E501
    sizes = iter(np.linspace(0.2, 0.3, 100))
    line("a move of the size, 2,000 draws, whole", median_ms(lambda: spread_of(_resized(result, float(next(sizes))))), floor, "one numpy pass")  # noqa: E501
    line("sensitivity, 512 points an input", median_ms(lambda: sensitivity_of(result), 3), floor, "one numpy pass")
    line("switching values", median_ms(lambda: switching_values(result), 3), floor, "one numpy pass")
    _print_moves(floor)
    _print_memory()


def _print_moves(floor: float) -> None:
    """Print what a move of the run takes on each page of the third notebook's panel, dragged and let go."""
    from moldkit.views.panel.how_sure import HowSureAreWe

    panel, runs = HowSureAreWe("finial"), iter(range(10, 1_000))
    for page in panel.switch.options:
        panel.switch.value = page
        for settled, what in ((False, "dragged"), (True, "let go")):
            taken = median_ms(lambda: panel.bench.change(_to(next(runs)), settled))  # noqa: B023
            line(f"{page}: the run {what}, 2,000 draws", taken, floor, "one numpy pass")


def _to(run: int) -> Callable[[Case], Case]:
    return lambda case: replace(case, run=run)


def _print_costs(shops: Shops) -> None:
    count = shops.count
    floor = _floor(count)
    first = _once(lambda: _costs(shops), _forget)
    line(f"costs, {count:,} draws, lives not seen before", first, floor, "one numpy pass")
    line(f"costs, {count:,} draws", median_ms(lambda: _costs(shops), 5), floor, "one numpy pass")
    line(f"costs, chances, bands, turns, {count:,} draws", median_ms(lambda: totals(shops, RUNS), 3), floor, "one numpy pass")  # noqa: E501


def _forget() -> None:
    renewal_grid._grid_molds.cache_clear()
    renewal_grid._grid_tables.cache_clear()


def _floor(count: int) -> float:
    """Return the time of one numpy pass over as many costs, in the blocks that they are computed in [ms]."""
    rows = max(1, AT_ONCE // count)
    block = np.ones((4, rows, count))
    return median_ms(lambda: np.sqrt(block), 20) * RUNS.size / rows


def _once(action: Callable[[], object], before: Callable[[], object]) -> float:
    before()
    start = time.perf_counter()
    action()
    return 1e3 * (time.perf_counter() - start)


def _costs(shops: Shops) -> None:
    costs = RunCosts(shops, RUNS)
    rows = max(1, AT_ONCE // shops.count)
    for start in range(0, RUNS.size, rows):
        costs.block(start, min(start + rows, RUNS.size))


def _moved(result: Comparison, by: int) -> Comparison:
    return compare(replace(result.case, run=result.case.run + by), result.knowledge, result.reading)


def _resized(result: Comparison, longest: float) -> Comparison:
    return compare(replace(result.case, longest=longest), result.knowledge, result.reading)


def _print_memory() -> None:
    if importlib.util.find_spec("resource") is None:
        return
    answer = subprocess.run([sys.executable, "-c", _MEMORY], check=True, capture_output=True, text=True, timeout=600)
    before, after, in_bytes = json.loads(answer.stdout)
    unit = 1e6 if in_bytes else 1e3
    print(f"{f'memory at its height, {MANY:,} draws':58} {after / unit:9.0f} MB   {before / unit:8.0f} MB before")
