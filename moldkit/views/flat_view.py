"""The coloured pattern from three sides, flat: for paper, and for a page that draws nothing in three dimensions."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from moldkit.pattern.survey.picture import Picture
from moldkit.pattern.survey.results import Survey
from moldkit.units import System
from moldkit.views import pattern_marks as marks
from moldkit.views import style
from moldkit.views.charts import Figure
from moldkit.views.painter import Painted, data_address, painted
from moldkit.views.pattern_colours import Colouring, colour_scale, face_colours, face_figures, scale_end, shown
from moldkit.views.pattern_view import HEIGHT, LEAST_END, colour_bar
from moldkit.views.survey_report import finding

Floats = NDArray[np.float64]

PIXELS = 520
# The axes reach so many times as far as the picture.
ROOM = 1.08
# Right and up of each picture, for a pattern that shows its front against y.
VIEWS = {
    "from the front": ((1.0, 0.0, 0.0), (0.0, 0.0, 1.0)),
    "from the right": ((0.0, 1.0, 0.0), (0.0, 0.0, 1.0)),
    "from above": ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0)),
}
WITHOUT_3D = "This browser draws nothing in three dimensions (WebGL is missing or switched off): three sides instead."


def flat_view(
    picture: Picture, survey: Survey, colouring: Colouring, *, scale: float = 1.0, system: System = "metric",
    height: int = HEIGHT, big: bool = False, bottom: float | None = None, instead: bool = False,
) -> Figure:  # fmt: skip
    """Return the figure: the pattern from the front, the right and above, coloured as `pattern_view` colours it.

    instead: it stands for a view in three dimensions that the page cannot draw, and says so; otherwise as there.
    """
    corners = picture.vertices.astype(np.float64)[picture.faces]
    figures = face_figures(picture, colouring, scale, system)
    longest = float(np.ptp(picture.vertices, axis=0).max())
    end = scale_end(figures, LEAST_END * float(shown(scale * longest, system)))
    colours = face_colours(figures, end, colouring)
    layout = style.layout(finding(survey, colouring, scale, system, bottom), height=height, big=big)
    layout |= {"images": [], "annotations": [], "margin": {**layout["margin"], "l": 8, "r": 96 if big else 78}}
    traces = [_bar(end, colouring, system, big=big)] if figures.any() else []
    seen = [painted(corners, colours, np.array(right), np.array(up), PIXELS) for right, up in VIEWS.values()]
    places = _places(seen)
    for number, (name, made, (left, width)) in enumerate(zip(VIEWS, seen, places, strict=True), 1):
        layout |= _axes(number, made, seen, (left, left + width))
        layout["images"].append(_image(number, made))
        layout["annotations"].append(_words(name, left + 0.5 * width, 0.0, "center"))
        on = {"xaxis": f"x{number}", "yaxis": f"y{number}"}
        traces += [{**trace, **on} for trace in _marks(survey, colouring, np.array(VIEWS[name]))]
    if instead:
        layout["annotations"].append(_words(WITHOUT_3D, 0.0, -0.10, "left"))
    return {"data": traces, "layout": layout}


def _places(seen: list[Painted]) -> list[tuple[float, float]]:
    """Return where each picture begins across the figure and how wide it is, as shares: each as wide as its picture."""
    wide = np.array([made.high[0] - made.low[0] for made in seen])
    # A slender picture still needs room for its name.
    wide = np.maximum(wide, 0.35 * wide.max())
    share = wide / wide.sum()
    return list(zip((np.cumsum(share) - share).tolist(), share.tolist(), strict=True))


def _axes(number: int, made: Painted, seen: list[Painted], domain: tuple[float, float]) -> dict[str, Any]:
    """Return the axes of one picture, all pictures to one scale."""
    middle, half = 0.5 * (made.low + made.high), 0.5 * (made.high - made.low)
    half[1] = max(0.5 * float(other.high[1] - other.low[1]) for other in seen)
    (left, low), (right, high) = (middle - ROOM * half).tolist(), (middle + ROOM * half).tolist()
    hidden = {"visible": False, "fixedrange": True, "constrain": "range"}
    name = "" if number == 1 else str(number)
    across = {**hidden, "range": [left, right], "domain": list(domain), "anchor": f"y{number}"}
    upward = {**hidden, "range": [low, high], "domain": [0.07, 1.0], "anchor": f"x{number}"}
    return {f"xaxis{name}": across, f"yaxis{name}": {**upward, "scaleanchor": f"x{number}", "scaleratio": 1}}


def _image(number: int, made: Painted) -> dict[str, Any]:
    width, height = (made.high - made.low).tolist()
    return {
        "source": data_address(made.picture), "xref": f"x{number}", "yref": f"y{number}", "layer": "below",
        "x": float(made.low[0]), "y": float(made.high[1]), "sizex": width, "sizey": height, "sizing": "stretch",
    }  # fmt: skip


def _words(text: str, x: float, y: float, anchor: str) -> dict[str, Any]:
    place = {"xref": "paper", "yref": "paper", "yanchor": "bottom", "x": x, "y": y, "xanchor": anchor}
    return {**place, "text": text, "showarrow": False}


def _marks(survey: Survey, colouring: Colouring, sides: Floats) -> list[dict[str, Any]]:
    """Return the parting line, dotted as it shows through, and where air stays, seen along one side."""
    gap = np.full((1, 3), np.nan)
    line = np.concatenate([part for path in survey.pull.parting for part in (path, gap)] or [gap]) @ sides.T
    standing = colouring == "air standing"
    way = survey.air.standing if standing else survey.air.casting
    points = np.reshape([trap.at for trap in way.ceilings] if standing else way.vents, (-1, 3)) @ sides.T
    mark = {"size": 9, "color": marks.AIR, "symbol": "circle-open", "line": {"width": 2}}
    flat = {"type": "scatter", "hoverinfo": "skip"}
    return [
        {
            **flat, "mode": "lines", "name": "parting line", "x": line[:, 0], "y": line[:, 1],
            "line": {"color": marks.PARTING, "width": 2, "dash": "dot"},
        },
        {**flat, "mode": "markers", "name": "air", "x": points[:, 0], "y": points[:, 1], "marker": mark},
    ]  # fmt: skip


def _bar(end: float, colouring: Colouring, system: System, *, big: bool) -> dict[str, Any]:
    """Return the colour bar: it hangs on a trace whose only point is none."""
    marker = {
        "color": [0.0], "cmin": 0.0, "cmax": end, "colorscale": colour_scale(colouring), "showscale": True,
        "colorbar": colour_bar(colouring, system, big=big),
    }  # fmt: skip
    return {"type": "scatter", "mode": "markers", "x": [None], "y": [None], "marker": marker, "hoverinfo": "skip"}
