"""`python -m tests.log_stress [writes] [--writers N] [--seed N]`: kill writers of a log; is anything lost or torn?"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from pathlib import Path

from tests.log_stress.stress import stress


def main(words: list[str]) -> int:
    """Stress a log in a folder of its own; return 1 where anything was lost, torn or left behind."""
    parser = argparse.ArgumentParser(prog="python -m tests.log_stress", description=__doc__)
    parser.add_argument("writes", nargs="?", type=int, default=1000)
    parser.add_argument("--writers", type=int, default=8)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args(words)
    begun = time.monotonic()
    with tempfile.TemporaryDirectory(prefix="moldkit-log-") as folder:
        tally = stress(Path(folder), asked.writers, asked.writes, asked.seed)
    for fault in tally.faults:
        print(fault)
    print(
        f"{tally.written} writes by {asked.writers} writers at once, {tally.kills} of them killed in the middle, the "
        f"log read {tally.reads} times meanwhile, in {time.monotonic() - begun:.0f} s; {len(tally.faults)} faults."
    )
    return 1 if tally.faults else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
