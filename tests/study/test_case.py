"""Job files: what is read, and every fault in one sentence that names file, key, value and mend."""

from __future__ import annotations

from pathlib import Path

import pytest

from moldkit.cli import main
from moldkit.errors import InputError
from moldkit.study.case import Case, case_from, read_job

DATA = Path(__file__).resolve().parents[2] / "data"
SP = "\u202f"

JOB = """
schema = 1

[job]
name = "Ball"

[pattern]
form = "ball"
size = ["20 cm", "20 cm", "30 cm"]
surface = "sealed plaster"

[casting]
material = "rigid urethane resin"
method = "open pour"
yield = 0.95
run = 40

[mold]
rubber = "platinum silicone"
skin = "10 mm"
life = 40

[shop]
labor_rate = 40
"""

# (name of the fault, text in JOB, what stands in its place, what the sentence says after the file's name)
FAULTS = [
    # sections and keys
    (
        "section",
        "[mold]",
        "[mould]",
        ["unknown section '[mould]'", "did you mean '[mold]'?", "Known: [[alternative]], "],
    ),
    ("key", "run = 40", "runs = 40", ["[casting]: unknown key 'runs'", "did you mean 'run'?"]),
    ("key of the pattern", "surface =", "surfase =", ["[pattern]: unknown key 'surfase'", "did you mean 'surface'?"]),
    (
        "key of the shop",
        "labor_rate",
        "labour_rate",
        ["[shop]: unknown key 'labour_rate'", "did you mean 'labor_rate'"],
    ),
    ("value for a section", "schema = 1", 'schema = 1\nmold = "block"', ["not a TOML file"]),
    ("schema", "schema = 1", "schema = 2", ["schema 2 is not one that this moldkit reads; it reads schema 1."]),
    ("schema is true", "schema = 1", "schema = true", ["schema True"]),
    # the pattern
    ("neither mesh nor form", 'form = "ball"', "", ["[pattern]: names neither a mesh nor a form; give one of them."]),
    ("both", 'form = "ball"', 'form = "ball"\nmesh = "a.stl"\nunit = "mm"', ["names both a mesh and a form; give one"]),
    ("mesh without unit", 'form = "ball"', 'mesh = "a.stl"', ["[pattern] unit: missing", 'unit = "mm"']),
    ("mesh in furlongs", 'form = "ball"', 'mesh = "a.stl"\nunit = "furlong"', ["[pattern] unit: unknown", "'furlong'"]),
    (
        "form without size",
        'size = ["20 cm", "20 cm", "30 cm"]',
        "",
        ["[pattern] size: missing; give width, depth and height, for instance"],
    ),
    ("form", 'form = "ball"', 'form = "bal"', ["[pattern] form: unknown form 'bal'; did you mean 'ball'?", "bust"]),
    (
        "form is empty",
        'form = "ball"',
        'form = ""',
        ["[pattern] form: is empty; write something or leave the key out."],
    ),
    ("form is a number", 'form = "ball"', "form = 3", ["[pattern] form: 3 is not text; put it in quotation marks."]),
    # sizes
    ("size without unit", '"30 cm"]', '"30"]', ["[pattern] size: '30' has no unit; write for instance '30 mm'."]),
    ("size is a number", '"30 cm"]', "30]", ["[pattern] size: 30 has no unit", "'30 mm'"]),
    ("negative size", '"30 cm"]', '"-30 cm"]', ["[pattern] size: '-30 cm' is not above zero; give a length."]),
    ("no size", '"30 cm"]', '"0 mm"]', ["[pattern] size: '0 mm' is not above zero; give a length."]),
    ("size of 40 m", '"30 cm"]', '"40 m"]', ["[pattern] size: the longest of", "'40 m'", "is outside 5 mm to 5 m"]),
    (
        "size of 3 mm",
        '["20 cm", "20 cm", "30 cm"]',
        '["3 mm", "2 mm", "1 mm"]',
        ["[pattern] size", "outside 5 mm to 5 m"],
    ),
    ("size with a comma", '"30 cm"]', '"1,5 mm"]', ["[pattern] size: '1,5 mm' has a comma", "decimal point (1.5 mm)"]),
    ("size in kg", '"30 cm"]', '"30 kg"]', ["[pattern] size: 'kg' is not a unit of length; use one of mm, cm, m"]),
    ("two sides", '"20 cm", "30 cm"]', '"30 cm"]', ["[pattern] size:", "is not three lengths; write for instance ["]),
    ("one side", '["20 cm", "20 cm", "30 cm"]', '"20 cm"', ["[pattern] size: '20 cm' is not three lengths"]),
    ("longest of 40 m", "size =", 'longest = "40 m"\nsize =', ["[pattern] longest: 40 m is outside 5 mm to 5 m"]),
    ("longest of 1 mm", "size =", 'longest = "1 mm"\nsize =', ["[pattern] longest: 1 mm is outside 5 mm to 5 m"]),
    ("skin", 'skin = "10 mm"', "skin = 10", ["[mold] skin: 10 has no unit", "'10 mm'"]),
    ("negative skin", 'skin = "10 mm"', 'skin = "-1 mm"', ["[mold] skin: '-1 mm' is not above zero; give a length."]),
    ("infinite skin", 'skin = "10 mm"', 'skin = "inf mm"', ["[mold] skin: 'inf mm' is not a number with a unit"]),
    # flags and words
    ("flag", 'form = "ball"', 'form = "ball"\nfragile = "yes"', ["[pattern] fragile: 'yes' is neither true nor false"]),
    ("flag is 1", 'form = "ball"', 'form = "ball"\nfragile = 1', ["[pattern] fragile: 1 is neither true nor false"]),
    ("undercut", 'form = "ball"', 'form = "ball"\nundercut = "sever"', ["undercut: unknown word 'sever'", "'severe'"]),
    ("pours", "life = 40", 'life = 40\npours = "three"', ["[mold] pours: unknown word 'three'", "one and cut, two"]),
    # the run
    ("run 0", "run = 40", "run = 0", [f"[casting] run: 0 is out of bounds; give one from 1 to 100{SP}000."]),
    ("run of 10 million", "run = 40", "run = 10_000_000", ["[casting] run: 10000000 is out of bounds"]),
    ("run 2.5", "run = 40", "run = 2.5", ["[casting] run: 2.5 is not a whole number; give one from 1 to"]),
    ("run true", "run = 40", "run = true", ["[casting] run: expected a number, not True."]),
    ("run in words", "run = 40", 'run = "forty"', ["[casting] run: 'forty' is not a number."]),
    ("run nan", "run = 40", "run = nan", ["[casting] run: nan is not a finite number."]),
    ("run with 400 digits", "run = 40", f"run = 1{'0' * 400}", ["[casting] run: a number of so many digits"]),
    # the yield
    ("yield 0", "yield = 0.95", "yield = 0", ["[casting] yield: 0 is not a share of 0.01 to 1 (95 % is 0.95)."]),
    ("yield 95", "yield = 0.95", "yield = 95", ["[casting] yield: 95 is not a share of 0.01 to 1"]),
    ("yield 95 %", "yield = 0.95", 'yield = "95 %"', ["[casting] yield: '95 %' is not a number."]),
    # the life
    ("life 0", "life = 40", "life = 0", [f"[mold] life: 0 is outside 1 to 100{SP}000 pours."]),
    ("life 2.5", "life = 40", "life = 2.5", ["[mold] life: 2.5 is not a whole number of pours; round it."]),
    ("life in words", "life = 40", 'life = "long"', ["[mold] life: 'long' is neither a number of pours"]),
    (
        "life of two",
        "life = 40",
        "life = {low = 2, high = 4}",
        ["[mold] life: write {low = 20, likely = 40, high = 60}."],
    ),
    ("life of nothing", "life = 40", "life = {}", ["[mold] life: write {low = 20, likely = 40, high = 60}."]),
    (
        "life out of order",
        "life = 40",
        "life = {low = 9, likely = 4, high = 10}",
        ["[mold] life: low 9, likely 4, high 10 are out of order; sort them."],
    ),
    (
        "life with a foreign key",
        "life = 40",
        "life = {low = 2, likly = 4, high = 10}",
        ["[mold] life: unknown key 'likly'; did you mean 'likely'?"],
    ),
    ("life list", "life = 40", "life = [20, 40, 60]", ["[mold] life: '[20, 40, 60]' is not a number."]),
    # the file
    ("not TOML", "run = 40", "run = ", ["not a TOML file", "line"]),
    ("key twice", "run = 40", "run = 40\nrun = 41", ["not a TOML file", "line"]),
]

# Faults that only the tables show.
WORDS = [
    (
        "material",
        '"rigid urethane resin"',
        '"rigid urethane rezin"',
        ["[casting] material: unknown casting material 'rigid urethane rezin'; did you mean 'rigid urethane resin'?"],
    ),
    ("method", '"open pour"', '"open por"', ["[casting] method: unknown casting method", "did you mean 'open pour'?"]),
    ("surface", '"sealed plaster"', '"seeled plaster"', ["[pattern] surface: unknown surface", "'sealed plaster'?"]),
    ("rubber", '"platinum silicone"', '"platinum silikone"', ["[mold] rubber: unknown rubber", "'platinum silicone'?"]),
    ("shell", "life = 40", 'life = 40\nshell = "gypsum"', ["[mold] shell: unknown shell material 'gypsum'"]),
    ("skin over half", '"10 mm"', '"16 cm"', ["[mold] skin: 160 mm is more than half", "(300 mm)", "thinner skin"]),
    ("shop figure", "labor_rate = 40", "labor_rate = 0", ["[shop] labor_rate: 0 per h is outside 1 to 1000 per h"]),
    (
        "no mesh there",
        'form = "ball"\nsize = ["20 cm", "20 cm", "30 cm"]',
        'mesh = "no such.stl"\nunit = "mm"',
        ["[pattern] mesh: 'no such.stl' is neither in", "check the name"],
    ),
]


def with_fault(old: str, new: str) -> str:
    assert JOB.count(old) == 1, f"{old!r} must stand once in the job"
    return JOB.replace(old, new)


def job_file(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "ball.toml"
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize(("old", "new", "says"), [f[1:] for f in FAULTS], ids=[f[0] for f in FAULTS])
def test_a_fault_in_a_job_file_is_one_sentence_with_file_key_value_and_mend(
    tmp_path: Path, old: str, new: str, says: list[str], knowledge: object
) -> None:
    path = job_file(tmp_path, with_fault(old, new))
    with pytest.raises(InputError) as refused:
        case = read_job(path)
        # What the job says of the shop is checked when it is laid over the shop's own figures.
        from moldkit.study.assess import setting_of

        setting_of(case, knowledge)  # type: ignore[arg-type]
    sentence = str(refused.value)
    assert "\n" not in sentence
    assert sentence.startswith("ball.toml") or sentence.startswith("[shop]")
    for words in says:
        assert words in sentence


@pytest.mark.parametrize(
    ("old", "new", "says"), [f[1:] for f in [*FAULTS, *WORDS]], ids=[f[0] for f in [*FAULTS, *WORDS]]
)
def test_the_command_line_answers_a_fault_with_exit_2_and_one_line(
    tmp_path: Path, old: str, new: str, says: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    path = job_file(tmp_path, with_fault(old, new))
    code = main(["compare", str(path), "--json", "--data", str(DATA)])
    said = capsys.readouterr()
    assert code == 2
    assert said.out == ""
    assert said.err.count("\n") == 1
    assert said.err.startswith("moldkit: ball.toml")
    assert "Traceback" not in said.err
    for words in says:
        assert words in said.err


def test_a_missing_job_file_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "no such job.toml"
    assert main(["compare", str(path), "--data", str(DATA)]) == 2
    assert capsys.readouterr().err == f"moldkit: {str(path)!r}: there is no such file; check the name.\n"


def test_a_folder_in_place_of_a_job_file_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", str(tmp_path), "--data", str(DATA)]) == 2
    assert capsys.readouterr().err == f"moldkit: {str(tmp_path)!r}: is a folder, not a file; name a file in it.\n"


def test_a_job_file_that_is_not_utf_8_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "ball.toml"
    path.write_bytes(JOB.encode().replace(b"Ball", b"B\xe4ll"))
    assert main(["compare", str(path), "--data", str(DATA)]) == 2
    assert capsys.readouterr().err.startswith("moldkit: ball.toml: not UTF-8 text (byte ")


@pytest.mark.parametrize(("run", "says"), [("0", "out of bounds"), ("2.5", "whole number"), ("many", "not a number")])
def test_a_bad_run_on_the_command_line_is_named(
    tmp_path: Path, run: str, says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    path = job_file(tmp_path, JOB)
    assert main(["compare", str(path), "--run", run, "--data", str(DATA)]) == 2
    said = capsys.readouterr()
    assert said.err.startswith("moldkit: --run")
    assert says in said.err and repr(run) in said.err


# ------------------------------------------------------------------------------------------------- what is read rightly


def test_a_job_is_read_into_si_units(tmp_path: Path) -> None:
    case = read_job(job_file(tmp_path, JOB))
    assert case.size == pytest.approx((0.2, 0.2, 0.3))
    assert (case.name, case.form, case.run, case.good_share, case.life) == ("Ball", "ball", 40, 0.95, 40.0)
    assert case.skin == pytest.approx(0.010)
    assert case.shop == {"labor_rate": 40}
    assert case.folder == tmp_path


def test_what_a_job_does_not_say_takes_the_documented_default() -> None:
    case = case_from({"pattern": {"form": "dome", "size": ["20 cm", "20 cm", "10 cm"]}}, "dome.toml")
    assert case == Case(form="dome", size=(0.2, 0.2, 0.1))
    assert (case.stands_on_base, case.surface, case.sealed, case.survives) == (True, "sealed plaster", False, True)
    assert (case.release, case.good_share, case.rubber, case.degassed) == (True, 1.0, "platinum silicone", None)
    assert (case.fixed_in_place, case.fragile, case.unique, case.vertical) == (False, False, False, False)


def test_bodies_and_mends_are_read_for_a_mesh_and_refused_for_a_form() -> None:
    mesh = {"mesh": "a.stl", "unit": "mm", "bodies": 2, "mend": ["fill holes"]}
    case = case_from({"pattern": mesh}, "a.toml")
    assert (case.bodies, case.mend, case.undercut) == ("2", ("fill holes",), None)
    dome = {"form": "dome", "size": ["1 cm", "1 cm", "1 cm"]}
    for key, value in (("bodies", "largest"), ("mend", "fill holes")):
        with pytest.raises(InputError, match=rf"{key}: goes with a mesh"):
            case_from({"pattern": {**dome, key: value}}, "a.toml")
    for key, value in (("bodies", "biggest"), ("mend", ["fill all"]), ("mend", 3)):
        with pytest.raises(InputError, match=key):
            case_from({"pattern": {**mesh, key: value}}, "a.toml")


@pytest.mark.parametrize(
    ("life", "read"),
    [(40, 40.0), (1, 1.0), ({"low": 20, "likely": 40, "high": 60}, (20.0, 40.0, 60.0))],
)
def test_a_life_is_one_certain_number_or_a_range(life: object, read: object) -> None:
    job = {"pattern": {"form": "ball", "size": ["1 cm", "1 cm", "1 cm"]}, "mold": {"life": life}}
    assert case_from(job, "a.toml").life == read


@pytest.mark.parametrize("side", ["5 mm", "5 m", '0.2 "', "16 ft"])
def test_sides_from_5_mm_to_5_m_are_accepted(side: str) -> None:
    job = {"pattern": {"form": "ball", "size": [side, side, side]}}
    assert case_from(job, "a.toml").size is not None


def test_a_byte_order_mark_in_a_job_file_is_accepted(tmp_path: Path) -> None:
    path = tmp_path / "ball.toml"
    path.write_bytes(b"\xef\xbb\xbf" + JOB.encode())
    assert read_job(path).run == 40


@pytest.mark.parametrize("path", sorted((DATA / "jobs").glob("*.toml")), ids=lambda path: path.stem)
def test_every_demo_job_is_read(path: Path) -> None:
    case = read_job(path)
    assert case.name != "untitled job"
    assert 1 <= case.run <= 100_000
