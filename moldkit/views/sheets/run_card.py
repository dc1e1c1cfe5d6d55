"""The casting run card: a box for every pour, a line for every mold, and when to retire one."""

from __future__ import annotations

import math

from moldkit.study.bench.turns import Turns, side_by_side, turns_of
from moldkit.study.run_plan import RunPlan
from moldkit.units import count_text
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
    TickGrid,
)
from moldkit.views.sheets.bench import Bench, sentence
from moldkit.views.sheets.in_units import HOUR, key_figure
from moldkit.views.sheets.words import hours_and_minutes

IN_A_ROW = 10
# More boxes than this do not stand on one page with the rest: then a box stands for several pours.
MOST_BOXES = 200
STEPS = (2, 5, 10, 20, 25, 50, 100, 200, 500, 1000)
MOST_MOLDS = 8


def run_card(bench: Bench, plan: RunPlan | None = None) -> Document:
    """Return the casting run card for the run asked for; plan: of the run, where it is planned."""
    if plan is not None and plan.in_use > 1:
        turns = side_by_side(bench.outcome, plan, MOST_MOLDS)
    else:
        turns = turns_of(bench.result, bench.outcome, MOST_MOLDS)
    blocks: list[Block] = [_keys(bench, turns)]
    if turns is None:
        blocks.append(Sentence("Nothing is known of this pair's mold life: count the pours and note each mold's end."))
    else:
        blocks += [Sentence(f"{sentence(turns.advice)} Wear comes first: a torn or rough mold is done.", strong=True)]
    blocks += [_molds(bench, turns), _boxes(bench), _castings(bench)]
    return bench.document("Casting run card", Page("run card", "Casting run card", tuple(blocks)))


def _keys(bench: Bench, turns: Turns | None) -> KeyFigures:
    case, casting = bench.result.case, bench.outcome.casting
    keys = [
        KeyFigure("Castings wanted", Number(case.run)),
        KeyFigure("Pours to make", Number(bench.result.pours(bench.outcome).value)),
        KeyFigure("Pours a day from one mold", Number(casting["a_day"].at(0))),
        KeyFigure("Work on a pour", Number(casting["attended"].at(0) / HOUR, 2), "h"),
        key_figure("Material in the mold", casting["mass"].at(0), "kg", bench.system),
        KeyFigure("In the mold for", hours_and_minutes(casting["cure"].at(0))),
    ]
    if turns is not None and turns.in_use > 1:
        keys.append(KeyFigure("Molds side by side", Number(turns.in_use)))
    if turns is not None:
        keys += [
            KeyFigure("Molds expected", Number(turns.molds, 1)),
            KeyFigure("Mean mold life", Number(turns.mean, 0), "pours"),
        ]
    return KeyFigures(tuple(keys))


def _molds(bench: Bench, turns: Turns | None) -> Table:
    """Return the table of molds, each with the pours that it is to give, and lines to write its life on."""
    each = turns.each if turns else ()
    rows: list[tuple[Cell, ...]] = []
    first = 1
    beside = turns is not None and turns.in_use > 1
    for number, pours in enumerate(each, 1):
        # Molds in turn share out the pours by their numbers; molds side by side only by how many.
        given = count_text(pours) if beside else f"{count_text(first)} to {count_text(first + pours - 1)}"
        rows.append((str(number), given, *[FillIn()] * 4))
        first += pours
    # One more than planned: a mold may fail before its time.
    rows.append((str(len(each) + 1), "spare" if turns else "", *[FillIn()] * 4))
    more = "" if turns is None or first > turns.pours else f", the first {len(each)} of them"
    heading = "Retire after" if turns is not None and turns.planned else "Expected to give"
    columns = (
        Column("Mold"),
        Column("Pours by the plan" if beside else f"{heading}: pours", wide=True),
        Column("Its name"),
        Column("First used"),
        Column("Pours given"),
        Column("Why it ended", wide=True),
    )
    title = f"Molds, {turns.in_use} of them side by side" if turns is not None and beside else "Molds in their turn"
    return Table(f"{title}{more}", columns, tuple(rows))


def _boxes(bench: Bench) -> TickGrid:
    pours = int(bench.result.pours(bench.outcome).value)
    step = 1 if pours <= MOST_BOXES else next((s for s in STEPS if pours / s <= MOST_BOXES), STEPS[-1])
    ends = [min((k + 1) * step, pours) for k in range(math.ceil(pours / step))]
    cavities = bench.outcome.plan.cavities
    gives = "" if cavities == 1 else f", each giving {cavities} castings"
    worth = "a box for every pour" if step == 1 else f"a box for every {step} pours"
    title = f"Tick {worth}{gives}; a cross where it is rejected"
    return TickGrid(title, tuple(count_text(end) for end in ends), IN_A_ROW if len(ends) <= 100 else 2 * IN_A_ROW)


def _castings(bench: Bench) -> Sentence:
    share = bench.result.case.good_share
    if share >= 1:
        return Sentence("Every pour is counted as good; note each one that is not.")
    return Sentence(f"Counted with {share:.0%} good pours. Rejected so far: ______  Good so far: ______")
