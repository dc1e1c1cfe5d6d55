"""A case's tables with drawn figures in place of the likely ones, so that the model's own plans run over all draws."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from moldkit.economics.life import LifeTables, life_row
from moldkit.quantity import Quantity
from moldkit.study.assess import USUAL_SPREAD, setting_of
from moldkit.study.case import Case
from moldkit.study.compare import Comparison
from moldkit.study.knowledge import Knowledge
from moldkit.study.uncertainty.figures import Place
from moldkit.tables import Row
from moldkit.techniques.plan import Steps

JOB_LIFE: Place = ("job", "life", "life")


def drawn_tables(result: Comparison, values: Mapping[Place, Any]) -> tuple[Case, Knowledge]:
    """Return the case and its knowledge with figures put in.

    values: figure by place, a number or an array of shape (d,) [its unit]; figures that are not named stay likely.
    """
    put: dict[tuple[str, str], dict[str, Any]] = {}
    for (table, row, column), value in values.items():
        put.setdefault((table, row), {})[column] = value

    def drawn(table: str, row: Row) -> Row:
        new = put.get((table, row.name))
        return _with_values(row, new) if new else row

    knowledge = result.knowledge
    materials = replace(
        knowledge.materials,
        rubbers={name: drawn("rubbers", row) for name, row in knowledge.materials.rubbers.items()},
        castings={name: drawn("casting_materials", row) for name, row in knowledge.materials.castings.items()},
        shells={name: drawn("shell_materials", row) for name, row in knowledge.materials.shells.items()},
        supplies={name: drawn("supplies", row) for name, row in knowledge.materials.supplies.items()},
    )
    techniques = tuple(
        replace(
            technique,
            steps=Steps(technique.key, {s: drawn("steps", row) for s, row in technique.steps.rows.items()}),
        )
        for technique in knowledge.techniques
    )
    life = LifeTables(
        {pair: drawn("mold_life", row) for pair, row in knowledge.life.pairs.items()},
        {use: drawn("life_factors", row) for use, row in knowledge.life.factors.items()},
    )
    new = replace(
        knowledge,
        techniques=techniques,
        methods={n: replace(m, row=drawn("casting_methods", m.row)) for n, m in knowledge.methods.items()},
        casting_steps={step: drawn("steps", row) for step, row in knowledge.casting_steps.items()},
        materials=materials,
        life=life,
        shop=drawn("shop", result.shop),
    )
    case = replace(result.case, shop={})
    if JOB_LIFE in values:
        return replace(case, life=None), _with_job_life(result, new, values[JOB_LIFE])
    return case, new


def _with_values(row: Row, new: Mapping[str, Any]) -> Row:
    columns = {column: replace(row.quantity(column), value=value) for column, value in new.items()}
    return Row(row.name, row.where, {**row.values, **columns})


def _with_job_life(result: Comparison, knowledge: Knowledge, median: Any) -> Knowledge:
    """Return the knowledge with the job's own median life in a row for each of its rubbers, ahead of the table's."""
    material = setting_of(result.case, result.knowledge).material
    pairs = dict(knowledge.life.pairs)
    life = Quantity("median mold life", median, "pours", "from the job", source="the job")
    usual = Quantity("spread of mold life", USUAL_SPREAD, "1", "where the pair has no row", source="from memory")
    for outcome in result.outcomes:
        rubber = outcome.plan.rubber
        if rubber is None:
            continue
        row = life_row(knowledge.life, rubber, material)
        spread = usual if row is None else row.quantity("spread")
        name = f"{rubber.name} / {material.name}"
        pairs[rubber.name, material.name] = Row(name, "the job", {"life": life, "spread": spread, "source": "the job"})
    return replace(knowledge, life=LifeTables(pairs, knowledge.life.factors))
