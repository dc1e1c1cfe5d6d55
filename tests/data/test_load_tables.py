"""The tables that the load checks read: they name what the other tables hold, and lie where published figures do."""

from __future__ import annotations

import pytest

from moldkit.study.knowledge import Knowledge
from moldkit.tables import Row, load_table

# Of unknown make, so nothing is said of it.
UNKNOWN_MAKE = {"found object"}


def _rows(knowledge: Knowledge, table: str) -> dict[str, Row]:
    return {row.name: row for row in load_table(knowledge.folder, table)}


def test_every_surface_but_one_of_unknown_make_has_a_density(knowledge: Knowledge) -> None:
    assert set(_rows(knowledge, "pattern_densities")) == set(knowledge.materials.surfaces) - UNKNOWN_MAKE


# Handbook figures [kg/m3]: common glass and granite (from memory), concrete 2400 and epoxy 1150 (published), paraffin
# 900 (from memory), oak 700 and pine 500 (from memory).
HANDBOOK = [
    ("glass", 2500), ("stone", 2650), ("concrete", 2400), ("cured resin", 1150), ("wax", 900), ("wood", 700),
    ("varnished wood", 500), ("metal", 2700), ("metal", 8800), ("sealed plaster", 1106),
]  # fmt: skip


@pytest.mark.parametrize(("surface", "density"), HANDBOOK)
def test_densities_span_the_handbooks(knowledge: Knowledge, surface: str, density: float) -> None:
    found = _rows(knowledge, "pattern_densities")[surface].quantity("density")
    assert found.low is not None and found.high is not None
    assert found.low <= density <= found.high


def test_one_board_is_the_first_choice(knowledge: Knowledge) -> None:
    boards = _rows(knowledge, "boards")
    assert [name for name, row in boards.items() if row.flag("preferred")] == ["melamine-faced chipboard"]


def test_chipboard_is_as_strong_as_its_standard_asks(knowledge: Knowledge) -> None:
    """EN 312, type P2, bending strength: 11 N/mm2 to 20 mm, 10.5 to 25 mm, 9.5 to 32 mm (read in a maker's table)."""
    strength = _rows(knowledge, "boards")["melamine-faced chipboard"].quantity("strength")
    assert (strength.low, strength.value) == (9.5e6, 11e6)


# Orders of stiffness and strength that handbooks agree on [GPa, MPa]; from memory.
BOARDS = [
    ("birch plywood", 9.0, 40.0), ("softwood plywood", 7.0, 20.0), ("medium-density fibreboard", 2.5, 22.0),
    ("acrylic sheet", 3.2, 70.0),
]  # fmt: skip


@pytest.mark.parametrize(("name", "modulus", "strength"), BOARDS)
def test_boards_span_the_handbooks(knowledge: Knowledge, name: str, modulus: float, strength: float) -> None:
    row = _rows(knowledge, "boards")[name]
    for column, figure in (("modulus", modulus * 1e9), ("strength", strength * 1e6)):
        found = row.quantity(column)
        assert found.low is not None and found.high is not None
        assert found.low <= figure <= found.high
