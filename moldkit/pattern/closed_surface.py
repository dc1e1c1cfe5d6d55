"""From loose triangles to a closed surface that faces outwards, saying what was mended on the way."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from moldkit.errors import InputError

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]

# Vertices nearer than this share of the longest side are taken for one where that closes a surface.
JOINING = 1e-5
# A body with less volume than this share of its longest side cubed is a sheet.
NO_VOLUME = 1e-7


def area_vectors(corners: Floats) -> Floats:
    """Return the normal of each triangle, as long as its area.

    corners: shape (m, 3, 3) [m]. Returns shape (m, 3) [m2].
    """
    result: Floats = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]) / 2.0
    return result


def cone_volumes(corners: Floats) -> Floats:
    """Return the signed volume between each triangle and the origin; over a closed surface they sum to its volume.

    corners: shape (m, 3, 3) [m]. Returns shape (m,) [m3].
    """
    result: Floats = np.einsum("ij,ij->i", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) / 6.0
    return result


def closed_surface(parsed: Any, name: str) -> tuple[Floats, Integers, tuple[str, ...]]:
    """Return vertices (n, 3) and faces (m, 3) of a closed surface facing outwards, and what was mended.

    parsed: a trimesh mesh, its vertices perhaps not merged, in any unit; name: of the file. Raises InputError in
    one sentence where the surface is open, one-sided or encloses nothing.
    """
    notes = [*_merge(parsed, name), *_align(parsed, name)]
    vertices = np.ascontiguousarray(parsed.vertices, dtype=np.float64)
    faces = np.ascontiguousarray(parsed.faces, dtype=np.int64)
    # About the middle, so that a part far from the origin loses no digits.
    corners = (vertices - vertices.mean(axis=0))[faces]
    volumes = cone_volumes(corners)
    if abs(volumes.sum()) < NO_VOLUME * np.ptp(vertices, axis=0).max() ** 3:
        raise InputError(f"{name}: is flat and encloses no volume; give the sheet a thickness and export it again.")
    if volumes.sum() < 0.0:
        faces, volumes = np.ascontiguousarray(faces[:, ::-1]), -volumes
        notes.append("The surface was inside out and has been turned.")
    faces, more = _bodies(parsed, vertices, faces, volumes)
    return vertices, faces, (*notes, *more)


def _edges(faces: Integers) -> tuple[int, int]:
    """Return how many edges are open (an odd number of faces), and how many have faces that disagree on a side."""
    start, end = faces.ravel().astype(np.int64), np.roll(faces, -1, axis=1).ravel().astype(np.int64)
    key = np.minimum(start, end) * (int(faces.max()) + 1) + np.maximum(start, end)
    _, edge, count = np.unique(key, return_inverse=True, return_counts=True)
    turn = np.bincount(edge, weights=np.sign(end - start))
    is_open = count % 2 == 1
    return int(is_open.sum()), int((~is_open & (turn != 0)).sum())


def _merge(parsed: Any, name: str) -> list[str]:
    """Merge the vertices in place, first the equal ones, then, if that leaves gaps, the very near ones."""
    _merge_to(parsed, None, name)
    gaps, _ = _edges(parsed.faces)
    if not gaps:
        return []
    tolerance = JOINING * float(np.ptp(parsed.vertices, axis=0).max())
    _merge_to(parsed, int(np.floor(-np.log10(tolerance))), name)
    left, _ = _edges(parsed.faces)
    if left:
        raise InputError(f"{name}: the surface is open along {left} edges; close the holes and export it again.")
    return [f"{gaps} edges with a hairline gap were closed by joining neighbouring vertices."]


def _merge_to(parsed: Any, digits: int | None, name: str) -> None:
    parsed.merge_vertices(merge_tex=True, merge_norm=True, digits_vertex=digits)
    a, b, c = parsed.faces.T
    # A triangle with two corners in one point has no area, and its two edges cancel.
    parsed.update_faces((a != b) & (b != c) & (c != a))
    if not len(parsed.faces):
        raise InputError(f"{name}: no triangle in it has an area; check the unit and export it again.")


def _align(parsed: Any, name: str) -> list[str]:
    """Turn single faces in place until neighbours agree on which side is out."""
    import trimesh

    _, crossed = _edges(parsed.faces)
    if not crossed:
        return []
    repair: Any = trimesh.repair
    repair.fix_winding(parsed)
    if _edges(parsed.faces)[1]:
        raise InputError(
            f"{name}: its faces disagree on which side is out; make the normals consistent and export it again."
        )
    return [f"Faces disagreed along {crossed} edges on which side is out; they have been turned."]


def _bodies(parsed: Any, vertices: Floats, faces: Integers, volumes: Floats) -> tuple[Integers, list[str]]:
    """Return the faces of the solid bodies facing outwards; closed hollows inside them are left out."""
    import trimesh

    graph: Any = trimesh.graph
    labels = graph.connected_component_labels(parsed.edges_unique, node_count=len(vertices))
    body: Integers = np.asarray(labels, dtype=np.int64)[faces[:, 0]]
    inverted = np.flatnonzero(np.bincount(body, weights=volumes) < 0.0)
    notes = []
    if len(inverted):
        solid = faces[~np.isin(body, inverted)]
        hollow = [b for b in inverted if _inside(vertices, faces[body == b][0, 0], solid)]
        turned, kept = np.isin(body, np.setdiff1d(inverted, hollow)), ~np.isin(body, hollow)
        faces = np.where(turned[:, None], faces[:, ::-1], faces)
        faces, body = np.ascontiguousarray(faces[kept]), body[kept]
        if hollow:
            notes.append(f"{len(hollow)} closed hollow(s) inside, which no rubber reaches, count as solid.")
        if turned.any():
            notes.append(f"{len(inverted) - len(hollow)} of the bodies were inside out and have been turned.")
    bodies = len(np.unique(body))
    if bodies > 1:
        notes.append(f"It consists of {bodies} separate bodies; where they overlap, the volume counts once.")
    return faces, notes


def _inside(vertices: Floats, vertex: int, solid: Integers) -> bool:
    """Return whether a vertex lies within bodies that face outwards."""
    import igl

    winding = igl.fast_winding_number(vertices, np.ascontiguousarray(solid), vertices[vertex : vertex + 1])
    return bool(winding[0] > 0.5)
