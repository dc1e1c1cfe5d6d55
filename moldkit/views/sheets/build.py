"""The mold build sheet: sizes, boards to cut, coats, shell, steps to tick, and what to mind."""

from __future__ import annotations

from moldkit.batches import parts_of
from moldkit.quantity import Quantity
from moldkit.study.bench.boards import USUAL_BOARD, Box, box_of
from moldkit.study.bench.layers import coats_of, layers_of
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
from moldkit.views.sheets.begun import begun, moment_of
from moldkit.views.sheets.bench import Bench, findings_list, sentence
from moldkit.views.sheets.in_units import HOUR, key_figure, scale_for
from moldkit.views.sheets.words import hours_and_minutes, moment_words

DONE = Column("Done")


def build_sheet(bench: Bench, board: float = USUAL_BOARD, run: RunPlan | None = None) -> Document:
    """Return the mold build sheet of the technique chosen.

    board: thickness of the box's board [m]; run: as planned, with a start of work the coats' times are those of its
    first mold.
    """
    plan = bench.outcome.plan
    blocks: list[Block] = [_head(bench), _sizes(bench)]
    box = box_of(plan, board)
    if box is not None:
        blocks += _cut_list(bench, box)
    blocks += _coats(bench, run) + _layers(bench) + _printed(bench)
    blocks += [_steps(bench), *findings_list(bench)]
    return bench.document("Mold build sheet", Page("build", f"Build the mold: {bench.made_as}", tuple(blocks)))


def _head(bench: Bench) -> KeyFigures:
    plan, outcome, system = bench.outcome.plan, bench.outcome, bench.system
    keys = [
        KeyFigure("Rubber", plan.rubber.name if plan.rubber else "none"),
        key_figure("Rubber to mix", plan["rubber_mass"].at(0), "kg", system),
        KeyFigure("Attended work", Number(outcome.attended_first.at(0) / HOUR, 1), "h"),
        KeyFigure("With the waits", Number(outcome.elapsed_first.at(0) / HOUR, 0), "h"),
        key_figure("Mold weighs", plan["mold_mass"].at(0), "kg", system),
    ]
    for name, label in (("margin", "Margin of rubber"), ("skin", "Skin of rubber"), ("gap", "Gap for the rubber")):
        if name in plan.quantities:
            keys.append(key_figure(label, plan[name].at(0), "m", system))
    if plan["pieces"].at(0) > 1:
        keys.append(KeyFigure("Pieces of the mold", Number(plan["pieces"].at(0)), ""))
        keys.append(key_figure("Parting line", plan["parting_length"].at(0), "m", system))
    if plan.cavities > 1:
        keys.append(KeyFigure("Patterns in one mold", Number(plan.cavities)))
    return KeyFigures(tuple(keys))


def _sizes(bench: Bench) -> Table:
    pattern, plan = bench.result.pattern, bench.outcome.plan
    rows = [("pattern", (pattern.width, pattern.depth, pattern.height))]
    name = "block of rubber" if "container" in plan.quantities else "closed mold, outside"
    rows.append((name, (plan["width"], plan["depth"], plan["height"])))
    scale = scale_for([q.at(0) for _, sides in rows for q in sides], "m", bench.system)
    cells = tuple(_named(name, [scale.of(side.at(0)) for side in sides]) for name, sides in rows)
    return Table("Sizes", (Column(""), *(scale.column(s) for s in ("Width", "Depth", "Height"))), cells)


def _named(name: str, figures: list[Number]) -> tuple[Cell, ...]:
    return (name, *figures)


def _cut_list(bench: Bench, box: Box) -> list[Block]:
    scale = scale_for([side for board in box.boards for side in (board.length, board.width)], "m", bench.system)
    rows: list[tuple[Cell, ...]] = [
        (board.name, Number(board.count), scale.of(board.length), scale.of(board.width), Tick()) for board in box.boards
    ]
    columns = (Column("Board"), Column("Pieces"), scale.column("Length"), scale.column("Width"), DONE)
    thick, above = bench.say(box.thickness, "m"), bench.say(box.walls - box.inside[2], "m")
    words = (
        f"For board {thick} thick: the long walls cover the ends of the short ones, all stand on the base. "
        f"The walls rise {above} above the rubber. Measure your board: lengths change with its thickness."
    )
    if box.tube is not None:
        bore, length = (bench.say(side, "m") for side in box.tube)
        words = f"Walls: a tube with a bore of {bore}, {length} long, {above} of it above the rubber."
    return [Table("Boards to cut", columns, tuple(rows)), Sentence(words)]


def _coats(bench: Bench, run: RunPlan | None) -> list[Block]:
    begins = begun(bench, run)
    coats, rubber = coats_of(bench.outcome, bench.result.shop, begins), bench.outcome.plan.rubber
    if not coats or rubber is None:
        return []
    mixed = [parts_of(Quantity("coat", coat.mass, "kg"), rubber) for coat in coats]
    mass = scale_for([coat.mass for coat in coats], "kg", bench.system)
    thick = scale_for([coat.thickness for coat in coats], "m", bench.system)
    two = any(parts.b.at(0) > 0 for parts in mixed)
    columns = [Column("Coat"), thick.column("Thick"), mass.column("Rubber")]
    columns += [mass.column("Part A"), mass.column("Part B")] if two else []
    thickener = _thickener(bench)
    columns += [mass.column("Thickener")] if thickener else []
    columns += [Column("Begin at", wide=True), DONE] if begins else [Column("Begin after"), Column("Begin at"), DONE]
    rows = []
    for coat, parts in zip(coats, mixed, strict=True):
        a, b = mass.of(parts.a.at(0)), mass.of(parts.b.at(0))
        # What is weighed adds up to what is printed.
        cells: list[Cell] = [str(coat.number), thick.of(coat.thickness), Number(a.shown + b.shown, a.decimals)]
        cells += [a, b] if two else []
        cells += [mass.of(coat.mass * thickener)] if thickener else []
        after = "at once" if coat.number == 1 else hours_and_minutes(coat.begins)
        at = moment_words(moment_of(bench, coat.begins)) if begins else bench.clock(coat.begins) or FillIn()
        told: list[Cell] = [at] if begins else [after, at]
        rows.append((*cells, *told, Tick()))
    title = "Coats, the first one thin" + ("; times by the schedule" if begins else "")
    return [Table(title, tuple(columns), tuple(rows))]


def _thickener(bench: Bench) -> float:
    """Return the thickener to a kilogram of rubber [-]; 0 where none is used."""
    plan = bench.outcome.plan
    used = sum(a.amount.at(0) for a in plan.amounts if a.what == "thickener")
    return used / plan["rubber_mass"].at(0)


def _layers(bench: Bench) -> list[Block]:
    layers, shell = layers_of(bench.outcome.plan), bench.outcome.plan.shell
    if not layers or shell is None:
        return []
    mass = scale_for([layer.mass for layer in layers], "kg", bench.system)
    thick = scale_for([layer.thickness for layer in layers], "m", bench.system)
    rows = tuple((str(layer.number), thick.of(layer.thickness), mass.of(layer.mass), Tick()) for layer in layers)
    total = sum(layer.mass for layer in layers)
    area, pieces = bench.outcome.plan["shell_area"].at(0), round(bench.outcome.plan["pieces"].at(0))
    words = (
        f"{sentence(shell.name)} Over {bench.say(area, 'm2')} with its flanges, in {pieces} "
        f"piece{'s' if pieces > 1 else ''}, {bench.say(total, 'kg')} in all; water or hardener as its data sheet says."
    )
    columns = (Column("Layer"), thick.column("Thick"), mass.column("Material"), DONE)
    return [Table("Support shell, layer by layer", columns, rows), Sentence(words)]


def _printed(bench: Bench) -> list[Block]:
    """Return the printed shell: its wall, what it weighs, the filament it takes, its parts; nothing of another."""
    plan, shell = bench.outcome.plan, bench.outcome.plan.shell
    if shell is None or "printed_parts" not in plan.quantities:
        return []
    wall, weighs = shell.quantity("thickness").at(0), plan["shell_mass"].at(0)
    filament = next(a.amount.at(0) for a in plan.amounts if a.what == "shell")
    thick, mass = scale_for([wall], "m", bench.system), scale_for([weighs, filament], "kg", bench.system)
    columns = (
        Column("Material", wide=True),
        thick.column("Wall"),
        Column("Parts to print"),
        mass.column("Weighs"),
        mass.column("Filament"),
        Column("Prints for", "h"),
        DONE,
    )
    row: tuple[Cell, ...] = (
        shell.name,
        thick.of(wall),
        Number(plan["printed_parts"].at(0)),
        mass.of(weighs),
        mass.of(filament),
        Number(plan["printing_time"].at(0) / HOUR, 0),
        Tick(),
    )
    words = "Filament and hours count supports and prints that fail."
    return [Table("Printed shell, all its parts together", columns, (row,)), Sentence(words)]


def _steps(bench: Bench) -> Table:
    rows: list[tuple[Cell, ...]] = []
    for step in bench.outcome.plan.steps:
        attended, wait = step.attended.at(0), step.wait.at(0)
        if attended > 0:
            waits: Cell = Number(wait / HOUR, 1) if wait > 0 else ""
            rows.append((Tick(), step.name, step.skill, Number(attended / HOUR, 1), waits, FillIn()))
    columns = (
        Column(""),
        Column("Step", wide=True),
        Column("Who"),
        Column("Work", "h"),
        Column("Then wait", "h"),
        Column("Took"),
    )
    return Table("Steps", columns, tuple(rows))
