"""Which molds of the log speak for a case, and which are asked for."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from moldkit.errors import unknown
from moldkit.mold_log.record import TABLE, LogWords, MoldRecord, check_choice
from moldkit.tables import Row, column_dictionary


@dataclass(frozen=True)
class PairRecords:
    """The molds that speak for a pair of rubber and casting, nearest first.

    own: those logged under just this grade and this material; family: the others of the same two families.
    """

    own: tuple[MoldRecord, ...]
    family: tuple[MoldRecord, ...]

    @property
    def together(self) -> tuple[MoldRecord, ...]:
        """All of them."""
        return self.own + self.family


def records_for(records: Iterable[MoldRecord], rubber: Row, casting: Row) -> PairRecords:
    """Return the molds that speak for a grade of rubber and a casting material, by name and by family.

    rubber, casting: rows of rubbers.csv and casting_materials.csv. How a mold was used (method, undercut, wall,
    release) is not looked at: `MoldRecord.uses` says it. A mold that never gave a casting is left out: that it
    outlives no pour says nothing.
    """
    families = (rubber.text("family"), casting.text("family"))
    related = [r for r in records if (r.rubber_family, r.casting_family) == families and r.castings > 0]
    names = (rubber.name, casting.name)
    return PairRecords(
        tuple(r for r in related if (r.rubber, r.casting) == names),
        tuple(r for r in related if (r.rubber, r.casting) != names),
    )


def chosen(
    records: Iterable[MoldRecord],
    words: LogWords,
    *,
    rubber: str | None = None,
    casting: str | None = None,
    state: str | None = None,
) -> tuple[MoldRecord, ...]:
    """Return the molds of a rubber, a casting and a state; a family's name takes in its grades, None takes all.

    Raises InputError for a word that the tables don't know, with the nearest.
    """
    if rubber is not None and rubber not in words.rubbers:
        raise unknown("rubber name or family", rubber, words.rubbers, "rubber")
    if casting is not None and casting not in words.castings:
        raise unknown("casting name or family", casting, words.castings, "casting")
    if state is not None:
        check_choice(state, column_dictionary(TABLE)["state"].choices, "state")
    return tuple(
        record
        for record in records
        if rubber in (None, record.rubber, record.rubber_family)
        and casting in (None, record.casting, record.casting_family)
        and state in (None, record.state)
    )
