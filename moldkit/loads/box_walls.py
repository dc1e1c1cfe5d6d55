"""The walls of a pouring box: how thick the board, where battens and straps, how hard they pull."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from moldkit.loads.head import GRAVITY, HYDROSTATICS, head_pressure
from moldkit.loads.plates import PlateFactors, plate_factors, span_allowed, strip_factors, thickness_needed
from moldkit.quantity import Quantity
from moldkit.tables import Row

# Of the least bending strength in the board's row: for damp, screw holes, knots, hours under load.
BOARD_SAFETY = Quantity("safety factor", 3.0, "1", source="common practice, no source")
# The usual limit of formwork sheathing.
BOW_SHARE = Quantity(
    "deflection over span", 1 / 360, "1", source="span/360, Formwork for Concrete Structures (4th edition), chapter 9"
)
# Closer battens than this are more work than a thicker board.
LEAST_BATTEN_SPACING = 0.12


@dataclass(frozen=True)
class Board:
    """What is known of a board: modulus of elasticity and bending strength [Pa], both the least of their range."""

    name: str
    modulus: Quantity
    strength: Quantity
    thicknesses: tuple[float, ...]

    @property
    def allowed(self) -> Quantity:
        """Bending stress that is allowed: the least strength over the safety factor [Pa]."""
        value = self.strength.value / BOARD_SAFETY.value
        words = "least bending strength / safety factor"
        return Quantity("allowed stress", value, "Pa", words, (self.strength, BOARD_SAFETY))

    def thickness_for(self, needed: float) -> Quantity | None:
        """Return the thinnest board on sale that is at least as thick [m]; None where there is none."""
        enough = [thickness for thickness in self.thicknesses if thickness >= needed * (1 - 1e-9)]
        return Quantity("board", min(enough), "m", f"{self.name}, as sold") if enough else None


def board_from(row: Row) -> Board:
    """Return a board from its row in data/boards.csv, with the least of each range."""
    return Board(
        row.name,
        _least(row.quantity("modulus"), "modulus of elasticity"),
        _least(row.quantity("strength"), "bending strength"),
        row.numbers("thicknesses"),
    )


def _least(figure: Quantity, name: str) -> Quantity:
    least = figure.value if figure.low is None else figure.low
    return Quantity(name, least, figure.unit, "the least of its range", (), figure.source)


def wall_factors(height: Quantity, width: Quantity, *, top_held: bool) -> tuple[PlateFactors, Quantity]:
    """Return (coefficients, span) of one wall of a box filled to its height.

    height: of the rubber [m]; width: of the wall between its corners [m]; top_held: a frame or strap holds the top
    edge, else it is free. Foot and corners are held but free to turn, which is on the safe side. Pressure grows
    from nothing at the top of the rubber. Holds for thin boards; the freeboard above the rubber is left out.
    """
    if not top_held:
        return plate_factors("top free", "grows downwards", width.value / height.value), width
    if height.value <= width.value:
        return plate_factors("held", "grows across", height.value / width.value), height
    return plate_factors("held", "grows along", width.value / height.value), width


def wall_thickness(
    density: Quantity, height: Quantity, width: Quantity, board: Board, *, top_held: bool = False
) -> Quantity:
    """Return how thick a wall must be [m], by stress and by deflection, without battens.

    density: of the rubber [kg/m3]; height: of the rubber [m]; width: of the wall [m]; board: what it is made of.
    """
    factors, span = wall_factors(height, width, top_held=top_held)
    pressure = head_pressure(density, height)
    return thickness_needed(factors, pressure, span, board.allowed, board.modulus, BOW_SHARE)


def batten_spacing(density: Quantity, height: Quantity, width: Quantity, board: Board, thickness: Quantity) -> Quantity:
    """Return how far apart upright battens may stand along a wall [m], from middle to middle.

    density [kg/m3], height of the rubber [m], width of the wall [m], thickness of the board [m]. The board is reckoned
    as a strip at the foot, under the full head, over as many spans as the spacing gives, and the fewest that hold.
    """
    pressure = head_pressure(density, height)
    for spans in (1, 2, 3):
        allowed = span_allowed(strip_factors(spans), pressure, thickness, board.allowed, board.modulus, BOW_SHARE)
        if allowed.value * spans >= width.value:
            break
    number = spans if spans < 3 else max(3, int(np.ceil(width.value / allowed.value - 1e-9)))
    words = "wall in equal spans, none wider than the span allowed"
    return Quantity("batten spacing", width.value / number, "m", words, (width, allowed))


def wall_force(density: Quantity, height: Quantity, width: Quantity) -> Quantity:
    """Return the push of the rubber on a wall [N]; it acts a third of the height above the foot.

    Hydrostatics: half of the pressure at the foot times the wetted wall. density [kg/m3], height of the rubber [m],
    width of the wall [m].
    """
    value = density.value * GRAVITY * height.value**2 / 2 * width.value
    words = "density x g x height^2 / 2 x width"
    return Quantity("push on the wall", value, "N", words, (density, height, width), HYDROSTATICS)


def ring_tension(push: Quantity) -> Quantity:
    """Return the tension that straps round a box, or screws at its corners, hold in all [N]: half of a wall's push."""
    return Quantity("tension round the box", push.value / 2, "N", "push on the longer wall / 2", (push,), "statics")


def strap_heights(height: Quantity, straps: int) -> tuple[Quantity, ...]:
    """Return how high above the foot each strap goes [m], the lowest first, so that all pull alike.

    Hydrostatics: the wetted wall is cut into level bands of equal push, with a strap at each band's centre of
    pressure. height: of the rubber [m]; straps: their number, one at least.
    """
    edges = height.value * np.sqrt(np.arange(straps + 1) / straps)
    top, foot = edges[:-1], edges[1:]
    depths = 2 / 3 * (foot**3 - top**3) / (foot**2 - top**2)
    words = f"centre of pressure of one of {straps} bands with equal push"
    return tuple(
        Quantity("strap height", float(height.value - depth), "m", words, (height,), HYDROSTATICS)
        for depth in reversed(depths)
    )


def hoop_tension(density: Quantity, height: Quantity, bore: Quantity) -> Quantity:
    """Return the tension in a tube's wall at its foot for each metre of height [N/m]: pressure x radius.

    Statics of a thin ring under the head of what is poured. density [kg/m3], height [m], bore [m]. For a tube that
    stands open at the top; anything that is closed and under pressure goes by its rating plate alone.
    """
    pressure = head_pressure(density, height)
    value = pressure.value * bore.value / 2
    return Quantity("hoop tension at the foot", value, "N/m", "pressure x bore / 2", (pressure, bore), "statics")
