"""How long one unit of a file is, and whether the pattern that comes of it has a likely size."""

from __future__ import annotations

from typing import Any

from numpy.typing import NDArray

from moldkit.errors import InputError

METRES: dict[str, float] = {"mm": 1e-3, "cm": 1e-2, "m": 1.0, "in": 0.0254, "ft": 0.3048}
SHORTEST_SIDE, LONGEST_SIDE = 0.005, 5.0  # [m]
_SPOKEN = {"in": "inches", "ft": "feet"}


def check_size(longest: float, unit: str, name: str) -> None:
    """Refuse a pattern that is no likely one, with the units in which it would be.

    longest: its longest side in units of the file; unit: one of METRES; name: of the file. Raises InputError
    outside 5 mm to 5 m.
    """
    if SHORTEST_SIDE <= longest * METRES[unit] <= LONGEST_SIDE:
        return
    likely = [
        f"in {_SPOKEN.get(other, other)} it would be {length_text(longest * metres)}"
        for other, metres in METRES.items()
        if SHORTEST_SIDE <= longest * metres <= LONGEST_SIDE
    ]
    raise InputError(
        f"{name}: the longest side is {longest:.4g} {unit}, and patterns are measured from 5 mm to 5 m; "
        f"{', '.join([*likely, ''])}is one unit in the file really 1 {unit}?"
    )


def longest_side(vertices: NDArray[Any]) -> float:
    """Return the longest side of the box round vertices, in their unit; vertices: shape (n, 3)."""
    # Column by column, which is several times faster than along the first axis.
    return max(float(column.max()) - float(column.min()) for column in vertices.T)


def length_text(metres: float) -> str:
    """Return a length in words, metres from one metre up and millimetres below; metres: [m]."""
    return f"{metres:.3g} m" if metres >= 1.0 else f"{metres * 1e3:.3g} mm"
