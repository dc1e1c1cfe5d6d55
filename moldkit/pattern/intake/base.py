"""Closing an open base flat: where its rim lies in the lowest plane as it is, else cut off level above the rim."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moldkit.errors import InputError
from moldkit.pattern.intake.edges import edges_of
from moldkit.pattern.intake.loose import only_used
from moldkit.pattern.intake.polygons import cut_flat, newell
from moldkit.pattern.intake.rims import Rim, rims_of
from moldkit.pattern.intake.size import METRES, length_text, longest_side
from moldkit.pattern.triangles import cone_volumes

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

# A rim is flat on the lowest plane when it keeps to it within this share of the longest side.
FLAT = 0.002
# Plainly a base: its rim encloses at least this share of the footprint's rectangle, and looks at least so far down.
WIDE, LEVEL = 0.05, 0.95
# A cut takes off no more than this share of the height.
MOST_CUT_OFF = 0.25


def lies_flat(vertices: Floats, rim: Rim) -> bool:
    """Return whether a rim lies in the lowest plane; vertices: shape (n, 3)."""
    return rim.highest - float(vertices[:, 2].min()) <= FLAT * longest_side(vertices)


def is_base(vertices: Floats, rim: Rim) -> bool:
    """Return whether a rim is plainly that of an open base; vertices: shape (n, 3)."""
    normal = newell(vertices[rim.vertices])
    width, depth = np.ptp(vertices[:, :2], axis=0).tolist()
    level = abs(float(normal[2])) >= max(LEVEL * float(np.linalg.norm(normal)), WIDE * width * depth)
    return lies_flat(vertices, rim) and level


def capped(vertices: Floats, faces: Integers, rims: list[Rim], unit: str, name: str) -> tuple[Floats, Integers, str]:
    """Return the surface with its base closed flat, and what was done.

    vertices: shape (n, 3); faces: shape (m, 3); rims: those of the base; unit: of the lengths; name: of the file.
    Raises InputError where a cut above the rims would take off more than a quarter of the height.
    """
    lowest, height = float(vertices[:, 2].min()), float(np.ptp(vertices[:, 2]))
    moved = max(rim.highest for rim in rims) - lowest
    if all(lies_flat(vertices, rim) for rim in rims):
        vertices = vertices.copy()
        vertices[np.concatenate([rim.vertices for rim in rims]), 2] = lowest
        words = f", its rim moved by up to {length_text(moved * METRES[unit])}" if moved > 0.0 else ""
        done = f"The open base was closed flat in the lowest plane{words}."
    else:
        if moved > MOST_CUT_OFF * height:
            raise InputError(
                f"{name}: its base cannot be capped: the opening reaches {length_text(moved * METRES[unit])} up, and "
                "the cut would take off more than a quarter of the height; turn the pattern so that the opening looks "
                'down, or choose mend = "fill holes".'
            )
        level = _level_above(vertices, lowest + moved)
        vertices, faces = _above(vertices, faces, level)
        if not len(faces):
            raise InputError(f"{name}: its base cannot be capped: nothing stands above its rim; close it by hand.")
        done = (
            f"The open base was cut off level {length_text((level - lowest) * METRES[unit])} above the lowest point, "
            "at the top of its rim, and closed flat."
        )
        lowest = level
        rims = [rim for rim in rims_of(vertices, faces, edges_of(faces), name) if rim.highest <= level]
    if _volume_above(vertices, faces, lowest) < 0.0:
        faces = np.ascontiguousarray(faces[:, ::-1])
        rims = [Rim(rim.vertices[::-1], rim.lowest, rim.highest, rim.length) for rim in rims]
    cap = _flat_cap(vertices, rims)
    return (*only_used(vertices, np.concatenate([faces, cap])), done)


def _level_above(vertices: Floats, level: float) -> float:
    """Return a height just above a level, in the middle between two heights at which vertices lie."""
    reach = level + 1e-4 * longest_side(vertices)
    heights = vertices[:, 2]
    near = np.unique(np.concatenate([[level, reach], heights[(heights > level) & (heights < reach)]]))
    widest = int(np.argmax(np.diff(near)))
    return float((near[widest] + near[widest + 1]) / 2.0)


def _above(vertices: Floats, faces: Integers, level: float) -> tuple[Floats, Integers]:
    """Return the part of a surface above a height at which no vertex lies."""
    up = vertices[:, 2] > level
    count = up[faces].sum(axis=1)
    # Turned so that the corner that is alone on its side comes first.
    alone = np.where((count == 1)[:, None], up[faces], ~up[faces]).argmax(axis=1)
    turned = faces[np.arange(len(faces))[:, None], (alone[:, None] + np.arange(3)) % 3]
    peak, pair = turned[count == 1], turned[count == 2]
    sides = np.concatenate([peak[:, [0, 1]], peak[:, [0, 2]], pair[:, [0, 1]], pair[:, [0, 2]]])
    low, high = sides.min(axis=1, initial=len(vertices)), sides.max(axis=1, initial=0)
    key, number = np.unique(low * len(vertices) + high, return_inverse=True)
    a, b = vertices[key // len(vertices)], vertices[key % len(vertices)]
    crossing = a + (b - a) * ((level - a[:, 2:]) / (b[:, 2:] - a[:, 2:]))
    crossing[:, 2] = level
    number = number + len(vertices)
    p, q = len(peak), len(pair)
    to_b, to_c, to_d, to_e = number[:p], number[p : 2 * p], number[2 * p : 2 * p + q], number[2 * p + q :]
    kept = np.concatenate(
        [
            faces[count == 3],
            np.column_stack([peak[:, 0], to_b, to_c]),
            np.column_stack([to_d, pair[:, 1], pair[:, 2]]),
            np.column_stack([to_d, pair[:, 2], to_e]),
        ]
    )
    return only_used(np.concatenate([vertices, crossing]), kept) if len(kept) else (vertices, kept)


def _volume_above(vertices: Floats, faces: Integers, level: float) -> float:
    """Return the signed volume between a surface open below and a level; a cap in it adds nothing."""
    middle = np.array([*vertices[:, :2].mean(axis=0), level])
    return float(cone_volumes((vertices - middle)[faces]).sum())


def _flat_cap(vertices: Floats, rims: list[Rim]) -> Integers:
    """Return triangles that look down and close all rims of one level together, a rim within a rim as a gap."""
    if not rims:
        return np.empty((0, 3), dtype=np.int64)
    # Seen from below, where an area that looks down runs anticlockwise.
    cut = cut_flat([vertices[rim.vertices][:, [1, 0]] for rim in rims])
    return np.concatenate([rim.vertices for rim in rims])[cut]
