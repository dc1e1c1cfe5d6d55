"""Everything a data folder knows, loaded once: tables, techniques, casting methods, rules, the shop."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import moldkit
from moldkit.data_folder import find_data_folder
from moldkit.economics.life import LifeTables, load_life
from moldkit.errors import InputError, unknown
from moldkit.findings.plan import RuleBook, rule_book
from moldkit.materials import Materials, load_materials
from moldkit.pattern.pattern import UNDERCUTS
from moldkit.seam import paired
from moldkit.shop import load_shop
from moldkit.tables import Row, load_table
from moldkit.techniques.plan import Steps

PACKAGE = Path(moldkit.__file__).resolve().parent


@dataclass(frozen=True)
class Technique:
    """A technique: its row, its plan function, its steps."""

    row: Row
    plan: Any
    steps: Steps

    @property
    def name(self) -> str:
        """The name as shown and in results."""
        return self.row.text("name")

    @property
    def key(self) -> str:
        """The key: the file's stem."""
        return self.row.name


@dataclass(frozen=True)
class Method:
    """A casting method: its row and its plan function."""

    row: Row
    plan: Any

    @property
    def name(self) -> str:
        """The name as shown and in job files."""
        return self.row.text("name")


@dataclass(frozen=True)
class Knowledge:
    """All that a data folder holds, with the functions its rows name."""

    folder: Path
    techniques: tuple[Technique, ...]
    methods: Mapping[str, Method]
    casting_steps: Mapping[str, Row]
    materials: Materials
    life: LifeTables
    rules: RuleBook
    shop: Row


def load_knowledge(folder: str | os.PathLike[str] | None = None, more_techniques: Sequence[Path] = ()) -> Knowledge:
    """Return everything the data folder knows; raises InputError for the first fault in any table.

    folder: the data folder, else it is searched for; more_techniques: further folders of technique files.
    """
    data = find_data_folder(folder)
    steps: dict[str, dict[str, Row]] = {}
    for row in load_table(data, "steps"):
        steps.setdefault(row.text("technique"), {})[row.text("step")] = row
    materials, life, methods = load_materials(data), load_life(data), _methods(data)
    _check_life(life, materials, methods)
    return Knowledge(
        data,
        _techniques(data, steps, [PACKAGE / "techniques", *more_techniques]),
        methods,
        {step: _plainly_named(row) for step, row in steps.get("casting", {}).items()},
        materials,
        life,
        rule_book(load_table(data, "rules"), [PACKAGE / "findings"]),
        load_shop(data),
    )


def _check_life(life: LifeTables, materials: Materials, methods: Mapping[str, Method]) -> None:
    """Raise InputError where the life tables name something no other table knows, or leave a use without a factor."""
    rubbers = {*materials.rubbers, *(row.text("family") for row in materials.rubbers.values())}
    castings = {*materials.castings, *(row.text("family") for row in materials.castings.values())}
    for (rubber, casting), row in life.pairs.items():
        for kind, word, known in (("rubber", rubber, rubbers), ("casting", casting, castings)):
            if word not in known:
                raise unknown(f"{kind} name or family", word, known, f"{row.where}, column {kind!r}")
    uses = {"method": tuple(methods), "undercut": UNDERCUTS, "wall": ("thin", "full"), "release": ("yes", "no")}
    for (kind, value), row in life.factors.items():
        if kind not in uses:
            raise unknown("kind of factor", kind, uses, f"{row.where}, column 'kind'")
        if value not in uses[kind]:
            raise unknown(f"value of {kind}", value, uses[kind], f"{row.where}, column 'value'")
    for kind, values in uses.items():
        for value in values:
            if (kind, value) not in life.factors:
                raise InputError(
                    f"life_factors.csv: has no row for {kind} {value!r}; add it, with a factor of 1 for none."
                )


def _techniques(data: Path, steps: Mapping[str, Mapping[str, Row]], folders: Sequence[Path]) -> tuple[Technique, ...]:
    rows = sorted(load_table(data, "techniques"), key=lambda row: row.values["order"])
    plans = paired([row.name for row in rows], folders, "moldkit.techniques", "techniques.csv")
    plain = {key: {step: _plainly_named(row) for step, row in own.items()} for key, own in steps.items()}
    return tuple(Technique(row, plans[row.name], Steps(row.name, plain.get(row.name, {}))) for row in rows)


def _plainly_named(row: Row) -> Row:
    """Return a step's row with its times named as a working shows them."""
    unit = row.text("driver").rpartition("[")[2].rstrip("]")
    fixed = replace(row.quantity("fixed"), name="fixed time")
    per = replace(row.quantity("per_driver"), name=f"time for each {unit}")
    return Row(row.name, row.where, {**row.values, "fixed": fixed, "per_driver": per})


def _methods(data: Path) -> dict[str, Method]:
    rows = sorted(load_table(data, "casting_methods"), key=lambda row: row.values["order"])
    plans = paired([row.name for row in rows], [PACKAGE / "casting"], "moldkit.casting", "casting_methods.csv")
    return {row.text("name"): Method(row, plans[row.name]) for row in rows}
