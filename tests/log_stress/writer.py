"""`python -m tests.log_stress.writer FOLDER NAME FIRST LAST`: add molds and count pours, saying each when done."""

from __future__ import annotations

import sys
from pathlib import Path

from moldkit.mold_log import add_record, change_record, log_words

SHARED = "counted by all"


def main(folder: Path, name: str, first: int, last: int) -> None:
    """Add the molds NAME-FIRST to NAME-LAST, and after each count one pour more for the mold that all share."""
    words = log_words(folder)
    row = {"rubber": "latex", "casting": "plaster", "note": "=by \N{SNOWMAN} several,\nat once"}
    for number in range(first, last + 1):
        add_record(folder, {"mold": f"{name}-{number}", **row}, words)
        print(f"added {number}", flush=True)
        change_record(folder, SHARED, {}, words, more=1)
        print(f"counted {number}", flush=True)


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2], int(sys.argv[3]), int(sys.argv[4]))
