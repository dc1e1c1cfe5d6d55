"""A run's plan as the lanes of a chart: who, which machine or which mold is taken when, and by what."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from moldkit.study.run_bars import Bar
from moldkit.study.run_plan import RunPlan
from moldkit.units import count_text

Kind = Literal["set-up", "first molds", "remakes", "castings", "cures", "sets"]
Moment = datetime.datetime
NOTHING = datetime.timedelta()


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch in which a lane is taken.

    kind: "first molds" and "remakes" are worked at, and "sets" waits for rubber, shell or print; "castings" are poured
    or taken out, "cures" waits for them; worked: time in it that is taken; molds, pours: by number; steps: in words.
    """

    kind: Kind
    start: Moment
    end: Moment
    worked: datetime.timedelta
    molds: frozenset[int]
    pours: frozenset[int]
    steps: tuple[str, ...]


@dataclass(frozen=True)
class Lane:
    """A lane of the chart: its name, a note beside it, its stretches and the molds that it had, in order of time."""

    name: str
    note: str
    stretches: tuple[Stretch, ...]
    molds: tuple[int, ...] = ()


@dataclass(frozen=True)
class MoldUse:
    """One mold of the plan.

    place: at the bench, from 1 on, which it has from the first of its making on; remake: it follows a worn-out one
    there; begun: its making; ready: its first pour begins, None where it is never poured; last: its last casting is out
    of it; pours: how many it gives, masters in the place of a lost pattern apart.
    """

    number: int
    place: int
    remake: bool
    begun: Moment
    ready: Moment | None
    last: Moment
    pours: int


def molds_of(plan: RunPlan) -> tuple[MoldUse, ...]:
    """Return the molds of a plan, each at its place at the bench."""
    made = {bar.mold: bar for bar in plan.bars if bar.mold}
    return tuple(
        MoldUse(number, made[number].place, made[number].made == "remade", begun, ready, last, pours)
        for number, (begun, ready, last, pours) in sorted(_spans(plan.bars).items())
    )


def _spans(bars: Iterable[Bar]) -> dict[int, tuple[Moment, Moment | None, Moment, int]]:
    """Return (begun, first pour, last casting taken out, pours) of each mold."""
    found: dict[int, tuple[Moment, Moment | None, Moment, int]] = {}
    pours: dict[int, set[int]] = {}
    for bar in _at_molds(bars):
        begun, ready, last, _ = found.get(bar.mold, (bar.start, None, bar.end, 0))
        if bar.pour:
            pours.setdefault(bar.mold, set()).update(_pours(bar))
            ready = bar.start if ready is None else ready
        found[bar.mold] = (begun, ready, max(last, bar.end), len(pours.get(bar.mold, ())))
    return found


def _at_molds(bars: Iterable[Bar]) -> Iterator[Bar]:
    """Yield the bars in which a mold is taken: its making, pours, cures and demoldings, no work off the mold."""
    seen: dict[int, list[str]] = {}
    for bar in bars:
        if not bar.mold:
            continue
        if bar.pour and bar.attended:
            steps = seen.setdefault(bar.pour, [])
            if bar.step not in steps:
                steps.append(bar.step)
            # A casting is poured, then taken out; what comes after is done off the mold.
            if steps.index(bar.step) > 1:
                continue
        yield bar


def lanes_by_hand(plan: RunPlan) -> tuple[Lane, ...]:
    """Return a lane for each person and each machine that is kept, with the share of time each is taken."""
    lanes: dict[str, list[Stretch]] = {name: [] for name in plan.hours}
    for bar in plan.bars:
        if bar.attended or not bar.who.startswith("mold "):
            lanes.setdefault(bar.who, []).append(_stretch(bar, _kind(bar)))
    machines = sorted(set(lanes) - set(plan.hours))
    return tuple(Lane(name, _busy(plan, name), tuple(lanes[name])) for name in (*plan.hours, *machines))


def _busy(plan: RunPlan, name: str) -> str:
    """Return how much of the time a lane is taken: a person's of the working time, a kind of machine's of all time."""
    share = plan.utilisation.get(name, plan.utilisation.get(name.rpartition(" ")[0]))
    return "" if share is None else f"{100 * share:.0f} % busy"


def lanes_by_mold(plan: RunPlan) -> tuple[Lane, ...]:
    """Return a lane for each place at the bench, with the molds that it has one after another."""
    uses = molds_of(plan)
    lanes: dict[int, list[Stretch]] = {use.place: [] for use in uses}
    for bar in _at_molds(plan.bars):
        lanes[bar.place].append(_stretch(bar, _kind(bar)))
    return tuple(_mold_lane(place, lanes[place], uses) for place in sorted(lanes))


def _mold_lane(place: int, stretches: list[Stretch], uses: Iterable[MoldUse]) -> Lane:
    own = [use for use in uses if use.place == place]
    count = len(own)
    times = {1: "", 2: ", remade once", 3: ", remade twice"}.get(count, f", remade {count - 1} times")
    name = f"mold {own[0].number}{times}"
    pours = sum(use.pours for use in own)
    note = f"{count_text(pours)} pour{'' if pours == 1 else 's'}"
    return Lane(name, note, tuple(stretches), tuple(use.number for use in own))


def _kind(bar: Bar) -> Kind:
    if not bar.mold:
        return "set-up"
    if bar.pour:
        return "castings" if bar.attended else "cures"
    if not bar.attended and bar.who.startswith("mold "):
        return "sets"
    return "remakes" if bar.made == "remade" else "first molds"


def _stretch(bar: Bar, kind: Kind) -> Stretch:
    molds = frozenset({bar.mold}) if bar.mold else frozenset[int]()
    return Stretch(kind, bar.start, bar.end, bar.end - bar.start, molds, _pours(bar), (bar.step,))


def _pours(bar: Bar) -> frozenset[int]:
    """Return the number of a bar's pour; a master cast in the place of a lost pattern has none of the run's."""
    return frozenset({bar.pour}) if bar.pour > 0 else frozenset()


def condensed(
    stretches: Iterable[Stretch], place_at: Callable[[Moment], float], least: float, *, apart: bool = False
) -> Iterator[Stretch]:
    """Yield the stretches of a lane with those of a kind drawn together that nobody could tell apart.

    place_at: from a moment to its place on the axis; least: gaps narrower than this there are closed; apart: molds are
    never drawn together.
    """
    last: dict[tuple[Kind, frozenset[int]], Stretch] = {}
    for each in stretches:
        key = (each.kind, each.molds if apart else frozenset[int]())
        before = last.get(key)
        if before is not None and place_at(each.start) - place_at(before.end) < least:
            last[key] = _joined(before, each)
            continue
        if before is not None:
            yield before
        last[key] = each
    yield from last.values()


def _joined(one: Stretch, other: Stretch) -> Stretch:
    return replace(
        one,
        end=max(one.end, other.end),
        worked=one.worked + other.worked,
        molds=one.molds | other.molds,
        pours=one.pours | other.pours,
        steps=one.steps if other.steps[0] in one.steps else one.steps + other.steps,
    )


def hours_by_kind(plan: RunPlan) -> Mapping[str, Mapping[Kind, datetime.timedelta]]:
    """Return the time each person works at each kind of work."""
    found: dict[str, dict[Kind, datetime.timedelta]] = {}
    for lane in lanes_by_hand(plan):
        if lane.name in plan.hours:
            own = found.setdefault(lane.name, {})
            for stretch in lane.stretches:
                own[stretch.kind] = own.get(stretch.kind, NOTHING) + stretch.worked
    return found
