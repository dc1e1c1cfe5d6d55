"""Pressure, vacuum and bubbles: absolute and gauge, volume and diameter, room for the froth, what a gauge can show."""

from __future__ import annotations

import random
from typing import Any

import numpy as np

from moldkit.lessons.build import Asked, Line, choice, find_the_mistake, numeric, order, slipped
from moldkit.lessons.cases import BLOCK, CAVITY, brought
from moldkit.lessons.figures import given
from moldkit.lessons.flips import what_stops
from moldkit.lessons.problem import RATIO, Problem, Slip
from moldkit.loads.air_checks import vacuum_check
from moldkit.loads.bubbles import (
    FILL,
    absolute_pressure,
    bubble_size,
    largest_batch,
    largest_container,
    outside_pressure,
    volume_ratio,
)
from moldkit.quantity import Quantity
from moldkit.study.knowledge import Knowledge
from moldkit.units import from_si, to_si

NAME, PLACE = "pressure, vacuum and bubbles", 9
BOYLE = "Pressure times volume stays the same, if the pressure counts from nothing, not from the air outside."
ALTITUDES = (0.0, 300.0, 800.0, 1500.0)


def _air(draw: random.Random) -> tuple[Quantity, float]:
    altitude = draw.choice(ALTITUDES)
    return outside_pressure(Quantity("altitude", altitude, "m", "of the shop")), altitude


def _gauge(value: float) -> Quantity:
    return Quantity("gauge pressure", value, "Pa", "as the gauge shows it")


def under_pressure(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask for the diameter of a bubble under pressure, the gauge in psi and the air in kPa."""
    outside, _ = _air(draw)
    psi, size = draw.choice((35.0, 40.0, 45.0, 50.0, 55.0, 60.0)), draw.choice((0.5, 0.8, 1.0, 1.5, 2.0))
    gauge, bubble = _gauge(to_si(psi, "psi")), Quantity("bubble before", to_si(size, "mm"), "m", "as measured")
    figure = bubble_size(bubble, outside, absolute_pressure(gauge, outside))
    air, d = given(outside, "kPa").value, bubble.at(0)
    share = air / (air + gauge.at(0))
    hint = "Find the absolute pressure first. Volume goes with the pressure, the diameter with the cube root."
    asked = Asked(
        f"{knowledge.shop.text('name')} (an invented shop) sets its pot to {psi:g} psi on the gauge. The air outside "
        f"presses with {given(outside, 'kPa')}, and 1 psi is 6.895 kPa. A bubble in the resin is {size:g} mm across. "
        f"{BOYLE} How large is it under pressure?",
        hint, "length", "mm", 0.03,
    )  # fmt: skip
    slips = [
        slipped("gauge for absolute", d * np.cbrt(air / gauge.at(0)), "You have used the gauge alone.",
                "The air outside presses too. Add it to the gauge."),
        slipped("forgot the cube root", d * share, "You have shrunk the diameter as the volume shrinks.",
                "A bubble shrinks in all three ways at once."),
        slipped("psi for kPa", d * np.cbrt(air / (air + to_si(psi, "kPa"))), "You have taken psi for kPa.",
                "A psi is nearly seven kPa."),
        slipped("square root for cube root", d * np.sqrt(share), "You have taken the square root.",
                "A bubble has three ways to shrink, not two."),
        slipped("turned the pressures round", d / np.cbrt(share), "Your bubble has grown.",
                "Pressure makes a bubble smaller."),
        slipped("the bubble as it was", d, "That is the bubble as it was.", hint),
        slipped("used the radius for the diameter", d * np.cbrt(share) / 2, "That is half of it, the radius.",
                "The question asks how large it is across."),
    ]  # fmt: skip
    return numeric(asked, figure, float(d * np.cbrt(share)), slips)


def under_vacuum(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask how many times its volume a bubble swells to under vacuum, the gauge in inches of mercury."""
    outside, _ = _air(draw)
    inches = draw.choice((18.0, 20.0, 21.0, 22.0, 23.0))
    below = to_si(inches, "inHg")
    if below > 0.87 * outside.at(0):
        return None
    gauge = _gauge(-below)
    figure = volume_ratio(outside, absolute_pressure(gauge, outside))
    air = given(outside, "kPa", 4)
    left = air.value - below
    hint = "How much pressure is left over the resin? The gauge says how much is gone."
    asked = Asked(
        f"The vacuum gauge reads {inches:g} inHg. The air outside presses with {air}, and 1 inHg is 3.386 kPa. "
        f"{BOYLE} To how many times its volume does a bubble swell?",
        hint, RATIO, "", 0.05,
    )  # fmt: skip
    ratio = air.value / left
    slips = [
        slipped("took what is gone for what is left", air.value / below, "You have used what the pump took away.",
                "What is left over the resin is the air outside less the gauge."),
        slipped("gave the diameter", ratio ** (1 / 3), "That is how much wider it gets.",
                "The question asks for the volume."),
        slipped("inHg for kPa", air.value / (air.value - to_si(inches, "kPa")), "You have taken inHg for kPa.",
                "An inch of mercury is more than three kPa."),
        slipped("added the vacuum", (air.value + below) / air.value, "You have added the gauge to the air.",
                "A vacuum takes pressure away."),
        slipped("turned the pressures round", left / air.value, "Your bubble has shrunk.", "A vacuum makes it larger."),
        slipped("gave the growth", ratio - 1, "That is how much is added.", "Count the bubble itself too."),
    ]  # fmt: skip
    return numeric(asked, figure, ratio, slips)


def in_the_chamber(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask for the largest batch that is degassed at once."""
    rubber = knowledge.materials.rubbers[draw.choice(("platinum silicone, slow", "tin-cured silicone, pourable"))]
    bore, tall = draw.choice((0.25, 0.3, 0.35, 0.4, 0.45)), draw.choice((0.3, 0.38, 0.42, 0.5))
    wide = Quantity("bore of the pail", 0.9 * bore, "m", "0.9 x bore of the chamber")
    high = Quantity("height of the pail", 0.9 * tall, "m", "0.9 x height of the chamber")
    pail = largest_container(
        Quantity("bore of the chamber", bore, "m", "inside"), Quantity("height of the chamber", tall, "m", "inside")
    )
    density = rubber.quantity("density")
    figure = largest_batch(pail, density)
    d, h, rho = given(wide, "mm"), given(high, "mm"), given(density, "kg/m3", 4)
    volume = np.pi / 4 * d.value**2 * h.value
    right = volume * FILL.value * rho.value
    hint = "Find the room in the pail, take a quarter of it, and turn it into kilograms."
    asked = Asked(
        f"The largest pail that goes into the vacuum chamber is {d} across inside and {h} high. Rubber froths up to "
        f"four times its volume, so a pail is filled to a quarter. The rubber weighs {rho}. How much can be degassed "
        "at once?",
        hint, "mass", "kg",
    )  # fmt: skip
    slips = [
        slipped("forgot the froth, or used the diameter for the radius", right / FILL.value,
                "That is four times too much. Is the pail full to the rim, or its diameter taken as a radius?",
                "The froth needs room, and a circle is pi times half the diameter squared."),
        slipped("took a square pail", right * 4 / np.pi, "You have taken a square pail.", "The pail is round."),
        slipped("took liters for kilograms", volume * FILL.value * 1000, "You have given liters as kilograms.",
                "A liter of this rubber weighs more than a kilogram."),
        slipped("filled to a third", right / 0.75, "You have filled the pail to a third.",
                "It is filled to a quarter."),
        slipped("used the radius for the diameter", right / 4, "You have halved the way across twice.",
                "The figure given goes all the way across."),
        slipped("filled to three quarters", right * 3, "You have filled it to three quarters.",
                "The room for the froth is three quarters, not the rubber."),
    ]  # fmt: skip
    return numeric(asked, figure, float(right), slips)


def by_bubble(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask to put gauges, in several units, in order by the size of a bubble."""
    outside, _ = _air(draw)
    listed = {
        "15 psi": to_si(15, "psi"), "30 psi": to_si(30, "psi"), "60 psi": to_si(60, "psi"), "50 kPa": 50e3,
        "150 kPa": 150e3, "400 kPa": 400e3, "1 bar": 1e5, "3 bar": 3e5, "20 inHg of vacuum": -to_si(20, "inHg"),
        "10 inHg of vacuum": -to_si(10, "inHg"), "no pressure on the gauge": 0.0, "80 kPa of vacuum": -80e3,
    }  # fmt: skip
    names = draw.sample(sorted(listed), 4)
    if min(listed[name] for name in names) < -0.9 * outside.at(0):
        return None
    one = Quantity("bubble before", 0.001, "m", "for instance")
    sizes = {name: bubble_size(one, outside, absolute_pressure(_gauge(listed[name]), outside)) for name in names}
    number = Slip("went by the bare number", "You have gone by the numbers without their units.",
                  "Turn all of them into one unit first.")  # fmt: skip
    plain = {name: float(name.split()[0]) if name[0].isdigit() else 0.0 for name in names}
    question = (
        "A bubble in the resin is 1 mm across in the open. These are gauge readings: pressure above the air outside, "
        "or vacuum below it. Put them in order by the size of the bubble, smallest first."
    )
    hint = "1 bar is 100 kPa, 1 psi is 6.9 kPa, 1 inHg is 3.4 kPa. More pressure makes a smaller bubble."
    return order(draw, question, hint, sizes, {number: lambda name: -plain[name]}, 0.05)


def can_it_be_shown(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask whether a gauge can show a vacuum at an altitude."""
    altitude = draw.choice((0.0, 300.0, 600.0, 1200.0, 1800.0, 2400.0))
    inches = draw.choice((24.0, 26.0, 28.0, 29.0))
    height = Quantity("altitude", altitude, "m", "of the shop")
    outside = outside_pressure(height)
    if abs(to_si(inches, "inHg") / outside.at(0) - 1) < 0.03:
        return None
    checked = vacuum_check(_gauge(-to_si(inches, "inHg")), height)
    yes, no = "yes, there is air enough outside", "no, there is less air than that outside"
    right, other = (no, yes) if checked.level == "stop" else (yes, no)
    hint = "A vacuum can take away no more than the air that presses outside."
    slip = Slip("took the air of the sea for the air of the hill" if right == no else "left too little air",
                "Look at how much the air outside presses there.", hint)  # fmt: skip
    question = (
        f"A shop lies {altitude:.0f} m above the sea, where the air presses with {given(outside, 'kPa')}. A note "
        f"asks for {inches:g} inHg of vacuum on the gauge. 1 inHg is 3.386 kPa. Can the gauge ever show that?"
    )
    said = f"The air outside is {float(from_si(outside.at(0), 'inHg')):.1f} inHg."
    return choice(draw, question, hint, (right, said), {other: slip}, (outside,))


def out_of_the_pot(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask which change would keep a mold from being cast under pressure."""
    technique = draw.choice((BLOCK, CAVITY))
    case = brought(draw, knowledge, sides=(0.08, 0.12, 0.16), materials=("rigid urethane resin",), method="pressure")
    longest, shop = case.result.case.longest or 0.1, case.result.shop
    changes: dict[str, dict[str, Any]] = {
        f"the piece is {given(3 * longest, 'mm')} long": {"longest": 3 * longest},
        f"the piece is {given(0.8 * longest, 'mm')} long": {"longest": 0.8 * longest},
        "the pot is rated for 200 kPa": {"shop": {"pressure_pot_rating": "200 kPa"}},
        "the pot is rated for 700 kPa": {"shop": {"pressure_pot_rating": "700 kPa"}},
        "the pot has a bore of 120 mm": {"shop": {"pressure_pot_bore": "120 mm"}},
        "the run is twice as long": {"run": 2 * case.result.case.run},
        "the castings are of clear epoxy resin": {"material": "clear epoxy resin"},
        "the pattern is of metal": {"surface": "metal"},
    }
    bore, tall = given(shop.quantity("pressure_pot_bore"), "mm"), given(shop.quantity("pressure_pot_height"), "mm")
    gauge = given(knowledge.methods["pressure"].row.quantity("pressure"), "kPa")
    rating = given(shop.quantity("pressure_pot_rating"), "kPa")
    told = f"The pot is {bore} across and {tall} high, rated for {rating}, and is set to {gauge}. "
    return what_stops(draw, case, technique, changes, told)


def air_card(draw: random.Random, knowledge: Knowledge) -> Problem | None:
    """Ask for the wrong line of a card on air and bubbles."""
    outside, altitude = _air(draw)
    gauge = _gauge(draw.choice((200e3, 250e3, 300e3, 350e3)))
    low = _gauge(-draw.choice((50e3, 60e3, 65e3)))
    pressed, thin = absolute_pressure(gauge, outside), absolute_pressure(low, outside)
    one = Quantity("bubble before", 0.001, "m", "for instance")
    small, swollen = bubble_size(one, outside, pressed), volume_ratio(outside, thin)
    lines = [
        Line("Air outside", outside, {"psi were written as kPa": to_si(float(from_si(outside.at(0), "psi")), "kPa")}),
        Line("Absolute pressure in the pot", pressed, {"The air outside was left out": gauge.at(0),
                                                       "The air outside was taken away": gauge.at(0) - outside.at(0)}),
        Line("A bubble of 1 mm in the pot", small, {"The cube root was left out":
                                                   0.001 * outside.at(0) / pressed.at(0)}),
        Line("Absolute pressure under vacuum", thin, {"What is gone was taken for what is left": -low.at(0)}),
        Line("Volume of a bubble under vacuum, in times", swollen,
             {"What is gone was taken for what is left": outside.at(0) / -low.at(0)}),
    ]  # fmt: skip
    question = (
        f"A card for a shop {altitude:.0f} m above the sea. The pot is set to {given(gauge, 'kPa')} on the gauge. "
        f"The pump draws {given(-low.at(0), 'kPa')} of vacuum on the gauge."
    )
    hint = f"{BOYLE} Redo each line."
    return find_the_mistake(draw, question, lines, knowledge.shop.text("currency"), hint)


MAKERS = (under_pressure, under_vacuum, in_the_chamber, by_bubble, can_it_be_shown, out_of_the_pot, air_card)
