"""The run planned from a job: its cost against the comparison's, its bars against the hours, its bottleneck proved."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from moldkit.economics.renewal import expected_molds
from moldkit.economics.schedule.calendar import WEEKDAYS
from moldkit.economics.schedule.tasks import another_shell, mold_tasks, shares_beside
from moldkit.errors import InputError
from moldkit.study.case import Case
from moldkit.study.compare import Comparison
from moldkit.study.knowledge import Knowledge
from moldkit.study.planned_work import drawn_lives, life_of, outcome_named, work_of
from moldkit.study.run_bars import Bar
from moldkit.study.run_plan import RunPlan, plan_run
from tests.economics.schedule_works import overlaps
from tests.study.planned import FIGURE, START, demo_job, figure

Compared = Callable[[Case], Comparison]
TECHNIQUES = ("poured block", "brushed skin", "cavity pour", "cavity pour, printed shell")
JOBS = ("finial", "head", "panel", "heron", "corbel", "knob", "figure", "medal", "boss")


@pytest.mark.parametrize("name", JOBS)
def test_with_one_mold_the_plan_costs_what_the_comparison_says(
    name: str, knowledge: Knowledge, compared: Compared
) -> None:
    result = demo_job(name, knowledge, compared)
    planned = [outcome for outcome in result.outcomes if outcome.life is not None and not outcome.stop_at()]
    assert planned
    for outcome in planned:
        plan, total = plan_run(result, outcome.name, molds=1, start=START), result.total(outcome)
        assert total is not None and plan.cost.value == total.value
        molds = result.molds(outcome)
        assert molds is not None and plan.expected_molds.value == molds.value


def test_whole_kits_cost_as_much_in_the_plan_as_in_the_comparison(compared: Compared) -> None:
    result = figure(compared, whole_kits=True)
    for outcome in result.outcomes:
        total = result.total(outcome)
        assert total is not None and total.value != result.by_weight.total(outcome).value  # type: ignore[union-attr]
        assert plan_run(result, outcome.name, molds=1).cost.value == total.value


@pytest.mark.parametrize("name", JOBS)
def test_a_molds_tasks_take_the_hours_and_waits_of_its_plan(
    name: str, knowledge: Knowledge, compared: Compared
) -> None:
    """The attended hours and the elapsed hours of the comparison, the masters of a block's further cavities apart."""
    result = demo_job(name, knowledge, compared)
    for outcome in result.outcomes:
        if outcome.life is None:
            continue
        work = work_of(result, outcome, START).work
        masters = outcome.plan.cavities - 1
        first = work.first[1:] if masters else work.first
        assert sum(task.attended for task in first) == pytest.approx(outcome.attended_first.at(0))
        assert sum(task.attended + task.wait for task in first) == pytest.approx(outcome.elapsed_first.at(0))
        # Where the pattern is lost a remake's master is a pour of its own.
        master = 0.0 if result.pattern.survives else outcome.casting["attended"].at(0) / outcome.plan.cavities
        again = sum(task.attended for task in work.again)
        assert again + master == pytest.approx(outcome.attended_remake.at(0))
        each = sum(task.attended for task in (work.casting.pour, work.casting.demold, *work.casting.after))
        share = outcome.casting.steps[-1].at(0)
        assert each + share == pytest.approx(outcome.casting["attended"].at(0))
        assert work.casting.pour.wait == outcome.casting["cure"].at(0)


def test_coats_are_brushed_one_by_one_with_their_gaps_and_the_cure(compared: Compared) -> None:
    result = figure(compared)
    outcome = outcome_named(result, "brushed skin")
    coats = [task for task in work_of(result, outcome, START).work.first if task.words.startswith("each coat")]
    assert len(coats) == outcome.plan["coats"].value
    _, gap, cure = next(step.wait.inputs for step in outcome.plan.steps if step.name == "each coat")
    assert [coat.wait for coat in coats] == [gap.value] * (len(coats) - 1) + [cure.value]
    assert all(coat.whole for coat in coats)


def test_a_block_in_two_pours_cures_twice(compared: Compared) -> None:
    result = figure(compared, pours="two")
    outcome = outcome_named(result, "poured block")
    pours = [task for task in work_of(result, outcome, START).work.first if task.words.startswith("mix, degas")]
    assert len(pours) == 2 and pours[0].wait == pours[1].wait > 0
    assert pours[0].wait + pours[1].wait == next(s.wait.at(0) for s in outcome.plan.steps if s.wait.at(0))


def seconds(bars: list[Bar]) -> float:
    return sum((bar.end - bar.start).total_seconds() for bar in bars)


@pytest.mark.parametrize("technique", TECHNIQUES)
@pytest.mark.parametrize("molds", [1, 3])
def test_the_bars_of_a_person_add_up_to_their_hours_and_never_overlap(
    technique: str, molds: int, compared: Compared
) -> None:
    plan = plan_run(figure(compared), technique, molds=molds)
    for name, hours in plan.hours.items():
        own = [bar for bar in plan.bars if bar.who == name]
        assert all(bar.attended for bar in own)
        # Bars are kept to the second.
        assert seconds(own) == pytest.approx(hours.value, abs=len(own) + 1)
    for who in {bar.who for bar in plan.bars}:
        spans = [(bar.start.timestamp(), bar.end.timestamp()) for bar in plan.bars if bar.who == who]
        assert all(later[0] - first[1] >= -1 for first, later in overlaps(spans))


def test_the_castings_out_end_with_the_run_and_the_first_is_where_the_first_one_is_finished(
    compared: Compared,
) -> None:
    plan = plan_run(figure(compared, good_share=0.9), "cavity pour", molds=2)
    assert plan.castings == 100 and plan.pours == 112
    assert plan.out[-1] == (plan.finish, 100)
    # Nine of ten are good: no good one can be counted on yet, and none but the last pour reaches the run.
    assert plan.out[0] == (plan.first_casting, 0)
    assert [when for when, castings in plan.out if castings >= 100] == [plan.finish]
    finished = [bar for bar in plan.bars if bar.pour == 1 and "finish" in bar.step]
    assert max(bar.end for bar in finished) == plan.first_casting
    assert plan.first_mold < plan.first_casting


def test_nobody_works_on_a_sunday_or_a_holiday_but_cures_go_on(compared: Compared) -> None:
    plan = plan_run(figure(compared, shop={"holidays": [datetime.date(2026, 12, 8)]}), "poured block", molds=1)
    worked = {moment.date() for bar in plan.bars if bar.attended for moment in (bar.start, bar.end)}
    assert datetime.date(2026, 12, 8) not in worked and datetime.date(2026, 12, 7) in worked
    assert {day.weekday() for day in worked} == {0, 1, 2, 3, 4}
    assert any(bar.end.hour >= 16 or bar.end.hour < 8 for bar in plan.bars if not bar.attended)


def test_a_mold_beside_the_first_costs_a_remake_and_a_shell_of_its_own(compared: Compared) -> None:
    """A cavity pour's second shell is laid up over clay, or printed, again; the clay, the box, the drawing serve."""
    result = figure(compared, run=12, life=100)
    rate = result.shop.quantity("labor_rate")
    shells = {}
    for technique in TECHNIQUES:
        outcome = outcome_named(result, technique)
        shells[technique] = another_shell(outcome.plan, outcome.technique.steps.rows, rate).value
        one, two = (plan_run(result, technique, molds=molds) for molds in (1, 2))
        assert (one.molds_made, two.molds_made) == (1, 2)
        setups = sum(q.value for q in two.cost.inputs if q.name.startswith("shared time"))
        assert setups <= 0
        assert two.cost.value - one.cost.value == pytest.approx(outcome.remake.value + shells[technique] + setups)
    assert shells["poured block"] == shells["brushed skin"] == 0
    assert 0 < shells["cavity pour"] < outcome_named(result, "cavity pour").first.value


def test_what_makes_a_second_shell_is_done_again_and_what_serves_again_is_not(compared: Compared) -> None:
    for technique, again, serves in (
        ("cavity pour, printed shell", "print, join, seal", "draw the shell, spout, flanges"),
        ("poured block", "mix, degas, pour", "build and seal the box"),
    ):
        outcome = outcome_named(figure(compared), technique)
        rows = outcome.technique.steps.rows
        shares = shares_beside(outcome.plan, rows)
        assert shares[again] == 1.0 and shares[serves] == 0.0
        beside = mold_tasks(outcome.plan, rows, "beside")
        assert sum(task.attended for task in beside) == pytest.approx(
            sum(step.attended.at(0) * shares[step.name] for step in outcome.plan.steps)
        )


def test_a_second_laid_up_shell_needs_its_clay_blanket_again(compared: Compared) -> None:
    """The clay was stripped for the first mold's rubber: the second shell is laid up over a blanket laid on anew."""
    work = work_of(figure(compared), outcome_named(figure(compared), "cavity pour"), START).work
    assert work.beside == work.first
    assert any("clay blanket" in task.words for task in work.beside)
    assert not any("clay blanket" in task.words for task in work.again)


def test_side_by_side_each_mold_is_charged_the_renewals_of_its_own_pours(compared: Compared) -> None:
    result = figure(compared)
    outcome = outcome_named(result, "poured block")
    plan = plan_run(result, "poured block", molds=3)
    pours = [len({bar.pour for bar in plan.bars if bar.mold == mold and bar.pour}) for mold in (1, 2, 3)]
    assert plan.molds_made == 3 and sum(pours) == 100
    assert plan.expected_molds.value == pytest.approx(expected_molds(life_of(outcome), np.array(pours)).sum())
    one = result.molds(outcome)
    assert one is not None and plan.expected_molds.value > one.value


def test_a_certain_life_counts_the_same_molds_in_the_plan_and_in_the_cost(compared: Compared) -> None:
    for run, molds in ((100, 1), (100, 2), (90, 3), (7, 2)):
        plan = plan_run(figure(compared, run=run, life=40), "cavity pour", molds=molds)
        assert plan.expected_molds.value == plan.molds_made


def test_drawn_lives_repeat_with_their_seed_and_are_counted_in_the_cost(compared: Compared) -> None:
    result = figure(compared)
    one, same, other = (plan_run(result, "cavity pour", molds=1, seed=seed) for seed in (7, 7, 8))
    assert one == same and one.bars != other.bars
    outcome = outcome_named(result, "cavity pour")
    expected = outcome.first.value + (one.molds_made - 1) * outcome.remake.value + 100 * outcome.pour.value
    assert one.cost.value == pytest.approx(expected)


def test_molds_drawn_many_times_are_as_many_as_the_renewal_equation_expects(compared: Compared) -> None:
    """Mean over 300 seeds of the molds one after another, against 1 + m(n - 1); the error is 4 standard errors."""
    result = figure(compared)
    outcome = outcome_named(result, "poured block")
    run, life = work_of(result, outcome, START), life_of(outcome)
    made = [run.simulated(1, drawn_lives(life, 101, seed)).molds for seed in range(300)]
    expected = float(expected_molds(life, np.array([100]))[0])
    assert np.mean(made) == pytest.approx(expected, abs=4 * np.std(made) / np.sqrt(len(made)))


@pytest.mark.parametrize("technique", TECHNIQUES)
def test_the_bottleneck_is_what_saves_most_when_there_is_one_more_of_it(technique: str, compared: Compared) -> None:
    result = figure(compared)
    plan = plan_run(result, technique, molds=1)
    best = plan.extras[0]
    assert best.what == "another mold" and plan.bottleneck.startswith("molds: another mold would save")
    assert plan_run(result, technique, molds=2).finish == plan.finish - best.saved == best.finish
    assert [extra.saved for extra in plan.extras] == sorted((e.saved for e in plan.extras), reverse=True)


def test_one_pot_for_many_molds_is_the_bottleneck(knowledge: Knowledge, compared: Compared) -> None:
    result = demo_job("knob", knowledge, compared)
    plan = plan_run(result, "poured block", molds=3, start=START)
    assert plan.bottleneck.startswith("the pressure pot: another pressure pot would save")
    more = plan_run(result, "poured block", molds=3, start=START, pots=2)
    assert more.finish == plan.extras[0].finish < plan.finish
    assert max(bar.who for bar in more.bars if bar.who.startswith("pressure pot")) == "pressure pot 2"


def test_few_hands_for_many_molds_are_the_bottleneck(compared: Compared) -> None:
    shop = {"people": [{"name": "Ines"}], "rest_between_pours": 0}
    slow = figure(compared, run=300, shop=shop, life=1_000, method="hand rotation", wall=0.006)
    plan = plan_run(slow, "cavity pour", molds=8)
    assert plan.extras[0].kind == "hands" and "another pair of hands" in plan.bottleneck
    assert plan_run(slow, "cavity pour", molds=8, people=2).finish < plan.finish


def test_the_calendar_is_named_where_working_more_days_saves_most(knowledge: Knowledge, compared: Compared) -> None:
    plan = plan_run(demo_job("heron", knowledge, compared), "cavity pour", molds=2, start=START)
    assert plan.bottleneck.startswith("the calendar: to work on Saturdays would save")


def test_molds_that_would_never_be_poured_in_are_not_made(compared: Compared) -> None:
    plan = plan_run(figure(compared, run=2), "cavity pour", molds=10)
    assert plan.molds_made == 1
    assert plan.notes == ("1 of 10 molds side by side are made: a further one would never be poured in.",)


def test_a_lost_pattern_has_a_master_cast_for_each_further_mold(compared: Compared) -> None:
    result = figure(compared, survives=False, run=60)
    plan = plan_run(result, "poured block", molds=2)
    masters = [bar for bar in plan.bars if bar.attended and "master" in bar.step]
    assert plan.masters == plan.molds_made - 1 and {bar.pour for bar in masters} == set(range(-plan.masters, 0))
    assert min(bar.start for bar in masters) >= plan.first_mold
    for mold in range(2, plan.molds_made + 1):
        begun = min(bar.start for bar in plan.bars if bar.mold == mold)
        assert sum(max(b.end for b in masters if b.pour == -n) <= begun for n in range(1, plan.masters + 1)) >= mold - 1
    assert any("pattern is lost" in note for note in plan.notes)


def test_a_mold_gives_its_masters_out_of_its_life(compared: Compared) -> None:
    """Molds of 20 pours: the first gives a master and 19 castings, the second a master and 19, the third 2."""
    result = figure(compared, survives=False, run=40, life=20, good_share=1.0)
    plan = plan_run(result, "poured block", molds=1)
    assert (plan.molds_made, plan.masters) == (3, 2)
    poured = {mold: {bar.pour for bar in plan.bars if bar.mold == mold and bar.pour} for mold in (1, 2, 3)}
    assert [len(poured[mold]) for mold in (1, 2, 3)] == [20, 20, 2]
    assert not any(
        "lost" in n for n in plan_run(figure(compared, survives=False, run=5), "poured block", molds=1).notes
    )


def test_a_further_mold_of_a_lost_pattern_costs_no_more_than_the_comparison_charges(compared: Compared) -> None:
    result = figure(compared, survives=False, run=60)
    outcome = outcome_named(result, "poured block")
    total = result.total(outcome)
    assert total is not None and plan_run(result, "poured block", molds=1).cost.value == total.value


def test_every_bar_of_a_mold_says_its_place_and_how_it_was_made(compared: Compared) -> None:
    plan = plan_run(figure(compared, life=20), "cavity pour", molds=2)
    made = {bar.mold: (bar.place, bar.made) for bar in plan.bars if bar.mold}
    assert made[1] == (1, "first") and made[2] == (2, "beside")
    assert {how for mold, (_, how) in made.items() if mold > 2} == {"remade"} and len(made) == plan.molds_made
    assert all((bar.place, bar.made) == made[bar.mold] for bar in plan.bars if bar.mold)
    assert all((bar.place, bar.made) == (0, "") for bar in plan.bars if not bar.mold)


def test_a_pot_that_stands_under_pressure_after_closing_is_said(knowledge: Knowledge, compared: Compared) -> None:
    plan = plan_run(demo_job("knob", knowledge, compared), "poured block", molds=2, start=START)
    ends = knowledge.shop.quantity("hours_a_day").at(0) / 3600 + knowledge.shop.quantity("day_starts").at(0) / 3600
    late = [
        bar for bar in plan.bars
        if bar.who.startswith("pressure pot")
        and (bar.end.hour + bar.end.minute / 60 > ends or bar.end.date() > bar.start.date())
    ]  # fmt: skip
    said = next(note for note in plan.notes if note.startswith("A pressure pot stands under pressure"))
    assert late and f"{len(late)} times, first from" in said and f"to {late[0].end:%a} {late[0].end.day}" in said


def test_a_print_that_runs_when_nobody_is_there_is_said(compared: Compared) -> None:
    notes = plan_run(figure(compared), "cavity pour, printed shell", molds=1).notes
    assert any(note.startswith("A printer runs when nobody is at work, once, from") for note in notes)
    day = figure(compared, shop={"hours_a_day": 24, "working_days": list(WEEKDAYS)})
    assert not any("A printer" in note for note in plan_run(day, "cavity pour, printed shell", molds=1).notes)


def test_a_gang_mold_says_that_its_masters_come_from_a_mold_not_planned(
    knowledge: Knowledge, compared: Compared
) -> None:
    result = demo_job("knob", knowledge, compared)
    gang, single = (plan_run(result, name, molds=1, start=START).notes for name in ("poured block", "cavity pour"))
    assert any("neither the times nor the cost" in note for note in gang)
    assert not any("neither the times nor the cost" in note for note in single)


def test_the_set_ups_that_a_mold_s_pours_are_charged_with_are_about_those_that_are_scheduled(
    knowledge: Knowledge, compared: Compared
) -> None:
    """A day's pours hang on what is done at the mold: cleaning and finishing a casting goes on while the next sets.

    The first day of each mold is part of one, and so may be the last: those are allowed for.
    """
    for name in ("finial", "boss", "corbel", "figure", "medal", "panel"):
        result = demo_job(name, knowledge, compared)
        for outcome in (o for o in result.outcomes if o.life is not None and not o.stop_at()):
            run = work_of(result, outcome, START)
            done = run.simulated(1)
            charged = run.work.pours / outcome.casting["a_day"].at(0)
            assert charged <= done.setups + 1e-9
            assert done.setups <= charged + 1 + 1.5 * done.molds + 0.15 * charged


def test_learning_saves_hands_and_their_cost_and_nothing_else(compared: Compared) -> None:
    plain, learned = (
        plan_run(figure(compared, shop={"learning_rate": rate}), "poured block", molds=1) for rate in (100, 90)
    )
    saved = sum(q.value for q in plain.hours.values()) - sum(q.value for q in learned.hours.values())
    rate = figure(compared).shop.quantity("labor_rate").value
    assert saved > 0
    assert plain.cost.value - learned.cost.value == pytest.approx(saved * rate, rel=1e-6)


def test_an_older_shop_is_one_pair_of_hands_from_eight_on_weekdays(compared: Compared) -> None:
    result = figure(compared)
    keys = {"people", "day_starts", "working_days", "holidays", "pressure_pots", "vacuum_chambers", "printers"}
    older = {**result.knowledge.shop.values, **dict.fromkeys((*keys, "mold_rest_days", "learning_rate"))}
    shop = replace(result.knowledge.shop, values=older)
    plan: RunPlan = plan_run(replace(result, knowledge=replace(result.knowledge, shop=shop)), "poured block", molds=1)
    assert list(plan.hours) == ["pair of hands 1"]
    assert plan.bars[0].start == datetime.datetime(2026, 11, 30, 8)
    assert {bar.start.weekday() for bar in plan.bars if bar.attended} == {0, 1, 2, 3, 4}


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"molds": 0}, "whole number of molds side by side, 1 to 50"),
        ({"molds": 1.5}, "whole number of molds side by side, 1 to 50"),
        ({"molds": 1, "people": 0}, "people: 0"),
        ({"molds": 1, "pots": -1}, "pots: -1"),
        ({"molds": 1, "chambers": 0}, "needs a vacuum chamber and the shop has none"),
    ],
)
def test_what_cannot_be_planned_is_told_in_one_sentence(given: dict[str, int], words: str, compared: Compared) -> None:
    with pytest.raises(InputError, match=words):
        plan_run(figure(compared), "poured block", **given)  # type: ignore[arg-type]


def test_an_unknown_technique_names_the_nearest(compared: Compared) -> None:
    with pytest.raises(InputError, match="did you mean 'cavity pour'"):
        plan_run(figure(compared), "cavity por", molds=1)


def test_a_skill_that_nobody_has_is_named(compared: Compared) -> None:
    result = figure(compared, shop={"people": [{"name": "Ines", "skills": ["caster", "helper"]}]})
    with pytest.raises(InputError, match="nobody at work has the skill 'mold maker'"):
        plan_run(result, "poured block", molds=1)


def test_without_a_start_the_job_says_when(compared: Compared) -> None:
    assert FIGURE.start == START
    assert plan_run(figure(compared), "poured block", molds=1).start == START
