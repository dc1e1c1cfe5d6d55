"""Spans of time and lists as words on a sheet."""

from __future__ import annotations

from collections.abc import Sequence


def hours_and_minutes(seconds: float) -> str:
    """Return a span [s] as hours and minutes, "1 h 05 min", a short one in seconds too."""
    if seconds < 120:
        return f"{round(seconds)} s"
    minutes = round(seconds / 60)
    return f"{minutes} min" if minutes < 60 else f"{minutes // 60} h {minutes % 60:02d} min"


def listed(words: Sequence[str]) -> str:
    """Return words as a list in a sentence: "a, b and c"."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
