"""What a client may see: prices that are the quote's to the cent at every size and run, dates, terms; nothing else."""

from __future__ import annotations

import copy
import datetime
import json
import pickle
from collections.abc import Callable, Iterable
from dataclasses import fields, replace
from decimal import Decimal
from itertools import pairwise

import numpy as np
import pytest

from moldkit.economics.quote import Terms
from moldkit.economics.schedule.work import CAST_MASTER, Castings, Task, Work
from moldkit.errors import InputError
from moldkit.study.assess import Outcome
from moldkit.study.case import Case, read_job
from moldkit.study.client_offer import ClientOffer, OfferLine
from moldkit.study.compare import Comparison, compare
from moldkit.study.knowledge import Knowledge
from moldkit.study.planned_work import FINISHING, with_finish, work_of
from moldkit.study.quote import quote
from moldkit.study.quote_costs import Finish
from moldkit.study.quote_dates import Dates, planned_pours, run_dates
from moldkit.study.run_plan import plan_run

compares = Callable[[Case], Comparison]
BUST = Case(form="bust", size=(0.144, 0.11, 0.2), run=40, name="Bust")
DAY, START = datetime.date(2026, 11, 25), datetime.date(2026, 12, 1)
TERMS = Terms(
    markup=0.35, tooling="once", rounding=Decimal("0.05"), tax=Decimal("0.0825"), minimum_charge=Decimal(90),
    tax_label="sales tax",
)  # fmt: skip
RUNS = (1, 2, 5, 17, 40, 41, 55, 100, 300)


def offer_of(result: Comparison, terms: Terms = TERMS) -> ClientOffer:
    return quote(result, terms=terms, date=DAY, start=START).for_client()


def test_the_table_is_the_quote_to_the_cent_at_random_sizes_and_runs(compared: compares, knowledge: Knowledge) -> None:
    result = compared(BUST)
    draw = np.random.default_rng(6)
    sizes = tuple(draw.uniform(0.05, 0.9, 12))
    runs = tuple(int(n) for n in np.unique(np.round(10 ** draw.uniform(0, 3.5, 15))))
    table = offer_of(result).table(sizes, runs)
    for at, size in enumerate(sizes):
        place = int(draw.integers(len(runs)))
        case = replace(BUST, longest=float(size), run=runs[place])
        other = compare(case, knowledge, result.reading)
        assert table.line(at, place) == quote(other, terms=TERMS, date=DAY, start=START).asked.charge


def test_the_table_at_the_jobs_own_size_is_the_offers_own_lines(compared: compares) -> None:
    offer = offer_of(compared(BUST))
    table = offer.table([offer.longest], [line.run for line in offer.lines])
    assert tuple(table.line(0, n) for n in range(len(offer.lines))) == offer.lines
    assert tuple(offer.table([offer.longest], offer.runs).each[0].tolist()) == offer.each


def test_the_record_is_plain_whole_cents_and_dates(compared: compares) -> None:
    offer = offer_of(compared(BUST))
    record = json.loads(json.dumps(offer.table([0.2, 0.3], [1, 40]).record(), allow_nan=False))
    assert record["sizes_m"] == [0.2, 0.3]
    assert record["runs"] == [1, 40]
    asked = offer.asked
    for key in ("each", "tooling", "subtotal", "tax", "total", "as_for"):
        assert record[key][0][1] == getattr(asked, key)
        assert isinstance(record[key][1][1], int)
    assert asked.delivery is not None
    assert record["delivery"][0][1] == asked.delivery.isoformat()


def test_where_a_piece_cannot_be_made_there_is_no_price(knowledge: Knowledge) -> None:
    result = compare(read_job(knowledge.folder / "jobs" / "knob.toml"), knowledge)
    table = offer_of(result).table([result.longest, 4.9], [1, 300])
    assert table.line(0, 1) is not None
    assert table.line(1, 0) is None
    assert table.record()["each"][1] == [None, None]
    assert table.record()["first_casting"][1] == [None, None]


@pytest.mark.parametrize(
    ("sizes", "runs", "words"),
    [
        ([], [1], "0 sizes; give 1 to"),
        ([0.2], [], "0 runs; give 1 to"),
        ([0.2], [0], "a run of 0 is outside 1 to"),
        ([0.2], [100_001], "a run of 100001 is outside"),
        ([7.0], [1], "a size of 7 m is outside 5 mm to 5 m"),
        ([float("nan")], [1], "outside 5 mm to 5 m"),
    ],
)
def test_a_table_out_of_bounds_is_refused(compared: compares, sizes: list[float], runs: list[int], words: str) -> None:
    with pytest.raises(InputError, match=words):
        offer_of(compared(BUST)).table(sizes, runs)


def test_dates_are_those_of_the_planned_run(compared: compares) -> None:
    result = compared(BUST)
    found = quote(result, terms=TERMS, date=DAY, start=START)
    for line in found.by_run([1, 7, 40, 150]):
        plan = plan_run(compared(replace(BUST, run=line.charge.run)), line.technique, molds=1, start=START)
        assert line.charge.first_casting == plan.first_casting.date()
        assert line.charge.delivery == plan.finish.date()


@pytest.mark.parametrize("job", ["finial", "knob", "head", "figure", "panel"])
def test_with_one_mold_a_shorter_run_is_the_beginning_of_a_longer_one(knowledge: Knowledge, job: str) -> None:
    """So that one plan tells the dates of all runs: each is planned alone here."""
    case = read_job(knowledge.folder / "jobs" / f"{job}.toml")
    result = compare(case, knowledge)
    found = quote(result, terms=TERMS, date=DAY, start=START)
    for line in found.by_run([1, 2, 3, 11, 38, 97, 240]):
        run = line.charge.run
        at_run = compare(replace(case, run=run), knowledge, result.reading)
        assert line.charge.delivery == plan_run(at_run, line.technique, molds=1, start=START).finish.date()


# A pattern that stays and one that is lost; a mold life as long as the demo's, and a short one.
DATED_JOBS = [("figure", 3, None), ("head", 2, None), ("figure", 2, 6), ("head", 4, 6)]


@pytest.mark.parametrize(("job", "molds", "life"), DATED_JOBS)
def test_no_run_is_dated_before_its_own_plan_nor_before_a_shorter_one(
    knowledge: Knowledge, job: str, molds: int, life: int | None
) -> None:
    """Each run is planned alone here; short ones are dated by just that plan, or as a shorter one that takes longer."""
    case = replace(read_job(knowledge.folder / "jobs" / f"{job}.toml"), molds=molds, life=life)
    result = compare(case, knowledge)
    outcome = quote(result, date=DAY, start=START).outcome
    told = run_dates(result, outcome, range(1, 481), START)
    latest = datetime.date.min
    for run in (*range(1, 19), *range(19, 140, 7), *range(360, 480, 37)):
        plan = plan_run(replace(result, case=replace(case, run=run)), outcome.name, molds=molds, start=START)
        assert plan.finish.date() <= told[run].delivery, run
        assert plan.first_casting.date() <= told[run].first_casting, run
        latest = max(latest, plan.finish.date())
        if run <= 18:
            assert plan.pours <= 20
            assert told[run].delivery == latest, run
    days = [told[run].delivery for run in sorted(told)]
    assert days == sorted(days)


@pytest.mark.parametrize("molds", [1, 3])
def test_more_time_to_finish_a_casting_never_brings_a_date_forward(compared: compares, molds: int) -> None:
    result = compared(replace(BUST, molds=molds))
    outcome = quote(result, date=DAY, start=START).outcome
    told = [run_dates(result, outcome, RUNS, START, Finish("painted", minutes * 60.0)) for minutes in range(0, 241, 20)]
    for sooner, later in pairwise(told):
        for run in RUNS:
            assert sooner[run].delivery <= later[run].delivery, run
            assert sooner[run].first_casting <= later[run].first_casting, run
    assert told[0] == run_dates(result, outcome, RUNS, START)


def test_painting_that_fills_a_pair_of_hands_for_ten_days_is_in_the_date(knowledge: Knowledge) -> None:
    """80 hours by one pair of hands are ten days of eight, whatever else waits for a cure."""
    one = {"people": [{"name": "One pair of hands"}], "hours_a_day": "8 h"}
    case = replace(read_job(knowledge.folder / "jobs" / "captain.toml"), shop=one, molds=10)
    plain = quote(compare(case, knowledge), date=DAY, start=START)
    case = replace(case, quote={"finish": "painted by hand", "finish_time": "2 h"})
    painted = quote(compare(case, knowledge), date=DAY, start=START)
    assert (painted.asked.attended - plain.asked.attended) / 3600 == pytest.approx(80)
    before, after = plain.asked.charge.delivery, painted.asked.charge.delivery
    assert before is not None
    assert after is not None
    days_before, days = (int(np.busday_count(START, day + datetime.timedelta(days=1))) for day in (before, after))
    assert days * 8 >= painted.asked.attended / 3600 > days_before * 8
    assert days - days_before >= 10 - (days_before - plain.asked.attended / 3600 / 8), "less what stood idle before"


def test_a_master_is_not_finished_for_a_client(compared: compares) -> None:
    result = compared(replace(BUST, survives=False))
    work = with_finish(work_of(result, quote(result, date=DAY).outcome, START), Finish("painted", 7200.0)).work
    assert [task.words for task in work.casting.of_a_master()[2]] == [
        f"{CAST_MASTER}: {task.words}" for task in work.casting.after
    ]
    assert [task.words for task in work.casting.sold_after[len(work.casting.after) :]] == [FINISHING]


def test_a_run_has_the_same_dates_whatever_others_are_asked_for(compared: compares) -> None:
    """So the quote, the page's table and the lists on paper agree."""
    found = quote(compared(replace(BUST, molds=3, run=130)), terms=TERMS, date=DAY, start=START)
    table = found.for_client().table([found.result.longest], range(1, 400))
    for run in (1, 4, 39, 100, 117, 118, 130, 399):
        charge = found.by_run([run])[0].charge
        assert (charge.first_casting, charge.delivery) == (table.first_casting[0][run - 1], table.delivery[0][run - 1])
    days = [day for day in table.delivery[0] if day is not None]
    assert days == sorted(days), "more castings are never told an earlier day"


def test_a_quicker_way_for_longer_runs_brings_none_of_them_forward(
    knowledge: Knowledge, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Finials are made in a block up to some run, then in another way, which is given a date a week sooner here."""
    result = compare(read_job(knowledge.folder / "jobs" / "finial.toml"), knowledge)
    prices = quote(result, terms=TERMS, date=DAY, start=START).prices
    before, after = prices.outcome(1), prices.outcome(1_000)
    assert before is not None
    assert before is not after
    last = max(run for run in range(1, 1_001) if prices.outcome(run) is before)
    late = Dates(START, datetime.date(2027, 1, 20))
    soon = Dates(START, datetime.date(2027, 1, 13))

    def dated(
        result: Comparison, outcome: Outcome, runs: Iterable[int], start: datetime.date, finish: Finish
    ) -> dict[int, Dates]:
        return dict.fromkeys(runs, late if outcome is before else soon)

    monkeypatch.setattr("moldkit.study.quote_prices.run_dates", dated)
    assert prices.dates([last + 1]) == {last + 1: late}
    assert prices.dates([last, last + 1, 1_000]) == dict.fromkeys([last, last + 1, 1_000], late)


TASK = Task("pour", 600.0, 3600.0, "caster")


def a_work(life: int, stays: bool) -> Work:
    return Work((TASK,), (TASK,), (TASK,), Castings(TASK, TASK, ()), 1, 1, life, stays)


def test_where_the_plan_does_not_hang_on_the_run_few_are_planned() -> None:
    # by hand: from twenty on, each twice as long as the one before
    assert list(planned_pours(a_work(39, True), 1, 300)) == [20, 40, 80, 160, 320]


def test_else_all_short_runs_are_planned_and_those_that_wear_out_their_molds() -> None:
    # by hand: a quarter longer each time from twenty on, stopped at whole molds of 39 pours
    found = list(planned_pours(a_work(39, True), 3, 120))
    assert found == [*range(1, 21), 25, 31, 38, 39, 48, 60, 75, 78, 97, 117, 146]
    # a lost pattern takes a pour of each mold but the last for a master: 39, 77, 115
    found = list(planned_pours(a_work(39, False), 1, 115))
    assert found == [*range(1, 21), 25, 31, 38, 39, 48, 60, 75, 77, 96, 115]


@pytest.mark.parametrize(("life", "molds"), [(39, 3), (6, 2), (2, 20), (400, 2)])
@pytest.mark.parametrize("stays", [True, False])
def test_planned_runs_are_never_far_apart(life: int, molds: int, stays: bool) -> None:
    planned = list(planned_pours(a_work(life, stays), molds, 5_000))
    assert planned[-1] >= 5_000
    assert all(shorter < longer <= 1.25 * shorter for shorter, longer in pairwise(planned[19:]))
    assert list(planned_pours(a_work(life, stays), molds, planned[40])) == planned[:41]


def test_molds_side_by_side_bring_the_delivery_forward(compared: compares) -> None:
    one, three = (offer_of(compared(replace(BUST, run=90, molds=molds))).asked for molds in (1, 3))
    assert one.delivery is not None
    assert three.delivery is not None
    assert three.delivery < one.delivery
    plan = plan_run(
        compared(replace(BUST, run=90)), quote(compared(replace(BUST, run=90, molds=3))).outcome.name, molds=3,
        start=START,
    )  # fmt: skip
    assert three.delivery == plan.finish.date()


def test_without_a_start_and_for_a_run_too_long_to_plan_there_are_no_dates(compared: compares) -> None:
    offer = quote(compared(BUST), terms=TERMS, date=DAY).for_client()
    assert (offer.start, offer.asked.first_casting, offer.asked.delivery) == (None, None, None)
    assert not any("Dates" in words for words in offer.terms)
    table = offer_of(compared(BUST)).table([0.2], [40, 20_000])
    assert table.delivery[0][0] is not None
    assert table.delivery[0][1] is None


def test_the_terms_are_told_in_sentences(compared: compares) -> None:
    words = " ".join(offer_of(compared(BUST)).terms)
    assert "by 25 Dec 2026." in words
    assert "The mold is charged once, on a line of its own." in words
    assert "stays with Tidewater Lane Castings" in words
    assert "90.00 USD before tax" in words
    assert "Sales tax of 8.25 % is added." in words
    assert "work that begins on 1 Dec 2026." in words
    assert "come to less together by 0.05 USD a casting or more" in words
    owned = offer_of(compared(BUST), replace(TERMS, mold_owner="client", tooling="spread", tax=Decimal(0)))
    words = " ".join(owned.terms)
    assert "belongs to the client" in words
    assert "in the price of the castings" in words
    assert "Taxes are not included." in words


def test_listed_runs_are_the_breaks_and_the_run_asked_for(compared: compares) -> None:
    offer = offer_of(compared(BUST), replace(TERMS, price_breaks=(10, 25, 100)))
    assert [line.run for line in offer.lines] == [1, 10, 25, 40, 100]
    assert offer.lines[2].each == offer.lines[3].each
    assert offer.lines[3] == offer.asked
    assert {9, 10, 24, 25, 99, 100} <= set(offer.runs)


def test_what_is_drawn_tells_nothing_of_where_the_way_of_working_changes(compared: compares) -> None:
    """The runs drawn are the same whatever the costs are."""
    cheap = offer_of(compared(BUST))
    dear = offer_of(compared(replace(BUST, shop={"labor_rate": 90})))
    assert cheap.runs == dear.runs
    assert cheap.each != dear.each


def test_an_offer_is_never_written_with_the_shops_figures_behind_it(compared: compares) -> None:
    offer = offer_of(compared(BUST))
    with pytest.raises((pickle.PicklingError, AttributeError)):
        pickle.dumps(offer)
    assert "Comparison" not in repr(offer)
    assert not any(isinstance(getattr(offer, f.name), Comparison) for f in fields(offer))
    assert copy.copy(offer) == replace(offer)
    assert {f.name for f in fields(OfferLine)} == {
        "run", "each", "castings", "tooling", "subtotal", "tax", "total", "as_for", "least", "first_casting",
        "delivery",
    }  # fmt: skip
