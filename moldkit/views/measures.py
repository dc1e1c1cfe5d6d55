"""A pattern's measures as one plain object and as text."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import Any

from moldkit.errors import InputError
from moldkit.pattern.pattern import Pattern
from moldkit.pattern.reading import Reading
from moldkit.quantity import Quantity
from moldkit.study.case import checked_side
from moldkit.units import count_text, show
from moldkit.views.survey_record import survey_record
from moldkit.views.survey_report import Said

# Columns of a terminal that the report keeps to.
WIDTH = 100


def measure_record(reading: Reading, longest: float | None, thicknesses: Sequence[float]) -> dict[str, Any]:
    """Return what a pattern measures as one plain object, keys ending in their unit (schema 1).

    longest: longest side [m] to scale to, None for the mesh's own size; thicknesses: of skins [m].
    Raises InputError for a size outside 5 mm to 5 m or a skin over half of the longest side.
    """
    own = max(reading.extents)
    scale = 1.0 if longest is None else checked_side(longest, "--longest", show(longest, "m")) / own
    pattern = Pattern(reading, scale)
    return {
        "schema": 1,
        "triangles": reading.triangles,
        "watertight": reading.watertight,
        "volume_m3": pattern.volume.value,
        "area_m2": pattern.area.value,
        "extents_m": [side * scale for side in reading.extents],
        "longest_m": own * scale,
        "skins": [_skin(pattern, thickness) for thickness in thicknesses],
        "enclosing_cylinder_m": {"diameter": pattern.upright_circle.value, "height": pattern.height.value},
        "findings": [{"level": "note", "rule": "reading", "words": note, "remedy": ""} for note in reading.notes],
        "survey": None if reading.survey is None else {**_fit(pattern), **survey_record(reading.survey, scale)},
    }


def _fit(pattern: Pattern) -> dict[str, Any]:
    """Return the smallest box and the slimmest and lowest tube round the pattern, over the ways it may be laid."""
    bore, height = pattern.tubes_round(0.0)
    tubes = [{"diameter": float(bore[i]), "height": float(height[i])} for i in dict.fromkeys((0, len(bore) - 1))]
    return {"smallest_box_m": [float(side) for side in pattern.box_round(0.0)], "tubes_m": tubes}


def _skin(pattern: Pattern, thickness: float) -> dict[str, float]:
    if thickness > pattern.longest.value / 2:
        raise InputError(
            f"--skin: {show(thickness, 'm')} is more than half of the longest side "
            f"({show(pattern.longest.value, 'm')}); give a thinner skin."
        )
    t = Quantity("skin", thickness, "m")
    return {
        "thickness_m": thickness,
        "volume_m3": float(pattern.skin_volume(t).value),
        "outer_area_m2": float(pattern.outer_area(t).value),
    }


def measure_text(name: str, record: dict[str, Any], said: Sequence[Said] = ()) -> str:
    """Return a pattern's measures as lines of text; said: the report on its survey."""
    width, depth, height = record["extents_m"]
    tube = record["enclosing_cylinder_m"]
    lines = [
        f"{name}: {count_text(record['triangles'])} triangles, {'closed' if record['watertight'] else 'open'}",
        f"  size            {show(width, 'm')} x {show(depth, 'm')} x {show(height, 'm')}",
        f"  volume          {show(record['volume_m3'], 'm3')}",
        f"  surface         {show(record['area_m2'], 'm2')}",
        f"  upright tube    {show(tube['diameter'], 'm')} bore, {show(tube['height'], 'm')} high",
    ]
    lines += [
        f"  skin {show(skin['thickness_m'], 'm'):10} {show(skin['volume_m3'], 'm3')} of rubber, "
        f"{show(skin['outer_area_m2'], 'm2')} of shell over it"
        for skin in record["skins"]
    ]
    lines += [line for each in said for line in _hanging(each)]
    lines += [f"  note: {finding['words']}" for finding in record["findings"]]
    return "\n".join(lines)


def _hanging(said: Said) -> list[str]:
    """Return a sentence of the report as lines that hang beside what it is about."""
    return textwrap.wrap(
        said.words, WIDTH, initial_indent=f"  {said.about.lower():20}", subsequent_indent=" " * 22,
        break_on_hyphens=False,
    )  # fmt: skip
