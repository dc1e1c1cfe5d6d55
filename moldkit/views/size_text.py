"""Sizes of castings as a client measures them, and the pattern that mends their shrinkage, as rows and words."""

from __future__ import annotations

from collections.abc import Sequence

from moldkit.quantity import Quantity
from moldkit.study.scale import Generation, Wanted
from moldkit.units import MINUS, System, from_si

HEADINGS = ("Casting", "Side", "Pattern", "Likely", "Eight shops in ten", "At the worst")


def size_text(length: float, system: System = "metric") -> str:
    """Return a length [m] as it is measured on a casting: to a tenth of a millimeter, or 5 thousandths of an inch."""
    if system == "us":
        return f"{0.005 * round(float(from_si(length, 'in')) / 0.005):.3f} in"
    return f"{float(from_si(length, 'mm')):.1f} mm"


def size_rows(castings: Sequence[Generation], system: System = "metric") -> list[list[str]]:
    """Return the sizes over generations as rows of text, the headings first."""

    def between(low: float, high: float) -> str:
        return f"{size_text(low, system)} to {size_text(high, system)}"

    rows = [list(HEADINGS)]
    for each in castings:
        for side in each.sides:
            pattern, likely = size_text(side.pattern, system), size_text(side.likely, system)
            ranges = (between(side.low, side.high), between(side.least, side.most))
            rows.append([each.words, side.name, pattern, likely, *ranges])
    return rows


def change_text(share: float) -> str:
    """Return a small change of size [share] as per cent to two places, with its sign where it is below zero."""
    text = f"{abs(100 * share):.2f} %"
    return f"{MINUS}{text}" if share < 0 and float(text[:-2]) else text


def shrinkage_words(casting: Generation) -> str:
    """Return one sentence on how much smaller or larger a casting is than the pattern."""
    found = casting.shrunk.shrinkage
    low, high = (found.at(0) if end is None else end for end in (found.low, found.high))
    if found.at(0) < 0:
        change, ends, word = -found.at(0), (-high, -low), "larger"
    else:
        change, ends, word = found.at(0), (low, high), "smaller"
    return (
        f"A casting {casting.words} is {change_text(change)} {word} than the pattern, and between "
        f"{change_text(ends[0])} and {change_text(ends[1])} in eight shops of ten."
    )


def wanted_words(wanted: Wanted, system: System = "metric") -> str:
    """Return one sentence on the pattern that a size wanted asks for."""
    return (
        f"For a casting of {size_text(wanted.wanted.at(0), system)} the pattern should measure "
        f"{_ranged(wanted.pattern, system)}; as it is, the casting comes out at {_ranged(wanted.now, system)}."
    )


def _ranged(figure: Quantity, system: System) -> str:
    low, high = (figure.at(0) if end is None else end for end in (figure.low, figure.high))
    return f"{size_text(figure.at(0), system)} ({size_text(low, system)} to {size_text(high, system)})"
