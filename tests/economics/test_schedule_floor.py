"""The core of the schedule against published sequencing, network and queueing examples."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import permutations
from typing import Any

import networkx
import numpy as np
import pytest

from moldkit.economics.schedule.floor import Floor, Kind
from moldkit.errors import InputError
from tests.economics.schedule_works import ALL, HOUR, floor_round_the_clock

MAKE, CAST = Kind("mold maker"), Kind("caster")
BENCH = (frozenset({"mold maker"}), frozenset({"caster"}))

# Published exercises on two work centres in a row: (times at the first and the second, sequence by Johnson's rule,
# time until the last is done). The sequences are those printed; the times are recomputed by brute force over all
# orders. For the last one the printed answer, 26, is when the first centre is done; the second is done at 28.
TWO_CENTRES = [
    ({"A": (5, 2), "B": (3, 6), "C": (8, 4), "D": (10, 7), "E": (7, 12)}, "BEDCA", 35),
    ({"A": (4, 2), "B": (3, 5), "C": (5, 1), "D": (7, 3), "E": (8, 6)}, "BEDAC", 28),
    ({"A": (5, 5), "B": (4, 3), "C": (8, 9), "D": (2, 7), "E": (6, 8), "F": (12, 15)}, "DECFAB", 51),
    ({"1": (30, 25), "2": (14, 18), "3": (30, 19)}, "213", 93),
    ({"L": (10, 2), "M": (5, 4), "N": (7, 5), "O": (3, 6), "P": (1, 7)}, "PONML", 28),
]


@dataclass
class TwoStages:
    """Jobs that go through the mold maker's hands and then the caster's, in the order they are given."""

    times: Mapping[str, tuple[int, int]]
    ended: dict[str, float] = field(default_factory=dict)

    def makespan(self, order: Sequence[str]) -> float:
        """Return when the last job is done, booked on a floor with one mold maker and one caster."""
        floor = floor_round_the_clock(BENCH, (MAKE, CAST))
        for job in order:
            floor.ask(0, self.times[job][0], (0, job))

        def then(token: Any, now: float, _: tuple[int, ...]) -> None:
            stage, job = token
            if stage == 0:
                floor.ask(1, self.times[job][1], (1, job))
            else:
                self.ended[job] = now

        floor.run(then)
        return max(self.ended.values())


@pytest.mark.parametrize(("times", "order", "makespan"), TWO_CENTRES)
def test_molds_made_and_cast_in_johnsons_order_are_out_when_the_published_cases_say(
    times: dict[str, tuple[int, int]], order: str, makespan: float
) -> None:
    """Johnson, Optimal two- and three-stage production schedules with setup times included, 1954."""
    assert TwoStages(times).makespan(order) == makespan


@pytest.mark.parametrize(("times", "order", "makespan"), TWO_CENTRES)
def test_no_order_of_the_jobs_beats_johnsons(times: dict[str, tuple[int, int]], order: str, makespan: float) -> None:
    spans = {"".join(jobs): TwoStages(times).makespan(jobs) for jobs in permutations(times)}
    assert min(spans.values()) == makespan == spans[order]


def test_shortest_first_on_one_bench_has_the_published_mean_flow_time() -> None:
    """Mechanical Engineers' Handbook, vol. 3, production planning, example 10: 7, 6, 8, 5 days, mean flow 15 days."""
    floor = floor_round_the_clock([ALL], (CAST,))
    ended: list[float] = []
    for days in sorted((7, 6, 8, 5)):
        floor.ask(0, days, days)
    floor.run(lambda token, now, _: ended.append(now))
    assert sum(ended) / len(ended) == 15


# Activity, mean of its three-point estimate, what it comes after: the worked network of the Project Management
# Knowledge Center's page on the program evaluation and review technique (critical path A-B-E-F; path means computed).
NETWORK = {"A": (5, ""), "B": (3, "A"), "C": (1, "A"), "D": (2, "B"), "E": (3, "BC"), "F": (4, "DE")}


def test_a_network_of_steps_takes_as_long_as_its_critical_path() -> None:
    floor = floor_round_the_clock([frozenset({name}) for name in NETWORK], [Kind(name) for name in NETWORK])
    places = {name: place for place, name in enumerate(NETWORK)}
    ended: dict[str, float] = {}

    def ask_what_is_ready() -> None:
        for name, (mean, before) in NETWORK.items():
            if name not in asked and all(step in ended for step in before):
                asked.add(name)
                floor.ask(places[name], mean, name)

    def then(token: Any, now: float, _: tuple[int, ...]) -> None:
        ended[token] = now
        ask_what_is_ready()

    asked: set[str] = set()
    ask_what_is_ready()
    floor.run(then)
    graph = networkx.DiGraph()
    for name, (mean, before) in NETWORK.items():
        for step in before or ["start"]:
            graph.add_edge(step, name, weight=mean)
    assert max(ended.values()) == 15 == networkx.dag_longest_path_length(graph)
    assert networkx.dag_longest_path(graph) == ["start", "A", "B", "E", "F"]


@dataclass
class Queue:
    """Castings that come in at random to so many benches: Poisson arrivals, exponential times."""

    arrive: float
    serve: float
    benches: int
    customers: int = 80_000

    def run(self) -> tuple[float, float, float, float]:
        """Return (mean number inside over time, mean time inside, share of the benches' time worked, arrival rate)."""
        rng = np.random.default_rng(2026)
        came = np.cumsum(rng.exponential(1 / self.arrive, self.customers))
        takes = rng.exponential(1 / self.serve, self.customers)
        floor = Floor(
            [(0.0, float("inf"))], float("inf"), [ALL] * self.benches, {}, (CAST,), keep_bookings=False
        )  # fmt: skip
        left = np.zeros(self.customers)
        for number, moment in enumerate(came):
            floor.at(moment, number)

        def then(token: int, now: float, _: tuple[int, ...]) -> None:
            if token >= 0:
                floor.ask(0, takes[token], -token - 1)
            else:
                left[-token - 1] = now

        floor.run(then)
        steps = np.concatenate([came, left])
        order = np.argsort(steps)
        inside = np.cumsum(np.repeat([1, -1], self.customers)[order])
        over_time = float(inside[:-1] @ np.diff(steps[order])) / float(left.max())
        span = float(left.max())
        worked = sum(floor.worked) / (self.benches * span)
        return over_time, float((left - came).mean()), worked, self.customers / span


# Arrivals and services a time unit, benches; published mean number and mean time in the system. M/M/1: worked examples
# (0.8 and 1 a minute; 2 and 3 an hour). M/M/3: Mechanical Engineers' Handbook, vol. 3, p. 144 (4.99 and 4.16), by the
# Erlang-C formula 4.989 and 4.157.
QUEUES = [(0.8, 1.0, 1, 4.0, 5.0), (2.0, 3.0, 1, 2.0, 1.0), (1.2, 0.5, 3, 4.989, 4.157)]


@pytest.mark.parametrize(("arrive", "serve", "benches", "number", "time"), QUEUES)
def test_random_work_waits_as_long_as_queueing_theory_says(
    arrive: float, serve: float, benches: int, number: float, time: float
) -> None:
    in_shop, in_system, worked, _ = Queue(arrive, serve, benches).run()
    assert in_shop == pytest.approx(number, rel=0.05)
    assert in_system == pytest.approx(time, rel=0.05)
    assert worked == pytest.approx(arrive / serve / benches, rel=0.01)


def test_littles_law_holds_on_the_floor() -> None:
    """Little, A proof for the queuing formula L = lambda W, Operations Research 9, 1961: 4 = 0.8 x 5."""
    in_shop, in_system, _, rate = Queue(0.8, 1.0, 1, customers=20_000).run()
    assert in_shop == pytest.approx(rate * in_system, rel=1e-9)


WINDOWS = [(8 * HOUR, 16 * HOUR), (32 * HOUR, 40 * HOUR), (56 * HOUR, 64 * HOUR)]


def ends(kinds: Sequence[Kind], asked: Sequence[tuple[int, float]]) -> list[float]:
    """Return when tasks (kind, hours), asked for at midnight, end on a floor with one person [h]."""
    floor = Floor(WINDOWS, 8 * HOUR, [ALL], {}, kinds)
    found: list[float] = []
    for kind, hours in asked:
        floor.ask(kind, hours * HOUR, (kind, hours))
    floor.run(lambda token, now, _: found.append(now / HOUR))
    return found


@pytest.mark.parametrize(("hours", "end"), [(8.0, 16.0), (10.0, 34.0), (16.0, 40.0), (20.0, 60.0)])
def test_work_is_laid_down_at_night_and_taken_up_in_the_morning(hours: float, end: float) -> None:
    assert ends([Kind("caster")], [(0, hours)]) == [end]


def test_a_pour_that_no_longer_fits_in_the_shift_waits_for_the_next_morning() -> None:
    assert ends([Kind("caster"), Kind("caster", whole=True)], [(0, 6.0), (1, 3.0)]) == [14.0, 35.0]


def test_a_pour_that_just_fits_is_made_today() -> None:
    assert ends([Kind("caster"), Kind("caster", whole=True)], [(0, 5.0), (1, 3.0)]) == [13.0, 16.0]


def test_a_pour_longer_than_a_shift_begins_with_the_day_and_runs_past_its_end() -> None:
    assert ends([Kind("caster"), Kind("caster", whole=True)], [(0, 1.0), (1, 9.0)]) == [9.0, 41.0]


def test_the_days_first_pour_takes_the_set_up_and_no_other() -> None:
    assert ends([Kind("caster", setup=HOUR)], [(0, 2.0), (0, 2.0), (0, 4.0)]) == [11.0, 13.0, 33.0]


def test_the_one_takes_a_task_whose_skills_are_easiest_to_replace() -> None:
    people = [frozenset({"mold maker", "caster"}), frozenset({"caster"})]
    floor = floor_round_the_clock(people, (CAST, MAKE))
    floor.ask(0, 1.0, "cast")
    floor.ask(1, 1.0, "make")
    floor.run(lambda token, now, _: None)
    assert {booking.token: booking.person for booking in floor.bookings} == {"cast": 1, "make": 0}


def test_a_skill_that_nobody_has_is_told() -> None:
    with pytest.raises(InputError, match="nobody at work has the skill 'mold maker'"):
        floor_round_the_clock([frozenset({"caster"})], (MAKE,))


def test_a_machine_that_is_not_there_is_told() -> None:
    with pytest.raises(InputError, match="needs a pressure pot and the shop has none"):
        floor_round_the_clock([ALL], (Kind("caster", needs=(("pressure pot", True),)),))
