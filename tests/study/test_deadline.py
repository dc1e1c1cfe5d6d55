"""A job's date: read from its file, met or missed in the comparison's findings; the shop's new keys."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from moldkit.errors import InputError
from moldkit.findings.plan import Finding
from moldkit.pattern.reading import Reading
from moldkit.shop import Person, load_shop, shop_values
from moldkit.study.assess import assess
from moldkit.study.case import Case, case_from
from moldkit.study.compare import Comparison
from moldkit.study.finish_dates import trade_off
from moldkit.study.job_file import load_job, save_job
from moldkit.study.knowledge import Knowledge
from moldkit.study.run_plan import plan_run
from tests.study.planned import FIGURE, START, figure

Compared = Callable[[Case], Comparison]
BLOCK = "poured block"


def late(result: Comparison, technique: str = BLOCK) -> Finding | None:
    """Return the finding about the date, None where there is none."""
    outcome = next(outcome for outcome in result.outcomes if outcome.name == technique)
    return next((found for found in outcome.findings() if found.rule == "late for the date"), None)


def test_a_date_that_the_plan_meets_raises_nothing(compared: Compared) -> None:
    finish = plan_run(figure(compared), BLOCK, molds=1).finish.date()
    assert late(figure(compared, due=finish)) is None
    assert late(figure(compared, due=finish - datetime.timedelta(days=1))) is not None


def test_a_date_that_is_missed_is_a_caution_with_the_molds_that_would_meet_it(compared: Compared) -> None:
    due = datetime.date(2026, 12, 9)
    found = late(figure(compared, due=due))
    by_molds = {way.molds: way.finish_date for way in trade_off(figure(compared)).ways if way.technique == BLOCK}
    fewest = min(molds for molds, finish in by_molds.items() if finish <= due)
    assert found is not None and found.level == "caution"
    assert f"{(by_molds[1] - due).days} days after 2026-12-09" in found.words
    assert f"{fewest} molds side by side would be in time, on {by_molds[fewest]}." in found.words
    assert late(figure(compared, due=due, molds=fewest)) is None


def test_a_date_that_no_number_of_molds_meets_says_the_soonest(compared: Compared) -> None:
    found = late(figure(compared, due=datetime.date(2026, 12, 2)))
    soonest = min(way.finish_date for way in trade_off(figure(compared)).ways if way.technique == BLOCK)
    assert found is not None
    assert "no number of molds side by side is in time" in found.words and str(soonest) in found.words


def test_a_missed_date_rules_no_technique_out(compared: Compared) -> None:
    plain, dated = figure(compared), figure(compared, due=datetime.date(2026, 12, 2))
    assert [o.stop_at() for o in dated.outcomes] == [o.stop_at() for o in plain.outcomes]
    assert np.array_equal(dated.costs, plain.costs)


def test_a_date_that_cannot_be_checked_says_why(compared: Compared) -> None:
    nobody = {"people": [{"name": "Ines", "skills": ["helper"]}]}
    found = late(figure(compared, due=datetime.date(2026, 12, 20), shop=nobody))
    assert found is not None and "cannot be checked: people: nobody at work has the skill" in found.words


def test_many_sizes_at_once_leave_the_date_out(knowledge: Knowledge, reading_of: Callable[[Case], Reading]) -> None:
    case = replace(FIGURE, due=datetime.date(2026, 12, 2))
    outcomes = assess(case, knowledge, reading_of(case), np.array([0.5, 1.0]))
    assert all(row.name != "late_for_the_date" for outcome in outcomes for row, _ in outcome.raised)


JOB: dict[str, Any] = {"pattern": {"form": "dome", "size": ["20 cm", "20 cm", "12 cm"]}}


def test_a_job_says_when_it_is_due_and_how_it_is_planned(tmp_path: Path) -> None:
    path = tmp_path / "own.toml"
    path.write_text(
        '[pattern]\nform = "dome"\nsize = ["20 cm", "20 cm", "12 cm"]\n[casting]\ndue = 2026-12-18  # the fair\n'
        "[plan]\nstart = 2026-11-30\nmolds = 3\npeople = 2\npots = 1\nchambers = 1\n"
    )
    loaded = load_job(path)
    case = loaded.case
    assert (case.due, case.start) == (datetime.date(2026, 12, 18), START)
    assert (case.molds, case.people, case.pots, case.chambers) == (3, 2, 1, 1)
    later = replace(case, due=datetime.date(2026, 12, 19), people=None)
    saved = save_job(later, tmp_path / "later.toml", loaded)
    assert replace(saved.case, folder=None) == replace(later, folder=None)
    assert "# the fair" in saved.text and "due = 2026-12-19" in saved.text


@pytest.mark.parametrize(
    ("section", "content", "words"),
    [
        ("casting", {"due": "2026-12-18"}, "due: '2026-12-18' is not a date; write year-month-day without quotation"),
        ("casting", {"due": datetime.datetime(2026, 12, 18, 9)}, "is not a date"),
        ("plan", {"start": 20261130}, "start: 20261130 is not a date"),
        ("plan", {"molds": 51}, "molds: 51 is out of bounds; give one from 1 to 50"),
        ("plan", {"mold": 2}, "did you mean 'molds'"),
        ("plan", {"people": 0}, "people: 0 is out of bounds"),
    ],
)
def test_a_plan_that_cannot_be_read_is_told(section: str, content: Mapping[str, Any], words: str) -> None:
    with pytest.raises(InputError, match=words):
        case_from({**JOB, section: content}, "own.toml")


def test_a_date_before_the_start_is_told() -> None:
    plan = {"casting": {"due": datetime.date(2026, 11, 1)}, "plan": {"start": START}}
    with pytest.raises(InputError, match="due: 2026-11-01 lies before the plan's start on 2026-11-30"):
        case_from({**JOB, **plan}, "own.toml")


def test_a_shop_names_its_people_hours_and_machines() -> None:
    given = {
        "people": [{"name": "Ines", "skills": ["caster"]}, {"name": "Rolf"}],
        "day_starts": "07:30", "working_days": ["Friday", "Monday"], "holidays": [datetime.date(2026, 12, 25)],
        "pressure_pots": 2, "learning_rate": 90,
    }  # fmt: skip
    values = shop_values(given, "shop.toml")
    assert values["people"] == (
        Person("Ines", frozenset({"caster"})), Person("Rolf", frozenset({"mold maker", "caster", "helper"})),
    )  # fmt: skip
    assert values["day_starts"].value == 7.5 * 3600 and values["working_days"] == ("Monday", "Friday")
    assert shop_values({"day_starts": datetime.time(7, 30)}, "x")["day_starts"].value == 7.5 * 3600
    assert values["pressure_pots"].value == 2 and values["learning_rate"].value == pytest.approx(0.9)


def test_a_shop_file_without_the_new_keys_still_loads(copied_data: Path) -> None:
    path = copied_data / "shop.toml"
    text = path.read_text(encoding="utf-8")
    head, _, people = text.partition("people = [")
    kept = head + people.partition("]\n]")[2]
    new = ("day_starts", "working_days", "holidays", "pressure_pots", "vacuum_chambers", "printers", "mold_rest_days",
           "learning_rate")  # fmt: skip
    path.write_text("\n".join(line for line in kept.splitlines() if not line.startswith(new)), encoding="utf-8")
    shop = load_shop(copied_data)
    assert shop.values["people"] is None and shop.values["pressure_pots"] is None


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"people": []}, "people: .* is no list"),
        ({"people": ["Ines"]}, "number 1: 'Ines' is no person"),
        ({"people": [{"skills": ["caster"]}]}, "number 1: has no name"),
        ({"people": [{"name": "Ines", "skill": ["caster"]}]}, "unknown key 'skill'; did you mean 'skills'"),
        ({"people": [{"name": "Ines", "skills": []}]}, "is no list of skills"),
        ({"people": [{"name": "Ines", "skills": ["castor"]}]}, "unknown skill 'castor'; did you mean 'caster'"),
        ({"people": [{"name": "Ines"}, {"name": "Ines"}]}, "'Ines' stands twice"),
        ({"day_starts": "25:00"}, "is not a time of day"),
        ({"day_starts": 8}, "is not a time of day"),
        ({"working_days": ["Mondy"]}, "unknown weekday 'Mondy'; did you mean 'Monday'"),
        ({"working_days": []}, "is no list of weekdays"),
        ({"holidays": ["2026-12-25"]}, "is not a date"),
        ({"pressure_pots": 1.5}, "1.5 is not a whole number"),
        ({"pressure_pots": 0}, "0 is outside 1 to 50"),
        ({"learning_rate": 40}, "40 % is outside 50 to 100 %"),
    ],
)
def test_a_shops_hands_and_hours_that_cannot_be_read_are_told(given: Mapping[str, Any], words: str) -> None:
    with pytest.raises(InputError, match=words):
        shop_values(given, "shop.toml")
