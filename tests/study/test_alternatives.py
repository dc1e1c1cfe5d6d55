"""Alternatives in one job file: read and checked like the job, kept with all else left alone, compared."""

from __future__ import annotations

import datetime
import itertools
import json
import shutil
import threading
import tomllib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from moldkit.cli import main
from moldkit.errors import InputError
from moldkit.study import job_entries
from moldkit.study.alternatives import named
from moldkit.study.case import Case
from moldkit.study.compare import compare
from moldkit.study.job_entries import drop_alternative, keep_note, save_alternative
from moldkit.study.job_file import load_job, save_job
from moldkit.study.knowledge import Knowledge
from moldkit.study.meeting_notes import MeetingNote
from moldkit.study.price_changes import change_list, differing, reckoned
from moldkit.study.quote import quote
from moldkit.views.change_words import client_lines, moved_words, shop_lines, total_line
from tests.views.client_leaks import (
    MARKED_QUOTE,
    MARKED_RUBBER_PRICE,
    MARKED_SHOP,
    found_in,
    marked,
    secrets,
    words_in,
)

DATA = Path(__file__).resolve().parents[2] / "data"
JOB = """\
# Kept as it is.
schema = 1

[job]
name = "Bust"                    # a name

[pattern]
form = "bust"
size = ["14 cm", "11 cm", "20 cm"]

[casting]
material = "rigid urethane resin"
method = "open pour"
wall = "6 mm"
run = 40                         # as asked

[quote]
markup = 35

# The first one.
[[alternative]]
name = "a hundred"
note = "for the season"
casting = { run = 100 }

[[alternative]]
name = "small and hollow"
[alternative.pattern]
longest = "12 cm"                # half of it
[alternative.casting]
method = "hand rotation"
"""
BUST = Case(form="bust", size=(0.144, 0.11, 0.2), run=40, name="Bust")
START = datetime.date(2026, 12, 1)
NOON = datetime.datetime(2026, 11, 25, 12, 0, 0)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    made = tmp_path / "bust.toml"
    made.write_text(JOB, encoding="utf-8")
    return made


def with_text(path: Path, text: str) -> Path:
    path.write_text(text, encoding="utf-8")
    return path


# ---- reading -----------------------------------------------------------------------------------------


def test_an_alternative_is_the_job_with_its_own_keys_laid_over_it(path: Path) -> None:
    job = load_job(path)
    first, second = job.alternatives
    assert (first.name, first.note) == ("a hundred", "for the season")
    assert first.case == replace(job.case, run=100)
    assert second.case == replace(job.case, longest=0.12, method="hand rotation")
    assert named(job.alternatives, " A  HUNDRED", "--alternative") is first


def test_a_job_without_alternatives_has_none(path: Path) -> None:
    assert load_job(with_text(path, JOB.partition("# The first one.")[0])).alternatives == ()


def test_what_is_said_in_another_way_takes_the_place_of_the_jobs_own(path: Path) -> None:
    more = '[[alternative]]\nname = "from a mesh"\npattern = { mesh = "patterns/knob.stl", unit = "mm" }\n'
    more += '[[alternative]]\nname = "margin"\nquote = { margin_on_price = 25 }\n'
    *_, mesh, margin = load_job(with_text(path, f"{JOB}\n{more}")).alternatives
    assert (mesh.case.mesh, mesh.case.form, mesh.case.size) == ("patterns/knob.stl", None, None)
    assert margin.case.quote == {"margin_on_price": 25}


def test_a_key_of_the_job_may_be_left_out(path: Path) -> None:
    more = '\n[[alternative]]\nname = "usual wall"\nwithout = ["casting.wall", "quote.markup"]\n'
    alternative = load_job(with_text(path, JOB + more)).alternatives[-1]
    assert alternative.case.wall is None and alternative.case.quote == {}


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ("casting = { runs = 3 }", ["bust.toml [[alternative]] 'x' [casting]: unknown key 'runs'", "mean 'run'?"]),
        ("castings = { run = 3 }", ["[[alternative]] 'x': unknown section 'castings'", "did you mean 'casting'?"]),
        ("casting = 3", ["[[alternative]] 'x': 'casting' must be a section [alternative.casting], not a value."]),
        ("casting = { run = 0 }", ["[[alternative]] 'x' [casting] run: 0 is out of bounds"]),
        ("job = { name = 'other' }", ["unknown section 'job'"]),
        ("quote = { markups = 3 }", ["'x' [quote]: unknown key 'markups'", "did you mean 'markup'?"]),
        ("quote = { price_breaks = [1.5] }", ["[[alternative]] 'x' [quote] price_breaks: 1.5 is not a whole number"]),
        ("quote = { rounding = 0.035 }", ["[[alternative]] 'x' [quote] rounding: 0.035 is no step of whole cents"]),
        ("shop = { alternative = [1] }", ["'x' [shop]: 'alternative' is no key of a section; head each one with [["]),
        ("without = ['casting.walls']", ["without: unknown key of the job 'casting.walls'", "mean 'casting.wall'?"]),
        ("without = 'casting.wall'", ["without: 'casting.wall' is no list of keys"]),
        ("note = 3", ["note: 3 is not text"]),
    ],
)
def test_a_fault_names_the_alternative_the_key_and_the_mend(path: Path, given: str, words: list[str]) -> None:
    with pytest.raises(InputError) as fault:
        load_job(with_text(path, f"{JOB}\n[[alternative]]\nname = 'x'\n{given}\n"))
    assert all(word in str(fault.value) for word in words), str(fault.value)


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ("[[alternative]]\nnote = 'a'\n", "[[alternative]] 3: has no name"),
        ("[[alternative]]\nname = 'A HUNDRED'\n", "[[alternative]] 3: the name 'A HUNDRED' stands twice"),
        ("[[alternative]]\nname = '" + 301 * "x" + "'\n", "has 301 letters; shorten it to 300"),
        ("[[meeting]]\nnote = 'a'\n", "[[meeting]] 1 at: None is no time"),
        ("[[meeting]]\nat = 2026-11-25\nnotes = 'a'\n", "unknown key 'notes'; did you mean 'note'?"),
    ],
)
def test_lists_beside_the_job_are_checked_when_it_is_loaded(path: Path, more: str, words: str) -> None:
    with pytest.raises(InputError) as fault:
        load_job(with_text(path, f"{JOB}\n{more}"))
    assert words in str(fault.value)


# ---- keeping -----------------------------------------------------------------------------------------


def test_keeping_replacing_and_dropping_leave_every_other_line_alone(path: Path) -> None:
    job = load_job(path)
    job = save_alternative(job, "in wax", replace(job.case, material="casting wax", wall=None, run=12))
    job = save_alternative(job, "a hundred", replace(job.case, run=120), "later")
    text = path.read_text("utf-8")
    for line in ("# Kept as it is.", 'name = "Bust"                    # a name', "# The first one.", "# half of it"):
        assert line in text
    assert [each.name for each in job.alternatives] == ["a hundred", "small and hollow", "in wax"]
    assert [each.case.run for each in job.alternatives] == [120, 40, 12]
    assert job.alternatives[0].note == "later" and job.alternatives[2].without == ("casting.wall",)
    job = drop_alternative(drop_alternative(job, "In  Wax"), "in wax")
    assert [each.name for each in job.alternatives] == ["a hundred", "small and hollow"]
    assert load_job(path) == job


def test_an_alternative_keeps_its_note_unless_another_is_given(path: Path) -> None:
    job = load_job(path)
    for told, kept in ((None, "for the season"), ("later", "later"), (None, "later"), ("", "")):
        job = save_alternative(job, "a hundred", replace(job.case, run=120), told)
        assert (job.alternatives[0].note, job.alternatives[0].case.run) == (kept, 120)


@pytest.mark.parametrize(
    "text",
    [
        JOB, JOB.rstrip(), JOB.partition("# The first one.")[0], JOB.partition("\n# The first one.")[0],
        f'{JOB}\n[[meeting]]\nat = 2026-11-24\nnote = "before"\n',
    ],
)  # fmt: skip
def test_every_alternative_and_note_stands_apart_by_one_blank_line(path: Path, text: str) -> None:
    job = load_job(with_text(path, text))
    for name in ("in wax", "in plaster"):
        job = save_alternative(job, name, replace(job.case, run=12))
    keep_note(path, MeetingNote(NOON, "agreed"))
    lines = path.read_text("utf-8").split("\n")
    heads = [n for n, line in enumerate(lines) if line.startswith("[[") and not lines[n - 1].startswith("#")]
    assert len(heads) >= 3
    assert all(lines[n - 1] == "" and lines[n - 2] != "" for n in heads), path.read_text("utf-8")


def test_saving_the_job_itself_keeps_its_alternatives_and_notes(path: Path) -> None:
    keep_note(path, MeetingNote(NOON, "agreed"))
    job = load_job(path)
    saved = save_job(replace(job.case, run=50), path, job)
    assert [each.case.run for each in saved.alternatives] == [100, 50]
    assert saved.notes == (MeetingNote(NOON, "agreed"),)


def test_a_job_is_not_saved_where_an_alternative_would_no_longer_hold(path: Path) -> None:
    with_text(path, JOB + '\n[[alternative]]\nname = "thin"\nwithout = ["casting.wall"]\n')
    job = load_job(path)
    before = path.read_bytes()
    with pytest.raises(InputError, match=r"without: unknown key of the job 'casting.wall'"):
        save_job(replace(job.case, wall=None), path, job)
    assert path.read_bytes() == before


def test_what_somebody_else_wrote_meanwhile_stays(path: Path) -> None:
    mine = load_job(path)
    save_alternative(load_job(path), "theirs", replace(mine.case, run=7))
    keep_note(path, MeetingNote(NOON, "their note"))
    made = save_alternative(mine, "mine", replace(mine.case, run=8))
    assert [each.case.run for each in made.alternatives] == [100, 40, 7, 8]
    assert made.notes == (MeetingNote(NOON, "their note"),)
    with pytest.raises(InputError, match="another 'theirs' was saved meanwhile; choose another name"):
        save_alternative(mine, "theirs", replace(mine.case, run=9))


def test_a_note_is_replaced_as_it_grows_and_never_takes_the_place_of_another(path: Path) -> None:
    _, first = keep_note(path, MeetingNote(NOON, "forty"))
    _, grown = keep_note(path, MeetingNote(first.at, "forty, or a hundred"), first.text)
    assert grown.at == first.at
    job, other = keep_note(path, MeetingNote(NOON, "written elsewhere"))
    assert other.at == NOON + datetime.timedelta(seconds=1)
    assert [note.text for note in job.notes] == ["forty, or a hundred", "written elsewhere"]
    job, _ = keep_note(path, MeetingNote(other.at, " "), other.text)
    assert [note.text for note in job.notes] == ["forty, or a hundred"]


def test_of_notes_and_alternatives_written_at_once_none_is_lost(path: Path) -> None:
    faults: list[Exception] = []

    def write(number: int) -> None:
        try:
            keep_note(path, MeetingNote(NOON, f"note {number}"))
            save_alternative(load_job(path), f"alternative {number}", replace(load_job(path).case, run=number))
        except InputError as fault:
            faults.append(fault)

    threads = [threading.Thread(target=write, args=(number,)) for number in range(1, 9)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    job = load_job(path)
    assert faults == []
    assert {note.text for note in job.notes} == {f"note {n}" for n in range(1, 9)}
    assert len({note.at for note in job.notes}) == 8
    assert {each.case.run for each in job.alternatives[2:]} == set(range(1, 9))


@pytest.mark.parametrize("trouble", ["a full disk", "a spoiled file"])
def test_where_it_cannot_be_written_the_file_stays_whole(
    path: Path, trouble: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: object) -> None:
        raise InputError("cannot be written")

    if trouble == "a full disk":
        monkeypatch.setattr(job_entries, "write_atomic", fails)
    else:
        path.write_text(f"{JOB}\n[casting]\n", encoding="utf-8")
    before = path.read_bytes()
    with pytest.raises(InputError):
        keep_note(path, MeetingNote(NOON, "agreed"))
    assert path.read_bytes() == before
    assert sorted(each.name for each in path.parent.iterdir()) == ["bust.toml"]


NASTY = [
    '"quotes" and \'more\' and """three"""', "<b>bold</b><script>alert(1)</script>", "=1+1", "שלום עולם",
    "🦆 emoji", 300 * "x", "line\nbreak\ttab", "back\\slash \\u0041", "]]\n[shop]\nlabor_rate = 1", "#", "\u202eturned",
]  # fmt: skip


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(text=st.one_of(st.sampled_from(NASTY), st.text(min_size=1, max_size=80)))
def test_whatever_is_written_in_a_name_or_a_note_stays_what_it_is(path: Path, text: str) -> None:
    path.write_text(JOB, encoding="utf-8")
    job, kept = keep_note(path, MeetingNote(NOON, text))
    told = text.replace("\r\n", "\n").replace("\r", "\n").strip()
    assert kept.text == told and [note.text for note in job.notes] == ([told] if told else [])
    if text.split():
        job = save_alternative(job, text, replace(job.case, run=7), text)
        assert (job.alternatives[-1].name, job.alternatives[-1].note) == (" ".join(text.split()), told)
    assert job.case == load_job(path).case and [each.case.run for each in job.alternatives[:2]] == [100, 40]
    assert set(tomllib.loads(path.read_text("utf-8"))) <= {
        "schema", "job", "pattern", "casting", "quote", "alternative", "meeting"
    }  # fmt: skip


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(
    run=st.integers(1, 5000),
    longest=st.one_of(st.none(), st.integers(20, 900)),
    wall=st.one_of(st.none(), st.integers(2, 20)),
    life=st.one_of(st.none(), st.just(30), st.just((10.0, 20.0, 60.0)), st.just("log")),
    due=st.one_of(st.none(), st.dates(datetime.date(2027, 1, 1), datetime.date(2028, 1, 1))),
    shop=st.sampled_from([{}, {"labor_rate": 55}, {"labor_rate": {"low": 30, "likely": 40, "high": 60}}]),
    finish=st.sampled_from([{}, {"finish": "waxed", "finish_time": 7.5, "finish_cost": 0.3}]),
)
def test_every_case_that_a_panel_makes_comes_back_from_the_file_as_it_was(
    path: Path, run: int, longest: int | None, wall: int | None, life: object, due: object, shop: object, finish: object
) -> None:
    path.write_text(JOB, encoding="utf-8")
    job = load_job(path)
    case = replace(
        job.case, run=run, longest=None if longest is None else longest / 1000, life=life, due=due, shop=shop,
        wall=None if wall is None else wall / 1000, quote=finish,
    )  # type: ignore[arg-type]  # fmt: skip
    found = save_alternative(job, "made", case).alternatives[-1].case
    # A length goes through a unit and back.
    for one, other in ((found.longest, case.longest), (found.wall, case.wall)):
        assert (one is None) == (other is None) and (one or 0) == pytest.approx(other or 0, rel=1e-12)
    assert replace(found, longest=case.longest, wall=case.wall) == case


# ---- from one to another ------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def reckon(knowledge: Knowledge) -> Callable[[Case], int]:
    return lambda case: reckoned(compare(case, knowledge), START).each


def test_the_example_of_a_longer_run_reads_as_one_says_it() -> None:
    assert moved_words("price each", 3100, 2200) == "price each falls from 31.00 to 22.00"
    assert moved_words("price each", 2200, 3100) == "price each rises from 22.00 to 31.00"
    assert moved_words("price each", 2200, 2200) == "price each stays at 22.00"


CHOICES = {
    "run": [40, 100, 7],
    "longest": [0.2, 0.12],
    "material": ["rigid urethane resin", "gypsum plaster", "casting wax"],
    "method": ["open pour", "hand rotation"],
    "molds": [1, 3],
    "rubber": ["platinum silicone", "tin-cured silicone"],
    "quote": [{}, {"finish": "waxed", "finish_time": 9}, {"margin_on_price": 30}],
    "shop": [{}, {"labor_rate": 55}],
}


@settings(max_examples=40, deadline=None)
@given(pair=st.tuples(*[st.fixed_dictionaries({k: st.sampled_from(v) for k, v in CHOICES.items()})] * 2))
def test_the_steps_add_up_to_the_cent_and_each_begins_where_the_last_ended(
    knowledge: Knowledge, pair: tuple[dict[str, object], dict[str, object]]
) -> None:
    """Outside the list: both ends reckoned by themselves; a sum of differences between them telescopes."""
    before, after = (replace(BUST, **changes) for changes in pair)  # type: ignore[arg-type]
    found = change_list(before, after, knowledge, start=START)
    ends = [quote(compare(case, knowledge), start=START).asked for case in (before, after)]
    assert found.before.each + sum(step.each for step in found.changes) == ends[1].charge.each
    assert found.before.together + sum(step.together for step in found.changes) == ends[1].charge.total
    assert found.before.cost + sum(step.cost for step in found.changes) == round(100 * ends[1].cost)
    assert all(one.after == other.before for one, other in itertools.pairwise(found.changes))
    assert {key for step in found.changes for key in step.keys} == {
        key for group in differing(before, after) for key in group
    }
    assert (found.changes == ()) == (before == after)


def test_each_step_is_what_a_direct_call_gives(knowledge: Knowledge, reckon: Callable[[Case], int]) -> None:
    after = replace(BUST, run=100, longest=0.12, material="gypsum plaster")
    steps = change_list(BUST, after, knowledge, start=START).changes
    assert [step.keys for step in steps] == [("pattern.longest",), ("casting.material",), ("casting.run",)]
    smaller = replace(BUST, longest=0.12)
    plaster = replace(smaller, material="gypsum plaster")
    assert [step.after.each for step in steps] == [reckon(smaller), reckon(plaster), reckon(after)]


def test_keys_that_work_only_together_stand_in_one_step(knowledge: Knowledge) -> None:
    """Glass-polyester laminate is laid up and cannot be poured: neither change works alone."""
    after = replace(BUST, material="glass-polyester laminate", method="lay-up")
    (step,) = change_list(BUST, after, knowledge).changes
    assert step.keys == ("casting.material", "casting.method")


def test_nothing_differs_between_a_case_and_itself(knowledge: Knowledge) -> None:
    found = change_list(BUST, BUST, knowledge)
    assert found.changes == () and total_line(found, "USD") == "Nothing differs."


def test_where_one_of_the_two_cannot_be_made_a_sentence_says_so(knowledge: Knowledge) -> None:
    with pytest.raises(InputError, match="nothing works as asked"):
        change_list(BUST, replace(BUST, material="soft silicone", rubber="platinum silicone", release=False), knowledge)


def test_a_clients_list_names_what_they_chose_and_nothing_of_the_shops(knowledge: Knowledge) -> None:
    before = replace(BUST, shop=MARKED_SHOP, quote=MARKED_QUOTE, rubber_price=MARKED_RUBBER_PRICE)
    after = replace(
        BUST, run=100, longest=0.12, molds=2, method="hand rotation", rubber="tin-cured silicone",
        shop={"labor_rate": 55.55}, quote={"finish": "waxed", "markup": 28.91},
    )  # fmt: skip
    found = change_list(before, after, knowledge, start=START)
    told = "\n".join([*client_lines(found, "USD"), total_line(found, "USD")])
    for words in ("run 40 to 100", "size 200 mm to 120 mm", "cast solid to hollow", "the date", "other changes"):
        assert words in told, told
    result = compare(before, knowledge)
    shop_figures = secrets(quote(result)) | marked() | {"their rate": 55.55, "their markup": 28.91}
    assert found_in(told, shop_figures, 4) == []
    assert words_in(told, [outcome.name for outcome in result.outcomes]) == []
    shop = "\n".join(shop_lines(found, "USD"))
    assert "cost each" in shop and "labor rate 41.37 to 55.55" in shop and "rubber platinum silicone to" in shop


def test_the_clients_lines_add_up_too(knowledge: Knowledge) -> None:
    """Read off the sentences: each price a line ends with is the one that the next begins with."""
    after = replace(BUST, run=100, longest=0.12, rubber="tin-cured silicone", shop={"labor_rate": 55})
    lines = client_lines(change_list(BUST, after, knowledge), "USD", brief=True)
    prices = [
        tuple(float(word) for word in line.split(" from ")[1].removesuffix(" USD.").split(" to ")) for line in lines
    ]
    assert all(one[1] == other[0] for one, other in itertools.pairwise(prices))
    assert prices[-1][1] == quote(compare(after, knowledge)).asked.charge.each / 100


# ---- on the command line ------------------------------------------------------------------------------


@pytest.fixture
def captain(tmp_path: Path) -> Path:
    return Path(shutil.copy(DATA / "jobs" / "captain.toml", tmp_path))


def test_the_command_line_compares_an_alternative_as_it_would_a_job(
    captain: Path, capsys: pytest.CaptureFixture[str], knowledge: Knowledge
) -> None:
    words = ["compare", str(captain), "--data", str(DATA), "--json"]
    assert main([*words, "--alternative", "bronze look"]) == 0
    told = json.loads(capsys.readouterr().out)
    job = load_job(captain)
    direct = compare(named(job.alternatives, "Bronze look", "").case, knowledge)
    assert told["run"] == 40 and told["cheapest"] == direct.cheapest.name  # type: ignore[union-attr]
    totals = [direct.total(outcome).value for outcome in direct.outcomes]  # type: ignore[union-attr]
    assert [each["cost_total"] for each in told["techniques"]] == pytest.approx(totals)


def test_the_command_line_lists_alternatives_and_what_they_change(
    captain: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["compare", str(captain), "--data", str(DATA)]
    assert main([*words, "--alternatives"]) == 0
    text = capsys.readouterr().out
    assert "the job itself" in text and "  run 40 to 100: cost each falls from" in text
    assert main([*words, "--alternatives", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    for each in told["alternatives"]:
        steps = sum(step["price_each_cents"] for step in each["changes"])
        assert told["job"]["price_each_cents"] + steps == each["price_each_cents"]
    assert main([*words, "--against", "Bronze look", "--alternative", "A hundred for the season"]) == 0
    assert "From Bronze look to A hundred for the season:" in capsys.readouterr().out


def test_a_wrong_name_is_told_with_the_nearest(captain: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", str(captain), "--data", str(DATA), "--alternative", "Bronz look"]) == 2
    assert "unknown alternative 'Bronz look'; did you mean 'Bronze look'?" in capsys.readouterr().err


def test_a_job_without_any_says_how_to_add_one(capsys: pytest.CaptureFixture[str]) -> None:
    job = str(DATA / "jobs" / "finial.toml")
    assert main(["compare", job, "--data", str(DATA), "--alternative", "x"]) == 2
    assert "the job has no alternatives; add one under [[alternative]]" in capsys.readouterr().err
