"""The controls of a case: fields, lists and ticks that show a case and ask for another."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

import ipywidgets as widgets

from moldkit.pattern.pattern import UNDERCUTS
from moldkit.shop import with_overrides
from moldkit.study.case import FROM_LOG, MOST_RUN, Case
from moldkit.study.choices import (
    choice_of,
    pattern_choices,
    rubber_choices,
    table_life,
    table_rubber_price,
    with_life,
    with_pattern,
)
from moldkit.study.knowledge import Knowledge
from moldkit.study.learned import with_learned_lives
from moldkit.units import System, to_si
from moldkit.views.widgets.field import Field

Edit = Callable[[Case], Case]
# What a control does with a change: the edit asked for, and whether it is final or passed on the way.
Ask = Callable[[Edit, bool], None]

WIDE = widgets.Layout(width="98%", max_width="420px")
DESCRIBED = {"description_width": "76px"}
RUN_MOST = 10_000
# What the list of undercuts offers beside the grades: nothing is declared.
UNSAID = ""
AS_MEASURED, AS_A_FORM = ("as measured", UNSAID), ("none, a plain form", UNSAID)
LONGEST_LEAST, LONGEST_MOST = 0.02, 2.0


def _units(*names: str) -> list[dict[str, Any]]:
    return [{"name": name, "factor": to_si(1.0, name)} for name in names]


class Controls:
    """Every control of a case. `ask` hears each change; `show` sets them all to a case without asking."""

    def __init__(self, case: Case, knowledge: Knowledge, ask: Ask) -> None:
        """Make the controls and show a case."""
        self._knowledge = knowledge
        self._ask = ask
        self._quiet = False
        self._patterns = pattern_choices(case, knowledge)
        materials = knowledge.materials
        self.material = self._list("Material", list(materials.castings), lambda c, v: replace(c, material=v))
        self.method = self._list("Method", list(knowledge.methods), lambda c, v: replace(c, method=v))
        self.release = self._tick("Release agent used", lambda c, v: replace(c, release=v))
        self.pattern = self._list("Pattern", [c.shown for c in self._patterns], self._take_pattern)
        self.undercut = self._list("Undercuts", [], lambda c, v: replace(c, undercut=None if v == UNSAID else v))
        self.surface = self._list("Surface", list(materials.surfaces), lambda c, v: replace(c, surface=v))
        self.sealed = self._tick("Sealed and patch-tested", lambda c, v: replace(c, sealed=v))
        self.fixed = self._tick("Fixed in place", lambda c, v: replace(c, fixed_in_place=v))
        self.fragile = self._tick("Fragile", lambda c, v: replace(c, fragile=v))
        self.survives = self._tick("Survives demolding", lambda c, v: replace(c, survives=v))
        self.rubber = self._list("Rubber", list(rubber_choices(knowledge)), lambda c, v: replace(c, rubber=v))
        self.run, self.longest, self.wall = self._size_fields(case)
        self.labor, self.price, self.life, self.good = self._shop_fields()
        self.whole_kits = self._tick("Buy whole kits", lambda c, v: replace(c, whole_kits=v))
        self.from_log = self._tick("Life from the mold log", lambda c, v: replace(c, life=FROM_LOG if v else None))
        self._fields()
        self.show(case)

    def _size_fields(self, case: Case) -> tuple[Field, Field, Field]:
        most = max(RUN_MOST, min(MOST_RUN, case.run))
        run = Field(label="Run", low=1, high=most, value=1, log=True, integer=True, steps=160, digits=6,
                    units=[{"name": "castings", "factor": 1.0}])  # fmt: skip
        longest = Field(label="Longest side", low=LONGEST_LEAST, high=LONGEST_MOST, value=0.1, log=True, steps=160,
                        digits=3, units=_units("mm", "cm", "in"))  # fmt: skip
        wall = Field(label="Wall of the casting", low=0.001, high=0.05, value=0.006, log=True, steps=80, digits=2,
                     units=_units("mm", "in"))  # fmt: skip
        return run, longest, wall

    def _shop_fields(self) -> tuple[Field, Field, Field, Field]:
        currency = self._knowledge.shop.text("currency")
        labor = Field(label="Hour of work", low=5, high=250, value=40, log=True, steps=100, digits=3,
                      units=[{"name": f"{currency} an hour", "factor": 1.0}])  # fmt: skip
        pound = to_si(1.0, "lb")
        price = Field(label="Rubber", low=2, high=200, value=28, log=True, steps=100, digits=3,
                      units=[{"name": f"{currency} a kg", "factor": 1.0},
                             {"name": f"{currency} a lb", "factor": 1.0 / pound}])  # fmt: skip
        life = Field(label="Mold life, median", low=1, high=2000, value=45, log=True, steps=120, integer=True,
                     units=[{"name": "pours", "factor": 1.0}],
                     help="The pair's own from the tables until you move it.")  # fmt: skip
        good = Field(label="Good castings", low=50, high=100, value=100, steps=50, digits=3,
                     units=[{"name": "%", "factor": 1.0}])  # fmt: skip
        return labor, price, life, good

    def _fields(self) -> None:
        """Tell what each field changes in a case."""
        self._hears(self.run, lambda c, v: replace(c, run=round(v)))
        self._hears(self.longest, lambda c, v: replace(c, longest=v))
        self._hears(self.wall, lambda c, v: replace(c, wall=v))
        self._hears(self.labor, lambda c, v: replace(c, shop={**c.shop, "labor_rate": v}))
        self._hears(self.price, lambda c, v: replace(c, rubber_price=v))
        self._hears(self.life, lambda c, v: with_life(c, self._knowledge, v))
        self._hears(self.good, lambda c, v: replace(c, good_share=v / 100))

    def _hears(self, field: Field, edit: Callable[[Case, float], Case]) -> None:
        field.on_move(lambda value, settled: self._ask(lambda case: edit(case, value), settled))
        # Heard too when code sets the value, as a test does; a move from the page then asks twice for the same case.
        field.observe(lambda change: self._changed(edit, change["new"], field.settled), names="value")

    def _list(self, label: str, options: Sequence[str], edit: Callable[[Case, Any], Case]) -> widgets.Dropdown:
        made = widgets.Dropdown(options=options, description=label, layout=WIDE, style=DESCRIBED)
        made.observe(lambda change: self._changed(edit, change["new"]), names="value")
        return made

    def _tick(self, label: str, edit: Callable[[Case, Any], Case]) -> widgets.Checkbox:
        made = widgets.Checkbox(description=label, indent=False, layout=WIDE)
        made.observe(lambda change: self._changed(edit, change["new"]), names="value")
        return made

    def _changed(self, edit: Callable[[Case, Any], Case], value: Any, settled: bool = True) -> None:
        if not self._quiet and value is not None:
            self._ask(lambda case: edit(case, value), settled)

    def _take_pattern(self, case: Case, shown: str) -> Case:
        choice = next(c for c in self._patterns if c.shown == shown)
        return with_pattern(case, choice, self.longest.value)

    def offer(self, case: Case) -> None:
        """Offer the patterns that go with a case that was loaded."""
        self._patterns = pattern_choices(case, self._knowledge)
        self._quiet = True
        try:
            self.pattern.options = [c.shown for c in self._patterns]
        finally:
            self._quiet = False

    def show(self, case: Case, longest: float | None = None) -> None:
        """Set every control to a case; longest: of the pattern [m] where the case names none."""
        self._quiet = True
        try:
            self._show(case, longest)
        finally:
            self._quiet = False

    def _show(self, case: Case, longest: float | None) -> None:
        self.material.value, self.method.value, self.rubber.value = case.material, case.method, case.rubber
        self.pattern.value = choice_of(case, self._patterns).shown
        unsaid = AS_MEASURED if case.mesh else AS_A_FORM
        if unsaid not in self.undercut.options:
            self.undercut.options = (unsaid, *((grade, grade) for grade in UNDERCUTS))
        self.undercut.value, self.surface.value = case.undercut or UNSAID, case.surface
        self.release.value, self.sealed.value, self.survives.value = case.release, case.sealed, case.survives
        self.fixed.value, self.fragile.value = case.fixed_in_place, case.fragile
        _set(self.run, case.run)
        _set(self.longest, case.longest or longest)
        _set(self.wall, case.wall or self._knowledge.shop.quantity("hollow_wall").value)
        hollow = case.method in self._knowledge.methods and self._knowledge.methods[case.method].row.flag("hollow")
        self.wall.layout.display = "" if hollow else "none"
        _set(self.labor, _labor(case, self._knowledge))
        _set(self.price, case.rubber_price or table_rubber_price(case, self._knowledge))
        _set(self.good, 100 * case.good_share)
        self.from_log.value, self.whole_kits.value = case.life == FROM_LOG, case.whole_kits
        _set(self.life, _median(case, self._knowledge))

    def use_units(self, system: System) -> None:
        """Show lengths and prices in millimetres and kilograms, or in inches and pounds."""
        us = system == "us"
        self.longest.unit = self.wall.unit = "in" if us else "mm"
        self.price.unit = self.price.units[1 if us else 0]["name"]

    @property
    def wanted(self) -> list[widgets.Widget]:
        """What is wanted."""
        return [self.material, self.method, self.wall, self.run, self.release]

    @property
    def taken_from(self) -> list[widgets.Widget]:
        """What it is taken from."""
        return [
            self.pattern, self.longest, self.undercut, self.surface, self.sealed, self.fixed, self.fragile,
            self.survives,
        ]  # fmt: skip

    @property
    def works(self) -> list[widgets.Widget]:
        """How this shop works."""
        return [self.rubber, self.labor, self.price, self.whole_kits, self.life, self.from_log, self.good]


def _set(field: Field, value: float | None) -> None:
    """Set a field, widening its scale where the case lies beyond it."""
    if value is None:
        return
    if value < field.low:
        field.low = value
    if value > field.high:
        field.high = value
    field.value = value
    field.settled = True


def _labor(case: Case, knowledge: Knowledge) -> float:
    """Return the likely labor rate of the case, an hour."""
    shop = with_overrides(knowledge.shop, case.shop, "[shop]")
    return float(shop.quantity("labor_rate").value * to_si(1.0, "h"))


def _median(case: Case, knowledge: Knowledge) -> float | None:
    """Return the likely median life of the case: its own, else the log's where it is asked for, else the tables'."""
    if case.life == FROM_LOG:
        return table_life(case, with_learned_lives(knowledge))
    if isinstance(case.life, tuple):
        return round(case.life[1])
    return case.life if isinstance(case.life, (int, float)) else table_life(case, knowledge)
