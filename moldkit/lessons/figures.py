"""Figures as a question prints them: rounded, so that the apprentice and the check of solvability use the same."""

from __future__ import annotations

from dataclasses import dataclass

from moldkit.lessons.problem import COUNT, MONEY, RATIO
from moldkit.quantity import Quantity, WorkingLine, working
from moldkit.units import cents_text, count_text, from_si, money_text, number_text, show, to_si

RAISED = {"m2": "m²", "cm2": "cm²", "kg/m3": "kg/m³", "in2": "in²", "degC": "°C", "degF": "°F"}


@dataclass(frozen=True)
class Given:
    """A figure that a question gives: its value as printed [SI, or money], and the print."""

    value: float
    text: str

    def __str__(self) -> str:
        """Return the figure as it is printed."""
        return self.text


def given(figure: Quantity | float, unit: str, digits: int = 3) -> Given:
    """Return a figure [SI] as printed in a unit, with so many digits."""
    value = figure.at(0) if isinstance(figure, Quantity) else float(figure)
    printed = float(f"{float(from_si(value, unit)):.{digits}g}")
    return Given(to_si(printed, unit), f"{number_text(printed, max(digits, 3))} {RAISED.get(unit, unit)}")


def given_money(figure: Quantity | float, currency: str) -> Given:
    """Return money as printed: whole units from 100 up, cents below."""
    value = figure.at(0) if isinstance(figure, Quantity) else float(figure)
    return Given(round(value, 0 if abs(value) >= 99.995 else 2), money_text(value, currency))


def given_price(figure: Quantity | float, currency: str) -> Given:
    """Return a price or a wage as printed, with its cents where it has any."""
    value = round(figure.at(0) if isinstance(figure, Quantity) else float(figure), 2)
    return Given(value, f"{count_text(value) if value == int(value) else cents_text(value)} {currency}")


def given_share(figure: Quantity | float, digits: int = 3) -> Given:
    """Return a share as printed in per cent."""
    return given(figure, "%", digits)


def as_entered(value: float, dimension: str, unit: str, digits: int = 6) -> str:
    """Return a figure as an apprentice could type it: plain digits and the unit."""
    if dimension == COUNT:
        return str(round(value))
    if dimension in (MONEY, RATIO):
        return f"{value:.{digits}g}" if abs(value) < 1e6 else f"{value:.2f}"
    return f"{float(from_si(value, unit)):.{digits}g} {unit}"


def working_words(figure: Quantity, currency: str, depth: int = 2) -> tuple[str, ...]:
    """Return the working of a figure, a sentence a line, the figure itself first; depth: levels below it."""
    return tuple(_sentence(line) for line in working(figure, currency=currency, depth=depth))


def _sentence(line: WorkingLine) -> str:
    words = f"{line.name} = {line.result}"
    if line.formula:
        words += f": {line.formula}"
    if line.put_in:
        words += f", with {line.put_in}"
    return f"{words}." + (f" Source: {line.source}." if line.source else "")


def shown(figure: Quantity, currency: str) -> str:
    """Return a figure as a person reads it."""
    return show(figure.at(0), figure.unit, "metric", currency)
