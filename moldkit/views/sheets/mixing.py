"""The mixing sheet: what goes into each cup by weight, by volume where the ratio is known, and until when it pours."""

from __future__ import annotations

from moldkit.batches import WET, Parts, parts_of
from moldkit.quantity import Quantity
from moldkit.study.bench.mixes import Mix, casting_mix, rubber_mix
from moldkit.tables import Row
from moldkit.views.paper.document import (
    Block,
    Cell,
    Check,
    CheckList,
    ClockTime,
    ClockTimes,
    Column,
    Document,
    FillIn,
    Heading,
    KeyFigure,
    KeyFigures,
    Number,
    Page,
    Sentence,
    Table,
    Tick,
)
from moldkit.views.sheets.bench import Bench, plainly
from moldkit.views.sheets.in_units import key_figure, scale_for
from moldkit.views.sheets.words import hours_and_minutes

MELTED = ("wax", "metal")
HOW = (
    "Put the cup on the scale and set it to nought. Weigh part A, then part B into it. Stir slowly, scrape sides and "
    "bottom, pour into a second cup and stir again. The ratio on the label goes before this sheet."
)

# The kit counts latex by what stays of it; 60 % is what liquid latex usually holds (from memory).
LATEX = "Weights are of dried rubber: of liquid latex with 60 % solids take 1.67 times as much."


def mixing_sheet(bench: Bench) -> Document:
    """Return the mixing sheet: the rubber of one mold, and the material of one pour of castings."""
    blocks: list[Block] = []
    rubber = rubber_mix(bench.result, bench.outcome)
    if rubber is not None:
        title = "Rubber for one mold" + (", coat by coat" if rubber.brushed else "")
        blocks += _mix(bench, rubber, title, _thickener_share(bench, rubber))
    casting = casting_mix(bench.result, bench.outcome)
    cavities = bench.outcome.plan.cavities
    poured = "one casting" if cavities == 1 else f"one pour of {cavities} castings"
    blocks += _mix(bench, casting, f"{'Melt' if _melted(casting.material) else 'Mix'} for {poured}", 0.0, colour=True)
    blocks += [_casting_clock(bench, casting), Sentence(HOW)]
    return bench.document("Mixing sheet", Page("mixing", "Mixing sheet", tuple(blocks)))


def _melted(material: Row) -> bool:
    return material.text("chemistry") in MELTED


def _thickener_share(bench: Bench, rubber: Mix) -> float:
    """Return the thickener to a kilogram of rubber [-]; 0 where none is used."""
    used = sum(a.amount.at(0) for a in bench.outcome.plan.amounts if a.what == "thickener")
    return used / rubber.mass


def _mix(bench: Bench, mix: Mix, title: str, thickener: float, *, colour: bool = False) -> list[Block]:
    blocks: list[Block] = [Heading(f"{title}: {mix.material.name}"), _keys(bench, mix)]
    blocks.append(_batches(bench, mix, thickener, colour))
    if mix.material.text("chemistry") == "latex":
        blocks.append(Sentence(LATEX))
    if mix.too_late:
        takes, lasts = (bench.say(time, "s") for time in (mix.needed, mix.pot_life))
        words = f"A batch takes {takes} from mixing to its last drop, and can be used for {lasts}."
        blocks.append(CheckList("", (Check("stop", "Pot life", words, "Take a slower grade."),)))
    return blocks


def _keys(bench: Bench, mix: Mix) -> KeyFigures:
    room = bench.result.shop.quantity("room_temperature").at(0)
    ratio = mix.material.quantity("mix_ratio").at(0)
    keys = [key_figure("To mix in all", mix.mass, "kg", bench.system)]
    if ratio > 0:
        named = "Powder : water, by weight" if _wet(mix.material) else "A : B, by weight"
        keys.append(KeyFigure(named, f"100 : {plainly(ratio)}"))
    pot = scale_for([mix.pot_life], "s", bench.system)
    label = "Stays pourable" if _melted(mix.material) else "Pot life in this room"
    keys.append(KeyFigure(label, pot.of(mix.pot_life), pot.typeset))
    keys.append(key_figure("Room taken as", room, "K", bench.system))
    return KeyFigures(tuple(keys))


def _wet(material: Row) -> bool:
    return material.text("chemistry") in WET


def _batches(bench: Bench, mix: Mix, thickener: float, colour: bool) -> Table:
    parts = [parts_of(Quantity("batch", batch.mass, "kg"), mix.material) for batch in mix.batches]
    mass = scale_for([batch.mass for batch in mix.batches], "kg", bench.system)
    two = mix.material.quantity("mix_ratio").at(0) > 0
    volumes = _volume_columns(bench, mix.material, parts)
    one, other = ("Powder", "Water") if _wet(mix.material) else ("Part A", "Part B")
    columns = [Column("Coat" if mix.brushed else "Batch")]
    columns += [mass.column(one), mass.column(other)] if two else [mass.column("Material")]
    columns += [column for column, _ in volumes]
    columns += [mass.column("Thickener")] if thickener else []
    # A casting is mixed again and again: its times stand below, for the first one of the day.
    coloured = colour and mix.material.text("chemistry") != "metal"
    columns += [Column("Colour, to how much", wide=True)] if coloured else []
    columns += [] if colour else [Column("Mixed at", wide=True), Column("Used up by", wide=True)]
    columns.append(Column("Done"))
    rows = []
    for place, batch in enumerate(mix.batches):
        cells: list[Cell] = [batch.name]
        cells += [mass.of(parts[place].a.at(0)), mass.of(parts[place].b.at(0))] if two else [mass.of(batch.mass)]
        cells += [numbers[place] for _, numbers in volumes]
        cells += [mass.of(batch.mass * thickener)] if thickener else []
        cells += [FillIn()] if coloured else []
        cells += [] if colour else [bench.clock(t) or FillIn() for t in (batch.begins, batch.ends)]
        rows.append((*cells, Tick()))
    return Table("", tuple(columns), tuple(rows))


def _volume_columns(bench: Bench, material: Row, parts: list[Parts]) -> list[tuple[Column, list[Number]]]:
    """Return the columns of parts by volume, for the parts whose volume is known."""
    found = []
    for name, measured in (("or A", [p.a_volume for p in parts]), ("or B", [p.b_volume for p in parts])):
        volumes = [q.at(0) for q in measured if q is not None]
        if len(volumes) == len(parts):
            scale = scale_for(volumes, "m3", bench.system)
            heading = "or water" if _wet(material) else name
            found.append((scale.column(heading), [scale.of(volume) for volume in volumes]))
    return found


def _begin(material: Row) -> str:
    if _wet(material):
        return "powder into the water"
    return "part B into part A" if material.quantity("mix_ratio").at(0) > 0 else "begin to pour"


def _casting_clock(bench: Bench, casting: Mix) -> ClockTimes:
    """Return the times of the first casting of the day, from the start where it is given."""
    cure = bench.outcome.casting["cure"].at(0)
    spans = (
        (_begin(casting.material), 0.0),
        ("in the mold by", casting.pot_life),
        ("open the mold from", cure),
    )
    times = tuple(
        ClockTime(label, f"after {hours_and_minutes(span)}" if span else "", bench.clock(span)) for label, span in spans
    )
    return ClockTimes("The first casting of the day", times)
