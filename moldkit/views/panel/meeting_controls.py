"""The client's own choices: run, size, material, solid or hollow, finish, the date."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

import ipywidgets as widgets

from moldkit.study.case import MOST_RUN, Case
from moldkit.study.client_choices import HOLLOW, SOLID, FinishChoice, as_made, finish_now, makes
from moldkit.study.knowledge import Knowledge
from moldkit.units import to_si
from moldkit.views.widgets.field import Field

Edit = Callable[[Case], Case]
Ask = Callable[[Edit, bool], None]

RUN_MOST = 1_000
SIZE_SPAN = 3.0
LEAST_SIZE, MOST_SIZE = 0.02, 3.0
WIDE = widgets.Layout(width="98%", max_width="720px")
DESCRIBED = {"description_width": "7.5em"}
# Sizes are agreed upon to the millimetre.
SIZE_DIGITS = 3


class MeetingControls:
    """The controls of a meeting. `ask` hears each change; `show` sets them all to a case without asking."""

    def __init__(
        self, job: Case, longest: float, knowledge: Knowledge, materials: Sequence[str],
        finishes: Sequence[FinishChoice], ask: Ask,
    ) -> None:  # fmt: skip
        """Make the controls. job: as it was asked for; longest: its size [m]; materials, finishes: what is offered."""
        self._job, self._knowledge, self._ask = job, knowledge, ask
        self._quiet = False
        self.run = Field(
            label="Run", low=1, high=min(MOST_RUN, max(RUN_MOST, 5 * job.run)), value=job.run, log=True, integer=True,
            steps=160, digits=6, units=[{"name": "castings", "factor": 1.0}],
        )  # fmt: skip
        low, high = max(LEAST_SIZE, longest / SIZE_SPAN), min(MOST_SIZE, longest * SIZE_SPAN)
        units = [{"name": name, "factor": to_si(1.0, name)} for name in ("mm", "cm", "in")]
        self.size = Field(
            label="Size, longest side", low=min(low, longest), high=max(high, longest), value=longest, log=True,
            steps=160, digits=4, units=units,
        )  # fmt: skip
        self.material = self._list("Material", [(name, name) for name in materials])
        self.made = self._list("Cast", [SOLID, HOLLOW])
        self.finish = self._list("Finish", [])
        self.due = widgets.DatePicker(description="Wanted by", layout=WIDE, style=DESCRIBED)
        self.start = widgets.DatePicker(description="Work begins", layout=WIDE, style=DESCRIBED)
        self.offer_finishes(finishes)
        self._hears(self.run, lambda c, v: replace(c, run=round(v)))
        self._hears(self.size, lambda c, v: replace(c, longest=round(v, SIZE_DIGITS)))
        self._listen(self.material, lambda c, v: replace(c, material=v))
        self._listen(self.made, lambda c, v: as_made(c, v, job, knowledge))
        self._listen(self.finish, lambda c, v: self._finishes[v].put(c) if v in self._finishes else c)
        self._listen(self.due, lambda c, v: replace(c, due=v))
        self._listen(self.start, lambda c, v: replace(c, start=v))

    @property
    def all(self) -> list[widgets.Widget]:
        """The controls in the order of the page."""
        return [self.run, self.size, self.material, self.made, self.finish, self.due, self.start]

    def offer_finishes(self, finishes: Sequence[FinishChoice]) -> None:
        """Offer finishes; where there is but one there is nothing to choose."""
        self._finishes = {finish.words: finish for finish in finishes}
        self._quietly(lambda: setattr(self.finish, "options", list(self._finishes)))
        self.finish.layout.display = "" if len(self._finishes) > 1 else "none"

    def show(self, case: Case, longest: float, start: datetime.date | None) -> None:
        """Set every control to a case; longest: its size [m]; start: first day of the work."""
        self._quietly(lambda: self._show(case, longest, start))

    def _show(self, case: Case, longest: float, start: datetime.date | None) -> None:
        _put(self.run, case.run)
        _put(self.size, longest)
        for control, value in ((self.material, case.material), (self.finish, finish_now(case, self._knowledge))):
            known = [option[1] if isinstance(option, tuple) else option for option in control.options]
            if value not in known:
                control.options = (*control.options, (value, value) if control is self.material else value)
            control.value = value
        self.made.value = makes(case, self._knowledge)
        self.due.value, self.start.value = case.due, start

    def _quietly(self, action: Callable[[], object]) -> None:
        self._quiet = True
        try:
            action()
        finally:
            self._quiet = False

    def _list(self, label: str, options: Sequence[Any]) -> widgets.Dropdown:
        return widgets.Dropdown(options=options, description=label, layout=WIDE, style=DESCRIBED)

    def _hears(self, field: Field, edit: Callable[[Case, float], Case]) -> None:
        field.on_move(lambda value, settled: self._ask(lambda case: edit(case, value), settled))
        # Heard too when code sets the value, as a test does; a move from the page then asks twice for the same case.
        field.observe(lambda change: self._changed(edit, change["new"], field.settled), names="value")

    def _listen(self, control: widgets.Widget, edit: Callable[[Case, Any], Case]) -> None:
        control.observe(lambda change: self._changed(edit, change["new"], True), names="value")

    def _changed(self, edit: Callable[[Case, Any], Case], value: Any, settled: bool) -> None:
        if not self._quiet:
            self._ask(lambda case: edit(case, value), settled)


def _put(field: Field, value: float) -> None:
    """Set a field, widening its scale where the value lies beyond it."""
    field.low, field.high = min(field.low, value), max(field.high, value)
    field.value = value
    field.settled = True
