"""Plates under pressure: stress and deflection of a board by plate coefficients, and the thickness it needs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from moldkit.errors import unknown
from moldkit.quantity import Quantity

Edges = Literal["held", "clamped", "top free"]
Load = Literal["uniform", "grows across", "grows along", "grows downwards"]

UNIFORM_HELD = "Formulas for Stress and Strain, Table 11.4, case 1a (Poisson's ratio 0.3)"
UNIFORM_CLAMPED = "Formulas for Stress and Strain, Table 11.4, case 8a (Poisson's ratio 0.3), from memory"
GROWING = "thin-plate theory solved by series (Poisson's ratio 0.3)"
BEAM = "continuous beams, any handbook of statics"


@dataclass(frozen=True)
class PlateTable:
    """Plate coefficients over a ratio of sides that falls to 0 for a long strip.

    ratios: rising; stress: beta in beta q b^2 / t^2; deflection: alpha in alpha q b^4 / (E t^3).
    """

    ratios: tuple[float, ...]
    stress: tuple[float, ...]
    deflection: tuple[float, ...]
    source: str


# Short side over long side: 1 : (inf, 5, 4, 3, 2, 1.8, 1.6, 1.4, 1.2, 1).
_SHORT_OVER_LONG = (0.0, 1 / 5, 1 / 4, 1 / 3, 1 / 2, 1 / 1.8, 1 / 1.6, 1 / 1.4, 1 / 1.2, 1.0)

TABLES: dict[tuple[Edges, Load], PlateTable] = {
    ("held", "uniform"): PlateTable(
        _SHORT_OVER_LONG,
        (0.7500, 0.7476, 0.7410, 0.7134, 0.6102, 0.5688, 0.5172, 0.4530, 0.3762, 0.2874),
        (0.1421, 0.1417, 0.1400, 0.1335, 0.1110, 0.1017, 0.0906, 0.0770, 0.0616, 0.0444),
        UNIFORM_HELD,
    ),
    ("held", "grows across"): PlateTable(
        _SHORT_OVER_LONG,
        (0.3849, 0.3838, 0.3804, 0.3670, 0.3171, 0.2974, 0.2724, 0.2416, 0.2045, 0.1619),
        (0.0713, 0.0709, 0.0701, 0.0669, 0.0555, 0.0510, 0.0455, 0.0389, 0.0311, 0.0224),
        GROWING,
    ),
    ("held", "grows along"): PlateTable(
        _SHORT_OVER_LONG,
        (0.7500, 0.5310, 0.4923, 0.4340, 0.3358, 0.3075, 0.2749, 0.2374, 0.1946, 0.1619),
        (0.1421, 0.0987, 0.0909, 0.0792, 0.0594, 0.0537, 0.0472, 0.0398, 0.0314, 0.0224),
        GROWING,
    ),
    ("clamped", "uniform"): PlateTable(
        (0.0, *_SHORT_OVER_LONG[4:]),
        (0.5000, 0.4974, 0.4872, 0.4680, 0.4356, 0.3834, 0.3078),
        (0.0284, 0.0277, 0.0267, 0.0251, 0.0226, 0.0188, 0.0138),
        UNIFORM_CLAMPED,
    ),
    ("clamped", "grows across"): PlateTable(
        _SHORT_OVER_LONG,
        (0.3000, 0.3010, 0.3012, 0.3015, 0.2987, 0.2937, 0.2841, 0.2675, 0.2405, 0.2007),
        (0.0143, 0.0143, 0.0143, 0.0144, 0.0139, 0.0134, 0.0126, 0.0114, 0.0095, 0.0070),
        GROWING,
    ),
    ("clamped", "grows along"): PlateTable(
        _SHORT_OVER_LONG,
        (0.5000, 0.4057, 0.3859, 0.3544, 0.2997, 0.2829, 0.2624, 0.2459, 0.2280, 0.2007),
        (0.0284, 0.0225, 0.0213, 0.0193, 0.0159, 0.0148, 0.0135, 0.0118, 0.0097, 0.0070),
        GROWING,
    ),
    # Three edges held, the top free, nothing at the top and q at the foot: width over height; b is the width.
    ("top free", "grows downwards"): PlateTable(
        (0.0, 1 / 8, 1 / 6, 1 / 4, 1 / 3, 0.4, 0.5, 1 / 1.5, 0.8, 1.0, 1.25, 1.5, 2.0, 2.5, 1 / 0.3, 4.0, 5.0),
        (
            *(0.7500, 0.5963, 0.5588, 0.4923, 0.4344, 0.3937, 0.3416, 0.2763, 0.2395),
            *(0.2014, 0.1801, 0.1591, 0.1183, 0.0872, 0.0546, 0.0393, 0.0257),
        ),
        (
            *(0.1421, 0.1118, 0.1043, 0.0909, 0.0793, 0.0712, 0.0610, 0.0487, 0.0424),
            *(0.0402, 0.0373, 0.0332, 0.0250, 0.0188, 0.0121, 0.0089, 0.0060),
        ),
        GROWING,
    ),
}


@dataclass(frozen=True)
class PlateFactors:
    """The two coefficients of a plate: stress (beta) and deflection (alpha), for a span b."""

    stress: Quantity
    deflection: Quantity


def plate_factors(edges: Edges, load: Load, ratio: Any) -> PlateFactors:
    """Return the coefficients of a plate, read between the lines of its table.

    edges: all "held" (free to turn) or all "clamped", or "top free" with the other three held; load: "uniform", or
    from nothing at one edge to q at the other: "grows across" the short side, "grows along" the long side, "grows
    downwards" from a free top; ratio: short over long side (width over height where the top is free), a number or an
    array. The span b is the short side (the width where the top is free). Raises InputError for a pair that has no
    table. Holds for thin plates that bend less than half their thickness; beyond a table's end its last line is
    taken, which is on the safe side.
    """
    table = TABLES.get((edges, load))
    if table is None:
        raise unknown("plate", f"{edges}, {load}", [", ".join(pair) for pair in TABLES], "plates")
    words = f"plate table, edges {edges}, load {load.replace('grows', 'growing')}"
    stress, deflection = (np.interp(ratio, table.ratios, row)[()] for row in (table.stress, table.deflection))
    return PlateFactors(
        Quantity("stress factor", stress, "1", words, (), table.source),
        Quantity("deflection factor", deflection, "1", words, (), table.source),
    )


def strip_factors(spans: int) -> PlateFactors:
    """Return the coefficients of a board over equal spans, for one span b.

    Continuous beams: greatest moment q b^2 / 8, / 8, / 10 and deflection 5/384, 1/185, 1/145 of q b^4 / (E I) over one,
    two, three and more spans. Without the plate's stiffening by its width, which is on the safe side.
    """
    moment, sag = {1: (1 / 8, 5 / 384), 2: (1 / 8, 1 / 185)}.get(spans, (1 / 10, 1 / 145))
    words = "a strip over one span" if spans == 1 else f"a strip over {spans} spans"
    return PlateFactors(
        Quantity("stress factor", 6 * moment, "1", words, (), BEAM),
        Quantity("deflection factor", 12 * sag, "1", words, (), BEAM),
    )


def bending_stress(factors: PlateFactors, pressure: Quantity, span: Quantity, thickness: Quantity) -> Quantity:
    """Return the greatest bending stress [Pa]: pressure at its greatest [Pa], span b [m], thickness [m]."""
    value = factors.stress.value * pressure.value * (span.value / thickness.value) ** 2
    words = "stress factor x pressure x (span / thickness)^2"
    return Quantity("bending stress", value, "Pa", words, (factors.stress, pressure, span, thickness), "plate theory")


def deflection(
    factors: PlateFactors, pressure: Quantity, span: Quantity, thickness: Quantity, modulus: Quantity
) -> Quantity:
    """Return the greatest deflection [m]: pressure [Pa], span b [m], thickness [m], modulus of elasticity [Pa]."""
    value = factors.deflection.value * pressure.value * span.value**4 / (modulus.value * thickness.value**3)
    words = "deflection factor x pressure x span^4 / (modulus x thickness^3)"
    inputs = (factors.deflection, pressure, span, modulus, thickness)
    return Quantity("deflection", value, "m", words, inputs, "plate theory")


def thickness_needed(
    factors: PlateFactors, pressure: Quantity, span: Quantity, allowed: Quantity, modulus: Quantity, share: Quantity
) -> Quantity:
    """Return the thickness that neither breaks nor bows [m].

    allowed: bending stress [Pa]; modulus: of elasticity [Pa]; share: deflection allowed over the span. The greater of
    the thickness for stress and the one for deflection.
    """
    strong = span.value * np.sqrt(factors.stress.value * pressure.value / allowed.value)
    stiff = span.value * np.cbrt(factors.deflection.value * pressure.value / (modulus.value * share.value))
    for_stress = Quantity(
        "thickness for stress", strong, "m", "span x sqrt(stress factor x pressure / allowed stress)",
        (span, factors.stress, pressure, allowed), "plate theory",
    )  # fmt: skip
    for_bow = Quantity(
        "thickness for deflection", stiff, "m",
        "span x cube root(deflection factor x pressure / (modulus x share of the span))",
        (span, factors.deflection, pressure, modulus, share), "plate theory",
    )  # fmt: skip
    needed = np.maximum(strong, stiff)[()]
    return Quantity("thickness needed", needed, "m", "the greater of both", (for_stress, for_bow))


def span_allowed(
    factors: PlateFactors,
    pressure: Quantity,
    thickness: Quantity,
    allowed: Quantity,
    modulus: Quantity,
    share: Quantity,
) -> Quantity:
    """Return the span that a board of a thickness [m] holds [m]; the other arguments as for `thickness_needed`."""
    strong = thickness.value * np.sqrt(allowed.value / (factors.stress.value * pressure.value))
    stiff = thickness.value * np.cbrt(modulus.value * share.value / (factors.deflection.value * pressure.value))
    words = "thickness x the smaller of sqrt(allowed stress / (stress factor x pressure)) and the root for deflection"
    inputs = (thickness, factors.stress, factors.deflection, pressure, allowed, modulus, share)
    return Quantity("span allowed", np.minimum(strong, stiff)[()], "m", words, inputs, "plate theory")
