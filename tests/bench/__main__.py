"""`python -m tests.bench [model] [distance] [uncertainty] [page] [coverage]`: print figures; without a word, all."""

from __future__ import annotations

import sys

from tests.bench import coverage, distance, model, uncertainty


def main(words: list[str]) -> int:
    """Run the benchmarks named; return the exit code."""
    wanted = words or ["model", "distance", "uncertainty", "page", "coverage"]
    if "model" in wanted:
        model.run()
    if "distance" in wanted:
        distance.run()
    if "uncertainty" in wanted:
        uncertainty.run()
    if "page" in wanted:
        from tests.bench import panel

        panel.run()
    if "coverage" in wanted:
        coverage.run()
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
