"""The command line as others script against it: its JSON, its exit codes, what it says to people, what it loads."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from moldkit.cli import main

ROOT = Path(__file__).resolve().parents[1]
DATA = ROOT / "data"

JOB = """
[job]
name = "Bowl of a fountain"

[pattern]
form = "dome"
size = ["24 cm", "24 cm", "14 cm"]

[casting]
material = "{material}"
method = "{method}"
yield = 0.9
run = 80
"""


@pytest.fixture
def job(tmp_path: Path) -> Any:
    def write(material: str = "rigid urethane resin", method: str = "open pour", more: str = "") -> str:
        path = tmp_path / "bowl.toml"
        path.write_text(JOB.format(material=material, method=method) + more, encoding="utf-8")
        return str(path)

    return write


def answer(capsys: pytest.CaptureFixture[str], *words: str) -> Any:
    """Return what a command prints as JSON; it must succeed and say nothing on stderr."""
    assert main([*words, "--json", "--data", str(DATA)]) == 0
    said = capsys.readouterr()
    assert said.err == ""
    assert said.out.isascii()  # thin spaces are escaped, so that no code page on the way can spoil them
    return json.loads(said.out)


def run(code: str, **more: str) -> subprocess.CompletedProcess[str]:
    env = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONIOENCODING": "utf-8", "PYTHONWARNINGS": "always", **more}
    return subprocess.run(
        [sys.executable, "-c", code],
        check=False,
        capture_output=True,
        encoding="utf-8",
        env=env,
        cwd=ROOT,
        timeout=100,
    )


# ---------------------------------------------------------------------------------------------------- compare --json

NUMBER = (int, float)
TECHNIQUE = {
    "technique": str,
    "feasible": bool,
    "findings": list,
    "rubber_volume_m3": NUMBER,
    "rubber_mass_kg": NUMBER,
    "mold_mass_kg": NUMBER,
    "attended_hours_first": NUMBER,
    "attended_hours_remake": NUMBER,
    "elapsed_hours_first": NUMBER,
    "cost_first": NUMBER,
    "cost_remake": NUMBER,
    "cost_casting": NUMBER,
    "life": dict,
    "expected_molds": NUMBER,
    "cost_total": NUMBER,
    "cost_per_casting": NUMBER,
}
NULL_WITHOUT_LIFE = {"life", "expected_molds", "cost_total", "cost_per_casting"}
NAMES = ["poured block", "brushed skin", "cavity pour", "cavity pour, printed shell"]


def check_record(record: Any) -> None:
    assert list(record) == ["schema", "currency", "run", "pattern", "techniques", "cheapest", "crossings"]
    assert (record["schema"], record["currency"]) == (1, "USD")
    assert list(record["pattern"]) == ["volume_m3", "area_m2", "longest_m"]
    assert [t["technique"] for t in record["techniques"]] == NAMES
    for technique in record["techniques"]:
        assert list(technique) == list(TECHNIQUE)
        unknown = any(f["rule"] == "no life data" for f in technique["findings"])
        for key, kind in TECHNIQUE.items():
            if key in NULL_WITHOUT_LIFE and unknown:
                assert technique[key] is None
            else:
                assert isinstance(technique[key], kind), key
                assert isinstance(technique[key], bool) == (kind is bool), key
        if not unknown:
            assert list(technique["life"]) == ["mean", "sd", "p10", "p90"]
            assert technique["life"]["p10"] <= technique["life"]["mean"] <= technique["life"]["p90"] + 1
        for finding in technique["findings"]:
            assert list(finding) == ["level", "rule", "words", "remedy"]
            assert finding["level"] in ("stop", "caution", "note")
            assert all(isinstance(part, str) and part for part in finding.values())
        assert technique["feasible"] == all(f["level"] != "stop" for f in technique["findings"])
    assert record["cheapest"] is None or record["cheapest"] in NAMES
    for crossing in record["crossings"]:
        assert list(crossing) == ["run", "from", "to"]
        assert isinstance(crossing["run"], int)
        assert {crossing["from"], crossing["to"]} <= set(NAMES)


def test_compare_gives_the_record_that_others_script_against(job: Any, capsys: pytest.CaptureFixture[str]) -> None:
    record = answer(capsys, "compare", job())
    check_record(record)
    assert record["run"] == 80
    assert record["pattern"]["longest_m"] == pytest.approx(0.24)
    assert record["crossings"]
    runs = [c["run"] for c in record["crossings"]]
    assert runs == sorted(runs) and runs[0] > 1 and runs[-1] <= 1000
    for before, after in pairwise(record["crossings"]):
        assert before["to"] == after["from"]


def test_the_total_is_first_mold_and_expected_remakes_and_pours(job: Any, capsys: pytest.CaptureFixture[str]) -> None:
    record = answer(capsys, "compare", job())
    pours = 89  # 80 / 0.9 = 88.9, up
    for t in record["techniques"]:
        total = t["cost_first"] + (t["expected_molds"] - 1) * t["cost_remake"] + pours * t["cost_casting"]
        assert t["cost_total"] == pytest.approx(total, rel=1e-12)
        assert t["cost_per_casting"] == pytest.approx(total / 80, rel=1e-12)
    feasible = [t for t in record["techniques"] if t["feasible"]]
    assert record["cheapest"] == min(feasible, key=lambda t: t["cost_total"])["technique"]


def test_several_cavities_give_several_castings_a_pour(job: Any, capsys: pytest.CaptureFixture[str]) -> None:
    record = answer(capsys, "compare", job(more="\n[mold]\ncavities = 4\nlife = 10\n"))
    block, brushed = record["techniques"][:2]
    # 80 castings at a yield of 0.9 take 23 pours of four (22.2, up) and three molds of ten pours; or 89 pours of one
    # and nine molds.
    assert (block["expected_molds"], brushed["expected_molds"]) == (3, 9)
    total = block["cost_first"] + 2 * block["cost_remake"] + 23 * block["cost_casting"]
    assert block["cost_total"] == pytest.approx(total, rel=1e-12)


def test_without_a_life_the_figures_that_need_it_are_null(job: Any, capsys: pytest.CaptureFixture[str]) -> None:
    record = answer(capsys, "compare", job("tin alloy"))
    check_record(record)
    for technique in record["techniques"]:
        assert {key for key, value in technique.items() if value is None} == NULL_WITHOUT_LIFE
        assert not technique["feasible"]
        assert [f["level"] for f in technique["findings"] if f["rule"] == "no life data"] == ["stop"]
    assert record["cheapest"] is None and record["crossings"] == []


def test_what_is_ruled_out_keeps_its_figures_and_crosses_nothing(job: Any, capsys: pytest.CaptureFixture[str]) -> None:
    record = answer(capsys, "compare", job(method="pressure"))
    check_record(record)
    brushed = record["techniques"][1]
    assert not brushed["feasible"] and brushed["cost_total"] > 0
    assert record["cheapest"] != "brushed skin"
    assert "brushed skin" not in {name for c in record["crossings"] for name in (c["from"], c["to"])}


@pytest.mark.parametrize("castings", ["1", "250", "2000"])
def test_the_run_on_the_command_line_takes_the_jobs_place(
    job: Any, castings: str, capsys: pytest.CaptureFixture[str]
) -> None:
    record = answer(capsys, "compare", job(), "--run", castings)
    check_record(record)
    assert record["run"] == int(castings)
    assert all(c["run"] <= max(1000, 10 * int(castings)) for c in record["crossings"])


def test_a_jobs_shop_figures_and_currency_hold_for_it(job: Any, capsys: pytest.CaptureFixture[str]) -> None:
    plain = answer(capsys, "compare", job())
    other = answer(capsys, "compare", job(more='\n[shop]\nlabor_rate = 80\ncurrency = "EUR"\n'))
    assert other["currency"] == "EUR"
    for before, after in zip(plain["techniques"], other["techniques"], strict=True):
        assert after["cost_first"] - before["cost_first"] == pytest.approx(40 * before["attended_hours_first"])


FORM_JOBS = [path for path in sorted((DATA / "jobs").glob("*.toml")) if "form =" in path.read_text(encoding="utf-8")]


@pytest.mark.parametrize("path", FORM_JOBS, ids=lambda path: path.stem)
def test_every_demo_job_with_a_form_compares(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    record = answer(capsys, "compare", str(path))
    check_record(record)
    assert record["cheapest"] is not None


# ---------------------------------------------------------------------------------------------------- measure --json


@pytest.fixture
def cube(tmp_path: Path) -> str:
    """Return the file of a cube with sides of 10, as twelve triangles in text."""
    corners = np.array([[x, y, z] for x in (0, 10) for y in (0, 10) for z in (0, 10)], dtype=float)
    quads = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    lines = ["solid cube"]
    for a, b, c, d in quads:
        for triangle in ((a, b, c), (a, c, d)):
            lines += ["facet normal 0 0 0", "outer loop"]
            lines += ["vertex {:g} {:g} {:g}".format(*corners[corner]) for corner in triangle]
            lines += ["endloop", "endfacet"]
    path = tmp_path / "cube.stl"
    path.write_text("\n".join([*lines, "endsolid cube", ""]), encoding="ascii")
    return str(path)


def test_measure_gives_the_record_that_others_script_against(cube: str, capsys: pytest.CaptureFixture[str]) -> None:
    record = answer(capsys, "measure", cube, "--unit", "mm", "--skin", "1 mm", "--skin", "2 mm", "--free")
    assert list(record) == [
        "schema", "triangles", "watertight", "volume_m3", "area_m2", "extents_m", "longest_m", "skins",
        "enclosing_cylinder_m", "findings", "survey",
    ]  # fmt: skip
    assert (record["schema"], record["triangles"], record["watertight"]) == (1, 12, True)
    assert record["volume_m3"] == pytest.approx(1e-6, rel=1e-9)
    assert record["area_m2"] == pytest.approx(6e-4, rel=1e-9)
    assert record["extents_m"] == pytest.approx([0.01, 0.01, 0.01], rel=1e-9)
    assert record["longest_m"] == pytest.approx(0.01, rel=1e-9)
    assert [list(skin) for skin in record["skins"]] == [["thickness_m", "volume_m3", "outer_area_m2"]] * 2
    assert [skin["thickness_m"] for skin in record["skins"]] == [0.001, 0.002]
    # Steiner: V(d) - V = S d + 2 pi w d^2 + 4/3 pi d^3 with mean width w = 15 for a cube of 10
    # (https://en.wikipedia.org/wiki/Mean_width); cube 10, d = 1: 698.43656981.
    assert record["skins"][0]["volume_m3"] == pytest.approx(698.43656981e-9, rel=0.0035)
    tube = record["enclosing_cylinder_m"]
    assert list(tube) == ["diameter", "height"]
    assert tube == {"diameter": pytest.approx(0.01 * 2**0.5, rel=1e-6), "height": pytest.approx(0.01, rel=1e-9)}
    assert all(isinstance(finding, dict) for finding in record["findings"])


def test_measure_scales_to_a_longest_side_and_stands_on_the_base(cube: str, capsys: pytest.CaptureFixture[str]) -> None:
    record = answer(capsys, "measure", cube, "--unit", "in", "--longest", "20 cm", "--skin", "10 mm")
    assert record["longest_m"] == pytest.approx(0.2, rel=1e-9)
    assert record["volume_m3"] == pytest.approx(0.008, rel=1e-9)
    # Half of the skin of a box 20 x 20 x 40 cm, mirrored in its base: Steiner with S = 0.4 m2, w = 0.4 m.
    t, pi = 0.01, np.pi
    wanted = 0.5 * (0.4 * t + 2 * pi * 0.4 * t**2 + 4 / 3 * pi * t**3)
    assert record["skins"][0]["volume_m3"] == pytest.approx(wanted, rel=0.0035)


def test_a_small_piece_is_measured_without_the_usual_skins_that_are_too_thick_for_it(
    cube: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert answer(capsys, "measure", cube, "--unit", "mm")["skins"] == []
    at_15, at_20 = (answer(capsys, "measure", cube, "--unit", "mm", "--longest", f"{n} mm") for n in (15, 20))
    assert [skin["thickness_m"] for skin in at_15["skins"]] == [0.006]
    assert [skin["thickness_m"] for skin in at_20["skins"]] == [0.006, 0.010]


def test_measure_says_the_same_to_people(cube: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["measure", cube, "--unit", "mm"]) == 0
    said = capsys.readouterr()
    assert said.err == ""
    assert "12 triangles, closed" in said.out
    assert "10 mm x 10 mm x 10 mm" in said.out
    assert "1 mL" in said.out and "6 cm²" in said.out


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--skin", "10"], "--skin: '10' has no unit"),
        (["--skin", "-1 mm"], "--skin: '-1 mm' is not above zero; give a length."),
        (["--skin", "6 mm"], "--skin: 6 mm is more than half of the longest side (10 mm); give a thinner skin."),
        (["--longest", "40 m"], "--longest: 40 m is outside 5 mm to 5 m; check the figure and its unit."),
        (["--longest", "1,5 cm"], "--longest: '1,5 cm' has a comma"),
    ],
)
def test_a_bad_length_for_measure_is_named(
    cube: str, words: list[str], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["measure", cube, "--unit", "mm", *words]) == 2
    said = capsys.readouterr()
    assert said.out == "" and says in said.err and said.err.count("\n") == 1


# -------------------------------------------------------------------------------------------------------- for people


@pytest.mark.parametrize("us", [False, True])
def test_people_get_a_verdict_a_table_and_the_findings(job: Any, us: bool, capsys: pytest.CaptureFixture[str]) -> None:
    # Of a size whose block stands upright in the pot: its box of 232 mm spans 328 mm of the bore of 360.
    smaller = Path(job(method="pressure"))
    smaller.write_text(smaller.read_text().replace("24 cm", "20 cm"))
    words = ["compare", str(smaller), "--data", str(DATA)]
    assert main([*words, "--us"] if us else words) == 0
    said = capsys.readouterr()
    assert said.err == ""
    lines = said.out.splitlines()
    assert lines[0] == "Bowl of a fountain: 80 castings in rigid urethane resin, pressure"
    assert "Ruled out: brushed skin (no pressure in a brushed skin)." in said.out
    table = [line for line in lines if line.startswith(tuple(NAMES))]
    assert [line.split("  ")[0] for line in table] == NAMES
    assert "stop     brushed skin: rubber that is brushed on holds voids" in said.out
    assert re.search(r"\d lb\b" if us else r"\d kg\b", table[0])
    assert "Traceback" not in said.out
    assert not re.search(r"\d\.\d{3,}|\d{5,}|\bnan\b|\binf\b|None|Quantity|np\.", said.out)


@pytest.mark.parametrize(("castings", "says"), [("1", "1 casting costs about"), ("2", "2 castings cost about")])
def test_one_casting_costs_and_two_castings_cost(
    job: Any, castings: str, says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["compare", job(), "--run", castings, "--data", str(DATA)]) == 0
    assert says in capsys.readouterr().out


def test_the_same_question_gives_the_same_words_every_time(job: Any) -> None:
    # Sets of words have another order in each process; what is printed must not.
    path = job("concrete", "pressure", "\n[shop]\nhas_pressure_pot = false\n")
    code = f"from moldkit.cli import main; raise SystemExit(main(['compare', {path!r}]))"
    outputs = {run(code, PYTHONHASHSEED=seed, MOLDKIT_DATA=str(DATA)).stdout for seed in ("1", "2")}
    assert len(outputs) == 1
    assert outputs.pop().count("all techniques: ") >= 2


def test_the_same_question_has_the_same_odds_every_time(job: Any) -> None:
    path = job()
    code = f"from moldkit.cli import main; raise SystemExit(main(['compare', {path!r}, '--sure']))"
    outputs = {run(code, PYTHONHASHSEED=seed, MOLDKIT_DATA=str(DATA)).stdout for seed in ("0", "1")}
    assert len(outputs) == 1
    assert re.search(r"of 100 plausible shops", outputs.pop())


def test_how_sure_it_is_stands_in_the_record_where_it_was_asked_for(
    job: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    # In two pieces the techniques lie so close that it is worth knowing more.
    path = job(more="[mold]\npieces = 2\n")
    plain, sure = answer(capsys, "compare", path), answer(capsys, "compare", path, "--sure")
    told = sure.pop("sure")
    assert plain == sure  # nothing else has moved
    assert [t["technique"] for t in told["techniques"]] == NAMES
    shares = [t["cheapest_share"] for t in told["techniques"]]
    assert sum(shares) + told["nothing_works_share"] == pytest.approx(1.0)
    assert told["switching_values"] and told["worth"]


def test_the_tables_can_be_checked_and_copied(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = tmp_path / "mine"
    assert main(["data", "copy", str(target), "--data", str(DATA)]) == 0
    assert "set MOLDKIT_DATA to this folder" in capsys.readouterr().out
    assert main(["data", "check", "--data", str(target)]) == 0
    assert capsys.readouterr().out == f"{target}: every table is in order.\n"
    path = target / "surfaces.csv"
    path.write_text(path.read_text(encoding="utf-8").replace("plaster,no", "plaster,perhaps", 1), encoding="utf-8")
    assert main(["data", "check", "--data", str(target)]) == 2
    assert "surfaces.csv, row 2, column 'inhibits': 'perhaps'" in capsys.readouterr().err
    assert main(["data", "copy", str(target), "--data", str(DATA)]) == 2
    assert "exists already" in capsys.readouterr().err


# --------------------------------------------------------------------------------------------------------- exit codes


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ([], "COMMAND"),
        (["compair", "job.toml"], "compair"),
        (["compare"], "JOB.toml"),
        (["compare", "a.toml", "--rum", "3"], "--rum"),
        (["measure", "cube.stl"], "--unit"),
        (["measure", "cube.stl", "--unit", "furlong"], "furlong"),
        (["measure", "no such.stl", "--unit", "mm"], "no such.stl"),
        (["compare", "no such.toml", "--data", "no such folder"], "no such folder"),
    ],
)
def test_a_wrong_command_line_exits_2_with_one_sentence(
    words: list[str], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(words) == 2
    said = capsys.readouterr()
    assert said.out == "" and says in said.err
    assert said.err.count("\n") == 1 and said.err.startswith("moldkit")


@pytest.mark.parametrize("words", [["--help"], ["compare", "--help"], ["--version"]])
def test_help_and_version_exit_0(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(words) == 0
    said = capsys.readouterr()
    assert said.out and said.err == ""


def test_debug_shows_where_it_went_wrong_before_the_sentence(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", "no such.toml", "--debug", "--data", str(DATA)]) == 2
    err = capsys.readouterr().err
    assert "Traceback" in err
    assert err.splitlines()[-1].startswith("moldkit: ")


# ------------------------------------------------------------------------------------------------- what it loads, says


def loaded(code: str) -> set[str]:
    """Return the modules that a fresh Python has loaded after running some code."""
    done = run(f"import sys\n{code}\nsys.stderr.write(' '.join(sys.modules))")
    assert done.returncode == 0, done.stderr
    return set(done.stderr.split())


def test_the_command_line_starts_without_numpy() -> None:
    found = loaded("import moldkit.cli")
    assert "moldkit" in found
    assert not found & {"numpy", "pandas", "scipy", "plotly", "trimesh", "pint", "ipywidgets", "igl"}


def test_help_is_printed_without_numpy() -> None:
    assert not loaded("from moldkit.cli import main\nmain(['--help'])") & {"numpy", "pint", "trimesh"}


def test_comparing_a_form_loads_neither_scipy_nor_pandas_nor_trimesh_nor_charts(job: Any) -> None:
    found = loaded(f"from moldkit.cli import main\nassert main(['compare', {job()!r}, '--json']) == 0")
    assert "numpy" in found
    assert not found & {"pandas", "trimesh", "plotly", "ipywidgets", "anywidget", "matplotlib"}
    # The unit library loads the bare name scipy, and the mesh library scipy's sparse matrices.
    theirs = loaded("import igl, pint")
    assert not {name for name in found - theirs if name.startswith("scipy.")}


def test_success_says_nothing_on_stderr_even_with_every_warning_on(job: Any) -> None:
    done = run(f"from moldkit.cli import main; raise SystemExit(main(['compare', {job()!r}, '--json']))")
    assert (done.returncode, done.stderr) == (0, "")
    check_record(json.loads(done.stdout))


def test_a_terminal_that_knows_only_ascii_still_gets_the_answer(job: Any) -> None:
    code = f"from moldkit.cli import main; raise SystemExit(main(['compare', {job()!r}]))"
    done = run(code, PYTHONIOENCODING="ascii")
    assert (done.returncode, done.stderr) == (0, "")
    assert "poured block" in done.stdout


@pytest.mark.parametrize("unbuffered", ["", "1"])
def test_a_reader_that_goes_away_is_no_fault(unbuffered: str) -> None:
    code = f"from moldkit.cli import main; raise SystemExit(main(['data', 'check', '--data', {str(DATA)!r}]))"
    env = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONUNBUFFERED": unbuffered}
    with subprocess.Popen(
        [sys.executable, "-c", code], stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=env
    ) as done:
        assert done.stdout is not None and done.stderr is not None
        done.stdout.close()
        err = done.stderr.read().decode()
        assert (done.wait(), err) == (0, "")


def test_compare_says_how_sure_it_is_when_asked(job: Any, capsys: pytest.CaptureFixture[str]) -> None:
    words = ["compare", job(material="gypsum plaster"), "--data", str(DATA)]
    assert main(words) == 0
    plain = capsys.readouterr().out
    assert main([*words, "--sure"]) == 0
    sure = capsys.readouterr()
    assert sure.err == ""
    assert sure.out.startswith(plain.rstrip("\n"))
    assert "plausible shops" in sure.out.removeprefix(plain.rstrip("\n"))
