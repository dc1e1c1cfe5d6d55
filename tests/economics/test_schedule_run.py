"""The run simulated: hand-computed runs, and the laws that every run obeys."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from moldkit.economics.schedule.calendar import DAY, Calendar
from moldkit.economics.schedule.done import Done
from moldkit.economics.schedule.learning import unit_factors
from moldkit.economics.schedule.simulate import simulate
from moldkit.economics.schedule.work import PATTERN, POT, Castings, Crew, Task, Work
from moldkit.errors import InputError
from tests.economics.schedule_works import ALL, HOUR, MONDAY, calendars, crews, overlaps, works

# One pair of hands from 8 to 16. A mold takes 1 h and cures for 10 h; a casting 0.5 h, 1 h of cure, 0.25 h to take it
# out and 0.25 h to finish; 0.5 h of set-up a day.
MAKE = (Task("make", HOUR, 10 * HOUR, "mold maker", True),)
CASTING = Castings(
    Task("pour", 0.5 * HOUR, HOUR, "caster", True), Task("demold", 0.25 * HOUR, 0.0, "caster"),
    (Task("finish", 0.25 * HOUR, 0.0, "helper"),), 0.5 * HOUR,
)  # fmt: skip
WORK = Work(MAKE, MAKE, MAKE, CASTING, pours=3, castings=3, life=10)
SHIFTS = Calendar(MONDAY)


def hours(times: tuple[float, ...]) -> list[float]:
    return [time / HOUR for time in times]


def test_one_mold_and_one_pair_of_hands_by_hand() -> None:
    """By hand: made Monday 8 to 9, cured at 19; Tuesday set up 8, pour 8:30, cured 10, out 10:15, finished 10:30;
    pour 10:30, cured 12, out 12:15, pour 12:15 (before finishing), finished 13; cured 13:45, out 14, finished 14:15."""
    done = simulate(WORK, Crew((ALL,)), SHIFTS, 1)
    assert hours(done.made) == [19.0]
    assert hours(done.out) == [34.5, 37.0, 38.25]
    assert done.setups == 1
    assert sum(done.worked) == pytest.approx((1.0 + 0.5 + 3 * 1.0) * HOUR)


def test_a_second_mold_waits_for_the_pattern_and_then_casts_beside_the_first() -> None:
    """By hand: the pattern is free on Monday at 19; mold 2 is made Tuesday 8 to 9 and cured at 19. The hands make it
    first, then set up and pour at 9:30, and the three castings come from mold 1 alone."""
    done = simulate(WORK, Crew((ALL,)), SHIFTS, 2)
    assert hours(done.made) == [19.0, 43.0]
    assert hours(done.out) == [35.5, 38.0, 39.25]
    assert done.pours_by_place == (3, 0)


def test_a_worn_out_mold_is_remade_only_while_pours_are_left() -> None:
    for pours, molds in ((2, 1), (3, 2), (4, 2), (5, 3)):
        done = simulate(replace(WORK, pours=pours, castings=pours, life=2), Crew((ALL,)), SHIFTS, 1)
        assert done.molds == molds


def test_a_mold_that_rests_for_a_day_is_poured_every_second_day() -> None:
    resting = replace(WORK, casting=replace(CASTING, rest_days=1), pours=6, castings=6)
    done = simulate(resting, Crew((ALL,)), SHIFTS, 1, keep_tasks=True)
    days = sorted({int(task.booking.begins // DAY) for task in done.tasks if task.task.words == "pour"})
    assert days == [1, 3] and done.setups == 2


def test_one_pot_holds_one_mold_at_a_time() -> None:
    """Three molds that are ready cast under pressure: with one pot the cures follow on each other."""
    pressed = replace(CASTING, pour=replace(CASTING.pour, kept=(POT,)), setup=0.0, after=())
    quick = (Task("make", 60.0, 0.0, "mold maker"),)
    work = Work(quick, quick, quick, pressed, pours=3, castings=3, life=10)
    people = (ALL,) * 4
    outs = [simulate(work, Crew(people, {POT: pots}), SHIFTS, 3).finish / HOUR for pots in (1, 3)]
    assert outs[0] == pytest.approx(8 + 1 / 60 + 3 * 1.5 + 0.25)
    assert outs[1] == pytest.approx(8 + 3 / 60 + 1.5 + 0.25)


def test_a_rejected_share_leaves_whole_castings_to_be_counted_on() -> None:
    """By hand: 4 castings a pour, 9 of 10 good: 3.6, 7.2, 10.8, 18, 36; and 60 good of 95 in 100 take 64, not 63."""
    casting = replace(CASTING, good_share=0.9, cavities=4)
    assert [casting.good(pours) for pours in (1, 2, 3, 5, 10)] == [3, 7, 10, 18, 36]
    assert [replace(CASTING, good_share=0.95).good(pours) for pours in (63, 64)] == [59, 60]


# A mold takes an hour and no cure; the pattern is lost with the first one.
QUICK = (Task("make", HOUR, 0.0, "mold maker"),)
LOST = Work(QUICK, QUICK, QUICK, replace(CASTING, setup=0.0), pours=4, castings=4, life=3, shared_pattern=False)


def test_the_master_for_a_remake_is_cast_in_the_mold_that_it_follows_by_hand() -> None:
    """By hand, life 3, 4 castings: mold 1 is made 8 to 9, casts the master 9 to 9:30, which has cured at 10:30 and is
    out at 10:45, finished at once like a first casting. It gives two castings more, and mold 2 the other two."""
    done = simulate(LOST, Crew((ALL,)), SHIFTS, 1, keep_tasks=True)
    assert (done.molds, done.masters, done.pours_by_place) == (2, 1, (4,))
    told = [(one.task.words, one.mold, one.booking.begins / HOUR) for one in done.tasks]
    master = CASTING.of_a_master()
    assert told[:4] == [
        ("make", 1, 8.0), (master[0].words, 1, 9.0), (master[1].words, 1, 10.5), (master[2][0].words, 1, 10.75)
    ]  # fmt: skip
    assert [mold for words, mold, _ in told if words == "pour"] == [1, 1, 2, 2]


def test_molds_beside_the_first_wait_for_a_master_each_out_of_a_mold_that_is_made() -> None:
    done = simulate(replace(LOST, life=20), Crew((ALL, ALL)), SHIFTS, 3, keep_tasks=True)
    made = [one for one in done.tasks if one.task.words == "make"]
    masters = [
        one for one in done.tasks if one.pour < 0 and one.task is not CASTING.pour and "finish" in one.task.words
    ]
    assert [one.made for one in made] == ["first", "beside", "beside"] and [one.place for one in made] == [1, 2, 3]
    for nth, further in enumerate(made[1:]):
        assert masters[nth].booking.ends <= further.booking.begins
    assert all(one.mold == 1 for one in masters) and done.masters == 2


def test_a_lost_pattern_and_molds_of_one_pour_cannot_be_planned() -> None:
    assert simulate(replace(LOST, life=1, pours=1, castings=1), Crew((ALL,)), SHIFTS, 1).molds == 1
    with pytest.raises(InputError, match="cannot give both a casting and the master for the next mold"):
        replace(LOST, life=1)


def test_a_mold_that_dies_before_its_time_still_leaves_a_master() -> None:
    """Planned to last 10, each gives 2 pours, the last of them known to be the last: a master and a casting."""
    done = simulate(replace(LOST, life=10), Crew((ALL,)), SHIFTS, 1, lives=[2, 2, 2, 2], keep_tasks=True)
    assert len(done.out) == 4 and done.masters == done.molds - 1 == 2


def test_learning_takes_off_the_hands_time_of_later_castings() -> None:
    done = simulate(replace(WORK, casting=replace(CASTING, learning=0.8)), Crew((ALL,)), SHIFTS, 1)
    assert sum(done.worked) == pytest.approx((1.0 + 0.5 + sum(unit_factors(3, 0.8))) * HOUR)


def check_nobody_and_nothing_is_in_two_places(done: Done) -> None:
    by_person: dict[int, list[tuple[float, float]]] = {}
    by_machine: dict[tuple[str, int], list[tuple[float, float]]] = {}
    for one in done.tasks:
        booking = one.booking
        by_person.setdefault(booking.person, []).append((booking.begins, booking.ends))
        for machine, number in booking.machines:
            if machine != PATTERN:
                stays = booking.ends + (one.task.wait if machine in one.task.kept else 0.0)
                by_machine.setdefault((machine, number), []).append((booking.begins, stays))
    for spans in (*by_person.values(), *by_machine.values()):
        assert overlaps(spans) == []


def check_steps_wait_for_their_cures(done: Done, work: Work) -> None:
    """Every mold's own tasks follow on each other, and its castings on them and on each other."""
    casting, free = work.casting, {}
    on_pattern = []
    for mold in range(1, done.molds + 1):
        own = sorted(
            (one for one in done.tasks if one.mold == mold and not one.pour), key=lambda one: one.booking.begins
        )
        chain = [one.task for one in own]
        assert tuple(chain) in (work.first, work.beside, work.again)
        moment = 0.0
        for one in own:
            assert one.booking.begins >= moment - 1e-3
            moment = one.booking.ends + one.task.wait
        free[mold] = moment
        on_pattern.append((min(one.booking.begins for one in own if one.task.on_pattern), moment))
    if work.shared_pattern:
        assert overlaps(on_pattern) == []
    master = casting.of_a_master()
    poured = {one.pour: one for one in done.tasks if one.pour and one.task in (casting.pour, master[0])}
    out = {one.pour: one for one in done.tasks if one.pour and one.task in (casting.demold, master[1])}
    pours = [*range(-done.masters, 0), *range(1, work.pours + 1)]
    assert sorted(poured) == sorted(out) == pours
    for pour in sorted(poured, key=lambda pour: poured[pour].booking.begins):
        one = poured[pour]
        assert one.booking.begins >= free[one.mold] - 1e-3
        assert out[pour].booking.begins >= one.booking.ends + casting.pour.wait - 1e-3
        free[one.mold] = out[pour].booking.ends + casting.rest


def check_hours_booked_are_hours_needed(done: Done, work: Work) -> None:
    casting = work.casting
    each = sum(task.attended for task in (casting.pour, casting.demold, *casting.after))
    needed = each * sum(unit_factors(work.pours, casting.learning)) + done.setups * casting.setup
    needed += sum(one.task.attended for one in done.tasks if one.pour <= 0)
    assert sum(done.worked) == pytest.approx(needed)
    stretches = sum(ends - begins for one in done.tasks for begins, ends in one.stretches)
    assert stretches == pytest.approx(needed)


def check_work_is_in_working_time(done: Done, calendar: Calendar) -> None:
    windows = []
    for opens, closes in calendar.windows():
        windows.append((opens, closes))
        if closes > max(one.booking.ends for one in done.tasks):
            break
    for one in done.tasks:
        if one.task.whole and one.booking.ends - one.booking.begins > calendar.hours_a_day + 1e-3:
            assert any(one.booking.begins == pytest.approx(opens) for opens, _ in windows)
            continue
        for begins, ends in one.stretches:
            assert any(opens - 1e-3 <= begins and ends <= closes + 1e-3 for opens, closes in windows)
        if one.task.whole:
            assert len(one.stretches) == 1


def check_molds_live_and_rest_as_they_should(done: Done, work: Work, lives: list[int]) -> None:
    days: dict[int, list[int]] = {}
    for one in done.tasks:
        if one.pour and one.task in (work.casting.pour, work.casting.of_a_master()[0]):
            days.setdefault(one.mold, []).append(int((one.booking.begins + 1e-3) // DAY))
    for mold, poured in days.items():
        assert len(poured) <= lives[mold - 1]
        for day in set(poured):
            resting = set(range(day + 1, day + 1 + work.casting.rest_days))
            assert not resting & set(poured)
    assert sum(done.pours_by_place) == work.pours


def check_masters_come_before_their_molds(done: Done, work: Work) -> None:
    """Each mold but the first has a master that was finished, out of a mold made before, when it was begun."""
    if work.shared_pattern:
        assert done.masters == 0
        return
    finished: dict[int, float] = {}
    for one in done.tasks:
        if one.pour < 0:
            finished[one.pour] = max(finished.get(one.pour, 0.0), one.booking.ends)
    begun = sorted(
        min(one.booking.begins for one in done.tasks if one.mold == mold and not one.pour)
        for mold in range(2, done.molds + 1)
    )
    assert len(finished) == done.masters >= done.molds - 1
    for ready, begins in zip(sorted(finished.values()), begun, strict=False):
        assert ready <= begins + 1e-3


def check_molds_follow_on_each_other_in_their_places(done: Done) -> None:
    place_of = {one.mold: one.place for one in done.tasks}
    made = {one.mold: one.made for one in done.tasks}
    assert [mold for mold, how in made.items() if how == "first"] == [1]
    places: set[int] = set()
    for mold, place in sorted(place_of.items()):
        assert (made[mold] == "remade") == (place in places)
        places.add(place)
    assert places == set(range(1, len(done.pours_by_place) + 1))


@settings(max_examples=150)
@given(works(), crews(), calendars(), st.integers(1, 6), st.data())
def test_every_run_keeps_the_laws_of_hands_molds_machines_and_cures(
    work: Work, crew: Crew, calendar: Calendar, molds: int, data: st.DataObject
) -> None:
    number = work.pours + molds
    drawn = data.draw(st.none() | st.lists(st.integers(1, 9), min_size=number, max_size=number))
    done = simulate(work, crew, calendar, molds, lives=drawn, keep_tasks=True)
    # Masters may wear out more molds than lives were drawn for: those last as long as planned.
    lives = [*(drawn or ()), *[work.life] * (2 * number)]
    assert len(done.out) == work.pours and list(done.out) == sorted(done.out)
    assert work.casting.good(work.pours) >= work.castings > work.casting.good(work.pours - 1)
    check_masters_come_before_their_molds(done, work)
    check_molds_follow_on_each_other_in_their_places(done)
    check_nobody_and_nothing_is_in_two_places(done)
    check_steps_wait_for_their_cures(done, work)
    check_hours_booked_are_hours_needed(done, work)
    check_work_is_in_working_time(done, calendar)
    check_molds_live_and_rest_as_they_should(done, work, lives)


@settings(max_examples=40)
@given(works(), crews(), calendars(), st.integers(1, 6))
def test_keeping_the_tasks_changes_nothing(work: Work, crew: Crew, calendar: Calendar, molds: int) -> None:
    told, bare = (simulate(work, crew, calendar, molds, keep_tasks=keep) for keep in (True, False))
    assert replace(told, tasks=()) == bare


@settings(max_examples=40)
@given(works(), crews(), calendars(), st.integers(1, 5))
def test_no_more_molds_are_made_than_their_life_asks_for_and_those_side_by_side(
    work: Work, crew: Crew, calendar: Calendar, molds: int
) -> None:
    done = simulate(work, crew, calendar, molds)
    assume(work.shared_pattern)
    fewest = -(-work.pours // work.life)
    assert fewest <= done.molds <= fewest + molds - 1
