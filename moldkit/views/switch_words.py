"""Switching values in plain words: "brushing would have to take 40 % less time"."""

from __future__ import annotations

from collections.abc import Sequence

from moldkit.study.uncertainty.levers import SHARED
from moldkit.study.uncertainty.switching import Flip, Switch
from moldkit.units import System, number_text, show
from moldkit.views.sure_words import ALL_HOURS, MEDIAN, OF_TECHNIQUE, capital, of_hundred, plain_input
from moldkit.views.verdict import NO_BREAK, spoken


def by_percent(factor: float) -> str:
    """Return a factor as "40 % less" or "18 % more", from three times up as "3 times as much"."""
    if factor >= 3.0:
        return f"{number_text(factor, 2)} times as much"
    share = 100 * abs(factor - 1.0)
    text = "under 0.1" if share < 0.0999 else f"{share:.0f}" if share >= 1.5 else number_text(share, 2)
    return f"{text}{NO_BREAK}% {'less' if factor < 1.0 else 'more'}"


def switch_note(switch: Switch | None) -> str:
    """Return a switching value as a chart says it: "40 % less"; "none" where nothing sane turns the choice."""
    flip = switch.nearest if switch is not None else None
    return "never alone" if flip is None else by_percent(flip.factor)


def switch_words(switch: Switch, system: System = "metric", currency: str = "") -> str:
    """Return a switching value as a sentence."""
    flip = switch.nearest
    if flip is None:
        return f"{capital(plain_input(switch.name, switch.kind))}: nothing sane turns the choice by itself."
    figures = _values(switch, flip, system, currency)
    return f"{capital(_would(switch, flip))}{figures} before {_then(flip)}{_odd(flip)}."


def _would(switch: Switch, flip: Flip) -> str:
    name, amount = plain_input(switch.name, switch.kind), by_percent(flip.factor)
    if switch.kind == "hours":
        amount = amount.replace("times as much", "times as long") if "times" in amount else f"{amount} time"
        return f"{_work(name)} would have to take {amount}"
    if switch.kind == "price":
        return f"the {name} would have to be {amount}"
    if switch.name.startswith(MEDIAN):
        longer = amount.replace("times as much", "times as long")
        return f"the {name} would have to be {longer.replace('more', 'longer').replace('less', 'shorter')}"
    higher = amount.replace("times as much", "times as high").replace("more", "higher").replace("less", "lower")
    return f"the {name} would have to be {higher}"


def _work(name: str) -> str:
    """Return the work that a lever on hours moves, as it stands in a sentence."""
    if name.endswith(ALL_HOURS):
        return "all work"
    if name == "hours of casting":
        return "casting"
    if name.startswith(OF_TECHNIQUE):
        return f"a first mold made as a {spoken(name.removeprefix(OF_TECHNIQUE))}"
    if name.startswith(SHARED):
        return f"“{name.removeprefix(SHARED)}” wherever it is done"
    of, _, step = name.partition(": ")
    return f"“{step}” of a {spoken(of)}" if of != "casting" else f"“{step}” of each casting"


def _values(switch: Switch, flip: Flip, system: System, currency: str) -> str:
    if switch.unit is None or switch.likely is None or flip.value is None:
        return ""
    pair = (switch.likely, flip.value)
    now, then = (figure_words(value, switch.unit, system, currency, max(pair)) for value in pair)
    return f" ({then} in place of {now})"


def figure_words(value: float, unit: str, system: System = "metric", currency: str = "", most: float = 0.0) -> str:
    """Return an uncertain figure with its unit, a share of one as per cent.

    most: the largest of the figures that it stands beside, so that all of them are shares, or none.
    """
    return show(value, "share" if unit in ("-", "1") and max(value, most) <= 1.0 else unit, system, currency)


def _then(flip: Flip) -> str:
    if flip.technique is None:
        return "nothing works any more"
    out = ", because the choice so far no longer works" if flip.ruled_out else ""
    return f"the {spoken(flip.technique)} is the cheapest{out}"


def _odd(flip: Flip) -> str:
    shops = of_hundred(flip.share)
    are = "is" if shops in ("1", "fewer than 1") else "are"
    some = f"{shops} of 100 plausible shops {are}" if flip.share > 0.0 else "none of the plausible shops is"
    return f", which is {'' if flip.plausible else 'hardly '}plausible: {some} that far off"


def change_words(switches: Sequence[Switch], most: int = 3, system: System = "metric", currency: str = "") -> str:
    """Return the nearest switching values as sentences, in order of nearness; empty where none was computed."""
    if not switches:
        return ""
    turning = [switch for switch in switches if switch.nearest is not None][:most]
    if not turning:
        return "No figure by itself, within anything sane, would turn the choice."
    return " ".join(switch_words(switch, system, currency) for switch in turning)
