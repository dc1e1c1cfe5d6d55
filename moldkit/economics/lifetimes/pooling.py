"""Which molds of a log tell of a pair of rubber and casting: its own, and at a distance those of similar pairs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

# How far a life may lie from another pair's, beyond what the table says of the two: within this factor, up or down,
# in eight of ten pairs. From memory, no source. Between castings it is no tighter than the table is of either pair.
BETWEEN_GRADES, BETWEEN_CASTINGS = 1.5, 2.0


@dataclass(frozen=True)
class Pair:
    """A rubber and a casting material, each with its family, and the table's likely median life of the two [pours].

    rubber, casting: best the words of the pair's row in the life table, grades or families, so that all molds that
    share a row are the pair's own; within: the factor within which the table holds that life, up or down, in eight
    shops of ten.
    """

    rubber: str
    rubber_family: str
    casting: str
    casting_family: str
    likely: float
    within: float = 1.0


@dataclass(frozen=True)
class UsedMold:
    """One mold of the log, and how it was used.

    castings: pours so far [pours]; worn: worn out, not spoiled nor retired early; factor: product of the life factors
    of its use (method, undercut, wall, release) [-]: a mold that is used so that it lasts 0.6 of the table's life has
    at 30 castings gone as far as 50 at the table's use (accelerated life).
    """

    castings: float
    worn: bool
    factor: float = 1.0


@dataclass(frozen=True)
class Similar:
    """Molds of one similar pair. between: the factor within which eight in ten such pairs lie; words: which pair."""

    molds: tuple[UsedMold, ...]
    between: float
    words: str


@dataclass(frozen=True)
class Pool:
    """The molds that tell of a pair: its own, and those of each similar pair."""

    own: tuple[UsedMold, ...]
    similar: tuple[Similar, ...]


def pool(pair: Pair, logged: Sequence[tuple[Pair, UsedMold]]) -> Pool:
    """Return the molds that tell of a pair.

    Own: the same words for rubber and casting. Similar: the pairs of the same rubber family and casting family, each
    within a factor of 1.5, and those of the same rubber family and other castings, each within a factor of 2 or, where
    that is wider, what the table leaves open of either pair. They are never left out: the more molds of its own a pair
    has, the less theirs weigh. A similar mold's castings are scaled by the table's lives of the two pairs. logged: each
    mold of the log with its pair.
    """
    own = tuple(mold for other, mold in logged if _words(other) == _words(pair))
    near: dict[Pair, list[UsedMold]] = {}
    for other, mold in logged:
        if other.rubber_family == pair.rubber_family and _words(other) != _words(pair):
            near.setdefault(other, []).append(_scaled(pair, other, mold))
    groups = (Similar(tuple(molds), _between(pair, other), _named(other)) for other, molds in near.items())
    return Pool(own, tuple(groups))


def _between(pair: Pair, other: Pair) -> float:
    """Return the factor within which two pairs' lives lie, beyond what the table says of them, in eight of ten."""
    if other.casting_family == pair.casting_family:
        return BETWEEN_GRADES
    return max(BETWEEN_CASTINGS, pair.within, other.within)


def _named(pair: Pair) -> str:
    return " with ".join(_words(pair))


def _words(pair: Pair) -> tuple[str, str]:
    return pair.rubber, pair.casting


def _scaled(pair: Pair, other: Pair, mold: UsedMold) -> UsedMold:
    return UsedMold(mold.castings, mold.worn, mold.factor * other.likely / pair.likely)
