"""The shopping list as a sheet: whole kits, the cheapest way, and what is left over."""

from __future__ import annotations

from collections.abc import Sequence

from moldkit.study.shopping import ShoppingLine, ShoppingList
from moldkit.views.paper.document import (
    Block,
    Cell,
    Column,
    Document,
    KeyFigure,
    KeyFigures,
    Number,
    Page,
    Sentence,
    Table,
    Tick,
)
from moldkit.views.sheets.bench import Bench, sentence
from moldkit.views.sheets.in_units import figure_scale, finely
from moldkit.views.sheets.words import listed


def shopping_sheet(bench: Bench, shopping: ShoppingList) -> Document:
    """Return the shopping list as a sheet."""
    currency = shopping.currency
    keys = KeyFigures(
        (
            KeyFigure("Castings", Number(shopping.run)),
            KeyFigure("Molds bought for", Number(shopping.molds)),
            KeyFigure("Kits cost", Number(shopping.cost.at(0), 2), currency),
            KeyFigure("The same by weight", Number(shopping.pro_rata.at(0), 2), currency),
        )
    )
    blocks: list[Block] = [keys, Sentence(f"Bought {shopping.rule}.")]
    blocks.append(_table(bench, "To buy", shopping.lines, currency))
    if shopping.at_hand:
        title = "Serves again: buy it only where the shop has none"
        blocks.append(_table(bench, title, shopping.at_hand, currency))
    blocks += [Sentence(note) for note in _notes(shopping.lines)]
    return bench.document("Shopping list", Page("shopping", "Shopping list", tuple(blocks)))


def _table(bench: Bench, title: str, lines: Sequence[ShoppingLine], currency: str) -> Table:
    columns = (
        Column(""),
        Column("Material", wide=True),
        Column("Needed"),
        Column("Unit"),
        Column("Buy", wide=True),
        Column("Left over"),
        Column("Cost", currency),
    )
    return Table(title, columns, tuple(_row(bench, line) for line in lines))


def _row(bench: Bench, line: ShoppingLine) -> tuple[Cell, ...]:
    unit = line.needed.unit
    scale = finely(figure_scale([line.needed.at(0), line.purchase.mass], unit, bench.system), [line.needed.at(0)])
    purposes = [purpose for purpose in line.purposes if purpose != line.material]
    name = f"{line.material} ({listed(purposes)})" if purposes else line.material
    return (
        Tick(),
        name,
        scale.of(line.needed.at(0)),
        scale.typeset,
        line.purchase.words_in(bench.system) if line.sold_in_kits else "by measure",
        scale.of(line.purchase.left_over) if line.sold_in_kits else "",
        Number(line.cost.at(0), 2),
    )


def _notes(lines: Sequence[ShoppingLine]) -> list[str]:
    """Return what to mind, each note once with the materials that it is for."""
    found: dict[str, list[str]] = {}
    for line in lines:
        if line.note:
            found.setdefault(line.note, []).append(line.material)
    return [sentence(f"{listed(names)}: {note}") for note, names in found.items()]
