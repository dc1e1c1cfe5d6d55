"""The kits of a material: what a cell says, and every fault in it named with file, row, column, value and mend."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest

from moldkit.errors import InputError
from moldkit.kit_sizes import Kit
from moldkit.materials import load_materials

COLUMN = "kits [kg]"


def put(folder: Path, table: str, cell: str, column: str = COLUMN) -> None:
    """Put a cell into the first row of a table."""
    path = folder / f"{table}.csv"
    rows = list(csv.reader(io.StringIO(path.read_text(encoding="utf-8"))))
    rows[1][rows[0].index(column)] = cell
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerows(rows)
    path.write_text(text.getvalue(), encoding="utf-8")


def refusal(folder: Path) -> str:
    with pytest.raises(InputError) as refused:
        load_materials(folder)
    return str(refused.value)


@pytest.mark.parametrize(
    ("cell", "kits"),
    [
        ("20", (Kit(20.0),)),
        ("20;1;5", (Kit(1.0), Kit(5.0), Kit(20.0))),
        ("1=34;5=150;20=560", (Kit(1.0, 34.0), Kit(5.0, 150.0), Kit(20.0, 560.0))),
        (" 1 = 34 ; 5 ; ", (Kit(1.0, 34.0), Kit(5.0))),
        ("0.454=15.90", (Kit(0.454, 15.9),)),
    ],
)
def test_a_cell_holds_sizes_with_or_without_the_price_of_the_kit(
    copied_data: Path, cell: str, kits: tuple[Kit, ...]
) -> None:
    put(copied_data, "rubbers", cell)
    first = next(iter(load_materials(copied_data).rubbers.values()))
    assert first.kits("kits") == kits


@pytest.mark.parametrize(
    ("cell", "says"),
    [
        ("1=34;5=much", "'much' is not a number."),
        ("1=34;five=150", "'five' is not a number."),
        ("1=34,50", "'34,50' has a comma; write a decimal point (34.50)."),
        ("1=", "'1=' has no price after the equals sign; write for instance 5=150, or the size alone."),
        ("=34", "'=34' has no size before the equals sign; write for instance 5=150, or the size alone."),
        ("1=34=5=150", "'1=34=5=150' has two equals signs; separate kits by semicolons"),
        ("1=34;1=36", "the kit of 1 stands twice; remove one."),
        ("1=-34", "-34 is no price of a kit; give one above zero, a million at the most."),
        ("1=0", "0 is no price of a kit"),
        ("5000=9", "5000 kg is outside 0.05 to 1000 kg; check the figure and its unit."),
        ("0.4536=16", "0.4536 is finer than a thousandth; round it to 0.454."),
        (";", "';' names no kit; write for instance 5=150, or the size alone."),
        ("", "is empty; give kits it is sold in"),
    ],
)
def test_a_cell_that_is_none_is_named_with_its_mend(copied_data: Path, cell: str, says: str) -> None:
    put(copied_data, "rubbers", cell)
    sentence = refusal(copied_data)
    assert sentence.startswith("rubbers.csv, row 2, column 'kits [kg]': ")
    assert says in sentence


def test_the_price_of_a_kilogram_in_the_place_of_a_kits_is_noticed(copied_data: Path) -> None:
    # The row's price is 28 a kg: 20 kg for 25 would be 1.25 a kg.
    put(copied_data, "rubbers", "1=34;5=150;20=25")
    assert refusal(copied_data) == (
        "rubbers.csv, row 2, column 'kits [kg]': 20=25 comes to 1.25 for each unit of size, where the row's "
        "price is 28; write the price of the whole kit."
    )


def test_a_supply_may_be_sold_in_any_amount(copied_data: Path) -> None:
    put(copied_data, "supplies", "", "kits")
    assert next(iter(load_materials(copied_data).supplies.values())).kits("kits") == ()


def test_every_kit_of_the_demo_shop_costs_no_less_a_kilogram_than_a_larger_one(copied_data: Path) -> None:
    # Common practice, no source: the larger the kit, the lower the price of a kilogram.
    found = load_materials(copied_data)
    for rows in (found.rubbers, found.castings, found.shells, found.supplies):
        for row in rows.values():
            each = [kit.price / kit.size for kit in row.kits("kits") if kit.price is not None]
            assert each == sorted(each, reverse=True), row.name
            assert len(each) == len(row.kits("kits")), row.name
            assert each[-1] == pytest.approx(row.quantity("price").value, rel=0.02), row.name
