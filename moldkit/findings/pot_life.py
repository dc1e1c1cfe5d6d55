"""Rules of pot life and of the room's temperature: what sets before it is poured, and times nobody vouches for."""

from __future__ import annotations

import numpy as np

from moldkit.batches import Batches
from moldkit.cure import COLDEST, WARMEST, follows, out_of_range, time_in_room
from moldkit.findings.plan import CAUTION, STOP, Raised, Situation, level_of, limit, when
from moldkit.quantity import Quantity
from moldkit.tables import Row


def pot_life_too_short(s: Situation, row: Row) -> Raised | None:
    """Each batch must be mixed, degassed and poured within its pot life, and many small ones are no pour."""
    batches = s.plan.batches
    if s.technique.text("goes_on") != "poured" or batches is None:
        return None
    return _sets_too_soon(batches, time_in_room(s.rubber, "pot_life", s.shop), s.rubber.name, row)


def casting_sets_too_soon(s: Situation, row: Row) -> Raised | None:
    """A casting poured in several batches, the first setting before the last is in, has joints."""
    pot_life, batches = time_in_room(s.material, "pot_life", s.shop), s.casting.batches
    found, longer = _sets_too_soon(batches, pot_life, s.material.name, row), _outlasts(batches, pot_life, s)
    if found is None or longer is None:
        return found or longer
    # At a size where both hold, the graver one: a caution that is told in the words of the first.
    return Raised(np.maximum(found.level, longer.level)[()], found.words)


def _outlasts(batches: Batches, pot_life: Quantity, s: Situation) -> Raised | None:
    """Return a caution where several batches, one after another, take longer than the first stays pourable."""
    takes = batches.all_in
    if takes is None:
        return None
    late = (np.asarray(batches.number.value) > 1) & (np.asarray(takes.value) > pot_life.value)
    words = f"{s.material.name} goes in as {{}} batches in {{}}, and the first stays pourable for {{}} in this room."
    return when(late[()], CAUTION, lambda say: words.format(say(batches.number), say(takes), say(pot_life)))


def _sets_too_soon(batches: Batches, pot_life: Quantity, name: str, row: Row) -> Raised | None:
    """Return a caution where the pot life makes several batches of a pour; a stop where too many, or none in time."""
    held = batches.in_time
    if held is None:
        return None
    caution, stop = limit(row, "caution_at", "1").value, limit(row, "stop_at", "1").value
    number = np.asarray(batches.number.value)
    level = np.where((number > caution) & batches.by_pot_life, CAUTION, 0)
    level = np.where(batches.too_late | ((number > stop) & batches.by_pot_life), STOP, level)[()]
    words = f"{name} stays pourable for {{}} in this room, enough to mix and pour {{}}; batches: {{}}, of {{}} each."
    if not np.any(level):
        return None
    return Raised(level, lambda say: words.format(say(pot_life), say(held), say(batches.number), say(batches.each)))


def room_outside_cure_times(s: Situation, row: Row) -> Raised | None:
    """The ten-degree rule is not stretched beyond its range."""
    room = s.shop.quantity("room_temperature")
    cures = [r.name for r in (s.plan.rubber, s.material) if r is not None and follows(r.text("chemistry"))]
    words = (
        f"the bench is at {{}}, beyond the {{}} to {{}} for which times are worked out; those of "
        f"{' and '.join(cures)} are given as at the end of that range."
    )
    ends = (Quantity("coldest", COLDEST, "K"), Quantity("warmest", WARMEST, "K"))
    return when(
        out_of_range(room) and bool(cures),
        level_of(row),
        lambda say: words.format(say(room), *(say(end) for end in ends)),
    )
