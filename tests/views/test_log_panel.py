"""The panel of the mold log without a page: a press writes one row, anything wrong is a sentence and loses nothing."""

from __future__ import annotations

import datetime
import os
import shutil
from pathlib import Path
from typing import Any

import pytest

from moldkit.errors import InputError
from moldkit.mold_log import MoldRecord, add_record, change_record, log_words, next_name, read_log
from moldkit.study.case import FROM_LOG
from moldkit.study.logged_life import logged_life
from moldkit.views.life_words import life_words
from moldkit.views.mold_rows import mold_rows, newest_first
from moldkit.views.panel.how_sure import HowSureAreWe
from moldkit.views.panel.mold_log import MoldLog
from tests.views.log_pages import fill, press

DATA = Path(__file__).resolve().parents[2] / "data"
TODAY = datetime.date.today()


@pytest.fixture
def data(tmp_path: Path) -> Path:
    """A data folder of the test's own, so that writing changes nothing of the project's."""
    folder = tmp_path / "data"
    shutil.copytree(DATA, folder, ignore=shutil.ignore_patterns("__pycache__", "patterns"))
    return folder


@pytest.fixture
def panel(data: Path) -> MoldLog:
    return MoldLog(data)


def log(data: Path) -> bytes:
    return (data / "mold_log.csv").read_bytes()


def in_file(data: Path, mold: str) -> MoldRecord:
    return next(record for record in read_log(data) if record.mold == mold)


def shown(panel: MoldLog) -> list[str]:
    return [row["key"] for row in panel.table.rows]


# ------------------------------------------------------------------------------------------------- what is shown


def test_opening_filtering_and_choosing_write_nothing(panel: MoldLog, data: Path) -> None:
    before, stamp = log(data), (data / "mold_log.csv").stat().st_mtime_ns
    panel.only["state"].value = "worn out"
    panel._choose("26-022")
    assert panel.record == in_file(data, "26-022")
    assert log(data) == before and (data / "mold_log.csv").stat().st_mtime_ns == stamp
    assert {path.name for path in data.glob(".*")} == set()


def test_the_newest_mold_stands_first_and_of_one_day_the_one_written_last(panel: MoldLog, data: Path) -> None:
    records = read_log(data)
    expected = sorted(range(len(records)), key=lambda n: (records[n].date, n), reverse=True)
    assert shown(panel) == [records[n].mold for n in expected]
    assert [record.mold for record in newest_first(records)] == shown(panel)


def test_the_lists_above_the_table_pick_as_the_command_line_does(panel: MoldLog, data: Path) -> None:
    panel.only["rubber"].value, panel.only["state"].value = "platinum silicone", "in use"
    records = read_log(data)
    wanted = {r.mold for r in records if r.rubber_family == "platinum silicone" and r.state == "in use"}
    assert set(shown(panel)) == wanted and len(wanted) > 1
    assert f"Shown: {len(wanted)} of them." in panel.band.detail


def test_a_long_note_is_short_in_the_table_and_whole_where_the_mold_is_changed(panel: MoldLog, data: Path) -> None:
    note = "torn at the nose\nthen glued " + 30 * "again and "
    change_record(data, "26-024", {"note": note})
    panel._choose("26-024")
    assert panel.change.fields["note"].value == in_file(data, "26-024").note == note
    (row,) = [row for row in panel.table.rows if row["key"] == "26-024"]
    assert row["cells"][-1]["note"].startswith("torn at the nose / then glued") and len(row["cells"][-1]["note"]) < 90


def test_the_next_free_name_is_offered_year_by_year(data: Path) -> None:
    records = read_log(data)
    newest = max(record.mold for record in records if record.mold.startswith("26-"))
    assert newest == "26-024"
    assert next_name(records, datetime.date(2026, 12, 31)) == "26-025"
    assert next_name(records, datetime.date(2027, 1, 1)) == "27-001"


def test_no_file_is_a_log_without_molds_and_the_first_one_makes_it(data: Path) -> None:
    (data / "mold_log.csv").unlink()
    panel = MoldLog(data)
    assert panel.band.sentence == "The log holds no molds yet." and panel.table.rows == []
    fill(panel, mold="first", rubber="latex", casting="plaster")
    press(panel.add)
    assert [record.mold for record in read_log(data)] == shown(panel) == ["first"]


# ------------------------------------------------------------------------------------------------- adding


def test_a_mold_that_is_added_stands_at_the_end_of_the_file_and_first_in_the_table(panel: MoldLog, data: Path) -> None:
    before = log(data)
    fill(panel, mold="heron a", rubber="platinum silicone, slow", casting="rigid urethane resin", method="pressure",
         undercut="severe", wall="thin", release="no", castings=" 12 ", state="worn out",
         note="=torn, at the beak")  # fmt: skip
    press(panel.add)
    assert log(data).startswith(before)
    record = in_file(data, "heron a")
    assert record == MoldRecord(
        "heron a", "platinum silicone, slow", "rigid urethane resin", "pressure", "severe", "thin", False, 12,
        "worn out", TODAY, "=torn, at the beak", "platinum silicone", "rigid urethane",
    )  # fmt: skip
    assert b"'=torn" in log(data)
    assert shown(panel)[0] == "heron a" and panel.table.rows[0]["chosen"]
    assert panel.said.value.count("Added. Mold heron a") == 1 and "71 molds" in panel.band.sentence


def test_the_form_begins_anew_with_the_next_name_and_the_use_of_the_one_before(panel: MoldLog) -> None:
    offered = panel.new.fields["mold"].value
    fill(panel, rubber="latex", casting="plaster", method="vacuum", castings="3", note="for the fair")
    press(panel.add)
    given = panel.new.given()
    assert given["mold"] > offered and given["mold"] == next_name(panel.reading.records, TODAY)
    assert (given["rubber"], given["casting"], given["method"]) == ("latex", "plaster", "vacuum")
    assert (given["castings"], given["note"], given["state"], given["date"]) == ("0", "", "in use", TODAY)


def test_a_mold_that_the_lists_would_hide_is_shown_all_the_same(panel: MoldLog) -> None:
    panel.only["state"].value = "spoiled"
    fill(panel, mold="new", rubber="latex", casting="plaster")
    press(panel.add)
    assert shown(panel)[0] == "new" and panel.only["state"].value == ""


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"castings": "twelve"}, "castings: 'twelve' is not a whole number of pours"),
        ({"castings": "12.5"}, "castings: '12.5' is not a whole number"),
        ({"castings": ""}, "castings: is empty"),
        ({"castings": "0", "state": "worn out"}, "a mold that is worn out has given 1 at least"),
        ({"rubber": ""}, "rubber: is empty; give a rubber family"),
        ({"casting": ""}, "casting: is empty"),
        ({"mold": " "}, "mold: is empty"),
        ({"mold": "26-024"}, "mold '26-024': stands in the log already"),
        ({"mold": "#1"}, "begins like a comment"),
        ({"date": None}, "date: is empty"),
        ({"date": datetime.date(26, 11, 20)}, "outside 1950 to 2199"),
        ({"note": 2001 * "x"}, "note: has 2001 characters"),
    ],
)
def test_what_will_not_do_is_one_sentence_and_everything_stays_as_it_was_written(
    panel: MoldLog, data: Path, wrong: dict[str, Any], words: str
) -> None:
    before = log(data)
    fill(panel, **({"mold": "b 2", "rubber": "latex", "casting": "plaster", "note": "for the fair"} | wrong))
    given = panel.new.given()
    press(panel.add)
    assert words.replace("'", "&#x27;") in panel.said.value and 'role="alert"' in panel.said.value
    assert panel.said.value.count("<div") == 1 and "Traceback" not in panel.said.value
    assert log(data) == before and panel.new.given() == given
    assert panel.undo.disabled


# ------------------------------------------------------------------------------------------------- changing


def test_castings_more_and_worn_out_change_that_row_alone(panel: MoldLog, data: Path) -> None:
    before, lines = in_file(data, "26-024"), log(data).splitlines()
    panel._choose("26-024")
    fill(panel.change, more="3", state="worn out", note="torn at the base")
    press(panel.save)
    after = in_file(data, "26-024")
    assert (after.castings, after.state, after.note) == (before.castings + 3, "worn out", "torn at the base")
    assert after.date == TODAY
    changed = [place for place, (a, b) in enumerate(zip(lines, log(data).splitlines(), strict=True)) if a != b]
    assert len(changed) == 1 and lines[changed[0]].startswith(b"26-024,")
    assert "Changed. Mold 26-024" in panel.said.value
    assert (panel.change.fields["more"].value, panel.change.fields["castings"].value) == ("", str(after.castings))


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"more": "-2"}, "Castings more: '-2' is not a whole number"),
        ({"more": "3", "castings": "40"}, "give either their number or how many more, not both"),
        ({"castings": "40 or so"}, "mold '26-024', column 'castings': '40 or so' is not a whole number"),
        ({"castings": "0", "state": "worn out"}, "a mold that is worn out has given 1 at least"),
        ({}, "nothing to change was given"),
        ({"note": "\x07"}, "holds a character that cannot be shown"),
    ],
)
def test_a_change_that_will_not_do_is_one_sentence_and_stays_in_the_form(
    panel: MoldLog, data: Path, wrong: dict[str, Any], words: str
) -> None:
    before = log(data)
    panel._choose("26-024")
    fill(panel.change, **wrong)
    press(panel.save)
    assert words.replace("'", "&#x27;") in panel.said.value
    assert log(data) == before
    assert {name: panel.change.fields[name].value for name in wrong} == wrong


def test_without_a_chosen_mold_there_is_nothing_to_change(panel: MoldLog) -> None:
    assert panel.save.disabled and all(field.disabled for field in panel.change.fields.values())
    panel._act(panel._save)
    assert "No mold is chosen" in panel.said.value


# ------------------------------------------------------------------------------------------------- taking back


def test_each_change_can_be_taken_back_one_after_the_other_to_the_last_byte(panel: MoldLog, data: Path) -> None:
    before = log(data)
    fill(panel, mold="slip", rubber="latex", casting="plaster")
    press(panel.add)
    fill(panel.change, castings="9", state="spoiled", note="dropped")
    press(panel.save)
    panel._choose("26-024")
    fill(panel.change, more="5")
    press(panel.save)
    for _ in range(3):
        press(panel.undo)
    assert log(data) == before and panel.undo.disabled
    assert "slip is out of the log again" in panel.said.value


def test_castings_that_were_counted_are_taken_off_and_those_of_another_writer_stay(panel: MoldLog, data: Path) -> None:
    start = in_file(data, "26-024").castings
    panel._choose("26-024")
    fill(panel.change, more="5")
    press(panel.save)
    change_record(data, "26-024", {}, more=2)
    press(panel.undo)
    assert in_file(data, "26-024").castings == start + 2


def test_what_another_writer_changed_since_is_not_taken_back(panel: MoldLog, data: Path) -> None:
    fill(panel, mold="slip", rubber="latex", casting="plaster")
    press(panel.add)
    change_record(data, "slip", {"castings": 4})
    press(panel.undo)
    assert "says &#x27;4&#x27; by now" in panel.said.value and in_file(data, "slip").castings == 4


# ------------------------------------------------------------------------------------------------- other writers


def test_what_another_writer_added_is_shown_at_the_next_look_and_nothing_written_in_the_form_is_lost(
    panel: MoldLog, data: Path
) -> None:
    fill(panel, rubber="latex", note="half a sentence")
    panel._choose("26-024")
    fill(panel.change, note="half another")
    change_record(data, "26-024", {"castings": 77, "date": TODAY})
    add_record(data, {"mold": "theirs", "rubber": "latex", "casting": "plaster"})
    panel.watch._receive(panel.watch, {"kind": "return"}, [])
    assert shown(panel)[:2] == ["theirs", "26-024"]
    assert (panel.new.fields["rubber"].value, panel.new.fields["note"].value) == ("latex", "half a sentence")
    assert (panel.change.fields["castings"].value, panel.change.fields["note"].value) == ("77", "half another")


def test_two_panels_that_count_at_once_lose_no_casting(panel: MoldLog, data: Path) -> None:
    other, start = MoldLog(data), in_file(data, "26-024").castings
    for each, more in ((panel, "3"), (other, "4")):
        each._choose("26-024")
        fill(each.change, more=more)
    for each in (panel, other):
        press(each.save)
    assert in_file(data, "26-024").castings == start + 7


def test_a_number_that_another_writer_changed_meanwhile_is_not_written_over_unseen(panel: MoldLog, data: Path) -> None:
    panel._choose("26-024")
    fill(panel.change, castings="30")
    change_record(data, "26-024", {"castings": 25})
    press(panel.save)
    assert "column &#x27;castings&#x27;: says &#x27;25&#x27; by now, not &#x27;18&#x27;" in panel.said.value
    assert in_file(data, "26-024").castings == 25
    press(panel.save)  # it has been seen by now, and what was written still stands in the form
    assert in_file(data, "26-024").castings == 30


def test_a_name_that_another_writer_took_meanwhile_is_refused(panel: MoldLog, data: Path) -> None:
    fill(panel, mold="mine", rubber="latex", casting="plaster")
    add_record(data, {"mold": "Mine", "rubber": "latex", "casting": "concrete"})
    press(panel.add)
    assert "stands in the log already" in panel.said.value and panel.new.fields["mold"].value == "mine"
    assert in_file(data, "Mine").casting == "concrete"


def test_a_mold_that_another_writer_took_out_is_no_longer_chosen(panel: MoldLog, data: Path) -> None:
    panel._choose("26-024")
    kept = [line for line in log(data).splitlines(keepends=True) if not line.startswith(b"26-024,")]
    (data / "mold_log.csv").write_bytes(b"".join(kept))
    fill(panel.change, more="3")
    press(panel.save)
    assert "is not in the log" in panel.said.value and panel.record is None and panel.save.disabled


def test_a_row_that_a_spreadsheet_broke_is_named_and_the_others_go_on(panel: MoldLog, data: Path) -> None:
    good = log(data)
    (data / "mold_log.csv").write_bytes(good.replace(b",16,worn out,", b",sixteen,worn out,", 1))
    panel.look_again()
    assert panel.band.problem.startswith("mold_log.csv, row 2, column 'castings': 'sixteen' is not a whole number")
    assert "24-001" not in shown(panel) and len(panel.table.rows) == 69
    fill(panel, mold="new", rubber="latex", casting="plaster")
    press(panel.add)
    assert shown(panel)[0] == "new" and b",sixteen,worn out," in log(data)
    (data / "mold_log.csv").write_bytes(log(data).replace(b",sixteen,", b",16,", 1))
    panel.look_again()
    assert panel.band.problem == "" and len(panel.table.rows) == 71


def test_of_many_broken_rows_three_are_named_and_the_rest_counted(panel: MoldLog, data: Path) -> None:
    (data / "mold_log.csv").write_bytes(log(data).replace(b",worn out,", b",wornout,"))
    panel.look_again()
    assert panel.band.problem.count("mold_log.csv, row") == 3 and "30 more rows have faults." in panel.band.problem


def test_a_file_that_is_no_log_any_more_leaves_what_was_read_last_greyed(panel: MoldLog, data: Path) -> None:
    good = log(data)
    (data / "mold_log.csv").write_bytes(good.replace(b"castings,state", b"pours,state", 1))
    panel.look_again()
    assert "column 'castings' is missing" in panel.band.problem
    assert panel.table.dimmed and len(panel.table.rows) == 70
    fill(panel, mold="new", rubber="latex", casting="plaster")
    press(panel.add)
    assert "is missing" in panel.said.value and panel.new.fields["mold"].value == "new"
    (data / "mold_log.csv").write_bytes(good)
    panel.look_again()
    assert panel.band.problem == "" and not panel.table.dimmed


# ------------------------------------------------------------------------------------------------- not for writing


def test_the_copy_in_the_package_is_shown_and_says_how_to_get_an_own_one(data: Path, tmp_path: Path) -> None:
    inside = tmp_path / "site-packages" / "moldkit" / "_data"
    shutil.copytree(data, inside)
    panel = MoldLog(inside)
    assert "lies inside the installed package" in panel.band.problem and "`moldkit data copy DIR`" in panel.band.problem
    assert len(panel.table.rows) == 70
    assert panel.add.disabled and panel.save.disabled and panel.undo.disabled
    fill(panel, rubber="latex", casting="plaster")
    panel._act(panel._add)
    assert "moldkit data copy" in panel.said.value and log(inside) == log(data)


def test_a_folder_that_is_not_for_writing_says_so(data: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "access", lambda path, mode: Path(path) != data.resolve())
    panel = MoldLog(data)
    assert "lies in a folder that is not for writing; make a data folder of your own" in panel.band.problem
    assert panel.add.disabled


def test_a_folder_that_holds_no_data_is_refused_at_once(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="give a moldkit data folder"):
        MoldLog(tmp_path)


# ------------------------------------------------------------------------------------------------- what is learned


def test_the_life_is_learned_again_on_a_press(panel: MoldLog, data: Path) -> None:
    sure = HowSureAreWe("figure", data, log=panel)
    sure.draws.value = 500
    sure.switch.value = "Mold life"
    said, figure = sure.chart.label, sure.chart.figure
    fill(panel, rubber="platinum silicone, slow", casting="rigid urethane resin", castings="200", state="worn out")
    press(panel.add)
    assert sure.chart.figure != figure and sure.chart.label != said
    assert sure.chart.label == life_words(logged_life(sure.bench.result))
    press(panel.undo)
    assert (sure.chart.label, sure.chart.figure) == (said, figure)


def test_a_verdict_from_the_log_follows_a_press_and_says_when_a_row_is_broken(panel: MoldLog, data: Path) -> None:
    sure = HowSureAreWe("figure", data, log=panel)
    sure.draws.value = 500
    sure.from_log.value = True
    assert sure.case.life == FROM_LOG
    version, chance = sure.bench.version, list(sure.sure.spread.decision.chance)
    fill(panel, rubber="platinum silicone", casting="rigid urethane resin", castings="2", state="worn out")
    press(panel.add)
    assert sure.bench.version == version + 1 and list(sure.sure.spread.decision.chance) != chance
    good = log(data)
    (data / "mold_log.csv").write_bytes(good.replace(b",16,worn out,", b",sixteen,worn out,", 1))
    panel.look_again()
    assert "sixteen" in sure.band.problem and sure.chart.dimmed
    (data / "mold_log.csv").write_bytes(good)
    panel.look_again()
    assert sure.band.problem == "" and not sure.chart.dimmed


def test_a_row_of_the_table_says_what_the_log_says(data: Path) -> None:
    record = in_file(data, "26-022")
    (row,) = mold_rows([record], "26-022")
    assert [row["heading"], *(cell["text"] for cell in row["cells"])] == [
        "26-022", record.rubber, "9", "worn out", "2026-10-15", "pressure, severe undercut, no release",
    ]  # fmt: skip
    assert (row["cells"][0]["note"], row["cells"][-1]["note"]) == (record.casting, record.note)
    assert row["chosen"] and log_words(data).rubbers[record.rubber] == record.rubber_family
