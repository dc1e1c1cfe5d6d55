"""`moldkit log` and the log in words: what is shown, what is said after writing, what others script against."""

from __future__ import annotations

import argparse
import datetime
import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from moldkit.errors import InputError
from moldkit.mold_log import add_record, read_log
from moldkit.views.log_command import add_arguments, run
from moldkit.views.log_text import count_sentence, log_table, record_sentence, use_text

ROOT = Path(__file__).resolve().parents[2]
DATA = ROOT / "data"
TODAY = datetime.date.today().isoformat()
ADD = ["add", "--mold", "26-101", "--rubber", "platinum silicone, slow", "--casting", "rigid urethane resin"]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Return a copy of the data folder's tables with a log of two molds."""
    copy = tmp_path / "data"
    shutil.copytree(DATA, copy, ignore=shutil.ignore_patterns("__pycache__", "patterns", "mold_log.csv"))
    use = {"method": "pressure", "undercut": "severe", "wall": "thin", "release": "no"}
    pair = {"rubber": "platinum silicone", "casting": "rigid urethane"}
    add_record(copy, {"mold": "24-001", **pair, **use, "castings": 1, "state": "worn out", "date": "2024-05-01"})
    add_record(copy, {"mold": "24-002", "rubber": "latex", "casting": "plaster", "castings": 1200, "note": "a\n\tb "})
    return copy


def log(folder: Path, *words: str) -> int:
    """Run `moldkit log` with these words as the command line would."""
    parser = argparse.ArgumentParser(prog="moldkit")
    add_arguments(parser.add_subparsers())
    arguments = parser.parse_args(["log", *words, "--data", str(folder)])
    code = arguments.do(arguments)
    assert isinstance(code, int) and arguments.do is run
    return code


def refusal(folder: Path, *words: str) -> str:
    with pytest.raises(InputError) as refused:
        log(folder, *words)
    return str(refused.value)


def test_a_mold_is_added_with_the_usual_use_and_what_the_log_knows_of_its_pair_is_said(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert log(folder, *ADD, "--castings", "12", "--note", "spare on shelf B") == 0
    said = capsys.readouterr()
    assert (said.out, said.err) == (
        "Written. Mold 26-101 (mold_log.csv, row 4): platinum silicone, slow, 12 castings in rigid urethane resin, "
        f"open pour; in use, {TODAY}.\n"
        "The log holds 2 molds of platinum silicone with rigid urethane, 1 of them worn out.\n",
        "",
    )
    assert read_log(folder)[-1].note == "spare on shelf B"


def test_every_column_can_be_given(folder: Path) -> None:
    more = ["--method", "vacuum", "--undercut", "moderate", "--wall", "thin", "--release", "no", "--castings", "3"]
    assert log(folder, *ADD, *more, "--state", "spoiled", "--date", "2026-01-02", "--note", "cut") == 0
    record = read_log(folder)[-1]
    assert (record.uses, record.castings, record.state, record.date.isoformat(), record.note) == (
        {"method": "vacuum", "undercut": "moderate", "wall": "thin", "release": "no"},
        3,
        "spoiled",
        "2026-01-02",
        "cut",
    )


def test_a_mold_that_is_there_is_refused_and_the_way_to_change_it_is_said(folder: Path) -> None:
    before = (folder / "mold_log.csv").read_bytes()
    says = refusal(folder, "add", "--mold", "24-001", "--rubber", "latex", "--casting", "plaster")
    assert says.endswith('or change that row with `moldkit log change "24-001"`.')
    assert (folder / "mold_log.csv").read_bytes() == before


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (
            ["--state", "wornout"],
            "state: 'wornout' is not one of in use, worn out, retired early, spoiled; did you mean",
        ),
        (["--castings", "-3"], "castings: '-3' is not a whole number of pours; write digits only"),
        (["--method", "pressured"], "method: unknown casting method 'pressured'; did you mean 'pressure'?"),
        (["--date", "25.11.2026"], "date: '25.11.2026' is not written year-month-day"),
    ],
)
def test_a_bad_word_is_named_by_its_column(folder: Path, words: list[str], says: str) -> None:
    assert refusal(folder, *ADD, *words).startswith(says)


def test_a_change_is_dated_today_and_leaves_what_is_not_named(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert log(folder, "change", "24-002", "--more", "5", "--state", "worn out") == 0
    assert capsys.readouterr().out.startswith(
        "Written. Mold 24-002 (mold_log.csv, row 3): latex, 1\u202f205 castings in plaster, open pour; worn out, "
    )
    record = read_log(folder)[1]
    assert (record.castings, record.state, record.date.isoformat(), record.note) == (1205, "worn out", TODAY, "a\n\tb ")
    assert log(folder, "change", "24-002", "--mold", "24-002 A", "--date", "2026-02-03") == 0
    assert (read_log(folder)[1].mold, read_log(folder)[1].date.isoformat()) == ("24-002 A", "2026-02-03")


def test_a_change_of_nothing_or_of_no_mold_is_named(folder: Path) -> None:
    assert refusal(folder, "change", "24-001") == (
        "mold '24-001': nothing to change was given; name a column and its new value."
    )
    assert refusal(folder, "change", "24-003", "--more", "1").startswith(
        "mold '24-003': is not in the log; did you mean"
    )


def test_the_list_shows_every_mold_on_one_line_with_its_use(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert log(folder, "list") == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].split() == ["Mold", "Rubber", "Casting", "Use", "Castings", "State", "Changed", "Note"]
    assert lines[2].split("  ")[0] == "24-001" and "pressure, severe undercut, thin wall, no release" in lines[2]
    assert lines[3].endswith(f"1\u202f200  in use    {TODAY}  a / b")
    assert lines[-1] == "2 molds: 1 worn out, 1 in use."


def test_the_list_can_be_of_one_rubber_one_casting_one_state(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for words, count in [
        (["--rubber", "latex"], "1 mold: 1 in use."),
        (["--casting", "rigid urethane", "--state", "worn out"], "1 mold: 1 worn out."),
        (["--rubber", "latex", "--state", "worn out"], "No molds."),
    ]:
        assert log(folder, "list", *words) == 0
        assert capsys.readouterr().out.splitlines()[-1] == count
    assert refusal(folder, "list", "--rubber", "lattex").startswith("rubber: unknown rubber name or family 'lattex'")


def test_the_record_that_others_script_against(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    add_record(folder, {"mold": "נר", "rubber": "latex", "casting": "plaster", "note": "\N{PILE OF POO}"})
    assert log(folder, "list", "--json") == 0
    said = capsys.readouterr().out
    assert said.isascii()
    record = json.loads(said)
    assert list(record) == ["schema", "molds", "faults"] and (record["schema"], record["faults"]) == (1, [])
    assert record["molds"][0] == {
        "mold": "24-001",
        "rubber": "platinum silicone",
        "casting": "rigid urethane",
        "method": "pressure",
        "undercut": "severe",
        "wall": "thin",
        "release": False,
        "castings": 1,
        "state": "worn out",
        "date": "2024-05-01",
        "note": "",
    }
    assert (record["molds"][2]["mold"], record["molds"][2]["note"]) == ("נר", "\N{PILE OF POO}")


def test_rows_with_faults_are_named_beside_the_others_and_end_in_exit_2(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = folder / "mold_log.csv"
    path.write_text(path.read_text(encoding="utf-8").replace("worn out", "gone"), encoding="utf-8")
    for words in (["list"], ["list", "--json"]):
        assert log(folder, *words) == 2
        said = capsys.readouterr()
        assert "24-002" in said.out
        assert said.err.startswith("moldkit: mold_log.csv, row 2, column 'state': 'gone' is not one of")
    assert log(folder, *ADD) == 0
    assert capsys.readouterr().out.endswith("\n1 row has a fault: see `moldkit log list`.\n")


def test_without_a_log_the_list_is_empty(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "mold_log.csv").unlink()
    assert log(folder, "list") == 0
    assert capsys.readouterr().out == "No molds.\n"


def test_columns_stand_under_each_other_whatever_is_written_in_them(folder: Path) -> None:
    add_record(folder, {"mold": "模型", "rubber": "latex", "casting": "plaster"})
    add_record(folder, {"mold": "nose\u0301", "rubber": "latex", "casting": "plaster"})
    lines = log_table(read_log(folder)).splitlines()
    # Two places for each of the two wide signs, none for the accent (Unicode Standard Annex 11, East Asian Width).
    assert lines[4].startswith("模型    latex") and lines[5].startswith("nose\u0301    latex")


def test_a_plain_use_is_said_by_its_method_alone_and_one_casting_is_one_casting(folder: Path) -> None:
    first, second = read_log(folder)
    assert (use_text(first), use_text(second)) == ("pressure, severe undercut, thin wall, no release", "open pour")
    assert "platinum silicone, 1 casting in rigid urethane" in record_sentence(first)
    assert count_sentence([second, second, first]) == "3 molds: 2 in use, 1 worn out."


def test_the_words_of_the_command_line_are_read_without_numpy() -> None:
    code = "import sys, moldkit.views.log_command; raise SystemExit('numpy' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], cwd=ROOT, check=False).returncode == 0
