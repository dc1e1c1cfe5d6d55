"""Damaging files one after another, and watching that none is read wrong and nothing is left behind."""

from __future__ import annotations

import os
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO

import numpy as np

from moldkit.pattern.intake.choices import MENDS
from moldkit.pattern.intake.server import server
from tests.fuzz.damage import damaged
from tests.fuzz.judge import fault_of
from tests.fuzz.sound import sound_files

# A file of a few kilobytes that takes longer is on the way to a limit [s].
LONGEST = 10.0


@dataclass
class Report:
    """What came of a run: how many files were read and refused; one sentence a fault; the slowest file [s]."""

    outcomes: Counter[str] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)
    slowest: float = 0.0
    slowest_case: int = -1


def run(count: int, seed: int, kept: Path) -> Report:
    """Damage `count` files and judge what comes of each; files with a fault are kept in the folder `kept`."""
    report = Report()
    before = threading.active_count()
    with tempfile.TemporaryDirectory(prefix="moldkit fuzz ") as folder, _caught() as output:
        for case in range(count):
            _one(case, seed, Path(folder), kept, report)
            if output.seek(0, os.SEEK_END):
                output.seek(0)
                report.faults.append(f"case {case}: wrote {output.read(200)!r} to the screen")
                output.truncate(0)
        left = sorted(path.name for path in Path(folder).iterdir())
    if left:
        report.faults.append(f"left behind in the folder: {left}")
    if threading.active_count() != before:
        report.faults.append(f"{threading.active_count()} threads instead of {before}")
    report.faults += _processes_left()
    return report


def _one(case: int, seed: int, folder: Path, kept: Path, report: Report) -> None:
    draw = np.random.default_rng([seed, case])
    sound = sound_files()[int(draw.integers(0, len(sound_files())))]
    spoilt = damaged(draw, sound)
    mend = tuple(word for word in MENDS if draw.random() < 0.15)
    path = folder / f"case{case}.{spoilt.kind}"
    path.write_bytes(spoilt.content)
    begun = time.monotonic()
    fault, outcome = fault_of(path, mend, sound.volume if spoilt.same_shape else None)
    took = time.monotonic() - begun
    path.unlink()
    report.outcomes[f"{spoilt.kind} {outcome}"] += 1
    if took > report.slowest:
        report.slowest, report.slowest_case = took, case
    if took > LONGEST:
        fault = fault or f"took {took:.0f} s"
    if fault:
        kept.mkdir(parents=True, exist_ok=True)
        place = kept / f"seed{seed}-{path.name}"
        place.write_bytes(spoilt.content)
        report.faults.append(f"case {case} ({spoilt.how}; mend {list(mend)}): {fault}; kept as {place}")


@contextmanager
def _caught() -> Iterator[IO[bytes]]:
    """Catch all that this process and those it starts write to the screen, below Python too."""
    sys.stdout.flush()
    sys.stderr.flush()
    real = [os.dup(1), os.dup(2)]
    with tempfile.TemporaryFile() as output:
        for number in (1, 2):
            os.dup2(output.fileno(), number)
        try:
            yield output
        finally:
            sys.stdout.flush()
            sys.stderr.flush()
            for number, old in zip((1, 2), real, strict=True):
                os.dup2(old, number)
                os.close(old)


def _processes_left() -> list[str]:
    """Return a sentence for each process of ours, besides the one that reads, that is still there."""
    tasks = Path(f"/proc/{os.getpid()}/task")
    if not tasks.exists():
        return []
    ours = {pid for task in tasks.iterdir() for pid in (task / "children").read_text().split()}
    return [f"process {pid} was left behind" for pid in sorted(ours - {str(server().pid())})]
