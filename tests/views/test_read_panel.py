"""The panel of the second notebook without a page: what its controls say is what is read, shown and saved."""

from __future__ import annotations

import datetime
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from moldkit.errors import InputError
from moldkit.study.case import Case
from moldkit.study.job_file import load_job
from moldkit.study.knowledge import load_knowledge
from moldkit.study.new_job import FIRST_RUN, save_new_job
from moldkit.study.seen import see
from moldkit.views.panel.choose import ChooseATechnique
from moldkit.views.panel.read_pattern import ReadThePattern
from moldkit.views.pattern_view import pattern_view
from moldkit.views.tables import fact_rows
from moldkit.views.widgets.encoding import settled
from tests.pattern.solids import box

DATA = Path(__file__).resolve().parents[2] / "data"


@pytest.fixture(scope="module")
def data(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder of the test's own with the smaller meshes, so that saving changes nothing of the project's."""
    folder = tmp_path_factory.mktemp("shop") / "data"
    larger = ("__pycache__", "sculpting", "heron.ply", "head.ply", "panel.stl", "corbel.stl")
    shutil.copytree(DATA, folder, ignore=shutil.ignore_patterns(*larger))
    return folder


@pytest.fixture
def panel(data: Path) -> Iterator[ReadThePattern]:
    made = ReadThePattern("knob.stl", data=data)
    yield made
    made.close()


def block(folder: Path, name: str = "block.stl") -> Path:
    """A box of 20 x 30 x 40, in a file that says no unit, as a mesh library writes it."""
    import trimesh

    mesh = box(20.0, 30.0, 40.0)
    path = folder / name
    trimesh.Trimesh(mesh.vertices, mesh.faces).export(path)
    return path


def given(path: Path) -> tuple[dict[str, Any], ...]:
    """What an upload in the page hands over."""
    content = path.read_bytes()
    when = datetime.datetime(2026, 1, 2, tzinfo=datetime.UTC)
    file = {"name": path.name, "type": "model/stl", "size": len(content), "content": memoryview(content)}
    return ({**file, "last_modified": when},)


def told(panel: ReadThePattern) -> str:
    return re.sub(r"<[^>]+>", "", panel.report.value)


def test_it_shows_what_a_direct_call_reads(panel: ReadThePattern, data: Path) -> None:
    seen = see(Case(mesh="patterns/knob.stl", unit="mm"), load_knowledge(data))
    assert panel.band.problem == ""
    assert panel.seen is not None and panel.seen.survey.pull.grade == seen.survey.pull.grade == "none"
    direct = pattern_view(
        seen.picture,
        seen.survey,
        "undercut",
        stands_on_base=True,
        bottom=seen.bottom,
        name="patterns/knob.stl 1 metric",
    )
    assert panel.view.figure == settled(direct)
    for row in fact_rows(seen.facts()):
        assert row[1] in panel.facts.value


def test_the_colouring_and_the_units_change_what_is_shown_and_not_what_was_read(panel: ReadThePattern) -> None:
    panel.controls.mesh.value = "finial.stl"
    seen, shown = panel.seen, panel.view.figure
    panel.colouring.value = "air casting"
    assert panel.view.figure["data"][0]["intensity"] != shown["data"][0]["intensity"]
    assert "Cast it upside down" in panel.view.label
    panel.units.value = "in, lb"
    assert "\u00a0in" in told(panel) and "\u00a0mm" not in told(panel)
    assert panel.seen is seen


def test_what_is_declared_takes_the_place_of_what_was_measured_and_the_table_says_so(panel: ReadThePattern) -> None:
    assert ">measured<" in panel.facts.value
    panel.controls.undercut.value = "severe"
    assert "undercuts severe" in panel.band.sentence
    assert "declared (measured: none)" in panel.facts.value
    panel.controls.pieces.value = 4
    assert "a mold of 4 pieces" in panel.band.sentence
    panel.controls.undercut.value = ""
    assert "undercuts none" in panel.band.sentence


def test_the_longest_side_scales_every_length(panel: ReadThePattern) -> None:
    panel.controls.longest.value = "20 cm"
    assert panel.seen is not None and panel.seen.scale == pytest.approx(5.0)
    assert "200 mm in its longest side" in panel.band.sentence
    surface = panel.view.figure["layout"]["scene"]["xaxis"]["range"]
    assert surface[1] - surface[0] >= 200.0


@pytest.mark.parametrize(
    ("text", "words"), [("20", "has no unit"), ("1,5 cm", "decimal point"), ("9 m", "outside 5 mm to 5 m")]
)
def test_a_length_that_will_not_do_is_one_sentence_and_the_last_pattern_stays(
    panel: ReadThePattern, text: str, words: str
) -> None:
    seen, sentence = panel.seen, panel.band.sentence
    panel.controls.longest.value = text
    assert words in panel.band.problem
    assert panel.seen is seen and panel.band.sentence == sentence and panel.view.dimmed
    panel.controls.longest.value = ""
    assert panel.band.problem == "" and not panel.view.dimmed


def test_another_pattern_starts_with_nothing_declared_and_its_own_unit(panel: ReadThePattern) -> None:
    panel.controls.undercut.value = "severe"
    panel.controls.longest.value = "20 cm"
    panel.controls.mesh.value = "finial.stl"
    assert panel.seen is not None and panel.seen.case == Case(
        name="Finial", mesh="patterns/finial.stl", unit="mm", undercut=None
    )
    assert panel.seen.scale == 1.0


def test_progress_is_told_in_words_and_is_gone_in_the_end(data: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("MOLDKIT_CACHE", "off")
    panel = ReadThePattern("knob.stl", data=data)
    said: list[str] = []
    shares: list[float] = []
    panel.doing.observe(lambda change: said.append(change["new"]), names="value")
    panel.progress.observe(lambda change: shares.append(change["new"]), names="value")
    path = block(data / "patterns", "fresh.stl")
    panel._offer(path, "mm")
    panel._read()
    assert any("Looking for undercuts" in words for words in said)
    assert said[-1] == ""
    assert shares[1:] == sorted(shares[1:]) and shares[-1] == 1.0
    assert panel.progress.layout.visibility == "hidden"
    path.unlink()
    panel.close()


def test_an_upload_is_asked_for_its_unit_and_then_read(panel: ReadThePattern, tmp_path: Path) -> None:
    knob = panel.seen
    panel.controls.upload.value = given(block(tmp_path))
    assert panel.band.problem == "block.stl: say what one unit in the file is; the file itself does not."
    assert panel.seen is knob
    panel.controls.unit.value = "in"
    assert panel.band.problem == ""
    assert "block.stl, 1.02 m" in panel.band.sentence
    panel.controls.unit.value = "mm"
    assert "block.stl, 40 mm" in panel.band.sentence


def test_an_upload_never_leaves_its_folder(panel: ReadThePattern, tmp_path: Path) -> None:
    (file,) = given(block(tmp_path))
    panel.controls.upload.value = ({**file, "name": "../../outside.stl"},)
    assert panel.controls.chosen().shown == "outside.stl"
    assert Path(panel.controls.chosen().mesh).parent == Path(panel._uploads.name)
    panel.controls.upload.value = ({**file, "name": "..\\.hidden"},)
    assert "no usable file name" in panel.band.problem


def test_a_mesh_that_cannot_be_judged_is_refused_with_its_choices_and_they_are_offered(
    panel: ReadThePattern, tmp_path: Path
) -> None:
    import trimesh

    whole = trimesh.creation.icosphere(4, 30.0)
    holed = trimesh.Trimesh(whole.vertices, whole.faces[whole.triangles_center[:, 0] < 18.0])
    path = tmp_path / "holed.stl"
    holed.export(path)
    panel._offer(path, "mm")
    panel._read()
    assert "mend" in panel.band.problem
    assert panel.mending.selected_index == 0
    panel.controls.mends["fill holes"].value = True
    assert panel.band.problem == "", panel.band.problem
    assert panel.seen is not None and panel.seen.case.mend == ("fill holes",)


def test_taking_it_along_saves_a_job_that_the_first_notebook_opens(panel: ReadThePattern, data: Path) -> None:
    before = {path.name: path.read_bytes() for path in (data / "jobs").iterdir()}
    panel.controls.undercut.value = "moderate"
    path = panel.job_file()
    after = {path.name: path.read_bytes() for path in (data / "jobs").iterdir()}
    assert path.name == "knob-2.toml"
    assert {name: after[name] for name in before} == before
    case = load_job(path).case
    assert (case.mesh, case.unit, case.undercut, case.run) == ("patterns/knob.stl", "mm", "moderate", FIRST_RUN)
    assert "knob-2" in panel.said.value
    bench = ChooseATechnique(path, data)
    assert bench.result.cheapest is not None
    bench.close()


def test_the_same_pattern_is_not_saved_twice_and_a_changed_one_gets_a_name_of_its_own(
    panel: ReadThePattern, data: Path
) -> None:
    first = panel.job_file()
    assert panel.job_file() == first
    again = ReadThePattern("knob.stl", data=data)
    assert again.job_file() == first
    again.controls.undercut.value = "severe"
    assert again.job_file() != first
    again.close()


def test_an_uploaded_mesh_goes_along_beside_its_job(panel: ReadThePattern, data: Path, tmp_path: Path) -> None:
    panel.controls.upload.value = given(block(tmp_path))
    panel.controls.unit.value = "mm"
    path = panel.job_file()
    assert (path.parent / "block.stl").read_bytes() == (tmp_path / "block.stl").read_bytes()
    panel.close()
    again = see(load_job(path).case, load_knowledge(data))
    assert again.reading.extents == pytest.approx((0.020, 0.030, 0.040))


def test_a_mesh_by_path_needs_its_unit_said(data: Path, tmp_path: Path) -> None:
    asked = ReadThePattern(block(tmp_path), data=data)
    assert asked.seen is None and "say what one unit" in asked.band.problem
    asked._guard(asked.job_file)
    assert "No pattern has been read yet" in asked.band.problem
    asked.close()
    read = ReadThePattern(block(tmp_path), unit="cm", data=data)
    assert "block.stl, 400 mm" in read.band.sentence
    read.close()


def test_a_file_that_is_no_mesh_is_one_sentence(data: Path, tmp_path: Path) -> None:
    path = tmp_path / "not a mesh.stl"
    path.write_bytes(b"hello")
    panel = ReadThePattern(path, unit="mm", data=data)
    assert panel.band.problem.startswith("not a mesh.stl: ")
    assert panel.seen is None
    panel.close()


def test_a_page_without_three_dimensions_is_given_three_sides(panel: ReadThePattern) -> None:
    assert "scene" in panel.view.figure["layout"]
    panel.view._receive(panel.view, {"kind": "flat"}, [])
    assert "scene" not in panel.view.figure["layout"]
    assert len(panel.view.figure["layout"]["images"]) == 3
    panel.colouring.value = "skin"
    assert "scene" in panel.view.figure["layout"]


def test_a_data_folder_inside_the_package_takes_no_jobs(panel: ReadThePattern, tmp_path: Path) -> None:
    inside = tmp_path / "site-packages" / "moldkit" / "_data"
    shutil.copytree(panel.knowledge.folder, inside)
    packed = ReadThePattern("knob.stl", data=inside)
    with pytest.raises(InputError, match="moldkit data copy"):
        packed.job_file()
    packed.close()


def test_names_run_out_in_a_sentence_and_not_in_a_loop(data: Path, tmp_path: Path,
                                                       monkeypatch: pytest.MonkeyPatch) -> None:  # fmt: skip
    monkeypatch.setattr("moldkit.study.new_job._MOST_NAMES", 2)
    (tmp_path / "knob.toml").write_text("taken")
    with pytest.raises(InputError, match="clear some away"):
        save_new_job(Case(mesh="patterns/knob.stl", unit="mm"), load_knowledge(data), tmp_path)


def test_a_plain_form_has_nothing_to_turn(data: Path) -> None:
    with pytest.raises(InputError, match="name a mesh"):
        see(Case(form="ball", size=(0.1, 0.1, 0.1)), load_knowledge(data))
