"""What a client can change: each lever's price is that of a direct call, and only what is offered is told."""

from __future__ import annotations

import datetime
from dataclasses import replace
from pathlib import Path

import pytest

from moldkit.errors import InputError
from moldkit.study.case import Case
from moldkit.study.client_choices import (
    AS_CAST,
    HOLLOW,
    SOLID,
    as_made,
    dated_ways,
    finish_now,
    finishes_of,
    makes,
    materials_of,
    other_offers,
    way_by,
)
from moldkit.study.compare import Comparison, compare
from moldkit.study.job_file import JobFile, load_job
from moldkit.study.knowledge import Knowledge
from moldkit.study.price_levers import price_levers
from moldkit.study.quote import quote
from moldkit.views.meeting_words import difference, lever_words, levers_sentence

START = datetime.date(2026, 11, 30)
DAY = datetime.date(2026, 11, 25)


@pytest.fixture(scope="module")
def job(knowledge: Knowledge) -> JobFile:
    return load_job(Path(knowledge.folder) / "jobs" / "captain.toml")


@pytest.fixture(scope="module")
def result(job: JobFile, knowledge: Knowledge) -> Comparison:
    return compare(job.case, knowledge)


def each(case: Case, knowledge: Knowledge) -> int:
    return quote(compare(case, knowledge), start=START).asked.charge.each


def test_every_lever_is_one_change_with_the_price_of_a_direct_call(
    job: JobFile, result: Comparison, knowledge: Knowledge
) -> None:
    finishes = finishes_of(job, knowledge)
    found = price_levers(result, materials=("gypsum plaster",), finishes=finishes, start=START)
    asked = each(job.case, knowledge)
    assert {lever.kind for lever in found} == {"run", "size", "material", "made", "finish", "date"}
    for lever in found:
        assert lever.before.each == asked
        assert lever.after.each == asked + lever.each == each(lever.case, knowledge), lever
    sizes = [abs(lever.each) for lever in found]
    assert sizes == sorted(sizes, reverse=True)


def test_run_size_and_dates_go_both_ways_as_far_as_they_can(result: Comparison) -> None:
    found = price_levers(result, start=START)
    assert {lever.after.run for lever in found if lever.kind == "run"} == {20, 80}
    assert sorted(lever.longest for lever in found if lever.kind == "size") == pytest.approx([0.162, 0.198])
    dates = [lever for lever in found if lever.kind == "date"]
    assert dates and all(lever.after.delivery < lever.before.delivery for lever in dates)  # type: ignore[operator]
    one = compare(replace(result.case, run=1), result.knowledge, result.reading)
    assert {lever.after.run for lever in price_levers(one) if lever.kind == "run"} == {2}


def test_without_a_first_day_no_date_is_told(result: Comparison) -> None:
    assert all(lever.kind != "date" for lever in price_levers(result))


def test_of_many_materials_the_cheapest_and_the_dearest_are_told(result: Comparison, knowledge: Knowledge) -> None:
    names = [name for name in materials_of(result.case, knowledge) if name != result.case.material]
    prices = {}
    for name in names:
        case = replace(result.case, material=name)
        if compare(case, knowledge).cheapest is not None:
            prices[name] = each(case, knowledge)
    told = {lever.words for lever in price_levers(result, materials=names) if lever.kind == "material"}
    assert told == {min(prices, key=prices.__getitem__), max(prices, key=prices.__getitem__)}


def test_what_cannot_be_made_is_no_lever(result: Comparison) -> None:
    found = price_levers(result, materials=("glass-polyester laminate", "flexible urethane foam"))
    assert all(lever.kind != "material" for lever in found)


def test_the_finishes_of_a_meeting_are_those_of_the_job_and_its_alternatives(
    job: JobFile, knowledge: Knowledge
) -> None:
    words = [finish.words for finish in finishes_of(job, knowledge)]
    assert words == [AS_CAST, "sealed and waxed", "brushed with steel wool and waxed"]
    waxed = finishes_of(job, knowledge)[1].put(job.case)
    assert finish_now(waxed, knowledge) == "sealed and waxed"
    assert finishes_of(job, knowledge)[0].put(waxed).quote == job.case.quote


def test_a_shops_own_finish_can_be_left_off(job: JobFile, knowledge: Knowledge) -> None:
    case = replace(job.case, shop={"finish": "buffed", "finish_time": 10})
    offered = finishes_of(replace(job, case=case, alternatives=()), knowledge)
    assert [finish.words for finish in offered] == [AS_CAST, "buffed"]
    assert finish_now(case, knowledge) == "buffed"
    assert each(offered[0].put(case), knowledge) == each(job.case, knowledge) < each(case, knowledge)


def test_solid_and_hollow_are_the_jobs_own_methods_where_it_has_them(job: JobFile, knowledge: Knowledge) -> None:
    turned = replace(job.case, method="machine rotation")
    assert makes(turned, knowledge) == HOLLOW and makes(job.case, knowledge) == SOLID
    solid = as_made(turned, SOLID, turned, knowledge)
    assert solid.method == "open pour"
    assert as_made(solid, HOLLOW, turned, knowledge).method == "machine rotation"
    assert as_made(job.case, HOLLOW, job.case, knowledge).method == "hand rotation"


def test_more_molds_bring_the_date_forward_until_they_do_not(result: Comparison) -> None:
    ways = dated_ways(result, START)
    days = [way.delivery for way in ways]
    assert days == sorted(days, reverse=True) and len(set(days)) == len(days) > 1
    for way in ways:
        direct = quote(replace(result, case=replace(result.case, molds=way.molds)), start=START).asked.charge
        assert direct == way.line
    assert way_by(ways, days[1]).molds == ways[1].molds
    assert way_by(ways, datetime.date(2026, 1, 1)) == ways[-1]
    with pytest.raises(InputError, match="cannot be planned day by day"):
        way_by((), days[0])


def test_a_material_that_nobody_knows_is_refused_with_the_nearest(result: Comparison, knowledge: Knowledge) -> None:
    with pytest.raises(InputError, match="did you mean 'gypsum plaster'"):
        materials_of(result.case, knowledge, ["gypsum plaste"])


def test_the_other_offers_are_the_same_piece_in_each_other_material_and_finish(
    job: JobFile, result: Comparison, knowledge: Knowledge
) -> None:
    finishes = finishes_of(job, knowledge)
    found = other_offers(result, ("gypsum plaster", "casting wax"), finishes, date=DAY, start=START)
    pairs = [(offer.material, offer.finish) for offer in found]
    assert len(set(pairs)) == len(pairs) == 3 * 3 - 1
    for offer in found:
        finish = next(f for f in finishes if f.words in (offer.finish, AS_CAST if not offer.finish else ""))
        direct = finish.put(replace(job.case, material=offer.material))
        assert offer.asked.each == each(direct, knowledge)
        assert (offer.longest, offer.run) == (result.longest, 40)


def test_a_lever_is_told_in_a_clients_words(result: Comparison) -> None:
    found = price_levers(result, materials=("gypsum plaster",), start=START)
    words = {lever_words(lever) for lever in found}
    assert {"More: 80 castings", "Fewer: 20 castings", "In gypsum plaster", "Cast hollow", "Larger: 198 mm"} <= words
    assert levers_sentence(found, "USD").startswith("What changes the price most: ")
    assert levers_sentence((), "USD") == "None of the choices changes the price."
    assert (difference(-50), difference(0), difference(150)) == ("\u22120.50", "0.00", "+1.50")
