"""Writers side by side, killed and started again; a reader between them; what must be true of the log at the end."""

from __future__ import annotations

import os
import random
import shutil
import subprocess
import sys
import threading
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

from moldkit.errors import InputError
from moldkit.mold_log import add_record, change_record, log_words, read_log
from tests.log_stress.writer import SHARED

ROOT = Path(__file__).resolve().parents[2]
TABLES = ("techniques.csv", "rubbers.csv", "casting_materials.csv", "casting_methods.csv")
# A log as a shop keeps it: a column of its own, another order of columns, a comment, an empty row, Windows line ends.
BEGINNING = (
    "state,mold,client,rubber,casting,method,undercut,wall,release,castings,date,note\r\n"
    '# kept by the bench; "worn out" means by wear\r\n'
    'worn out,24-001,the museum,latex,plaster,open pour,none,full,yes,  88 ,2024-05-01,"torn, at the ""nose"""\r\n'
    "\r\n"
    ",,,,,,,,,,,\r\n"
)
COUNTED = f"in use,{SHARED},,latex,plaster,open pour,none,full,yes,0,2024-05-02,\r\n"


@dataclass
class Tally:
    """What the writers said was done, what a killed one may have done, and what was seen wrong."""

    added: set[str] = field(default_factory=set)
    perhaps: set[str] = field(default_factory=set)
    counted: int = 0
    perhaps_counted: int = 0
    kills: int = 0
    reads: int = 0
    faults: list[str] = field(default_factory=list)
    lock: threading.Lock = field(default_factory=threading.Lock)

    @property
    def written(self) -> int:
        """Writes that were said to be done."""
        return len(self.added) + self.counted


def stress(folder: Path, writers: int, writes: int, seed: int, kill_within: int | None = 12) -> Tally:
    """Let writers do at least so many writes together, each killed again and again; return what came of it.

    folder: an empty one; kill_within: the most writes between two kills of one writer, None to kill nobody.
    """
    for table in TABLES:
        shutil.copy(ROOT / "data" / table, folder)
    (folder / "mold_log.csv").write_bytes((BEGINNING + COUNTED).encode())
    tally = Tally()
    each = -(-writes // writers)
    done = threading.Event()
    reader = threading.Thread(target=_read_on, args=(folder, tally, done))
    reader.start()
    with ThreadPoolExecutor(writers) as pool:
        at_work = [
            pool.submit(_keep_writing, folder, f"w{n}", each, random.Random(seed + n), kill_within, tally)
            for n in range(writers)
        ]
    for writer in at_work:
        writer.result()
    done.set()
    reader.join()
    try:
        tally.faults += _faults_at_the_end(folder, tally)
    except InputError as fault:
        tally.faults.append(f"torn at the end: {fault}")
    return tally


def _keep_writing(
    folder: Path, name: str, writes: int, draw: random.Random, kill_within: int | None, tally: Tally
) -> None:
    """Run one writer until its writes are done, starting it again after each kill with the mold after the last."""
    first = 1
    while writes > 0:
        words = [sys.executable, "-m", "tests.log_stress.writer", str(folder), name]
        words += [str(first), str(first + -(-writes // 2) - 1)]
        running = subprocess.Popen(words, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        assert running.stdout is not None and running.stderr is not None
        left = draw.randint(1, kill_within) if kill_within else None
        said: list[str] = []
        for line in running.stdout:
            said.append(line.strip())
            if len(said) == left:
                # Somewhere in the next write, which takes about as long as counting so far.
                for _ in range(draw.randrange(400_000)):
                    pass
                running.kill()
        complaint = running.stderr.read()
        killed = running.wait() != 0
        with tally.lock:
            added = _count(said, name, killed, first, tally)
            if complaint:
                tally.faults.append(f"{name}: {complaint.strip().splitlines()[-1]}")
                return
        writes -= len(said)
        first += added + killed


def _count(said: list[str], name: str, killed: bool, first: int, tally: Tally) -> int:
    """Take down what a writer said; return how many molds it added."""
    numbers = [int(words.split()[1]) for words in said if words.startswith("added")]
    counted = len(said) - len(numbers)
    tally.added |= {f"{name}-{number}" for number in numbers}
    tally.counted += counted
    if killed:
        tally.kills += 1
        tally.perhaps_counted += 1
        tally.perhaps.add(f"{name}-{(numbers[-1] if numbers else first - 1) + 1}")
    return len(numbers)


def _read_on(folder: Path, tally: Tally, done: threading.Event) -> None:
    """Read the log over and over: it must be whole every time and never grow shorter."""
    words = log_words(folder)
    most = 0
    while not done.is_set():
        try:
            found = len(read_log(folder, words))
        except InputError as fault:
            tally.faults.append(f"torn: {fault}")
            return
        if found < most:
            tally.faults.append(f"{most} molds were there, then only {found}")
        most = max(most, found)
        tally.reads += 1


def _faults_at_the_end(folder: Path, tally: Tally) -> list[str]:
    """Return what is wrong with the log when all writers are gone."""
    # A last write, with nobody else about, clears away what the killed ones left behind.
    add_record(folder, {"mold": "the last", "rubber": "latex", "casting": "plaster"})
    change_record(folder, "the last", {"state": "worn out", "castings": 1})
    records = {record.mold: record for record in read_log(folder)}
    new = set(records) - {"24-001", SHARED, "the last"}
    faults = [f"lost: {mold}" for mold in sorted(tally.added - new)]
    faults += [f"nobody wrote it: {mold}" for mold in sorted(new - tally.added - tally.perhaps)]
    pours = records[SHARED].castings
    if not tally.counted <= pours <= tally.counted + tally.perhaps_counted:
        faults.append(f"{pours} pours where {tally.counted} to {tally.counted + tally.perhaps_counted} were counted")
    text = (folder / "mold_log.csv").read_bytes().decode()
    if not text.startswith(BEGINNING) or "\n" in text.replace("\r\n", "").replace(",\nat once", ""):
        faults.append("what stood in the file before was changed")
    left = sorted(set(os.listdir(folder)) - {*TABLES, "mold_log.csv"})
    # Where a file that is open cannot be removed, the lock's own file stays.
    left = [name for name in left if sys.platform != "win32" or name != ".mold_log.csv.lock"]
    return faults + [f"left behind: {name}" for name in left]
