"""What the shop's log says of the mold life in a job: its molds on the job's scale, curve, fit, learned life."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from moldkit.economics.life import Life, LifeTables, life_row
from moldkit.economics.lifetimes.bounds import Bounds, life_bounds
from moldkit.economics.lifetimes.fit import LifeFit, fit_life
from moldkit.economics.lifetimes.learned import LearnedLife, learned_life
from moldkit.economics.lifetimes.no_failures import LeastLife, least_median
from moldkit.economics.lifetimes.prior import Range
from moldkit.economics.lifetimes.product_limit import ProductLimit, product_limit
from moldkit.errors import InputError
from moldkit.mold_log.file import read_log
from moldkit.mold_log.record import MoldRecord
from moldkit.study.assess import Outcome, setting_of
from moldkit.study.case import FROM_LOG
from moldkit.study.compare import Comparison, compare
from moldkit.study.knowledge import load_knowledge
from moldkit.study.learned import learned_lives, life_from
from moldkit.tables import Row

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class LoggedLife:
    """A mold life as the log and the table tell it, all in castings of the job's use.

    rubber, casting: words of the life table's row; use: how the job uses a mold; factor: product of the job's life
    factors [-]; castings, worn: molds of the pair's own, shape (n,), each scaled from its own use to the job's
    [pours]; curve: product-limit; fit, bounds: by maximum likelihood and of its median, None without a failure; least:
    lower bound on the median without a failure, None with one or without a mold; learned: log and table together, at
    the use that the table is stated for; taken: median of the life that the comparison goes by [pours]; whose: where
    that one comes from, in words; cavities: castings that one pour gives.
    """

    rubber: str
    casting: str
    use: str
    factor: float
    castings: Floats
    worn: NDArray[np.bool_]
    curve: ProductLimit
    fit: LifeFit | None
    bounds: Bounds | None
    least: LeastLife | None
    learned: LearnedLife
    taken: float | None = None
    whose: str = ""
    cavities: int = 1

    @property
    def next_mold(self) -> float:
        """The life that the next mold stays below with a chance of 10 %, all doubt counted in [pours]."""
        return self.learned.next_mold * self.factor

    @property
    def prior(self) -> Range:
        """The median life that the table expects, one shop in ten below and one in ten above [pours]."""
        return _times(self.learned.prior, self.factor)

    @property
    def median(self) -> Range:
        """The median life after the log was heard [pours]."""
        return _times(self.learned.median, self.factor)

    @property
    def ten_percent(self) -> Range:
        """The life that one mold in ten stays below, after the log was heard [pours]."""
        return _times(self.learned.ten_percent, self.factor)

    @property
    def life(self) -> Life:
        """The likely life as the model takes it."""
        likely = self.learned.life
        return Life(max(1.0, likely.median * self.factor), likely.spread)


def logged_life(result: Comparison, technique: str | None = None) -> LoggedLife:
    """Return what the log says of the life of a technique's molds in a job.

    technique: its name, by default the cheapest. Raises InputError for an unknown technique, a pair that the life table
    doesn't know, and faults in the log.
    """
    asked, result = result, _by_the_table(result)
    taken = _outcome(asked, technique).median
    outcome, knowledge = _outcome(result, technique), result.knowledge
    rubber, material = outcome.plan.rubber, setting_of(result.case, knowledge).material
    row = life_row(knowledge.life, rubber, material) if rubber is not None else None
    if rubber is None or row is None:
        raise InputError(
            f"mold_life.csv: has no row for {rubber.name if rubber else 'no rubber'} with {material.name}; add one, "
            "so that there is a life to begin with."
        )
    factor = float(math.prod(f.value for f in outcome.median.inputs[1:])) if outcome.median else 1.0
    own = [mold for mold in read_log(knowledge.folder) if mold.castings and _row_of(mold, knowledge.life) is row]
    worn = np.array([mold.worn_out for mold in own], dtype=np.bool_)
    wear = np.array([factor / _factor(mold, knowledge.life) for mold in own], dtype=np.float64)
    given = np.array([mold.castings for mold in own], dtype=np.float64)
    castings = given * wear
    fit = fit_life(given, worn, per_pour=wear) if worn.any() else None
    learned = learned_lives(knowledge).get((row.text("rubber"), row.text("casting")))
    if learned is None:
        learned = learned_life(Range.of(row.quantity("life")), Range.of(row.quantity("spread")), ())
    return LoggedLife(
        row.text("rubber"),
        row.text("casting"),
        _use(outcome, result),
        factor,
        castings,
        worn,
        product_limit(castings, worn, confidence=0.9),
        fit,
        life_bounds(fit) if fit is not None else None,
        least_median(castings, worn) if castings.size and fit is None else None,
        learned,
        float(taken.value) if taken is not None else None,
        life_from(asked.case.life),
        outcome.plan.cavities,
    )


def _by_the_table(result: Comparison) -> Comparison:
    """Return the comparison with the table's lives: a life of the job's own, or one learned already, hides them."""
    if result.case.life is None:
        return result
    known = load_knowledge(result.knowledge.folder) if result.case.life == FROM_LOG else result.knowledge
    return compare(replace(result.case, life=None), known, result.reading)


def _outcome(result: Comparison, technique: str | None) -> Outcome:
    if technique is None:
        return result.cheapest or result.outcomes[0]
    found = next((o for o in result.outcomes if o.name == technique), None)
    if found is None:
        names = ", ".join(o.name for o in result.outcomes)
        raise InputError(f"unknown technique {technique!r}; it is one of {names}.")
    return found


def _use(outcome: Outcome, result: Comparison) -> str:
    undercut = result.pattern.undercut
    hooks = "no undercut" if undercut == "none" else f"{undercut} undercut"
    return f"{result.case.method}, {hooks}, {'with' if result.case.release else 'no'} release"


def _factor(record: MoldRecord, tables: LifeTables) -> float:
    """Return the product of the life factors of a mold's use [-]."""
    used = [tables.factors[use] for use in record.uses.items() if use in tables.factors]
    return float(math.prod(row.quantity("factor").value for row in used))


def _row_of(record: MoldRecord, tables: LifeTables) -> Row | None:
    for rubber in (record.rubber, record.rubber_family):
        for casting in (record.casting, record.casting_family):
            if (rubber, casting) in tables.pairs:
                return tables.pairs[rubber, casting]
    return None


def _times(known: Range, factor: float) -> Range:
    return Range(known.low * factor, known.likely * factor, known.high * factor)
