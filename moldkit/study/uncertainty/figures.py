"""Which figures of a case are uncertain: every low / likely / high that its techniques draw on, by name."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from moldkit.economics.life import life_row
from moldkit.quantity import Quantity
from moldkit.study.assess import setting_of
from moldkit.study.compare import Comparison
from moldkit.tables import Row

# Table, row, column: where a figure stands.
Place = tuple[str, str, str]

# How hard a pot is pumped up is chosen, not uncertain.
CHOSEN = {("casting_methods", "pressure")}
HOURS = ("fixed", "per_driver")


@dataclass(frozen=True)
class Figure:
    """One figure with a range.

    place: (table, row, column); name: in plain words; unit, low, likely, high: inside the kit (SI, money in the shop's
    currency); tenths: low and high are what one shop in ten stays below and what one in ten exceeds, likely the
    median; else they are the ends of what is plausible and likely the mode. kind: "hours", "price", "life", "material"
    or "shop"; of: the technique's key for an hour of making a mold, "casting" for one of casting, else the chemistry of
    what is priced, else empty.
    """

    place: Place
    name: str
    unit: str
    low: float
    likely: float
    high: float
    kind: str
    of: str = ""
    tenths: bool = False

    @property
    def is_spread(self) -> bool:
        """Whether it is how much lives differ from mold to mold."""
        return (self.place[0], self.place[2]) == ("mold_life", "spread")


def figures_of(result: Comparison) -> tuple[Figure, ...]:
    """Return every figure with a range in the rows that the case's techniques and its casting draw on.

    Those whose low and high are equal are certain and left out. Which of them matter is another question.
    """
    found = {figure.place: figure for figure in _figures(result) if figure.low < figure.high}
    return tuple(found.values())


def rows_used(result: Comparison) -> Iterator[tuple[str, Row]]:
    """Yield (table, row) for each row that the case's plans draw on, the shop as it is for the case."""
    knowledge, case = result.knowledge, result.case
    setting = setting_of(case, knowledge)
    yield "shop", result.shop
    yield "casting_materials", setting.material
    yield "casting_methods", setting.method
    for outcome in result.outcomes:
        for table, row in (("rubbers", outcome.plan.rubber), ("shell_materials", outcome.plan.shell)):
            if row is not None:
                yield table, row
        yield from (("steps", row) for row in outcome.technique.steps.rows.values())
    yield from (("steps", row) for row in knowledge.casting_steps.values())
    yield from (("supplies", row) for row in knowledge.materials.supplies.values())
    if isinstance(case.life, (int, float)):
        return
    for outcome in result.outcomes:
        pair = life_row(knowledge.life, outcome.plan.rubber, setting.material) if outcome.plan.rubber else None
        if pair is not None:
            yield "mold_life", pair
    yield from (("life_factors", row) for row in knowledge.life.factors.values())


def _figures(result: Comparison) -> Iterator[Figure]:
    names = {outcome.technique.key: outcome.name for outcome in result.outcomes}
    own = isinstance(result.case.life, tuple)
    for table, row in rows_used(result):
        for column, value in row.values.items():
            ranged = isinstance(value, Quantity) and value.low is not None and value.high is not None
            if not ranged or (table, column) in CHOSEN or (own and (table, column) == ("mold_life", "life")):
                continue
            yield _figure(table, row, column, value, names)
    if isinstance(result.case.life, tuple):
        low, likely, high = result.case.life
        place = ("job", "life", "life")
        yield Figure(place, "median mold life, from the job", "pours", low, likely, high, "life", "", True)


def _figure(table: str, row: Row, column: str, value: Quantity, names: dict[str, str]) -> Figure:
    assert value.low is not None and value.high is not None, "only a figure with a range is uncertain"
    low, likely, high = float(value.low), float(value.value), float(value.high)
    tenths = table == "mold_life"
    kind, of = _kind(table, row, column)
    name = _plain_name(table, row, column, value, names)
    return Figure((table, row.name, column), name, value.unit, low, likely, high, kind, of, tenths)


def _kind(table: str, row: Row, column: str) -> tuple[str, str]:
    if table == "steps":
        return "hours", row.text("technique")
    if table in ("mold_life", "life_factors"):
        return "life", ""
    if column == "price":
        # A shell's price is its own: it is bought by another trade than a casting of the same chemistry.
        return "price", row.text("chemistry") if table in ("rubbers", "casting_materials") else ""
    return ("shop", "") if table in ("shop", "casting_methods") else ("material", "")


def _plain_name(table: str, row: Row, column: str, value: Quantity, names: dict[str, str]) -> str:
    words = column.replace("_", " ")
    if table == "steps":
        technique, step = row.text("technique"), row.text("step")
        return f"{names.get(technique, technique)}: {step}, {value.name}"
    if table == "shop":
        return words
    if table == "mold_life":
        what = "median mold life" if column == "life" else "spread of mold life"
        return f"{what}, {row.text('rubber')} with {row.text('casting')}"
    if table == "life_factors":
        return f"life factor, {row.text('kind')} {row.text('value')}"
    return f"{words} of {row.text('name') if table == 'casting_methods' else row.name}"
