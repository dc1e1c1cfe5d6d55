"""What is drawn beside the pattern itself: arrows of the pull, parting line, vents, spout, base plane."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from moldkit.pattern.survey.results import Survey, WayUp
from moldkit.views import style

Floats = NDArray[np.float64]
Trace = dict[str, Any]

PARTING = "rgb(0,60,130)"
AIR = "rgb(150,20,60)"
PULL = "rgb(70,70,70)"
# Sizes as shares of the longest side.
LIFT = 0.006
TUBE = 0.07
_ARROW, _HEAD, _SHAFT = 0.17, 0.022, 0.007
_ROUND = 20
# So many are numbered in the picture; the others are marks only.
NUMBERED = 9


def lines(paths: Sequence[Floats], name: str, colour: str, width: float, dash: str = "solid") -> Trace:
    """Return polylines, each of shape (k, 3), as one trace; the pen is lifted between them."""
    gap = np.full((1, 3), np.nan)
    joined = np.concatenate([part for path in paths for part in (path, gap)] or [gap])
    return {
        **_at(joined), "type": "scatter3d", "mode": "lines", "name": name, "connectgaps": False,
        "line": {"color": colour, "width": width, "dash": dash}, "hoverinfo": "skip",
    }  # fmt: skip


def words_at(
    points: Floats, words: Sequence[str], name: str, colour: str, symbol: str, *, big: bool, below: bool = False
) -> list[Trace]:
    """Return marks with words over them, or below, each mark a trace: a word that joins one comes out tiny there."""
    looks = {
        "type": "scatter3d", "mode": "markers+text", "name": name, "hoverinfo": "skip",
        "textposition": "bottom center" if below else "top center",
        "textfont": {"size": 18 if big else 14, "color": colour, "family": style.FONT},
        "marker": {"size": 5, "color": colour, "symbol": symbol, "line": {"color": style.PAPER, "width": 1}},
    }  # fmt: skip
    told = [{**looks, **_at(points[n : n + 1]), "text": [words]} for n, words in enumerate(words)]
    rest = points[len(words) :]
    return told + ([{**looks, **_at(rest), "mode": "markers"}] if len(rest) else [])


def _at(points: Floats) -> Trace:
    x, y, z = np.asarray(points, dtype=np.float32).T
    return {"x": x, "y": y, "z": z}


def arrows(corners: tuple[Floats, Floats], survey: Survey, *, big: bool) -> list[Trace]:
    """Return the arrows along which the mold leaves, one or two, with a word at each head.

    corners: lower and upper of the pattern's box, as shown.
    """
    axis = np.array(survey.pull.axis)
    low, high = corners
    longest, middle = float((high - low).max()), 0.5 * (low + high)
    # To where the box's own shape ends in that direction, as for an ellipsoid that fills it.
    reach = float(np.linalg.norm(axis * 0.5 * (high - low))) + 0.05 * longest
    made: list[Trace] = []
    tips = []
    ways = (axis,) if len(survey.pull.pieces) == 1 else (axis, -axis)
    for way in ways:
        foot = middle + reach * way
        made.append(_arrow(foot, way, longest))
        tips.append(foot + (_ARROW + 0.02) * longest * way)
    labels = words_at(np.array(tips), ["pull"] * len(ways), "pull", PULL, "circle", big=big)
    return [*made, *({**label, "mode": "text"} for label in labels)]


def _arrow(foot: Floats, way: Floats, longest: float) -> Trace:
    """Return an arrow as a mesh: a thin shaft turned round its axis, and a head."""
    aside = np.cross(way, np.eye(3)[int(np.argmin(np.abs(way)))])
    aside /= np.linalg.norm(aside)
    across = np.stack([aside, np.cross(way, aside)])
    turn = np.arange(_ROUND) * (2.0 * math.pi / _ROUND)
    ring = np.stack([np.cos(turn), np.sin(turn)], axis=1) @ across
    outline = [(0.0, 0.0), (0.0, _SHAFT), (0.66 * _ARROW, _SHAFT), (0.66 * _ARROW, _HEAD), (_ARROW, 0.0)]
    points = np.concatenate([foot + longest * (along * way + radius * ring) for along, radius in outline])
    here = np.arange(_ROUND)
    after = np.roll(here, -1)
    faces = []
    for level in range(len(outline) - 1):
        a, b = level * _ROUND + here, level * _ROUND + after
        faces += [np.stack([a, b, b + _ROUND], axis=1), np.stack([a, b + _ROUND, a + _ROUND], axis=1)]
    i, j, k = np.concatenate(faces).astype(np.uint16).T
    return {
        **_at(points), "type": "mesh3d", "i": i, "j": j, "k": k, "color": PULL, "flatshading": False,
        "hoverinfo": "skip", "name": "pull",
    }  # fmt: skip


def tubes(way: WayUp, longest: float, factor: float, *, big: bool) -> list[Trace]:
    """Return spout and vents as short tubes that rise from their points, numbered.

    longest: side of the pattern as shown; factor: from the survey's lengths to those shown.
    """
    rise = np.array(way.up) * TUBE * longest
    below = way.up[2] < 0.0
    vents = [factor * np.array(point) for point in way.vents]
    made = []
    if vents:
        words = [f"vent {n}" for n in range(1, len(vents) + 1)][:NUMBERED]
        made += [lines([np.array([at, at + rise]) for at in vents], "vents", AIR, 7)]
        made += words_at(np.array(vents) + rise, words, "vents", AIR, "circle", big=big, below=below)
    if way.spout is not None:
        at = factor * np.array(way.spout)
        made += [lines([np.array([at, at + 1.6 * rise])], "spout", AIR, 14)]
        made += words_at((at + 1.6 * rise)[None], ["spout"], "spout", AIR, "diamond", big=big, below=below)
    return made


def air_marks(way: WayUp, factor: float, depth_words: Sequence[str], *, big: bool) -> list[Trace]:
    """Return a mark at each place where air stays under the pattern, with its depth in words."""
    if not way.ceilings:
        return []
    points = factor * np.array([trap.at for trap in way.ceilings])
    return words_at(points, depth_words[:NUMBERED], "air under the pattern", AIR, "circle-open", big=big)


def base_plane(corners: tuple[Floats, Floats]) -> Trace:
    """Return the outline of the plane that the pattern stands on."""
    low, high = corners
    room = 0.08 * float((high - low).max())
    (x0, y0, z), (x1, y1, _) = low - room, high + room
    z = float(low[2])
    ring = np.array([(x0, y0, z), (x1, y0, z), (x1, y1, z), (x0, y1, z), (x0, y0, z)])
    return lines([ring], "base plane", "rgb(120,120,120)", 2, "dash")
