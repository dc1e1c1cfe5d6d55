"""`python -m tests.bench [model] [distance] [uncertainty] [schedule] [page] [offer] [coverage]`: figures, or all."""

from __future__ import annotations

import sys

from tests.bench import coverage, distance, model, schedule, uncertainty


def main(words: list[str]) -> int:
    """Run the benchmarks named; return the exit code."""
    wanted = words or ["model", "distance", "uncertainty", "schedule", "page", "offer", "coverage"]
    if "model" in wanted:
        model.run()
    if "distance" in wanted:
        distance.run()
    if "uncertainty" in wanted:
        uncertainty.run()
    if "schedule" in wanted:
        schedule.run()
    if "page" in wanted:
        from tests.bench import panel

        panel.run()
    if "offer" in wanted:
        from tests.bench import offer_page

        offer_page.run()
    if "coverage" in wanted:
        coverage.run()
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
