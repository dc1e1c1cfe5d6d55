"""What the command line says of a job's alternatives: a list of them, and what changes from one to another."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from moldkit.errors import InputError
from moldkit.study.alternatives import named
from moldkit.study.case import Case
from moldkit.study.compare import compare
from moldkit.study.job_file import JobFile
from moldkit.study.knowledge import Knowledge
from moldkit.study.price_changes import Change, ChangeList, Reckoned, change_list, reckoned
from moldkit.units import System, cents_text, count_text
from moldkit.views.change_words import shop_lines, total_line
from moldkit.views.tables import text_table

THE_JOB = "the job itself"


def case_named(job: JobFile, name: str | None, option: str) -> Case:
    """Return a job's own case, or that of one of its alternatives; option: where the name was given, for errors."""
    return job.case if name is None else named(job.alternatives, name, option).case


def alternatives_text(job: JobFile, knowledge: Knowledge, system: System = "metric") -> str:
    """Return a job and its alternatives side by side, and what each changes, in words.

    Raises InputError where the job itself cannot be made; an alternative that cannot be made is told so.
    """
    currency = knowledge.shop.text("currency")
    figures = ("cost of the run", "price each", "together")
    rows = [["", "castings", "technique", *(f"{words}, {currency}" for words in figures)]]
    rows += [_row(THE_JOB, reckoned(compare(job.case, knowledge)))]
    told: list[str] = []
    for each in job.alternatives:
        try:
            changes = change_list(job.case, each.case, knowledge)
        except InputError as fault:
            rows.append([each.name, count_text(each.case.run), "cannot be made", "", "", ""])
            told += ["", each.name, f"  {fault}"]
            continue
        rows.append(_row(each.name, changes.after))
        told += ["", each.name, *(f"  {line}" for line in _lines(changes, currency, system))]
    return "\n".join([text_table(rows), *told])


def _row(name: str, found: Reckoned) -> list[str]:
    figures = [cents_text(cents / 100) for cents in (found.cost, found.each, found.together)]
    return [name, count_text(found.case.run), found.technique, *figures]


def _lines(changes: ChangeList, currency: str, system: System) -> Iterator[str]:
    yield from shop_lines(changes, currency, system)
    if len(changes.changes) != 1:
        yield total_line(changes, currency, shop=True)


def change_text(job: JobFile, names: tuple[str | None, str | None], knowledge: Knowledge, system: System) -> str:
    """Return what changes from one alternative to another, None for the job itself, in words."""
    before, after = (case_named(job, name, "--against" if n == 0 else "--alternative") for n, name in enumerate(names))
    changes = change_list(before, after, knowledge)
    first, last = (name or THE_JOB for name in names)
    return "\n".join([f"From {first} to {last}:", *_lines(changes, knowledge.shop.text("currency"), system)])


def alternatives_record(job: JobFile, knowledge: Knowledge) -> dict[str, Any]:
    """Return a job's alternatives as one plain object, with what each changes [whole cents]."""
    return {
        "schema": 1,
        "currency": knowledge.shop.text("currency"),
        "job": _figures(reckoned(compare(job.case, knowledge))),
        "alternatives": [_record(job, each.name, each.case, knowledge) for each in job.alternatives],
    }


def _record(job: JobFile, name: str, case: Case, knowledge: Knowledge) -> dict[str, Any]:
    try:
        changes = change_list(job.case, case, knowledge)
    except InputError as fault:
        return {"name": name, "run": case.run, "fault": str(fault)}
    return {"name": name, **_figures(changes.after), "changes": [_step(change) for change in changes.changes]}


def _figures(found: Reckoned) -> dict[str, Any]:
    return {
        "run": found.case.run,
        "technique": found.technique,
        "cost_cents": found.cost,
        "price_each_cents": found.each,
        "price_total_cents": found.together,
        "delivery": found.delivery.isoformat() if found.delivery else None,
    }


def _step(change: Change) -> dict[str, Any]:
    return {
        "keys": list(change.keys),
        "cost_cents": change.cost,
        "price_each_cents": change.each,
        "price_total_cents": change.together,
    }
