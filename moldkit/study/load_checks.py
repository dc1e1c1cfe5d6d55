"""The loads of one technique looked at for a case: box, pattern, shell, hands, air; each with its working."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from moldkit.errors import unknown
from moldkit.loads.air_checks import froth_check, pot_check, pressed_bubbles_check, vacuum_check
from moldkit.loads.box_checks import PouringBox, box_checks
from moldkit.loads.box_walls import Board, board_from
from moldkit.loads.bubbles import largest_container
from moldkit.loads.check import LoadCheck
from moldkit.loads.closure import mean_pressure, opened_outline
from moldkit.loads.closure_checks import Flange, foam_check, head_check
from moldkit.loads.float_off import grown_outline
from moldkit.loads.hand_checks import lifting_check, machine_check, turning_check
from moldkit.loads.head import head_pressure
from moldkit.loads.rise_checks import float_check, lift_check
from moldkit.loads.statics import filled_mass
from moldkit.loads.wet import density_as_poured
from moldkit.quantity import Quantity
from moldkit.study.assess import Outcome
from moldkit.study.compare import Comparison
from moldkit.tables import Row, load_table

# Where the shop says nothing of its own.
USUAL_CLAMP = Quantity("one strap or clamp", 1000.0, "N", "a small clamp or ratchet strap", source="from memory")
SEA_LEVEL = Quantity("altitude", 0.0, "m", "taken as at the sea", source="where the shop says nothing")


@dataclass(frozen=True)
class Bench:
    """A technique's plan for a case, with the rows that its loads follow from.

    body: density of a solid pattern with the case's surface, None where nothing is known; board: of pouring boxes.
    """

    result: Comparison
    outcome: Outcome
    material: Row
    method: Row
    body: Quantity | None
    board: Board

    @property
    def poured(self) -> bool:
        """Whether the rubber is poured."""
        return self.outcome.technique.row.text("goes_on") == "poured"

    @property
    def in_shell(self) -> bool:
        """Whether the mold is a skin in a shell."""
        return self.outcome.technique.row.text("shell") != "none"

    @property
    def several_pieces(self) -> bool:
        """Whether the mold opens along a parting."""
        return bool(self.outcome.plan["pieces"].value > 1)

    def rubber(self, column: str) -> Quantity:
        """Return a figure of the technique's rubber."""
        assert self.outcome.plan.rubber is not None, "a mold of rubber has a rubber"
        return self.outcome.plan.rubber.quantity(column)

    def shop(self, key: str, usual: Quantity | None = None) -> Quantity:
        """Return a figure of the shop; `usual` where it has none."""
        given = self.result.shop.values.get(key)
        found: Quantity = usual if given is None and usual is not None else self.result.shop.quantity(key)
        return found

    @property
    def flange(self) -> Flange:
        """What holds the mold shut: its parting line, or its edge on the base where it has none."""
        pattern = self.result.pattern
        seam = pattern.one_parting_line if self.several_pieces else pattern.footprint_perimeter
        return Flange(seam, self.shop("clamp_limit", USUAL_CLAMP), self.shop("closure_limit"), self.in_shell)


def load_checks(result: Comparison, technique: str, *, weighed: Quantity | None = None) -> tuple[LoadCheck, ...]:
    """Return the checks that this case and technique call for, in the order of the work.

    technique: its name as shown; weighed: the pattern's mass [kg] in place of the job's. Raises InputError for an
    unknown technique or board, and for a fault in boards.csv or pattern_densities.csv.
    """
    names = [outcome.name for outcome in result.outcomes]
    if technique not in names:
        raise unknown("technique", technique, names)
    bench = _bench(result, result.outcomes[names.index(technique)])
    if weighed is None and result.case.mass is not None:
        weighed = Quantity("pattern, weighed", result.case.mass, "kg", "weighed", source="the job")
    return (*_making(bench, weighed), *_casting(bench), *_handling(bench))


def _bench(result: Comparison, outcome: Outcome) -> Bench:
    knowledge, case = result.knowledge, result.case
    bodies = load_table(knowledge.folder, "pattern_densities")
    boards = {row.name: row for row in load_table(knowledge.folder, "boards")}
    wanted = result.shop.values.get("box_board")
    if wanted is not None and wanted not in boards:
        raise unknown("board", str(wanted), boards, "shop.toml box_board")
    preferred = next((row for row in boards.values() if row.flag("preferred")), next(iter(boards.values())))
    return Bench(
        result,
        outcome,
        knowledge.materials.castings[case.material],
        knowledge.methods[case.method].row,
        next((row.quantity("density") for row in bodies if row.name == case.surface), None),
        board_from(boards[str(wanted)] if wanted is not None else preferred),
    )


def _making(bench: Bench, weighed: Quantity | None) -> Iterator[LoadCheck]:
    """Yield the checks of pouring the rubber; brushed rubber has none."""
    if not bench.poured:
        return
    plan, pattern = bench.outcome.plan, bench.result.pattern
    density = bench.rubber("density")
    if not bench.in_shell:
        yield from box_checks(
            _box(bench), bench.board, bench.result.shop.values.get("box_board_thickness"), bench.flange.each,
            bench.flange.closure,
        )  # fmt: skip
    yield float_check(
        density, pattern.volume, bench.body, weighed, fixed=pattern.fixed_in_place, several=plan.cavities > 1
    )
    if bench.in_shell:
        yield from _gap_checks(bench)
    if bench.outcome.technique.row.flag("degassed") and plan.degassed:
        yield _froth(bench)


def _box(bench: Bench) -> PouringBox:
    plan = bench.outcome.plan
    sides = sorted((plan["width"], plan["depth"]), key=lambda side: -side.at(0))
    is_round = bool(np.isclose(plan["round_diameter"].at(0), sides[0].at(0)))
    return PouringBox(bench.rubber("density"), plan["pour_head"], sides[0], sides[1], is_round)


def _gap_checks(bench: Bench) -> Iterator[LoadCheck]:
    """Yield the checks of rubber poured into the gap of a shell: its lift off the base, its flange."""
    plan, pattern, density = bench.outcome.plan, bench.result.pattern, bench.rubber("density")
    gap, head, flange = plan["gap"], plan["pour_head"], bench.flange
    if pattern.stands_on_base:
        opening = grown_outline(pattern.footprint_area, pattern.footprint_perimeter, gap)
        inside = Quantity(
            "volume inside the shell", pattern.volume.value + plan["pour_volume"].value, "m3",
            "pattern + rubber in the mold", (pattern.volume, plan["pour_volume"]),
        )  # fmt: skip
        seat = pattern.footprint_perimeter
        yield lift_check(density, head, opening, inside, plan["shell_mass"], seat, flange.each, flange.closure)
    if bench.several_pieces:
        outline = grown_outline(pattern.silhouette_area, pattern.one_parting_line, gap)
        yield head_check(
            "rubber in the gap", "Rubber up to the top of the spout", _on_parting(bench, density, head, outline, gap),
            outline, flange,
        )  # fmt: skip


def _on_parting(bench: Bench, density: Quantity, head: Quantity, outline: Quantity, gap: Quantity | None) -> Quantity:
    """Return the pressure on a parting [Pa]: the mean on an upright one, the full head where it may lie level."""
    pattern = bench.result.pattern
    if not pattern.stands_on_base:
        return head_pressure(density, head)
    around = 0.0 if gap is None else 2.0 * gap.value
    width = max(pattern.width.value, pattern.depth.value) + around
    inputs = (pattern.width, pattern.depth) if gap is None else (pattern.width, pattern.depth, gap)
    across = Quantity("width of the outline", width, "m", "the wider side of pattern and gap", inputs)
    return mean_pressure(density, head, outline, across)


def _froth(bench: Bench) -> LoadCheck:
    density, batches = bench.rubber("density"), bench.outcome.plan.batches
    each = bench.outcome.plan["rubber_mass"] if batches is None else batches.each
    batch = Quantity("batch", each.at(0) / density.value, "m3", "mass of a batch / density", (each, density))
    pail = largest_container(bench.shop("vacuum_chamber_bore"), bench.shop("vacuum_chamber_height"))
    return froth_check(batch, pail, density, bench.shop("altitude", SEA_LEVEL))


def _casting(bench: Bench) -> Iterator[LoadCheck]:
    """Yield the checks of casting in the mold: its head or foam on the closure, air, the pot."""
    plan, pattern, method, flange = bench.outcome.plan, bench.result.pattern, bench.method, bench.flange
    if method.flag("foam"):
        side, base = pattern.silhouette_area, pattern.footprint_area
        outline = opened_outline(side, base, plan["pieces"], plan.cavities, stands=pattern.stands_on_base)
        yield foam_check(bench.material.quantity("foam_pressure"), outline, flange)
    elif bench.several_pieces and not method.flag("hollow"):
        outline = pattern.silhouette_area
        pressure = _on_parting(bench, density_as_poured(bench.material), pattern.height, outline, None)
        poured = f"{bench.material.name[:1].upper()}{bench.material.name[1:]} in the mold"
        yield head_check("casting in the mold", poured, pressure, outline, flange)
    gauge, altitude = method.quantity("pressure"), bench.shop("altitude", SEA_LEVEL)
    if gauge.value > 0:
        has_pot = bench.result.shop.flag("has_pressure_pot")
        yield pot_check(gauge, bench.shop("pressure_pot_rating") if has_pot else None, bench.shop("pressure_pot_bore"))
        yield pressed_bubbles_check(gauge, bench.shop("rubber_cure_pressure") if bench.poured else None, altitude)
    if gauge.value < 0:
        yield vacuum_check(gauge, altitude)


def _handling(bench: Bench) -> Iterator[LoadCheck]:
    """Yield the checks of the filled mold in the hands."""
    plan, turned = bench.outcome.plan, bench.method.text("turned")
    mass = filled_mass(plan["mold_mass"], bench.outcome.casting["mass"])
    if turned == "by hand":
        yield turning_check(mass, bench.shop("hand_caution"), bench.shop("hand_stop"))
    if turned == "by machine":
        yield machine_check(mass)
    yield lifting_check(mass, plan["width"], plan["depth"])
