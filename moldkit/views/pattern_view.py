"""The pattern in three dimensions, coloured by what the survey found, with what a mold maker would mark on it."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from moldkit.pattern.survey.picture import Picture
from moldkit.pattern.survey.results import Survey
from moldkit.units import System, show
from moldkit.views import pattern_marks as marks
from moldkit.views import style
from moldkit.views.charts import Figure
from moldkit.views.pattern_colours import (
    COLOURINGS,
    Colouring,
    colour_scale,
    face_figures,
    length_unit,
    scale_end,
    shown,
)
from moldkit.views.survey_report import finding

Floats = NDArray[np.float64]

HEIGHT = 480
# In a line of the title: the view stands beside the controls, on a laptop too.
LETTERS = 80
# From the front, a little from the right and from above.
_EYE = np.array([0.50, -1.0, 0.38]) / np.linalg.norm([0.50, -1.0, 0.38])
# The page sees 45 degrees from edge to edge; some room is left round the pattern.
_HALF_VIEW, _ROOM = math.tan(math.radians(22.5)), 0.94
# A figure is at least so many times as wide as it is high.
_WIDER = 1.15
# A colour scale ends at this share of the longest side at least, so that specks of noise stay pale.
LEAST_END = 0.004
_LIGHT = {
    "ambient": 0.40, "diffuse": 0.85, "specular": 0.06, "roughness": 0.85, "fresnel": 0.02,
    "facenormalsepsilon": 0, "vertexnormalsepsilon": 0,
}  # fmt: skip
# The page's own buttons for three dimensions cannot be reached by keyboard; the chart widget has its own.
_NO_BUTTONS = [
    "zoom3d", "pan3d", "orbitRotation", "tableRotation", "resetCameraDefault3d", "resetCameraLastSave3d",
    "hoverClosest3d", "toImage",
]  # fmt: skip


def pattern_view(
    picture: Picture, survey: Survey, colouring: Colouring, *, stands_on_base: bool, scale: float = 1.0,
    system: System = "metric", height: int = HEIGHT, big: bool = False, name: str = "",
    bottom: float | None = None,
) -> Figure:  # fmt: skip
    """Return the figure: the pattern coloured one way, pull, parting line, vents, spout and base plane.

    scale: what the survey's lengths are multiplied by; name: tells one pattern from another, so that the camera is
    kept when the colouring is switched and not when the pattern is; big: text for a projector; bottom: as for the
    report.
    """
    factor = scale * float(shown(1.0, system))
    vertices = factor * picture.vertices.astype(np.float64)
    corners = vertices.min(axis=0), vertices.max(axis=0)
    longest = float((corners[1] - corners[0]).max())
    surface = _surface(vertices, picture, colouring, scale, system, big=big)
    arrows = marks.arrows(corners, survey, big=big)
    tubes = marks.tubes(survey.air.casting, longest, factor, big=big)
    parting = marks.lines(_lifted(survey, vertices, factor), "parting line", marks.PARTING, 6)
    ground = [marks.base_plane(corners)] if stands_on_base else []
    traces = [surface, parting, *arrows, *ground]
    if colouring == "air standing":
        depths = [show(scale * trap.prominence, "m", system) for trap in survey.air.standing.ceilings]
        traces += marks.air_marks(survey.air.standing, factor, depths, big=big)
    else:
        traces += tubes
    layout = _layout(finding(survey, colouring, scale, system, bottom), height, big)
    # The box is that of all that is ever drawn, so that nothing grows or shrinks when the colouring is switched.
    drawn = [surface, parting, *arrows, *ground, *tubes]
    layout["scene"] = _scene(_points(drawn), _points([surface, *arrows]), name)
    return {"data": traces, "layout": layout}


def _surface(
    vertices: Floats, picture: Picture, colouring: Colouring, scale: float, system: System, *, big: bool
) -> marks.Trace:
    x, y, z = vertices.astype(np.float32).T
    small = np.uint16 if len(vertices) < 2**16 else np.int32
    i, j, k = picture.faces.astype(small).T
    figures = face_figures(picture, colouring, scale, system)
    longest = float(np.ptp(vertices, axis=0).max())
    ramp = COLOURINGS[colouring]
    return {
        "type": "mesh3d", "x": x, "y": y, "z": z, "i": i, "j": j, "k": k, "name": ramp.name,
        "intensity": figures.astype(np.float32), "intensitymode": "cell", "colorscale": colour_scale(colouring),
        "cmin": 0, "cmax": scale_end(figures, LEAST_END * longest), "flatshading": True, "hoverinfo": "skip",
        "lighting": _LIGHT, "lightposition": {"x": -45_000, "y": -75_000, "z": 90_000},
        "colorbar": colour_bar(colouring, system, big=big), "showscale": bool(figures.any()),
    }  # fmt: skip


def colour_bar(colouring: Colouring, system: System, *, big: bool) -> dict[str, Any]:
    """Return the colour bar, which says what is shown and its unit."""
    return {
        "title": {
            "text": f"{COLOURINGS[colouring].bar}, {length_unit(system)}", "side": "right",
            "font": {"size": 17 if big else 13},
        },
        "thickness": 18 if big else 14, "len": 0.72, "x": 1.0, "xanchor": "left", "outlinewidth": 0, "nticks": 6,
    }  # fmt: skip


def _lifted(survey: Survey, vertices: Floats, factor: float) -> list[Floats]:
    """Return the parting line as shown, moved a hair out of the surface so that it isn't half hidden in it."""
    middle = 0.5 * (vertices.min(axis=0) + vertices.max(axis=0))
    axis = np.array(survey.pull.axis)
    moved = []
    for path in survey.pull.parting:
        points = factor * np.asarray(path)
        out = points - middle
        out -= (out @ axis)[:, None] * axis
        length = np.linalg.norm(out, axis=1, keepdims=True)
        moved.append(points + marks.LIFT * float(np.ptp(vertices, axis=0).max()) * out / np.maximum(length, 1e-12))
    return moved


def _layout(title: str, height: int, big: bool) -> dict[str, Any]:
    layout = style.layout(title, height=height, big=big, line=LETTERS)
    layout["margin"] = {**layout["margin"], "l": 4, "r": 96 if big else 78, "b": 52}
    layout["modebar"] = {**layout["modebar"], "remove": [*layout["modebar"]["remove"], *_NO_BUTTONS]}
    return layout


def _scene(drawn: Floats, seen: Floats, name: str) -> dict[str, Any]:
    """Return the room of the figure: equal axes round what is drawn, no walls, the camera where it sees all it should.

    drawn, seen: points, shape (n, 3).
    """
    low, high = drawn.min(axis=0), drawn.max(axis=0)
    side = float((high - low).max())
    ratio = (high - low) / side
    eye = _EYE * _distance((seen - 0.5 * (low + high)) / side)
    hidden = {"visible": False, "showspikes": False, "showbackground": False}
    return {
        **{f"{axis}axis": {**hidden, "range": [float(low[i]), float(high[i])]} for i, axis in enumerate("xyz")},
        "aspectmode": "manual", "aspectratio": dict(zip("xyz", ratio.tolist(), strict=True)),
        "dragmode": "turntable", "hovermode": False, "uirevision": name or "pattern", "bgcolor": style.PAPER,
        "camera": {
            "eye": dict(zip("xyz", eye.tolist(), strict=True)), "center": {"x": 0, "y": 0, "z": 0},
            "up": {"x": 0, "y": 0, "z": 1},
        },
    }  # fmt: skip


def _distance(points: Floats) -> float:
    """Return from how far along the first line of sight points round the middle just fit the view, shape (n, 3)."""
    right = np.cross([0.0, 0.0, 1.0], _EYE)
    right /= np.linalg.norm(right)
    aside = np.abs(points @ np.stack([right / _WIDER, np.cross(_EYE, right)], axis=1)).max(axis=1)
    return float((aside / (_ROOM * _HALF_VIEW) + points @ _EYE).max())


def _points(traces: list[marks.Trace]) -> Floats:
    """Return all points of traces, shape (n, 3)."""
    points = np.concatenate([np.stack([np.asarray(trace[axis], dtype=float) for axis in "xyz"], 1) for trace in traces])
    finite: Floats = points[np.isfinite(points).all(axis=1)]
    return finite
