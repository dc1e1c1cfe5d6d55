"""The mixing sheet: what goes into each cup by weight, by volume where the ratio is known, and until when it pours."""

from __future__ import annotations

from moldkit.batches import WET, Parts, parts_of
from moldkit.quantity import Quantity
from moldkit.study.bench.mixes import Batch, Mix, casting_mix, rubber_mix
from moldkit.study.run_plan import RunPlan
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
from moldkit.views.sheets.begun import begun, moment_of
from moldkit.views.sheets.bench import Bench, plainly, sentence
from moldkit.views.sheets.in_units import key_figure, scale_for
from moldkit.views.sheets.words import hours_and_minutes, listed, moment_words

MELTED = ("wax", "metal")
LABEL = "The label goes before this sheet."
# How each is mixed: common practice, no source.
TWO_PARTS = (
    "Put the cup on the scale and set it to nought. Weigh part A, then part B into it. Stir slowly, scrape sides and "
    f"bottom, pour into a second cup and stir again. {LABEL}"
)
ONE_PART = f"Weigh it into a cup and stir it slowly through, without stirring air in. {LABEL}"
FOAM = (
    "Put the cup on the scale and set it to nought. Weigh part A, then part B into it. Stir hard for a few seconds, "
    f"sides and bottom too, and pour at once: it rises while you look. {LABEL}"
)
PLASTER = (
    "Weigh the water into a clean bucket. Sift the powder evenly into it, let it soak until it is wet through, then "
    "stir slowly from below, without drawing air in. No water is added later, and what has begun to set is not stirred "
    f"again. {LABEL}"
)
CONCRETE = (
    "Put most of the water into the mixer, add the dry mix bit by bit, then only as much of the rest of the water as "
    f"it needs to flow. Mix until no dry lump is left. {LABEL}"
)
MELT = (
    "Melt it slowly in its own pot with a thermometer in it, skim it, and pour from a dry and warmed ladle. No water "
    "comes near a melt. The data sheet's temperature goes before this sheet."
)

# Batches of a casting whose times are all told; of more only the first and the last.
MOST_CLOCKS = 5
# The kit counts latex by what stays of it; 60 % is what liquid latex usually holds (from memory).
LATEX = "Weights are of dried rubber: of liquid latex with 60 % solids take 1.67 times as much."


def mixing_sheet(bench: Bench, plan: RunPlan | None = None) -> Document:
    """Return the mixing sheet: the rubber of one mold, and the material of one pour of castings.

    plan: of the run; with a start of work the rubber's times are those of its first mold.
    """
    blocks: list[Block] = []
    rubber = rubber_mix(bench.result, bench.outcome, begun(bench, plan))
    if rubber is not None:
        title = "Rubber for one mold" + (", coat by coat" if rubber.brushed else "")
        blocks += _mix(bench, rubber, title, _thickener_share(bench, rubber), by_plan=begun(bench, plan) != ())
    casting = casting_mix(bench.result, bench.outcome)
    cavities = bench.outcome.plan.cavities
    poured = "one casting" if cavities == 1 else f"one pour of {cavities} castings"
    blocks += _mix(bench, casting, f"{'Melt' if _melted(casting.material) else 'Mix'} for {poured}", 0.0, colour=True)
    blocks.append(_casting_clock(bench, casting))
    blocks += [Sentence(words) for words in _how([rubber, casting])]
    return bench.document("Mixing sheet", Page("mixing", "Mixing sheet", tuple(blocks)))


def _how(mixes: list[Mix | None]) -> list[str]:
    """Return how the materials are mixed, told once where two are mixed alike."""
    ways: dict[str, list[str]] = {}
    for mix in mixes:
        if mix is not None:
            ways.setdefault(how_to_mix(mix.material), []).append(mix.material.name)
    return [words if len(ways) == 1 else f"{sentence(listed(names))[:-1]}: {words}" for words, names in ways.items()]


def how_to_mix(material: Row) -> str:
    """Return how a rubber or casting material is mixed, by what it is."""
    if _melted(material):
        return MELT
    if _wet(material):
        return PLASTER if material.text("chemistry") == "gypsum" else CONCRETE
    if "foam_pressure" in material.values and material.quantity("foam_pressure").at(0) > 0:
        return FOAM
    return TWO_PARTS if material.quantity("mix_ratio").at(0) > 0 else ONE_PART


def _melted(material: Row) -> bool:
    return material.text("chemistry") in MELTED


def _thickener_share(bench: Bench, rubber: Mix) -> float:
    """Return the thickener to a kilogram of rubber [-]; 0 where none is used."""
    used = sum(a.amount.at(0) for a in bench.outcome.plan.amounts if a.what == "thickener")
    return used / rubber.mass


def _mix(
    bench: Bench, mix: Mix, title: str, thickener: float, *, colour: bool = False, by_plan: bool = False
) -> list[Block]:
    blocks: list[Block] = [Heading(f"{title}: {mix.material.name}"), _keys(bench, mix)]
    blocks.append(_batches(bench, mix, thickener, colour, by_plan))
    if mix.material.text("chemistry") == "latex":
        blocks.append(Sentence(LATEX))
    if mix.too_late:
        takes, lasts = hours_and_minutes(mix.needed), hours_and_minutes(mix.pot_life, latest=True)
        words = f"A batch takes {takes} from mixing to its last drop, and can be used for {lasts}."
        blocks.append(CheckList("", (Check("stop", "Pot life", words, "Take a slower grade."),)))
    elif mix.outlasts and colour:
        takes, lasts = hours_and_minutes(mix.all_in), hours_and_minutes(mix.pot_life, latest=True)
        words = f"One after another the {len(mix.batches)} batches take {takes}, and the first sets after {lasts}."
        mend = "Let several people mix, so that every batch is in before the first one sets, or take a slower grade."
        blocks.append(CheckList("", (Check("caution", "Pot life", words, mend),)))
    return blocks


def _keys(bench: Bench, mix: Mix) -> KeyFigures:
    room = bench.result.shop.quantity("room_temperature").at(0)
    ratio = mix.material.quantity("mix_ratio").at(0)
    keys = [key_figure("To mix in all", mix.mass, "kg", bench.system)]
    if ratio > 0:
        named = "Powder : water, by weight" if _wet(mix.material) else "A : B, by weight"
        keys.append(KeyFigure(named, f"100 : {plainly(ratio)}"))
    label = "Stays pourable" if _melted(mix.material) else "Pot life in this room"
    keys.append(KeyFigure(label, hours_and_minutes(mix.pot_life, latest=True)))
    keys.append(key_figure("Room taken as", room, "K", bench.system))
    return KeyFigures(tuple(keys))


def _wet(material: Row) -> bool:
    return material.text("chemistry") in WET


def _batches(bench: Bench, mix: Mix, thickener: float, colour: bool, by_plan: bool) -> Table:
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
        cells += [] if colour else _times(bench, batch, by_plan)
        rows.append((*cells, Tick()))
    return Table("", tuple(columns), tuple(rows))


def _times(bench: Bench, batch: Batch, by_plan: bool) -> list[Cell]:
    """Return when a batch is mixed, and by when it is used up."""
    used_up = bench.clock(batch.ends, latest=True) or FillIn()
    if by_plan and bench.start is not None:
        return [moment_words(moment_of(bench, batch.begins)), f"{moment_of(bench, batch.ends):%H:%M}"]
    return [bench.clock(batch.begins) or FillIn(), used_up]


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
    """Return the times of the first casting of the day, batch by batch, from the start where it is given."""
    cure, last = bench.outcome.casting["cure"].at(0), casting.batches[-1]
    times = [_clock_time(bench, _begin(casting.material), 0.0)]
    told = casting.batches if len(casting.batches) <= MOST_CLOCKS else (casting.batches[0], last)
    for batch in told:
        which = "" if len(casting.batches) == 1 else f"batch {batch.name} "
        times.append(_clock_time(bench, f"{which}in the mold by", batch.ends, latest=True))
    # The mold is opened when the batch that went in last has set.
    times.append(_clock_time(bench, "open the mold from", last.begins + cure))
    return ClockTimes("The first casting of the day", tuple(times))


def _clock_time(bench: Bench, label: str, span: float, *, latest: bool = False) -> ClockTime:
    after = f"after {hours_and_minutes(span, latest=latest)}" if span else ""
    return ClockTime(label, after, bench.clock(span, latest=latest))
