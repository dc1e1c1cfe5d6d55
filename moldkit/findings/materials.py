"""Rules of materials against each other: bonding, heat, attack, the rubber's suitability, mold life."""

from __future__ import annotations

from moldkit.findings.plan import Raised, Situation, level_of, when
from moldkit.tables import Row

SILICONES = ("addition silicone", "condensation silicone")


def method_not_for_material(s: Situation, row: Row) -> Raised | None:
    """Each casting material is used with some methods and not with others."""
    methods = s.material.words("methods")
    words = f"{s.material.name} is not cast by {s.method.text('name')}; it is used for {', '.join(sorted(methods))}."
    return when(s.method.text("name") not in methods, level_of(row), lambda say: words)


def bonding_without_release(s: Situation, row: Row) -> Raised | None:
    """A material bonds to a mold of its own kind."""
    rubber, casting = s.rubber.text("chemistry"), s.material.text("chemistry")
    alike = (rubber in SILICONES and casting in SILICONES) or (rubber == "urethane" and casting == "urethane")
    words = f"{s.material.name} bonds to {s.rubber.name} without a barrier or release."
    return when(alike and not s.release, level_of(row), lambda say: words)


def addition_silicone_in_inhibiting_mold(s: Situation, row: Row) -> Raised | None:
    """Tin-cured and latex molds stop an addition-cured silicone from curing."""
    applies = s.material.text("chemistry") == "addition silicone" and s.rubber.text("chemistry") in (
        "condensation silicone",
        "latex",
    )
    words = f"{s.material.name} does not cure in a mold of {s.rubber.name}."
    return when(applies, level_of(row), lambda say: words)


def hot_casting(s: Situation, row: Row) -> Raised | None:
    """The casting must not be hotter than the rubber stands."""
    hot, stands = s.material.quantity("casting_temperature"), s.rubber.quantity("heat_limit")
    words = f"{s.material.name} reaches {{}} at the mold and {s.rubber.name} stands {{}}."
    return when(hot.value > stands.value, level_of(row), lambda say: words.format(say(hot), say(stands)))


def hot_casting_printed_shell(s: Situation, row: Row) -> Raised | None:
    """A printed shell softens with heat."""
    if s.plan.shell is None or s.technique.text("shell") != "printed":
        return None
    hot, stands = s.material.quantity("casting_temperature"), s.plan.shell.quantity("heat_limit")
    words = f"{s.material.name} reaches {{}} at the mold and the printed shell softens at {{}}."
    return when(hot.value > stands.value, level_of(row), lambda say: words.format(say(hot), say(stands)))


def latex_attacked(s: Situation, row: Row) -> Raised | None:
    """Some resins swell or dissolve latex."""
    applies = s.rubber.text("chemistry") == "latex" and s.material.flag("attacks_latex")
    return when(applies, level_of(row), lambda say: f"{s.material.name} attacks {s.rubber.name}.")


def rubber_unsuited(s: Situation, row: Row) -> Raised | None:
    """A grade that is only brushed cannot be poured, and the other way round."""
    way = s.technique.text("goes_on")
    goes = "by brush" if "poured" not in s.rubber.words("suits") else "by pouring"
    does = "pours" if way == "poured" else "brushes"
    words = f"{s.rubber.name} goes on {goes} only; this technique {does} it."
    return when(way not in s.rubber.words("suits"), level_of(row), lambda say: words)


def fresh_tin_cured_silicone(s: Situation, row: Row) -> Raised | None:
    """A fresh tin-cured silicone gives off alcohol and water that disturb urethane and polyester."""
    applies = s.rubber.text("chemistry") == "condensation silicone" and s.material.text("chemistry") in (
        "urethane",
        "polyester",
    )
    words = f"a fresh mold of {s.rubber.name} disturbs {s.material.name}."
    return when(applies, level_of(row), lambda say: words)


def no_life_data(s: Situation, row: Row) -> Raised | None:
    """Without a life of the mold the run cannot be costed."""
    words = f"nothing is known of the life of {s.rubber.name} with {s.material.name}."
    return when(not s.life_known, level_of(row), lambda say: words)
