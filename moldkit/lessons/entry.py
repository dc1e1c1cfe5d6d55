"""What an apprentice writes: numbers in many spellings, units by many names, choices and orders by letter or text."""

from __future__ import annotations

import re
import string
from collections.abc import Sequence

from moldkit.errors import InputError
from moldkit.lessons.problem import COUNT, MONEY, RATIO
from moldkit.units import ACCEPTED, parse, parse_number

WHERE = "answer"
# Names of units as people write them -> the kit's own.
SPELT = {
    "millimeters": "mm", "millimetres": "mm", "millimeter": "mm", "millimetre": "mm", "centimeters": "cm",
    "centimetres": "cm", "centimeter": "cm", "centimetre": "cm", "meters": "m", "metres": "m", "meter": "m",
    "metre": "m", "inches": "in", "ins": "in", "in.": "in", "feet": "ft", "foot": "ft", "cm²": "cm2", "m²": "m2",
    "mm²": "mm2", "in²": "in2", "ft²": "ft2", "sq m": "m2", "sq cm": "cm2", "sq in": "in2", "sq ft": "ft2",
    "cm³": "cm3", "m³": "m3", "in³": "in3", "ft³": "ft3", "cc": "cm3", "ccm": "cm3", "liters": "L", "litres": "L",
    "liter": "L", "litre": "L", "milliliters": "mL", "millilitres": "mL", "gallons": "gal", "gallon": "gal",
    "grams": "g", "gram": "g", "kilograms": "kg", "kilogram": "kg", "kilos": "kg", "kilo": "kg", "kgs": "kg",
    "ounces": "oz", "ounce": "oz", "pounds": "lb", "pound": "lb", "lbs": "lb", "lb.": "lb", "hours": "h", "hour": "h",
    "hrs": "h", "hr": "h", "minutes": "min", "minute": "min", "mins": "min", "seconds": "s", "second": "s", "sec": "s",
    "days": "d", "day": "d", "percent": "%", "per cent": "%", "newtons": "N", "newton": "N",
}  # fmt: skip
_GAPS = "[ \u00a0\u2009\u202f']"
_THOUSANDS = re.compile(rf"^([+-]?\d{{1,3}}(?:{_GAPS}\d{{3}})+)(?![\d/]|{_GAPS}*\d+/)")
_FRACTION = re.compile(r"^([+-]?)(?:(\d+)(?:\s+|-))?(\d+)\s*/\s*(\d+)(?=\D|$)")
_COMMA = re.compile(r"^[+-]?\d+,\d")
_NUMBER = re.compile(r"^([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)(.*)$")
_LINE = re.compile(r"^(?:line\s+|no\.?\s+|#)?(\d+)$", re.IGNORECASE)


def read_figure(entered: object, dimension: str, unit: str, currency: str) -> float:
    """Return the figure entered, in SI units or money; raises InputError in one sentence for what cannot be read.

    dimension: of units, or COUNT, MONEY, RATIO; unit: an example, or the noun that is counted.
    """
    if isinstance(entered, (int, float)) and not isinstance(entered, bool):
        entered = repr(entered)
    number, rest = _apart(str(entered))
    if dimension in (COUNT, MONEY, RATIO):
        _check_word(rest, dimension, unit, currency)
        return parse_number(number, WHERE)
    if dimension == "share" and not rest:
        return parse_number(number, WHERE)
    return parse(f"{number} {unit_named(rest, dimension)}".strip(), dimension, WHERE)


def _apart(entered: str) -> tuple[str, str]:
    """Return (number, the rest) of what was written, the number with a point and no gaps."""
    text = entered.strip().lstrip("=~≈").strip().replace("\u2212", "-")
    text = re.sub(r"^(?:about|ca\.?|some)\s+", "", text, flags=re.IGNORECASE)
    before = re.match(r"^([$€£]|[A-Z]{3}\s)\s*(?=[\d.])", text)
    if before:
        text = f"{text[before.end() :]} {before.group(1)}"
    if _COMMA.match(text):
        raise InputError(
            f"{WHERE}: {entered.strip()!r} has a comma, which may mean a decimal point or thousands; write a decimal "
            "point, and thousands without any mark."
        )
    fraction = _FRACTION.match(text)
    if fraction:
        return _of_fraction(fraction, entered), text[fraction.end() :].strip()
    thousands = _THOUSANDS.match(text)
    if thousands:
        text = re.sub(_GAPS, "", thousands.group(1)) + text[thousands.end() :]
    found = _NUMBER.match(text)
    if not found:
        raise InputError(f"{WHERE}: {entered.strip()!r} does not begin with a number; write for instance '12.5'.")
    return found.group(1), found.group(2).strip()


def _of_fraction(found: re.Match[str], entered: str) -> str:
    sign, whole, over, under = found.groups()
    if int(under) == 0:
        raise InputError(f"{WHERE}: {entered.strip()!r} divides by nothing; check the fraction.")
    return sign + repr(int(whole or 0) + int(over) / int(under))


def unit_named(word: str, dimension: str) -> str:
    """Return the kit's name for a unit as people write it; an unknown one as it stands."""
    known = ACCEPTED[dimension]
    if word in known:
        return word
    spelt = SPELT.get(word.lower(), word)
    alike = [each for each in known if each.lower() == spelt.lower()]
    return spelt if spelt in known or len(alike) != 1 else alike[0]


def _check_word(rest: str, dimension: str, unit: str, currency: str) -> None:
    """Raise InputError for a word after a count, a sum of money or a ratio that does not belong there."""
    word = rest.strip().lower()
    good = {
        COUNT: {"", unit.lower(), unit.lower().removesuffix("s")},
        MONEY: {"", currency.lower(), *(["$"] if currency == "USD" else [])},
        RATIO: {"", "times", "x", "×", "-fold", "fold"},
    }[dimension]
    if word not in good:
        asked = {COUNT: f"a number of {unit}", MONEY: f"money in {currency}", RATIO: "a plain ratio"}[dimension]
        raise InputError(f"{WHERE}: {rest!r} does not belong here; {asked} is asked for.")


def read_choice(entered: object, choices: Sequence[str]) -> str:
    """Return the choice that was entered: by its text, its letter or its place; raises InputError for none of them."""
    text = str(entered).strip()
    by_text = {_plain(choice): choice for choice in choices}
    if _plain(text) in by_text:
        return by_text[_plain(text)]
    letter = text.strip("().").lower()
    if len(letter) == 1 and letter in string.ascii_lowercase[: len(choices)]:
        return choices[string.ascii_lowercase.index(letter)]
    line = _LINE.match(text)
    if line and 1 <= int(line.group(1)) <= len(choices):
        return choices[int(line.group(1)) - 1]
    last = string.ascii_lowercase[len(choices) - 1]
    raise InputError(
        f"{WHERE}: {text!r} is none of the choices; write a letter from a to {last}, or the choice's text."
    )


def _plain(text: str) -> str:
    return " ".join(text.lower().split())


def read_order(entered: object, choices: Sequence[str]) -> tuple[str, ...]:
    """Return the choices in the order entered; raises InputError where one is missing, twice there or unknown.

    entered: a list of letters or texts, or one text: letters ("bca", "b, c, a"), or texts with semicolons between.
    """
    given = [str(part) for part in entered] if isinstance(entered, (list, tuple)) else _parts(str(entered))
    found = [read_choice(part, choices) for part in given]
    twice = next((choice for place, choice in enumerate(found) if choice in found[:place]), None)
    if twice is not None:
        raise InputError(f"{WHERE}: {twice!r} stands there twice; name each one once.")
    if len(found) != len(choices):
        raise InputError(f"{WHERE}: {len(found)} of {len(choices)} are named; put all of them in order.")
    return tuple(found)


def _parts(text: str) -> list[str]:
    if ";" in text:
        return [part for part in text.split(";") if part.strip()]
    letters = re.sub(r"[\s,<>.()-]", "", text)
    if letters.isdigit() or (letters.isalpha() and len(letters) <= 8):
        return list(letters)
    raise InputError(f"{WHERE}: {text!r} is no order; write the letters, least first, for instance 'b, a, c'.")
