"""Mold lives as the shop's own log tells them, in the place of the table's."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

from moldkit.economics.life import LifeTables, life_row
from moldkit.economics.lifetimes.learned import LearnedLife, learned_life
from moldkit.economics.lifetimes.pooling import Pair, UsedMold, pool
from moldkit.economics.lifetimes.prior import Range
from moldkit.mold_log import MoldRecord, read_log
from moldkit.mold_log.rows import FILE
from moldkit.study.case import FROM_LOG
from moldkit.study.knowledge import Knowledge
from moldkit.tables import Row

SOURCE = "the shop's log and mold_life.csv"
# What was learned of the newest logs, by the folder, its log as it is, and the tables it was learned beside.
_learned: dict[tuple[str, int, int, int], tuple[LifeTables, Mapping[tuple[str, str], LearnedLife]]] = {}
MOST_LEARNED = 4


def learned_lives(knowledge: Knowledge) -> Mapping[tuple[str, str], LearnedLife]:
    """Return what the log and the table together say of each pair of the life table that the log tells of.

    Keyed as the table's pairs, (rubber, casting). A pair is told of by its own molds, or by similar ones. Raises
    InputError where a row of the log is broken.
    """
    path = knowledge.folder / FILE
    stamp = (path.stat().st_mtime_ns, path.stat().st_size) if path.is_file() else (0, 0)
    key = (str(knowledge.folder), *stamp, id(knowledge.life))
    if key not in _learned:
        _learned[key] = knowledge.life, _learn(knowledge)
        for oldest in list(_learned)[:-MOST_LEARNED]:
            _learned.pop(oldest, None)
    return _learned[key][1]


def own_molds(knowledge: Knowledge, rubber: Row, material: Row) -> tuple[int, int]:
    """Return how many molds of the log are of a rubber and a casting's own pair, and how many of them are worn out.

    Raises InputError where a row of the log is broken.
    """
    row = life_row(knowledge.life, rubber, material)
    if row is None:
        return 0, 0
    words = row.text("rubber"), row.text("casting")
    pairs = [(_pair(record, knowledge), record.worn_out) for record in read_log(knowledge.folder)]
    own = [worn for pair, worn in pairs if pair is not None and (pair.rubber, pair.casting) == words]
    return len(own), sum(own)


def life_from(life: object) -> str:
    """Return in words where the life that a job goes by comes from; life: as the case has it."""
    if life is None:
        return "by the table"
    return "by the log and the table" if life == FROM_LOG else "by the job"


def with_learned_lives(knowledge: Knowledge) -> Knowledge:
    """Return the knowledge with the life table's rows as the log has taught them: 10 / 50 / 90 % of what is believed.

    Raises InputError where a row of the log is broken.
    """
    pairs = dict(knowledge.life.pairs)
    for key, found in learned_lives(knowledge).items():
        pairs[key] = _taught(pairs[key], found)
    return replace(knowledge, life=LifeTables(pairs, knowledge.life.factors))


def _taught(row: Row, found: LearnedLife) -> Row:
    life = replace(
        row.quantity("life"), value=found.median.likely, low=found.median.low, high=found.median.high,
        formula=found.words, source=SOURCE,
    )  # fmt: skip
    spread = replace(
        row.quantity("spread"), value=found.spread.likely, low=found.spread.low, high=found.spread.high, source=SOURCE
    )
    return Row(row.name, row.where, {**row.values, "life": life, "spread": spread, "source": SOURCE})


def _learn(knowledge: Knowledge) -> dict[tuple[str, str], LearnedLife]:
    tables = knowledge.life
    records = read_log(knowledge.folder)
    logged = [(pair, _used(record, tables)) for record in records if (pair := _pair(record, knowledge))]
    found = {}
    for key, row in tables.pairs.items():
        pooled = pool(_pair_of_row(key, row, knowledge), logged)
        if pooled.own or pooled.similar:
            prior = Range.of(row.quantity("life")), Range.of(row.quantity("spread"))
            found[key] = learned_life(*prior, pooled.own, pooled.similar)
    return found


def _pair(record: MoldRecord, knowledge: Knowledge) -> Pair | None:
    """Return the pair of the life table that a mold belongs to; None where it gave no casting or no row is its own."""
    if not record.castings:
        return None
    for rubber in (record.rubber, record.rubber_family):
        for casting in (record.casting, record.casting_family):
            row = knowledge.life.pairs.get((rubber, casting))
            if row is not None:
                return _pair_of_row((rubber, casting), row, knowledge)
    return None


def _pair_of_row(key: tuple[str, str], row: Row, knowledge: Knowledge) -> Pair:
    materials = knowledge.materials
    rubber, casting = key
    rubber_family = materials.rubbers[rubber].text("family") if rubber in materials.rubbers else rubber
    casting_family = materials.castings[casting].text("family") if casting in materials.castings else casting
    known = Range.of(row.quantity("life"))
    return Pair(rubber, rubber_family, casting, casting_family, known.likely, math.sqrt(known.high / known.low))


def _used(record: MoldRecord, tables: LifeTables) -> UsedMold:
    factors = (tables.factors[use].quantity("factor").value for use in record.uses.items() if use in tables.factors)
    return UsedMold(float(record.castings), record.worn_out, math.prod(factors))
