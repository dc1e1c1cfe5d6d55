"""`python -m tests.bench [model] [distance] [page]`: print the speeds; without a word, all of them."""

from __future__ import annotations

import sys

from tests.bench import distance, model


def main(words: list[str]) -> int:
    """Run the benchmarks named; return the exit code."""
    wanted = words or ["model", "distance", "page"]
    if "model" in wanted:
        model.run()
    if "distance" in wanted:
        distance.run()
    if "page" in wanted:
        from tests.bench import panel

        panel.run()
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
