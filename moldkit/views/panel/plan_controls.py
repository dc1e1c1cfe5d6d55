"""The controls of a run's plan: job, technique, dates, run, molds, people, pots, drawn lives."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import ipywidgets as widgets

from moldkit.economics.schedule.shop_time import Hands, hands_of
from moldkit.economics.schedule.work import POT
from moldkit.errors import InputError
from moldkit.study.case import Case
from moldkit.study.compare import Comparison
from moldkit.study.finish_dates import MOST_SIDE_BY_SIDE
from moldkit.study.run_work import start_of
from moldkit.views.widgets.field import Field

Edit = Callable[[Case], Case]
Ask = Callable[[Edit, bool], None]
MOST_RUN, MOST_PEOPLE, MOST_POTS = 1_000, 12, 8
CHEAPEST = ""


class PlanControls:
    """Every control of a plan. `ask` hears each change of the case, `again` what changes the plan alone."""

    def __init__(self, result: Comparison, ask: Ask, again: Callable[[], None]) -> None:
        """Make the controls; `show` sets them to a comparison's case without asking."""
        self._ask, self._again, self._quiet = ask, again, False
        described = {"description_width": "initial"}
        self.technique = widgets.Dropdown(options=[("the cheapest", CHEAPEST)], description="Technique",
                                          style=described, layout=widgets.Layout(width="300px"))  # fmt: skip
        self.start = widgets.DatePicker(description="Begins on", style=described,
                                        layout=widgets.Layout(width="230px"))  # fmt: skip
        self.due = widgets.DatePicker(description="Due on", style=described, layout=widgets.Layout(width="210px"))
        self.drawn = widgets.Checkbox(description="Draw each mold's life", indent=False,
                                      layout=widgets.Layout(width="180px"))  # fmt: skip
        self.seed = widgets.BoundedIntText(value=1, min=0, max=999_999, description="Seed", style=described,
                                           layout=widgets.Layout(width="120px"))  # fmt: skip
        self.run = self._field("Run", MOST_RUN, "castings", log=True, steps=160)
        self.molds = self._field("Molds side by side", MOST_SIDE_BY_SIDE, "molds")
        self.people = self._field("People", MOST_PEOPLE, "people")
        self.pots = self._field("Pressure pots", MOST_POTS, "pots", low=0)
        self._hear()
        self.show(result)

    @staticmethod
    def _field(label: str, most: int, unit: str, *, low: int = 1, log: bool = False, steps: int | None = None) -> Field:
        return Field(label=label, low=low, high=most, value=low, log=log, integer=True, steps=steps or most - low,
                     digits=6, units=[{"name": unit, "factor": 1.0}])  # fmt: skip

    def _hear(self) -> None:
        self._hears(self.run, lambda case, n: replace(case, run=n))
        self._hears(self.molds, lambda case, n: replace(case, molds=n))
        self._hears(self.people, lambda case, n: replace(case, people=n))
        self._hears(self.pots, lambda case, n: replace(case, pots=n))
        self.start.observe(lambda change: self._date(change["new"], _begun), names="value")
        self.due.observe(lambda change: self._date(change["new"], _due), names="value")
        for control in (self.technique, self.drawn, self.seed):
            control.observe(lambda _: None if self._quiet else self._again(), names="value")

    def _hears(self, field: Field, edit: Callable[[Case, int], Case]) -> None:
        field.on_move(lambda value, settled: self._ask_for(lambda case: edit(case, round(value)), settled))
        # Heard too when code sets the value, as a test does; a move from the page then asks twice for the same case.
        field.observe(
            lambda change: self._ask_for(lambda case: edit(case, round(change["new"])), field.settled), names="value"
        )

    def _date(self, day: datetime.date | None, edit: Callable[[Case, datetime.date | None], Case]) -> None:
        self._ask_for(lambda case: edit(case, day), True)

    def _ask_for(self, edit: Edit, settled: bool) -> None:
        if not self._quiet:
            self._ask(edit, settled)

    @property
    def lives(self) -> int | None:
        """The seed of drawn lives, None where every mold lasts as long as planned."""
        return int(self.seed.value) if self.drawn.value else None

    def show(self, result: Comparison) -> None:
        """Set every control to a comparison's case without asking for another."""
        self._quiet = True
        try:
            self._show(result)
        finally:
            self._quiet = False

    def _show(self, result: Comparison) -> None:
        case = result.case
        names = [(o.name if not o.stop_at() else f"{o.name} (out)", o.name) for o in result.outcomes]
        options = (("the cheapest", CHEAPEST), *names)
        if options != self.technique.options:
            chosen = self.technique.value
            self.technique.options = options
            self.technique.value = chosen if chosen in dict(names).values() else CHEAPEST
        hands = at_work(result)
        for field, most, value in (
            (self.run, MOST_RUN, case.run),
            (self.molds, MOST_SIDE_BY_SIDE, case.molds),
            (self.people, MOST_PEOPLE, len(hands.people)),
            (self.pots, MOST_POTS, hands.machines[POT]),
        ):
            field.high = max(most, value)
            field.value = value
        self.start.value, self.due.value = start_of(case), case.due


def at_work(result: Comparison) -> Hands:
    """Return the people and machines that a plan of a comparison's case counts on."""
    case = result.case
    return hands_of(result.shop, case.people, case.pots, case.chambers)


def _begun(case: Case, day: datetime.date | None) -> Case:
    if day is not None and case.due is not None and case.due < day:
        raise InputError(f"Begins on: {day} lies after the date asked for, {case.due}; choose an earlier day.")
    return replace(case, start=day)


def _due(case: Case, day: datetime.date | None) -> Case:
    if day is not None and day < start_of(case):
        raise InputError(f"Due on: {day} lies before the begin on {start_of(case)}; choose a later day.")
    return replace(case, due=day)


def controls_of(made: PlanControls) -> tuple[list[Any], list[Any]]:
    """Return the controls in two rows: what is chosen, and what is counted."""
    return (
        [made.technique, made.start, made.due, made.drawn, made.seed],
        [made.run, made.molds, made.people, made.pots],
    )
