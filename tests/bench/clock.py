"""A stopwatch for the benchmarks."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable


def median_ms(action: Callable[[], object], times: int = 15) -> float:
    """Return the median time of an action [ms], after one call that does not count."""
    action()
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        action()
        taken.append(1e3 * (time.perf_counter() - start))
    return statistics.median(taken)


def line(what: str, ms: float, floor_ms: float, floor: str) -> None:
    """Print one figure beside the floor it is measured against."""
    print(f"{what:58} {ms:9.2f} ms   {ms / floor_ms:8.1f} x {floor}")
