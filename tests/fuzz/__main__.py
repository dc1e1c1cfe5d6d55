"""`python -m tests.fuzz [count] [--seed N] [--replay FILE]`: damage files; is each refused or read right?"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from pathlib import Path

from tests.fuzz.judge import fault_of
from tests.fuzz.run import run

USUAL = 10_000


def main(words: list[str]) -> int:
    """Run as many cases as asked for, or one kept file again; return 1 where something was wrong."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    parser.add_argument("count", nargs="?", type=int, default=USUAL)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--replay", type=Path, help="a file that was kept")
    asked = parser.parse_args(words)
    if asked.replay is not None:
        fault, outcome = fault_of(asked.replay, (), None)
        print(f"{outcome}: {fault or 'nothing wrong'}")
        return 1 if fault else 0
    begun = time.monotonic()
    report = run(asked.count, asked.seed, Path(tempfile.gettempdir()) / "moldkit-fuzz-kept")
    for fault in report.faults:
        print(fault)
    for outcome, count in sorted(report.outcomes.items()):
        print(f"{count:6} {outcome}")
    print(
        f"{asked.count} files in {time.monotonic() - begun:.0f} s, the slowest {report.slowest:.1f} s (case "
        f"{report.slowest_case}); {len(report.faults)} faults."
    )
    return 1 if report.faults else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
