"""The materials a mold and a casting are made of: rubbers, casting and shell materials, supplies, surfaces."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from moldkit.errors import InputError, unknown
from moldkit.tables import Row, column_dictionary, load_table

DEFAULT_RUBBER = "platinum silicone"
# A kit's own price for each kilogram lies within so many times the row's price a kilogram, and no farther below it.
KIT_PRICE_MOST = 4.0


@dataclass(frozen=True)
class Materials:
    """Every material the shop knows, by name."""

    rubbers: Mapping[str, Row]
    castings: Mapping[str, Row]
    shells: Mapping[str, Row]
    supplies: Mapping[str, Row]
    surfaces: Mapping[str, Row]


def load_materials(folder: Path) -> Materials:
    """Return the material tables of a data folder; raises InputError for the first fault in any of them."""

    def by_name(table: str) -> dict[str, Row]:
        rows = {row.name: row for row in load_table(folder, table)}
        for row in rows.values():
            _check_kits(row, table)
        return rows

    return Materials(
        by_name("rubbers"),
        by_name("casting_materials"),
        by_name("shell_materials"),
        by_name("supplies"),
        by_name("surfaces"),
    )


def _check_kits(row: Row, table: str) -> None:
    """Raise InputError where a kit's own price does not fit the row's price: most likely it is a kilogram's."""
    price = row.quantity("price").value if "kits" in row.values else 0.0
    for kit in row.kits("kits") if price else ():
        if kit.price is None or price / KIT_PRICE_MOST <= kit.price / kit.size <= price * KIT_PRICE_MOST:
            continue
        column = column_dictionary(table)["kits"].headers[0]
        raise InputError(
            f"{row.where}, column {column!r}: {kit.size:g}={kit.price:g} comes to {kit.price / kit.size:.3g} for each "
            f"unit of size, where the row's price is {price:g}; write the price of the whole kit."
        )


def rubber_families(rubbers: Mapping[str, Row]) -> tuple[str, ...]:
    """Return the rubber families, each once, in the table's order."""
    return tuple(dict.fromkeys(row.text("family") for row in rubbers.values()))


def rubber_for(rubbers: Mapping[str, Row], wanted: str, goes_on: str) -> Row:
    """Return the grade for a technique: the row of that name, or the family's preferred grade for the way
    the rubber goes on ("poured" or "brushed"). A family without such a grade gives its first row, which
    the findings then rule out. Raises InputError for a word that is neither a grade nor a family.
    """
    if wanted in rubbers:
        return rubbers[wanted]
    family = [row for row in rubbers.values() if row.text("family") == wanted]
    if not family:
        raise unknown("rubber", wanted, [*rubber_families(rubbers), *rubbers], "[mold] rubber")
    for column in ("preferred", "suits"):
        for row in family:
            if goes_on in row.words(column):
                return row
    return family[0]


def shell_for(shells: Mapping[str, Row], made: str, wanted: str | None = None) -> Row:
    """Return the shell material: the one wanted where it is made that way ("laid up" or "printed"), else the
    preferred one. Raises InputError for an unknown name or when the table has none made that way.
    """
    if wanted is not None:
        if wanted not in shells:
            raise unknown("shell material", wanted, shells, "[mold] shell")
        if shells[wanted].text("made") == made:
            return shells[wanted]
    able = [row for row in shells.values() if row.text("made") == made]
    if not able:
        raise InputError(f"shell_materials.csv: has no material that is {made}; add a row.")
    return next((row for row in able if row.flag("preferred")), able[0])
