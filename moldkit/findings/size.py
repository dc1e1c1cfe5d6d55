"""Rules of size: weight in the hands, litres of rubber, small pieces, head."""

from __future__ import annotations

import numpy as np

from moldkit.findings.plan import CAUTION, STOP, Raised, Situation, level_of, limit, when
from moldkit.loads.statics import filled_mass
from moldkit.tables import Row


def turned_by_hand_too_heavy(s: Situation, row: Row) -> Raised | None:
    """A filled mold turned by hand must not be heavier than hands can turn for minutes."""
    if s.method.text("turned") != "by hand":
        return None
    mass = filled_mass(s.plan["mold_mass"], s.casting["mass"])
    caution, stop = s.shop.quantity("hand_caution"), s.shop.quantity("hand_stop")
    level = np.where(mass.value >= stop.value, STOP, np.where(mass.value >= caution.value, CAUTION, 0))[()]
    words = "the filled mold weighs {}; the shop counts up to {} as light to turn by hand, and turns {} at the most."
    if not np.any(level):
        return None
    return Raised(level, lambda say: words.format(say(mass), say(caution), say(stop)))


def very_much_rubber(s: Situation, row: Row) -> Raised | None:
    """More rubber in one pour than is poured in practice."""
    poured, most = s.plan["pour_volume"], limit(row, "caution_at", "m3")
    block = s.technique.text("goes_on") == "poured" and s.technique.text("shell") == "none"
    applies = block & (np.asarray(poured.value) > most.value)
    words = "{} of rubber in one mold; about {} is the most that is poured in practice."
    return when(applies[()], level_of(row), lambda say: words.format(say(poured), say(most)))


def brushing_a_small_piece(s: Situation, row: Row) -> Raised | None:
    """On a piece of a few centimetres the hours of brushing are out of all proportion."""
    longest, least = s.pattern.longest, limit(row, "caution_at")
    applies = (s.technique.text("goes_on") == "brushed") & (np.asarray(longest.value) < least.value)
    words = "a piece of {} is smaller than {}: the hours of brushing and of the shell are out of all proportion."
    return when(applies[()], level_of(row), lambda say: words.format(say(longest), say(least)))


def skin_unusual(s: Situation, row: Row) -> Raised | None:
    """A skin that is thick against the pattern is a block in all but name."""
    if "skin" not in s.plan.quantities:
        return None
    skin, longest = s.plan["skin"], s.pattern.longest
    thick = np.asarray(skin.value / longest.value)
    caution, stop = limit(row, "caution_at", "share").value, limit(row, "stop_at", "share").value
    level = np.where(thick > stop, STOP, np.where(thick > caution, CAUTION, 0))[()]
    words = "a skin of {} on a piece of {} is hardly a skin any more."
    return Raised(level, lambda say: words.format(say(skin), say(longest))) if np.any(level) else None


def high_or_many_batch_skin_pour(s: Situation, row: Row) -> Raised | None:
    """A high head leaks and bulges; several batches leave lines in a skin."""
    if not (s.technique.flag("re_pours") and s.technique.text("goes_on") == "poured"):
        return None
    head, most, cups = s.plan["pour_head"], limit(row, "caution_at"), s.plan["mixing_cups"]
    applies = (np.asarray(head.value) > most.value) | (np.asarray(cups.value) > 1)
    words = "the skin is poured {} high (caution from {}); mixing cups: {}."
    return when(applies[()], level_of(row), lambda say: words.format(say(head), say(most), say(cups)))
