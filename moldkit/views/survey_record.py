"""A survey as one plain object, keys ending in their unit."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from moldkit.pattern.survey.results import Air, Peel, Piece, Point, Pull, Survey, Trap, Walls, WayUp

Record = dict[str, Any]


def survey_record(survey: Survey, scale: float = 1.0) -> Record:
    """Return what a survey found; scale: what its lengths are multiplied by. Points are in the mesh's own frame."""
    return {
        "pull": _pull(survey.pull, scale),
        "peel": _peel(survey.peel, scale),
        "air": _air(survey.air, scale),
        "walls": _walls(survey.walls, scale),
    }


def _at(point: Point, scale: float) -> list[float]:
    return [scale * along for along in point]


def _pull(pull: Pull, scale: float) -> Record:
    return {
        "axis": list(pull.axis),
        "visible_share": pull.visible,
        "visible_up_share": pull.visible_up,
        "visible_any_share": pull.visible_any,
        "hidden_area_m2": pull.hidden_area * scale**2,
        "hidden_depth_m": pull.hidden_depth * scale,
        "grade": pull.grade,
        "pieces": _pieces(pull.pieces),
        "stretch_share": pull.stretch,
        "soft_pieces": _pieces(pull.soft_pieces),
        "parting_length_m": pull.parting_length * scale,
    }


def _pieces(pieces: Sequence[Piece]) -> list[Record]:
    return [{"direction": list(piece.direction), "share": piece.share} for piece in pieces]


def _peel(peel: Peel, scale: float) -> Record:
    necks = [
        {
            "at_m": _at(neck.at, scale),
            "height_m": neck.height * scale,
            "girth_m": neck.girth * scale,
            "passes_m": neck.passes * scale,
            "stretch_share": neck.stretch,
        }
        for neck in peel.necks
    ]
    return {"axis": list(peel.axis), "stretch_share": peel.stretch, "loops": peel.loops, "necks": necks}


def _air(air: Air, scale: float) -> Record:
    return {
        "standing": _way(air.standing, scale),
        "casting": _way(air.casting, scale),
        "others": [_way(way, scale) for way in air.others],
    }


def _way(way: WayUp, scale: float) -> Record:
    return {
        "up": list(way.up),
        "open_top": way.open_top,
        "tops": _traps(way.tops, scale),
        "ceilings": _traps(way.ceilings, scale),
        "spout_m": None if way.spout is None else _at(way.spout, scale),
        "vents_m": [_at(vent, scale) for vent in way.vents],
        "head_m": way.head * scale,
    }


def _traps(traps: Sequence[Trap], scale: float) -> list[Record]:
    return [
        {"at_m": _at(t.at, scale), "prominence_m": t.prominence * scale, "area_m2": t.area * scale**2} for t in traps
    ]


def _walls(walls: Walls, scale: float) -> Record:
    return {
        "thinnest_m": walls.thinnest * scale,
        "thinnest_at_m": _at(walls.thinnest_at, scale),
        "narrowest_m": None if walls.narrowest is None else walls.narrowest * scale,
        "narrowest_at_m": None if walls.narrowest_at is None else _at(walls.narrowest_at, scale),
    }
