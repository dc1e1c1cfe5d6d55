"""The bodies a closed surface consists of: facing outwards, without hollows, united where they overlap, chosen."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from moldkit.errors import InputError
from moldkit.pattern.intake.edges import connected
from moldkit.pattern.intake.loose import only_used
from moldkit.pattern.intake.patches import patches
from moldkit.pattern.intake.surface import Surface, Wish
from moldkit.pattern.triangles import cone_volumes

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

# A body with less volume than this share of its longest side cubed is a sheet.
NO_VOLUME = 1e-7
# More bodies than this are not looked through for pairs that overlap.
MOST_UNITED = 2_000


def flat(name: str) -> InputError:
    """Return the error for a surface that has no inside; name: of the file."""
    return InputError(f"{name}: is flat and encloses no volume; give the sheet a thickness and export it again.")


def make_solid(surface: Surface, wish: Wish) -> float:
    """Turn a closed surface into bodies that face outwards, in place; return their volume [units of the file cubed].

    Raises InputError where nothing encloses a volume, and for a body asked for that isn't there.
    """
    bodies = _Bodies(surface)
    _drop_sheets(bodies, wish)
    _turn_outwards(bodies)
    _fill_hollows(bodies)
    bodies = _united(bodies)
    _choose(bodies, wish)
    return float(bodies.volumes.sum())


class _Bodies:
    """The bodies of a surface; body: number of each face's, shape (m,); volumes: of each, signed, shape (b,)."""

    def __init__(self, surface: Surface) -> None:
        """Tell the bodies apart."""
        self.surface = surface
        leader = patches(surface.vertices, surface.faces, surface.edges)
        self.body = (np.cumsum(np.bincount(leader, minlength=len(leader)) > 0) - 1)[leader]
        # About the middle, so that a part far from the origin loses no digits.
        corners = (surface.vertices - surface.vertices.mean(axis=0))[surface.faces]
        self.volumes = np.bincount(self.body, weights=cone_volumes(corners))

    def boxes(self) -> tuple[Floats, Floats]:
        """Return the lower and the upper corner of each body's box, each shape (b, 3)."""
        if len(self.volumes) == 1:
            return self.surface.vertices.min(axis=0)[None], self.surface.vertices.max(axis=0)[None]
        corners = self.surface.vertices[self.surface.faces]
        order = np.argsort(self.body, kind="stable")
        first = np.flatnonzero(np.diff(self.body[order], prepend=-1))
        return (
            np.minimum.reduceat(corners.min(axis=1)[order], first, axis=0),
            np.maximum.reduceat(corners.max(axis=1)[order], first, axis=0),
        )

    def faces_of(self, those: NDArray[np.bool_]) -> NDArray[np.bool_]:
        """Return which faces belong to bodies; those: shape (b,)."""
        result: NDArray[np.bool_] = those[self.body]
        return result

    def keep(self, those: NDArray[np.bool_]) -> None:
        """Drop the other bodies; those: shape (b,)."""
        faces = self.faces_of(those)
        self.surface.keep(faces)
        self.body = (np.cumsum(those) - 1)[self.body[faces]]
        self.volumes = self.volumes[those]

    def turn(self, those: NDArray[np.bool_]) -> None:
        """Turn bodies inside out; those: shape (b,)."""
        turned = self.faces_of(those)
        faces = self.surface.faces
        self.surface.change(np.where(turned[:, None], faces[:, ::-1], faces))
        self.volumes = np.where(those, -self.volumes, self.volumes)


def _drop_sheets(bodies: _Bodies, wish: Wish) -> None:
    low, high = bodies.boxes()
    sheet = ~(np.abs(bodies.volumes) >= NO_VOLUME * (high - low).max(axis=1) ** 3)
    if sheet.all():
        raise flat(wish.name)
    if sheet.any():
        bodies.keep(~sheet)
        bodies.surface.notes.append(f"{int(sheet.sum())} sheet(s) that enclose no volume were dropped.")


def _turn_outwards(bodies: _Bodies) -> None:
    """Turn all when most of the volume is inside out, and then single bodies that lie in no other."""
    surface = bodies.surface
    if bodies.volumes.sum() < 0.0:
        bodies.turn(np.ones(len(bodies.volumes), dtype=bool))
        surface.notes.append("The surface was inside out and has been turned.")
    inverted = np.flatnonzero(bodies.volumes < 0.0)
    if not len(inverted):
        return
    first = np.unique(bodies.body, return_index=True)[1]
    points = surface.vertices[surface.faces[first[inverted], 0]]
    solid = surface.faces[bodies.faces_of(bodies.volumes > 0.0)]
    lone = np.zeros(len(bodies.volumes), dtype=bool)
    lone[inverted] = ~_inside(surface.vertices, solid, points)
    if lone.any():
        bodies.turn(lone)
        surface.notes.append(f"{int(lone.sum())} of the bodies were inside out and have been turned.")


def _inside(vertices: Floats, solid: Integers, points: Floats) -> NDArray[np.bool_]:
    """Return which points lie within bodies that face outwards, shape (k,)."""
    import igl

    winding = igl.fast_winding_number(vertices, np.ascontiguousarray(solid), np.ascontiguousarray(points))
    return np.asarray(np.atleast_1d(winding) > 0.5)


def _fill_hollows(bodies: _Bodies) -> None:
    """Leave out closed surfaces that face inwards."""
    hollow = bodies.volumes < 0.0
    if hollow.any():
        bodies.keep(~hollow)
        bodies.surface.notes.append(
            f"{int(hollow.sum())} closed hollow(s) inside, which no rubber reaches, count as solid."
        )


def _united(bodies: _Bodies) -> _Bodies:
    """Return the bodies with those made one that overlap or share a face."""
    surface, count = bodies.surface, len(bodies.volumes)
    if count < 2:
        return bodies
    if count > MOST_UNITED:
        surface.notes.append(f"With {count:,} bodies, none were united; where they overlap, the volume counts once.")
        return bodies
    low, high = bodies.boxes()
    a, b = np.nonzero(np.triu(((low[:, None] <= high) & (high[:, None] >= low)).all(axis=2), 1))
    cluster = connected(count, a, b)
    pieces, before, after, failed = [], 0, 0, 0
    for leader in np.unique(cluster).tolist():
        own = [
            only_used(surface.vertices, surface.faces[bodies.body == member])
            for member in np.flatnonzero(cluster == leader).tolist()
        ]
        made = _union(own) if len(own) > 1 else (*own[0], 1)
        failed += len(own) if made is None else 0
        if made is None or made[2] == len(own):
            pieces.extend(own)
        else:
            pieces.append(made[:2])
            before, after = before + len(own), after + made[2]
    if failed:
        surface.notes.append(
            f"{failed} bodies that may overlap could not be united; where they do, the volume counts once."
        )
    if not before:
        return bodies
    vertices, faces = _together(pieces)
    surface.change(faces, vertices)
    surface.notes.append(f"{before} bodies that overlap or touch were united into {after}.")
    bodies = _Bodies(surface)
    _fill_hollows(bodies)
    return bodies


def _together(pieces: Sequence[tuple[Floats, Integers]]) -> tuple[Floats, Integers]:
    starts = np.cumsum([0, *(len(vertices) for vertices, _ in pieces)])[:-1]
    return (
        np.concatenate([vertices for vertices, _ in pieces]),
        np.concatenate([faces + start for (_, faces), start in zip(pieces, starts.tolist(), strict=True)]),
    )


def _union(bodies: Sequence[tuple[Floats, Integers]]) -> tuple[Floats, Integers, int] | None:
    """Return the union of bodies and how many bodies it consists of, or None where it fails."""
    import manifold3d

    solids = [
        manifold3d.Manifold(manifold3d.Mesh64(np.ascontiguousarray(vertices), faces.astype(np.uint64)))
        for vertices, faces in bodies
    ]
    volumes = [solid.volume() for solid in solids]
    if any(solid.status() != manifold3d.Error.NoError for solid in solids) or min(volumes) <= 0.0:
        return None
    union = manifold3d.Manifold.batch_boolean(solids, manifold3d.OpType.Add)
    if union.status() != manifold3d.Error.NoError or not max(volumes) * 0.999 <= union.volume() <= sum(volumes) * 1.001:
        return None
    parts = sum(part.volume() > 0.0 for part in union.decompose())
    mesh = union.to_mesh64()
    vertices = np.array(mesh.vert_properties[:, :3], dtype=np.float64)
    return vertices, np.array(mesh.tri_verts, dtype=np.int64), parts


def _choose(bodies: _Bodies, wish: Wish) -> None:
    """Keep the body that was asked for, or say that there are several."""
    count, notes = len(bodies.volumes), bodies.surface.notes
    if wish.bodies == "all":
        if count > 1:
            notes.append(
                f'It consists of {count} separate bodies, and all are taken; bodies = "largest", or a number from 1 '
                f"(the largest) to {count}, takes one alone."
            )
        return
    rank = 1 if wish.bodies == "largest" else int(wish.bodies)
    if rank > count:
        there = "only one body" if count == 1 else f"{count} bodies"
        raise InputError(f"{wish.name}: has {there}, so there is no body {rank}; choose bodies from 1 to {count}.")
    chosen = int(np.argsort(-bodies.volumes, kind="stable")[rank - 1])
    if count > 1:
        share = bodies.volumes[chosen] / bodies.volumes.sum()
        notes.append(f"Of {count} separate bodies, number {rank} by volume was taken, {share:.0%} of the whole.")
        bodies.keep(np.arange(count) == chosen)
