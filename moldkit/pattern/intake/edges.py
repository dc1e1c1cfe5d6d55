"""Which faces meet at which edges, and which of them hang together."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Edges:
    """The edges of faces; a half is one side of one face, number 3 f + k from corner k of face f to the next.

    halves: all halves, those of one edge next to each other, shape (3 m,); first: where each edge begins among
    them, shape (e,); count: how many halves an edge has, shape (e,); turn: those that go up in vertex numbers less
    those that go down, 0 where the faces agree which side is out, shape (e,).
    """

    halves: Integers
    first: Integers
    count: Integers
    turn: Integers

    def open(self) -> Flags:
        """Return which edges are on a rim: of one face, or of an odd number of them, shape (e,)."""
        result: Flags = self.count % 2 == 1
        return result

    def crossed(self) -> Flags:
        """Return at which edges, not open, the faces disagree which side is out, shape (e,)."""
        result: Flags = (self.count % 2 == 0) & (self.turn != 0)
        return result

    def pairs(self) -> tuple[Integers, Integers, Flags]:
        """Return both faces of each edge that has two, and whether they agree which side is out, each (p,)."""
        two = self.count == 2
        at = self.first[two]
        return self.halves[at] // 3, self.halves[at + 1] // 3, self.turn[two] == 0


def edges_of(faces: Integers) -> Edges:
    """Return the edges of faces; faces: shape (m, 3)."""
    start, end = faces.ravel(), np.roll(faces, -1, axis=1).ravel()
    up = end > start
    key = np.where(up, start, end) * (int(faces.max()) + 1) + np.where(up, end, start)
    halves = _order(key)
    key = key[halves]
    first = np.flatnonzero(np.concatenate([[True], key[1:] != key[:-1]]))
    count = np.diff(np.append(first, len(key)))
    turn = np.add.reduceat(np.where(up[halves], 1, -1), first)
    return Edges(halves, first, count, turn)


def _order(key: Integers) -> Integers:
    """Return what sorts keys, equal ones in their old order."""
    bits = len(key).bit_length()
    if int(key.max()).bit_length() + bits > 63:
        return np.argsort(key, kind="stable")
    # Key and place in one number can be sorted as numbers, which is several times faster than an argsort.
    packed = (key << bits) | np.arange(len(key))
    packed.sort()
    packed &= (1 << bits) - 1
    return packed


def connected(count: int, a: Integers, b: Integers) -> Integers:
    """Return for each of `count` things the lowest number among those it hangs together with, shape (count,).

    a, b: numbers of things that are joined, shape (p,).
    """
    label = np.arange(count)
    while len(a):
        low, high = np.minimum(a, b), np.maximum(a, b)
        np.minimum.at(label, high, low)
        while True:
            further = label[label]
            if (further == label).all():
                break
            label = further
        a, b = label[a], label[b]
        apart = a != b
        a, b = a[apart], b[apart]
    return label
