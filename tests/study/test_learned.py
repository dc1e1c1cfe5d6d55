"""Lives from the shop's log: joined to the table, asked for by a job, carried with their range."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from moldkit.errors import InputError
from moldkit.mold_log import read_log
from moldkit.pattern.reading import Reading
from moldkit.study.case import FROM_LOG, Case, case_from
from moldkit.study.compare import compare
from moldkit.study.knowledge import Knowledge, load_knowledge
from moldkit.study.learned import learned_lives, own_molds, with_learned_lives
from moldkit.study.uncertainty.spread import spread_of

PAIR = ("platinum silicone", "rigid urethane")
CASE = Case(form="dome", size=(0.20, 0.20, 0.12), material="rigid urethane resin", run=60)
HEAD = "mold,rubber,casting,method,undercut,wall,release,castings,state,date,note\n"
ROW = "{},platinum silicone,rigid urethane,open pour,none,full,yes,{},{},2026-01-0{},\n"


def test_a_job_takes_its_life_from_the_log_when_it_says_so(
    knowledge: Knowledge, reading_of: Callable[[Case], Reading]
) -> None:
    found = learned_lives(knowledge)[PAIR]
    by_table, by_log = (
        compare(case, knowledge, reading_of(CASE)).outcomes[0] for case in (CASE, replace(CASE, life=FROM_LOG))
    )
    assert by_table.median is not None and by_log.median is not None
    assert by_table.median.value == pytest.approx(knowledge.life.pairs[PAIR].quantity("life").value)
    assert by_log.median.value == pytest.approx(found.median.likely)
    base = by_log.median.inputs[0]
    assert (base.low, base.high) == (found.median.low, found.median.high)
    assert "worn out" in base.formula and "log" in base.source


def test_the_log_narrows_what_the_table_leaves_open(knowledge: Knowledge) -> None:
    prior, found = knowledge.life.pairs[PAIR].quantity("life"), learned_lives(knowledge)[PAIR]
    assert prior.low is not None and prior.high is not None
    assert found.median.high / found.median.low < 0.5 * prior.high / prior.low


def test_plausible_shops_draw_from_what_was_learned(
    knowledge: Knowledge, reading_of: Callable[[Case], Reading]
) -> None:
    spread = spread_of(compare(replace(CASE, life=FROM_LOG), knowledge, reading_of(CASE)), draws=200)
    drawn = spread.draws.values
    medians = next(drawn[place] for place in drawn if "life" in place and PAIR[0] in str(place))
    found = learned_lives(knowledge)[PAIR]
    assert sorted(medians)[len(medians) // 2] == pytest.approx(found.median.likely, rel=0.05)


def test_without_a_log_the_table_stands(copied_data: Path) -> None:
    (copied_data / "mold_log.csv").unlink()
    known = load_knowledge(copied_data)
    assert learned_lives(known) == {}
    assert with_learned_lives(known).life.pairs == known.life.pairs


def test_a_log_that_grows_is_read_again(copied_data: Path) -> None:
    known = load_knowledge(copied_data)
    path = copied_data / "mold_log.csv"
    path.write_text(HEAD + "".join(ROW.format(f"a{i}", 60 + i, "worn out", i) for i in range(1, 6)))
    before = learned_lives(known)[PAIR].median.likely
    path.write_text(path.read_text() + "".join(ROW.format(f"b{i}", 150, "in use", i) for i in range(1, 9)))
    assert learned_lives(known)[PAIR].median.likely > before


def test_a_broken_row_is_named_and_nothing_is_learned_without_it(copied_data: Path) -> None:
    path = copied_data / "mold_log.csv"
    shutil.copy(path, path.with_suffix(".bak"))
    path.write_text(HEAD + ROW.format("a1", "many", "worn out", 1))
    with pytest.raises(InputError, match=r"mold_log\.csv, row 2, column 'castings'"):
        learned_lives(load_knowledge(copied_data))


def test_a_job_file_may_ask_for_the_log() -> None:
    job = {"pattern": {"form": "dome", "size": ["20 cm", "20 cm", "12 cm"]}, "mold": {"life": "log"}}
    assert case_from(job, "a.toml").life == FROM_LOG


def test_the_molds_of_a_pair_are_counted_as_the_log_has_them() -> None:
    known = load_knowledge()
    materials = known.materials
    rubber, material = materials.rubbers["platinum silicone, slow"], materials.castings["rigid urethane resin"]
    own = [
        record
        for record in read_log(known.folder)
        if record.rubber_family == "platinum silicone" and record.casting_family == "rigid urethane" and record.castings
    ]
    assert own_molds(known, rubber, material) == (len(own), sum(record.worn_out for record in own))
