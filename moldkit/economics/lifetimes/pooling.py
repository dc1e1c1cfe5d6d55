"""Which molds of a log tell of a pair of rubber and casting: its own first, similar ones where they are too few."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

# Fewer own failures than this, and similar molds are let in. Common practice, no source: with three failures the
# spread from mold to mold is told within a factor of about two.
FEW = 3
# How far a life may lie from another pair's, beyond what the table says of the two: within this factor, up or down,
# in eight of ten pairs. From memory, no source.
BETWEEN_GRADES, BETWEEN_CASTINGS = 1.5, 2.0


@dataclass(frozen=True)
class Pair:
    """A rubber and a casting material, each with its family, and the table's likely median life of the two [pours].

    rubber, casting: best the words of the pair's row in the life table, grades or families, so that all molds that
    share a row are the pair's own.
    """

    rubber: str
    rubber_family: str
    casting: str
    casting_family: str
    likely: float


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

    Own: the same words for rubber and casting. With fewer than three failures among them come the pairs of the same
    rubber family and casting family, each within a factor of 1.5, and with fewer than three still those of the same
    rubber family and other castings, each within a factor of 2. A similar mold's castings are scaled by the table's
    lives of the two pairs. logged: each mold of the log with its pair.
    """
    own = tuple(mold for other, mold in logged if _words(other) == _words(pair))
    failures = sum(mold.worn for mold in own)
    tiers: tuple[dict[tuple[str, str], list[UsedMold]], ...] = ({}, {})
    for other, mold in logged:
        if other.rubber_family == pair.rubber_family and _words(other) != _words(pair):
            tier = tiers[other.casting_family != pair.casting_family]
            tier.setdefault(_words(other), []).append(_scaled(pair, other, mold))
    groups: list[Similar] = []
    for tier, between in zip(tiers, (BETWEEN_GRADES, BETWEEN_CASTINGS), strict=True):
        if failures >= FEW:
            break
        groups += [Similar(tuple(molds), between, " with ".join(words)) for words, molds in tier.items()]
        failures += sum(mold.worn for molds in tier.values() for mold in molds)
    return Pool(own, tuple(groups))


def _words(pair: Pair) -> tuple[str, str]:
    return pair.rubber, pair.casting


def _scaled(pair: Pair, other: Pair, mold: UsedMold) -> UsedMold:
    return UsedMold(mold.castings, mold.worn, mold.factor * other.likely / pair.likely)
