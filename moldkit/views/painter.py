"""A shaded picture of a mesh made without the help of the page, for one that shows nothing in three dimensions."""

from __future__ import annotations

import base64
import struct
import zlib
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Bytes = NDArray[np.uint8]

GROUND = 255
# Where the light comes from, against the picture: to the left, above, before it.
_LIGHT = np.array([-0.45, 0.55, 0.70]) / np.linalg.norm([-0.45, 0.55, 0.70])
_AMBIENT = 0.42
# So many points a pixel leave hardly a hole; those that are left take the colour of a neighbour.
_POINTS_A_PIXEL = 6
_SEED = 7


@dataclass(frozen=True, eq=False)
class Painted:
    """A picture and where it lies: rows from the top, shape (rows, columns, 3); its lower left and upper right
    corner along `right` and `up`, shape (2,) each."""

    picture: Bytes
    low: Floats
    high: Floats


def painted(corners: Floats, colours: Floats, right: Floats, up: Floats, pixels: int) -> Painted:
    """Return a picture of a mesh seen from straight ahead, as rows of red, green and blue.

    corners: of the faces, shape (m, 3, 3) [any length]; colours: of the faces, 0 to 255, shape (m, 3); right, up:
    unit vectors of the picture; pixels: along the longer side. The ground is white.
    """
    towards = np.cross(right, up)
    flat = corners @ np.stack([right, up, towards], axis=1)
    low, high = flat[..., :2].min(axis=(0, 1)), flat[..., :2].max(axis=(0, 1))
    side = float((high - low).max()) / pixels
    columns, rows = (np.floor((high - low) / side).astype(int) + 1).tolist()
    points, face = _points(flat, side, columns * rows)
    column, row = ((points[:, :2] - low) / side).astype(int).T
    place = row * columns + column
    nearest = np.full(columns * rows, -1)
    order = np.argsort(points[:, 2])  # the nearest is written last
    nearest[place[order]] = face[order]
    picture = np.full((rows * columns, 3), GROUND, dtype=np.uint8)
    shaded = (colours * _light(flat)[:, None]).clip(0, 255).astype(np.uint8)
    picture[nearest >= 0] = shaded[nearest[nearest >= 0]]
    whole = _filled(picture.reshape(rows, columns, 3), nearest.reshape(rows, columns) < 0)
    return Painted(whole[::-1], low, low + side * np.array([columns, rows]))


def _points(flat: Floats, side: float, pixels: int) -> tuple[Floats, NDArray[np.int64]]:
    """Return points on the faces that look at the beholder, and each one's face."""
    cross = np.cross(flat[:, 1] - flat[:, 0], flat[:, 2] - flat[:, 0])
    seen = 0.5 * np.maximum(cross[:, 2], 0.0)
    share = seen / max(float(seen.sum()), 1e-300)
    count = np.ceil(share * min(_POINTS_A_PIXEL * float(seen.sum()) / side**2, 40.0 * pixels)).astype(int)
    face = np.repeat(np.arange(len(flat)), count)
    draw = np.random.default_rng(_SEED)
    first, second = np.sqrt(draw.random(len(face))), draw.random(len(face))
    weights = np.stack([1.0 - first, first * (1.0 - second), first * second], axis=1)
    return np.einsum("ij,ijk->ik", weights, flat[face]), face


def _light(flat: Floats) -> Floats:
    """Return how bright each face is, shape (m,)."""
    cross = np.cross(flat[:, 1] - flat[:, 0], flat[:, 2] - flat[:, 0])
    normals = cross / np.maximum(np.linalg.norm(cross, axis=1), 1e-300)[:, None]
    bright: Floats = _AMBIENT + (1.05 - _AMBIENT) * np.maximum(normals @ _LIGHT, 0.0)
    return bright


def _filled(picture: Bytes, empty: NDArray[np.bool_]) -> Bytes:
    """Return the picture with single empty pixels inside it filled from the side."""
    inner = empty.copy()
    inner[:, 1:-1] &= ~empty[:, :-2] & ~empty[:, 2:]
    inner[:, [0, -1]] = False
    rows, columns = np.nonzero(inner)
    picture[rows, columns] = picture[rows, columns - 1]
    return picture


def png(picture: Bytes) -> bytes:
    """Return a picture of shape (rows, columns, 3) as a PNG file (the open standard ISO/IEC 15948)."""
    rows, columns, _ = picture.shape
    lines = np.zeros((rows, 1 + 3 * columns), dtype=np.uint8)
    lines[:, 1:] = picture.reshape(rows, -1)

    def chunk(kind: bytes, content: bytes) -> bytes:
        return struct.pack(">I", len(content)) + kind + content + struct.pack(">I", zlib.crc32(kind + content))

    head = struct.pack(">IIBBBBB", columns, rows, 8, 2, 0, 0, 0)
    body = zlib.compress(lines.tobytes(), 6)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", body) + chunk(b"IEND", b"")


def data_address(picture: Bytes) -> str:
    """Return a picture as an address that holds it."""
    return "data:image/png;base64," + base64.b64encode(png(picture)).decode("ascii")
