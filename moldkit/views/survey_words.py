"""Lengths, shares, counts and directions as somebody says them who stands before a pattern."""

from __future__ import annotations

import math
from collections.abc import Sequence

from moldkit.pattern.survey.results import Point
from moldkit.units import System, from_si, number_text, show

# Between a figure and its unit, so that no line breaks there.
NO_BREAK = "\u00a0"
_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
_LEVEL, _UPRIGHT = math.sin(math.radians(12)), math.cos(math.radians(12))


def length_words(value: float, system: System) -> str:
    """Return a length as a rule or a caliper gives it: whole millimetres from 10 mm up, else tenths; or inches."""
    if system == "us":
        inches = float(from_si(value, "in"))
        return f"{number_text(inches, 3 if inches >= 1 else 2)}{NO_BREAK}in"
    millimetres = 1e3 * value
    if millimetres >= 999.5:
        return show(value, "m", system).replace(" ", NO_BREAK)
    shown = f"{millimetres:.0f}" if millimetres >= 9.95 else number_text(round(millimetres, 1), 2)
    return f"{shown}{NO_BREAK}mm"


def percent(share: float) -> str:
    """Return a share in per cent, never "100 %" for what is not quite all nor "0 %" for what is not quite nothing."""
    per_cent = 100.0 * share
    if 0.0 < per_cent < 0.05:
        return f"less than 0.1{NO_BREAK}%"
    tenths = 99.0 < per_cent < 99.95 or 0.05 <= per_cent < 1.0
    return f"{per_cent:.{1 if tenths else 0}f}{NO_BREAK}%"


def count_words(number: int, one: str, several: str = "") -> str:
    """Return a small number in words with what is counted."""
    word = _NUMBERS[number] if number < len(_NUMBERS) else str(number)
    return f"{word} {one if number == 1 else several or one + 's'}"


def listed(words: Sequence[str]) -> str:
    """Return words as a list in a sentence."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def axis_words(axis: Point) -> str:
    """Return along which line two halves leave."""
    x, y, z = axis
    if abs(z) >= _UPRIGHT:
        return "up and down"
    if abs(z) <= _LEVEL:
        if abs(x) >= _UPRIGHT:
            return "to the left and to the right"
        if abs(y) >= _UPRIGHT:
            return "to the front and to the back"
        # Counterclockwise from above, from the nearer of the two.
        turn = (math.degrees(math.atan2(y, x)) + 45.0) % 90.0 - 45.0
        nearer = "to the left and to the right" if abs(x) > abs(y) else "to the front and to the back"
        return f"{nearer}, turned {abs(turn):.0f}° {'counter' if turn > 0 else ''}clockwise seen from above"
    lean = math.degrees(math.acos(min(abs(z), 1.0)))
    return f"along a line that leans {lean:.0f}° from upright"


def way_words(direction: Point) -> str:
    """Return where a piece leaves to."""
    x, y, z = direction
    if abs(z) >= _UPRIGHT:
        return "up" if z > 0 else "down"
    side = ("right" if x > 0 else "left") if abs(x) >= abs(y) else ("back" if y > 0 else "front")
    both = min(abs(x), abs(y)) > 0.5 * max(abs(x), abs(y))
    if both:
        side = f"{'back' if y > 0 else 'front'} {'right' if x > 0 else 'left'}"
    if abs(z) <= _LEVEL * 2:
        return side
    return f"{side} {'upwards' if z > 0 else 'downwards'}"


def up_words(up: Point) -> str:
    """Return how a casting is turned."""
    z = max(-1.0, min(1.0, up[2]))
    if z >= _UPRIGHT:
        return "as the pattern stands"
    if z <= -_UPRIGHT:
        return "upside down, base uppermost"
    if abs(z) <= _LEVEL:
        return f"lying, its {facing(up)} uppermost"
    return f"tilted {math.degrees(math.acos(z)):.0f}°, its {facing(up)} side rising"


def facing(up: Point) -> str:
    """Return which side of the pattern looks up most."""
    x, y, _ = up
    return ("right" if x > 0 else "left") if abs(x) >= abs(y) else ("back" if y > 0 else "front")
