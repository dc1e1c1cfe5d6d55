"""The command line: lab, show, test, measure, compare, export, log, data."""

from __future__ import annotations

import argparse
import json
import os
import sys
import traceback
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from moldkit import __version__
from moldkit.errors import BAD_INPUT, InputError, MoldkitError
from moldkit.units import MESH_UNITS, parse_length
from moldkit.views import log_command

# Shown where no skin is asked for, as far as the pattern is large enough for them [m].
USUAL_SKINS = (0.006, 0.010)


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> Any:
        """Say a fault on the command line in one sentence and exit 2."""
        print(f"{self.prog}: {message}; see {self.prog} --help.", file=sys.stderr)
        raise SystemExit(BAD_INPUT)


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="moldkit",
        description="Compare rubber-mold techniques by rubber, hours, mold life and cost over a run.",
    )
    parser.add_argument("--version", action="version", version=f"moldkit {__version__}")
    parser.add_argument("--debug", action="store_true", help="show a traceback when something goes wrong")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", required=True)

    commands.add_parser("lab", help="open the notebooks in JupyterLab (further words go to JupyterLab)")
    commands.add_parser("show", help="show the client meeting as a page, without its code (see show --help)")
    commands.add_parser("test", help="run the tests (further words go to pytest)")

    measure = commands.add_parser("measure", help="say what a pattern measures")
    measure.add_argument("mesh", metavar="MESH", type=Path, help="STL, PLY, OBJ, 3MF or GLB file")
    measure.add_argument("--unit", required=True, choices=MESH_UNITS, help="what one unit in the file is")
    measure.add_argument("--longest", metavar='"30 cm"', help="scale the pattern so that its longest side is this")
    measure.add_argument("--skin", metavar='"10 mm"', action="append", help="thickness of a skin; repeat for more")
    measure.add_argument(
        "--free", action="store_true", help="skin all round; else the pattern stands on its lowest plane"
    )
    measure.add_argument("--bodies", default="all", metavar="WHICH", help="all, largest, or 1, 2, ... by volume")
    measure.add_argument(
        "--mend", action="append", default=[], metavar="HOW", help="mend what is open; a refusal names the choices"
    )
    measure.add_argument("--json", action="store_true", help="print one JSON object")
    measure.set_defaults(do=_measure)

    compare = commands.add_parser("compare", help="put the techniques side by side for a job")
    compare.add_argument("job", metavar="JOB.toml", type=Path)
    compare.add_argument("--run", metavar="N", help="number of castings, in place of the job's")
    compare.add_argument("--json", action="store_true", help="print one JSON object")
    compare.add_argument("--us", action="store_true", help="inches, pounds and gallons")
    compare.add_argument("--sure", action="store_true", help="say how firm the verdict is, and what would turn it")
    compare.add_argument("--alternatives", action="store_true", help="list the job's alternatives, what each changes")
    compare.add_argument("--against", metavar="NAME", help="tell what changes from this alternative")
    compare.set_defaults(do=_compare)

    export = _export_parser(commands)

    log_command.add_arguments(commands)

    data = commands.add_parser("data", help="work with the data tables")
    actions = data.add_subparsers(dest="action", metavar="ACTION", required=True)
    copy = actions.add_parser("copy", help="give a shop its own data folder")
    copy.add_argument("folder", metavar="DIR", type=Path)
    copy.set_defaults(do=_data_copy)
    check = actions.add_parser("check", help="check every table against its column dictionary")
    check.set_defaults(do=_data_check)
    for command in (compare, export):
        command.add_argument("--alternative", metavar="NAME", help="take this alternative, not the job itself")
    for command in (measure, compare, export, copy, check):
        command.add_argument("--data", metavar="DIR", help="data folder (else MOLDKIT_DATA, else the nearest data/)")
        command.add_argument("--debug", action="store_true", default=argparse.SUPPRESS, help=argparse.SUPPRESS)
    return parser


def _export_parser(commands: Any) -> argparse.ArgumentParser:
    """Add the command export and return its parser."""
    export: argparse.ArgumentParser = commands.add_parser("export", help="write what a client or the bench needs")
    export.add_argument("job", metavar="JOB.toml", type=Path)
    export.add_argument("--to", metavar="DIR", type=Path, required=True, help="folder to write; made if missing")
    export.add_argument("--run", metavar="N", help="number of castings, in place of the job's")
    export.add_argument("--technique", metavar="NAME", help="of the bench sheets; else the cheapest that works")
    export.add_argument("--units", choices=("metric", "us"), default="metric", help="of the bench sheets")
    export.add_argument("--paper", choices=("A4", "Letter"), help="of the bench sheets; else as goes with the units")
    export.add_argument("--date", metavar="2026-11-25", help="the day on pages and sheets; else today")
    export.add_argument("--start", metavar="09:00", help="when work begins; else the times are left to fill in")
    export.add_argument("--for", dest="whom", choices=("client",), help="write what is handed to a client, and no more")
    export.add_argument("--first-day", metavar="2026-12-01", help="first day of the work, for a client's dates")
    export.set_defaults(do=_export)
    return export


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command; return its exit code: 0 on success, 2 with one sentence on stderr for bad input."""
    words = list(sys.argv[1:] if argv is None else argv)
    if words[:1] == ["lab"]:
        from moldkit.start.lab import run_lab

        return run_lab(words[1:])
    if words[:1] == ["show"]:
        from moldkit.start.show import run_show

        return run_show(words[1:])
    if words[:1] == ["test"]:
        from moldkit.start.testing import run_tests

        return run_tests(words[1:])
    _plain_output()
    try:
        arguments = _parser().parse_args(words)
    except SystemExit as stop:
        return stop.code if isinstance(stop.code, int) else BAD_INPUT
    command: Callable[[argparse.Namespace], int] = arguments.do
    try:
        code = command(arguments)
        sys.stdout.flush()
        return code
    except MoldkitError as fault:
        if arguments.debug:
            traceback.print_exc()
        print(f"moldkit: {fault}", file=sys.stderr)
        return BAD_INPUT
    except BrokenPipeError:
        # The reader went away; what is still buffered must go somewhere when Python closes its output.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0


def _plain_output() -> None:
    """Let a terminal that cannot show a thin space show something in its place."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")


def _print_json(record: dict[str, Any]) -> None:
    # Plain ASCII, so that the thin spaces survive any code page between here and the reader.
    print(json.dumps(record, indent=1, allow_nan=False))


def _measure(arguments: argparse.Namespace) -> int:
    from moldkit.pattern.intake.choices import check_bodies, check_mend
    from moldkit.study.patterns import mesh_file, read_file
    from moldkit.views.measures import measure_record, measure_text
    from moldkit.views.survey_report import survey_report

    asked = [parse_length(text, "--skin") for text in arguments.skin or ()]
    longest = None if arguments.longest is None else parse_length(arguments.longest, "--longest")
    check_bodies(arguments.bodies, "--bodies")
    check_mend(arguments.mend, "--mend")
    asked_for = (arguments.unit, arguments.bodies, tuple(arguments.mend), not arguments.free)
    reading = read_file(mesh_file(arguments.mesh, *asked_for))
    usual = [skin for skin in USUAL_SKINS if skin <= (longest or max(reading.extents)) / 2]
    record = measure_record(reading, longest, asked or usual)
    if arguments.json:
        _print_json(record)
    else:
        scale = record["longest_m"] / max(reading.extents)
        said = () if reading.survey is None else survey_report(reading.survey, scale=scale, bottom=reading.bottom)
        print(measure_text(reading.name, record, said))
    return 0


def _compared(arguments: argparse.Namespace) -> Any:
    from dataclasses import replace

    from moldkit.study.case import KEYS
    from moldkit.study.compare import compare
    from moldkit.study.job_file import load_job
    from moldkit.study.knowledge import load_knowledge
    from moldkit.views.alternatives_command import case_named

    knowledge = load_knowledge(arguments.data)
    case = case_named(load_job(arguments.job), arguments.alternative, "--alternative")
    if arguments.run is not None:
        name, check = KEYS["casting"]["run"]
        case = replace(case, **{name: check(arguments.run, "--run")})
    try:
        return compare(case, knowledge)
    except InputError as fault:
        # The words of a job meet the tables only here, where the file's name is not at hand any more.
        if not str(fault).startswith("["):
            raise
        raise InputError(f"{arguments.job.name} {fault}") from None


def _compare(arguments: argparse.Namespace) -> int:
    from moldkit.study.compare import comparison_record
    from moldkit.study.facts import pattern_facts
    from moldkit.units import System
    from moldkit.views.life_words import basis_words
    from moldkit.views.tables import comparison_rows, fact_rows, findings_text, text_table
    from moldkit.views.verdict import castings, verdict

    if arguments.alternatives or arguments.against is not None:
        return _alternatives(arguments)
    result = _compared(arguments)
    if arguments.json:
        _print_json(comparison_record(result) | (_sure_record(result) if arguments.sure else {}))
        return 0
    system: System = "us" if arguments.us else "metric"
    said = verdict(result, system)
    case = result.case
    named = "" if arguments.alternative is None else f", {arguments.alternative}"
    print(f"{case.name}{named}: {castings(case.run)} in {case.material}, {case.method}\n")
    print(said.sentence)
    if said.ruled_out:
        print(said.ruled_out)
    print(f"\n{text_table(comparison_rows(result, system))}")
    if basis := basis_words(result):
        print(f"\n{basis}")
    facts = pattern_facts(result.case, result.pattern)
    print(f"\n{text_table([['Pattern', 'as taken', 'from'], *fact_rows(facts, system)])}")
    found = findings_text(result, system)
    print(f"\n{found}" if found else "")
    if arguments.sure:
        from moldkit.views.how_sure import how_sure

        print("\n".join(how_sure(result).words(system).splitlines()[1:]))
    return 0


def _alternatives(arguments: argparse.Namespace) -> int:
    from moldkit.study.job_file import load_job
    from moldkit.study.knowledge import load_knowledge
    from moldkit.views.alternatives_command import alternatives_record, alternatives_text, change_text

    knowledge, job = load_knowledge(arguments.data), load_job(arguments.job)
    system: Any = "us" if arguments.us else "metric"
    if arguments.json:
        _print_json(alternatives_record(job, knowledge))
    elif arguments.against is not None:
        print(change_text(job, (arguments.against, arguments.alternative), knowledge, system))
    else:
        print(alternatives_text(job, knowledge, system))
    return 0


def _sure_record(result: Any) -> dict[str, Any]:
    from moldkit.views.how_sure import how_sure
    from moldkit.views.sure_record import sure_record

    return {"sure": sure_record(how_sure(result))}


def _export(arguments: argparse.Namespace) -> int:
    if arguments.whom == "client":
        return _export_for_client(arguments)
    if arguments.first_day is not None:
        raise InputError("--first-day: goes with --for client; give both, or neither.")
    from moldkit.views.export import export_job
    from moldkit.views.sheets.bench import clock_time, day
    from moldkit.views.sheets.printing import Printing

    printing = Printing(
        arguments.technique,
        arguments.units,
        arguments.paper,
        None if arguments.date is None else day(arguments.date),
        None if arguments.start is None else clock_time(arguments.start),
    )
    for written in export_job(_compared(arguments), arguments.to, printing):
        print(written)
    return 0


def _export_for_client(arguments: argparse.Namespace) -> int:
    from moldkit.views.client_pack import export_for_client
    from moldkit.views.sheets.bench import day

    for option in ("technique", "start"):
        if getattr(arguments, option) is not None:
            raise InputError(f"--{option}: is of the bench sheets, which a client is not given; leave it out.")
    said = export_for_client(
        _compared(arguments),
        arguments.to,
        date=None if arguments.date is None else day(arguments.date),
        start=None if arguments.first_day is None else day(arguments.first_day, "--first-day"),
        paper=arguments.paper,
        system=arguments.units,
        progress=_on_one_line if sys.stderr.isatty() else None,
    )
    print("\n".join(said))
    return 0


def _on_one_line(share: float, doing: str) -> None:
    """Show how far a long export is, on a line of its own that is wiped in the end."""
    words = f"{100 * share:3.0f} %  {doing}" if share < 1.0 else ""
    print(f"\r{words:<60}", end="" if words else "\r", file=sys.stderr, flush=True)


def _data_copy(arguments: argparse.Namespace) -> int:
    from moldkit.data_folder import copy_data_folder, find_data_folder

    copied = copy_data_folder(find_data_folder(arguments.data), arguments.folder)
    print(f"{copied} files copied to {arguments.folder}; set MOLDKIT_DATA to this folder or give --data.")
    return 0


def _data_check(arguments: argparse.Namespace) -> int:
    from moldkit.mold_log import read_log
    from moldkit.study.bench.cautions import load_cautions
    from moldkit.study.knowledge import load_knowledge

    knowledge = load_knowledge(arguments.data)
    read_log(knowledge.folder)
    load_cautions(knowledge.folder)
    print(f"{knowledge.folder}: every table is in order.")
    return 0
