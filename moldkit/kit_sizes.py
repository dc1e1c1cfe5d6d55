"""The kits a material is sold in: a cell such as "1=34;5=150;20=560", a size and, after an equals sign, its price."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from moldkit.errors import InputError
from moldkit.units import parse_number

# Sizes are taken to a thousandth: the gram, where they are kilograms.
FINE = 0.001
MOST_PRICE = 1_000_000.0
EXAMPLE = "write for instance 5=150, or the size alone"


@dataclass(frozen=True, slots=True)
class Kit:
    """A kit: what it holds, and its price [money], None where it costs its size x the row's price."""

    size: float
    price: float | None = None


def parse_kits(cell: str, place: str, checked: Callable[[float], float]) -> tuple[Kit, ...]:
    """Return the kits of a cell, the smallest first.

    cell: SIZE or SIZE=PRICE, several separated by semicolons; place: file, row and column for errors; checked: returns
    a size that lies within the column's bounds. Raises InputError naming the part that is none, and the mend.
    """
    kits = [_kit(part.strip(), place, checked) for part in cell.split(";") if part.strip()]
    if not kits:
        raise InputError(f"{place}: {cell!r} names no kit; {EXAMPLE}.")
    sizes = [kit.size for kit in kits]
    for size in sizes:
        if sizes.count(size) > 1:
            raise InputError(f"{place}: the kit of {size:g} stands twice; remove one.")
    return tuple(sorted(kits, key=lambda kit: kit.size))


def _kit(part: str, place: str, checked: Callable[[float], float]) -> Kit:
    size_text, equals, price_text = (text.strip() for text in part.partition("="))
    if "=" in price_text:
        raise InputError(f"{place}: {part!r} has two equals signs; separate kits by semicolons, {EXAMPLE}.")
    if not size_text:
        raise InputError(f"{place}: {part!r} has no size before the equals sign; {EXAMPLE}.")
    size = checked(parse_number(size_text, place))
    if abs(size / FINE - round(size / FINE)) > 1e-6:
        raise InputError(f"{place}: {size_text} is finer than a thousandth; round it to {round(size, 3):g}.")
    if not equals:
        return Kit(size)
    if not price_text:
        raise InputError(f"{place}: {part!r} has no price after the equals sign; {EXAMPLE}.")
    price = parse_number(price_text, place)
    if not 0.0 < price <= MOST_PRICE:
        raise InputError(f"{place}: {price_text} is no price of a kit; give one above zero, a million at the most.")
    return Kit(size, price)
