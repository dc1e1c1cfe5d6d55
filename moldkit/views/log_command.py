"""`moldkit log`: what the shop's own molds have given, from the command line."""

from __future__ import annotations

import argparse
import datetime
import json
import sys
from pathlib import Path
from typing import Any

# Only what reading the command line needs is imported up here, so that `moldkit --help` waits for nothing.
from moldkit.errors import BAD_INPUT

_FIELDS = {
    "rubber": "rubber family or grade, as in rubbers.csv",
    "casting": "casting family or material, as in casting_materials.csv",
    "method": "casting method (open pour where nothing is said)",
    "undercut": "none, moderate or severe (none)",
    "wall": "full or thin (full)",
    "release": "yes or no: a release agent at each pour (yes)",
    "castings": "pours given so far, good and rejected (0)",
    "state": "in use, worn out, retired early or spoiled (in use)",
    "date": "day of the last change, year-month-day (today)",
    "note": "anything worth knowing later",
}
_NEEDED = ("mold", "rubber", "casting")


def add_arguments(commands: Any) -> None:
    """Add `log` with its actions to a parser's commands (what `ArgumentParser.add_subparsers` returns)."""
    log = commands.add_parser("log", help="the shop's own molds: how many castings each gave, and how it ended")
    actions = log.add_subparsers(dest="action", metavar="ACTION", required=True)
    add = actions.add_parser("add", help="put a mold into the log")
    add.add_argument("--mold", metavar="NAME", required=True, help="a short name that no other mold has: 24-031")
    change = actions.add_parser("change", help="change what the log says of a mold; what is not named stays")
    change.add_argument("name", metavar="MOLD", help="the mold, as it stands in the log")
    change.add_argument("--mold", metavar="NAME", help="another name for it")
    change.add_argument("--more", metavar="N", type=int, default=0, help="pours given since, added to its castings")
    for action in (add, change):
        for name, meaning in _FIELDS.items():
            needed = action is add and name in _NEEDED
            words = meaning if action is add or name == "date" else meaning.partition(" (")[0]
            action.add_argument(f"--{name}", metavar=name.upper(), required=needed, help=words)
    show = actions.add_parser("list", help="show the molds of the log")
    for name in ("rubber", "casting", "state"):
        show.add_argument(f"--{name}", metavar=name.upper(), help=f"only those of this {name}")
    show.add_argument("--json", action="store_true", help="print one JSON object")
    for action in (add, change, show):
        action.add_argument("--data", metavar="DIR", help="data folder (else MOLDKIT_DATA, else the nearest data/)")
        action.add_argument("--debug", action="store_true", default=argparse.SUPPRESS, help=argparse.SUPPRESS)
        action.set_defaults(do=run)


def run(arguments: argparse.Namespace) -> int:
    """Do what a `moldkit log` command line asks; return the exit code.

    0 on success, 2 where a row that is listed past has a fault, which is then said on stderr. Raises InputError in one
    sentence for anything that cannot be done, and then nothing is changed.
    """
    from moldkit.data_folder import find_data_folder

    folder = find_data_folder(arguments.data)
    return _list(arguments, folder) if arguments.action == "list" else _write(arguments, folder)


def _write(arguments: argparse.Namespace, folder: Path) -> int:
    from moldkit.mold_log import add_record, change_record, log_reading, log_words
    from moldkit.views.log_text import written_text

    words = log_words(folder)
    given = {name: getattr(arguments, name) for name in ("mold", *_FIELDS)}
    given = {name: value for name, value in given.items() if value is not None}
    if arguments.action == "add":
        record = add_record(folder, given, words)
    else:
        if given or arguments.more:
            given.setdefault("date", datetime.date.today().isoformat())
        record = change_record(folder, arguments.name, given, words, more=arguments.more)
    print(written_text(record, log_reading(folder, words)))
    return 0


def _list(arguments: argparse.Namespace, folder: Path) -> int:
    from moldkit.mold_log import chosen, log_reading, log_words
    from moldkit.views.log_text import log_record, log_table

    words = log_words(folder)
    reading = log_reading(folder, words)
    asked = {name: getattr(arguments, name) for name in ("rubber", "casting", "state")}
    records = chosen(reading.records, words, **asked)
    if arguments.json:
        # Plain ASCII, so that every sign of a note survives any code page between here and the reader.
        print(json.dumps(log_record(records, reading.faults), indent=1, allow_nan=False))
    else:
        print(log_table(records))
    for fault in reading.faults:
        print(f"moldkit: {fault}", file=sys.stderr)
    return BAD_INPUT if reading.faults else 0
