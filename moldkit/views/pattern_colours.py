"""The ways a pattern is coloured: by undercut, by the skin that closes it, by air that stays."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from moldkit.pattern.survey.picture import Picture
from moldkit.units import System, from_si

Floats = NDArray[np.float64]
Colouring = Literal["undercut", "skin", "air standing", "air casting"]
Colour = tuple[int, int, int]

# Where there is nothing to tell.
PLAIN: Colour = (214, 214, 210)
# Each ramp darkens all the way, so that it reads in grey and whatever colours the eye tells apart.
_WARM: tuple[Colour, ...] = ((254, 217, 118), (247, 148, 40), (201, 62, 48), (96, 10, 80))
_GREEN: tuple[Colour, ...] = ((199, 233, 150), (94, 190, 120), (22, 125, 127), (20, 50, 96))
_BLUE: tuple[Colour, ...] = ((178, 216, 245), (92, 160, 224), (32, 92, 178), (16, 26, 96))
# Below this share of the scale a face counts as plain.
_LEAST = 0.004
# The scale ends at the figure that this share of the coloured faces stays below.
_ENDS_AT = 0.98


@dataclass(frozen=True)
class Ramp:
    """How one colouring is named, what its colour bar says, its colours, and the picture's figures that it shows."""

    name: str
    bar: str
    colours: tuple[Colour, ...]
    figures: str


COLOURINGS: dict[Colouring, Ramp] = {
    "undercut": Ramp("Undercuts", "reaches behind its edge", _WARM, "undercut"),
    "skin": Ramp("Skin that closes them", "skin to close it", _GREEN, "skin"),
    "air standing": Ramp("Air in the rubber", "air left under it", _BLUE, "air_standing"),
    "air casting": Ramp("Air in the casting", "air left over it", _BLUE, "air_casting"),
}


def length_unit(system: System) -> str:
    """Return the unit that small lengths are shown in."""
    return "in" if system == "us" else "mm"


def shown(length: Any, system: System) -> Any:
    """Return lengths [m] as numbers in the unit shown."""
    return from_si(length, length_unit(system))


def face_figures(picture: Picture, colouring: Colouring, scale: float, system: System) -> Floats:
    """Return the figure of each face in the unit shown, shape (m,); scale: what the picture's lengths grow by."""
    figures = np.asarray(getattr(picture, COLOURINGS[colouring].figures), dtype=np.float64)
    in_unit: Floats = shown(scale * figures, system)
    return in_unit


def scale_end(figures: Floats, least: float) -> float:
    """Return where the colour scale ends: 1, 2, 3, 5 or 8 of a decade, at least `least`."""
    coloured = np.sort(figures[figures > 0.0])
    high = max(float(coloured[int(_ENDS_AT * (len(coloured) - 1))]) if len(coloured) else 0.0, least)
    decade = 10.0 ** np.floor(np.log10(high))
    return next(float(step * decade) for step in (1, 2, 3, 5, 8, 10) if step * decade >= high * (1 - 1e-9))


def stops(colouring: Colouring) -> list[tuple[float, Colour]]:
    """Return the colours along the scale, 0 to 1: plain at 0, then the ramp."""
    colours = COLOURINGS[colouring].colours
    at = np.linspace(_LEAST, 1.0, len(colours))
    return [(0.0, PLAIN), (0.5 * _LEAST, PLAIN), *zip(at.tolist(), colours, strict=True)]


def colour_scale(colouring: Colouring) -> list[list[Any]]:
    """Return the colours along the scale as a chart wants them."""
    return [[at, f"rgb{colour}"] for at, colour in stops(colouring)]


def face_colours(figures: Floats, end: float, colouring: Colouring) -> Floats:
    """Return the colour of each face, 0 to 255, shape (m, 3)."""
    at, colours = zip(*stops(colouring), strict=True)
    share = np.clip(figures / end, 0.0, 1.0)
    return np.stack([np.interp(share, at, [colour[i] for colour in colours]) for i in range(3)], axis=1)
