"""Bodies of blocks put together and cut out, as meshes and as the regions of space they fill and leave free.

The regions are counted cell by cell with scipy.ndimage.label, and no surface is looked at: a second way to find how
deep air is trapped in a mold, by another library.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import trimesh
from numpy.typing import NDArray
from scipy import ndimage

from moldkit.pattern.mesh import Mesh
from tests.pattern.solids import mesh_of

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class Block:
    """A box from `low` to `high` that is added to a body, or cut out of it."""

    low: tuple[float, float, float]
    high: tuple[float, float, float]
    added: bool = True


def mesh_of_blocks(blocks: list[Block]) -> Mesh | None:
    """The surface of a body made of blocks in their order; None where nothing is left."""
    body = None
    for block in blocks:
        low, high = np.array(block.low), np.array(block.high)
        shape = trimesh.creation.box(high - low)
        shape.apply_translation((low + high) / 2)
        if body is None:
            body = shape if block.added else None
        else:
            body = trimesh.boolean.boolean_manifold([body, shape], "union" if block.added else "difference")
            if body.is_empty:
                return None
    return None if body is None else mesh_of(body, "blocks")


def solid_cells(blocks: list[Block]) -> tuple[Flags, Floats]:
    """Which cells between the blocks' planes are solid, one free layer all round, and the layers' heights."""
    corners = np.array([[block.low, block.high] for block in blocks]).reshape(-1, 3)
    planes = [np.unique(corners[:, axis]) for axis in range(3)]
    edges = [np.concatenate([[line[0] - 1], line, [line[-1] + 1]]) for line in planes]
    middles = np.meshgrid(*[(line[1:] + line[:-1]) / 2 for line in edges], indexing="ij")
    solid = np.zeros(middles[0].shape, dtype=bool)
    for block in blocks:
        inside = np.ones_like(solid)
        for middle, low, high in zip(middles, block.low, block.high, strict=True):
            inside &= (middle > low) & (middle < high)
        solid[inside] = block.added
    return solid, edges[2]


def pockets_of(region: Flags, levels: Floats) -> list[tuple[float, float]]:
    """Height and depth of each pocket of a region, by letting a level sink and watching which parts join.

    region: cells that air may be in, shape (nx, ny, nz); levels: heights between the layers, shape (nz + 1,).
    A part that reaches the highest layer is the open air.
    """
    found, tops = [], np.zeros((0,))
    parts = np.zeros(region.shape, dtype=int)
    for layer in range(region.shape[2] - 1, -1, -1):
        above = region.copy()
        above[:, :, :layer] = False
        now, count = ndimage.label(above)
        top_now = np.full(count + 1, levels[layer + 1])
        for part in range(1, count + 1):
            joined = np.unique(parts[(now == part) & (parts > 0)])
            ranked = sorted((tops[before] for before in joined), reverse=True)
            found += [(top, top - levels[layer + 1]) for top in ranked[1:]]
            if ranked:
                top_now[part] = ranked[0]
            elif layer == region.shape[2] - 1:
                top_now[part] = np.inf
        parts, tops = now, top_now
    for part in range(1, len(tops)):
        lowest = levels[np.flatnonzero((parts == part).any(axis=(0, 1)))[0]]
        found.append((tops[part], tops[part] - lowest))
    return sorted((top, depth) for top, depth in found if np.isfinite(top))
