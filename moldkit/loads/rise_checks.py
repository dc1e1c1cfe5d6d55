"""Checks of what rises in liquid rubber: the pattern in it, the shell over it."""

from __future__ import annotations

from moldkit.loads.check import Level, LoadCheck, safety_factor
from moldkit.loads.closure import fasteners
from moldkit.loads.float_off import HOLD_DOWN_SAFETY, hold_down_mass, shell_lift
from moldkit.loads.head import GRAVITY, HYDROSTATICS, pushed_aside
from moldkit.quantity import Quantity

NOTHING_KNOWN = "nothing is known of its mass"


def float_check(
    density: Quantity,
    volume: Quantity,
    body: Quantity | None,
    weighed: Quantity | None,
    *,
    fixed: bool = False,
    several: bool = False,
) -> LoadCheck:
    """Return the check whether a pattern rises in liquid rubber.

    density: of the rubber [kg/m3]; volume: of the pattern [m3]; body: density of what it is made of, with its range
    [kg/m3], None where nothing is known; weighed: its mass [kg], which goes before `body`; fixed: in place; several:
    there is more than one in the mold, and each is looked at by itself.
    """
    aside = pushed_aside(density, volume)
    lightest, heaviest = _own_mass(volume, body, weighed)
    known = lightest.formula != NOTHING_KNOWN
    text, mend, level = _float_words(lightest, heaviest, aside, fixed=fixed, weighed=weighed is not None)
    if several:
        text, mend = f"For each pattern: {text[:1].lower()}{text[1:]}", mend and f"{mend} That is for each of them."
    ballast = hold_down_mass(density, volume, lightest)
    return LoadCheck(
        "pattern floats", level, aside, lightest if known else None, text, mend, HYDROSTATICS,
        safety_factor(lightest, aside) if known else None,
        "a pattern that is all under the rubber, with rubber under it; safety factor "
        f"{HOLD_DOWN_SAFETY.value:g} on what holds it down",
        {"ballast": ballast, "heaviest": heaviest},
    )  # fmt: skip


def _own_mass(volume: Quantity, body: Quantity | None, weighed: Quantity | None) -> tuple[Quantity, Quantity]:
    """Return the pattern's mass at the lightest and at the heaviest [kg]."""
    if weighed is not None:
        return weighed, weighed
    if body is None:
        nothing = Quantity("pattern at the lightest", 0.0, "kg", NOTHING_KNOWN)
        return nothing, Quantity("pattern at the heaviest", float("inf"), "kg", NOTHING_KNOWN)
    found = []
    for word, density in (("lightest", body.low), ("heaviest", body.high)):
        of_it = Quantity(f"density at the {word}", body.value if density is None else density, body.unit, "", (),
                         body.source)  # fmt: skip
        value = volume.value * of_it.value
        found.append(Quantity(f"pattern at the {word}", value, "kg", "volume x density", (volume, of_it)))
    return found[0], found[1]


def _float_words(
    lightest: Quantity, heaviest: Quantity, aside: Quantity, *, fixed: bool, weighed: bool
) -> tuple[str, str, Level]:
    if fixed:
        return "The pattern is fixed in place; loose, it would rise if it weighed less than {figure}.", "", "pass"
    hold = "Screw or glue it to the board and seal its seat, or hold it down with {ballast}."
    if weighed:
        text = "The pattern weighs {limit}; the rubber pushes {figure} aside, and what is lighter than that rises."
        return (text, "", "pass") if lightest.value >= aside.value else (text, hold, "caution")
    unless = "Weigh it. " + hold.replace("with {ballast}", "with up to {ballast}")
    if lightest.formula == NOTHING_KNOWN:
        text = "Nothing is known of the pattern's mass; it rises in the rubber if it is lighter than {figure}."
        return text, unless, "caution"
    text = "Solid, the pattern weighs {limit} to {heaviest}; lighter than {figure} it rises in the rubber."
    if lightest.value >= aside.value:
        return text, "A hollow pattern is lighter: weigh it.", "pass"
    return text, hold if heaviest.value < aside.value else unless, "caution"


def lift_check(
    density: Quantity,
    head: Quantity,
    opening: Quantity,
    below: Quantity,
    shell: Quantity,
    seat: Quantity,
    each: Quantity,
    closure: Quantity,
) -> LoadCheck:
    """Return the check whether poured rubber lifts a shell off its base.

    density: of the rubber [kg/m3]; head, opening, below: as for `shell_lift` [m, m2, m3]; shell: its mass [kg]; seat:
    length of its edge on the base [m]; each: what one clamp or bolt holds [N]; closure: what the shop's hold [N].
    """
    lift = shell_lift(density, head, opening, below)
    weight = Quantity("weight of the shell", shell.value * GRAVITY, "N", "shell mass x g", (shell,), HYDROSTATICS)
    lifted = Quantity("mass that the lift carries", lift.value / GRAVITY, "kg", "lift / g", (lift,), HYDROSTATICS)
    needed = fasteners(lift, each, seat)
    ballast = Quantity(
        "ballast", max(0.0, (HOLD_DOWN_SAFETY.value * lift.value - weight.value) / GRAVITY), "kg",
        "(lift x safety factor - weight of the shell) / g", (lift, HOLD_DOWN_SAFETY, weight),
    )  # fmt: skip
    level: Level = "pass"
    if ballast.value:
        level = "stop" if lift.value > closure.value else "caution"
    mend = (
        ""
        if level == "pass"
        else "Screw or clamp its flange to the base at {needed} places and seal the edge, or lay {ballast} on it."
    )
    return LoadCheck(
        "shell lifts off its base", level, lift, weight,
        "Rubber up to the top of the spout, {head} high, lifts the shell with {figure}, the weight of {lifted}; the "
        "shell weighs {shell}.", mend,
        HYDROSTATICS, safety_factor(weight, lift),
        "a shell over a pattern on a flat base; the outline from above stands for the base, which is on the safe side",
        {"head": head, "needed": needed, "ballast": ballast, "shell": shell, "lifted": lifted},
    )  # fmt: skip
