"""From one figure to the next while something is dragged: as little as the page needs to be told."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldkit.views.charts import Figure

# What a trace may change for the page to move it in place, its axes kept.
MOVES = ("x", "y", "hovertemplate")


def moved(before: Figure | None, after: Figure) -> Figure:
    """Return what changes from one figure to the next as a patch: points of traces and shapes of the layout.

    before: the figure drawn last; after: the one to draw. Where more than that changes, or nothing was drawn
    before, the whole figure `after` is returned. Both stay as they are.
    """
    if before is None or len(before["data"]) != len(after["data"]):
        return after
    if _without(before["layout"], ("shapes",)) != _without(after["layout"], ("shapes",)):
        return after
    changes: dict[int, dict[str, Any]] = {}
    for place, (old, new) in enumerate(zip(before["data"], after["data"], strict=True)):
        if _without(old, MOVES) != _without(new, MOVES):
            return after
        if not all(_same(old.get(key), new.get(key)) for key in MOVES):
            # x and y belong together: a step more in one is a step more in the other
            changes[place] = {key: new[key] for key in MOVES if key in new}
    return {"data": changes, "layout": {"shapes": after["layout"].get("shapes", [])}}


def _without(part: dict[str, Any], names: tuple[str, ...]) -> dict[str, Any]:
    return {key: value for key, value in part.items() if key not in names}


def _same(one: Any, other: Any) -> bool:
    """Return whether two arrays, lists or texts are equal (not a number equals itself)."""
    if isinstance(one, np.ndarray) and isinstance(other, np.ndarray):
        return one.shape == other.shape and bool(np.array_equal(one, other, equal_nan=True))
    return type(one) is type(other) and bool(one == other)
