"""Units at the edges: text with a unit in, SI numbers inside, text with a unit out.

Conversion factors come from pint; a number and its unit are taken apart here first, because a unit
library that evaluates free text reads "1,5 mm" as 15 mm and "9**9" as a sum.
"""

from __future__ import annotations

import math
import re
from functools import lru_cache
from typing import Any, Literal

from moldkit.errors import InputError, nearest

System = Literal["metric", "us"]

# Word a user may write -> name in the unit library. Nothing outside this list is accepted.
ACCEPTED: dict[str, dict[str, str]] = {
    "length": {
        "mm": "millimeter",
        "cm": "centimeter",
        "m": "meter",
        "in": "inch",
        "inch": "inch",
        '"': "inch",
        "ft": "foot",
    },
    "area": {
        "mm2": "millimeter**2",
        "cm2": "centimeter**2",
        "m2": "meter**2",
        "in2": "inch**2",
        "ft2": "foot**2",
    },
    "volume": {
        "mL": "milliliter",
        "ml": "milliliter",
        "L": "liter",
        "l": "liter",
        "cm3": "centimeter**3",
        "mm3": "millimeter**3",
        "m3": "meter**3",
        "gal": "gallon",
        "fl oz": "fluid_ounce",
        "in3": "inch**3",
        "ft3": "foot**3",
    },
    "mass": {"g": "gram", "kg": "kilogram", "oz": "ounce", "lb": "pound"},
    "time": {"s": "second", "min": "minute", "h": "hour", "d": "day"},
    "pressure": {
        "Pa": "pascal",
        "kPa": "kilopascal",
        "MPa": "megapascal",
        "bar": "bar",
        "psi": "psi",
        "inHg": "inHg",
        "mbar": "millibar",
    },
    "temperature": {
        "degC": "degC",
        "°C": "degC",
        "C": "degC",
        "degF": "degF",
        "°F": "degF",
        "F": "degF",
        "K": "kelvin",
    },
    "force": {"N": "newton", "kN": "kilonewton", "lbf": "force_pound"},
    "density": {"kg/m3": "kilogram/meter**3", "g/cm3": "gram/centimeter**3", "lb/ft3": "pound/foot**3"},
    "tear strength": {"kN/m": "kilonewton/meter", "N/mm": "newton/millimeter"},
    "rate of volume": {"mm3/s": "millimeter**3/second"},
    "share": {"%": "percent", "-": "dimensionless"},
}

SI: dict[str, str] = {
    "length": "m",
    "area": "m2",
    "volume": "m3",
    "mass": "kg",
    "time": "s",
    "pressure": "Pa",
    "temperature": "K",
    "force": "N",
    "density": "kg/m3",
    "tear strength": "N/m",
    "rate of volume": "m3/s",
    "share": "-",
}

# What a pattern's lengths are given in: the units of a mesh, and of lengths in a job file.
MESH_UNITS = ("mm", "cm", "m", "in", "ft")

_NUMBER = re.compile(r"^\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*(.*?)\s*$")
_COMMA = re.compile(r"^\s*[+-]?\d+,\d+")
THIN_SPACE = "\u202f"
MINUS = "\u2212"


@lru_cache(maxsize=1)
def _registry() -> Any:
    import pint

    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


# Exact by the definitions of the SI prefixes, the minute, the hour, the litre and the degree Celsius; what the data
# tables are written in, so that reading them need not wait for the unit library. A test compares them with it.
_EXACT: dict[str, tuple[float, float]] = {
    "millimeter": (1e-3, 0.0),
    "centimeter": (1e-2, 0.0),
    "meter": (1.0, 0.0),
    "centimeter**2": (1e-4, 0.0),
    "meter**2": (1.0, 0.0),
    "milliliter": (1e-6, 0.0),
    "liter": (1e-3, 0.0),
    "meter**3": (1.0, 0.0),
    "millimeter**3/second": (1e-9, 0.0),
    "gram": (1e-3, 0.0),
    "kilogram": (1.0, 0.0),
    "second": (1.0, 0.0),
    "minute": (60.0, 0.0),
    "hour": (3600.0, 0.0),
    "day": (86400.0, 0.0),
    "pascal": (1.0, 0.0),
    "kilopascal": (1e3, 0.0),
    "megapascal": (1e6, 0.0),
    "newton": (1.0, 0.0),
    "kilonewton": (1e3, 0.0),
    "kilonewton/meter": (1e3, 0.0),
    "kilogram/meter**3": (1.0, 0.0),
    "degC": (1.0, 273.15),
    "kelvin": (1.0, 0.0),
    "percent": (0.01, 0.0),
    "dimensionless": (1.0, 0.0),
}


@lru_cache(maxsize=256)
def _slope_and_zero(name: str) -> tuple[float, float]:
    """Return (slope, zero) so that SI value = slope * number + zero."""
    if name in _EXACT:
        return _EXACT[name]
    registry = _registry()
    zero = float(registry.Quantity(0.0, name).to_base_units().magnitude)
    if name == "degF":
        # The difference of two rounded kelvins would carry their rounding into every temperature.
        return 5.0 / 9.0, zero
    return float(registry.Quantity(1.0, name).to_base_units().magnitude), zero


def dimension_of(unit: str) -> str:
    """Return the dimension a unit word measures ("length", ...); raises InputError for an unknown word."""
    for dimension, words in ACCEPTED.items():
        if unit in words:
            return dimension
    known = [word for words in ACCEPTED.values() for word in words]
    close = nearest(unit, known)
    hint = f"; did you mean {close!r}?" if close else ""
    raise InputError(f"unknown unit {unit!r}{hint}")


def to_si(number: float, unit: str) -> float:
    """Return `number` given in `unit` as a number in the SI base unit of its dimension."""
    dimension = dimension_of(unit)
    slope, zero = _slope_and_zero(ACCEPTED[dimension][unit])
    return slope * number + zero


def from_si(value: Any, unit: str) -> Any:
    """Return an SI `value` (a number or an array) as a number in `unit`."""
    dimension = dimension_of(unit)
    slope, zero = _slope_and_zero(ACCEPTED[dimension][unit])
    return (value - zero) / slope


def parse_number(text: object, where: str) -> float:
    """Return a finite number from text or a number; `where` names the key or field in the error."""
    if isinstance(text, bool):
        raise InputError(f"{where}: expected a number, not {text!r}.")
    if isinstance(text, (int, float)):
        try:
            number, shown = float(text), repr(text)
        except OverflowError:  # a whole number in a TOML file may have more digits than a float holds
            number, shown = math.inf, "a number of so many digits"
    else:
        shown = str(text).strip()
        if _COMMA.match(shown):
            raise InputError(f"{where}: {shown!r} has a comma; write a decimal point ({shown.replace(',', '.')}).")
        match = _NUMBER.match(shown)
        if not match or match.group(2):
            raise InputError(f"{where}: {shown!r} is not a number.")
        number = float(match.group(1))
    if not math.isfinite(number):
        raise InputError(f"{where}: {shown} is not a finite number.")
    return number


def parse(text: object, dimension: str, where: str) -> float:
    """Return the SI value of text such as "30 cm".

    text: number and unit; dimension: what it must measure ("length", ...); where: the key or field.
    Raises InputError for a missing or foreign unit, a decimal comma, or anything that is not one number.
    """
    words = ACCEPTED[dimension]
    example = f"10 {next(iter(words))}"
    if isinstance(text, (int, float)) and not isinstance(text, bool):
        raise InputError(
            f"{where}: {text!r} has no unit; write it with one, for instance {f'{text} {next(iter(words))}'!r}."
        )
    shown = str(text).strip()
    if _COMMA.match(shown):
        raise InputError(f"{where}: {shown!r} has a comma; write a decimal point ({shown.replace(',', '.')}).")
    match = _NUMBER.match(shown)
    if not match:
        raise InputError(f"{where}: {shown!r} is not a number with a unit; write for instance {example!r}.")
    number, unit = float(match.group(1)), match.group(2)
    if not unit:
        raise InputError(f"{where}: {shown!r} has no unit; write for instance {f'{shown} {next(iter(words))}'!r}.")
    if unit not in words:
        raise InputError(f"{where}: {unit!r} is not a unit of {dimension}; use one of {', '.join(words)}.")
    value = to_si(number, unit)
    if not math.isfinite(value):
        raise InputError(f"{where}: {shown!r} is not a finite number.")
    return value


def parse_length(text: object, where: str) -> float:
    """Return a length [m] from text such as "30 cm"; raises InputError as `parse` does, and for one not above zero."""
    length = parse(text, "length", where)
    if length <= 0:
        raise InputError(f"{where}: {text!r} is not above zero; give a length.")
    return length


def number_text(value: float, digits: int = 3) -> str:
    """Return a number with `digits` significant digits, thin spaces between thousands and a decimal point."""
    if value != value:
        return "no figure"
    if math.isinf(value):
        return "without end"
    if value == 0:
        return "0"
    magnitude = math.floor(math.log10(abs(value)))
    decimals = max(0, digits - 1 - magnitude)
    rounded = round(value, digits - 1 - magnitude) if magnitude >= digits else round(value, decimals)
    if rounded and math.floor(math.log10(abs(rounded))) > magnitude and decimals:
        decimals -= 1
    text = f"{abs(rounded):,.{decimals}f}".replace(",", THIN_SPACE)
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return (MINUS if rounded < 0 else "") + text


def count_text(value: float) -> str:
    """Return a whole number with thin spaces between thousands, never rounded to digits."""
    return f"{round(value):,d}".replace(",", THIN_SPACE)


def money_text(value: float, currency: str = "") -> str:
    """Return money: whole units from 100 up, cents below 100."""
    text = f"{abs(value):,.0f}" if abs(value) >= 99.995 else f"{abs(value):,.2f}"
    sign = MINUS if value < 0 and text.strip("0.") else ""
    shown = sign + text.replace(",", THIN_SPACE)
    return f"{shown} {currency}" if currency else shown


def cents_text(value: float) -> str:
    """Return money with its cents, as a price list shows it."""
    return f"{value:,.2f}".replace(",", THIN_SPACE)


# SI unit -> system -> (from this size up, unit shown); the first that fits is taken.
_SHOWN: dict[str, dict[System, tuple[tuple[float, str], ...]]] = {
    "m": {"metric": ((1.0, "m"), (0.0, "mm")), "us": ((3.0, "ft"), (0.0, "in"))},
    "m2": {"metric": ((0.1, "m2"), (0.0, "cm2")), "us": ((0.0929, "ft2"), (0.0, "in2"))},
    "m3": {"metric": ((0.001, "L"), (0.0, "mL")), "us": ((0.003785, "gal"), (0.0, "fl oz"))},
    # Ounces up to two pounds, as a scale at the bench shows them, so that a batch reads the same on every sheet.
    "kg": {"metric": ((1.0, "kg"), (0.0, "g")), "us": ((0.9072, "lb"), (0.0, "oz"))},
    "s": {
        "metric": ((5400.0, "h"), (60.0, "min"), (0.0, "s")),
        "us": ((5400.0, "h"), (60.0, "min"), (0.0, "s")),
    },
    "Pa": {"metric": ((1e6, "MPa"), (0.0, "kPa")), "us": ((0.0, "psi"),)},
    "N": {"metric": ((1000.0, "kN"), (0.0, "N")), "us": ((0.0, "lbf"),)},
    "K": {"metric": ((0.0, "degC"),), "us": ((0.0, "degF"),)},
    "N/m": {"metric": ((0.0, "kN/m"),), "us": ((0.0, "kN/m"),)},
    "kg/m3": {"metric": ((0.0, "kg/m3"),), "us": ((0.0, "lb/ft3"),)},
    "m3/s": {"metric": ((0.0, "mm3/s"),), "us": ((0.0, "mm3/s"),)},
}
_TYPESET = {
    "m2": "m²",
    "cm2": "cm²",
    "in2": "in²",
    "ft2": "ft²",
    "mm2": "mm²",
    "degC": "°C",
    "degF": "°F",
    "kg/m3": "kg/m³",
    "lb/ft3": "lb/ft³",
    "mm3/s": "mm³/s",
}


def show(value: float, unit: str, system: System = "metric", currency: str = "") -> str:
    """Return an SI value as a person reads it: three digits and a unit of a handy size.

    unit: an SI unit, or one of "money", "money/s", "money/kg", "money/m2", "share", "pours", "castings", "1".
    """
    if unit == "share":
        return f"{number_text(100 * value)} %"
    if unit == "money":
        return money_text(value, currency)
    if unit.startswith("money/"):
        per = unit.removeprefix("money/")
        if per == "s":
            return f"{money_text(3600 * value, currency)} an hour"
        return f"{money_text(value, currency)} a {_TYPESET.get(per, per)}"
    if unit in _SHOWN:
        for least, word in _SHOWN[unit][system]:
            if abs(value) >= least:
                return f"{number_text(float(from_si(value, word)))} {_TYPESET.get(word, word)}"
    if unit in ("pours", "castings", "molds", "pieces", "coats"):
        return f"{number_text(value)} {unit if value != 1 else unit[:-1]}"
    return number_text(value) if unit in ("", "1", "-") else f"{number_text(value)} {unit}"
