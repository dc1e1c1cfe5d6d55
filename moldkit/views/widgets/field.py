"""One number with its unit in the page: an entry, a slider, and a sentence where the number won't do."""

from __future__ import annotations

import logging
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import anywidget
import traitlets

from moldkit.errors import InputError, MoldkitError, unknown

logger = logging.getLogger(__name__)
_HERE = Path(__file__).parent
_ROUNDING = 1e-9  # a limit that went through a unit and back still counts as inside


class Field(anywidget.AnyWidget):
    """A number kept in its base unit, shown and typed in the unit chosen.

    value, low, high: [base unit]; a value outside is refused, never clamped.
    units: the units offered, as {"name": "mm", "factor": 0.001}, factor = base units in one of it.
    unit: the name of the one shown, at first the first. digits: significant digits shown.
    label, help: what the number is, and what to know about it.
    error: why an entry is not used; the last good value stays.
    logarithmic: the slider runs in equal ratios. steps: the arrow keys' steps from low to high.
    integer: whole numbers only. settled: the value is final, not one passed on the way.
    disabled: it cannot be changed in the page.
    """

    _esm = _HERE / "field.js"
    _css = _HERE / "field.css"

    value = traitlets.Float(0.0).tag(sync=True)
    low = traitlets.Float(0.0).tag(sync=True)
    high = traitlets.Float(1.0).tag(sync=True)
    unit = traitlets.Unicode("").tag(sync=True)
    units = traitlets.List(traitlets.Dict()).tag(sync=True)
    label = traitlets.Unicode("").tag(sync=True)
    help = traitlets.Unicode("").tag(sync=True)
    error = traitlets.Unicode("").tag(sync=True)
    logarithmic = traitlets.Bool(False).tag(sync=True)
    steps = traitlets.Int(100, min=1, max=10_000).tag(sync=True)
    digits = traitlets.Int(4, min=1, max=15).tag(sync=True)
    integer = traitlets.Bool(False).tag(sync=True)
    settled = traitlets.Bool(True).tag(sync=True)
    disabled = traitlets.Bool(False).tag(sync=True)

    def __init__(self, *, log: bool = False, **traits: Any) -> None:
        """Take the traits by name; `log` stands for `logarithmic`, as a widget's own `log` is its logger.

        Raises InputError when value, limits, units and unit contradict each other.
        """
        self._move_callbacks: list[Callable[[float, bool], object]] = []
        self._page_error = ""
        if "unit" not in traits and traits.get("units"):
            traits["unit"] = traits["units"][0].get("name", "")
        traits.setdefault("logarithmic", log)
        super().__init__(**traits)
        self._check_scale()
        self.on_msg(self._receive)

    @property
    def _name(self) -> str:
        return self.label or "field"

    def _check_scale(self) -> None:
        low, high = self.low, self.high
        if not (math.isfinite(low) and math.isfinite(high) and low < high):
            raise InputError(f"{self._name}: the least ({low:g}) must lie below the most ({high:g}).")
        if self.logarithmic and low <= 0:
            raise InputError(f"{self._name}: a scale in equal ratios needs a least above 0, not {low:g}.")

    def _check_units(self) -> None:
        for unit in self.units:
            name, factor = unit.get("name"), unit.get("factor")
            usable = isinstance(factor, int | float) and 0 < factor < math.inf
            if not isinstance(name, str) or not usable:
                raise InputError(f"{self._name}: a unit is a name and a factor above 0, not {unit!r}.")

    def _check_unit(self, name: str) -> None:
        names = [unit["name"] for unit in self.units]
        if names and name not in names:
            raise unknown("unit", name, names, self._name)

    @traitlets.validate("unit")
    def _unit_offered(self, proposal: Any) -> str:
        self._check_units()
        self._check_unit(proposal["value"])
        return str(proposal["value"])

    @traitlets.validate("value")
    def _value_in_range(self, proposal: Any) -> float:
        self._check_scale()
        self._check_units()
        value = float(proposal["value"])
        if why := self._refusal(value):
            raise InputError(why)
        return value

    def _refusal(self, value: float) -> str:
        """Return why `value` cannot be taken, or nothing when it can."""
        limits = f"{self._shown(self.low)} to {self._shown(self.high)} {self.unit}".rstrip()
        if not math.isfinite(value):
            return f"{self._name}: {value} cannot be used; give a number from {limits}."
        slack = _ROUNDING * max(abs(self.low), abs(self.high))
        if not self.low - slack <= value <= self.high + slack:
            return f"{self._name}: {self._shown(value)} lies outside {limits}."
        if self.integer and value != round(value):
            return f"{self._name}: {value:g} is not a whole number."
        return ""

    def _shown(self, value: float) -> str:
        """Return a value as it reads in the unit chosen."""
        factors = {unit["name"]: unit["factor"] for unit in self.units}
        rounded = float(f"{value / factors.get(self.unit, 1):.{self.digits}g}")
        return f"{rounded:.15g}"  # no powers of ten

    @traitlets.observe("low", "high", "integer")
    def _limits_moved(self, _change: object) -> None:
        """Say so when the value now lies outside; it is never moved."""
        self._forget_page_error()
        if why := self._refusal(self.value):
            self._page_error = self.error = why

    @traitlets.observe("value")
    def _value_ends_refusal(self, _change: object) -> None:
        self._forget_page_error()

    def _forget_page_error(self) -> None:
        """Take back what the page said of an entry, unless something else has been said since."""
        if self._page_error and self.error == self._page_error:
            self.error = ""
        self._page_error = ""

    def on_move(self, callback: Callable[[float, bool], object]) -> None:
        """Call `callback(value, settled)` for what the page sends; value in the base unit.

        While a handle moves or a key is held, settled is False and only the newest value is sent, when the
        callbacks for the one before have returned; the last call has settled True.
        A MoldkitError that a callback raises is shown under the field.
        """
        self._move_callbacks.append(callback)

    def _receive(self, _widget: object, content: dict[str, Any], _buffers: object) -> None:
        try:
            if content.get("kind") == "move":
                self._move(float(content["value"]), bool(content["settled"]))
            elif content.get("kind") == "refuse":
                self._page_error = self.error = str(content["error"])
        finally:  # the page sends nothing more until it hears this
            told = {"value": self.value, "error": self.error}
            self.send({"kind": "ack", "view": content.get("view"), "seq": content.get("seq"), **told})

    def _move(self, value: float, settled: bool) -> None:
        why = self._refusal(value)
        if why:
            self._page_error = self.error = why
            return
        self._page_error = self.error = ""
        try:
            with self.hold_sync():  # what the callbacks send goes first: the page is waiting for it
                self.settled = settled
                self.value = value
                for callback in self._move_callbacks:
                    callback(value, settled)
        except MoldkitError as error:
            self.error = str(error)
        except Exception as error:  # else it would vanish into a log that nobody sees
            logger.exception("a callback failed at %r", value)
            self.error = f"This value could not be used ({type(error).__name__}: {error})."
