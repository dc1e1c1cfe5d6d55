"""Whether what came of a file is right: one sentence that refuses it, or a closed mesh that faces outwards."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from moldkit.errors import InputError
from moldkit.pattern.mesh import Mesh, load_mesh

# What is said when a limit was hit: for files as small as these a fault of the reader's.
HIT_A_LIMIT = ("took more than", "broke off", "could not be closed")
# The sound files come from 32-bit numbers.
NEAR = 1e-4
# So many faces are looked at, the largest.
MOST_LOOKED_AT = 150
# Wider than what the reader lets pass, as it looks at other faces of a surface that has more.
MOST_INVERTED, NOTED_INVERTED = 0.2, 0.05


def fault_of(path: Path, mend: tuple[str, ...], volume: float | None) -> tuple[str, str]:
    """Return "" or what is wrong with what comes of a file, and what came of it, "read" or "refused".

    volume: what it encloses [mm3], None where its shape may have changed.
    """
    try:
        mesh = load_mesh(path, "mm", mend=mend)
    except InputError as refused:
        fault = f"refused, though its shape is whole: {refused}" if volume is not None else ""
        return fault or _fault_of_refusal(refused, path), "refused"
    return _fault_of_mesh(mesh) or _fault_of_volume(mesh, volume), "read"


def _fault_of_refusal(refused: InputError, path: Path) -> str:
    words = str(refused)
    if refused.__cause__ is not None:
        return f"the reader itself failed: {refused.__cause__}"
    if "\n" in words or words[-1:] not in (".", "?") or path.name not in words or len(words) > 700:
        return f"no one sentence: {words!r}"
    if any(limit in words for limit in HIT_A_LIMIT):
        return words
    return ""


def _fault_of_mesh(mesh: Mesh) -> str:
    if not np.isfinite(mesh.vertices).all():
        return "coordinates that are no numbers"
    if not 0.005 <= np.ptp(mesh.vertices, axis=0).max() <= 5.0:
        return "a size that should have been questioned"
    if not mesh.volume() > 0.0:
        return f"a volume of {mesh.volume()}"
    ways = Counter((a, b) for face in mesh.faces.tolist() for a, b in zip(face, face[1:] + face[:1], strict=True))
    if any(a == b or ways[a, b] != ways[b, a] for a, b in ways):
        return "an edge that is not walked as often in each direction"
    return _fault_of_sides(mesh)


def _fault_of_sides(mesh: Mesh) -> str:
    """Look just before faces and behind them: what lies in less than nothing is inside out.

    A damaged surface may cross itself, and then some of it must face inwards; a note says so.
    """
    corners, vectors = mesh.corners(), mesh.area_vectors()
    areas = np.linalg.norm(vectors, axis=1)
    large = np.argsort(-areas)[:MOST_LOOKED_AT]
    large = large[areas[large] > 0.0]
    step = 1e-5 * np.ptp(mesh.vertices, axis=0).max() * vectors[large] / areas[large, None]
    winding = _winding(corners, corners[large].mean(axis=1) + step)
    inverted = areas[large][winding < -0.5].sum() / areas[large].sum()
    if inverted > MOST_INVERTED:
        return f"{inverted:.0%} of its surface faces inwards"
    if inverted > NOTED_INVERTED and not any("crosses itself" in note for note in mesh.notes):
        return f"{inverted:.0%} of its surface faces inwards, and no note says so"
    return ""


def _winding(corners: NDArray[np.float64], points: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return how often a surface goes round points: solid angles over 4 pi, by van Oosterom and Strackee (1983)."""
    rays = corners[None] - points[:, None, None]
    a, b, c = np.moveaxis(np.linalg.norm(rays, axis=-1), -1, 0)
    u, v, w = np.moveaxis(rays, -2, 0)
    dot = np.einsum
    below = a * b * c + dot("pfi,pfi->pf", u, v) * c + dot("pfi,pfi->pf", v, w) * a + dot("pfi,pfi->pf", w, u) * b
    return np.arctan2(dot("pfi,pfi->pf", u, np.cross(v, w)), below).sum(axis=1) / (2 * np.pi)


def _fault_of_volume(mesh: Mesh, volume: float | None) -> str:
    found = mesh.volume() * 1e9
    if volume is not None and abs(found - volume) > NEAR * volume:
        return f"{found:.6g} mm3 instead of {volume:.6g}"
    return ""
