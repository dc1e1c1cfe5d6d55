"""The schedule as a sheet: when the first mold, the first casting and the last are out, who works, what holds it up."""

from __future__ import annotations

import datetime
from collections.abc import Iterator

from moldkit.study.run_bars import Bar
from moldkit.study.run_plan import RunPlan
from moldkit.views.paper.document import (
    Block,
    Cell,
    Column,
    Document,
    FillIn,
    KeyFigure,
    KeyFigures,
    Number,
    Page,
    Sentence,
    Table,
    Tick,
)
from moldkit.views.sheets.bench import Bench, sentence
from moldkit.views.sheets.in_units import HOUR
from moldkit.views.sheets.words import day_words, moment_words

# Days on which castings are told to be out; a longer run names every second, third, ... of them.
MOST_DAYS = 12
MOST_STEPS = 16


def schedule_sheet(bench: Bench, plan: RunPlan) -> Document:
    """Return the schedule of a run as a sheet."""
    blocks: list[Block] = [_keys(plan), Sentence(held_up(plan.bottleneck), strong=True)]
    blocks += [Sentence(sentence(note)) for note in plan.notes]
    blocks += [_first_mold(plan), _castings_out(plan), _people(plan)]
    blocks.append(Sentence("Planned with likely hours and the mean life of a mold: a plan to work by, not a promise."))
    return bench.document("Schedule", Page("schedule", "Schedule of the run", tuple(blocks)))


def held_up(bottleneck: str) -> str:
    """Return what holds a run up as a sentence of its own."""
    return f"Held up by {bottleneck}"


def unplanned(bench: Bench, why: str) -> Document:
    """Return the sheet that stands in a schedule's place where the run cannot be planned."""
    blocks = (Sentence("The run cannot be planned as things stand.", strong=True), Sentence(sentence(why)))
    return bench.document("Schedule", Page("schedule", "Schedule of the run", blocks))


def _keys(plan: RunPlan) -> KeyFigures:
    return KeyFigures(
        (
            KeyFigure("Begins", day_words(plan.start)),
            KeyFigure("First mold ready", day_words(plan.first_mold)),
            KeyFigure("First casting out", day_words(plan.first_casting)),
            KeyFigure("Last casting out", day_words(plan.finish)),
            KeyFigure("Castings", Number(plan.castings)),
            KeyFigure("Pours", Number(plan.pours)),
            KeyFigure("Molds side by side", Number(plan.molds)),
            KeyFigure("Molds made", Number(plan.molds_made)),
        )
    )


def _first_mold(plan: RunPlan) -> Table:
    """Return the steps of the first mold with the day and hour at which each begins and ends."""
    steps = list(_steps(plan.bars))
    rows: list[tuple[Cell, ...]] = [
        (Tick(), bar.step, bar.who, moment_words(bar.start), moment_words(ends)) for bar, ends in steps[:MOST_STEPS]
    ]
    columns = (Column(""), Column("Step", wide=True), Column("Who"), Column("Begins"), Column("Ends"))
    return Table("The first mold", columns, tuple(rows))


def _steps(bars: tuple[Bar, ...]) -> Iterator[tuple[Bar, datetime.datetime]]:
    """Yield each step of the first mold with its end; a step that runs on over a night is one."""
    open_bar, ends = None, datetime.datetime.min
    for bar in bars:
        if bar.mold != 1 or bar.pour or not bar.attended:
            continue
        if open_bar is not None and (open_bar.step, open_bar.who) == (bar.step, bar.who):
            ends = bar.end
            continue
        if open_bar is not None:
            yield open_bar, ends
        open_bar, ends = bar, bar.end
    if open_bar is not None:
        yield open_bar, ends


def _castings_out(plan: RunPlan) -> Table:
    """Return how many castings are out by the evening of a day, to be compared with what is out."""
    by_day: dict[datetime.date, int] = {when.date(): castings for when, castings in plan.out}
    days = list(by_day)
    every = -(-len(days) // MOST_DAYS)
    told = days[every - 1 :: every]
    if days[-1] not in told:
        told.append(days[-1])
    rows = tuple((day_words(day), Number(by_day[day]), FillIn()) for day in told)
    some = "" if every == 1 else "; some days are left out"
    columns = (Column("By the evening of"), Column("Castings planned"), Column("Castings out", wide=True))
    return Table(f"Castings out, counted from the start{some}", columns, rows)


def _people(plan: RunPlan) -> Table:
    rows = []
    for who, share in plan.utilisation.items():
        hours = plan.hours.get(who)
        worked: Cell = Number(hours.at(0) / HOUR, 1) if hours is not None else ""
        rows.append((who, worked, Number(100 * share, 0)))
    columns = (Column("Hands and machines"), Column("Attended", "h"), Column("Share of the time", "%"))
    return Table("Who works", columns, tuple(rows))
